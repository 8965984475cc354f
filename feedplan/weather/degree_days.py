"""Thermal time of a day between its two extremes: degree days above a threshold, hours below one.

A day's temperature is taken as one sine between its minimum and maximum ([1]): on days that cross the threshold the
simple average counts too little, a triangle about the same.
The upper threshold is a horizontal cutoff: warmth above it counts as if the temperature stood at it ([2]).

[1] Baskerville and Emin, "Rapid estimation of heat accumulation from maximum and minimum temperatures", Ecology 50,
    1969, pp. 514-517.
[2] Zalom, Goodell, Wilson, Barnett and Bentley, "Degree-days: the calculation and use of heat units in pest
    management", University of California, 1983.
"""

from __future__ import annotations

from math import asin, cos, pi

HOURS_PER_DAY = 24


def sine_degree_days(tmin: float, tmax: float, lower: float, upper: float | None = None) -> float:
    """Degree days of a day as the area under one sine between its extremes ([1], [2]).

    tmin, tmax, lower, upper: [°], all in one unit. Returns [° day] of that unit. Raises ValueError when a pair is the
    wrong way round.
    """
    _check(tmin, tmax)
    if upper is None:
        return _sine_above(tmin, tmax, lower)
    if not lower < upper:
        raise ValueError(f"upper threshold {upper} is not above the lower one, {lower}")
    return _sine_above(tmin, tmax, lower) - _sine_above(tmin, tmax, upper)


def _check(tmin: float, tmax: float) -> None:
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
    _check(tmin, tmax)
    if tmin >= bound:
        return 0.0
    if tmax < bound:
        return float(HOURS_PER_DAY)
    crossing = asin((bound - (tmin + tmax) / 2) / ((tmax - tmin) / 2))
    return HOURS_PER_DAY * (0.5 + crossing / pi)
