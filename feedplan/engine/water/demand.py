"""How often pots dry, each as a few numbers, so that many pots can be walked through years of days at little cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from feedplan.engine.water.check_rates import IN_LEAF
from feedplan.engine.water.vessels import Vessel
from feedplan.weather.container import PotUse


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
