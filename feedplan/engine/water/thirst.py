"""From a pot to how often to look at it: what it holds within reach, how fast it dries, and a ladder of rates.

Rates have floors in leaf, and are slow in coming down. Thirst is how many times a day a pot dries to its allowed
depletion. A rate is the rarest at which the pot is looked at before it gets there: every second day for one that lasts
two days, twice a day for one that lasts half a day. Three looks a day, in heat, are the most a grower makes. In winter
shallow pots are looked at twice a week and deep ones once (common practice, no source); the surer of the two is taken
for all (judgement).
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from itertools import pairwise
from math import inf

from feedplan.model.collection import Bench, Pot, Substrate, Tree, Wind
from feedplan.model.schedule import CheckRate
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


LADDER = (
    CheckRate(Decimal(2), "twice a week"),
    CheckRate(Decimal(7) / 3, "every 3 days"),
    CheckRate(Decimal(7) / 2, "every 2 days"),
    CheckRate(Decimal(7), "once a day"),
    CheckRate(Decimal(14), "twice a day"),
    CheckRate(Decimal(21), "3 times a day"),
)
"""Rates from rarest to most frequent; a step is an index into it."""
TWICE_A_WEEK, EVERY_3_DAYS, EVERY_2_DAYS, DAILY, TWICE_A_DAY, MOST = range(6)

SLACK = 1.05
"""A twentieth more or less is within what the inputs can tell (judgement)."""
_THIRST_ABOVE = (SLACK / 4, SLACK / 3, SLACK / 2, SLACK, 2 * SLACK)

IN_LEAF = 0.6
IN_FULL_LEAF = 1.1
"""Shares of water use from which a tree counts as in leaf (leaves just open) and in full leaf (first flush hardened);
stages.yaml sets the shares."""

MARGIN = 1.15
CALM_DAYS = 7
"""A rate comes down only when thirst a seventh higher would allow it too, a week long (judgement): checks that stop
too early cost more than checks that go on."""


def step_for(thirst_per_day: float) -> int:
    """The step a thirst asks for."""
    return bisect_left(_THIRST_ABOVE, thirst_per_day)


def least_step(leaf: float, *, shallow: bool, weak: bool) -> int:
    """The step below which a tree is never looked at: in growth each shallow pot and each weak tree daily.

    In full leaf every pot daily and weak trees twice (common practice, no source): thirst ranks, it never skips.
    """
    if leaf >= IN_FULL_LEAF:
        return TWICE_A_DAY if weak else DAILY
    if leaf >= IN_LEAF:
        return DAILY if shallow or weak else EVERY_2_DAYS
    return TWICE_A_WEEK


def heat_step(usual: int, leaf: float, *, deep: bool) -> int:
    """The least step of a hot or windy day: one above the usual, in leaf two looks a day, one for a deep pot."""
    if leaf < IN_LEAF:
        return usual
    return min(MOST, max(usual + 1, DAILY if deep else TWICE_A_DAY))


def steady_steps(thirst: Sequence[float], floors: Sequence[int]) -> list[int]:
    """The step of each day: up at once, down only after a calm week each time, so that it does not flicker.

    A day is calm when even a thirst higher by the margin asks for less than the step in force.
    """
    steps: list[int] = []
    current = calm = highest = 0
    for each, floor in zip(thirst, floors, strict=True):
        asked = max(bisect_left(_THIRST_ABOVE, each), floor)
        if asked >= current or not steps:
            current, calm = asked, 0
        else:
            with_margin = max(step_for(each * MARGIN), floor)
            calm, highest = (calm + 1, max(with_margin, highest)) if with_margin < current else (0, 0)
            if calm == CALM_DAYS:
                current, calm, highest = highest, 0, 0
        steps.append(current)
    return steps


def changes_in(steps: Sequence[int]) -> Iterable[int]:
    """The places where a run of equal steps begins."""
    return [0, *(place for place, (a, b) in enumerate(pairwise(steps), start=1) if a != b)]
