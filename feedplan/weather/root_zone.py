"""How warm the root zone of a pot gets, from the day's air and sun: its mean, which feeds wait for, and its peak.

No published formula turns air and sun into the root zone of a pot; what is published for soil and for differences
between pots is used, and the rest is said to be judgement. A measured root zone always counts before any of it.

[1] Neitsch and others, "Soil and Water Assessment Tool, Theoretical Documentation", Eqs. 2.3.9 and 2.3.10 (read).
[2] Journal of Environmental Horticulture 14(4), 1996, 184-186 (abstract read): pots at a west wall in summer.
[3] Witcher and others 2020, Agronomy 10(4), 484 (abstract read): white and black pots of 11.3 L in Tennessee.
[4] Million and Yeager 2022, HortScience 57(7), 743 (abstract read): pots of fabric and of plastic, 18 L.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import log

ALBEDO: Mapping[str, float] = {"dark": 0.1, "brown": 0.23, "white": 0.6}
"""Share of the sun thrown back by a pot with its mix, by colour [0-1]. 0.23 is grass (FAO-56), taken for clay and for
pots of which no colour is told; the other two are judgement."""

CLEAR_DAY_MJ_PER_M2 = 25.0
"""Radiation of a clear summer day, at which a pot's sunny side is told to rise by so much (judgement)."""
SMALL_RISE_C = 14.0
"""So far above the air the sunny side of a small dark pot gets on such a day (judgement)."""
SMALL_L, LARGE_L, LARGE_COOLER_C = 2.7, 10.3, 5.0
"""Pots of 10.3 L had maxima 5 °C lower than those of 2.7 L [2]."""
PALER_COOLER_C: Mapping[str, float] = {"dark": 0.0, "brown": 3.5, "white": 7.0}
"""White pots had maxima up to 7 °C lower than black ones [3]; brown lies between them (judgement)."""
OPEN_SIDED_COOLER_C = 6.0
"""Fabric pots had maxima 6 °C lower than plastic ones [4]."""


def root_zone_mean_c(
    tmin_c: float, tmax_c: float, solar_mj_per_m2: float, albedo: float, warmer_by_c: float = 0.0
) -> float:
    """Mean of a day in the root zone: that of a bare soil's surface ([1], Eqs. 2.3.9, 2.3.10), and what the place adds.

    tmin_c, tmax_c: of the air [°C]. solar_mj_per_m2: radiation that reaches the pot [MJ/m2 per day]. albedo: share of
    it thrown back [0-1]. warmer_by_c: what a wall, frame or glass adds [°C]. A soil's surface stands in for a pot,
    which follows the air within hours (judgement). Dull days come out colder than the air.
    """
    range_c = tmax_c - tmin_c
    sun = (solar_mj_per_m2 * (1 - albedo) - 14) / 20
    return (tmin_c + tmax_c) / 2 + sun * range_c / 2 + warmer_by_c


def root_zone_peak_c(
    tmax_c: float, solar_mj_per_m2: float, litres: float, colour: str, *, open_sided: bool = False
) -> float:
    """The hottest a root zone gets on its sunny side [°C]: judgement, but for the differences between pots [2, 3, 4].

    tmax_c: of the air [°C]. solar_mj_per_m2: radiation that reaches the pot [MJ/m2 per day]. litres: the pot's volume
    [L]. colour: "dark", "brown" or "white".
    """
    size = min(1.0, max(0.0, log(litres / SMALL_L) / log(LARGE_L / SMALL_L)))
    rise = SMALL_RISE_C - LARGE_COOLER_C * size - PALER_COOLER_C[colour] - OPEN_SIDED_COOLER_C * open_sided
    return tmax_c + max(0.0, rise) * solar_mj_per_m2 / CLEAR_DAY_MJ_PER_M2
