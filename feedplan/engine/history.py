"""Settling: each day that is over has its feeds written down once, as they were told, by what was known that day."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence, Set
from dataclasses import replace
from datetime import date
from itertools import pairwise
from typing import TypeVar

from feedplan.engine.cohorts import Cohort
from feedplan.engine.growing_year import DAY
from feedplan.engine.season import Timeline
from feedplan.model.collection import Unlogged
from feedplan.model.course import FeedEvent, SolidEvent, Status
from feedplan.model.history import Outcome, ToldFeed, ToldLaying, TreeHistory
from feedplan.model.journal import Entry

PlanAsOf = Callable[[date, date, TreeHistory], Timeline]
"""The course of some trees as planned on a day, up to another day, after what was told before."""


def settled(cohort: Cohort, days: tuple[date, date], unlogged: Unlogged, plan_as_of: PlanAsOf) -> TreeHistory:
    """The feeds and layings of every day before today. days: the first day that counts, and today.

    What was asked for is taken as it was told. Days for which nothing is on hand, since no plan was made or its memory
    was lost, are walked through: as of each day on which something was written down a plan is made, and what it asks
    for holds until the next such day. Weather counts as it is on record now.
    """
    told, (first, today) = cohort.told, days
    closed = Outcome.TAKEN if unlogged is Unlogged.GIVEN else Outcome.MISSED
    rows = [_closed(feed, closed) for feed in told.feeds if feed.told < today]
    layings = [_closed(laying, closed) for laying in told.layings if laying.told < today]
    to_feed, to_lay = (first if to is None else max(first, to + DAY) for to in (told.asked_to, told.laid_to))
    for begin, end in pairwise(_epochs(cohort.all_entries, {to_feed, to_lay}, today)):
        known = TreeHistory(tuple(rows), in_step=told.in_step, layings=tuple(layings))
        timeline = plan_as_of(begin, end, known)
        if begin >= to_feed:
            new = _new_in(timeline.feeds, begin, rows)
            rows += [_closed(told_feed(event, cohort.lineage), closed) for event in new if event.told < end]
        if begin >= to_lay:
            layings = [_closed(one, closed) for one in _layings(timeline, cohort.lineage) if one.told < end]
    rows.sort(key=lambda row: (row.told, row.ordinal))
    return TreeHistory(tuple(rows), in_step=told.in_step, layings=tuple(layings))


def _layings(timeline: Timeline, lineage: str) -> list[ToldLaying]:
    """Every laying of a course as it is remembered, what comes off with the day it does as known now."""
    asked = ((event, event.asked) for event in timeline.solid_events if event.asked is not None)
    found = [told_laying(event, one, lineage) for event, one in asked]
    return sorted(found, key=lambda laying: (laying.told, laying.period, laying.number))


_Told = TypeVar("_Told", ToldFeed, ToldLaying)


def _closed(told: _Told, closed: Outcome) -> _Told:
    return replace(told, unrecorded=closed) if told.unrecorded is Outcome.ASKED else told


def _epochs(entries: Sequence[Entry], starts: Set[date], today: date) -> list[date]:
    """The days from some first ones to today on which something new was known, all of them; none for no days."""
    first = min(starts)
    if first >= today:
        return []
    news = {day for e in entries if not e.is_inert for day in (e.known, e.undone) if day is not None}
    return [first, *sorted(day for day in news | starts if first < day < today), today]


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


def told_laying(event: SolidEvent, asked: ToldLaying, lineage: str) -> ToldLaying:
    """A laying of a plan as it is remembered: as it was asked for, with the day on which it comes off as known now."""
    return replace(asked, lift_on=event.lift_on or asked.lift_on, lineage=asked.lineage or lineage)


def told_trees(
    cohorts: Sequence[Cohort],
    timelines: Sequence[Timeline],
    told: Sequence[TreeHistory],
    today: date,
    last: date,
) -> Mapping[str, TreeHistory]:
    """What is to be remembered of each tree: all that was told before today, and what it is asked for from then on."""
    trees: dict[str, TreeHistory] = {}
    for cohort, timeline, before in zip(cohorts, timelines, told, strict=True):
        new = _new_in(timeline.feeds, today, before.feeds)
        rows = [*before.feeds, *(told_feed(event, cohort.lineage) for event in new)]
        rows.sort(key=lambda feed: (feed.told, feed.ordinal))
        layings = tuple(_layings(timeline, cohort.lineage))
        found = TreeHistory(tuple(rows), last, before.in_step, layings, last)
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
