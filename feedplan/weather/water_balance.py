"""Water in a root zone from day to day, after FAO Irrigation and Drainage Paper 56, chapters 6 to 8.

Depths are in mm on the surface, or litres in a pot: each function keeps the unit it is given.
Equation numbers are those of Allen, Pereira, Raes, Smith, "Crop evapotranspiration", FAO Irrigation and Drainage
Paper 56, Rome 1998.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


def total_available_mm(field_capacity: float, wilting_point: float, root_depth_m: float) -> float:
    """Water that roots can draw from a depth of soil (Eq. 82) [mm].

    field_capacity, wilting_point: water content [m3/m3]; root_depth_m: [m].
    """
    return 1000 * (field_capacity - wilting_point) * root_depth_m


def readily_available(total_available: float, depletion_share: float) -> float:
    """Part of the available water that is drawn without stress (Eq. 83), in the unit of `total_available`."""
    return depletion_share * total_available


def depletion_share_at(table_share: float, use_mm_per_day: float) -> float:
    """Share of the available water drawn without stress, adjusted for the day's use (p. 162 and Table 22) [0.1 to 0.8].

    table_share: at 5 mm/day [0 to 1]; use_mm_per_day: [mm/day]. A thirsty day stresses earlier.
    """
    return max(0.1, min(0.8, table_share + 0.04 * (5 - use_mm_per_day)))


def stress_factor(depletion: float, total_available: float, depletion_share: float) -> float:
    """How far use falls once the readily available water is gone (Eq. 84) [0 to 1].

    depletion: at the start of the day, in the unit of total_available. Raises ValueError outside 0 to total_available.
    """
    if not 0 <= depletion <= total_available:
        raise ValueError(f"depletion {depletion} is not within 0 to the available {total_available}")
    ready = readily_available(total_available, depletion_share)
    if depletion <= ready:
        return 1.0
    return (total_available - depletion) / (total_available - ready)


@dataclass(frozen=True, slots=True)
class RootZoneDay:
    """A root zone at the end of a day. depletion: water missing since it last drained; drained: what ran out."""

    depletion: float
    drained: float


def next_day(depletion: float, water_in: float, use: float, total_available: float) -> RootZoneDay:
    """The root zone a day later: water comes in the morning, the excess drains, then the day's use is drawn.

    All in one unit. This is the order of Example 38 and of a morning round; Eq. 88 as printed draws the use first and
    ends the day as much as one day's use fuller. Depletion stops at `total_available`: no more can be drawn.
    """
    excess = max(0.0, water_in - depletion)
    refilled = max(0.0, depletion - water_in)
    return RootZoneDay(min(total_available, refilled + use), excess)


def coefficient_on_day(
    day: float, stage_days: Sequence[float], start: float, middle: float, end: float
) -> float:
    """Crop coefficient on a day of the season, straight between stages (Eq. 66) [-].

    day: since the season began [days]; stage_days: lengths of the first stage, growth, full leaf and decline [days].
    start, middle, end: coefficients of the first stage, of full leaf, and at the end of the decline.
    Raises ValueError without four stage lengths or outside the season.
    """
    first, growth, full, decline = stage_days
    if not 0 <= day <= first + growth + full + decline:
        raise ValueError(f"day {day} is outside the season of {first + growth + full + decline} days")
    if day <= first:
        return start
    if day <= first + growth:
        return start + (middle - start) * (day - first) / growth
    if day <= first + growth + full:
        return middle
    return middle + (end - middle) * (day - first - growth - full) / decline
