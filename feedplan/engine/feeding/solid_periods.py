"""The solid periods of each season as they fall on one timeline, and all that decides what is laid in them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from functools import cached_property
from typing import NamedTuple

from feedplan.engine.care import Care
from feedplan.engine.feeding.restrictions import Restrictions, reasons_against
from feedplan.engine.feeding.solid_counts import Counter, gives_mg_per_l
from feedplan.engine.growing_year import DAY, season_end, season_of
from feedplan.engine.holds.ramps import Ramp
from feedplan.engine.stages.stages import Record
from feedplan.model.collection import Feed
from feedplan.model.course import Hold
from feedplan.model.history import ToldLaying
from feedplan.model.hold import Action
from feedplan.model.reason import LabelMaximum, LiquidOnly, Reason, Rule, ToFeedingDay, WeakFirst
from feedplan.model.schedule import Schedule, SolidPeriod
from feedplan.model.statement import Statement


@dataclass(frozen=True)
class SolidPlan:
    """All that decides the solid feed of one timeline.

    told: the layings told before today. liquid_mg_per_l: N of a season's liquid feeds, of those still to come a share
    [mg per L of container]. first, last: the days looked at.
    """

    care: Care
    record: Record
    holds: Sequence[Hold]
    restrictions: Restrictions
    ramps: Sequence[Ramp]
    counter: Counter
    liquid_mg_per_l: Callable[[int, Decimal], Decimal]
    told: tuple[ToldLaying, ...]
    today: date
    first: date
    last: date

    @cached_property
    def laying_restrictions(self) -> Restrictions:
        """What may forbid solid feed: absence, and the holds that stop it; no other limit or gate."""
        holds = tuple(hold for hold in self.holds if Action.SOLID in hold.rule.stops)
        return replace(self.restrictions, holds=holds, limits=(), overrides={}, dry=(), gates=None)


@dataclass(frozen=True, slots=True)
class SolidWindow:
    """A solid period as it falls in one season. lift: when what still lies is taken off."""

    period: SolidPeriod
    schedule: Schedule
    season: int
    first: date
    last: date
    lift: date

    @property
    def name(self) -> str:
        """The season and period, as the keys of its layings begin."""
        return f"{self.season}/{self.period.name}"


class SolidSlot(NamedTuple):
    """One laying of a period: the key it has in its timeline, when the interval asks for it, and its day."""

    key: str
    due: date
    day: date

    @classmethod
    def of(cls, told: ToldLaying) -> SolidSlot:
        """That of a laying that was told."""
        return cls(f"{told.season}/{told.period}/{told.number}", told.due, told.told)

    @property
    def name(self) -> str:
        """Its season and period."""
        return self.key.rpartition("/")[0]

    @property
    def season(self) -> int:
        """The season of its window."""
        return int(self.key.split("/")[0])

    @property
    def period(self) -> str:
        """The period's name; empty for a laying that is none of a period's."""
        return self.name.partition("/")[2]

    @property
    def number(self) -> int:
        """Which of the period's layings in the season it is, from 1."""
        return int(self.key.rpartition("/")[2])


def windows_of(plan: SolidPlan) -> list[SolidWindow]:
    """The solid periods of every season looked at, cut to the stays, in day order."""
    found = []
    hemisphere = plan.record.hemisphere
    for stay in plan.care.stays:
        schedule = plan.care.schedule_of(stay)
        for season in range(season_of(plan.first, hemisphere), season_of(plan.last, hemisphere) + 1):
            for period in schedule.solid_periods:
                first = plan.record.resolve(period.start, season)
                last = plan.record.last_day(period.stop, season) or season_end(season, hemisphere)
                if first is None:
                    continue
                # What is laid once lies for its interval; of a row of layings the rest comes off at the end.
                usual = max(last + DAY, first + timedelta(days=period.every_days))
                lift = usual if period.lift is None else plan.record.resolve(period.lift, season)
                if lift is None:
                    continue
                begin = max(first, stay.start, plan.first)
                until = min(last, plan.last, stay.end - DAY if stay.end else plan.last)
                if begin <= until:
                    found.append(SolidWindow(period, schedule, season, begin, until, lift))
    return sorted(found, key=lambda w: (w.first, w.last, w.period.name))


def feed_of_window(care: Care, window: SolidWindow, day: date) -> Feed | None:
    """The feed a window lays on a day; None where the group names none, or one of another kind."""
    feed = care.solid_feed_on(day)
    return feed if feed is not None and window.period.takes(feed.form.name) else None


def first_with_feed(care: Care, window: SolidWindow, due: date) -> date | None:
    """The first day of a window, from one on, for which a feed of its kinds is named; None for no such day."""
    days = (day for day in (due, *care.solid_feed_changes) if due <= day <= window.last)
    return next((day for day in days if feed_of_window(care, window, day) is not None), None)


def rate_of(period: SolidPeriod, feed: Feed) -> tuple[Decimal, tuple[Reason, ...]]:
    """How much of a feed a period lays [g per L of container], the label's maximum kept, and that it was kept."""
    rate = period.grams_per_l
    if rate is None:
        assert period.n_mg_per_l is not None
        gives = gives_mg_per_l(feed, Decimal(1))
        rate = period.n_mg_per_l / gives if gives else Decimal(0)
    highest = feed.product.highest_per_l
    if highest is None or rate <= highest:
        return rate, ()
    most = LabelMaximum(feed.name, highest, feed.product.unit, of_pot=True)
    return highest, (Reason(Rule.LABEL, most, feed.source),)


def open_from_today(
    plan: SolidPlan, due: date, window: SolidWindow
) -> tuple[date | None, tuple[Reason, ...]]:
    """The first open day from when it is due, none before today, and what stood in the way."""
    day, reasons = first_open_day(plan, due, window)
    if day is not None and day < plan.today:
        day, more = first_open_day(plan, plan.today, window)
        reasons = (*reasons, *more)
    return day, reasons


def first_open_day(plan: SolidPlan, due: date, window: SolidWindow) -> tuple[date | None, tuple[Reason, ...]]:
    """The first day of the window on which solid feed may be laid, and what stood in the way of earlier ones."""
    met: dict[tuple[Rule, Statement], Reason] = {}
    day = due
    while day <= window.last:
        standing = _in_the_way(plan, day, window)
        if not standing:
            return day, tuple(met.values())
        met |= {(reason.rule, reason.fact): reason for reason in standing}
        ends = [reason.until for reason in standing]
        if None in ends:
            break
        day = max(day + DAY, *(end for end in ends if end is not None))
    return None, tuple(met.values())


def _in_the_way(plan: SolidPlan, day: date, window: SolidWindow) -> tuple[Reason, ...]:
    """What forbids laying on a day: holds, the care after them, absence, and days kept free of feeding."""
    found = list(reasons_against(plan.laying_restrictions, day))
    for limit in plan.restrictions.limits:
        if limit.first <= day <= limit.last:
            rule, entry = limit.hold.rule, limit.hold.entry
            only = LiquidOnly(rule.name)
            found.append(Reason(Rule.SEASON_LIMIT, only, rule.source, entry, limit.last + DAY))
    for ramp in plan.ramps:
        if ramp.begins <= day < ramp.last_step:
            rule, entry = ramp.holds[-1].rule, ramp.holds[-1].entry
            found.append(Reason(Rule.RAMP, WeakFirst(rule.name), rule.source, entry, ramp.last_step))
    allowed = plan.care.collection.habits.feed_on
    if not found and allowed and day.weekday() not in allowed:
        near = next(day + n * DAY for n in range(1, 8) if (day + n * DAY).weekday() in allowed)
        found.append(Reason(Rule.WEEKDAY, ToFeedingDay(), window.period.source, until=near))
    return tuple(found)
