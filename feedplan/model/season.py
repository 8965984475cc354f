"""What the engine gives back: every event of every tree, with its reasons."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from feedplan.dose.ratio import Ratio
from feedplan.model.climate import Climate
from feedplan.model.collection import PotClass, Tree, YearlyNote
from feedplan.model.hold import HoldRule, Need
from feedplan.model.journal import Entry
from feedplan.model.schedule import CheckRate, FeedingPeriod, Schedule
from feedplan.model.source import BUILT_IN, Source


class Rule(StrEnum):
    """What decided, as a stable word for `--json` and tests."""

    PERIOD = "period"
    STAGE = "stage"
    HOLD = "hold"
    AWAY = "away"
    DRY = "dry root ball"
    RAIN = "heavy rain"
    ROOT_ZONE = "root zone"
    HEAT = "heat"
    RAMP = "ramp"
    CAP = "cap"
    SEASON_LIMIT = "season limit"
    INTERVAL = "interval"
    WEEKDAY = "feeding day"
    BUDGET = "budget"
    OVERDUE = "overdue"
    NOT_HERE = "not here"
    OVERRIDE = "override"
    LABEL = "label maximum"


@dataclass(frozen=True, slots=True)
class Reason:
    """Why something was moved, weakened, held back or dropped.

    text: one short sentence. source: the line of the rule. entry: the journal entry behind it, if one.
    value: what decided, with its unit. until: the first day it no longer applies, None while that is open.
    ends: what would end it, in words.
    """

    rule: Rule
    text: str
    source: Source = BUILT_IN
    entry: Entry | None = None
    value: str = ""
    until: date | None = None
    ends: str = ""


class Origin(StrEnum):
    """Where a stage date comes from, surest first."""

    SEEN = "seen"
    INFORMED = "predicted, drawn towards trees of its species seen this season"
    PREDICTED = "predicted from the weather"
    TYPICAL = "typical date"
    SHIFTED = "typical date, moved by a late season"
    AWAITED = "awaited"


@dataclass(frozen=True, slots=True)
class StageDate:
    """When a tree reaches a stage in one season.

    day: None while awaited (an earlier stage was seen after the typical date). known: first day on which the
    plan could use it. entry: the journal entry, when seen or when it made the stage awaited. typical: the prior.
    early, late: the 10 and 90 % points of a predicted date, None for the others. basis: what was counted, in words.
    """

    stage: str
    day: date | None
    origin: Origin
    known: date
    typical: date
    entry: Entry | None = None
    source: Source = BUILT_IN
    early: date | None = None
    late: date | None = None
    basis: str = ""


@dataclass(frozen=True, slots=True)
class NeedMet:
    """One sign a hold asks for, on how many days it was seen, and the entry that answered it, None while open."""

    need: Need
    seen: int
    entry: Entry | None

    def __str__(self) -> str:
        left = self.need.times - self.seen
        return f"{self.need.sign} once more" if self.seen and left == 1 else str(self.need)


@dataclass(frozen=True, slots=True)
class Hold:
    """A hold on one timeline.

    start: first day held. minimum: earliest end. end: first day free, None while a sign is missing.
    reviews: days on which to look, while it is open. carried: the day it was put off to next spring.
    by_weather: the weather opened it, not the journal; its entry then only stands for the days on record.
    """

    rule: HoldRule
    entry: Entry
    start: date
    minimum: date
    needs: tuple[NeedMet, ...]
    end: date | None
    reviews: tuple[date, ...] = ()
    carried: date | None = None
    by_weather: bool = False

    def covers(self, day: date) -> bool:
        """Whether the day lies inside the hold."""
        return self.start <= day and (self.end is None or day < self.end)

    @property
    def missing(self) -> tuple[NeedMet, ...]:
        """The signs still to be seen."""
        return tuple(met for met in self.needs if met.entry is None)


@dataclass(frozen=True, slots=True)
class Window:
    """A feeding period as it falls in one season: first and last day fed, both included."""

    period: FeedingPeriod
    schedule: Schedule
    season: int
    first: date
    last: date
    opened_by: tuple[StageDate, ...] = ()


@dataclass(frozen=True, slots=True)
class Waiting:
    """A period that cannot open in a season because a stage it starts from has no date yet, or was not seen.

    last: the last day it would be open.
    """

    period: FeedingPeriod
    schedule: Schedule
    season: int
    stages: tuple[str, ...]
    last: date


class Status(StrEnum):
    """What is known of one feed."""

    PLANNED = "planned"
    OVERDUE = "overdue"
    RECORDED = "recorded"
    ASSUMED = "assumed given"
    MISSED = "missed"


@dataclass(frozen=True, slots=True)
class FeedEvent:
    """One liquid feed of one timeline.

    day: when; due: when the interval asked for it. group, feed: names, feed None when the group names none; ratio:
    then what to mix from the shelf, if anything.
    ppm: strength after every ramp, cap and trim [mg N/L]; plan_ppm: before them. share: ramp share [0-1].
    ordinal: its number in the season, from 1. reasons: all that moved or weakened it.
    """

    day: date
    due: date
    status: Status
    group: str
    feed: str | None
    ppm: Decimal
    plan_ppm: Decimal
    share: Decimal
    season: int
    ordinal: int
    period: str
    reasons: tuple[Reason, ...] = ()
    entry: Entry | None = None
    ratio: Ratio | None = None


@dataclass(frozen=True, slots=True)
class Dropped:
    """A feed that was due and is not given on that day. resumed: the day it moved to, None if it fell away."""

    due: date
    group: str
    resumed: date | None
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class Stay:
    """A stretch of time a timeline spends in one group. end: first day no longer there, None while it lasts."""

    group: str
    start: date
    end: date | None


@dataclass(frozen=True, slots=True)
class Solid:
    """Nitrogen from one solid feed on or in the pot, in one season.

    feed: its name, None for what a new tree is taken to bring along. status: planned, recorded or taken as given.
    laid, lifted: first day it lies there and first day it no longer does, None while it stays till it is spent.
    mg_n_per_l: for the season, as known today [mg per L of container]; counts: the same with each day from which it
    was known, oldest first. course: what it has given in the season by some days, straight lines between.
    spent: the earliest and the latest day on which nothing is left of it, None where its label gives no time.
    """

    entry: Entry | None
    feed: str | None
    mg_n_per_l: Decimal
    season: int
    status: Status
    laid: date
    lifted: date | None
    counts: tuple[tuple[date, Decimal], ...]
    course: tuple[tuple[date, Decimal], ...]
    spent: tuple[date, date] | None
    mixed_in: bool = False
    source: Source = BUILT_IN

    def counted_on(self, day: date) -> Decimal:
        """What it was known on a day to give in the season [mg per L of container]; nothing before it was known."""
        return next((mg for since, mg in reversed(self.counts) if since <= day), Decimal(0))

    def given_by(self, day: date) -> Decimal:
        """What it has given in the season by a day, as known today [mg per L of container]."""
        before = [point for point in self.course if point[0] <= day]
        after = [point for point in self.course if point[0] > day]
        if not before or not after:
            return before[-1][1] if before else Decimal(0)
        (start, low), (end, high) = before[-1], after[0]
        return low + (high - low) * ((day - start).days) / (end - start).days


class Act(StrEnum):
    """What is done with a solid feed."""

    LAY = "lay"
    LIFT = "lift"


@dataclass(frozen=True, slots=True)
class SolidEvent:
    """One laying or lifting of solid feed on one timeline.

    key: its identity within the timeline. day, due: as of a FeedEvent. grams_per_l: product [g per L of container].
    mg_n_per_l: what it gives in all [mg N per L of container]. lift_on: for a laying, when the plan takes it off.
    """

    key: str
    act: Act
    day: date
    due: date
    status: Status
    group: str
    feed: str
    grams_per_l: Decimal
    mg_n_per_l: Decimal
    season: int
    period: str
    lift_on: date | None = None
    reasons: tuple[Reason, ...] = ()
    entry: Entry | None = None


@dataclass(frozen=True, slots=True)
class Timeline:
    """One course of events, shared by all trees that have nothing of their own in the journal.

    lineage: its identity over time. own: it belongs to trees with entries of their own.
    """

    lineage: str
    trees: tuple[Tree, ...]
    calendar: str
    entries: tuple[Entry, ...]
    stays: tuple[Stay, ...]
    own: bool
    arrives: date | None
    leaves: date | None
    stages: tuple[tuple[int, tuple[StageDate, ...]], ...]
    holds: tuple[Hold, ...]
    windows: tuple[Window, ...]
    waiting: tuple[Waiting, ...]
    feeds: tuple[FeedEvent, ...]
    dropped: tuple[Dropped, ...]
    solids: tuple[Solid, ...]
    feed_litres: Decimal
    solid_events: tuple[SolidEvent, ...] = ()
    solid_dropped: tuple[Dropped, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """The trees by name, in the collection's order."""
        return tuple(tree.name for tree in self.trees)

    @property
    def head_count(self) -> int:
        """How many trees stand behind the names."""
        return sum(tree.count for tree in self.trees)

    def here(self, day: date) -> bool:
        """Whether the trees are in the collection on a day."""
        return (self.arrives is None or self.arrives <= day) and (self.leaves is None or day < self.leaves)

    def group_on(self, day: date) -> str:
        """The group on a day; before the first stay, the first."""
        for stay in reversed(self.stays):
            if stay.start <= day:
                return stay.group
        return self.stays[0].group

    def stage_dates(self, season: int) -> tuple[StageDate, ...]:
        """The stages of one season, in the order of the growing year; empty outside the planned seasons."""
        return dict(self.stages).get(season, ())


@dataclass(frozen=True, slots=True)
class RoundItem:
    """One mix: trees of one group that share a day, a product and a strength.

    litres: to mix, in whole half-cans [L]; poured_litres: to pour in all [L]. ratio: what to mix from the shelf when
    no product is named.
    """

    key: str
    day: date
    group: str
    feed: str | None
    ppm: Decimal
    plan_ppm: Decimal
    timelines: tuple[Timeline, ...]
    events: tuple[FeedEvent, ...]
    litres: Decimal
    poured_litres: Decimal
    season: int
    ratio: Ratio | None = None

    @property
    def status(self) -> Status:
        """The status its feeds share."""
        return self.events[0].status

    @property
    def names(self) -> tuple[str, ...]:
        """All trees of the mix by name."""
        return tuple(name for timeline in self.timelines for name in timeline.names)

    @property
    def head_count(self) -> int:
        """How many trees are fed."""
        return sum(timeline.head_count for timeline in self.timelines)


@dataclass(frozen=True, slots=True)
class SolidItem:
    """Trees of one group that share a day, an act, a solid feed and its rate."""

    key: str
    act: Act
    day: date
    group: str
    feed: str
    grams_per_l: Decimal
    timelines: tuple[Timeline, ...]
    events: tuple[SolidEvent, ...]

    @property
    def status(self) -> Status:
        """The status its events share."""
        return self.events[0].status

    @property
    def head_count(self) -> int:
        """How many trees it is about."""
        return sum(timeline.head_count for timeline in self.timelines)


@dataclass(frozen=True, slots=True)
class CheckStretch:
    """Days with one rate of water checks for the trees of one group and pot class.

    end: last day, included. hold: set when the stretch is the extra look a held tree needs. cause: the weather that
    asks for it, for a few days above the usual rate; raises: then the keys of the stretches it stands in for.
    litres_per_day: to pour on a usual day of it, with what drains through, None where the weather does not tell [L].
    dries_first: the trees that dry fastest.
    """

    key: str
    group: str
    pot_class: PotClass
    rate: CheckRate
    start: date
    end: date
    trees: tuple[Tree, ...]
    surface_dry: tuple[str, ...] = ()
    hold: Hold | None = None
    cause: str = ""
    raises: tuple[str, ...] = ()
    litres_per_day: Decimal | None = None
    dries_first: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Flush:
    """A day on which a group's pots are washed through with plain water. litres: to pour in all [L]; pace: why then."""

    key: str
    day: date
    group: str
    trees: tuple[Tree, ...]
    litres: Decimal
    pace: str


@dataclass(frozen=True, slots=True)
class FrostSpell:
    """Days on which root balls of pots outdoors are likely frozen. lowest_c: the coldest night [°C]."""

    key: str
    start: date
    end: date
    lowest_c: float


class AlertKind(StrEnum):
    """What an alert is about."""

    FROST = "frost"
    HEAT = "heat"
    WIND = "wind"
    STALE = "weather record"


@dataclass(frozen=True, slots=True)
class Alert:
    """What the weather on record asks for, from `start` to `end` inclusive.

    text: what comes, in a sentence without its full stop. do: what to do, one instruction each. timelines: the trees
    it is about, none for all.
    """

    key: str
    kind: AlertKind
    start: date
    end: date
    text: str
    do: tuple[str, ...] = ()
    timelines: tuple[Timeline, ...] = ()
    source: Source = BUILT_IN


@dataclass(frozen=True, slots=True)
class Review:
    """A day on which to look at a held tree. carry_to: the spring to put it off to, if its day for that has come."""

    key: str
    day: date
    timeline: Timeline
    hold: Hold
    number: int
    carry_to: int | None = None


@dataclass(frozen=True, slots=True)
class StagePrompt:
    """A question to the grower: has this stage come?

    expected: its date as the plan has it; early, late: the span it most likely falls in, None without one. awaited:
    feeding waits for the answer. asked_until: the question comes again each week to this day.
    """

    key: str
    day: date
    stage: str
    group: str
    timelines: tuple[Timeline, ...]
    expected: date
    awaited: bool
    early: date | None = None
    late: date | None = None
    asked_until: date | None = None

    def falls_on(self, day: date) -> bool:
        """Whether the question is put on a day."""
        again = self.asked_until is not None and self.day < day <= self.asked_until
        return day == self.day or (again and (day - self.day).days % 7 == 0)


@dataclass(frozen=True, slots=True)
class NoteEvent:
    """A note of the grower's own on its day."""

    key: str
    day: date
    note: YearlyNote


@dataclass(frozen=True, slots=True)
class Season:
    """All that is planned from `start` to `end` inclusive, seen from `today`.

    climate: the weather known that day. checks_by: what water checks go by, one sentence.
    """

    today: date
    start: date
    end: date
    timelines: tuple[Timeline, ...]
    rounds: tuple[RoundItem, ...]
    checks: tuple[CheckStretch, ...]
    reviews: tuple[Review, ...]
    prompts: tuple[StagePrompt, ...]
    notes: tuple[NoteEvent, ...]
    climate: Climate | None = None
    solids: tuple[SolidItem, ...] = ()
    frosts: tuple[FrostSpell, ...] = ()
    flushes: tuple[Flush, ...] = ()
    alerts: tuple[Alert, ...] = ()
    checks_by: str = ""
