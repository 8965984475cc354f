"""Reference evapotranspiration of every day a plan looks at, and what the climate folder holds to tell it from.

Normals serve for any day, the record for its own. The folder is summed up by its span and gaps, what was measured, what
is estimated, and the year's thirst.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property, lru_cache
from itertools import pairwise

from feedplan.engine.growing_year import DAY
from feedplan.engine.outdoors.outdoors import heat_waves
from feedplan.model.climate import Climate, ClimateDay, Normals, Standing
from feedplan.model.collection import Place
from feedplan.model.hold import HeatBounds
from feedplan.weather.evapotranspiration import DayWeather, ReferenceEt, Site, reference_et

MEASURES: Mapping[str, tuple[str, ...]] = {
    "humidity": ("vapour_pressure_kpa", "dew_point_c", "rh_max_percent", "rh_mean_percent"),
    "wind": ("wind_m_per_s",),
    "radiation": ("solar_mj_per_m2",),
    "sunshine": ("sunshine_hours",),
}


def site_of(place: Place) -> Site:
    """The place as the equations of evapotranspiration want it."""
    return Site(float(place.latitude), float(place.elevation_m))


@dataclass(frozen=True, slots=True)
class EtDay:
    """One day's weather and its reference evapotranspiration. in_heat_wave: one lasts, though the day may be cooler."""

    weather: ClimateDay
    et: ReferenceEt
    in_heat_wave: bool = False

    @property
    def et0_mm(self) -> float:
        """Reference evapotranspiration [mm/day]."""
        return self.et.et0_mm_per_day


def et_day_of(weather: ClimateDay, site: Site) -> EtDay:
    """A day's weather with its reference evapotranspiration; 29 February and all later days of a leap year count on."""
    return EtDay(weather, reference_et(weather.weather, site, weather.day.timetuple().tm_yday))


@lru_cache(maxsize=16)
def normal_et0(normals: Normals, site: Site) -> tuple[float, ...]:
    """Reference evapotranspiration of the 366 days of a leap year by normals [mm/day]."""
    days = (date(2024, 1, 1) + timedelta(days=place) for place in range(366))
    return tuple(et_day_of(normals.on(day), site).et0_mm for day in days)


class DailyEt:
    """The weather of a plan's days over one place. climate: as of the plan's day."""

    def __init__(self, climate: Climate, place: Place) -> None:
        self.climate = climate
        self.site = site_of(place)
        self._days: dict[date, EtDay | None] = {}
        self._year: Sequence[float] | None = None

    def normal_et0(self, first: date, count: int) -> Sequence[float]:
        """Reference evapotranspiration by normals of so many days from `first` on [mm/day]. Needs normals."""
        if self._year is None:
            assert self.climate.normals is not None
            self._year = normal_et0(self.climate.normals, self.site)
        return [self._year[_place(first + timedelta(days=i))] for i in range(count)]

    def on(self, day: date) -> EtDay | None:
        """A day as best known: observed, forecast unless that is stale, normal; None when nothing is known."""
        if day not in self._days:
            weather = self.climate.weather_on(day)
            if weather is not None and weather.standing is Standing.FORECAST and self.climate.is_stale:
                weather = self.climate.normals.on(day) if self.climate.normals is not None else None
            et_day = None if weather is None else et_day_of(weather, self.site)
            self._days[day] = (
                et_day if et_day is None or day not in self._hot_days else replace(et_day, in_heat_wave=True)
            )
        return self._days[day]

    @cached_property
    def _hot_days(self) -> frozenset[date]:
        """The days of heat waves on record, those that only wait for a second cool day included."""
        record = [
            day
            for day in sorted(self.climate.days.values(), key=lambda day: day.day)
            if day.standing is not Standing.FORECAST or not self.climate.is_stale
        ]
        waves = heat_waves(record, HeatBounds())
        return frozenset(w.start + DAY * i for w in waves for i in range((w.end - w.start).days))

    def recorded(self, first: date, last: date) -> Sequence[EtDay]:
        """The days from `first` to `last` that are observed or forecast, in order."""
        days = (first + timedelta(days=i) for i in range((last - first).days + 1))
        found = (self.on(day) for day in days if day in self.climate.days)
        return [
            et_day
            for et_day in found
            if et_day is not None and et_day.weather.standing is not Standing.NORMAL
        ]


def _place(day: date) -> int:
    """The place of a calendar day among the 366 of a leap year, from 0."""
    return (day - date(day.year, 1, 1)).days + (1 if day.month > 2 and not _is_leap(day.year) else 0)


def _is_leap(year: int) -> bool:
    return year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)


@dataclass(frozen=True, slots=True)
class Gap:
    """Days missing inside the record. first, last: both included."""

    first: date
    last: date

    @property
    def days(self) -> int:
        """Its length [days]."""
        return (self.last - self.first).days + 1


@dataclass(frozen=True, slots=True)
class Known:
    """What some days were measured for. measured: measure -> share of the days [0-1]; estimated: likewise."""

    measured: Mapping[str, float]
    estimated: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class ClimateSummary:
    """The climate folder in figures.

    first, last: of the observed days, None without any; forecast_to: last day forecast from today on.
    record, normals: what they were measured for, None when there are none. normals_from_record: they are its means.
    et0_of_record, et0_of_normals: mean of each month [mm/day], None for a month with no day.
    """

    sources: tuple[str, ...]
    notes: tuple[str, ...]
    first: date | None
    last: date | None
    observed_days: int
    gaps: tuple[Gap, ...]
    forecast_to: date | None
    stale_days: int | None
    record: Known | None
    normals: Known | None
    normals_from_record: bool
    et0_of_record: tuple[float | None, ...]
    et0_of_normals: tuple[float | None, ...]


def summarise(climate: Climate, site: Site) -> ClimateSummary:
    """The figures of a climate as of its day."""
    observed = [day for day in climate.days.values() if day.standing is Standing.OBSERVED]
    days = [et_day_of(day, site) for day in sorted(observed, key=lambda day: day.day)]
    normal_skies = _normal_year(climate, site)
    return ClimateSummary(
        sources=climate.sources,
        notes=climate.notes,
        first=days[0].weather.day if days else None,
        last=days[-1].weather.day if days else None,
        observed_days=len(days),
        gaps=tuple(_gaps([et_day.weather.day for et_day in days])),
        forecast_to=climate.forecast_to,
        stale_days=climate.stale_days,
        record=_known(days) if days else None,
        normals=_known(normal_skies) if normal_skies else None,
        normals_from_record=climate.normals is not None and climate.normals.from_record,
        et0_of_record=_by_month(days),
        et0_of_normals=_by_month(normal_skies),
    )


def _normal_year(climate: Climate, site: Site) -> Sequence[EtDay]:
    if climate.normals is None:
        return ()
    days = (date(2027, 1, 1) + DAY * i for i in range(365))
    return [et_day_of(climate.normals.on(day), site) for day in days]


def _gaps(days: Sequence[date]) -> Iterable[Gap]:
    for before, after in pairwise(days):
        if after - before > DAY:
            yield Gap(before + DAY, after - DAY)


def _known(days: Sequence[EtDay]) -> Known:
    measured: Counter[str] = Counter()
    estimated: Counter[str] = Counter()
    for et_day in days:
        measured.update(_measures(et_day.weather.weather))
        measured["rain"] += et_day.weather.rain_mm is not None
        estimated.update(str(estimate) for estimate in et_day.et.estimates)
        estimated[str(et_day.et.method)] += 1
    count = len(days)
    return Known(
        {name: number / count for name, number in measured.items() if number},
        {name: number / count for name, number in estimated.items()},
    )


def _measures(weather: DayWeather) -> Iterable[str]:
    for name, fields in MEASURES.items():
        if any(getattr(weather, field) is not None for field in fields):
            yield name


def _by_month(days: Sequence[EtDay]) -> tuple[float | None, ...]:
    months: dict[int, list[float]] = {month: [] for month in range(1, 13)}
    for et_day in days:
        months[et_day.weather.day.month].append(et_day.et0_mm)
    return tuple(sum(values) / len(values) if values else None for values in months.values())
