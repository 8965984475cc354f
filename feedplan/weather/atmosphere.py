"""Air pressure, humidity and wind as FAO Irrigation and Drainage Paper 56 works them out, one day at a time.

[1] Allen, Pereira, Raes, Smith, "Crop evapotranspiration", FAO Irrigation and Drainage Paper 56, Rome 1998.
Equation numbers are those of [1].
"""

from __future__ import annotations

from math import exp, log

ABSOLUTE_ZERO_C = -273.15


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


def vapour_pressure_from_wet_bulb(
    dry_c: float, wet_c: float, pressure_kpa: float, coefficient: float = 0.000662
) -> float:
    """Actual vapour pressure from a dry and a wet bulb (Eqs 15 and 16).

    dry_c, wet_c: [°C]; pressure_kpa: [kPa]; coefficient: of the instrument [1/°C], 0.000662 when ventilated.
    Returns [kPa].
    """
    return saturation_vapour_pressure(wet_c) - coefficient * pressure_kpa * (dry_c - wet_c)


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
