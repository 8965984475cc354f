"""Daily reference evapotranspiration: Penman-Monteith as FAO-56 prints it, Hargreaves where only temperatures exist.

[1] Allen, Pereira, Raes, Smith, "Crop evapotranspiration", FAO Irrigation and Drainage Paper 56, Rome 1998.
Equation numbers are those of [1].

Choices where [1] and its followers differ, made once for the whole of feedplan:
- Rs/Rso in Eq. 39 has no floor, as [1] prints it (see `meteorology.net_longwave`).
- Soil heat counts as 0, as Eq. 42 has it for single days; normals of a month are asked for day by day too, and a pot
  on a bench has no deep soil under it to warm.
- Wind is not raised to 0.5 m/s ([1] only advises it, p. 63); a missing wind is 2 m/s, as [1] has it.
- Air recorded as moister than saturated gives the negative deficit that Eq. 6 says; ASCE-EWRI software takes 0.
- A negative result (dew) counts as 0.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import sqrt

from feedplan.weather.meteorology import (
    MM_PER_MJ_PER_M2,
    air_pressure,
    clear_sky_radiation,
    mean_saturation_vapour_pressure,
    net_longwave,
    net_shortwave,
    psychrometric_constant,
    radiation_from_sunshine,
    radiation_from_temperature,
    sun_of_the_year,
    vapour_pressure_from_dew_point,
    vapour_pressure_from_humidity,
    vapour_pressure_slope,
    wind_at_2_m,
)

ASSUMED_WIND_M_PER_S = 2.0
"""Wind at 2 m where none is known: the mean of over 2000 stations ([1], p. 63)."""


class Method(StrEnum):
    """Which equation gave a result."""

    PENMAN_MONTEITH = "penman-monteith"
    HARGREAVES = "hargreaves"


class Estimate(StrEnum):
    """What stood in for a missing measurement."""

    HUMIDITY_FROM_TMIN = "humidity from the minimum temperature"
    RADIATION_FROM_SUNSHINE = "radiation from sunshine hours"
    RADIATION_FROM_TEMPERATURE = "radiation from the range of temperature"
    WIND_ASSUMED = "wind taken as 2 m/s"


@dataclass(frozen=True, slots=True)
class Site:
    """Where the weather was measured. latitude_deg: [°, north positive]; elevation_m: [m]."""

    latitude_deg: float
    elevation_m: float = 0.0

    def __post_init__(self) -> None:
        if not -90 <= self.latitude_deg <= 90:
            raise ValueError(f"latitude {self.latitude_deg} is not within -90 to 90 degrees")
        if not -500 <= self.elevation_m <= 9000:
            raise ValueError(f"elevation {self.elevation_m} m is not within -500 to 9000 m")


@dataclass(frozen=True, slots=True)
class DayWeather:
    """What was measured or forecast for one day; only the two temperatures are needed.

    tmin_c, tmax_c, dew_point_c: [°C]. vapour_pressure_kpa: [kPa]. rh_*_percent: relative humidity [%].
    wind_m_per_s: mean of the day [m/s], wind_height_m above the ground [m]; weather services measure at 10 m.
    sunshine_hours: [h]. solar_mj_per_m2: [MJ/m2 per day]. Of humidity and of radiation the better is used:
    vapour pressure, dew point, both relative humidities, the maximum, the mean (a minimum alone says too little
    and is left); radiation before sunshine.
    Raises ValueError for a value that no day can have.
    """

    tmin_c: float
    tmax_c: float
    dew_point_c: float | None = None
    vapour_pressure_kpa: float | None = None
    rh_max_percent: float | None = None
    rh_min_percent: float | None = None
    rh_mean_percent: float | None = None
    wind_m_per_s: float | None = None
    wind_height_m: float = 10.0
    sunshine_hours: float | None = None
    solar_mj_per_m2: float | None = None

    def __post_init__(self) -> None:
        if not -90 <= self.tmin_c <= self.tmax_c <= 60:
            raise ValueError(
                f"{self.tmin_c} to {self.tmax_c} °C is no day's range; write the lower value first"
            )
        if self.dew_point_c is not None and not -100 <= self.dew_point_c <= 60:
            raise ValueError(f"dew point {self.dew_point_c} °C is not within -100 to 60")
        for percent in (self.rh_max_percent, self.rh_min_percent, self.rh_mean_percent):
            if percent is not None and not 0 <= percent <= 100:
                raise ValueError(f"relative humidity {percent} % is not within 0 to 100")
        for amount in (
            self.vapour_pressure_kpa,
            self.wind_m_per_s,
            self.sunshine_hours,
            self.solar_mj_per_m2,
        ):
            if amount is not None and not amount >= 0:
                raise ValueError(f"{amount} is below zero; wind, sun and vapour pressure cannot be")

    @property
    def knows_humidity(self) -> bool:
        """Some measure of the air's moisture is there."""
        return not (
            self.vapour_pressure_kpa is None
            and self.dew_point_c is None
            and self.rh_max_percent is None
            and self.rh_mean_percent is None
        )

    @property
    def is_temperature_only(self) -> bool:
        """Nothing but the two temperatures is known."""
        return (
            self.solar_mj_per_m2 is None
            and self.sunshine_hours is None
            and self.wind_m_per_s is None
            and not self.knows_humidity
        )


@dataclass(frozen=True, slots=True)
class ReferenceEt:
    """Evapotranspiration of well-watered short grass in the open, and how it was come by.

    et0_mm_per_day: [mm/day], never below 0. estimates: what stood in for missing measurements, none for Hargreaves,
    which asks for nothing but temperatures.
    """

    et0_mm_per_day: float
    method: Method
    estimates: tuple[Estimate, ...] = ()


def penman_monteith(
    tmean_c: float,
    net_radiation_mj_per_m2: float,
    vapour_pressure_deficit_kpa: float,
    wind_2_m_per_s: float,
    pressure_kpa: float,
) -> float:
    """Reference evapotranspiration by the FAO Penman-Monteith equation (Eq. 6) [mm/day], negative in dew.

    tmean_c: mean of the two extremes (Eq. 9) [°C]; net_radiation_mj_per_m2: less what the soil takes up, which is 0 on
    single days (Eq. 42) [MJ/m2 per day]; vapour_pressure_deficit_kpa, pressure_kpa: [kPa]; wind_2_m_per_s: 2 m above
    the ground [m/s].
    """
    slope = vapour_pressure_slope(tmean_c)
    gamma = psychrometric_constant(pressure_kpa)
    sun = MM_PER_MJ_PER_M2 * slope * net_radiation_mj_per_m2
    # 273 here and 273.16 in Eq. 39: both as printed.
    air = gamma * 900 / (tmean_c + 273) * wind_2_m_per_s * vapour_pressure_deficit_kpa
    return (sun + air) / (slope + gamma * (1 + 0.34 * wind_2_m_per_s))


def hargreaves(tmin_c: float, tmax_c: float, ra_mj_per_m2: float) -> float:
    """Reference evapotranspiration by the Hargreaves equation (Eq. 52) [mm/day], negative in hard frost.

    tmin_c, tmax_c: [°C]; ra_mj_per_m2: radiation above the air [MJ/m2 per day], turned to mm at the fixed latent
    heat of 2.45 MJ/kg; a latent heat that follows temperature, as some libraries have it, differs by up to 3 %.
    """
    mean_c = (tmin_c + tmax_c) / 2
    return 0.0023 * (mean_c + 17.8) * sqrt(tmax_c - tmin_c) * MM_PER_MJ_PER_M2 * ra_mj_per_m2


def reference_et(weather: DayWeather, site: Site, day_of_year: int) -> ReferenceEt:
    """Reference evapotranspiration of one day from whatever was measured.

    Penman-Monteith with the estimates of [1], chapter 3, for what is missing; Hargreaves where nothing but the two
    temperatures is known. day_of_year: 1 to 366. Raises ValueError for a day outside that.
    """
    if not 1 <= day_of_year <= 366:
        raise ValueError(f"day of year {day_of_year} is not within 1 to 366")
    ra, daylight_h = sun_of_the_year(site.latitude_deg)[day_of_year - 1]
    if weather.is_temperature_only:
        et0 = hargreaves(weather.tmin_c, weather.tmax_c, ra)
        return ReferenceEt(max(0.0, et0), Method.HARGREAVES)
    humidity, vapour_kpa = _vapour_pressure(weather)
    sun, rs = _solar_radiation(weather, site, ra, daylight_h)
    wind, wind_2_m_per_s = _wind(weather)
    rso = clear_sky_radiation(ra, site.elevation_m)
    rnl = net_longwave(weather.tmin_c, weather.tmax_c, vapour_kpa, rs, rso)
    et0 = penman_monteith(
        (weather.tmin_c + weather.tmax_c) / 2,
        net_shortwave(rs) - rnl,
        mean_saturation_vapour_pressure(weather.tmin_c, weather.tmax_c) - vapour_kpa,
        wind_2_m_per_s,
        air_pressure(site.elevation_m),
    )
    return ReferenceEt(max(0.0, et0), Method.PENMAN_MONTEITH, humidity + sun + wind)


def solar_radiation(weather: DayWeather, site: Site, day_of_year: int) -> float:
    """Radiation of one day, measured or estimated from sunshine or temperatures [MJ/m2 per day]."""
    ra, daylight_h = sun_of_the_year(site.latitude_deg)[day_of_year - 1]
    return _solar_radiation(weather, site, ra, daylight_h)[1]


def _vapour_pressure(weather: DayWeather) -> tuple[tuple[Estimate, ...], float]:
    if weather.vapour_pressure_kpa is not None:
        return (), weather.vapour_pressure_kpa
    if weather.dew_point_c is not None:
        return (), vapour_pressure_from_dew_point(weather.dew_point_c)
    kpa = vapour_pressure_from_humidity(
        weather.tmin_c,
        weather.tmax_c,
        max_percent=weather.rh_max_percent,
        min_percent=weather.rh_min_percent,
        mean_percent=weather.rh_mean_percent,
    )
    return () if weather.knows_humidity else (Estimate.HUMIDITY_FROM_TMIN,), kpa


def _solar_radiation(
    weather: DayWeather, site: Site, ra: float, daylight_h: float
) -> tuple[tuple[Estimate, ...], float]:
    if weather.solar_mj_per_m2 is not None:
        return (), weather.solar_mj_per_m2
    if weather.sunshine_hours is not None:
        rs = radiation_from_sunshine(weather.sunshine_hours, daylight_h, ra)
        return (Estimate.RADIATION_FROM_SUNSHINE,), rs
    rs = radiation_from_temperature(weather.tmin_c, weather.tmax_c, ra)
    # [1], p. 60: never more than a clear sky lets through.
    return (Estimate.RADIATION_FROM_TEMPERATURE,), min(rs, clear_sky_radiation(ra, site.elevation_m))


def _wind(weather: DayWeather) -> tuple[tuple[Estimate, ...], float]:
    if weather.wind_m_per_s is None:
        return (Estimate.WIND_ASSUMED,), ASSUMED_WIND_M_PER_S
    if weather.wind_height_m == 2.0:
        return (), weather.wind_m_per_s
    return (), wind_at_2_m(weather.wind_m_per_s, weather.wind_height_m)
