"""Thermal time: degree days of a day, chill, and the date on which a sum is reached.

Temperatures and thresholds share one unit, and so do the results: degree days in °F divide by 1.8 for °C.
The upper threshold is a horizontal cutoff: warmth above it counts as if the temperature stood at it.

[1] McMaster and Wilhelm, "Growing degree-days: one equation, two interpretations", Agricultural and Forest
    Meteorology 87, 1997, pp. 291-300.
[2] Baskerville and Emin, "Rapid estimation of heat accumulation from maximum and minimum temperatures", Ecology 50,
    1969, pp. 514-517.
[3] Zalom, Goodell, Wilson, Barnett and Bentley, "Degree-days: the calculation and use of heat units in pest
    management", University of California, 1983.
[4] Cannell and Smith, "Thermal time, chill days and prediction of budburst in Picea sitchensis", Journal of Applied
    Ecology 20, 1983, pp. 951-963.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from math import asin, cos, exp, pi

HOURS_PER_DAY = 24
FAHRENHEIT_PER_CELSIUS = 1.8


class AverageMethod(StrEnum):
    """The two readings of the simple average ([1]); they part on nights colder than the base.

    MEAN_FIRST (method 1): the mean of the day is compared with the base.
    LIMITS_FIRST (method 2): each extreme is first raised to the base, then the mean is taken.
    """

    MEAN_FIRST = "mean first"
    LIMITS_FIRST = "limits first"


def _check(tmin: float, tmax: float, lower: float, upper: float | None) -> None:
    if not tmin <= tmax:
        raise ValueError(f"minimum {tmin} is above maximum {tmax}")
    if upper is not None and not lower < upper:
        raise ValueError(f"upper threshold {upper} is not above the lower one, {lower}")


def average_degree_days(
    tmin: float,
    tmax: float,
    base: float,
    method: AverageMethod = AverageMethod.MEAN_FIRST,
    upper: float | None = None,
) -> float:
    """Degree days of a day by the simple average ([1]); the upper threshold is treated as the base is.

    tmin, tmax, base, upper: [°]. Returns [° day]. Raises ValueError when a pair is the wrong way round.
    """
    _check(tmin, tmax, base, upper)
    top = float("inf") if upper is None else upper
    if method is AverageMethod.LIMITS_FIRST:
        tmin, tmax = max(base, min(top, tmin)), max(base, min(top, tmax))
    return max(0.0, min(top, (tmin + tmax) / 2) - base)


def degrees_above(mean: float, base: float) -> float:
    """Degree days of a day of which only the mean is known [° day]; mean, base: [°]."""
    return max(0.0, mean - base)


def sine_degree_days(tmin: float, tmax: float, lower: float, upper: float | None = None) -> float:
    """Degree days of a day as the area under one sine between its extremes ([2], [3]).

    tmin, tmax, lower, upper: [°]. Returns [° day]. Raises ValueError when a pair is the wrong way round.
    """
    _check(tmin, tmax, lower, upper)
    return _sine_above(tmin, tmax, lower) - (0.0 if upper is None else _sine_above(tmin, tmax, upper))


def _sine_above(tmin: float, tmax: float, threshold: float) -> float:
    mean, amplitude = (tmin + tmax) / 2, (tmax - tmin) / 2
    if tmin >= threshold:
        return mean - threshold
    if tmax <= threshold:
        return 0.0
    crossing = asin((threshold - mean) / amplitude)
    return ((mean - threshold) * (pi / 2 - crossing) + amplitude * cos(crossing)) / pi


def triangle_degree_days(tmin: float, tmax: float, lower: float, upper: float | None = None) -> float:
    """Degree days of a day as the area under one triangle between its extremes ([3]).

    tmin, tmax, lower, upper: [°]. Returns [° day]. Raises ValueError when a pair is the wrong way round.
    """
    _check(tmin, tmax, lower, upper)
    return _triangle_above(tmin, tmax, lower) - (0.0 if upper is None else _triangle_above(tmin, tmax, upper))


def _triangle_above(tmin: float, tmax: float, threshold: float) -> float:
    if tmin >= threshold:
        return (tmin + tmax) / 2 - threshold
    if tmax <= threshold:
        return 0.0
    return (tmax - threshold) ** 2 / (2 * (tmax - tmin))


def celsius_degree_days(fahrenheit_degree_days: float) -> float:
    """Degree days in °C from degree days in °F; only the size of the degree matters, not its zero."""
    return fahrenheit_degree_days / FAHRENHEIT_PER_CELSIUS


def hours_below(tmin: float, tmax: float, bound: float) -> float:
    """Hours of a day below a temperature, by the sine of [2] [h]. tmin, tmax, bound: [°].

    Chill hours between two bounds are the hours below the upper one less those below the lower one.
    """
    _check(tmin, tmax, bound, None)
    if tmin >= bound:
        return 0.0
    if tmax < bound:
        return float(HOURS_PER_DAY)
    crossing = asin((bound - (tmin + tmax) / 2) / ((tmax - tmin) / 2))
    return HOURS_PER_DAY * (0.5 + crossing / pi)


def chill_days(daily_means: Iterable[float], bound: float = 5.0) -> int:
    """Number of days with a mean at or below a bound ([4] counts days at or below 5 °C). daily_means, bound: [°]."""
    return sum(1 for mean in daily_means if mean <= bound)


@dataclass(frozen=True, slots=True)
class ChillCurve:
    """Thermal time that growth needs, the less the colder the winter was: floor + scale exp(rate x chill days) ([4]).

    floor, scale: [° day]; rate: per chill day, below 0. The values are a species' own: from its records.
    """

    floor: float
    scale: float
    rate: float

    def needed(self, chill: float) -> float:
        """Degree days needed after so many chill days [° day]."""
        return self.floor + self.scale * exp(self.rate * chill)


def date_reached(days: Iterable[tuple[date, float]], needed: float, start: date) -> date | None:
    """First date from `start` on whose sum of degree days reaches `needed`; None when the record ends before.

    days: dates in order with their degree days, none missing from `start` on. needed: [° day], above 0.
    Raises ValueError for a gap in the record: a sum with days left out would name a date too late.
    """
    total, expected = 0.0, start
    for day, degree_days in days:
        if day < start:
            continue
        if day != expected:
            raise ValueError(f"the record has no {expected.isoformat()}; fill the gap or start later")
        total += degree_days
        if total >= needed:
            return day
        expected = day + timedelta(days=1)
    return None
