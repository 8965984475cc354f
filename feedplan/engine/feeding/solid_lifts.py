"""Solid feed that comes off the pots again: when its period is over, and when a hold begins that stops it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal

from feedplan.engine.feeding.solid_counts import Laying, lift_of
from feedplan.engine.feeding.solid_periods import SolidPlan, SolidSlot, SolidWindow
from feedplan.engine.growing_year import DAY, season_of
from feedplan.model.collection import Unlogged
from feedplan.model.course import Act, SolidEvent, Status
from feedplan.model.hold import Action
from feedplan.model.journal import Entry
from feedplan.model.reason import PeriodOver, Reason, Rule, SolidStopped
from feedplan.model.schedule import SolidPeriod

# A feed that gives less than this share of what it has when it is taken off again is as good as spent. Judgement.
_SPENT = Decimal("0.95")


class Lifting:
    """The solid feed of one timeline with what is to be done about it, and all of its lifting.

    lifts: by season and period, when what is left comes off.
    """

    def __init__(self, plan: SolidPlan, known: Sequence[Laying]) -> None:
        self.plan = plan
        self.layings: list[Laying] = list(known)
        self.events: list[SolidEvent] = []
        self.lifts: dict[str, date] = {}

    def event(
        self, laying: Laying, act: Act, slot: SolidSlot, reasons: tuple[Reason, ...] = ()
    ) -> SolidEvent:
        """A laying or lifting as it is to be told."""
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
        """Enter the lifting of solid feed that lies there when a hold begins which stops it.

        What the weather opens is over in days, and nothing comes off for it (judgement).
        """
        for hold in self.plan.holds:
            if Action.SOLID not in hold.rule.stops or hold.by_weather:
                continue
            stopped = SolidStopped(hold.rule.name, hold.start)
            reason = Reason(Rule.HOLD, stopped, hold.rule.source, hold.entry)
            known = max(hold.start, hold.entry.known)
            lying: dict[date, list[Laying]] = {}
            for one in self.layings:
                is_inside = one.status is Status.RECORDED and hold.covers(one.laid)
                seen_from = one.laid + DAY if is_inside else hold.start
                if not one.mixed_in and one.laid < seen_from and self._is_left(one, seen_from):
                    lying.setdefault(max(known, seen_from), []).append(one)
            for day, members in lying.items():
                told = next((e for one in members if (e := self._told_lift(one)) is not None), None)
                key = hold.key if day == known else f"{hold.key}/{day}"
                if self._lift(members, key, day, told, (reason,), until=hold.until):
                    self._take_off(members, day)

    def _told_lift(self, laying: Laying) -> Entry | None:
        return lift_of(laying.feed.name, laying.laid, self.plan.record.entries, laying.entry)

    def _is_left(self, laying: Laying, day: date) -> bool:
        """Whether something of a laying still lies there on a day."""
        if laying.laid >= day or (laying.lifted is not None and laying.lifted < day):
            return False
        return self.plan.counter.share_out(laying, day) < _SPENT

    def _lift(
        self,
        left: Sequence[Laying],
        key: str,
        day: date,
        told: Entry | None,
        reasons: tuple[Reason, ...],
        *,
        until: date | None = None,
    ) -> bool:
        """Enter one lifting, as told by the journal or as due; whether the plan takes it as done.

        One that the journal tells of is entered once, with all that asked for it. until: from that day on it is
        neither asked for nor taken as done, None for no such day.
        """
        plan, lead = self.plan, left[0]
        done = next(
            (e for e in self.events if e.act is Act.LIFT and told is not None and e.entry == told), None
        )
        if done is not None and done.feed == lead.feed.name:
            more = (reason for reason in reasons if reason not in done.reasons)
            self.events[self.events.index(done)] = replace(done, reasons=(*done.reasons, *more))
            return True
        status = Status.RECORDED if told is not None else Status.PLANNED
        on = told.day if told is not None else day
        if told is None and day < plan.today:
            missed = (
                plan.care.collection.habits.unlogged_feeds is Unlogged.MISSED
                or lead.status is Status.RECORDED
            )
            still = any(plan.counter.share_out(one, plan.today) < _SPENT for one in left)
            if missed and still and until is not None and until <= plan.today:
                return False
            anew = self._laid_anew(lead.feed.name, day) if missed and still else day
            status, on = (Status.OVERDUE, plan.today) if anew is None else (Status.ASSUMED, anew)
        asked = self._asked_already(lead.feed.name, on) if told is None else None
        if asked is not None:
            more = (reason for reason in reasons if reason not in asked.reasons)
            self.events[self.events.index(asked)] = replace(asked, reasons=(*asked.reasons, *more))
            return status is not Status.OVERDUE
        event = self.event(lead, Act.LIFT, SolidSlot(key, day, on), reasons)
        self.events.append(
            replace(event, day=on, status=status, entry=told, group=self.plan.care.group_on(on), lift_on=None)
        )
        return status is not Status.OVERDUE

    def _laid_anew(self, feed: str, due: date) -> date | None:
        """When new feed of the same kind was laid after the old was to come off: nobody lays it on top of the old.

        Asked for later, the lifting would take off the new. Judgement.
        """
        laid = (one for one in self.layings if one.feed.name == feed and one.status is Status.RECORDED)
        return min((one.laid for one in laid if one.laid >= due), default=None)

    def _asked_already(self, feed: str, day: date) -> SolidEvent | None:
        """The lifting of a feed that is asked for that day already, so that two causes ask for it once."""
        lifts = (e for e in self.events if e.act is Act.LIFT and e.feed == feed and e.day == day)
        return next((e for e in lifts if e.entry is None), None)

    def _take_off(self, layings: Sequence[Laying], day: date | None) -> None:
        """Count the plan's own layings as lifted on a day, or as still there; of recorded ones the journal tells."""
        for one in layings:
            if one.status is not Status.RECORDED:
                self.layings[self.layings.index(one)] = replace(one, lifted=day, lift_known=day)
