"""The waters a group gets: what their blend holds, how it suits the trees, and how much must drain.

Acid is told as a need in milliequivalents and never as a dose: a dose takes a laboratory's titration and someone who
handles acids.

[1] Ayers and Westcot, "Water quality for agriculture", FAO Irrigation and Drainage Paper 29 Rev. 1, Rome 1985.
[2] A greenhouse water-quality article: alkalinity 30 to 60 mg/L CaCO3 best, 0 to 100 desirable (excerpt read).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from statistics import mean

from feedplan.dose.strength import PpmN
from feedplan.model.collection import Collection, Group
from feedplan.model.source import Source
from feedplan.model.statement import Statement
from feedplan.model.water import WaterSource, WaterUse
from feedplan.weather.water_quality import CACO3_MG_PER_MEQ, blend, leaching_requirement

BEST_ALKALINITY_MG_PER_L = 60.0
MOST_ALKALINITY_MG_PER_L = 100.0
"""Upper ends of the best and of the bearable range [2]."""

TOLERATED_EC_DS_PER_M = 1.0
"""Salinity of the root zone's saturated extract that trees in pots bear without loss [dS/m]: that of the most sensitive
crops in Table 4 of [1] (strawberry, bean, carrot; from memory); maples and azaleas are taken to be as sensitive
(judgement)."""

FEED_EC_PER_100_PPM_N = 0.65
"""Conductivity that 100 mg N/L of a complete soluble feed adds [mS/cm] (0.6 to 0.7, from memory)."""


@dataclass(frozen=True, slots=True)
class GroupWater:
    """What a group is watered with.

    ec_ms_per_cm, alkalinity_mg_per_l, sodium_mg_per_l: of the blend, None where a source in it does not tell.
    softened: some of it is softened water.
    """

    group: str
    use: WaterUse
    ec_ms_per_cm: float | None
    alkalinity_mg_per_l: float | None
    sodium_mg_per_l: float | None
    softened: bool

    @property
    def acid_need_meq_per_l(self) -> float | None:
        """Alkalinity above what is best, as acid that would neutralise it [meq/L]; information, never a dose."""
        if self.alkalinity_mg_per_l is None:
            return None
        return max(0.0, self.alkalinity_mg_per_l - BEST_ALKALINITY_MG_PER_L) / CACO3_MG_PER_MEQ


def group_water(group: Group, waters: Mapping[str, WaterSource]) -> GroupWater | None:
    """The water of a group; None where no water is told."""
    use = group.water
    if use is None:
        return None
    return GroupWater(
        group.name,
        use,
        _blended(use, waters, "ec_ms_per_cm"),
        _blended(use, waters, "alkalinity_mg_per_l"),
        _blended(use, waters, "sodium_mg_per_l"),
        any(waters[name].softened for name, share in use.shares if share > 0),
    )


def _blended(use: WaterUse, waters: Mapping[str, WaterSource], field: str) -> float | None:
    values = [getattr(waters[name], field) for name, _ in use.shares]
    if None in values:
        return None
    return blend(values, [share for _, share in use.shares])


def dislikes_lime(group: Group) -> bool:
    """Whether a group's schedule is for lime-hating trees: its typical year is theirs, or its name says so."""
    return "ericaceous" in (group.schedule.calendar, group.schedule.name)


@dataclass(frozen=True, slots=True)
class Drainage:
    """How much of the water must drain to keep salt down. ec_ms_per_cm: of water and feeds together, on average;
    needed: share that must drain [0-1], None when none is enough; usual: share that does.
    """

    ec_ms_per_cm: float
    needed: float | None
    usual: float

    @property
    def is_enough(self) -> bool:
        """Whether the usual drain-through keeps up with the salt."""
        return self.needed is not None and self.needed <= self.usual


def drainage_of(group: Group, collection: Collection) -> Drainage | None:
    """How much must drain from a group's pots ([1], section 2.4.2); None where the water's conductivity is not told.

    Of the waterings, one in each feeding interval is feed; between two feeds one watering a day is reckoned with.
    """
    water = group_water(group, collection.waters)
    if water is None or water.ec_ms_per_cm is None:
        return None
    added = [
        FEED_EC_PER_100_PPM_N * float(period.strength.n_mg_per_l) / 100 / period.every_days
        for period in group.schedule.periods
        if isinstance(period.strength, PpmN)
    ]
    ec = water.ec_ms_per_cm + (mean(added) if added else 0.0)
    needed = leaching_requirement(ec, TOLERATED_EC_DS_PER_M)
    return Drainage(ec, needed, float(collection.habits.drain_share))


SALTY_SHARE = 0.3
"""A need to drain more than this calls for less salty water (the usual flush is 30 to 50 %; judgement)."""


class LimeDoubt(Statement):
    """A group that hates lime, and the alkalinity of its water [mg/L CaCO3]."""

    group: str
    alkalinity: int


class SoftenedDoubt(Statement):
    """A group that gets softened water."""

    group: str


class SaltDoubt(Statement):
    """A group of which too much water would have to drain. ec_ms_per_cm: as of a Drainage, to a tenth.

    needed: what must drain, None when none is enough [percent].
    """

    group: str
    ec_ms_per_cm: float
    needed: int | None


WaterDoubt = LimeDoubt | SoftenedDoubt | SaltDoubt


def water_doubts(collection: Collection) -> Iterator[tuple[Source, WaterDoubt]]:
    """What is doubtful about the waters of the groups, each with the line it comes from."""
    for group in collection.groups.values():
        water = group_water(group, collection.waters)
        if water is None:
            continue
        alkalinity = water.alkalinity_mg_per_l
        if dislikes_lime(group) and alkalinity is not None and alkalinity > MOST_ALKALINITY_MG_PER_L:
            yield water.use.source, LimeDoubt(group.name, round(alkalinity))
        if water.softened:
            yield water.use.source, SoftenedDoubt(group.name)
        drainage = drainage_of(group, collection)
        if drainage is not None and (drainage.needed is None or drainage.needed > SALTY_SHARE):
            needed = None if drainage.needed is None else round(drainage.needed * 100)
            yield water.use.source, SaltDoubt(group.name, round(drainage.ec_ms_per_cm, 1), needed)
