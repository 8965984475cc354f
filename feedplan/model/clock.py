"""A species group's own clock: how much warmth, cold, time or shortening of days brings each stage."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from feedplan.model.moment import DayOfYear
from feedplan.model.source import BUILT_IN, Source


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
