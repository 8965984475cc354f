"""Growth stages and the signs a grower can see, with typical dates and a clock for each kind of species.

A clock says how much warmth, cold, time or shortening of days brings each stage.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum

from feedplan.model.genus import GenusFlag
from feedplan.model.moment import DayOfYear, Moment
from feedplan.model.source import BUILT_IN, Source
from feedplan.model.species import TreeKinds
from feedplan.model.statement import Statement


class Measure(StrEnum):
    """What is counted until a stage comes."""

    WARMTH = "warmth"
    COLD = "cold"
    DAYS = "days"
    DAY_SHORTENED = "day_shortened"


@dataclass(frozen=True, slots=True)
class Chill:
    """The cold that buds need in winter before warmth counts in full.

    below_c: a day whose mean is at or below it is a chill day; hours at or below it are chill hours [°C].
    count_from: first day counted. days or hours: what is needed, the other None. more_each_day_short: share by which
    the warmth needed grows for each day (or 24 hours) of chill missing.
    """

    below_c: float
    count_from: DayOfYear
    days: int | None = None
    hours: int | None = None
    more_each_day_short: float = 0.01

    @property
    def days_needed(self) -> float:
        """Chill needed, hours counted as parts of days [days]."""
        return float(self.days) if self.days is not None else (self.hours or 0) / 24


@dataclass(frozen=True, slots=True)
class Counting:
    """How warmth is counted: degree days above a base, by a single sine with a horizontal cutoff.

    base_c, upper_c: [°C], no cutoff where upper_c is None. count_from: first day counted, turned to the place.
    """

    base_c: float
    count_from: DayOfYear
    upper_c: float | None = None
    chill: Chill | None = None


@dataclass(frozen=True, slots=True)
class StageRule:
    """What brings one stage.

    measure, amount: warmth or cold [degree days], days [days], or the share of the way from the longest day to the
    shortest. give_or_take: half the range of the amount, in the same unit; of a day length [days]. after: the stage
    counted from, None for the first day counted. below_c: cold counts below it [°C]. at_least_days, at_most_days:
    bounds on the days after that stage. counting: how warmth is counted. learned: it was fitted to the grower's own
    sightings; how says from how many, as learned.yaml has it. own_date: the amount is what the grower's date comes to.
    """

    measure: Measure
    amount: float
    give_or_take: float
    counting: Counting
    after: str | None = None
    below_c: float | None = None
    at_least_days: int | None = None
    at_most_days: int | None = None
    learned: bool = False
    how: str = ""
    source: Source = BUILT_IN
    own_date: bool = False


Clock = Mapping[str, StageRule]
"""The rules of a calendar by stage; stages without one keep their typical dates."""


class Origin(StrEnum):
    """Where a stage date comes from, surest first."""

    SEEN = "seen"
    INFORMED = "informed"
    PREDICTED = "predicted"
    TYPICAL = "typical"
    SHIFTED = "shifted"
    AWAITED = "awaited"


class Basis(Statement):
    """What a predicted date rests on: its rule, and what else is known."""

    rule: StageRule
    parts: tuple[Statement, ...] = ()


class Counted(Statement):
    """Warmth counted by the end of a day [degree days]."""

    amount: int
    by: date


class ChillShort(Statement):
    """Winter cold still missing when the stage comes."""

    time: timedelta


class DrawnTowards(Statement):
    """Trees of its species that drew it towards them. count: so many; mean: the middle of their days."""

    count: int
    mean: date


class SpanOfYears(Statement):
    """The span of a date, taken from so many past years."""

    count: int


class SpanByNormals(Statement):
    """The span of a date, by normals and the usual spread."""


class GiveOrTake(Statement):
    """How far off a typical date often is."""

    time: timedelta


@dataclass(frozen=True, slots=True)
class Word:
    """A stage or sign a grower can report as seen.

    name: the word itself ("leaves open"). also: other ways to write it. looks_like: what to look for.
    bbch: code on the BBCH scale, None where that scale has none. shows: signs that seeing it also proves.
    adverse: it says the tree is not coping. is_stage: it is a growth stage, not only a sign.
    water_use: of a stage, how much the tree drinks against reference evapotranspiration [share], None if not told.
    soft: of a stage, whether frost and wind harm what has grown by then.
    follows: of a stage, those that must have come before it. on_leaves: a sign that only leaves show.
    lasts_until: of a stage that, seen once, counts in the years after too, the work that ends it; empty for others.
    do: what to do when it is seen.
    """

    name: str
    also: tuple[str, ...] = ()
    looks_like: str = ""
    bbch: int | None = None
    shows: frozenset[str] = frozenset()
    adverse: bool = False
    is_stage: bool = False
    source: Source = BUILT_IN
    water_use: Decimal | None = None
    soft: bool = False
    follows: frozenset[str] = frozenset()
    on_leaves: bool = False
    lasts_until: str = ""
    do: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class StageCalendar:
    """The typical year of one kind of species: its stages in order, each with a prior date for this place.

    species: words that place a species here whatever its kind says ("seedlings"). dates: in the order of the growing
    year, already turned to the place's hemisphere. spread_days: how far off such a date often is [days].
    spring: stages that a late season pushes back together; the others keep their dates.
    water_use: stages at which this kind drinks otherwise than the stage's own share says [share].
    clock: what brings its stages where the weather is known.
    root_work: from when to when roots may be worked on, None for all year.
    repeats: its two stages, growth and its stop, come as often in a year as they are seen.
    """

    name: str
    species: tuple[str, ...]
    dates: tuple[tuple[str, DayOfYear], ...]
    spread_days: int = 21
    spring: frozenset[str] = frozenset()
    source: Source = BUILT_IN
    water_use: Mapping[str, Decimal] = field(default_factory=dict)
    clock: Clock = field(default_factory=dict, repr=False)
    root_work: tuple[Moment, Moment] | None = None
    repeats: bool = False


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """Every word the journal and schedules may use for stages and signs, and the calendars by name.

    flags: the genera that feed harms. kinds: the kinds of trees.
    """

    words: Mapping[str, Word] = field(default_factory=dict)
    calendars: Mapping[str, StageCalendar] = field(default_factory=dict)
    flags: tuple[GenusFlag, ...] = ()
    kinds: TreeKinds = field(default_factory=TreeKinds, repr=False)

    def shown_by(self, name: str) -> frozenset[str]:
        """The sign itself and every sign that seeing it proves, however many steps away."""
        found: set[str] = set()
        pending = [name]
        while pending:
            word = pending.pop()
            if word not in found:
                found.add(word)
                pending.extend(self.words[word].shows if word in self.words else ())
        return frozenset(found)

    def calendar_for(self, species: str, fallback: str) -> StageCalendar:
        """The calendar that lists a word for the species, longest word first; else its kind's; else the fallback."""
        listed = self.listed_in(species)
        if listed is not None:
            return self.calendars[listed]
        kind = self.kinds.kind_of(species)
        return self.calendars[kind.year if kind is not None and kind.year in self.calendars else fallback]

    def listed_in(self, species: str) -> str | None:
        """The name of the calendar that lists the longest word for the species, None if none lists one."""
        found = (
            (len(word), name)
            for name, calendar in self.calendars.items()
            for word in calendar.species
            if self.kinds.means(word, species)
        )
        return max(found, key=lambda one: one[0], default=(0, None))[1]
