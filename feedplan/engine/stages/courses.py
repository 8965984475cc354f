"""The weather a season may bring, day by day: what is on record, then each past year's course, or normals."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Sequence
from datetime import date, timedelta
from functools import cached_property
from itertools import accumulate
from typing import NamedTuple

from feedplan.engine.growing_year import DAY, season_end, season_start
from feedplan.model.climate import Climate, ClimateDay, Standing
from feedplan.model.moment import Hemisphere
from feedplan.weather.meteorology import hours_below, sine_degree_days

FEWEST_YEARS = 5
"""So many past years on record give a spread of their own; with fewer, normals are used. Judgement."""

SHARE_ON_RECORD = 0.95
"""A past year counts when so much of it is on record; normals stand in for the rest. Judgement."""

DAY_TO_DAY_C = 2.8
"""How far a day's mean lies from its normal, as a standard deviation [°C].

2.5 to 3.6 from February to May in four records of the package aquacrop 3.1.0. Without it, normals of a cool spring tell
half the degree days that real days bring.
"""

# Gauss-Hermite points of a normal distribution: off by so many standard deviations, with such a weight.
_THREE_DAYS = ((-(3**0.5), 1 / 6), (0.0, 2 / 3), (3**0.5, 1 / 6))
_ROUNDING = 1e-9


class Count(NamedTuple):
    """What is counted of a day. what: "warmth", "cold", "chill days" or "chill hours"; low, high: bounds [°C]."""

    what: str
    low: float
    high: float | None = None

    def of(self, tmin_c: float, tmax_c: float) -> float:
        """The day's part: degree days, or chill in days."""
        mean = (tmin_c + tmax_c) / 2
        if self.what == "warmth":
            return sine_degree_days(tmin_c, tmax_c, self.low, self.high)
        if self.what == "cold":
            return max(0.0, self.low - mean)
        if self.what == "chill days":
            return 1.0 if mean <= self.low else 0.0
        return hours_below(tmin_c, tmax_c, self.low) / 24


def current(climate: Climate) -> Callable[[date], ClimateDay | None]:
    """A look-up of days on record, observed or forecast, without a stale forecast and without normals."""
    stale = climate.is_stale

    def day_on(day: date) -> ClimateDay | None:
        found = climate.days.get(day)
        if found is not None and stale and found.standing is Standing.FORECAST:
            return None
        return found

    return day_on


class DailyCounts:
    """A climate as series of daily counts, each worked out once for all seasons and species."""

    def __init__(self, climate: Climate) -> None:
        self.climate = climate
        day_on = current(climate)
        known = [day for day in climate.days if day_on(day) is not None]
        self.first = min(known, default=date.max)
        self.last = max(known, default=date.min)
        self._day_on = day_on
        self._series: dict[Count, list[float | None]] = {}
        self._normal: dict[Count, list[float]] = {}

    @cached_property
    def _days(self) -> list[ClimateDay | None]:
        if self.last < self.first:
            return []
        return [self._day_on(self.first + DAY * i) for i in range((self.last - self.first).days + 1)]

    def has(self, day: date) -> bool:
        """Whether a day is on record."""
        return self.first <= day <= self.last and self._days[(day - self.first).days] is not None

    def share_on_record(self, first: date, last: date) -> float:
        """The share of the days from first to last, both included, that is on record [0-1]."""
        if first < self.first or last > self.last:
            return 0.0
        days = self._days[(first - self.first).days : (last - self.first).days + 1]
        return sum(day is not None for day in days) / len(days)

    def counts(self, count: Count, first: date, length: int) -> list[float]:
        """The daily counts of some days from `first`; a day not on record has the normal one, 0 without normals."""
        if count not in self._series:
            self._series[count] = [
                None if day is None else count.of(day.tmin_c, day.tmax_c) for day in self._days
            ]
        series, normal = self._series[count], self.normal_counts(count)
        start = (first - self.first).days if series else 0
        found = []
        for i in range(length):
            value = series[start + i] if 0 <= start + i < len(series) else None
            found.append(normal[_place(first + DAY * i)] if value is None else value)
        return found

    def normal_counts(self, count: Count) -> list[float]:
        """The count to expect on each day of a leap year by normals, 0 without them.

        Days lie about their normal, and only the warm ones count: three of them, weighted, stand for all.
        """
        if count not in self._normal:
            days = (date(2024, 1, 1) + DAY * i for i in range(366))
            self._normal[count] = [self._expected(count, day) for day in days]
        return self._normal[count]

    def _expected(self, count: Count, day: date) -> float:
        if self.climate.normals is None:
            return 0.0
        normal = self.climate.normals.on(day)
        return sum(
            weight * count.of(normal.tmin_c + off * DAY_TO_DAY_C, normal.tmax_c + off * DAY_TO_DAY_C)
            for off, weight in _THREE_DAYS
        )


def _place(day: date) -> int:
    return (date(2024, day.month, day.day) - date(2024, 1, 1)).days


class Courses:
    """The courses one season's weather may take, over the days from four months before it to a month after it.

    cutoff: first day not on record. years: the past years whose weather follows it, each a course of its own; empty
    when there are too few, and then the one course goes on by normals.
    """

    def __init__(self, record: DailyCounts, season: int, hemisphere: Hemisphere) -> None:
        self.record = record
        start = season_start(season, hemisphere)
        self.origin = _months_before(start, 4)
        self.length = (season_end(season, hemisphere) - self.origin).days + 32
        end = self.origin + DAY * self.length
        self.cutoff = min(end, max(self.origin, record.last + DAY)) if record.first < end else self.origin
        self.years = self._past_years()
        self._sums: dict[Count, list[list[float]]] = {}

    @property
    def is_known(self) -> bool:
        """Whether the whole season is on record, or the rest of it can be told from years or normals."""
        ahead = (self.cutoff - self.origin).days < self.length
        return bool(self.years) or self.record.climate.normals is not None or not ahead

    def covers(self, start: float, end: float) -> bool:
        """Whether enough is known of the days between two places, as far as they are past."""
        days = [self.day(at) for at in range(round(start), min(round(end), self.index(self.cutoff)))]
        if self.record.climate.normals is not None or not days:
            return True
        return sum(map(self.record.has, days)) >= SHARE_ON_RECORD * len(days)

    def index(self, day: date) -> int:
        """A day's place in every course."""
        return (day - self.origin).days

    def day(self, index: float) -> date:
        """The day at a place."""
        return self.origin + timedelta(days=round(index))

    def sums(self, count: Count) -> list[list[float]]:
        """The running sum of a count along each course: sums[course][i] over the first i days."""
        if count not in self._sums:
            known = self.index(self.cutoff)
            head = self.record.counts(count, self.origin, known)
            tails = [
                self.record.counts(count, _same_day(self.cutoff, self.origin.year, year), self.length - known)
                for year in self.years
            ] or [self._normal_tail(count, known)]
            self._sums[count] = [list(accumulate([*head, *tail], initial=0.0)) for tail in tails]
        return self._sums[count]

    def _normal_tail(self, count: Count, known: int) -> list[float]:
        normal = self.record.normal_counts(count)
        return [normal[_place(self.origin + DAY * i)] for i in range(known, self.length)]

    def _past_years(self) -> tuple[int, ...]:
        """The years in which the days still to come are on record, if they are enough."""
        ahead = self.length - self.index(self.cutoff)
        if ahead <= 0 or self.record.last < self.record.first:
            return ()
        found = []
        for year in range(self.record.first.year - 1, self.record.last.year + 1):
            first = _same_day(self.cutoff, self.origin.year, year)
            share = self.record.share_on_record(first, first + DAY * (ahead - 1))
            if year != self.origin.year and share >= SHARE_ON_RECORD:
                found.append(year)
        return tuple(found) if len(found) >= FEWEST_YEARS else ()


def reached(sums: Sequence[float], start: int, needed: float) -> int | None:
    """The first place whose day brings the sum counted from `start` on to what is needed; None when none does."""
    at = bisect_left(sums, sums[start] + needed - _ROUNDING, start + 1)
    return None if at >= len(sums) else at - 1


def _months_before(day: date, months: int) -> date:
    month = day.month - months
    return date(day.year if month > 0 else day.year - 1, month if month > 0 else month + 12, 1)


def _same_day(day: date, origin_year: int, year: int) -> date:
    """The same day and month as many years off as `year` is from the origin's; 29 February becomes 1 March."""
    target = day.year - origin_year + year
    try:
        return day.replace(year=target)
    except ValueError:
        return date(target, 3, 1)
