"""How fast pots dry, each as a few numbers, so that many pots can be walked through years of days at little cost.

The same arithmetic as feedplan.weather.container.daily_use_l, divided by what a pot may lose.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import inf

from feedplan.engine.water.check_rates import IN_LEAF
from feedplan.engine.water.vessels import Vessel
from feedplan.weather.container import BARE_LEAST_MM_PER_DAY, BARE_SHARE, MOST_ON_CANOPY


@dataclass(frozen=True, slots=True)
class Demand:
    """How many times a day one vessel dries to what is allowed at rest, for each mm of evapotranspiration [1/mm].

    drawn: through the leaves, at a share of 1; bare: from bare substrate. hurry: how much sooner it must be looked at
    in leaf. position: factor on the evapotranspiration of bare substrate. capped: its crown is wider than the pot, so
    that its share is held to a bound.
    """

    drawn: float
    bare: float
    hurry: float
    position: float
    capped: bool

    def on(self, et0_mm: float, leaf: float) -> float:
        """Thirst on a day: how many times it dries to what is allowed."""
        return self.over((et0_mm,), (leaf,))[0]

    def over(self, et0_mm: Iterable[float], leaf: Iterable[float]) -> list[float]:
        """Thirst on each of some days."""
        drawn, hurry, most = self.drawn, self.hurry, MOST_ON_CANOPY.value if self.capped else inf
        bare, least = self.bare * BARE_SHARE.value * self.position, self.bare * BARE_LEAST_MM_PER_DAY.value
        return [
            max(drawn * et0 * min(share, most), bare * et0, least) * (hurry if share >= IN_LEAF else 1.0)
            for et0, share in zip(et0_mm, leaf, strict=True)
        ]


def demand_of(vessel: Vessel) -> Demand | None:
    """A vessel's demand; None for one that holds nothing within reach, which is always thirsty."""
    at_rest_l, in_leaf_l = vessel.allowed_l(dormant=True), vessel.allowed_l(dormant=False)
    if in_leaf_l <= 0:
        return None
    exposed_m2 = max(vessel.size.top_m2, vessel.canopy_m2)
    return Demand(
        drawn=exposed_m2 * vessel.position * vessel.wall / at_rest_l,
        bare=vessel.size.top_m2 * vessel.wall / at_rest_l,
        hurry=at_rest_l / in_leaf_l,
        position=vessel.position,
        capped=vessel.canopy_m2 > vessel.size.top_m2,
    )
