"""What the engine gives back: every event of every tree, with its reasons."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum
from functools import cached_property

from feedplan.dose.ceilings import Passed
from feedplan.dose.grade import Ratio
from feedplan.engine.care import Care
from feedplan.engine.feeding.restrictions import Restrictions
from feedplan.engine.outdoors.daily_et import DailyEt
from feedplan.engine.sink.can import Can
from feedplan.model.climate import Climate
from feedplan.model.collection import Collection, FlushPace, Tree, YearlyNote
from feedplan.model.course import (
    Act,
    Dropped,
    FeedEvent,
    Hold,
    Solid,
    SolidEvent,
    StageDate,
    Status,
    Waiting,
    Window,
)
from feedplan.model.history import History
from feedplan.model.journal import Entry, Gone
from feedplan.model.schedule import CheckRate
from feedplan.model.source import BUILT_IN, Source
from feedplan.model.statement import Statement


@dataclass(frozen=True, slots=True)
class Timeline:
    """One course of events, shared by all trees that have nothing of their own in the journal.

    lineage: its identity over time. own: it belongs to trees with entries of their own. care: what applies to them on
    any day. trees: with as many under each name as are left. earlier: when they came
    and went before they came again. restrictions: all that can stand in the way of their feeds.
    """

    lineage: str
    trees: tuple[Tree, ...]
    calendar: str
    entries: tuple[Entry, ...]
    care: Care
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
    restrictions: Restrictions = field(compare=False, repr=False)
    earlier: tuple[tuple[date | None, date], ...] = ()
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

    def trees_on(self, day: date) -> tuple[Tree, ...]:
        """The trees, with as many under each name as stood there on a day."""
        since = [e.fact.count or 0 for e in self.entries if isinstance(e.fact, Gone) and e.day > day]
        return tuple(replace(t, count=t.count + sum(since)) for t in self.trees) if any(since) else self.trees

    def head_count_on(self, day: date) -> int:
        """How many trees stood behind the names on a day."""
        return sum(tree.count for tree in self.trees_on(day))

    def pot_litres_on(self, day: date) -> Decimal:
        """What all their pots held together on a day [L]."""
        return sum((tree.pot.litres * tree.count for tree in self.trees_on(day)), Decimal(0))

    def here(self, day: date) -> bool:
        """Whether the trees are in the collection on a day."""
        stays = (*self.earlier, (self.arrives, self.leaves))
        return any((come is None or come <= day) and (go is None or day < go) for come, go in stays)

    def group_on(self, day: date) -> str:
        """The group on a day."""
        return self.care.group_on(day)

    def entry(self, entry_id: str) -> Entry | None:
        """The entry about these trees of that id, None when it is not among them."""
        return next((entry for entry in self.entries if entry.id == entry_id), None)

    def names_about(self, entry_id: str) -> tuple[str, ...]:
        """The trees an entry of these is about, by its id; none when it is not among them."""
        entry = self.entry(entry_id)
        return () if entry is None else tuple(name for name in self.names if entry.is_about(name))

    def must_dry_on(self, day: date) -> bool:
        """Whether a hold wants the surface of the mix to dry between waterings."""
        return any(hold.rule.water_surface_dry and hold.covers(day) for hold in self.holds)

    def stage_dates(self, season: int) -> tuple[StageDate, ...]:
        """The stages of one season, in the order of the growing year; empty outside the planned seasons."""
        return dict(self.stages).get(season, ())


@dataclass(frozen=True, slots=True)
class RoundItem:
    """One mix: trees of one group that share a day, a product and a strength.

    poured_litres: to pour in all [L]; how much is mixed is told by the cans of its day. ratio: what to mix from the
    shelf when no product is named. can: what goes into it and what is in it, None where nothing can be weighed out.
    label_share: of a product without nitrogen, how much of its label rate is meant [0-1]; 0 for all others.
    label_over: the ceiling of the group that holds that share down.
    """

    key: str
    day: date
    group: str
    feed: str | None
    ppm: Decimal
    plan_ppm: Decimal
    timelines: tuple[Timeline, ...]
    events: tuple[FeedEvent, ...]
    poured_litres: Decimal
    season: int
    ratio: Ratio | None = None
    can: Can | None = None
    label_share: Decimal = Decimal(0)
    label_over: Passed | None = None

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
        return sum(timeline.head_count_on(self.day) for timeline in self.timelines)


@dataclass(frozen=True, slots=True)
class SolidItem:
    """Trees of one group that share a day, an act, a solid feed and its rate.

    others: the rest of the group that day.
    """

    key: str
    act: Act
    day: date
    group: str
    feed: str
    grams_per_l: Decimal
    timelines: tuple[Timeline, ...]
    events: tuple[SolidEvent, ...]
    others: tuple[str, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """All trees of it by name."""
        return tuple(name for timeline in self.timelines for name in timeline.names)

    @property
    def status(self) -> Status:
        """The status its events share."""
        return self.events[0].status

    @property
    def head_count(self) -> int:
        """How many trees it is about."""
        return sum(timeline.head_count_on(self.day) for timeline in self.timelines)


@dataclass(frozen=True, slots=True)
class CheckStretch:
    """Days on which the same trees of one group are looked at, at one time of day.

    look: which look of the day it is, 0 for the first. weekdays: on which it is made (0 is Monday). end: last day,
    included. rise: the weather that asks for it, for a few days beside the usual looks. surface_dry: the trees whose
    surface is to dry between waterings. litres: to pour at one look, with what drains through, None where the weather
    does not tell [L]. dries_first: the trees that dry fastest.
    """

    key: str
    group: str
    look: int
    weekdays: tuple[int, ...]
    start: date
    end: date
    trees: tuple[Tree, ...]
    surface_dry: tuple[str, ...] = ()
    rise: Rise | None = None
    litres: Decimal | None = None
    dries_first: tuple[str, ...] = ()

    def falls_on(self, day: date) -> bool:
        """Whether the look is made on a day."""
        return self.start <= day <= self.end and day.weekday() in self.weekdays


class ChecksBasis(StrEnum):
    """What water checks go by."""

    FORECAST = "normals and the forecast"
    NORMALS = "normals, without a forecast"
    TABLE_BY_HABIT = "the schedule's table, by habit"
    TABLE_NO_CLIMATE = "the schedule's table, without a climate folder"
    TABLE_NO_NORMALS = "the schedule's table, without normals"

    @property
    def is_weather(self) -> bool:
        """Whether the weather sets the rates, not each schedule's table."""
        return self in (ChecksBasis.FORECAST, ChecksBasis.NORMALS)


@dataclass(frozen=True, slots=True)
class Rise:
    """A few days of more looks than usual, both ends included. cause: what the day that asks most brings.

    causes: likewise for each day, of that day and the next.
    """

    first: date
    last: date
    rate: CheckRate
    cause: Statement
    causes: tuple[tuple[date, Statement], ...] = ()

    def cause_on(self, day: date) -> Statement:
        """Why on a day: what it or the next brings, not what is over or still far off."""
        return dict(self.causes).get(day, self.cause)


@dataclass(frozen=True, slots=True)
class RateStep:
    """A rate of looks from a day on."""

    first: date
    rate: CheckRate


@dataclass(frozen=True, slots=True)
class Watch:
    """Trees that are looked at alike: of one timeline, in pots that dry alike. The one answer to how often.

    steps: the usual rates in day order; rises: spells of weather that ask for more.
    """

    timeline: Timeline
    trees: tuple[Tree, ...]
    steps: tuple[RateStep, ...]
    rises: tuple[Rise, ...] = ()

    def rise_on(self, day: date) -> Rise | None:
        """The spell that raises the rate on a day."""
        return next((rise for rise in self.rises if rise.first <= day <= rise.last), None)

    def usual_on(self, day: date) -> CheckRate | None:
        """The usual rate on a day; None before the first, and while the trees are not here."""
        at = bisect_right(self.steps, day, key=lambda step: step.first)
        return self.steps[at - 1].rate if at and self.timeline.here(day) else None

    def rate_on(self, day: date) -> CheckRate | None:
        """How often to look on a day, the weather taken in; None while the trees are not here."""
        usual, rise = self.usual_on(day), self.rise_on(day)
        return usual if usual is None or rise is None else max(usual, rise.rate)

    def must_dry_on(self, day: date) -> bool:
        """Whether the surface is to dry between waterings: weak trees die wet more often than dry."""
        return any(tree.weak for tree in self.trees) or self.timeline.must_dry_on(day)


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


class AlertKind(StrEnum):
    """What an alert is about: the weather, its record, or a sighting that cannot be."""

    FROST = "frost"
    FROSTED = "frost damage"
    HEAT = "heat"
    HOT_ROOTS = "heat at the roots"
    WIND = "wind"
    STALE = "weather record"
    SIGHTING = "sighting"


@dataclass(frozen=True, slots=True)
class Alert:
    """What the weather on record, or the journal, asks of the grower from `start` to `end` inclusive.

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
    """A day on which to look at a held tree.

    carry_to: the spring to ask about, if its day for putting off has come. is_answered: it needs no answer any more.
    """

    key: str
    day: date
    timeline: Timeline
    hold: Hold
    number: int
    carry_to: int | None = None
    is_answered: bool = False


@dataclass(frozen=True, slots=True)
class StagePrompt:
    """A question to the grower: has this stage come?

    expected: its date as the plan has it; early, late: the span it most likely falls in, None without one. awaited:
    feeding waits for the answer. asked_until: the question comes again each week to this day. is_of_all: on a day, no
    tree of the group is left out.
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
    is_of_all: bool = True

    @property
    def days(self) -> tuple[date, ...]:
        """The days on which the question is put."""
        return tuple(self.day + timedelta(weeks=week) for week in range(self._weeks + 1))

    def falls_on(self, day: date) -> bool:
        """Whether the question is put on a day."""
        week, weekday = divmod((day - self.day).days, 7)
        return weekday == 0 and 0 <= week <= self._weeks

    @property
    def _weeks(self) -> int:
        """How many weeks after its first day it is put again."""
        return 0 if self.asked_until is None else max((self.asked_until - self.day).days // 7, 0)


@dataclass(frozen=True, slots=True)
class NoteEvent:
    """A note of the grower's own on its day."""

    key: str
    day: date
    note: YearlyNote


@dataclass(frozen=True)
class Season:
    """All that is planned from `start` to `end` inclusive, seen from `today`.

    history: what is to be remembered of it. watches: how often each tree is looked at; find_checks: the looks that
    makes. daily_et: the weather known that day, None without any. checks_by: what water checks go by. workings: what it
    was worked out with, for the plan made next (engine/plan.py).
    """

    collection: Collection
    today: date
    start: date
    end: date
    timelines: tuple[Timeline, ...]
    history: History
    rounds: tuple[RoundItem, ...]
    watches: tuple[Watch, ...]
    reviews: tuple[Review, ...]
    prompts: tuple[StagePrompt, ...]
    notes: tuple[NoteEvent, ...]
    checks_by: ChecksBasis
    daily_et: DailyEt | None = field(default=None, compare=False)
    solids: tuple[SolidItem, ...] = ()
    frosts: tuple[FrostSpell, ...] = ()
    flushes: tuple[Flush, ...] = ()
    alerts: tuple[Alert, ...] = ()
    find_checks: Callable[[], tuple[CheckStretch, ...]] = field(default=tuple, compare=False, repr=False)
    workings: object = field(default=None, compare=False, repr=False)

    @cached_property
    def checks(self) -> tuple[CheckStretch, ...]:
        """The looks to be made; only a calendar of single looks asks for them, so they are found when asked for."""
        return self.find_checks()

    @cached_property
    def held_down(self) -> tuple[Timeline, ...]:
        """Those of which some feed falls away since nothing at hand makes it."""
        return tuple(t for t in self.timelines if any(each.is_held_down for each in t.dropped))

    @property
    def climate(self) -> Climate | None:
        """The weather known on the day it is seen from; None without any."""
        return None if self.daily_et is None else self.daily_et.climate

    def can_on(self, day: date) -> Decimal:
        """The can mixed in on a day [L]."""
        return self.history.can_on(day)
