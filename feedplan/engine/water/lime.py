"""Hard water for trees that hate lime: what alkalinity their pots bear, and how to fill the can with less of it.

Limits shrink with the pot: less mix has less to set against each litre of water. [1] A trade column on alkalinity
gives 0.75 to 1.25 meq/L for small cells (40 to 60 mg/L CaCO3) and 1.7 to 2.0 meq/L at most for packs (read in part).
[2] UMass (D. Cox, quoted in a trade note): below 100 mg/L acid is generally not needed. Shallow pots are taken like
small cells, and lime-haters at the lower end of each range (judgement).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from feedplan.engine.water.waters import dislikes_lime, group_water
from feedplan.model.collection import Collection, Group, Pot, PotClass, Tree
from feedplan.weather.water_quality import CACO3_MG_PER_MEQ, share_for_target

# Most alkalinity [meq/L], for most trees and for lime-haters.
_MOST_MEQ = {
    PotClass.SHALLOW: (1.25, 0.75),
    PotClass.MEDIUM: (2.0, 1.25),
    PotClass.DEEP: (2.0, 1.25),
}


def most_alkalinity(pot: Pot, hates_lime: bool) -> float:
    """The most alkalinity that the water for a pot should hold [mg/L CaCO3]."""
    return _MOST_MEQ[pot.pot_class][1 if hates_lime else 0] * CACO3_MG_PER_MEQ


@dataclass(frozen=True, slots=True)
class LimeAdvice:
    """What to do about hard water for lime-haters.

    alkalinity, most: of their water, and what their smallest pots bear [mg/L CaCO3]. parts: litres of each water for
    a can [L], empty where no water of the collection is soft enough.
    """

    alkalinity: float
    most: float
    parts: tuple[tuple[str, Decimal], ...]


def lime_advice(
    group: Group, trees: Iterable[Tree], collection: Collection, can_litres: Decimal
) -> LimeAdvice | None:
    """What to do for a group that hates lime; None for others, and where its water is soft enough or not known."""
    if not dislikes_lime(group):
        return None
    water = group_water(group, collection.waters)
    if water is None or water.alkalinity_mg_per_l is None:
        return None
    most = min((most_alkalinity(tree.pot, True) for tree in trees), default=_MOST_MEQ[PotClass.SHALLOW][1])
    if water.alkalinity_mg_per_l <= most:
        return None
    return LimeAdvice(water.alkalinity_mg_per_l, most, _parts(group, collection, most, can_litres))


def _parts(
    group: Group, collection: Collection, most: float, can_litres: Decimal
) -> tuple[tuple[str, Decimal], ...]:
    """The can filled from the group's hardest water and the softest one of all, so that it holds no more than that."""
    assert group.water is not None
    known = {name: w.alkalinity_mg_per_l for name, w in collection.waters.items() if not w.softened}
    told = {name: value for name, value in known.items() if value is not None}
    used = [name for name, _ in group.water.shares if name in told]
    if not used:
        return ()
    hard, soft = max(used, key=lambda name: told[name]), min(told, key=lambda name: told[name])
    share = share_for_target(told[hard], told[soft], most).share_of_first
    if share is None:
        return ()
    of_hard = can_litres * Decimal(str(round(share, 4)))
    return ((hard, of_hard), (soft, can_litres - of_hard))
