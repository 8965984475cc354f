"""Solid feeds: grams for a pot, and how fast they give off their nitrogen at a temperature.

A coated feed's label tells a time at a reference temperature, usually 21 °C, sometimes 25. Coatings differ, and the
mix in a pot in the sun may reach 40 °C (Husby and others 2000, HortScience 35(3):456), so every date that comes out of
this is a range. Organic meals differ more: temperature changes their speed more than what they yield in the end.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache, partial
from math import exp

# Release of coated feeds about doubles with 10 °C (rule of thumb, from memory); tables on labels imply 1.5 to 2.1.
Q10 = 2.0
Q10_RANGE = (1.5, 2.1)

# Share of what an organic meal gives in a season, against days at 25 °C: 1 - exp(-(days / scale) ** shape). Shape,
# scale and speed were fitted here to Hartz and Johnstone 2006 (HortTechnology 16, abstract read), means of four
# high-nitrogen meals: 56 % of the N after 8 weeks at 10 °C, 66 % at 25 °C; 47 to 60 % within 2 weeks at 10 to 25 °C.
# The fit is within 5 points of these. Pellets on a surface are slower than meal in soil (common practice, no source).
_SHAPE, _SCALE_DAYS = 0.569, 2.99
_ORGANIC_REFERENCE_C = 25.0
_SPEED_AT_10_C = 0.226
_ORGANIC_Q10 = (1 / _SPEED_AT_10_C) ** (10 / 15)
# A meal is spent when so much of what it gives is out [share], at the earliest and at the latest (judgement).
_ORGANIC_SPENT = (0.95, 0.99)

Speed = Callable[[float], float]
"""How fast a solid feed gives off its nitrogen at a temperature [°C], 1 at the temperature it is reckoned from."""


def grams_for_pot(
    n_mg_per_l: Decimal, litres: Decimal, percent_n: Decimal, released: Decimal = Decimal(1)
) -> Decimal:
    """Solid feed for one pot [g] that gives so much nitrogen [mg per L of pot].

    percent_n: of its label; released: share of that N which comes free [0 to 1]. Raises ValueError for a feed that
    gives no nitrogen.
    """
    if percent_n <= 0 or released <= 0:
        raise ValueError(
            "a feed that gives no nitrogen sets no dose; use one with N, or give grams per litre"
        )
    return n_mg_per_l * litres / (10 * percent_n * released)


def coated_speed(temp_c: float, reference_c: float = 21.0, q10: float = Q10) -> float:
    """How fast a coated feed gives off its feed at a temperature [°C], against its label's time at its reference."""
    return float(q10 ** ((temp_c - reference_c) / 10))


def coated_days(label_days: float, temp_c: float, reference_c: float = 21.0, q10: float = Q10) -> float:
    """How long a coated feed lasts at one temperature [days], from its label's time at the reference [days, °C]."""
    return label_days / coated_speed(temp_c, reference_c, q10)


def organic_speed(temp_c: float) -> float:
    """How fast an organic meal comes free at a temperature [°C], against 25 °C.

    Below 10 °C it slows in proportion to the temperature and stands still at 0 °C (common practice: little comes
    free below 10 °C; the straight line is judgement).
    """
    if temp_c < 10:
        return _SPEED_AT_10_C * max(temp_c, 0.0) / 10
    return float(_ORGANIC_Q10 ** ((temp_c - _ORGANIC_REFERENCE_C) / 10))


def organic_share(days_at_25_c: float) -> float:
    """Share of what an organic meal gives in a season that is out after some days at 25 °C, or their worth [0 to 1]."""
    return 1.0 if days_at_25_c > 1000 else 1 - exp(-((max(days_at_25_c, 0.0) / _SCALE_DAYS) ** _SHAPE))


@dataclass(frozen=True, slots=True)
class Curve:
    """How a solid feed gives off its nitrogen where temperatures are known.

    speed: its pace. share: of all it gives, what is out after so many days at a speed of 1, or their worth.
    spent: each pace it may have with a number of days at a speed of 1 by which nothing may be left.
    """

    speed: Speed
    share: Callable[[float], float]
    spent: tuple[tuple[Speed, float], ...]


@lru_cache
def coated_curve(shortest_days: float, longest_days: float, reference_c: float) -> Curve:
    """A coated feed: evenly over its label's time [days] at the label's temperature [°C]."""
    middle_days = (shortest_days + longest_days) / 2
    return Curve(
        _coated_speed(reference_c, Q10),
        lambda days: days / middle_days,
        tuple(
            (_coated_speed(reference_c, q10), d) for q10 in Q10_RANGE for d in (shortest_days, longest_days)
        ),
    )


@lru_cache
def _coated_speed(reference_c: float, q10: float) -> Speed:
    """The very same function for the same numbers, so that what was summed up by it can be kept by it."""
    return partial(coated_speed, reference_c=reference_c, q10=q10)


def meal_curve(shortest_days: float, longest_days: float, reference_c: float) -> Curve:
    """An organic meal: by the trials above, whatever time its label tells."""
    return _MEAL


def _days_at_25_c(share: float) -> float:
    """Days at 25 °C after which a meal has given a share of all it gives."""
    return next(float(day) for day in range(1, 1000) if organic_share(day) >= share)


_MEAL = Curve(
    organic_speed, organic_share, tuple((organic_speed, _days_at_25_c(share)) for share in _ORGANIC_SPENT)
)
