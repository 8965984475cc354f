"""A tree's pot as the water balance sees it: what it holds within reach, how its place drinks, how fast it dries."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from math import inf

from feedplan.engine.water.check_rates import IN_LEAF
from feedplan.model.collection import Pot, Tree
from feedplan.model.water import Bench, Substrate, Wind
from feedplan.weather.container import (
    CM2_PER_M2,
    MOST_ON_CANOPY,
    OPEN_WALLS,
    PotSize,
    PotUse,
    allowed_depletion,
    pot_use,
    size_from_litres,
)
from feedplan.weather.substrate import SubstrateMix

SHADE_SLOPE = 0.8
"""Shade of 30 to 50 % lowers use to 0.75 to 0.6 (common practice, no source): a straight line through both."""
WIND_FACTORS = {Wind.SHELTERED: 0.9, Wind.OPEN: 1.0, Wind.EXPOSED: 1.2}
"""Against the open ground of a weather station, for which reference evapotranspiration is meant (FAO-56); a tenth less
in shelter, a fifth more where it is windier (judgement)."""
WIDEST_CROWN = 4.7 / MOST_ON_CANOPY
"""A crown wider than so many times its pot's top counts as so many: roots in a pot do not keep up with more. With the
bound on a crown's share, use on the area of the pot stays within the 1.0 to 4.7 times reference evapotranspiration that
were measured on thirsty container trees (Schuch and Burger, 12 woody species, abstract read)."""


@dataclass(frozen=True, slots=True)
class Vessel:
    """A pot with its substrate in its place.

    size: of the pot. available_l: water within reach once it has drained [L]. canopy_m2: ground the crown covers as far
    as it counts, 0 when not told [m2]. position, wall: factors on the tree's use.
    """

    size: PotSize
    available_l: float
    canopy_m2: float
    position: float
    wall: float

    @property
    def use(self) -> PotUse:
        """How fast water leaves it."""
        return pot_use(self.size.top_m2, self.canopy_m2, position=self.position, walls=self.wall)

    def use_l(self, et0_mm: float, leaf: float, roots: float = 1.0) -> float:
        """Water that leaves it in a day [L]. et0_mm: [mm/day]; leaf, roots: factors."""
        return self.use.on(et0_mm, leaf, roots)

    def allowed_l(self, dormant: bool) -> float:
        """Water that may go before it must be looked at [L]; a weak tree's pot is looked at no later."""
        return self.available_l * allowed_depletion(self.size.depth_cm, dormant=dormant)

    def thirst(self, use_l: float, dormant: bool) -> float:
        """How many times a day a use dries it to what is allowed; endless for a pot that holds nothing."""
        allowed_l = self.allowed_l(dormant)
        return use_l / allowed_l if allowed_l > 0 else inf


def position_factor(bench: Bench) -> float:
    """How much of the use in the open a bench leaves."""
    return (1 - SHADE_SLOPE * float(bench.shade)) * WIND_FACTORS[bench.wind]


def vessel_of(tree: Tree, substrate: Substrate, bench: Bench) -> Vessel:
    """The vessel of a tree, worked out once for all alike."""
    return _vessel(tree.pot, substrate.mix, position_factor(bench), tree.canopy_cm2 or Decimal(0))


@lru_cache(maxsize=16384)
def _vessel(pot: Pot, mix: SubstrateMix, position: float, canopy_cm2: Decimal) -> Vessel:
    size = size_from_litres(
        float(pot.litres),
        depth_cm=None if pot.depth_cm is None else float(pot.depth_cm),
        top_cm2=None if pot.top_cm2 is None else float(pot.top_cm2),
    )
    # To the millimetre: the curves are slow to integrate, and no pot is known better.
    share = mix.available(round(size.depth_cm, 1), round(size.taper, 2))
    canopy_m2 = min(float(canopy_cm2) / CM2_PER_M2, size.top_m2 * WIDEST_CROWN)
    return Vessel(size, size.volume_l * share, canopy_m2, position, OPEN_WALLS if pot.open_sided else 1.0)


@dataclass(frozen=True, slots=True)
class Demand:
    """How many times a day one vessel dries to what is allowed.

    use: of its water, counted not in litres but in what is allowed at rest. hurry: how much sooner it must be looked at
    in leaf.
    """

    use: PotUse
    hurry: float

    def on(self, et0_mm: float, leaf: float) -> float:
        """Thirst on a day: how many times it dries to what is allowed."""
        return self.over((et0_mm,), (leaf,))[0]

    def over(self, et0_mm: Sequence[float], leaf: Sequence[float]) -> list[float]:
        """Thirst on each of some days."""
        hurry, used = self.hurry, self.use.over(et0_mm, leaf)
        return [each * hurry if share >= IN_LEAF else each for each, share in zip(used, leaf, strict=True)]


def demand_of(vessel: Vessel) -> Demand | None:
    """A vessel's demand; None for one that holds nothing within reach, which is always thirsty."""
    at_rest_l, in_leaf_l = vessel.allowed_l(dormant=True), vessel.allowed_l(dormant=False)
    if in_leaf_l <= 0:
        return None
    return Demand(vessel.use.counted_in(at_rest_l), hurry=at_rest_l / in_leaf_l)
