"""A pot's size, the water its tree uses in a day, and what may go before it must be looked at.

The answer ranks pots by thirst. It never takes a check away in growth, and it orders checks, not watering: rain,
wind around a corner and a tree's health are not in it.

Litres and millimetres meet on an area: 1 mm on 1 m2 is 1 L. Most factors are growers' practice or judgement, since
published coefficients of container trees run from 1.0 to 4.7 on the area of the pot (Schuch and Burger, 12 woody
species, abstract read): the canopy overhangs the pot. So the larger of pot top and canopy counts as exposed. A
coefficient of low evapotranspiration is unreliable too; bare substrate sets a floor.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from math import inf, pi

CM2_PER_M2 = 10_000
CM3_PER_L = 1000

GUESSED_TAPER = 0.8
GUESSED_DEPTH_OVER_WIDTH = 0.9
"""A pot told only by its litres is taken as round, 0.9 times as deep as wide and 0.8 times as wide at the floor
(judgement; its top comes within 15 % of a published 11.4 L nursery container and of a 10 L, 28 cm pond basket)."""


@dataclass(frozen=True, slots=True)
class PotSize:
    """Inside of a pot, filled with substrate. volume_l: [L]; top_m2: [m2]; depth_cm: [cm].

    taper: width of the floor over that of the top, 1 for straight walls.
    """

    volume_l: float
    top_m2: float
    depth_cm: float
    taper: float = 1.0


def _taper_share(taper: float) -> float:
    """Volume of a tapering pot over that of a straight one with the same top (frustum)."""
    return (1 + taper + taper * taper) / 3


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
        return PotSize(volume_l, top_cm2 / CM2_PER_M2, volume_cm3 / (top_cm2 * share), GUESSED_TAPER)
    if depth_cm is not None:
        return PotSize(volume_l, volume_cm3 / (depth_cm * share) / CM2_PER_M2, depth_cm, GUESSED_TAPER)
    width_cm = (volume_cm3 / (pi / 4 * GUESSED_DEPTH_OVER_WIDTH * share)) ** (1 / 3)
    top_m2 = pi / 4 * width_cm * width_cm / CM2_PER_M2
    return PotSize(volume_l, top_m2, GUESSED_DEPTH_OVER_WIDTH * width_cm, GUESSED_TAPER)


def litres_on(depth_mm: float, area_m2: float) -> float:
    """Litres in a depth of water on an area [L]; depth_mm: [mm], area_m2: [m2]."""
    return depth_mm * area_m2


OPEN_WALLS = 1.3
"""Factor on the use of a pond basket, colander or mesh: practice 1.2 to 1.5 (judgement). Glazed or plastic walls: 1."""

BARE_SHARE = 0.6
BARE_LEAST_MM_PER_DAY = 0.2
"""What bare substrate loses from the top of the pot, of reference evapotranspiration, and even in still, dark weather
[mm/day] (the latter judgement). The share is that of a shaded 11.4 L pot of bare bark mix, 0.16 L or 3.1 mm a day
(Beeson, HortScience 45, 2010, p. 1260, abstract read), at some 5 mm a day of Florida's season; FAO-56, table 19, p. 117
and p. 144, goes to 1.0 to 1.2 for soil that is always wet. Roots cut or leaves gone do not lower it, so a bare tree is
never left out of the round."""

MOST_ON_CANOPY = 1.3
"""Upper bound of crop coefficients on the area that is really exposed (FAO-56 Eq. 72, p. 143)."""


@dataclass(frozen=True, slots=True)
class PotUse:
    """How fast water leaves a pot, as a few numbers, so that many pots can be walked through years at little cost.

    drawn_l_per_mm: through the leaves, at a share of 1; bare_l_per_mm: from bare substrate; both for each millimetre of
    reference evapotranspiration [L/mm]. least_l: what leaves it on any day [L]. most_share: the tree's share of
    reference evapotranspiration is held to this; endless where the crown is not wider than the pot.
    """

    drawn_l_per_mm: float
    bare_l_per_mm: float
    least_l: float
    most_share: float = inf

    def on(self, et0_mm: float, share: float, roots: float = 1.0) -> float:
        """Water that leaves it in a day by leaf and surface [L].

        et0_mm: reference evapotranspiration [mm/day]; share: of it that the tree draws at its stage [-]; roots: what
        cut roots leave of that [0 to 1].
        """
        return self.over((et0_mm,), (share,), roots)[0]

    def over(self, et0_mm: Iterable[float], share: Iterable[float], roots: float = 1.0) -> list[float]:
        """The same on each of some days [L]."""
        drawn, bare, least, most = (
            self.drawn_l_per_mm * roots,
            self.bare_l_per_mm,
            self.least_l,
            self.most_share,
        )
        return [
            max(drawn * et0 * min(each, most), bare * et0, least)
            for et0, each in zip(et0_mm, share, strict=True)
        ]

    def counted_in(self, litres: float) -> PotUse:
        """The same use told not in litres but in so many of them, such as what may go before a look."""
        return PotUse(
            self.drawn_l_per_mm / litres, self.bare_l_per_mm / litres, self.least_l / litres, self.most_share
        )


@lru_cache(maxsize=16384)
def pot_use(top_m2: float, canopy_m2: float = 0.0, *, position: float = 1.0, walls: float = 1.0) -> PotUse:
    """How fast water leaves a pot in its place.

    top_m2, canopy_m2: seen from above [m2]; the larger counts, and where it is the canopy the tree's share is held to
    1.3. position, walls: factors on the use for bench and pot [-]. Raises ValueError for a negative value.
    """
    if min(top_m2, canopy_m2, position, walls) < 0:
        raise ValueError("areas and factors must not be negative")
    return PotUse(
        drawn_l_per_mm=litres_on(1, max(top_m2, canopy_m2)) * position * walls,
        bare_l_per_mm=litres_on(BARE_SHARE, top_m2) * position * walls,
        least_l=litres_on(BARE_LEAST_MM_PER_DAY, top_m2) * walls,
        most_share=MOST_ON_CANOPY if canopy_m2 > top_m2 else inf,
    )


SHALLOW_TO_CM = 6.0
_DEPLETION_SHALLOW, _DEPLETION_USUAL, _DEPLETION_AT_REST = 0.30, 0.45, 0.60


def allowed_depletion(depth_cm: float, *, dormant: bool = False) -> float:
    """Share of a pot's available water that may go before its check [0 to 1]; depth_cm: of the substrate [cm].

    To 6 cm deep 0.30, since a shallow pot swings fast both ways; deeper 0.45 (practice 0.4 to 0.5); at rest 0.60, moist
    and never bone dry (judgement). FAO-56, Table 22, p. 165, has 0.7 for conifers and 0.5 for most fruit trees in deep
    field soil: upper bounds for a pot. Practice lets the surface of a weak tree's pot dry, to 0.5; it is looked at as
    early as any other all the same, since looking is not watering.
    """
    if dormant:
        return _DEPLETION_AT_REST
    return _DEPLETION_SHALLOW if depth_cm <= SHALLOW_TO_CM else _DEPLETION_USUAL


def depletion_next_day(depletion: float, water_in: float, use: float, available: float) -> float:
    """Water missing from a pot at the end of a day, after FAO-56, chapter 8; everything in one unit, litres or mm.

    depletion: missing at its start; available: what the drained pot holds within reach, more cannot go. Water comes in
    the morning, the excess drains, then the day's use is drawn: the order of Example 38 and of a morning round; Eq. 88
    as printed draws the use first and ends the day as much as one day's use fuller.
    """
    return min(available, max(0.0, depletion - water_in) + use)
