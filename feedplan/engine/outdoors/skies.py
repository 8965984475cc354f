"""Reference evapotranspiration of every day a plan looks at: by normals for any day, by the record for its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property, lru_cache

from feedplan.engine.growing_year import DAY
from feedplan.engine.holds.heat import heat_waves
from feedplan.model.climate import Climate, ClimateDay, Normals, Standing
from feedplan.model.collection import Place
from feedplan.model.hold import HeatBounds
from feedplan.weather.evapotranspiration import ReferenceEt, Site, reference_et


def site_of(place: Place) -> Site:
    """The place as the equations of evapotranspiration want it."""
    return Site(float(place.latitude), float(place.elevation_m))


@dataclass(frozen=True, slots=True)
class SkyDay:
    """One day's weather and its reference evapotranspiration. in_heat_wave: one lasts, though the day may be cooler."""

    weather: ClimateDay
    et: ReferenceEt
    in_heat_wave: bool = False

    @property
    def et0_mm(self) -> float:
        """Reference evapotranspiration [mm/day]."""
        return self.et.et0_mm_per_day


def sky_day(weather: ClimateDay, site: Site) -> SkyDay:
    """A day's weather with its reference evapotranspiration; 29 February and all later days of a leap year count on."""
    return SkyDay(weather, reference_et(weather.weather, site, weather.day.timetuple().tm_yday))


@lru_cache(maxsize=16)
def normal_et0(normals: Normals, site: Site) -> tuple[float, ...]:
    """Reference evapotranspiration of the 366 days of a leap year by normals [mm/day]."""
    days = (date(2024, 1, 1) + timedelta(days=place) for place in range(366))
    return tuple(sky_day(normals.on(day), site).et0_mm for day in days)


class Skies:
    """The weather of a plan's days over one place. climate: as of the plan's day."""

    def __init__(self, climate: Climate, place: Place) -> None:
        self.climate = climate
        self.site = site_of(place)
        self._days: dict[date, SkyDay | None] = {}
        self._year: Sequence[float] | None = None

    @property
    def has_normals(self) -> bool:
        """Whether every day of the year is known by normals."""
        return self.climate.normals is not None

    def normal_et0(self, first: date, count: int) -> Sequence[float]:
        """Reference evapotranspiration by normals of so many days from `first` on [mm/day]. Needs normals."""
        if self._year is None:
            assert self.climate.normals is not None
            self._year = normal_et0(self.climate.normals, self.site)
        return [self._year[_place(first + timedelta(days=i))] for i in range(count)]

    def on(self, day: date) -> SkyDay | None:
        """A day as best known: observed, forecast unless that is stale, normal; None when nothing is known."""
        if day not in self._days:
            weather = self.climate.weather_on(day)
            if weather is not None and weather.standing is Standing.FORECAST and self.climate.is_stale:
                weather = self.climate.normals.on(day) if self.climate.normals is not None else None
            sky = None if weather is None else sky_day(weather, self.site)
            self._days[day] = (
                sky if sky is None or day not in self._hot_days else replace(sky, in_heat_wave=True)
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

    def recorded(self, first: date, last: date) -> Sequence[SkyDay]:
        """The days from `first` to `last` that are observed or forecast, in order."""
        days = (first + timedelta(days=i) for i in range((last - first).days + 1))
        found = (self.on(day) for day in days if day in self.climate.days)
        return [sky for sky in found if sky is not None and sky.weather.standing is not Standing.NORMAL]


def _place(day: date) -> int:
    """The place of a calendar day among the 366 of a leap year, from 0."""
    return (day - date(day.year, 1, 1)).days + (1 if day.month > 2 and not _is_leap(day.year) else 0)


def _is_leap(year: int) -> bool:
    return year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)
