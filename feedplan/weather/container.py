"""A pot's size, the water its tree uses in a day, and how often that calls for a look at the pot.

The answer ranks pots by thirst. It never takes a check away in growth, and it orders checks, not watering: rain,
wind around a corner and a tree's health are not in it.

Litres and millimetres meet on an area: 1 mm on 1 m2 is 1 L. Factors are defaults, each with how it is known; most are
growers' practice or judgement, since published coefficients of container trees run from 1.0 to 4.7 on the area of the
pot (Schuch and Burger, 12 woody species, abstract read): the canopy overhangs the pot. So the larger of pot top and
canopy counts as exposed. A coefficient of low evapotranspiration is unreliable too; bare substrate sets a floor.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from math import floor, pi

from feedplan.weather.substrate import Known

CM2_PER_M2 = 10_000
CM3_PER_L = 1000


class Shape(StrEnum):
    """Outline of a pot seen from above."""

    RECTANGLE = "rectangle"
    OVAL = "oval"
    ROUND = "round"


OUTLINE_SHARE: Mapping[Shape, float] = {Shape.RECTANGLE: 1.0, Shape.OVAL: pi / 4, Shape.ROUND: pi / 4}
"""Area of the outline over that of the rectangle around it."""

GUESSED_TAPER = 0.8
GUESSED_DEPTH_OVER_WIDTH = 0.9
"""A pot told only by its litres is taken as round, 0.9 times as deep as wide and 0.8 times as wide at the floor
(judgement; its top comes within 15 % of a published 11.4 L nursery container and of a 10 L, 28 cm pond basket)."""


@dataclass(frozen=True, slots=True)
class PotSize:
    """Inside of a pot, filled with substrate. volume_l: [L]; top_m2: [m2]; depth_cm: [cm].

    taper: width of the floor over that of the top, 1 for straight walls. guessed: which of "depth", "top" and "taper"
    were not told.
    """

    volume_l: float
    top_m2: float
    depth_cm: float
    taper: float = 1.0
    guessed: frozenset[str] = frozenset()


def _taper_share(taper: float) -> float:
    """Volume of a tapering pot over that of a straight one with the same top (frustum)."""
    return (1 + taper + taper * taper) / 3


def size_from_dimensions(
    shape: Shape, length_cm: float, width_cm: float, depth_cm: float, taper: float = 1.0
) -> PotSize:
    """Size of a pot from its inside length, width and depth [cm]; for a round one length and width are its diameter.

    taper: width of the floor over that of the top [above 0, up to 2]. Raises ValueError for a size of 0 or less.
    """
    if min(length_cm, width_cm, depth_cm) <= 0 or not 0 < taper <= 2:
        raise ValueError(
            f"{length_cm} x {width_cm} x {depth_cm} cm, taper {taper}, is no pot; use sizes above 0"
        )
    top_cm2 = OUTLINE_SHARE[shape] * length_cm * width_cm
    return PotSize(
        top_cm2 * depth_cm * _taper_share(taper) / CM3_PER_L, top_cm2 / CM2_PER_M2, depth_cm, taper
    )


def size_from_litres(
    volume_l: float, *, depth_cm: float | None = None, top_cm2: float | None = None
) -> PotSize:
    """Size of a pot of so many litres; what is not told of depth [cm] and top [cm2] follows or is guessed.

    Raises ValueError for a size of 0 or less.
    """
    if min(size for size in (volume_l, depth_cm, top_cm2) if size is not None) <= 0:
        raise ValueError(
            f"a pot of {volume_l} L, {depth_cm} cm deep, top {top_cm2} cm2, is no pot; use sizes above 0"
        )
    volume_cm3 = volume_l * CM3_PER_L
    if depth_cm is not None and top_cm2 is not None:
        return PotSize(volume_l, top_cm2 / CM2_PER_M2, depth_cm)
    share = _taper_share(GUESSED_TAPER)
    if top_cm2 is not None:
        return PotSize(
            volume_l,
            top_cm2 / CM2_PER_M2,
            volume_cm3 / (top_cm2 * share),
            GUESSED_TAPER,
            frozenset({"depth", "taper"}),
        )
    if depth_cm is not None:
        top_m2 = volume_cm3 / (depth_cm * share) / CM2_PER_M2
        return PotSize(volume_l, top_m2, depth_cm, GUESSED_TAPER, frozenset({"top", "taper"}))
    width_cm = (volume_cm3 / (OUTLINE_SHARE[Shape.ROUND] * GUESSED_DEPTH_OVER_WIDTH * share)) ** (1 / 3)
    top_m2 = OUTLINE_SHARE[Shape.ROUND] * width_cm * width_cm / CM2_PER_M2
    guessed = frozenset({"depth", "top", "taper"})
    return PotSize(volume_l, top_m2, GUESSED_DEPTH_OVER_WIDTH * width_cm, GUESSED_TAPER, guessed)


def litres_on(depth_mm: float, area_m2: float) -> float:
    """Litres in a depth of water on an area [L]; depth_mm: [mm], area_m2: [m2]."""
    return depth_mm * area_m2


def millimetres_on(volume_l: float, area_m2: float) -> float:
    """Depth of so many litres on an area [mm]; volume_l: [L], area_m2: [m2]."""
    return volume_l / area_m2


@dataclass(frozen=True, slots=True)
class Default:
    """A number a grower may replace. value: [-]; known: how it is known; source: where from, or what it means."""

    value: float
    known: Known
    source: str


LEAF_FACTORS: Mapping[str, Default] = {
    "leafless": Default(0.3, Known.JUDGEMENT, "bare twigs over moist substrate"),
    "opening": Default(0.6, Known.JUDGEMENT, "first leaves unfolding"),
    "growing": Default(1.0, Known.JUDGEMENT, "first flush extending, or hardening off; practice 1.0 to 1.5"),
    "full leaf": Default(1.2, Known.JUDGEMENT, "full, hardened canopy; practice 1.0 to 1.5"),
    "evergreen at rest": Default(0.5, Known.JUDGEMENT, "needles or leaves kept through the cold season"),
    "defoliated": Default(0.5, Known.JUDGEMENT, "practice 0.4 to 0.6 of full use"),
}
POSITION_FACTORS: Mapping[str, Default] = {
    "open": Default(1.0, Known.PUBLISHED, "reference evapotranspiration is that of open ground (FAO-56)"),
    "half shade": Default(0.7, Known.JUDGEMENT, "30 to 50 % shade; practice 0.6 to 0.75"),
    "windy": Default(1.2, Known.JUDGEMENT, "windier than the weather station"),
}
WALL_FACTORS: Mapping[str, Default] = {
    "closed": Default(1.0, Known.JUDGEMENT, "glazed or plastic walls"),
    "open": Default(1.3, Known.JUDGEMENT, "pond basket, colander, mesh; practice 1.2 to 1.5"),
}
ROOT_FACTORS: Mapping[str, Default] = {
    "whole": Default(1.0, Known.JUDGEMENT, "undisturbed"),
    "light": Default(0.85, Known.JUDGEMENT, "a few roots cut"),
    "moderate": Default(0.7, Known.JUDGEMENT, "between light and severe"),
    "severe": Default(0.5, Known.JUDGEMENT, "practice 0.4 to 0.6"),
}
BARE_SHARE = Default(0.3, Known.JUDGEMENT, "of reference evapotranspiration, from the top of the pot")
BARE_LEAST_MM_PER_DAY = Default(0.2, Known.JUDGEMENT, "even in still, dark weather, from the top of the pot")
MOST_ON_CANOPY = Default(1.3, Known.PUBLISHED, "upper bound of crop coefficients, FAO-56 Eq. 72, p. 143")

ALLOWED_DEPLETION: Mapping[str, Default] = {
    "shallow": Default(0.30, Known.JUDGEMENT, "to 6 cm deep: swings fast both ways"),
    "normal": Default(0.45, Known.JUDGEMENT, "practice 0.4 to 0.5"),
    "weak": Default(0.50, Known.JUDGEMENT, "few roots: let the surface dry between"),
    "dormant": Default(0.60, Known.JUDGEMENT, "moist, never sodden, never bone dry"),
}
"""Share of the available water that may go before a check is due. FAO-56, Table 22, p. 165, has 0.7 for conifers and
0.5 for most fruit trees in deep field soil: upper bounds for a pot."""
SHALLOW_TO_CM = 6.0


def allowed_depletion(depth_cm: float, *, weak: bool = False, dormant: bool = False) -> float:
    """Share of a pot's available water that may go before its check [0 to 1]; depth_cm: of the substrate [cm]."""
    if dormant:
        return ALLOWED_DEPLETION["dormant"].value
    if weak:
        return ALLOWED_DEPLETION["weak"].value
    return ALLOWED_DEPLETION["shallow" if depth_cm <= SHALLOW_TO_CM else "normal"].value


def daily_use_l(
    et0_mm_per_day: float,
    pot_top_m2: float,
    *,
    canopy_m2: float = 0.0,
    leaf: float = 1.0,
    position: float = 1.0,
    wall: float = 1.0,
    roots: float = 1.0,
) -> float:
    """Water that leaves a pot in a day by leaf and surface [L].

    et0_mm_per_day: reference evapotranspiration [mm/day]; pot_top_m2, canopy_m2: seen from above [m2], the larger
    counts, and where it is the canopy `leaf` is held to 1.3. leaf, position, wall, roots: factors [-]. Bare substrate
    sets a floor, which neither cut roots nor missing leaves lower. Raises ValueError for a negative value.
    """
    if min(et0_mm_per_day, pot_top_m2, canopy_m2, leaf, position, wall, roots) < 0:
        raise ValueError("evapotranspiration, areas and factors must not be negative")
    if canopy_m2 > pot_top_m2:
        leaf = min(leaf, MOST_ON_CANOPY.value)
    exposed_m2 = max(pot_top_m2, canopy_m2)
    by_tree = litres_on(et0_mm_per_day * leaf * position * roots * wall, exposed_m2)
    bare_mm = max(BARE_SHARE.value * et0_mm_per_day * position, BARE_LEAST_MM_PER_DAY.value)
    return max(by_tree, litres_on(bare_mm * wall, pot_top_m2))


MOST_CHECKS_PER_DAY = 3
MOST_DAYS_BETWEEN_CHECKS = 7
"""Common practice, no source: three looks a day in heat, one a week in winter."""
_SLACK = 0.05
"""A twentieth more or less is within what the inputs can tell: 1.92 days count as two (judgement)."""


@dataclass(frozen=True, slots=True)
class CheckRate:
    """How often to look at a pot: `per_day` times on every `every_days`-th day; one of the two is 1."""

    per_day: int
    every_days: int

    @property
    def per_week(self) -> float:
        """Looks a week."""
        return 7 * self.per_day / self.every_days


def days_until_check(available_l: float, allowed_share: float, use_l_per_day: float) -> float:
    """Days in which a watered pot dries to its allowed depletion [days], infinite when nothing is used.

    available_l: water the tree can draw from the drained pot [L]; allowed_share: [0 to 1];
    use_l_per_day: [L/day].
    """
    return allowed_share * available_l / use_l_per_day if use_l_per_day > 0 else float("inf")


def check_rate(days: float) -> CheckRate:
    """How often to check a pot that dries in so many days: at most three times a day, at least once a week.

    days: from `days_until_check` [days], 0 or more.
    """
    stretched = days * (1 + _SLACK)
    if stretched >= 1:
        return CheckRate(1, floor(min(MOST_DAYS_BETWEEN_CHECKS, stretched)))
    enough = (times for times in range(2, MOST_CHECKS_PER_DAY) if times * stretched >= 1)
    return CheckRate(next(enough, MOST_CHECKS_PER_DAY), 1)
