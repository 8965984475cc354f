"""Solid feeds: how fast they give off their nitrogen at a temperature.

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

# What an organic feed gives comes from two stores, a quick and a slow one, each running down by its own rate (two such
# stores fit manures: Hadas and others 1983, Soil Science Society of America Journal 47:1129, and litter: Gordillo and
# Cabrera, both read as abstracts). With 10 °C a store runs down so much faster: 2.0 for the quick one (Gale and
# Gilmour 1986, Journal of Environmental Quality 15:423, abstract read: 0.018, 0.038, 0.049 a day at 11, 18, 25 °C,
# worked out here), 2.27 for the slow one (fitted to Hartz and Johnstone, below).
QUICK_Q10 = 2.0
SLOW_Q10 = 2.27
_TRIED_AT_C = 10.0
# The slow store's rate at 10 °C [per day], fitted here with the meals' two shares.
_SLOW_RATE = 0.004
# An organic feed is spent when so much of what it gives is out [share], at the earliest and at the latest (judgement).
_ORGANIC_SPENT = (0.95, 0.99)

# What lies dry on the surface gives nothing before microbes have taken to it: 2 to 6 weeks is common practice, no
# source and no trial. Told for 15 °C and twice as fast with 10 °C more, 4 weeks are 2 at 25 °C and 6 at 10 °C
# (judgement).
LAG_AT_C = 15.0

Speed = Callable[[float], float]
"""How fast a solid feed gives off its nitrogen at a temperature [°C], 1 at the temperature it is reckoned from."""


def coated_speed(temp_c: float, reference_c: float = 21.0, q10: float = Q10) -> float:
    """How fast a coated feed gives off its feed at a temperature [°C], against its label's time at its reference."""
    return float(q10 ** ((temp_c - reference_c) / 10))


def organic_speed(temp_c: float, q10: float = QUICK_Q10) -> float:
    """How fast a store of an organic feed runs down at a temperature [°C], against 10 °C.

    Below 10 °C it slows in proportion to the temperature and stands still at 0 °C (common practice: little comes
    free below 10 °C; the straight line is judgement).
    """
    if temp_c < _TRIED_AT_C:
        return max(temp_c, 0.0) / _TRIED_AT_C
    return float(q10 ** ((temp_c - _TRIED_AT_C) / 10))


def lag_speed(temp_c: float) -> float:
    """How fast the time passes before a feed on the surface begins to give [°C], against 15 °C; none at 0 °C."""
    return organic_speed(temp_c) / organic_speed(LAG_AT_C)


@dataclass(frozen=True, slots=True)
class Store:
    """One part of what a solid feed gives.

    part: of what is counted of it; the parts add up to more than 1 where not all comes free in a season. speed: its
    pace. out: share of the part that is out after so many days at a speed of 1, or their worth.
    """

    part: float
    speed: Speed
    out: Callable[[float], float]


@dataclass(frozen=True, slots=True)
class Curve:
    """How a solid feed gives off its nitrogen where temperatures are known; no more than all of it.

    spent: each way it may go, with the share that is out when nothing may be left.
    """

    stores: tuple[Store, ...]
    spent: tuple[tuple[tuple[Store, ...], float], ...]

    def share(self, passed: Callable[[Speed], float]) -> float:
        """Share of all it gives that is out [0 to 1]. passed: days at a speed of 1 that have passed, by speed."""
        return share_out(self.stores, passed)


def share_out(stores: tuple[Store, ...], passed: Callable[[Speed], float]) -> float:
    """Share of all that some stores give that is out [0 to 1]. passed: as of a curve."""
    return min(1.0, sum(store.part * store.out(passed(store.speed)) for store in stores))


CurveOfLabel = Callable[[float, float, float], Curve]
"""A curve by a label's shortest and longest time [days] and the temperature they hold for [°C]."""


@lru_cache
def coated_curve(shortest_days: float, longest_days: float, reference_c: float) -> Curve:
    """A coated feed: evenly over its label's time [days] at the label's temperature [°C]."""

    def evenly(days: float, q10: float = Q10) -> tuple[Store, ...]:
        return (Store(1.0, _coated_speed(reference_c, q10), lambda passed: passed / days),)

    ways = tuple((evenly(days, q10), 1.0) for q10 in Q10_RANGE for days in (shortest_days, longest_days))
    return Curve(evenly((shortest_days + longest_days) / 2), ways)


@lru_cache
def _coated_speed(reference_c: float, q10: float) -> Speed:
    """The very same function for the same numbers, so that what was summed up by it can be kept by it."""
    return partial(coated_speed, reference_c=reference_c, q10=q10)


_slow_speed: Speed = partial(organic_speed, q10=SLOW_Q10)


@dataclass(frozen=True, slots=True)
class Organic:
    """A kind of organic feed as trials found it. quick, slow: shares of its N in either store [0 to 1].

    quick_rate: how the quick one runs down at 10 °C [per day]. released: share of its N that comes free in a season, as
    it is counted. days: the length of the trials. lag_days: before it begins to give on the surface, at 15 °C.
    """

    quick: float
    slow: float
    quick_rate: float
    released: Decimal
    days: int
    lag_days: int

    def curve(self, shortest_days: float, longest_days: float, reference_c: float) -> Curve:
        """By the trials, whatever time its label tells: of its N what is counted, and no more."""
        return _tried(self)


@lru_cache
def _tried(kind: Organic) -> Curve:
    all_of_it = float(kind.released)
    stores = (
        Store(kind.quick / all_of_it, organic_speed, lambda days: 1 - exp(-kind.quick_rate * days)),
        Store(kind.slow / all_of_it, _slow_speed, lambda days: 1 - exp(-_SLOW_RATE * days)),
    )
    return Curve(stores, tuple((stores, share) for share in _ORGANIC_SPENT))


# The highest published figure for a season is what is counted of each, so that its nitrogen counts high rather than
# low. Lags are judgement, and a key of each feed.
# Feather, blood, fish, guano: 47 to 60 % of the N in 2 weeks at 10 to 25 °C; after 8 weeks 56 % at 10 °C, 66 at 25
# (Hartz and Johnstone 2006, HortTechnology 16, abstract read). It is worked in or pressed under, so it has no lag.
MEAL = Organic(0.50, 0.30, 0.20, Decimal("0.66"), 56, 0)
# Pressed granules: 35 to 55 % in 84 days at 23 °C (Lazicki and others 2020, Journal of Environmental Quality 49:483);
# alfalfa pellets 41 to 52 % in 12 weeks at 15/10 to 25/20 °C (Agehara and Warncke 2005, Soil Science Society of
# America Journal 69:1844; abstracts read). On the surface: no data.
PELLETS = Organic(0.32, 0.29, 0.20, Decimal("0.52"), 84, 21)
# Cakes of seed meal: more than 30 % in a week, 36 to 44 % in 6 weeks, all at 5 to 20 °C (Li, Schulz and Müller 2014,
# abstract read; faba, soya and lupin meal mixed into soil). On the surface: no data.
CAKE = Organic(0.37, 0.20, 0.55, Decimal("0.44"), 42, 28)
# Manure: 15 to 30 % in 84 days at 23 °C (Lazicki 2020); poultry litter 8 to 37 % in 100 days (Cabrera, SARE LS16-269).
MANURE = Organic(0.17, 0.15, 0.20, Decimal("0.30"), 84, 28)
# Compost: under 5 % in 84 days at 23 °C (Lazicki 2020), 1 to 4 % in 100 days (Cabrera, SARE LS16-269).
COMPOST = Organic(0.01, 0.04, 0.20, Decimal("0.04"), 84, 28)
