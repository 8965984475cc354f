"""The waters a group gets: what their blend holds, how it suits the trees, how much must drain.

Limits of alkalinity for trees that hate lime shrink with the pot: less mix has less to set against each litre of water.
[3] gives 0.75 to 1.25 meq/L for small cells (40 to 60 mg/L CaCO3) and 1.7 to 2.0 meq/L at most for packs. [4]: below
100 mg/L acid is generally not needed. Shallow pots are taken like small cells, and lime-haters at the lower end of each
range (judgement). Acid is told as a need in milliequivalents and never as a dose: a dose takes a laboratory's
titration and someone who handles acids.

[1] Ayers and Westcot, "Water quality for agriculture", FAO Irrigation and Drainage Paper 29 Rev. 1, Rome 1985.
[2] A greenhouse water-quality article: alkalinity 30 to 60 mg/L CaCO3 best, 0 to 100 desirable (excerpt read).
[3] A trade column on alkalinity (read in part).
[4] UMass (D. Cox, quoted in a trade note).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from math import ceil
from statistics import mean

from feedplan.dose.strength import PpmN
from feedplan.model.collection import (
    Collection,
    Group,
    Pot,
    PotClass,
    Tree,
    WaterSource,
    WaterUse,
)
from feedplan.model.source import Source
from feedplan.model.statement import Statement
from feedplan.weather.water_quality import (
    CACO3_MG_PER_MEQ,
    blend,
    leaching_requirement,
    share_for_target,
)

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

    ec_ms_per_cm, alkalinity_mg_per_l, sodium_mg_per_l, hardness_mg_per_l: of the blend, None where a source in
    it does not tell. softened: some of it is softened water.
    """

    group: str
    use: WaterUse
    ec_ms_per_cm: float | None
    alkalinity_mg_per_l: float | None
    sodium_mg_per_l: float | None
    softened: bool
    hardness_mg_per_l: float | None = None

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
        _blended(use, waters, "hardness_mg_per_l"),
    )


def _blended(use: WaterUse, waters: Mapping[str, WaterSource], field: str) -> float | None:
    values = [getattr(waters[name], field) for name, _ in use.shares]
    if None in values:
        return None
    return blend(values, [share for _, share in use.shares])


RAIN_HARDNESS_MG_PER_L = 20.0
RAIN_EC_MS_PER_CM = 0.1
"""Water below either holds as little as rain: 20 mg/L CaCO3 are 8 mg Ca a litre (judgement)."""


BLENDED_ALKALINITY_MG_PER_L = 60.0
"""What a blend of tap and rain is offered at, within what lime-haters bear (judgement)."""


def _limy_and_soft(water: GroupWater, collection: Collection) -> tuple[str, str]:
    """The waters between which the blend that is offered lies, each empty where there is none.

    Of the two, what the group gets by itself comes first, then the most and the least limy there is.
    """
    known = {
        name: of.alkalinity_mg_per_l
        for name, of in collection.waters.items()
        if of.alkalinity_mg_per_l is not None and not of.softened
    }
    own = [name for name, _ in water.use.shares] if len(water.use.shares) == 1 else []
    limy = [name for name, mg in known.items() if mg > BLENDED_ALKALINITY_MG_PER_L]
    soft = [name for name, mg in known.items() if mg < BLENDED_ALKALINITY_MG_PER_L]
    limy.sort(key=lambda name: (name not in own, -known[name]))
    soft.sort(key=lambda name: (name not in own, known[name]))
    return (limy or [""])[0], (soft or [""])[0]


def _is_like_rain(water: GroupWater) -> bool:
    """Whether a water brings next to no calcium and magnesium; by its conductivity where its hardness is not told."""
    if water.hardness_mg_per_l is not None:
        return water.hardness_mg_per_l < RAIN_HARDNESS_MG_PER_L
    return water.ec_ms_per_cm is not None and water.ec_ms_per_cm < RAIN_EC_MS_PER_CM


def _lacking(group: Group, collection: Collection) -> tuple[str, ...]:
    """Which of calcium and magnesium no feed of a group tells on its label; none where an organic feed is laid."""
    named = [use.feed for use in (*group.feeds, *group.solid_feeds)] or list(group.mix_of)
    feeds = [collection.feeds[name] for name in named or collection.feeds]
    if not feeds or any(feed.form.draws_animals for feed in feeds):
        return ()
    told = {element for feed in feeds for element, mg in feed.product.mg_per_unit.items() if mg}
    return tuple(name for element, name in (("Ca", "calcium"), ("Mg", "magnesium")) if element not in told)


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

    @property
    def needed_percent(self) -> int | None:
        """The least whole share that will do [percent], so that 15.2 % never reads as the 15 % that is too little."""
        return None if self.needed is None else ceil(round(self.needed * 100, 6))


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


class LimeWarning(Statement):
    """A group that hates lime, and the alkalinity of its water [mg/L CaCO3].

    limy, soft: the waters, as they are called, of which one fit for it can be blended; soft is empty where none is.
    """

    group: str
    alkalinity: int
    limy: str
    soft: str


class LimeHaters(Statement):
    """Trees that hate lime, in a group of which that is not known, and the alkalinity of its water [mg/L CaCO3].

    soft: as of a LimeWarning.
    """

    group: str
    trees: tuple[str, ...]
    alkalinity: int
    soft: str


class LimeByHardness(Statement):
    """Trees that hate lime, and the hardness of water of which no alkalinity is told [mg/L CaCO3]."""

    group: str
    trees: tuple[str, ...]
    hardness: int


class SoftenedWarning(Statement):
    """A group that gets softened water."""

    group: str


class SaltWarning(Statement):
    """A group of which too much water would have to drain. ec_ms_per_cm: as of a Drainage, to a tenth.

    needed: what must drain, None when none is enough [percent].
    """

    group: str
    ec_ms_per_cm: float
    needed: int | None


class NoLimeWarning(Statement):
    """A group whose water brings next to no calcium and magnesium, and whose feeds lack what is `missing` of them.

    limy, soft: as of a LimeWarning.
    """

    group: str
    missing: tuple[str, ...]
    limy: str
    soft: str


WaterWarning = LimeWarning | LimeHaters | LimeByHardness | SoftenedWarning | SaltWarning | NoLimeWarning


def water_warnings(collection: Collection) -> Iterator[tuple[Source, WaterWarning]]:
    """What is doubtful about the waters of the groups, each with the line it comes from."""
    for group in collection.groups.values():
        water = group_water(group, collection.waters)
        if water is None:
            continue
        yield from ((water.use.source, each) for each in _for_lime_haters(water, group, collection))
        alkalinity = water.alkalinity_mg_per_l
        if dislikes_lime(group) and alkalinity is not None and alkalinity > MOST_ALKALINITY_MG_PER_L:
            yield (
                water.use.source,
                LimeWarning(group.name, round(alkalinity), *_limy_and_soft(water, collection)),
            )
        if _is_like_rain(water) and (missing := _lacking(group, collection)):
            yield water.use.source, NoLimeWarning(group.name, missing, *_limy_and_soft(water, collection))
        if water.softened:
            yield water.use.source, SoftenedWarning(group.name)
        drainage = drainage_of(group, collection)
        if drainage is not None and (drainage.needed is None or drainage.needed > SALTY_SHARE):
            needed = drainage.needed_percent
            yield water.use.source, SaltWarning(group.name, round(drainage.ec_ms_per_cm, 1), needed)


def _for_lime_haters(water: GroupWater, group: Group, collection: Collection) -> Iterator[WaterWarning]:
    """What is doubtful for lime-haters by kind, whatever their schedule, or of a water whose alkalinity is not told."""
    trees = tuple(
        tree.name for tree in collection.trees if tree.group == group.name and _hates(tree, group, collection)
    )
    if not trees:
        return
    most, alkalinity, hardness = MOST_ALKALINITY_MG_PER_L, water.alkalinity_mg_per_l, water.hardness_mg_per_l
    if alkalinity is None and hardness is not None and hardness > most:
        yield LimeByHardness(group.name, trees, round(hardness))
    if alkalinity is not None and alkalinity > most and not dislikes_lime(group):
        yield LimeHaters(group.name, trees, round(alkalinity), _limy_and_soft(water, collection)[1])


def _hates(tree: Tree, group: Group, collection: Collection) -> bool:
    """Whether a tree hates lime: by its kind, or by its group's schedule."""
    kind = collection.vocabulary.kinds.kind_of(tree.species)
    return dislikes_lime(group) or (kind is not None and kind.hates_lime)


# Most alkalinity [meq/L] for trees that hate lime.
_MOST_MEQ = {PotClass.SHALLOW: 0.75, PotClass.MEDIUM: 1.25, PotClass.DEEP: 1.25}


def most_alkalinity(pot: Pot) -> float:
    """The most alkalinity that the water for a lime-hater's pot should hold [mg/L CaCO3]."""
    return _MOST_MEQ[pot.pot_class] * CACO3_MG_PER_MEQ


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
    most = min((most_alkalinity(tree.pot) for tree in trees), default=_MOST_MEQ[PotClass.SHALLOW])
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
