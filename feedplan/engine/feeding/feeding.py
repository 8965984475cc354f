"""The feeds of one timeline: those settled, and from today on when each is due, what bars it and how strong it is."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from functools import partial

from feedplan.engine.feeding.openings import (
    Feeding,
    Slot,
    before_leaving,
    feeding_days_near,
    first_open,
    is_of_its_own,
    least_after,
    may_be_near,
    offered_to,
    ramp_ends,
    to_feeding_day,
)
from feedplan.engine.feeding.restrictions import overridden, reasons_against
from feedplan.engine.feeding.settled import NEARLY_DUE, Became, what_became
from feedplan.engine.feeding.strength import RampState, given_ppm, limits_on, reached, strength_ppm, weakened
from feedplan.engine.growing_year import DAY, season_of
from feedplan.model.course import Dropped, FeedEvent, Status, Window
from feedplan.model.history import Outcome, ToldFeed
from feedplan.model.journal import Entry, Fed, NotFed
from feedplan.model.reason import FedAlthough, NotRecorded, Reason, Rule
from feedplan.model.schedule import FeedingPeriod

ONE = Decimal(1)


class _Series:
    """Takes up what was told and goes on from today. last: the last feed given; anchor: what intervals count from."""

    def __init__(self, feeding: Feeding) -> None:
        self.feeding = feeding
        self.events: list[FeedEvent] = []
        self.dropped: list[Dropped] = []
        self.last: date | None = None
        self.anchor = feeding.in_step
        self.latest: FeedEvent | None = None
        self.ramp: RampState | None = None
        self.ramps_taken = 0
        self.counts: dict[int, int] = {}
        entries = feeding.record.entries
        self.adverse = [e for e in entries if feeding.record.is_adverse(e)]
        self.habits = feeding.care.collection.habits

    def walk(self) -> None:
        """Fill `events` and `dropped` to the last day planned, and with the one feed after it, as a longer plan has."""
        feeding = self.feeding
        told = [feed for feed in feeding.told if feed.told < feeding.today]
        for feed in told:
            self.counts[feed.season] = max(self.counts.get(feed.season, 0), feed.ordinal)
        became, unmatched = what_became(
            told, feeding.record.entries, partial(offered_to, feeding), partial(may_be_near, feeding)
        )
        fed = [e for e in unmatched if e.day < feeding.today and isinstance(e.fact, Fed)]
        extras = [self._extra(e) for e in fed if is_of_its_own(feeding, e)]
        for each in sorted([*became, *extras], key=lambda each: (each.day, each.told.ordinal)):
            self._take_up(each)
        missed = self._missed()
        logs = list({entry.fact: entry for entry in unmatched if entry.day == feeding.today}.values())
        while logs or self.last is None or self.last <= feeding.last:
            slot = self._next_slot()
            if logs:
                log = logs.pop(0)
                if isinstance(log.fact, NotFed):
                    self._leave_out(log, slot)
                elif self._is_meant(log, slot):
                    self._record(log, slot)
                    missed = None
            elif slot is None:
                break
            else:
                if missed is not None:
                    self._offer_again(missed, slot)
                    missed = None
                self._plan(slot)
        self.events.sort(key=lambda event: (event.day, event.ordinal))

    # --- what is settled

    def _take_up(self, each: Became) -> None:
        """Enter a feed whose day is over, and move the ramp and the interval on."""
        told, day = each.told, each.day
        is_given = not each.status.is_without_feed
        inside = reasons_against(self.feeding.restrictions, day)
        held = tuple(r for r in inside if r.rule in (Rule.HOLD, Rule.SEASON_LIMIT))
        if not held:
            self._take_up_ramp(day, is_given=is_given)
        although = tuple(replace(r, fact=FedAlthough(r.fact)) for r in held) if is_given else ()
        event = FeedEvent(
            day=day,
            due=told.due,
            status=each.status,
            group=told.group,
            feed=each.feed,
            ppm=given_ppm(each.entry, told.ppm, told.feed, self.feeding.care),
            plan_ppm=told.plan_ppm,
            share=told.share,
            season=told.season,
            ordinal=told.ordinal,
            period=told.period,
            told=told.told,
            counts_from=told.counts_from,
            asked_ppm=told.ppm,
            asked_feed=told.feed,
            reasons=tuple(dict.fromkeys((*told.reasons, *although))),
            entry=each.entry,
            ratio=told.ratio,
            part=each.part,
            unrecorded=told.unrecorded,
            is_extra=told.extra,
            lineage=told.lineage,
        )
        self.events.append(event)
        self.latest, self.anchor = event, told.counts_from if day == told.told else day
        if is_given:
            self.last = day if self.last is None else max(self.last, day)
        if not held:
            self._go_on(is_given=is_given)

    def _extra(self, log: Entry) -> Became:
        """A feed recorded where none was asked for: it counts from its day, at the strength told or the usual one."""
        care, day = self.feeding.care, log.day
        season = season_of(day, self.feeding.record.hemisphere)
        window, product = self.feeding.windows.at(day), care.feed_on(day)
        periods = care.schedule_on(day).periods
        strengths = [strength_ppm(p.strength, product) for p in ([window.period] if window else periods)]
        ratio = None if product is not None else care.ratio_on(day)
        usual, _ = reached(max(strengths, default=Decimal(0)), product, ratio, care, day)
        self.counts[season] = self.counts.get(season, 0) + 1
        told = ToldFeed(
            told=day,
            due=day,
            counts_from=day,
            season=season,
            ordinal=self.counts[season],
            period=window.period.name if window else "",
            group=care.group_on(day),
            feed=product.name if product is not None else None,
            ratio=ratio,
            ppm=usual,
            plan_ppm=usual,
            share=ONE,
            unrecorded=Outcome.GIVEN,
            extra=True,
        )
        return Became.by(told, log)

    def _is_meant(self, log: Entry, slot: Slot | None) -> bool:
        """Whether a record of a whole group fed as planned means this tree: not one held, nor one not asked."""
        if is_of_its_own(self.feeding, log):
            return True
        if reasons_against(self.feeding.restrictions, log.day):
            return False
        last = log.day + (NEARLY_DUE if log.id in self.feeding.off_day else timedelta())
        return slot is not None and slot.day <= last

    # --- from today on

    def _missed(self) -> FeedEvent | None:
        """The feed asked for last if it was missed; an older one is never made up for."""
        latest = self.latest
        return latest if latest is not None and latest.status is Status.MISSED else None

    def _offer_again(self, missed: FeedEvent, upcoming: Slot) -> None:
        """Offer a missed feed once more, until the next one comes; what comes after does not wait for it."""
        day, reasons = self._first_open(
            max(self.feeding.today, self._earliest(upcoming.window, self.last)), self.last
        )
        window = None if day is None else self.feeding.windows.at(day)
        is_over = window is None or window.season != missed.season
        if day is None or window is None or is_over or day >= upcoming.day:
            return
        self.events.remove(missed)
        late = Reason(Rule.OVERDUE, NotRecorded(missed.told))
        slot = Slot(missed.due, day, window, upcoming.interval, (late, *reasons))
        self._take_up_ramp(day)
        event = replace(self._event(slot, Status.OVERDUE, None), ordinal=missed.ordinal, season=missed.season)
        self.counts[slot.window.season] -= 1
        asked = missed.asked_ppm
        self.events.append(replace(event, told=missed.told, asked_ppm=asked, offered_to=upcoming.day - DAY))
        self._go_on()

    def _plan(self, slot: Slot) -> None:
        feeding = self.feeding
        if slot.moved_by and slot.day != slot.due:
            group = feeding.care.group_on(slot.day)
            self.dropped.append(Dropped(slot.due, group, slot.day, slot.moved_by))
        self._give(slot, Status.PLANNED, None)

    def _record(self, log: Entry, slot: Slot | None) -> None:
        """Enter a feed recorded today; it answers the one asked for today, or stands by itself."""
        day = log.day
        window = self.feeding.windows.at(day)
        if is_extra := slot is None or slot.day != day:
            if window is None:
                self._take_up(self._extra(log))
                return
            slot = Slot(day, day, window, self._interval(window.period.every_days), ())
        inside = reasons_against(self.feeding.restrictions, day)
        although = tuple(replace(r, fact=FedAlthough(r.fact)) for r in inside)
        given = replace(slot, moved_by=(*slot.moved_by, *although))
        self._give(given, Status.RECORDED, log, held=bool(inside))
        self.events[-1] = replace(self.events[-1], is_extra=is_extra)

    def _leave_out(self, log: Entry, slot: Slot | None) -> None:
        """Enter that a feed asked for today was not given; the next one keeps its day."""
        if slot is not None and slot.day == log.day:
            event = self._event(slot, Status.NOT_GIVEN, log)
            self.events.append(event)
            self.anchor, self.latest = slot.counts_from, event
            self._go_on(is_given=False)

    def _give(self, slot: Slot, status: Status, log: Entry | None, *, held: bool = False) -> None:
        if not held:
            self._take_up_ramp(slot.day)
        event = self._event(slot, status, log)
        self.events.append(event)
        self.last, self.anchor, self.latest = slot.day, event.counts_from, event
        if not held:
            self._go_on()

    def _go_on(self, *, is_given: bool = True) -> None:
        if self.ramp is not None:
            self.ramp.go_on(is_given=is_given)

    def _take_up_ramp(self, day: date, *, is_given: bool = True) -> None:
        """Start a ramp whose holds have ended, given or not, end it, or set it back by what was seen since."""
        begun = [r for r in self.feeding.ramps[self.ramps_taken :] if r.begins <= day]
        self.ramps_taken += len(begun)
        running = [self.ramp.ramp] if self.ramp is not None and self.ramp.running else []
        still = [r for r in (*running, *begun) if day <= ramp_ends(self.feeding, r)]
        if still != running:
            gentlest = min(still, key=lambda r: (r.steps[0], -len(r.steps), -r.step_days), default=None)
            self.ramp = None if gentlest is None else RampState(gentlest)
        elif is_given and self.ramp is not None and self.ramp.running and self.last is not None:
            setbacks = sum(self.last < e.day <= day for e in self.adverse)
            self.ramp.step = max(0, self.ramp.step - min(setbacks, 2))

    def _interval(self, every_days: int) -> timedelta:
        """The time to the next feed, stretched by a ramp in progress and by what a hold left behind."""
        days = [every_days]
        if self.ramp is not None and self.ramp.sets_interval:
            days.append(self.ramp.ramp.step_days)
        if self._asked is not None:
            limits = limits_on(self.feeding.restrictions, self._asked)
            days += [limit.hold.rule.feed_every_days or 0 for limit in limits]
        return timedelta(days=max(days))

    @property
    def _asked(self) -> date | None:
        """The last day on which a feed was given or asked for: one not given moves none that was told with it."""
        if self.last is None or self.latest is None:
            return self.last if self.latest is None else self.latest.told
        return max(self.last, self.latest.told)

    def _earliest(self, window: Window, after: date | None) -> date:
        """The first day the least gap after a feed allows."""
        return self.feeding.first if after is None else after + timedelta(days=window.period.min_gap_days)

    def _due(self) -> tuple[date, Window] | None:
        """When the interval asks for the next feed, and the window it falls in; None when no window is left.

        The interval is that of the period fed in last, as it is written now, while the trees are still cared for by it;
        else that of the period open where it ends, or when they came to where they are.
        """
        windows, today = self.feeding.windows, self.feeding.soonest
        due = self.feeding.first
        if self.anchor is not None:
            period = self._period_counted()
            if period is None:
                came = max(s.start for s in self.feeding.care.stays if s.start <= max(self.anchor, today))
                here = windows.at(max(self.anchor, came)) or windows.next_after(self.anchor)
                if here is None:
                    return None
                period = here.period
            due = self.anchor + self._interval(period.every_days)
        window = windows.at(due) or windows.next_after(due)
        if window is None or window.last < today:
            window = windows.at(max(due, today)) or windows.next_after(max(due, today))
        return None if window is None else (max(due, window.first), window)

    def _period_counted(self) -> FeedingPeriod | None:
        """The period of the last feed as the schedule has it now; None after a move, or where it has it no more."""
        latest, care = self.latest, self.feeding.care
        day = self.feeding.soonest if latest is None else max(self.feeding.soonest, latest.day)
        if latest is None or latest.group != care.group_on(day):
            return None
        periods = care.schedule_on(day).periods
        return next((period for period in periods if period.name == latest.period), None)

    def _next_slot(self) -> Slot | None:
        found = self._due()
        if found is None:
            return None
        due, window = found
        early = before_leaving(self.feeding, due, self._asked, self._interval)
        if early is not None:
            return early
        day, reasons = self._first_open(
            max(due, self._earliest(window, self._asked), self.feeding.first), self._asked
        )
        near = self._near_feeding_day(due) if self.habits.feed_on else None
        in_step = near is not None or (day == due >= self.feeding.soonest and not self.habits.feed_on)
        if near is not None:
            day, reasons = near, to_feeding_day(due, near, self.habits)
        elif day is not None:
            day, reasons = self._not_before_today(due, day, reasons)
        opened = None if day is None else self.feeding.windows.at(day)
        if day is None or opened is None:
            if reasons:
                self.dropped.append(Dropped(due, self.feeding.care.group_on(due), None, reasons))
            return None
        return Slot(due, day, opened, self._interval(window.period.every_days), reasons, in_step)

    def _first_open(self, day: date, after: date | None) -> tuple[date | None, tuple[Reason, ...]]:
        """The first day from `day` on open to feed, a least gap of the period it lies in after another feed."""
        reasons: tuple[Reason, ...] = ()
        while True:
            found, more = first_open(self.feeding, day)
            reasons += tuple(reason for reason in more if reason not in reasons)
            window = None if found is None else self.feeding.windows.at(found)
            if found is None or window is None or found >= self._earliest(window, after):
                return found, reasons
            day = self._earliest(window, after)

    def _near_feeding_day(self, due: date) -> date | None:
        """The feeding day for an unhindered due date, from today on: the day of mixing, or else the nearest of all."""
        window = self.feeding.windows.at(due)
        if window is None or reasons_against(self.feeding.restrictions, due):
            return None
        gap = least_after(window.period, self._interval)
        soonest = max(self.feeding.soonest, self.feeding.first, (self._asked or date.min) + gap)
        for near in feeding_days_near(self.feeding, due, due + self._interval(window.period.every_days)):
            is_open = self.feeding.windows.at(near) is window and near >= soonest
            if is_open and not reasons_against(self.feeding.restrictions, near):
                return near
        return None

    def _not_before_today(
        self, due: date, day: date, reasons: tuple[Reason, ...]
    ) -> tuple[date | None, tuple[Reason, ...]]:
        """The first day on which feeding is open, from today on and a feeding day where the grower has such."""
        found: date | None = day
        if day < self.feeding.soonest:
            found, more = self._first_open(self.feeding.soonest, self._asked)
            reasons += more
        allowed = self.habits.feed_on
        if not allowed:
            return found, reasons
        while found is not None and found.weekday() not in allowed:
            found, more = self._first_open(found + DAY, self._asked)
            reasons += more
        return found, reasons + (() if found is None else to_feeding_day(due, found, self.habits))

    def _event(self, slot: Slot, status: Status, log: Entry | None) -> FeedEvent:
        feeding, season = self.feeding, slot.window.season
        self.counts[season] = self.counts.get(season, 0) + 1
        feed = feeding.care.feed_on(slot.day)
        plan = strength_ppm(slot.window.period.strength, feed)
        ppm, share, reasons = weakened(plan, feed, self.ramp, limits_on(feeding.restrictions, slot.day))
        given = log.fact if log is not None and isinstance(log.fact, Fed) else Fed()
        asked = feed.name if feed is not None else None
        ratio = None if asked else slot.window.period.ratio or feeding.care.ratio_on(slot.day)
        ppm, kept = reached(ppm, feed, ratio, feeding.care, slot.day)
        return FeedEvent(
            day=slot.day,
            due=slot.due,
            status=status,
            group=feeding.care.group_on(slot.day),
            feed=given.feed or asked,
            ppm=given_ppm(log, ppm, asked, feeding.care),
            plan_ppm=plan,
            share=share,
            season=season,
            ordinal=self.counts[season],
            period=slot.window.period.name,
            told=slot.day,
            counts_from=slot.counts_from,
            asked_ppm=ppm,
            asked_feed=asked,
            reasons=(*slot.moved_by, *overridden(feeding.restrictions, slot.day), *reasons, *kept),
            entry=log,
            ratio=None if asked or given.feed else ratio,
            part=given.part,
        )


def feeds_of(feeding: Feeding) -> tuple[tuple[FeedEvent, ...], tuple[Dropped, ...]]:
    """Every liquid feed in day order, before the season budget; and the due ones that moved or fell away.

    What was told before today stays, whatever is known now. From today on feeds are planned, counted from what was
    given last; a missed feed is offered once more and never doubled.
    """
    series = _Series(feeding)
    series.walk()
    return tuple(series.events), tuple(series.dropped)
