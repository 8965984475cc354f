"""Weather as a plan knows it: observed days, the forecast, and the place's normals for every day beyond."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from datetime import date, timedelta
from enum import StrEnum
from functools import cache
from types import MappingProxyType

from feedplan.model.source import BUILT_IN, Source
from feedplan.weather.evapotranspiration import DayWeather

DAY = timedelta(days=1)
STALE_AFTER_DAYS = 2
"""A forecast from a record whose last observation is older than this says nothing any more (judgement)."""

LONGEST_FORECAST = timedelta(days=16)
"""No public service forecasts single days further ahead (common practice, no source). Rows beyond are left out."""


class Standing(StrEnum):
    """How surely a day's weather is known."""

    OBSERVED = "observed"
    FORECAST = "forecast"
    NORMAL = "normal"


@dataclass(frozen=True, slots=True)
class ClimateDay:
    """One day's weather. rain_mm: [mm], None where it was not measured. marked: the record itself says its standing.

    A normal day's rain is the mean of many years, spread evenly: a little on every day, no shower on any.
    """

    day: date
    standing: Standing
    weather: DayWeather
    rain_mm: float | None = None
    marked: bool = False
    source: Source = BUILT_IN

    @property
    def tmin_c(self) -> float:
        """Lowest temperature [°C]."""
        return self.weather.tmin_c

    @property
    def tmax_c(self) -> float:
        """Highest temperature [°C]."""
        return self.weather.tmax_c

    @property
    def tmean_c(self) -> float:
        """Mean of the two extremes, as FAO-56 (Eq. 9) and degree days take it [°C]."""
        return (self.weather.tmin_c + self.weather.tmax_c) / 2


@dataclass(frozen=True, slots=True)
class MonthNormal:
    """What a month is like on average. month: 1-12; weather: means of its days; rain_mm: its sum [mm]."""

    month: int
    weather: DayWeather
    rain_mm: float | None = None
    source: Source = BUILT_IN


NormalDay = tuple[DayWeather, float | None]
"""The weather of one calendar day and its rain [mm]."""


@dataclass(frozen=True, slots=True)
class Normals:
    """The twelve months in order. from_record: worked out from the daily record, for want of a file of normals."""

    months: tuple[MonthNormal, ...]
    from_record: bool = False
    _days: list[NormalDay] = field(default_factory=list, repr=False, compare=False)

    def on(self, day: date) -> ClimateDay:
        """The normal weather of a calendar day, joined from month to month without steps."""
        weather, rain_mm = self._on(day)
        return ClimateDay(day, Standing.NORMAL, weather, rain_mm, source=self.months[day.month - 1].source)

    def tmean_c(self, day: date) -> float:
        """Mean of a calendar day's two extremes [°C]."""
        weather, _ = self._on(day)
        return (weather.tmin_c + weather.tmax_c) / 2

    def _on(self, day: date) -> NormalDay:
        if not self._days:
            self._days.extend(_normal_days(self.months))
        return self._days[_place_in_leap_year(day)]


@dataclass(frozen=True, slots=True)
class Climate:
    """All weather the collection has, or, once `as_of` a day, all of it that was known on that day.

    days: the daily record by date. normals: None when there are none. today: the day it is seen from, None for the
    files as they stand. sources: the files read. notes: what was left out in reading them, one sentence each. too_far:
    the first row left out because no forecast reaches that far, None without any.
    """

    days: Mapping[date, ClimateDay] = field(default_factory=dict)
    normals: Normals | None = None
    today: date | None = None
    sources: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    too_far: ClimateDay | None = None

    def weather_on(self, day: date) -> ClimateDay | None:
        """A day's weather: observed or forecast where the record has it, else normal; None when nothing is known."""
        found = self.days.get(day)
        if found is not None:
            return found
        return self.normals.on(day) if self.normals is not None else None

    @property
    def last_observed(self) -> date | None:
        """The latest day with an observation; None without any."""
        return max((d.day for d in self.days.values() if d.standing is Standing.OBSERVED), default=None)

    @property
    def forecast_to(self) -> date | None:
        """The last day that is forecast; None without any from today on."""
        ahead = (d.day for d in self.days.values() if d.standing is Standing.FORECAST)
        return max((day for day in ahead if self.today is None or day >= self.today), default=None)

    @property
    def stale_days(self) -> int | None:
        """Days since the latest observation, 0 when it is yesterday's; None without any, or as of no day."""
        last = self.last_observed
        return None if last is None or self.today is None else max(0, (self.today - last).days - 1)

    @property
    def is_stale(self) -> bool:
        """Whether the latest observation is too old for the forecast to count any more."""
        return self.stale_days is not None and self.stale_days > STALE_AFTER_DAYS

    def as_of(self, today: date) -> Climate:
        """The weather as it was known on a day: no observation made after it, and only a forecast's length ahead.

        Rows before today are observed and the others forecast, unless the record marks them otherwise.
        """
        if self.today == today:
            return self
        seen = (_seen(day, today) for day in self.days.values())
        known = {day.day: day for day in seen if day is not None}
        beyond = (row for row in self.days.values() if row.day > today + LONGEST_FORECAST)
        meant = (row for row in beyond if not _is_marked_observed(row))
        too_far = min(meant, key=lambda row: row.day, default=None)
        return replace(self, days=MappingProxyType(known), today=today, too_far=too_far)


def _seen(row: ClimateDay, today: date) -> ClimateDay | None:
    """A row as it was known on a day; None when it was not."""
    if row.day > today + LONGEST_FORECAST or (row.day > today and _is_marked_observed(row)):
        return None
    if row.marked or row.day < today:
        return row
    return replace(row, standing=Standing.FORECAST)


def _is_marked_observed(row: ClimateDay) -> bool:
    return row.marked and row.standing is Standing.OBSERVED


_LEAP_YEAR = 2024
_MONTH_DAYS = tuple(
    (date(_LEAP_YEAR + month // 12, month % 12 + 1, 1) - date(_LEAP_YEAR, month, 1)).days
    for month in range(1, 13)
)
MEAN_MONTH_DAYS: Mapping[int, float] = {
    month: 28.25 if month == 2 else float(days) for month, days in enumerate(_MONTH_DAYS, start=1)
}
"""Days of a month, 1 to 12, over many years, as the sums of normals are made: every fourth February has 29."""
_FIRST_OF_MONTH = tuple(sum(_MONTH_DAYS[:month]) for month in range(12))


def _place_in_leap_year(day: date) -> int:
    """The place of a calendar day among the 366 of a leap year, from 0: the same every year, 29 February or not."""
    return _FIRST_OF_MONTH[day.month - 1] + day.day - 1


def smooth_year(means: Sequence[float]) -> tuple[float, ...]:
    """One value for each of the 366 days of a leap year, without steps, whose months keep the given means.

    Straight lines join the middles of the months. So that each month keeps its mean, its middle is set as much above
    or below that mean as the lines bend (the aim of Epstein, "On obtaining daily climatological values from monthly
    means", Journal of Climate 4, 1991, pp. 365-368, who bends sines instead). Values that are never below zero
    must be kept so by the caller.
    """
    middles = list(means)
    for _ in range(60):  # each step at least halves what is left
        got = [sum(part * middles[month] for month, part in parts) for parts in _month_parts()]
        middles = [middle + mean - was for middle, mean, was in zip(middles, means, got, strict=True)]
    return tuple(
        middles[before] * (1 - share) + middles[after] * share for before, after, share in _between_middles()
    )


@cache
def _between_middles() -> tuple[tuple[int, int, float], ...]:
    """For each day of a leap year the month before and after it, by their middles, and how far on the way it is."""
    at = [first + (days - 1) / 2 for first, days in zip(_FIRST_OF_MONTH, _MONTH_DAYS, strict=True)]
    found = []
    for place in range(366):
        after = next((month for month in range(12) if at[month] > place), 12)
        left, right = at[after - 1] - (366 if after == 0 else 0), at[after % 12] + (366 if after == 12 else 0)
        found.append(((after - 1) % 12, after % 12, (place - left) / (right - left)))
    return tuple(found)


@cache
def _month_parts() -> tuple[tuple[tuple[int, float], ...], ...]:
    """For each month, what part of its mean comes from the middle of which month."""
    parts: list[dict[int, float]] = [{} for _ in range(12)]
    for place, (before, after, share) in enumerate(_between_middles()):
        month = max(m for m in range(12) if _FIRST_OF_MONTH[m] <= place)
        for middle, part in ((before, 1 - share), (after, share)):
            parts[month][middle] = parts[month].get(middle, 0.0) + part / _MONTH_DAYS[month]
    return tuple(tuple(found.items()) for found in parts)


_MEASURES = tuple(f.name for f in fields(DayWeather) if f.name not in ("tmin_c", "tmax_c", "wind_height_m"))


def _normal_days(months: Sequence[MonthNormal]) -> Sequence[NormalDay]:
    """Weather and rain [mm] of the 366 days; a measure that any month lacks is left out of all."""
    rows = [month.weather for month in months]
    tmin_c, tmax_c = (smooth_year([getattr(row, name) for row in rows]) for name in ("tmin_c", "tmax_c"))
    measured: dict[str, tuple[float, ...]] = {}
    for name in _MEASURES:
        values = [getattr(row, name) for row in rows]
        if None not in values:
            least = -100.0 if name == "dew_point_c" else 0.0
            most = 100.0 if name.startswith("rh_") else float("inf")
            measured[name] = tuple(min(most, max(least, value)) for value in smooth_year(values))
    rain_mm = _rain_of_days(months)
    found = []
    for place in range(366):
        low, high = sorted((tmin_c[place], tmax_c[place]))
        extra = {name: values[place] for name, values in measured.items()}
        weather = DayWeather(low, high, wind_height_m=rows[0].wind_height_m, **extra)
        found.append((weather, None if rain_mm is None else max(0.0, rain_mm[place])))
    return found


def _rain_of_days(months: Sequence[MonthNormal]) -> tuple[float, ...] | None:
    sums = [month.rain_mm for month in months]
    if None in sums:
        return None
    lengths = (MEAN_MONTH_DAYS[month.month] for month in months)
    return smooth_year([rain / days for rain, days in zip(sums, lengths, strict=True) if rain is not None])
