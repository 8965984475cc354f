"""The season's nitrogen: what solids and feeds give per litre of container, and the trimming that keeps to it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Decimal

from feedplan.engine.care import Care
from feedplan.model.course import Dropped, FeedEvent, Solid, Status
from feedplan.model.journal import Fed
from feedplan.model.reason import OverBudget, Reason, Rule
from feedplan.model.schedule import Schedule

ONE = Decimal(1)


def liquid_mg_per_l(
    events: Sequence[FeedEvent], feed_share: Decimal, today: date
) -> Callable[[int, Decimal], Decimal]:
    """A look-up of the N of a season's feeds [mg per L of container], of those still to come a share [0 to 1]."""

    def by(season: int, share: Decimal) -> Decimal:
        here = [e for e in events if e.season == season]
        ahead = sum((nitrogen_mg_per_l(e, feed_share) for e in here if _is_to_trim(e, today)), Decimal(0))
        spent = sum((_spent_mg_per_l(e, feed_share) for e in here if not _is_to_trim(e, today)), Decimal(0))
        return spent + share * ahead

    return by


def _is_to_trim(event: FeedEvent, today: date) -> bool:
    """Whether a feed is still to come, or was given today just as today's plan asks for it, trimmed as that is.

    One asked for on a day before and given today was trimmed on that day.
    """
    if event.status is Status.RECORDED and event.told == event.day == today and not event.is_extra:
        return event.entry is not None and isinstance(event.entry.fact, Fed) and event.entry.fact.ppm is None
    return event.status in (Status.PLANNED, Status.OVERDUE)


# Booked is what was asked for. Scale and marks make a can up to 5 % stronger or weaker, by how other groups share it:
# booked as mixed, each day gone by would change how strong the feeds to come are, with nothing new known. What is
# weakened for the budget is never mixed stronger anyway; tests/sink/test_nitrogen_booked.py holds how near both are.
def nitrogen_mg_per_l(event: FeedEvent, feed_share: Decimal) -> Decimal:
    """Nitrogen one feed brings [mg per L of container]; nothing when it was missed."""
    return Decimal(0) if event.status.is_without_feed else event.ppm * feed_share * event.part


def keep_to_budget(
    events: Sequence[FeedEvent], solids: Sequence[Solid], care: Care, today: date
) -> tuple[tuple[FeedEvent, ...], tuple[Dropped, ...]]:
    """The feeds, those to come that would pass the season's budget weakened alike, and those left out as too weak.

    What was given is given, and what was asked for and not given is not made up for. What is left of the budget is
    shared out among the feeds to come in proportion to what they would bring; where that makes some too weak to be
    worth a can, the last ones are left out, so that the others keep their strength while nothing new is known.
    """
    kept: list[FeedEvent] = []
    dropped: list[Dropped] = []
    for season in sorted({event.season for event in events}):
        here = [event for event in events if event.season == season]
        # A feed of a product without nitrogen takes none of it, and is never left out for want of it.
        to_come = [e for e in here if e.plan_ppm and _is_to_trim(e, today)]
        settled = [e for e in here if e not in to_come]
        open_ones = [e for e in to_come if e.status is Status.RECORDED or is_a_feed(e, care)]
        dropped += [Dropped(e.due, e.group, None, e.reasons) for e in to_come if e not in open_ones]
        solid = sum((s.mg_n_per_l for s in solids if s.season == season), Decimal(0))
        few, out = _within(open_ones, settled, solid, care, today)
        given = [e for e in open_ones if e.status is Status.RECORDED]
        if not {e.due for e in given} <= {e.due for e in few}:  # given though nothing was left for it
            still_ahead = [e for e in open_ones if e not in given]
            few, out = _within(still_ahead, [*settled, *given], solid, care, today)
            few = [*given, *few]
        kept += [*settled, *few]
        dropped += out
    return tuple(sorted(kept, key=lambda e: (e.day, e.ordinal))), tuple(dropped)


def is_a_feed(event: FeedEvent, care: Care) -> bool:
    """Whether a can of what is at hand is worth the walk: not one held so far down that it is nearly water."""
    held_down = any(reason.holds_down for reason in event.reasons)
    return not held_down or event.ppm >= care.schedule_on(event.day).weakest_ppm


def _within(
    ahead: list[FeedEvent], settled: list[FeedEvent], solid_mg_per_l: Decimal, care: Care, today: date
) -> tuple[list[FeedEvent], list[Dropped]]:
    """One season's feeds to come, trimmed, and those left out."""
    share = care.collection.habits.feed_share
    schedule = care.schedule_on(max(today, ahead[0].day)) if ahead else care.schedule_on(today)
    spent = solid_mg_per_l + sum((_spent_mg_per_l(e, share) for e in settled), Decimal(0))
    left = max(schedule.budget_mg_n_per_l - spent, Decimal(0))
    for count in range(len(ahead), -1, -1):
        trimmed = _shared_out(ahead[:count], left, share, schedule)
        is_whole = trimmed == ahead[:count]
        if is_whole or all(event.ppm >= schedule.weakest_ppm for event in trimmed):
            reason = Reason(Rule.BUDGET, OverBudget(schedule.budget_mg_n_per_l, Decimal(0)), schedule.source)
            out = [Dropped(e.due, e.group, None, (reason, *e.reasons)) for e in ahead[count:]]
            return trimmed, out
    return [], []


def _shared_out(
    ahead: Sequence[FeedEvent], left: Decimal, feed_share: Decimal, schedule: Schedule
) -> list[FeedEvent]:
    """Feeds that together bring no more than is left [mg per L of container].

    One after another, each its part of what is left by then: once the first is given, the rest come out the same. One
    offered again keeps what it was asked for with while that is left: left out or given, the rest stay as they were.
    """
    again = [event for event in ahead if event.status is Status.OVERDUE]
    if sum((max(e.ppm, e.asked_ppm) * e.part * feed_share for e in ahead), Decimal(0)) <= left:
        return list(ahead)
    found = []
    for event in again:
        ppm = min(event.ppm, event.asked_ppm, left / feed_share)
        found.append(_trimmed(event, ppm / event.ppm if ppm < event.ppm else ONE, schedule))
        left = max(left - event.asked_ppm * feed_share, Decimal(0))
    rest = [event for event in ahead if event not in again]
    wanted = sum((nitrogen_mg_per_l(event, feed_share) for event in rest), Decimal(0))
    for event in rest:
        trimmed = _trimmed(event, ONE if wanted <= left else left / wanted, schedule)
        wanted -= nitrogen_mg_per_l(event, feed_share)
        left -= nitrogen_mg_per_l(trimmed, feed_share)
        found.append(trimmed)
    return found


def _spent_mg_per_l(event: FeedEvent, feed_share: Decimal) -> Decimal:
    """What a settled feed takes from what is left for later ones; one not given makes none of them stronger."""
    given = nitrogen_mg_per_l(event, feed_share)
    return given if event.is_extra else max(given, event.asked_ppm * feed_share)


_FINEST = Decimal("1e-9")


def _trimmed(event: FeedEvent, factor: Decimal, schedule: Schedule) -> FeedEvent:
    """A feed at a share of its strength; not rounded to whole ppm, or what is lost in rounding would pile up ahead."""
    if factor == ONE:
        return event
    ppm = (event.ppm * factor).quantize(_FINEST, rounding=ROUND_FLOOR)
    reason = Reason(
        Rule.BUDGET, OverBudget(schedule.budget_mg_n_per_l, ppm.quantize(ONE, ROUND_HALF_UP)), schedule.source
    )
    asked = event.asked_ppm if event.status is Status.OVERDUE else ppm
    return replace(event, ppm=ppm, asked_ppm=asked, reasons=(*event.reasons, reason))
