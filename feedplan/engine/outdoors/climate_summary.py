"""What the climate folder holds: its span and gaps, what was measured and what is estimated, and the year's thirst."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from feedplan.engine.outdoors.skies import SkyDay, sky_day
from feedplan.model.climate import Climate, Standing
from feedplan.weather.evapotranspiration import DayWeather, Site

DAY = timedelta(days=1)

MEASURES: Mapping[str, tuple[str, ...]] = {
    "humidity": ("vapour_pressure_kpa", "dew_point_c", "rh_max_percent", "rh_mean_percent"),
    "wind": ("wind_m_per_s",),
    "radiation": ("solar_mj_per_m2",),
    "sunshine": ("sunshine_hours",),
}


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
    skies = [sky_day(day, site) for day in sorted(observed, key=lambda day: day.day)]
    normal_skies = _normal_year(climate, site)
    return ClimateSummary(
        sources=climate.sources,
        notes=climate.notes,
        first=skies[0].weather.day if skies else None,
        last=skies[-1].weather.day if skies else None,
        observed_days=len(skies),
        gaps=tuple(_gaps([sky.weather.day for sky in skies])),
        forecast_to=climate.forecast_to,
        stale_days=climate.stale_days,
        record=_known(skies) if skies else None,
        normals=_known(normal_skies) if normal_skies else None,
        normals_from_record=climate.normals is not None and climate.normals.from_record,
        et0_of_record=_by_month(skies),
        et0_of_normals=_by_month(normal_skies),
    )


def _normal_year(climate: Climate, site: Site) -> Sequence[SkyDay]:
    if climate.normals is None:
        return ()
    days = (date(2027, 1, 1) + DAY * i for i in range(365))
    return [sky_day(climate.normals.on(day), site) for day in days]


def _gaps(days: Sequence[date]) -> Iterable[Gap]:
    for before, after in pairwise(days):
        if after - before > DAY:
            yield Gap(before + DAY, after - DAY)


def _known(skies: Sequence[SkyDay]) -> Known:
    measured: Counter[str] = Counter()
    estimated: Counter[str] = Counter()
    for sky in skies:
        measured.update(_measures(sky.weather.weather))
        measured["rain"] += sky.weather.rain_mm is not None
        estimated.update(str(estimate) for estimate in sky.et.estimates)
        estimated[str(sky.et.method)] += 1
    count = len(skies)
    return Known(
        {name: number / count for name, number in measured.items() if number},
        {name: number / count for name, number in estimated.items()},
    )


def _measures(weather: DayWeather) -> Iterable[str]:
    for name, fields in MEASURES.items():
        if any(getattr(weather, field) is not None for field in fields):
            yield name


def _by_month(skies: Sequence[SkyDay]) -> tuple[float | None, ...]:
    months: dict[int, list[float]] = {month: [] for month in range(1, 13)}
    for sky in skies:
        months[sky.weather.day.month].append(sky.et0_mm)
    return tuple(sum(values) / len(values) if values else None for values in months.values())
