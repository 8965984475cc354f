"""A schedule: how one group of trees is fed, checked and held through the year."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from feedplan.dose.ceilings import USUAL, Ceilings
from feedplan.dose.grade import Ratio
from feedplan.dose.strength import Strength
from feedplan.model.hold import Action, HoldRule
from feedplan.model.moment import DayOfYear, Moment
from feedplan.model.source import BUILT_IN, Source


@dataclass(frozen=True, slots=True)
class UsualNitrogen:
    """What trees of one kind usually get in a season [mg N per L of container], and by what source."""

    least: Decimal
    most: Decimal
    source: str


@dataclass(frozen=True, slots=True)
class Layer:
    """One place that had a say in a schedule, weakest first: the shipped file, then group, then tree.

    kind: "schedule", "group" or "tree"; name: which. changed: key path -> value as written there, empty for a whole
    file.
    """

    kind: str
    name: str
    source: Source
    changed: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class FeedingPeriod:
    """A stretch of the year fed in one way.

    start, stop: its moments, dates already turned to the place; a stop written as a day is the last day fed,
    a stop at a stage is no longer fed. every_days: from one feed to the next [days]. min_gap_days: never closer
    than this [days]. root_zone_min_c, air_max_c: gates that defer [°C]. ratio: what to mix where no product is named.
    or_after: holds whose end stands in for a stage that `start` waits to see.
    """

    name: str
    start: Moment
    stop: Moment
    every_days: int
    min_gap_days: int
    strength: Strength
    root_zone_min_c: Decimal | None = None
    air_max_c: Decimal | None = None
    source: Source = BUILT_IN
    ratio: Ratio | None = None
    or_after: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class SolidPeriod:
    """A stretch of the year in which solid feed is laid on the pots.

    start, stop, every_days: as of a FeedingPeriod. Of grams_per_l [g per L of container] and n_mg_per_l [mg N per L
    of container] exactly one is given. lift: when what still lies is taken off, None for the day after `stop`, or for
    `every_days` after `start` where that is later. kinds: the forms of feed it is for, empty for all. placement: how it
    is laid, in the words of the file.
    """

    name: str
    start: Moment
    stop: Moment
    every_days: int
    grams_per_l: Decimal | None = None
    n_mg_per_l: Decimal | None = None
    lift: Moment | None = None
    source: Source = BUILT_IN
    kinds: tuple[str, ...] = ()
    placement: str = ""

    def takes(self, form: str) -> bool:
        """Whether it is for feed of a form, told by its name."""
        return not self.kinds or form in self.kinds


@dataclass(frozen=True, slots=True, order=True)
class CheckRate:
    """How often to check water. per_week: checks in seven days.

    name: as the files write it, "every 2 days"; what a stretch of checks is called for ever is made from it.
    """

    per_week: Decimal
    name: str


@dataclass(frozen=True, slots=True)
class WaterRow:
    """Check rates from one stage on, by pot; every pot class has one.

    weak: used for root-cut or weak trees when it asks for more checks than the pot's own rate.
    """

    stage: str
    shallow: CheckRate
    medium: CheckRate
    deep: CheckRate
    weak: CheckRate
    source: Source = BUILT_IN


@dataclass(frozen=True, slots=True)
class LookFor:
    """What to look for from a stage on.

    to: the last day it is said, None for as long as the stage lasts. not_for: species words of trees it is not meant
    for, which are told `otherwise`, if anything. sound_only: nor for weak trees and those held from feed or work.
    until_seen: words with which it is done: any of them recorded that season, it is said no more. until_fed: nor of
    trees fed that season.
    """

    say: str
    to: DayOfYear | None = None
    not_for: tuple[str, ...] = ()
    otherwise: str = ""
    sound_only: bool = False
    until_seen: frozenset[str] = frozenset()
    until_fed: bool = False


@dataclass(frozen=True, slots=True)
class WorkTime:
    """A stretch of the year for one kind of work, told to growers who want that told.

    start, stop: as of a FeedingPeriod. action: what a hold must not stop. say: what is told, once in each stretch.
    if_unknown: what is told in its place while nobody knows whether a tree is due, empty for the same. done: the
    journal words that say it was done. again_after_years: never sooner after it was done [years]. not_for: species
    words of trees it is not meant for. weak_too: weak trees are told of, too.
    """

    name: str
    action: Action
    start: Moment
    stop: Moment
    say: str
    if_unknown: str = ""
    done: tuple[str, ...] = ()
    again_after_years: int = 1
    not_for: tuple[str, ...] = ()
    weak_too: bool = False
    source: Source = BUILT_IN


@dataclass(frozen=True, slots=True)
class Schedule:
    """How a group is cared for through the year, every override applied and every date turned to the place.

    calendar: name of the stage calendar used for species no calendar names. budget_mg_n_per_l: season's
    nitrogen per litre of container [mg/L]. weakest_ppm: a trimmed feed below this is left out [mg/L].
    ceilings: the most a feed may add to the water.
    bands_up: how many bands root work counts heavier. water: rows in the order of the year. solid_periods: when solid
    feed is laid. beside_solids: share of the liquid feeds still to come that solid feed leaves room for [0-1].
    least_laying: a laying cut below this share is left out [0-1]. allow_over: the grower knows that more than 900 mg N
    per L is far beyond what trees use. look_for: stage -> what to look for then. holds: the rules in force, by name.
    indoors: written for trees in a room. weather_only_adds: its table of checks is the least, also where checks go by
    the weather. repot_every_years: from one repot to the next, None when not told [years]. usual: what such trees
    usually get, None when nobody says. work: when which work is told, in the order written.
    """

    name: str
    about: str
    calendar: str
    periods: tuple[FeedingPeriod, ...]
    water: tuple[WaterRow, ...]
    holds: Mapping[str, HoldRule]
    budget_mg_n_per_l: Decimal
    weakest_ppm: Decimal = Decimal(10)
    ceilings: Ceilings = USUAL
    bands_up: int = 0
    look_for: Mapping[str, LookFor] = field(default_factory=dict)
    layers: tuple[Layer, ...] = ()
    source: Source = BUILT_IN
    solid_periods: tuple[SolidPeriod, ...] = ()
    allow_over: bool = False
    indoors: bool = False
    repot_every_years: int | None = None
    weather_only_adds: bool = False
    usual: UsualNitrogen | None = None
    beside_solids: Decimal = Decimal("0.5")
    least_laying: Decimal = Decimal("0.25")
    work: tuple[WorkTime, ...] = ()
