"""Solid feed on the pots: when the schedule has it laid and lifted, what stands in the way, and what that gives."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal

from feedplan.engine.feeding.settled import NEARLY_DUE, BecameLaid, what_was_laid
from feedplan.engine.feeding.solid_counts import (
    CARRIED,
    Laying,
    carried_layings,
    gives_mg_per_l,
    lift_of,
    recorded_layings,
)
from feedplan.engine.feeding.solid_periods import (
    SolidPlan,
    SolidSlot,
    SolidWindow,
    first_open_day,
    open_from_today,
    rate_of,
    windows_of,
)
from feedplan.engine.growing_year import DAY, season_of
from feedplan.model.collection import Feed, Unlogged
from feedplan.model.course import Act, Dropped, Solid, SolidEvent, Status
from feedplan.model.history import Outcome, ToldLaying
from feedplan.model.hold import Action
from feedplan.model.journal import Entry, SolidLaid
from feedplan.model.reason import (
    NoRoomForSolid,
    NotRecorded,
    PeriodOver,
    Reason,
    Rule,
    SolidStopped,
)
from feedplan.model.schedule import SolidPeriod
from feedplan.model.source import Source

# A feed that gives less than this share of what it has when it is taken off again is as good as spent. Judgement.
_SPENT = Decimal("0.95")
_NEVER = date.min


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
    if not (recorded or carried or has_periods or plan.told):
        return SolidCourse()
    windows = windows_of(plan)
    walk = _Walk(plan, [*recorded, *carried], windows)
    walk.lift_what_periods_left_that_are_no_more(windows)
    for place, window in enumerate(windows):
        walk.lay(window)
        if all(later.name != window.name for later in windows[place + 1 :]):
            walk.lift_at_the_end(window.name, window.period)
    walk.enter_the_rest()
    walk.lift_for_holds()
    events = tuple(sorted(walk.events, key=lambda e: (e.day, e.act, e.key)))
    return SolidCourse(plan.counter.solids(walk.layings), events, tuple(walk.dropped))


class _Walk:
    """Takes up what was told and goes on from today, laying by laying.

    last: the day of the last laying, or for which one was asked; lifts: by season and period, when what is left comes
    off; numbers: how many layings of each there were.
    """

    def __init__(self, plan: SolidPlan, known: Sequence[Laying], windows: Sequence[SolidWindow]) -> None:
        self.plan = plan
        self.layings: list[Laying] = list(known)
        self.events: list[SolidEvent] = []
        self.dropped: list[Dropped] = []
        self.last: date | None = None
        self.missed: tuple[SolidEvent, ToldLaying] | None = None
        self.numbers: dict[str, int] = {}
        told = [laying for laying in plan.told if laying.told < plan.today]
        self.lifts = {SolidSlot.of(laying).name: laying.lift_on for laying in told}
        for window in windows:
            # What came off before today stays off, whenever its stage is seen; what is to come off moves with it.
            before = self.lifts.get(window.name, window.lift)
            is_told = window.name in self.lifts
            if before >= plan.today or not is_told:
                self.lifts[window.name] = max(window.lift, plan.today) if is_told else window.lift
        entries = [e for e in plan.record.entries if e.day <= plan.today]
        became, unmatched = what_was_laid(told, entries, self._interval)
        self.logs = list(unmatched)
        for each in became:
            self._take_up(each)

    # --- what is settled

    def _take_up(self, each: BecameLaid) -> None:
        """Enter a laying whose day is over; the next one counts from it, or from its day if nothing was laid."""
        told, entry = each.told, each.entry
        slot = SolidSlot.of(told)
        name = slot.name
        self.numbers[name] = max(self.numbers.get(name, 0), told.number)
        if entry is not None and isinstance(entry.fact, SolidLaid):
            self._enter(entry, slot, told)
            return
        laying = Laying(
            self._feed_of(told),
            told.gives,
            told.told,
            _NEVER,
            each.status,
            self._source_of(told),
            entry,
            lifted=self.lifts[name],
            lift_known=_NEVER,
            period=slot.key,
        )
        event = self._event(laying, Act.LAY, slot, told.reasons)
        self.events.append(replace(event, grams_per_l=told.grams_per_l, asked=told))
        self.last = told.told if self.last is None else max(self.last, told.told)
        self.missed = (self.events[-1], told) if each.status is Status.MISSED else None
        if not each.status.is_without_feed:
            self.layings.append(laying)

    def _feed_of(self, told: ToldLaying) -> Feed:
        """The feed asked for; one that is no longer on the shelf goes on as an even one of unknown make."""
        return self.plan.care.collection.feeds.get(told.feed) or replace(CARRIED, name=told.feed)

    def _period_of(self, told: ToldLaying) -> SolidPeriod | None:
        periods = self.plan.care.schedule_on(told.told).solid_periods
        return next((period for period in periods if period.name == told.period), None)

    def _source_of(self, told: ToldLaying) -> Source:
        period = self._period_of(told)
        return self.plan.care.schedule_on(told.told).source if period is None else period.source

    def _interval(self, told: ToldLaying) -> timedelta:
        """Days from one laying to the next, as the schedule has them now."""
        period = self._period_of(told)
        return NEARLY_DUE if period is None else timedelta(days=period.every_days)

    # --- from today on

    def lay(self, window: SolidWindow) -> None:
        """Enter every laying of one window."""
        today = self.plan.today
        while self.logs and self.logs[0].day <= window.last:
            log = self.logs.pop(0)
            due = self._due(window)
            slot = self._next_slot(window, log.day, log.day) if log.day >= window.first else None
            is_extra = due > today or first_open_day(self.plan, today, window)[0] != log.day
            self._enter(log, slot, is_extra=is_extra)
        due = self._due(window)
        if window.last < today:
            self._say_why_none(window, due)
            return
        self._offer_again(window, due)
        while due <= window.last:
            day, reasons = open_from_today(self.plan, due, window)
            if day is None:
                self._drop(due, window, reasons)
                break
            if (self.lifts[window.name] - day).days * 2 < window.period.every_days:
                break
            if not self._plan_laying(window, self._next_slot(window, due, day), reasons):
                break
            due = self._due(window)

    def _due(self, window: SolidWindow) -> date:
        every = timedelta(days=window.period.every_days)
        return window.first if self.last is None else max(window.first, self.last + every)

    def _next_slot(self, window: SolidWindow, due: date, day: date) -> SolidSlot:
        number = self.numbers[window.name] = self.numbers.get(window.name, 0) + 1
        return SolidSlot(f"{window.name}/{number}", due, day)

    def _say_why_none(self, window: SolidWindow, due: date) -> None:
        """Of a window that is over and saw no laying, say what stood in the way."""
        if due <= window.last and not self.numbers.get(window.name):
            day, reasons = first_open_day(self.plan, due, window)
            if day is None:
                self._drop(due, window, reasons)

    def _offer_again(self, window: SolidWindow, upcoming: date) -> None:
        """Offer a laying that was missed once more, until the next one comes; what comes after does not wait for it."""
        if self.missed is None or SolidSlot.of(self.missed[1]).name != window.name:
            return
        (event, told), self.missed = self.missed, None
        day, reasons = first_open_day(self.plan, self.plan.today, window)
        if day is None or day >= upcoming or (window.lift - day).days * 2 < window.period.every_days:
            return
        late = Reason(Rule.OVERDUE, NotRecorded(told.told, laid=True), window.period.source)
        slot = SolidSlot.of(told)._replace(day=day)
        if self._plan_laying(window, slot, (late, *reasons), status=Status.OVERDUE):
            self.events.remove(event)
            self.events[-1] = replace(self.events[-1], asked=told)
            self.last = told.told

    def _plan_laying(
        self,
        window: SolidWindow,
        slot: SolidSlot,
        reasons: tuple[Reason, ...],
        *,
        status: Status = Status.PLANNED,
    ) -> bool:
        """Enter a laying of the plan's own; False when it does not fit into the season's budget."""
        period, day = window.period, slot.day
        feed = self.plan.care.solid_feed_on(day)
        if feed is None:
            return False
        rate, capped = rate_of(period, feed)
        laying = Laying(feed, gives_mg_per_l(feed, rate), day, _NEVER, status, period.source)
        laying = replace(laying, lifted=self.lifts[window.name], lift_known=_NEVER, period=slot.key)
        over = self._over_budget(laying, window, day)
        if over is not None:
            self._drop(slot.due, window, (*reasons, over))
            return False
        self.layings.append(laying)
        self.last = day
        event = self._event(laying, Act.LAY, slot, (*reasons, *capped))
        self.events.append(self._remembered(replace(event, grams_per_l=rate), slot))
        return True

    def _over_budget(self, laying: Laying, window: SolidWindow, day: date) -> Reason | None:
        """Why one more laying is too much for its season, None when it fits."""
        counter, season = self.plan.counter, window.season
        there = [one for one in self.layings if one.known <= day]
        solid = sum((counter.in_season(one, season, max(one.known, day)) for one in there), Decimal(0))
        total = solid + counter.in_season(laying, season, laying.laid) + self.plan.spent_mg_per_l(season, day)
        budget = window.schedule.budget_mg_n_per_l
        if total <= budget:
            return None
        return Reason(Rule.BUDGET, NoRoomForSolid(budget, round(total)), window.schedule.source)

    def _enter(
        self, log: Entry, slot: SolidSlot | None, asked: ToldLaying | None = None, *, is_extra: bool = True
    ) -> None:
        """Enter a laying that the journal tells. slot: the one of a period it is, None for none.

        asked: as it was asked for; is_extra: no plan did.
        """
        index = next(i for i, one in enumerate(self.layings) if one.entry is log)
        laying = self.layings[index]
        if slot is not None and not laying.mixed_in:
            laying = replace(laying, period=slot.key)
            if laying.lifted is None:
                off = max(self.lifts[slot.name], log.day + DAY)
                laying = replace(laying, lifted=off, lift_known=laying.known)
            self.layings[index] = laying
        self.last = log.day if self.last is None else max(self.last, log.day)
        self.missed = None
        rate = laying.gives / gives_mg_per_l(laying.feed, Decimal(1)) if laying.gives else Decimal(0)
        event = self._event(laying, Act.LAY, slot or SolidSlot("", log.day, log.day))
        event = replace(event, grams_per_l=rate, asked=asked)
        if slot is not None and asked is None:
            event = self._remembered(event, slot, is_extra=is_extra)
        self.events.append(event)

    def _remembered(self, event: SolidEvent, slot: SolidSlot, *, is_extra: bool = False) -> SolidEvent:
        """A laying of a period with what is remembered of it."""
        asked = ToldLaying(
            told=event.day,
            due=event.due,
            season=slot.season,
            period=slot.period,
            number=slot.number,
            group=event.group,
            feed=event.feed,
            grams_per_l=event.grams_per_l,
            gives=event.mg_n_per_l,
            lift_on=self.lifts[slot.name],
            unrecorded=Outcome.GIVEN if is_extra else Outcome.ASKED,
            extra=is_extra,
            reasons=event.reasons,
        )
        return replace(event, asked=asked)

    def enter_the_rest(self) -> None:
        """Enter what the journal tells outside every window."""
        while self.logs:
            self._enter(self.logs.pop(0), None)

    def _event(
        self, laying: Laying, act: Act, slot: SolidSlot, reasons: tuple[Reason, ...] = ()
    ) -> SolidEvent:
        prefix = "lift" if act is Act.LIFT else "solid"
        return SolidEvent(
            key=f"{prefix}/{slot.key or (laying.entry.id if laying.entry else '')}",
            act=act,
            day=laying.laid,
            due=slot.due,
            status=laying.status,
            group=self.plan.care.group_on(laying.laid),
            feed=laying.feed.name,
            grams_per_l=Decimal(0),
            mg_n_per_l=laying.gives,
            season=season_of(laying.laid, self.plan.record.hemisphere),
            period=laying.period.split("/")[1] if laying.period else "",
            lift_on=laying.lifted,
            reasons=reasons,
            entry=laying.entry,
        )

    def _drop(self, due: date, window: SolidWindow, reasons: tuple[Reason, ...]) -> None:
        if reasons:
            self.dropped.append(Dropped(due, self.plan.care.group_on(due), None, reasons))

    def lift_at_the_end(self, name: str, period: SolidPeriod | None) -> None:
        """Enter the lifting of what a season's layings of a period have left when it is over."""
        mine = [one for one in self.layings if one.period.rpartition("/")[0] == name and not one.mixed_in]
        left = [one for one in mine if self._is_left(one, self.lifts[name])]
        if not left:
            return
        told = next((e for one in left if (e := self._told_lift(one)) is not None), None)
        reasons: tuple[Reason, ...] = ()
        if period is not None:
            over = PeriodOver(period.name, period.lift or period.stop)
            reasons = (Reason(Rule.PERIOD, over, period.source),)
        if not self._lift(left, name, self.lifts[name], told, reasons):
            self._take_off(left, None)

    def lift_what_periods_left_that_are_no_more(self, windows: Sequence[SolidWindow]) -> None:
        """Enter the lifting of what was told to be laid by a period that the schedule has no more."""
        for name in self.lifts.keys() - {window.name for window in windows}:
            self.lift_at_the_end(name, None)

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
            if self._lift(lying, hold.key, day, told, (reason,)):
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
        event = self._event(lead, Act.LIFT, SolidSlot(key, day, on), reasons)
        self.events.append(
            replace(event, day=on, status=status, entry=told, group=self.plan.care.group_on(on), lift_on=None)
        )
        return status is not Status.OVERDUE

    def _take_off(self, layings: Sequence[Laying], day: date | None) -> None:
        """Count the plan's own layings as lifted on a day, or as still there; of recorded ones the journal tells."""
        for one in layings:
            if one.status is not Status.RECORDED:
                self.layings[self.layings.index(one)] = replace(one, lifted=day, lift_known=day)
