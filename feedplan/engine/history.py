"""Settling: each day that is over has its feeds written down once, as they were told, by what was known that day."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from itertools import pairwise

from feedplan.engine.cohorts import Cohort
from feedplan.engine.growing_year import DAY
from feedplan.engine.season import Timeline
from feedplan.model.collection import Unlogged
from feedplan.model.course import FeedEvent, Status
from feedplan.model.history import Outcome, ToldFeed, TreeHistory
from feedplan.model.journal import Entry

PlanAsOf = Callable[[date, date, tuple[ToldFeed, ...]], Sequence[FeedEvent]]
"""The feeds of some trees as planned on a day, up to another day, after what was told before."""


def settled(
    cohort: Cohort, days: tuple[date, date], unlogged: Unlogged, plan_as_of: PlanAsOf
) -> tuple[ToldFeed, ...]:
    """The feeds of every day before today. days: the first day that counts, and today.

    What was asked for is taken as it was told. Days for which nothing is on hand, since no plan was made or its memory
    was lost, are walked through: as of each day on which something was written down a plan is made, and what it asks
    for holds until the next such day. Weather counts as it is on record now.
    """
    told, (first, today) = cohort.told, days
    closed = Outcome.TAKEN if unlogged is Unlogged.GIVEN else Outcome.MISSED
    rows = [_closed(feed, closed) for feed in told.feeds if feed.told < today]
    start = first if told.asked_to is None else max(first, told.asked_to + DAY)
    for begin, end in pairwise(_epochs(cohort.all_entries, start, today)):
        new = _new_in(plan_as_of(begin, end, tuple(rows)), begin, rows)
        rows += [_closed(told_feed(event, cohort.lineage), closed) for event in new if event.told < end]
    return tuple(sorted(rows, key=lambda row: (row.told, row.ordinal)))


def _closed(feed: ToldFeed, closed: Outcome) -> ToldFeed:
    return replace(feed, unrecorded=closed) if feed.unrecorded is Outcome.ASKED else feed


def _epochs(entries: Sequence[Entry], start: date, today: date) -> list[date]:
    """The days from a first one to today on which something new was known, both ends among them; none for no days."""
    if start >= today:
        return []
    news = {day for e in entries if not e.is_inert for day in (e.known, e.undone) if day is not None}
    return [start, *sorted(day for day in news if start < day < today), today]


def told_feed(event: FeedEvent, lineage: str) -> ToldFeed:
    """A feed of a plan as it is remembered. lineage: of its timeline."""
    return ToldFeed(
        told=event.told,
        due=event.due,
        counts_from=event.counts_from,
        season=event.season,
        ordinal=event.ordinal,
        period=event.period,
        group=event.group,
        feed=event.asked_feed,
        ratio=event.ratio,
        ppm=event.asked_ppm,
        plan_ppm=event.plan_ppm,
        share=event.share,
        unrecorded=Outcome.GIVEN if event.is_extra else event.unrecorded,
        extra=event.is_extra,
        lineage=event.lineage or lineage,
        reasons=event.reasons,
    )


def told_trees(
    cohorts: Sequence[Cohort],
    timelines: Sequence[Timeline],
    told: Sequence[tuple[ToldFeed, ...]],
    today: date,
    last: date,
) -> Mapping[str, TreeHistory]:
    """What is to be remembered of each tree: all that was told before today, and what it is asked for from then on."""
    trees: dict[str, TreeHistory] = {}
    for cohort, timeline, before in zip(cohorts, timelines, told, strict=True):
        new = _new_in(timeline.feeds, today, before)
        rows = [*before, *(told_feed(event, cohort.lineage) for event in new)]
        rows.sort(key=lambda feed: (feed.told, feed.ordinal))
        found = TreeHistory(tuple(rows), last, cohort.told.in_step)
        trees.update(dict.fromkeys(timeline.names, found))
    return trees


def _new_in(feeds: Iterable[FeedEvent], day: date, known: Iterable[ToldFeed]) -> list[FeedEvent]:
    """What a plan of a day adds to what is known: the feeds it asks for from then on, and records of others.

    One overdue was asked for before.
    """
    places = {(feed.told, feed.ordinal) for feed in known}
    return [
        event
        for event in feeds
        if (
            (event.told, event.ordinal) not in places
            if event.is_extra
            else event.told >= day and event.status is not Status.OVERDUE
        )
    ]
