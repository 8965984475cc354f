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
    recorded_layings,
)
from feedplan.engine.feeding.solid_lifts import Lifting
from feedplan.engine.feeding.solid_periods import (
    SolidPlan,
    SolidSlot,
    SolidWindow,
    feed_of_window,
    first_open_day,
    first_with_feed,
    open_from_today,
    rate_of,
    windows_of,
)
from feedplan.engine.feeding.solid_rations import Rations
from feedplan.engine.growing_year import DAY
from feedplan.model.collection import Feed
from feedplan.model.course import Act, Dropped, Solid, SolidEvent, Status
from feedplan.model.history import Outcome, ToldLaying
from feedplan.model.journal import Entry, SolidLaid
from feedplan.model.reason import NotRecorded, OffTooSoon, Reason, Rule
from feedplan.model.schedule import SolidPeriod
from feedplan.model.source import Source

# Feed laid so long before its period opens is that of the period: a typical date is worth about three weeks to either
# side (common practice, no source).
EARLY = timedelta(days=21)
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
    leaves = plan.restrictions.leaves or date.max  # of trees that are gone nothing is asked
    asked = (e for e in walk.events if e.entry is not None or e.day < leaves)
    events = tuple(sorted(asked, key=lambda e: (e.day, e.act, e.key)))
    dropped = tuple(each for each in walk.dropped if each.due < leaves)
    return SolidCourse(plan.counter.solids(walk.layings), events, dropped)


class _Walk(Lifting):
    """Takes up what was told and goes on from today, laying by laying.

    last: the day of the last laying, or for which one was asked; numbers: how many layings of each season and period
    there were. forgone: those asked for and not done, which none that follows makes up for.
    """

    def __init__(self, plan: SolidPlan, there: Sequence[Laying], windows: Sequence[SolidWindow]) -> None:
        super().__init__(plan, there)
        self.forgone: list[Laying] = []
        self.dropped: list[Dropped] = []
        self.last: date | None = None
        self.missed: tuple[SolidEvent, ToldLaying] | None = None
        self.numbers: dict[str, int] = {}
        told = [laying for laying in plan.told if laying.told < plan.today]
        self.lifts = {SolidSlot.of(laying).name: laying.lift_on for laying in told}
        for window in windows:
            # What came off before today stays off, whenever its stage is seen; what is to come off moves with it.
            known = self.lifts.get(window.name)
            if known is None:
                self.lifts[window.name] = window.lift
            elif known >= plan.today:
                self.lifts[window.name] = max(window.lift, plan.today)
        entries = [e for e in plan.record.entries if e.day <= plan.today]
        became, unmatched = what_was_laid(told, entries, self._interval)
        self.rations = Rations(plan, windows, self.lifts)
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
        event = self.event(laying, Act.LAY, slot, told.reasons)
        self.events.append(replace(event, grams_per_l=told.grams_per_l, asked=told))
        self.last = told.told if self.last is None else max(self.last, told.told)
        self.missed = (self.events[-1], told) if each.status is Status.MISSED else None
        (self.forgone if each.status.is_without_feed else self.layings).append(laying)

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
        self._enter_those_of(window)
        if window.last < today:
            self._say_why_none(window, self._due(window))
            return
        self._offer_again(window, self._due(window))
        while (due := first_with_feed(self.plan.care, window, self._due(window))) is not None:
            day, reasons = open_from_today(self.plan, due, window)
            if day is None:
                self._drop(due, window, reasons)
                break
            if self._is_too_late(window, day):
                if not self.numbers.get(window.name):
                    self._drop(due, window, (*reasons, self._too_late(window)))
                break
            if not self._plan_laying(window, self._next_slot(window, due, day), reasons):
                break

    def _enter_those_of(self, window: SolidWindow) -> None:
        """Enter what the journal tells of a window's kinds: what was laid a little early, or in it, is its own."""
        feeds = self.plan.care.collection.feeds
        for log in [log for log in self.logs if log.day <= window.last]:
            fact = log.fact
            if isinstance(fact, SolidLaid) and window.period.takes(feeds[fact.feed].form.name):
                self.logs.remove(log)
                is_extra = not self._is_asked_for(window, log.day)
                is_its_own = window.first - EARLY <= log.day < self.lifts[window.name]
                slot = self._next_slot(window, log.day, log.day) if is_its_own else None
                self._enter(log, slot, is_extra=is_extra)

    def _is_asked_for(self, window: SolidWindow, day: date) -> bool:
        """Whether the plan of today asks for a laying on a day."""
        if day < window.first or feed_of_window(self.plan.care, window, day) is None:
            return False
        is_due = self._due(window) <= self.plan.today
        return is_due and first_open_day(self.plan, self.plan.today, window)[0] == day

    def _is_too_late(self, window: SolidWindow, day: date) -> bool:
        """Whether what is laid on a day comes off too soon to be worth it."""
        return (self.lifts[window.name] - day).days * 2 < window.period.every_days

    def _too_late(self, window: SolidWindow) -> Reason:
        every = timedelta(days=window.period.every_days)
        fact = OffTooSoon(window.period.name, self.lifts[window.name], every)
        return Reason(Rule.PERIOD, fact, window.period.source)

    def _due(self, window: SolidWindow) -> date:
        every = timedelta(days=window.period.every_days)
        return window.first if self.last is None else max(window.first, self.last + every)

    def _next_slot(self, window: SolidWindow, due: date, day: date) -> SolidSlot:
        number = self.numbers[window.name] = self.numbers.get(window.name, 0) + 1
        return SolidSlot(f"{window.name}/{number}", due, day)

    def _say_why_none(self, window: SolidWindow, due: date) -> None:
        """Of a window that is over and saw no laying, say what stood in the way."""
        due_with_feed = first_with_feed(self.plan.care, window, due)
        if due_with_feed is None or self.numbers.get(window.name):
            return
        day, reasons = first_open_day(self.plan, due_with_feed, window)
        if day is None:
            self._drop(due_with_feed, window, reasons)
        elif self._is_too_late(window, day):
            self._drop(due_with_feed, window, (*reasons, self._too_late(window)))

    def _offer_again(self, window: SolidWindow, upcoming: date) -> None:
        """Offer a laying that was missed once more, until the next one comes; what comes after does not wait for it."""
        if self.missed is None or SolidSlot.of(self.missed[1]).name != window.name:
            return
        (event, told), self.missed = self.missed, None
        day, reasons = first_open_day(self.plan, self.plan.today, window)
        if day is None or day >= upcoming or self._is_too_late(window, day):
            return
        late = Reason(Rule.OVERDUE, NotRecorded(told.told, laid=True), window.period.source)
        slot = SolidSlot.of(told)._replace(day=day)
        forgone = self.forgone
        self.forgone = [one for one in forgone if one.period != slot.key]
        if not self._plan_laying(window, slot, (late, *reasons), again=told):
            self.forgone = forgone
        else:
            self.events.remove(event)
            self.events[-1] = replace(self.events[-1], asked=told)
            self.last = told.told

    def _plan_laying(
        self,
        window: SolidWindow,
        slot: SolidSlot,
        reasons: tuple[Reason, ...],
        *,
        again: ToldLaying | None = None,
    ) -> bool:
        """Enter a laying of the plan's own; False when too little of the season's nitrogen is left for it.

        again: one that was missed and is offered once more, no heavier than it was.
        """
        period, day = window.period, slot.day
        feed = feed_of_window(self.plan.care, window, day)
        if feed is None:
            return False
        rate, capped = rate_of(period, feed)
        if again is not None and again.feed == feed.name:
            rate = min(rate, again.grams_per_l)
        status = Status.PLANNED if again is None else Status.OVERDUE
        laying = Laying(feed, gives_mg_per_l(feed, rate), day, _NEVER, status, period.source)
        laying = replace(laying, lifted=self.lifts[window.name], lift_known=_NEVER, period=slot.key)
        ration = self.rations.ration(window, laying, rate, [*self.layings, *self.forgone])
        if not ration.grams_per_l:
            self._drop(slot.due, window, (*reasons, *capped, *ration.reasons))
            return False
        rate = ration.grams_per_l
        laying = replace(laying, gives=gives_mg_per_l(feed, rate))
        self.layings.append(laying)
        self.last = day
        event = self.event(laying, Act.LAY, slot, (*reasons, *capped, *ration.reasons))
        self.events.append(self._remembered(replace(event, grams_per_l=rate), slot))
        return True

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
        event = self.event(laying, Act.LAY, slot or SolidSlot("", log.day, log.day))
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

    def _drop(self, due: date, window: SolidWindow, reasons: tuple[Reason, ...]) -> None:
        if reasons:
            self.dropped.append(Dropped(due, self.plan.care.group_on(due), None, reasons))
