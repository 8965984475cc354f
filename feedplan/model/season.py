"""What the engine gives back: every event of every tree, with its reasons."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from feedplan.dose.ratio import Ratio
from feedplan.model.climate import Climate
from feedplan.model.collection import PotClass, Tree, YearlyNote
from feedplan.model.course import (
    Act,
    Dropped,
    FeedEvent,
    Hold,
    Solid,
    SolidEvent,
    StageDate,
    Status,
    Stay,
    Waiting,
    Window,
)
from feedplan.model.journal import Entry
from feedplan.model.schedule import CheckRate
from feedplan.model.source import BUILT_IN, Source
from feedplan.model.statement import Statement
from feedplan.model.water import FlushPace


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
    cause: Statement | None = None
    raises: tuple[str, ...] = ()
    litres_per_day: Decimal | None = None
    dries_first: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Flush:
    """A day on which a group's pots are washed through with plain water. litres: to pour in all [L]."""

    key: str
    day: date
    group: str
    trees: tuple[Tree, ...]
    litres: Decimal
    pace: FlushPace


@dataclass(frozen=True, slots=True)
class FrostSpell:
    """Days on which root balls of pots outdoors are likely frozen. lowest_c: the coldest night [°C]."""

    key: str
    start: date
    end: date
    lowest_c: float


class ChecksGoBy(StrEnum):
    """What sets how often water is checked: the weather with or without a forecast, or the schedule's table and why."""

    FORECAST = "forecast"
    NORMALS = "normals"
    HABITS = "habits"
    NO_CLIMATE = "no_climate"
    NO_NORMALS = "no_normals"
    INDOORS = "indoors"

    @property
    def is_weather(self) -> bool:
        """Whether the weather sets it, not a table."""
        return self in (ChecksGoBy.FORECAST, ChecksGoBy.NORMALS)


class AlertKind(StrEnum):
    """What an alert is about."""

    FROST = "frost"
    HEAT = "heat"
    WIND = "wind"
    STALE = "weather record"


@dataclass(frozen=True, slots=True)
class Alert:
    """What the weather on record asks for, from `start` to `end` inclusive.

    fact: what comes. do: what the rule of its hold has the grower do, one instruction each. timelines: the trees it is
    about, none for all.
    """

    key: str
    kind: AlertKind
    start: date
    end: date
    fact: Statement
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

    climate: the weather known that day. checks_by: what water checks go by.
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
    checks_by: ChecksGoBy | None = None
