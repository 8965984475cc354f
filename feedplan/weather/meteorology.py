"""Air, sun and warmth of one day: pressure, humidity, wind and radiation by FAO-56, degree days and hours of chill.

[1] Allen, Pereira, Raes, Smith, "Crop evapotranspiration", FAO Irrigation and Drainage Paper 56, Rome 1998.
Equation numbers are those of [1]. Latitudes are in degrees, north positive; south needs nothing else changed.
Day 366 of a leap year is taken as it is, in formulas that keep 365, as [1] does.

For thermal time a day's temperature is taken as one sine between its minimum and maximum ([2]): on days that cross the
threshold the simple average counts too little, a triangle about the same. The upper threshold is a horizontal cutoff:
warmth above it counts as if the temperature stood at it ([3]).

[2] Baskerville and Emin, "Rapid estimation of heat accumulation from maximum and minimum temperatures", Ecology 50,
    1969, pp. 514-517.
[3] Zalom, Goodell, Wilson, Barnett and Bentley, "Degree-days: the calculation and use of heat units in pest
    management", University of California, 1983.
"""

from __future__ import annotations

from functools import lru_cache
from math import acos, asin, cos, exp, log, pi, radians, sin, sqrt, tan

ABSOLUTE_ZERO_C = -273.15
HOURS_PER_DAY = 24
SOLAR_CONSTANT_MJ_PER_M2_MIN = 0.0820
STEFAN_BOLTZMANN_MJ_PER_K4_M2_DAY = 4.903e-9
MM_PER_MJ_PER_M2 = 0.408
"""Water evaporated by a radiation of 1 MJ/m2, at the latent heat of 2.45 MJ/kg that [1] keeps fixed (Eq. 20)."""
ALBEDO = 0.23
KRS_INLAND = 0.16
"""Adjustment coefficient of Eq. 50 ([1], p. 60). By the sea [1] has 0.19: there a record with sunshine hours or
radiation tells more than one with temperatures alone."""


def air_pressure(elevation_m: float) -> float:
    """Mean air pressure at an elevation (Eq. 7). elevation_m: [m above sea]. Returns [kPa]."""
    return float(101.3 * ((293 - 0.0065 * elevation_m) / 293) ** 5.26)


def psychrometric_constant(pressure_kpa: float) -> float:
    """Psychrometric constant at an air pressure (Eq. 8). pressure_kpa: [kPa]. Returns [kPa/°C]."""
    return 0.000665 * pressure_kpa


def saturation_vapour_pressure(temp_c: float) -> float:
    """Saturation vapour pressure at an air temperature (Eq. 11).

    temp_c: air temperature [°C], meant for -40 to 60. Returns the pressure [kPa].
    Raises ValueError at or below absolute zero.
    """
    if temp_c <= ABSOLUTE_ZERO_C:
        raise ValueError(f"temperature {temp_c} °C is below absolute zero")
    return 0.6108 * exp(17.27 * temp_c / (temp_c + 237.3))


def mean_saturation_vapour_pressure(tmin_c: float, tmax_c: float) -> float:
    """Mean saturation vapour pressure of a day (Eq. 12), not that of the mean temperature, which is lower.

    tmin_c, tmax_c: the day's extremes [°C]. Returns [kPa].
    """
    return (saturation_vapour_pressure(tmax_c) + saturation_vapour_pressure(tmin_c)) / 2


def vapour_pressure_slope(temp_c: float) -> float:
    """Slope of the saturation vapour pressure curve (Eq. 13). temp_c: [°C]. Returns [kPa/°C]."""
    return 4098 * saturation_vapour_pressure(temp_c) / (temp_c + 237.3) ** 2


def vapour_pressure_from_dew_point(dew_point_c: float) -> float:
    """Actual vapour pressure from the dew point (Eq. 14). dew_point_c: [°C]. Returns [kPa]."""
    return saturation_vapour_pressure(dew_point_c)


def vapour_pressure_from_humidity(
    tmin_c: float,
    tmax_c: float,
    *,
    max_percent: float | None = None,
    min_percent: float | None = None,
    mean_percent: float | None = None,
) -> float:
    """Actual vapour pressure from relative humidity, by the best equation the given values allow.

    Both extremes (Eq. 17), the maximum alone (Eq. 18), the mean alone (Eq. 19), or none: the air is then taken
    as saturated at the day's minimum (Eq. 48), as it is over well-watered ground.
    tmin_c, tmax_c: [°C]; max_percent, min_percent, mean_percent: [%]. Returns [kPa].
    """
    at_min = saturation_vapour_pressure(tmin_c)
    if max_percent is not None and min_percent is not None:
        return (at_min * max_percent + saturation_vapour_pressure(tmax_c) * min_percent) / 200
    if max_percent is not None:
        return at_min * max_percent / 100
    if mean_percent is not None:
        return (at_min + saturation_vapour_pressure(tmax_c)) / 2 * mean_percent / 100
    return at_min


def wind_at_2_m(wind_m_per_s: float, height_m: float) -> float:
    """Wind speed 2 m above the ground from that at another height (Eq. 47).

    wind_m_per_s: [m/s]; height_m: height of the instrument [m], above 0.1. Returns [m/s].
    Raises ValueError where the equation has no meaning.
    """
    if height_m <= 0.1:
        raise ValueError(f"wind height {height_m} m is too low for Eq. 47; it must be above 0.1 m")
    return wind_m_per_s * 4.87 / log(67.8 * height_m - 5.42)


def sun_distance_factor(day_of_year: int) -> float:
    """Inverse relative distance from earth to sun (Eq. 23) [-]."""
    return 1 + 0.033 * cos(2 * pi * day_of_year / 365)


def sun_declination(day_of_year: int) -> float:
    """Solar declination (Eq. 24) [rad]."""
    return 0.409 * sin(2 * pi * day_of_year / 365 - 1.39)


def sunset_angle(latitude_deg: float, day_of_year: int) -> float:
    """Sunset hour angle (Eq. 25) [rad], 0 in the polar night and pi in the polar day.

    [1] avoids the arccos by Eqs 26 and 27; clamping its argument to -1..1 gives the same days and the right polar
    ones. [1] itself (p. 47) calls the equations less valid beyond 55° in winter.
    Raises ValueError for a latitude outside -90..90 or a day outside 1..366.
    """
    if not -90 <= latitude_deg <= 90:
        raise ValueError(f"latitude {latitude_deg} is not within -90 to 90 degrees")
    if not 1 <= day_of_year <= 366:
        raise ValueError(f"day of year {day_of_year} is not within 1 to 366")
    cosine = -tan(radians(latitude_deg)) * tan(sun_declination(day_of_year))
    return acos(max(-1.0, min(1.0, cosine)))


def daylight_hours(latitude_deg: float, day_of_year: int) -> float:
    """Hours from sunrise to sunset (Eq. 34) [h]."""
    return 24 / pi * sunset_angle(latitude_deg, day_of_year)


def extraterrestrial_radiation(latitude_deg: float, day_of_year: int) -> float:
    """Radiation on a level surface above the air (Eq. 21) [MJ/m2 per day]; 0 in the polar night."""
    angle = sunset_angle(latitude_deg, day_of_year)
    latitude, declination = radians(latitude_deg), sun_declination(day_of_year)
    height = angle * sin(latitude) * sin(declination) + cos(latitude) * cos(declination) * sin(angle)
    minutes_and_constant = 24 * 60 / pi * SOLAR_CONSTANT_MJ_PER_M2_MIN
    return max(0.0, minutes_and_constant * sun_distance_factor(day_of_year) * height)


@lru_cache(maxsize=64)
def sun_of_the_year(latitude_deg: float) -> tuple[tuple[float, float], ...]:
    """Extraterrestrial radiation [MJ/m2 per day] and daylight [h] of days 1 to 366, in that order.

    Kept per latitude: a plan asks for the same 366 days again and again.
    """
    return tuple(
        (extraterrestrial_radiation(latitude_deg, day), daylight_hours(latitude_deg, day))
        for day in range(1, 367)
    )


def clear_sky_radiation(ra_mj_per_m2: float, elevation_m: float) -> float:
    """Radiation under a clear sky (Eq. 37) [MJ/m2 per day] from that above the air [MJ/m2 per day]."""
    return (0.75 + 2e-5 * elevation_m) * ra_mj_per_m2


def radiation_from_sunshine(sunshine_hours: float, daylight_h: float, ra_mj_per_m2: float) -> float:
    """Solar radiation from hours of bright sunshine (Eq. 35, a 0.25 and b 0.50) [MJ/m2 per day].

    sunshine_hours, daylight_h: [h]; a record longer than the day counts as the whole day.
    ra_mj_per_m2: radiation above the air [MJ/m2 per day]. In the polar night it is 0 whatever the record says.
    """
    share = min(1.0, sunshine_hours / daylight_h) if daylight_h > 0 else 0.0
    return (0.25 + 0.50 * share) * ra_mj_per_m2


def radiation_from_temperature(tmin_c: float, tmax_c: float, ra_mj_per_m2: float) -> float:
    """Solar radiation from the day's range of temperature (Eq. 50), before the clear-sky cap [MJ/m2 per day].

    tmin_c, tmax_c: [°C]; ra_mj_per_m2: [MJ/m2 per day]. Clear skies make warm days and cold nights.
    """
    return KRS_INLAND * sqrt(max(0.0, tmax_c - tmin_c)) * ra_mj_per_m2


def net_shortwave(rs_mj_per_m2: float) -> float:
    """Radiation kept by a surface of albedo 0.23 (Eq. 38) [MJ/m2 per day]."""
    return (1 - ALBEDO) * rs_mj_per_m2


def black_body_radiation(temp_c: float) -> float:
    """What a black body radiates (Stefan and Boltzmann, with 273.16 as Eq. 39 has it) [MJ/m2 per day]."""
    kelvin_squared = (temp_c + 273.16) ** 2
    return STEFAN_BOLTZMANN_MJ_PER_K4_M2_DAY * kelvin_squared * kelvin_squared


def net_longwave(
    tmin_c: float,
    tmax_c: float,
    vapour_pressure_kpa: float,
    rs_mj_per_m2: float,
    rso_mj_per_m2: float,
) -> float:
    """Net outgoing longwave radiation (Eq. 39) [MJ/m2 per day].

    tmin_c, tmax_c: [°C]; vapour_pressure_kpa: [kPa]; rs_mj_per_m2, rso_mj_per_m2: solar radiation, as it was and
    under a clear sky [MJ/m2 per day]. Their ratio is capped at 1 and counts as 1 where no sun rises. It has no floor,
    as [1] prints it; ASCE-EWRI 2005, "The ASCE standardized reference evapotranspiration equation", Eq. 18, floors it
    at 0.3, which lowers the evapotranspiration of very dark days by up to 0.4 mm. As printed asks for more water on
    such a day, and a check too many is the safer side.
    """
    clearness = min(1.0, rs_mj_per_m2 / rso_mj_per_m2) if rso_mj_per_m2 > 0 else 1.0
    emitted = (black_body_radiation(tmax_c) + black_body_radiation(tmin_c)) / 2
    return emitted * (0.34 - 0.14 * sqrt(vapour_pressure_kpa)) * (1.35 * clearness - 0.35)


def sine_degree_days(tmin: float, tmax: float, lower: float, upper: float | None = None) -> float:
    """Degree days of a day as the area under one sine between its extremes ([2], [3]).

    tmin, tmax, lower, upper: [°], all in one unit. Returns [° day] of that unit. Raises ValueError when a pair is the
    wrong way round.
    """
    _check_extremes(tmin, tmax)
    if upper is None:
        return _sine_above(tmin, tmax, lower)
    if not lower < upper:
        raise ValueError(f"upper threshold {upper} is not above the lower one, {lower}")
    return _sine_above(tmin, tmax, lower) - _sine_above(tmin, tmax, upper)


def _check_extremes(tmin: float, tmax: float) -> None:
    if not tmin <= tmax:
        raise ValueError(f"minimum {tmin} is above maximum {tmax}")


def _sine_above(tmin: float, tmax: float, threshold: float) -> float:
    mean, amplitude = (tmin + tmax) / 2, (tmax - tmin) / 2
    if tmin >= threshold:
        return mean - threshold
    if tmax <= threshold:
        return 0.0
    crossing = asin((threshold - mean) / amplitude)
    return ((mean - threshold) * (pi / 2 - crossing) + amplitude * cos(crossing)) / pi


def hours_below(tmin: float, tmax: float, bound: float) -> float:
    """Hours of a day below a temperature, by the same sine [h]. tmin, tmax, bound: [°].

    Chill hours between two bounds are the hours below the upper one less those below the lower one.
    """
    _check_extremes(tmin, tmax)
    if tmin >= bound:
        return 0.0
    if tmax < bound:
        return float(HOURS_PER_DAY)
    crossing = asin((bound - (tmin + tmax) / 2) / ((tmax - tmin) / 2))
    return HOURS_PER_DAY * (0.5 + crossing / pi)
