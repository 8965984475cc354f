"""The season's nitrogen: what solids and feeds give per litre of container, and the trimming that keeps to it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from decimal import ROUND_FLOOR, Decimal

from feedplan.engine.care import Care
from feedplan.engine.feeding.solids import budget_of
from feedplan.model.course import Dropped, FeedEvent, Solid
from feedplan.model.journal import Fed
from feedplan.model.reason import OverBudget, Reason, Rule
from feedplan.model.schedule import Schedule

ONE = Decimal(1)


def recorded_mg_per_l(events: Sequence[FeedEvent], feed_share: Decimal) -> Callable[[int, date], Decimal]:
    """A look-up of the N that feeds of a recorded strength brought in a season, as known on a day [mg per L]."""
    facts = [e for e in events if _is_fact(e)]

    def by(season: int, day: date) -> Decimal:
        known = (e for e in facts if e.season == season and e.entry is not None and e.entry.known <= day)
        return sum((nitrogen_mg_per_l(e, feed_share) for e in known), Decimal(0))

    return by


def nitrogen_mg_per_l(event: FeedEvent, feed_share: Decimal) -> Decimal:
    """Nitrogen one feed brings [mg per L of container]; nothing when it was missed."""
    return Decimal(0) if event.status.is_without_feed else event.ppm * feed_share


def keep_to_budget(
    events: Sequence[FeedEvent],
    solids: Sequence[Solid],
    care: Care,
    feed_share: Decimal,
) -> tuple[tuple[FeedEvent, ...], tuple[Dropped, ...]]:
    """The feeds, those that would pass the season's budget weakened alike, and those left out as too weak.

    Feeds whose strength the grower recorded are facts and stay. The trimming is worked out anew from each day on
    which a solid feed or such a fact became known, and on each first of a month where weather tells how fast solid
    feed is released, so that what was planned before does not change afterwards.
    """
    kept: list[FeedEvent] = []
    dropped: list[Dropped] = []
    for season in sorted({event.season for event in events}):
        here = [e for e in events if e.season == season]
        for event in _within(here, [s for s in solids if s.season == season], care, feed_share):
            schedule = care.schedule_on(event.day)
            if event.ppm < schedule.weakest_ppm and any(r.rule is Rule.BUDGET for r in event.reasons):
                dropped.append(Dropped(event.due, event.group, None, event.reasons))
            else:
                kept.append(event)
    return tuple(kept), tuple(dropped)


def _within(events: list[FeedEvent], solids: list[Solid], care: Care, feed_share: Decimal) -> list[FeedEvent]:
    """One season's feeds, trimmed from each day on which the sum to keep to became known."""
    trimmed = list(events)
    counted = (day for solid in solids for day, _ in solid.counts)
    first = events[0].day
    for start in sorted(
        {first, *(max(day, first) for day in counted), *(e.day for e in events if _is_fact(e))}
    ):
        schedule = care.schedule_on(start)
        settled = [e for e in trimmed if e.day < start or (e.day == start and _is_fact(e))]
        spent = sum((nitrogen_mg_per_l(e, feed_share) for e in settled), Decimal(0))
        spent += sum((solid.counted_on(start) for solid in solids), Decimal(0))
        ahead = events[len(settled) :]
        wanted = sum((_planned_mg_per_l(e, feed_share) for e in ahead), Decimal(0))
        left = max(budget_of(schedule) - spent, Decimal(0))
        factor = ONE if wanted <= left else left / wanted
        trimmed = [*settled, *(_trimmed(e, factor, schedule) for e in ahead)]
    return trimmed


def _planned_mg_per_l(event: FeedEvent, feed_share: Decimal) -> Decimal:
    """Nitrogen a feed was planned to bring, whatever strength was recorded later [mg per L of container]."""
    if _is_fact(event):
        return event.plan_ppm * event.share * feed_share
    return nitrogen_mg_per_l(event, feed_share)


def _is_fact(event: FeedEvent) -> bool:
    """Whether the grower recorded a strength, which no plan can change."""
    return event.entry is not None and isinstance(event.entry.fact, Fed) and event.entry.fact.ppm is not None


def _trimmed(event: FeedEvent, factor: Decimal, schedule: Schedule) -> FeedEvent:
    if factor == ONE or _is_fact(event) or event.status.is_without_feed:
        return event
    ppm = (event.ppm * factor).quantize(ONE, rounding=ROUND_FLOOR)
    reason = Reason(Rule.BUDGET, OverBudget(budget_of(schedule), ppm), schedule.source)
    return replace(event, ppm=ppm, reasons=(*event.reasons, reason))
