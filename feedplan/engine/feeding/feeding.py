"""The feeds of one timeline: when each is due, what stands in its way, and how strong it may be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal

from feedplan.dose.arithmetic import amount_per_litre
from feedplan.dose.ratio import Ratio
from feedplan.dose.strength import PpmN, Strength
from feedplan.engine.care import Care
from feedplan.engine.feeding.barriers import Barring, barriers, overridden
from feedplan.engine.feeding.windows import Windows
from feedplan.engine.growing_year import DAY
from feedplan.engine.holds.holds import Ramp, SeasonLimit
from feedplan.engine.stages.stages import Record
from feedplan.engine.words import day_month, percent
from feedplan.model.collection import Feed, Unlogged
from feedplan.model.course import Dropped, FeedEvent, Status, Window
from feedplan.model.journal import Entry, Fed
from feedplan.model.reason import Reason, Rule

ONE = Decimal(1)

# A group recorded as fed means every tree that was due, or due within half a week. Judgement.
NEARLY_DUE = timedelta(days=3)


@dataclass(frozen=True, slots=True)
class Feeding:
    """All that decides the feeds of one timeline.

    first, last: the days looked at. reach: how far beyond them the feed after the last one is looked for.
    """

    care: Care
    record: Record
    windows: Windows
    barring: Barring
    ramps: tuple[Ramp, ...]
    today: date
    first: date
    last: date
    reach: date


def strength_ppm(strength: Strength, feed: Feed | None) -> Decimal:
    """A strength as nitrogen in the can [mg N/L]; a share of the label rate needs the product, else 0."""
    if isinstance(strength, PpmN):
        return strength.n_mg_per_l
    if feed is None or feed.product.label_rate_per_l is None:
        return Decimal(0)
    return amount_per_litre(feed.product, strength) * feed.n_mg_per_g


def first_open(feeding: Feeding, day: date) -> tuple[date | None, tuple[Reason, ...]]:
    """The first day from `day` on which a feed may be given, and what stood in the way of the days passed over."""
    met: dict[tuple[Rule, str], Reason] = {}
    while day <= feeding.reach:
        standing = barriers(feeding.barring, day)
        if not standing:
            if feeding.windows.at(day) is not None:
                return day, tuple(met.values())
            opening = feeding.windows.next_after(day)
            if opening is None:
                break
            day = opening.first
            continue
        met |= {(reason.rule, reason.text): reason for reason in standing}
        day = _day_to_try(feeding, day, [reason.until for reason in standing])
    return None, tuple(met.values())


def _day_to_try(feeding: Feeding, day: date, ends: Sequence[date | None]) -> date:
    """The next day worth looking at: when the latest barrier ends, or an override in between."""
    closed = (
        max((end for end in ends if end is not None), default=day + DAY) if None not in ends else date.max
    )
    allowed = (override for override in feeding.barring.overrides if day < override < closed)
    return max(day + DAY, min([closed, *allowed]))


@dataclass(frozen=True, slots=True)
class _Slot:
    """A place in the series. due: when the interval asked for it; day: when it can be given."""

    due: date
    day: date
    window: Window
    interval: timedelta
    moved_by: tuple[Reason, ...]


@dataclass(slots=True)
class _RampState:
    """The ramp in progress: the step the next feed takes."""

    ramp: Ramp
    step: int = 0

    @property
    def running(self) -> bool:
        return self.step < len(self.ramp.steps)


class _Series:
    """Walks the year feed by feed. `last` is the last feed given, `anchor` the day the interval counts from."""

    def __init__(self, feeding: Feeding) -> None:
        self.feeding = feeding
        self.events: list[FeedEvent] = []
        self.dropped: list[Dropped] = []
        self.last: date | None = None
        self.anchor: date | None = None
        self.window: Window | None = None
        self.ramp: _RampState | None = None
        self.ramps_taken = 0
        self.missed: _Slot | None = None
        self.counts: dict[int, int] = {}
        entries = feeding.record.entries
        self.adverse = [e for e in entries if feeding.record.is_adverse(e)]
        self.logs = [
            e for e in entries if isinstance(e.fact, Fed) and feeding.first <= e.day <= feeding.today
        ]

    def walk(self) -> None:
        """Fill `events` and `dropped` to the last day planned, and with the one feed after it.

        That one is what makes a missed feed overdue and tells when the next is due, as it does in a longer plan.
        """
        while self.last is None or self.last <= self.feeding.last:
            slot = self._next_slot()
            log = self.logs[0] if self.logs else None
            if log is not None and not self._was_fed(log, slot):
                self.logs.pop(0)
            elif log is not None and (slot is None or log.day < slot.day + slot.interval):
                self._record(self.logs.pop(0), slot)
            elif slot is None:
                return
            else:
                self._settle(slot)

    def _was_fed(self, log: Entry, slot: _Slot | None) -> bool:
        """Whether a record of a whole group fed as planned means this tree: not one held, nor one not yet due."""
        assert isinstance(log.fact, Fed)
        if log.subject.trees or log.fact.ppm is not None:
            return True
        if barriers(self.feeding.barring, log.day):
            return False
        return slot is None or slot.day <= log.day + NEARLY_DUE

    def _settle(self, slot: _Slot) -> None:
        """Enter a slot nobody recorded: as assumed or missed in the past, as planned from today on."""
        feeding = self.feeding
        if slot.moved_by and slot.day != slot.due:
            self.dropped.append(Dropped(slot.due, feeding.care.group_on(slot.day), slot.day, slot.moved_by))
        if slot.day >= feeding.today:
            overdue = self._overdue(slot)
            if overdue is not None:
                self._feed(overdue, Status.OVERDUE)
            else:
                self._feed(slot, Status.PLANNED)
        elif feeding.care.collection.habits.unlogged_feeds is Unlogged.GIVEN:
            self._feed(slot, Status.ASSUMED)
        else:
            self.events.append(self._event(slot, Status.MISSED, None))
            self.missed, self.anchor, self.window = slot, slot.day, slot.window

    def _overdue(self, upcoming: _Slot) -> _Slot | None:
        """The last missed feed, offered once more before the next one is due; its missed event gives way."""
        missed, self.missed = self.missed, None
        if missed is None or upcoming.day <= self.feeding.today:
            return None
        day, reasons = first_open(self.feeding, max(self.feeding.today, self._earliest()))
        window = None if day is None else self.feeding.windows.at(day)
        if day is None or window is None or day >= upcoming.day:
            return None
        self.events.pop()
        self.counts[missed.window.season] -= 1
        late = Reason(
            Rule.OVERDUE, f"due {day_month(missed.due)}, not recorded as given: give it once, never doubled"
        )
        return _Slot(missed.due, day, window, upcoming.interval, (late, *reasons))

    def _record(self, log: Entry, slot: _Slot | None) -> None:
        """Enter a feed the grower recorded; it answers the slot that was due by then, if one was."""
        answers = slot is not None and slot.day <= log.day
        window = self.feeding.windows.at(log.day) or (slot.window if slot is not None else self.window)
        inside = tuple(
            replace(r, text=f"fed although held: {r.text}") for r in barriers(self.feeding.barring, log.day)
        )
        if window is None:
            self.last = self.anchor = log.day
            return
        due = slot.due if slot is not None and answers else log.day
        interval = slot.interval if slot is not None else timedelta(days=window.period.every_days)
        given = _Slot(due, log.day, window, interval, inside)
        on_the_day = slot is not None and slot.day == log.day
        self._feed(given, Status.RECORDED, log, anchor=due if on_the_day else log.day, held=bool(inside))
        self.missed = None

    def _feed(
        self,
        slot: _Slot,
        status: Status,
        log: Entry | None = None,
        *,
        anchor: date | None = None,
        held: bool = False,
    ) -> None:
        if not held:
            self._take_up_ramp(slot.day)
        self.events.append(self._event(slot, status, log))
        moved_by_barrier = bool(slot.moved_by) and slot.day > slot.due
        natural = slot.day if moved_by_barrier or status is Status.OVERDUE else slot.due
        self.last, self.anchor, self.window = slot.day, anchor or natural, slot.window
        if self.ramp is not None and not held:
            self.ramp.step += 1

    def _take_up_ramp(self, day: date) -> None:
        """Start a ramp whose holds have ended, or move the running one by what was seen since the last feed."""
        begun = [r for r in self.feeding.ramps[self.ramps_taken :] if r.begins <= day]
        self.ramps_taken += len(begun)
        if begun:
            running = [self.ramp.ramp] if self.ramp is not None and self.ramp.running else []
            self.ramp = _RampState(
                min([*running, *begun], key=lambda r: (r.steps[0], -len(r.steps), -r.step_days))
            )
        elif self.ramp is not None and self.ramp.running and self.last is not None:
            setbacks = sum(self.last < e.day <= day for e in self.adverse)
            self.ramp.step = max(0, self.ramp.step - min(setbacks, 2))

    def _limits(self, day: date) -> list[SeasonLimit]:
        return [limit for limit in self.feeding.barring.limits if limit.first <= day <= limit.last]

    def _interval(self, window: Window) -> timedelta:
        """Days to the next feed, stretched by a ramp in progress and by what a hold left behind."""
        days = [window.period.every_days]
        if self.ramp is not None and self.ramp.running:
            days.append(self.ramp.ramp.step_days)
        if self.last is not None:
            days += [limit.hold.rule.feed_every_days or 0 for limit in self._limits(self.last)]
        return timedelta(days=max(days))

    def _earliest(self) -> date:
        """The first day the tree's minimum gap allows."""
        if self.last is None or self.window is None:
            return self.feeding.first
        return self.last + timedelta(days=self.window.period.min_gap_days)

    def _due(self) -> tuple[date, Window] | None:
        """When the interval asks for the next feed, and the window it falls in; None when no window is left.

        Within one schedule the interval of the feed given last decides; after a move, that of the new schedule.
        """
        windows = self.feeding.windows
        due = self.feeding.first
        if self.anchor is not None and self.window is not None:
            due = self.anchor + self._interval(self.window)
            here = windows.at(due)
            if here is not None and here.schedule is not self.window.schedule:
                due = self.anchor + self._interval(here)
        elif self.anchor is not None:
            due = self.anchor + DAY
        window = windows.at(due) or windows.next_after(due)
        return None if window is None else (max(due, window.first), window)

    def _next_slot(self) -> _Slot | None:
        found = self._due()
        if found is None:
            return None
        due, window = found
        day, reasons = first_open(self.feeding, max(due, self._earliest()))
        if day is not None and self.feeding.care.collection.habits.feed_on:
            day, reasons = self._on_feeding_day(due, day, reasons)
        opened = None if day is None else self.feeding.windows.at(day)
        if day is None or opened is None:
            if reasons:
                self.dropped.append(Dropped(due, self.feeding.care.group_on(due), None, reasons))
            return None
        return _Slot(due, day, opened, self._interval(window), reasons)

    def _on_feeding_day(
        self, due: date, day: date, reasons: tuple[Reason, ...]
    ) -> tuple[date | None, tuple[Reason, ...]]:
        """The allowed weekday nearest to an unhindered due date, else the next one on which feeding is open."""
        allowed = self.feeding.care.collection.habits.feed_on
        if day == due:
            window = self.feeding.windows.at(due)
            for offset in sorted(range(-3, 4), key=lambda o: (abs(o), -o)):
                near = due + timedelta(days=offset)
                fits = near.weekday() in allowed and near >= self._earliest()
                if (
                    fits
                    and self.feeding.windows.at(near) is window
                    and not barriers(self.feeding.barring, near)
                ):
                    return near, self._weekday_reason(due, near)
        found: date | None = day
        while found is not None and found.weekday() not in allowed:
            found, more = first_open(self.feeding, found + DAY)
            reasons += more
        return found, reasons + (self._weekday_reason(due, found) if found is not None else ())

    def _weekday_reason(self, due: date, day: date) -> tuple[Reason, ...]:
        if day == due:
            return ()
        return (
            Reason(
                Rule.WEEKDAY,
                f"due {day_month(due)}, moved to a feeding day",
                value=f"{(day - due).days:+d} days",
            ),
        )

    def _event(self, slot: _Slot, status: Status, log: Entry | None) -> FeedEvent:
        feeding, season = self.feeding, slot.window.season
        self.counts[season] = self.counts.get(season, 0) + 1
        feed = feeding.care.feed_on(slot.day)
        plan = strength_ppm(slot.window.period.strength, feed)
        ppm, share, reasons = self._weakened(slot, plan, status, feed)
        given = log.fact if log is not None and isinstance(log.fact, Fed) else Fed()
        return FeedEvent(
            day=slot.day,
            due=slot.due,
            status=status,
            group=feeding.care.group_on(slot.day),
            feed=given.feed or (feed.name if feed is not None else None),
            ppm=ppm if given.ppm is None else given.ppm,
            plan_ppm=plan,
            share=share,
            season=season,
            ordinal=self.counts[season],
            period=slot.window.period.name,
            reasons=(*slot.moved_by, *overridden(feeding.barring, slot.day), *reasons),
            entry=log,
            ratio=None if feed is not None or given.feed else self._ratio(slot),
        )

    def _ratio(self, slot: _Slot) -> Ratio | None:
        """What to mix where no product is named: as the period asks, else as the group does."""
        return slot.window.period.ratio or self.feeding.care.ratio_on(slot.day)

    def _weakened(
        self, slot: _Slot, plan: Decimal, status: Status, feed: Feed | None
    ) -> tuple[Decimal, Decimal, list[Reason]]:
        """The strength after ramp and caps: the smallest of them, never their product."""
        reasons: list[Reason] = []
        share = ONE
        if self.ramp is not None and self.ramp.running and status is not Status.MISSED:
            share = self.ramp.ramp.steps[self.ramp.step]
            hold = self.ramp.ramp.holds[-1]
            if share < ONE:
                after = f"{hold.rule.name} on {day_month(hold.start)}"
                text = f"taking feed up again after {after}: {percent(share)} of plan"
                reasons.append(Reason(Rule.RAMP, text, hold.rule.source, hold.entry, percent(share)))
        ppm = plan * share
        for limit in self._limits(slot.day):
            rule = limit.hold.rule
            caps = [plan * rule.cap_share if rule.cap_share is not None else None, rule.cap_ppm]
            cap = min((c for c in caps if c is not None), default=None)
            if cap is not None and cap < ppm:
                ppm = cap
                text = f"capped this season after {rule.name}"
                reasons.append(
                    Reason(Rule.CAP, text, rule.source, limit.hold.entry, f"{cap.normalize():f} ppm N")
                )
        highest = None if feed is None else feed.product.highest_per_l
        if feed is not None and highest is not None and highest * feed.n_mg_per_g < ppm:
            ppm = highest * feed.n_mg_per_g
            text = (
                f"{feed.name}: never above the label's {highest.normalize():f} {feed.product.unit} per litre"
            )
            reasons.append(Reason(Rule.LABEL, text, feed.source, value=f"{ppm.normalize():f} ppm N"))
        return ppm, share, reasons


def feeds_of(feeding: Feeding) -> tuple[tuple[FeedEvent, ...], tuple[Dropped, ...]]:
    """Every liquid feed in day order, before the season budget; and the due ones that moved or fell away.

    Past days come from the journal; a past feed nobody recorded counts as given or as missed, as the grower's
    habits say. A missed feed is offered once and never doubled.
    """
    series = _Series(feeding)
    series.walk()
    return tuple(series.events), tuple(series.dropped)
