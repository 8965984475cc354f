"""Rounds: feeds of trees that share a day, a product and a strength become one item with one mix."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from decimal import ROUND_FLOOR, Decimal

from feedplan.dose.arithmetic import amount_per_litre
from feedplan.dose.ceilings import Passed
from feedplan.dose.strength import LabelShare
from feedplan.engine.season import RoundItem, Season, SolidItem, Timeline
from feedplan.engine.sink.can import can_of, within
from feedplan.model.collection import Collection
from feedplan.model.course import FeedEvent, SolidEvent, Status
from feedplan.model.reason import Rule

_SHOWN_STRENGTH = Decimal("0.1")
_SHOWN_SHARE = Decimal("0.01")


def round_items(
    timelines: Sequence[Timeline], collection: Collection, shown: tuple[date, date]
) -> tuple[RoundItem, ...]:
    """Every mix between two days in order of day and group, each with what goes into its can."""
    first, last = shown
    items = mixes_of(timelines)
    return tuple(replace(i, can=can_of(i, collection)) for i in items if first <= i.day <= last)


def mixes_of(timelines: Sequence[Timeline]) -> tuple[RoundItem, ...]:
    """Every mix of all days in order of day and group, nothing weighed out yet."""
    mixes: dict[tuple[object, ...], list[tuple[Timeline, FeedEvent]]] = {}
    for timeline in timelines:
        for event in timeline.feeds:
            strength = event.ppm.quantize(_SHOWN_STRENGTH)
            key = (event.day, event.group, event.status, event.feed or "", strength, event.ratio)
            mixes.setdefault(key, []).append((timeline, event))
    items = sorted(
        map(_item, mixes.values()),
        key=lambda item: (item.day, item.group, item.key),
    )
    return tuple(_named_apart(items))


def _named_apart(items: Sequence[RoundItem]) -> Iterator[RoundItem]:
    """The mixes, those of trees that were told together and fared otherwise named by their first tree."""
    taken: set[str] = set()
    for item in items:
        key = item.key
        if key in taken:
            key = f"feed/tree/{item.names[0]}/{item.season}/{item.events[0].ordinal}"
        taken.add(key)
        yield item if key == item.key else replace(item, key=key)


def _item(members: Sequence[tuple[Timeline, FeedEvent]]) -> RoundItem:
    """One mix, named after the shared timeline that told it, or after its first tree where there is none."""
    named = [(event.lineage or timeline.lineage, event) for timeline, event in members]
    lineage, event = min(named, key=lambda pair: (pair[0].startswith("tree/"), pair[0]))
    share = members[0][0].care.collection.habits.feed_share
    poured = sum((timeline.pot_litres_on(event.day) for timeline, _ in members), Decimal(0)) * share
    label_share, label_over = _of_label(members[0][0], event)
    return RoundItem(
        key=f"feed/{lineage}/{event.season}/{event.ordinal}",
        day=event.day,
        group=event.group,
        feed=event.feed,
        ppm=event.ppm,
        plan_ppm=event.plan_ppm,
        timelines=tuple(timeline for timeline, _ in members),
        events=tuple(event for _, event in members),
        poured_litres=poured,
        season=event.season,
        ratio=event.ratio,
        label_share=label_share,
        label_over=label_over,
    )


def _of_label(timeline: Timeline, event: FeedEvent) -> tuple[Decimal, Passed | None]:
    """How much of its label rate a product without nitrogen is given at [0-1], and the ceiling that holds it down.

    0 for all others: they are given by their nitrogen.
    """
    feed = timeline.care.collection.feeds.get(event.feed or "")
    if feed is None or feed.n_mg_per_g:
        return Decimal(0), None
    schedule = timeline.care.schedule_on(event.day)
    planned = next((p.strength for p in schedule.periods if p.name == event.period), None)
    if not isinstance(planned, LabelShare):
        return Decimal(0), None
    asked = planned.share * event.share
    per_l = amount_per_litre(feed.product, LabelShare(asked))
    share, over = within(((feed.product, per_l),), [feed], schedule.ceilings)
    return (asked * share).quantize(_SHOWN_SHARE, ROUND_FLOOR) if over else asked, over


def solid_items(timelines: Sequence[Timeline]) -> tuple[SolidItem, ...]:
    """Every laying and lifting of solid feed, trees that share one together, in order of day and group."""
    alike: dict[tuple[object, ...], list[tuple[Timeline, SolidEvent]]] = {}
    for timeline in timelines:
        for event in timeline.solid_events:
            rate = event.grams_per_l.quantize(_SHOWN_STRENGTH)
            key = (event.day, event.group, event.act, event.status, event.feed, rate)
            alike.setdefault(key, []).append((timeline, event))
    items = [_solid_item(members, timelines) for members in alike.values()]
    return tuple(sorted(items, key=lambda item: (item.day, item.group, item.key)))


def _solid_item(members: Sequence[tuple[Timeline, SolidEvent]], every: Sequence[Timeline]) -> SolidItem:
    """One act, named like a mix: after the shared timeline in it, or after its first tree."""
    lead, event = min(members, key=lambda pair: (pair[0].own, pair[0].lineage))
    among = {name for timeline, _ in members for name in timeline.names}
    rest = (t for t in every if t.here(event.day) and t.group_on(event.day) == event.group)
    return SolidItem(
        key=f"{event.key}/{lead.lineage}",
        act=event.act,
        day=event.day,
        group=event.group,
        feed=event.feed,
        grams_per_l=event.grams_per_l,
        timelines=tuple(timeline for timeline, _ in members),
        events=tuple(event for _, event in members),
        others=tuple(name for timeline in rest for name in timeline.names if name not in among),
    )


def told_items(season: Season, day: date) -> list[RoundItem]:
    """The feeds of a day as they were told: one that nobody gave stays on its own day."""
    asked = []
    for item in season.rounds:
        is_late = item.status in _NOT_GIVEN
        if told_day(item) == day and item.status is not Status.NOT_GIVEN:
            as_asked = replace(item, day=day, events=tuple(map(_as_asked, item.events))) if is_late else item
            asked.append(as_asked)
    return asked


def told_day(item: RoundItem) -> date:
    """The day on which a mix is told: of one that nobody gave, its own."""
    return item.events[0].told if item.status in _NOT_GIVEN else item.day


_NOT_GIVEN = (Status.OVERDUE, Status.MISSED)


def _as_asked(event: FeedEvent) -> FeedEvent:
    reasons = tuple(reason for reason in event.reasons if reason.rule is not Rule.OVERDUE)
    return replace(event, day=event.told, status=Status.PLANNED, reasons=reasons)
