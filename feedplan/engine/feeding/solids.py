"""Solid feed on the pots: when the schedule has it laid and lifted, what stands in the way, and what that gives."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal

from feedplan.engine.care import Care
from feedplan.engine.feeding.barriers import Barring, barriers
from feedplan.engine.feeding.solid_counts import (
    Counter,
    Laying,
    carried_layings,
    gives_mg_per_l,
    lift_of,
    recorded_layings,
)
from feedplan.engine.growing_year import DAY, season_end, season_of
from feedplan.engine.holds.holds import Ramp
from feedplan.engine.stages.stages import Record
from feedplan.model.collection import Feed, Unlogged
from feedplan.model.course import Act, Dropped, Hold, Solid, SolidEvent, Status
from feedplan.model.hold import Action
from feedplan.model.journal import Entry, SolidLaid
from feedplan.model.reason import (
    LabelMaximum,
    LiquidOnly,
    NoRoomForSolid,
    NotRecorded,
    PeriodOver,
    Reason,
    Rule,
    SolidStopped,
    ToFeedingDay,
    WeakFirst,
)
from feedplan.model.schedule import MOST_N_MG_PER_L, Schedule, SolidPeriod
from feedplan.model.statement import Statement

# A feed that gives less than this share of what it has when it is taken off again is as good as spent. Judgement.
_SPENT = Decimal("0.95")
_NEVER = date.min


@dataclass(frozen=True, slots=True)
class SolidPlan:
    """All that decides the solid feed of one timeline.

    spent_mg_per_l: liquid N of a season recorded by a day [mg per L of container]. first, last: the days looked at.
    """

    care: Care
    record: Record
    holds: Sequence[Hold]
    barring: Barring
    ramps: Sequence[Ramp]
    counter: Counter
    spent_mg_per_l: Callable[[int, date], Decimal]
    today: date
    first: date
    last: date


@dataclass(frozen=True, slots=True)
class SolidCourse:
    """What became of the plan: nitrogen by season, what is to be done, and what fell away."""

    solids: tuple[Solid, ...] = ()
    events: tuple[SolidEvent, ...] = ()
    dropped: tuple[Dropped, ...] = ()


def solids_of(plan: SolidPlan) -> SolidCourse:
    """Every solid feed of one timeline: recorded, brought along, planned; with its layings and liftings."""
    entries = plan.record.entries
    recorded = recorded_layings(entries, plan.care.collection.feeds, plan.care.trees[0].pot.litres)
    carried = carried_layings(plan.holds, entries)
    has_periods = any(plan.care.schedule_of(stay).solid_periods for stay in plan.care.stays)
    if not recorded and not carried and not has_periods:
        return SolidCourse()
    walk = _Walk(plan, [*recorded, *carried])
    for window in _windows(plan):
        walk.lay(window)
    walk.enter_the_rest()
    walk.lift_for_holds()
    events = tuple(sorted(walk.events, key=lambda e: (e.day, e.act, e.key)))
    return SolidCourse(plan.counter.solids(walk.layings), events, tuple(walk.dropped))


@dataclass(frozen=True, slots=True)
class _Window:
    """A solid period as it falls in one season. lift: when what still lies is taken off."""

    period: SolidPeriod
    schedule: Schedule
    season: int
    first: date
    last: date
    lift: date


def _windows(plan: SolidPlan) -> list[_Window]:
    """The solid periods of every season looked at, cut to the stays, in day order."""
    found = []
    hemisphere = plan.record.hemisphere
    for stay in plan.care.stays:
        schedule = plan.care.schedule_of(stay)
        for season in range(season_of(plan.first, hemisphere), season_of(plan.last, hemisphere) + 1):
            for period in schedule.solid_periods:
                first = plan.record.resolve(period.start, season)
                last = plan.record.last_day(period.stop, season) or season_end(season, hemisphere)
                lift = plan.record.resolve(period.lift, season) if period.lift is not None else last + DAY
                if first is None or lift is None:
                    continue
                begin = max(first, stay.start, plan.first)
                until = min(last, plan.last, stay.end - DAY if stay.end else plan.last)
                if begin <= until:
                    found.append(_Window(period, schedule, season, begin, until, lift))
    return sorted(found, key=lambda w: (w.first, w.last, w.period.name))


class _Walk:
    """Walks the year laying by laying; what the journal tells answers what was due."""

    def __init__(self, plan: SolidPlan, known: Sequence[Laying]) -> None:
        self.plan = plan
        self.layings: list[Laying] = list(known)
        self.events: list[SolidEvent] = []
        self.dropped: list[Dropped] = []
        self.logs = [e for e in plan.record.entries if isinstance(e.fact, SolidLaid) and e.day <= plan.today]
        self.last: date | None = None
        self._barring = replace(
            plan.barring,
            holds=tuple(hold for hold in plan.holds if Action.SOLID in hold.rule.stops),
            limits=(),
            overrides={},
            dry=(),
            gates=None,
        )

    def lay(self, window: _Window) -> None:
        """Enter every laying of one window."""
        every = timedelta(days=window.period.every_days)
        while self.logs and self.logs[0].day < window.first:
            self._enter(self.logs.pop(0), "")
        due = window.first if self.last is None else max(window.first, self.last + every)
        number = 0
        while due <= window.last:
            number += 1
            key = f"{window.season}/{window.period.name}/{number}"
            day, reasons = self._first_open(due, window)
            log = self.logs[0] if self.logs and self.logs[0].day <= window.last else None
            forgotten = self._is_forgotten(day)
            if log is not None and (day is None or forgotten or log.day < day + every):
                self._enter(self.logs.pop(0), key, due, window)
                due = log.day + every
                continue
            if day is not None and forgotten:
                late = Reason(Rule.OVERDUE, NotRecorded(day, laid=True), window.period.source)
                day, reasons = self._first_open(self.plan.today, window)
                reasons = (late, *reasons)
            if day is None:
                self._drop(due, window, reasons)
                break
            if (window.lift - day).days * 2 < window.period.every_days:
                break
            if not self._plan_laying(window, key, due, day, reasons):
                break
            due = day + every
        self._lift_at_the_end(window)

    def _is_forgotten(self, day: date | None) -> bool:
        """Whether a day is past and the grower would have recorded a laying on it."""
        is_past = day is not None and day < self.plan.today
        return is_past and self.plan.care.collection.habits.unlogged_feeds is Unlogged.MISSED

    def _first_open(self, due: date, window: _Window) -> tuple[date | None, tuple[Reason, ...]]:
        """The first day of the window on which solid feed may be laid, and what stood in the way of earlier ones."""
        met: dict[tuple[Rule, Statement], Reason] = {}
        day = due
        while day <= window.last:
            standing = self._in_the_way(day, window)
            if not standing:
                return day, tuple(met.values())
            met |= {(reason.rule, reason.fact): reason for reason in standing}
            ends = [reason.until for reason in standing]
            if None in ends:
                break
            day = max(day + DAY, *(end for end in ends if end is not None))
        return None, tuple(met.values())

    def _in_the_way(self, day: date, window: _Window) -> tuple[Reason, ...]:
        """What forbids laying on a day: holds, the care after them, absence, and days kept free of feeding."""
        found = list(barriers(self._barring, day))
        for limit in self.plan.barring.limits:
            if limit.first <= day <= limit.last:
                rule, entry = limit.hold.rule, limit.hold.entry
                only = LiquidOnly(rule.name)
                found.append(Reason(Rule.SEASON_LIMIT, only, rule.source, entry, limit.last + DAY))
        for ramp in self.plan.ramps:
            over = ramp.begins + timedelta(days=ramp.step_days * (len(ramp.steps) - 1))
            if ramp.begins <= day < over:
                rule = ramp.holds[-1].rule
                found.append(Reason(Rule.RAMP, WeakFirst(rule.name), rule.source, ramp.holds[-1].entry, over))
        allowed = self.plan.care.collection.habits.feed_on
        if not found and allowed and day.weekday() not in allowed:
            near = next(day + n * DAY for n in range(1, 8) if (day + n * DAY).weekday() in allowed)
            found.append(Reason(Rule.WEEKDAY, ToFeedingDay(), window.period.source, until=near))
        return tuple(found)

    def _plan_laying(
        self, window: _Window, key: str, due: date, day: date, reasons: tuple[Reason, ...]
    ) -> bool:
        """Enter a laying of the plan's own; False when it does not fit into the season's budget."""
        plan, period = self.plan, window.period
        feed = plan.care.solid_feed_on(day)
        if feed is None:
            return False
        rate, capped = _rate(period, feed)
        status = Status.ASSUMED if day < plan.today else Status.PLANNED
        if any(reason.rule is Rule.OVERDUE for reason in reasons):
            status = Status.OVERDUE
        laying = Laying(
            feed,
            gives_mg_per_l(feed, rate),
            day,
            _NEVER,
            status,
            period.source,
            lifted=window.lift,
            lift_known=_NEVER,
            period=key,
        )
        over = self._over_budget(laying, window, day)
        if over is not None:
            self._drop(due, window, (*reasons, over))
            return False
        self.layings.append(laying)
        self.last = day
        self.events.append(
            self._event(laying, Act.LAY, key=f"solid/{key}", due=due, rate=rate, reasons=(*reasons, *capped))
        )
        return True

    def _over_budget(self, laying: Laying, window: _Window, day: date) -> Reason | None:
        """Why one more laying is too much for its season, None when it fits."""
        counter, season = self.plan.counter, window.season
        there = [one for one in self.layings if one.known <= day]
        solid = sum((counter.in_season(one, season, max(one.known, day)) for one in there), Decimal(0))
        total = solid + counter.in_season(laying, season, laying.laid) + self.plan.spent_mg_per_l(season, day)
        budget = budget_of(window.schedule)
        if total <= budget:
            return None
        return Reason(Rule.BUDGET, NoRoomForSolid(budget, round(total)), window.schedule.source)

    def _enter(self, log: Entry, key: str, due: date | None = None, window: _Window | None = None) -> None:
        """Enter a laying that the journal tells."""
        index = next(i for i, one in enumerate(self.layings) if one.entry is log)
        laying = self.layings[index]
        if window is not None and not laying.mixed_in:
            laying = replace(laying, period=key)
            if laying.lifted is None:
                off = max(window.lift, log.day + DAY)
                laying = replace(laying, lifted=off, lift_known=laying.known)
            self.layings[index] = laying
        self.last = log.day
        rate = laying.gives / gives_mg_per_l(laying.feed, Decimal(1)) if laying.gives else Decimal(0)
        own = f"solid/{key}" if key else f"solid/{log.id}"
        self.events.append(self._event(laying, Act.LAY, key=own, due=due or log.day, rate=rate))

    def enter_the_rest(self) -> None:
        """Enter what the journal tells outside every window."""
        while self.logs:
            self._enter(self.logs.pop(0), "")

    def _event(
        self,
        laying: Laying,
        act: Act,
        *,
        key: str,
        due: date,
        rate: Decimal = Decimal(0),
        reasons: tuple[Reason, ...] = (),
    ) -> SolidEvent:
        return SolidEvent(
            key=key,
            act=act,
            day=laying.laid,
            due=due,
            status=laying.status,
            group=self.plan.care.group_on(laying.laid),
            feed=laying.feed.name,
            grams_per_l=rate,
            mg_n_per_l=laying.gives,
            season=season_of(laying.laid, self.plan.record.hemisphere),
            period=laying.period.split("/")[1] if laying.period else "",
            lift_on=laying.lifted,
            reasons=reasons,
            entry=laying.entry,
        )

    def _drop(self, due: date, window: _Window, reasons: tuple[Reason, ...]) -> None:
        if reasons:
            self.dropped.append(Dropped(due, self.plan.care.group_on(due), None, reasons))

    def _lift_at_the_end(self, window: _Window) -> None:
        """Enter the lifting of what a window's layings have left when it is over."""
        prefix = f"{window.season}/{window.period.name}/"
        mine = [one for one in self.layings if one.period.startswith(prefix) and not one.mixed_in]
        left = [one for one in mine if self._is_left(one, window.lift)]
        if not left:
            return
        told = next((e for one in left if (e := self._told_lift(one)) is not None), None)
        period = window.period
        reason = Reason(Rule.PERIOD, PeriodOver(period.name, period.lift or period.stop), period.source)
        if not self._lift(left, f"lift/{prefix.rstrip('/')}", window.lift, told, (reason,)):
            self._take_off(left, None)

    def lift_for_holds(self) -> None:
        """Enter the lifting of solid feed that lies there when a hold begins which stops it."""
        for hold in self.plan.holds:
            if Action.SOLID not in hold.rule.stops:
                continue
            lying = [
                one
                for one in self.layings
                if not one.mixed_in and one.laid < hold.start and self._is_left(one, hold.start)
            ]
            if not lying:
                continue
            told = next((e for one in lying if (e := self._told_lift(one)) is not None), None)
            stopped = SolidStopped(hold.rule.name, hold.start)
            reason = Reason(Rule.HOLD, stopped, hold.rule.source, hold.entry)
            day = max(hold.start, hold.entry.known)
            if self._lift(lying, f"lift/{hold.key}", day, told, (reason,)):
                self._take_off(lying, day)

    def _told_lift(self, laying: Laying) -> Entry | None:
        return lift_of(laying.feed.name, laying.laid, self.plan.record.entries)

    def _is_left(self, laying: Laying, day: date) -> bool:
        """Whether something of a laying still lies there on a day."""
        if laying.laid >= day or (laying.lifted is not None and laying.lifted < day):
            return False
        return self.plan.counter.share_out(laying, day) < _SPENT

    def _lift(
        self, left: Sequence[Laying], key: str, day: date, told: Entry | None, reasons: tuple[Reason, ...]
    ) -> bool:
        """Enter one lifting, as told by the journal or as due; whether the plan takes it as done."""
        plan, lead = self.plan, left[0]
        status = Status.RECORDED if told is not None else Status.PLANNED
        on = told.day if told is not None else day
        if told is None and day < plan.today:
            missed = (
                plan.care.collection.habits.unlogged_feeds is Unlogged.MISSED
                or lead.status is Status.RECORDED
            )
            still = any(plan.counter.share_out(one, plan.today) < _SPENT for one in left)
            status, on = (Status.OVERDUE, plan.today) if missed and still else (Status.ASSUMED, day)
        event = self._event(lead, Act.LIFT, key=key, due=day, reasons=reasons)
        self.events.append(
            replace(event, day=on, status=status, entry=told, group=self.plan.care.group_on(on), lift_on=None)
        )
        return status is not Status.OVERDUE

    def _take_off(self, layings: Sequence[Laying], day: date | None) -> None:
        """Count the plan's own layings as lifted on a day, or as still there; of recorded ones the journal tells."""
        for one in layings:
            if one.status is not Status.RECORDED:
                self.layings[self.layings.index(one)] = replace(one, lifted=day, lift_known=day)


def _rate(period: SolidPeriod, feed: Feed) -> tuple[Decimal, tuple[Reason, ...]]:
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


def budget_of(schedule: Schedule) -> Decimal:
    """The nitrogen to keep to in a season [mg per L of container]."""
    if schedule.allow_over:
        return schedule.budget_mg_n_per_l
    return min(schedule.budget_mg_n_per_l, MOST_N_MG_PER_L)
