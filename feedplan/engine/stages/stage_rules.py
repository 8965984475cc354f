"""Where along a course of weather a rule brings its stage."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from math import inf

from feedplan.engine.growing_year import day_in_season, season_end, season_start
from feedplan.engine.stages.courses import Count, Courses, reached
from feedplan.model.clock import Chill, Counting, Measure, StageRule
from feedplan.model.moment import DayOfYear, Hemisphere
from feedplan.weather.meteorology import sun_of_the_year

_YEAR_DAYS = 366


@dataclass(frozen=True, slots=True)
class StageSite:
    """Where and when stages are predicted. spread_days: how far off a typical date often is [days]."""

    latitude: float
    hemisphere: Hemisphere
    season: int
    spread_days: int


@dataclass(frozen=True, slots=True)
class Line:
    """One course of one season's weather at a place. number: which of the courses."""

    courses: Courses
    number: int
    place: StageSite

    def sums(self, count: Count) -> list[float]:
        """The running sum of a count along the course."""
        return self.courses.sums(count)[self.number]


def first_counted(counting: Counting, place: StageSite) -> date:
    """The first day of a season on which warmth counts."""
    return day_in_season(counting.count_from, place.season, place.hemisphere)


def last_before(day: DayOfYear, before: date) -> date:
    """The latest date of a day of the year that is not after another date."""
    same_year = day.in_year(before.year)
    return same_year if same_year <= before else day.in_year(before.year - 1)


def warmth_count(counting: Counting) -> Count:
    """How a clock counts warmth."""
    return Count("warmth", counting.base_c, counting.upper_c)


def chill_short(counting: Counting, line: Line, at: int) -> float:
    """Days of winter cold still missing at a place of a course; 0 for buds that need none [days]."""
    if counting.chill is None:
        return 0.0
    sums = line.sums(_chill_count(counting.chill))
    start = line.courses.index(last_before(counting.chill.count_from, first_counted(counting, line.place)))
    had = sums[min(at, len(sums) - 1)] - sums[max(0, start)]
    return max(0.0, counting.chill.days_needed - had)


def _chill_count(chill: Chill) -> Count:
    return Count("chill days" if chill.days is not None else "chill hours", chill.below_c)


def find(rule: StageRule, amount: float, line: Line, start: float) -> float:
    """The place along a course at which a rule brings its stage, infinity when it never does.

    amount: of the rule's measure, a day length's share excepted, which never varies. start: the place of the stage
    counted from, or of the first day counted.
    """
    at = inf if start == inf else _FINDERS[rule.measure](rule, amount, line, int(start))
    if rule.at_least_days is not None:
        at = max(at, start + rule.at_least_days)
    if rule.at_most_days is not None:
        at = min(at, start + rule.at_most_days)
    return at


def _by_warmth(rule: StageRule, amount: float, line: Line, start: int) -> float:
    sums = line.sums(warmth_count(rule.counting))
    if rule.after is not None:
        return _or_never(reached(sums, _next(start, sums), amount))
    chill = rule.counting.chill
    first = reached(sums, start, amount)
    if first is None or chill is None or chill_short(rule.counting, line, first + 1) == 0:
        return _or_never(first)

    def is_enough(at: int) -> bool:
        short = chill_short(rule.counting, line, at + 1)
        return sums[at + 1] - sums[start] >= amount * (1 + chill.more_each_day_short * short)

    last = len(sums) - 1
    at = bisect_left(range(last), True, lo=first, key=is_enough)
    return inf if at >= last else at


def _by_cold(rule: StageRule, amount: float, line: Line, start: int) -> float:
    sums = line.sums(Count("cold", rule.below_c or 0.0))
    return _or_never(reached(sums, _next(start, sums), amount))


def _by_days(_: StageRule, amount: float, __: Line, start: int) -> float:
    return start + amount


def _by_day_length(rule: StageRule, _: float, line: Line, __: int) -> float:
    place = line.place
    day = shortened_on(place.latitude, place.hemisphere, place.season, rule.amount)
    return inf if day is None else line.courses.index(day)


_FINDERS: Mapping[Measure, Callable[[StageRule, float, Line, int], float]] = {
    Measure.WARMTH: _by_warmth,
    Measure.COLD: _by_cold,
    Measure.DAYS: _by_days,
    Measure.DAY_SHORTENED: _by_day_length,
}


def _or_never(at: int | None) -> float:
    return inf if at is None else at


def _next(start: int, sums: list[float]) -> int:
    """The place after the stage counted from, inside the course."""
    return min(max(0, start + 1), len(sums) - 1)


@lru_cache(maxsize=1024)
def shortened_on(latitude: float, hemisphere: Hemisphere, season: int, share: float) -> date | None:
    """The first day of a season whose length has gone a share of the way from the longest to the shortest day.

    A share, because trees answer to the days of where their kind comes from: one willow stops at 15 to 16 h if it
    is from 59° N, at 22 h from 69° N (Physiologia Plantarum 1980, abstract read). None when no such day is left.
    """
    first, last = season_start(season, hemisphere), season_end(season, hemisphere)
    days = [first + timedelta(days=i) for i in range((last - first).days + 1)]
    sun = sun_of_the_year(latitude)
    hours = [sun[min(_YEAR_DAYS, day.timetuple().tm_yday) - 1][1] for day in days]
    longest = hours.index(max(hours))
    bound = max(hours) - share * (max(hours) - min(hours))
    return next((days[i] for i in range(longest, len(days)) if hours[i] <= bound), None)
