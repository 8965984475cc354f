"""Which trees must not have the usual water, and what they get instead."""

from __future__ import annotations

from datetime import date

from feedplan.engine.season import Season
from feedplan.engine.water.waters import RAIN_HARDNESS_MG_PER_L
from feedplan.model.collection import Collection, WaterSource, WaterUse

OwnWaters = tuple[tuple[WaterUse, tuple[str, ...]], ...]
"""Waters other than the usual one, each with the trees by name that get it."""

_MG_PER_MS_PER_CM = 250.0
"""Lime to expect of a water of which only the conductivity is told: tap water of 0.4 mS/cm holds about 100 mg/L CaCO3
(judgement)."""


def own_waters(season: Season, day: date) -> OwnWaters:
    """The trees there on a day whose group is told a water that is not the usual one, in the collection's order."""
    collection = season.collection
    found: dict[tuple[tuple[str, float], ...], tuple[WaterUse, list[str]]] = {}
    for timeline in season.timelines:
        use = collection.groups[timeline.group_on(day)].water if timeline.here(day) else None
        if use is not None and not is_usual(use, collection):
            found.setdefault(use.shares, (use, []))[1].extend(timeline.names)
    return tuple((use, tuple(names)) for use, names in found.values())


def is_usual(use: WaterUse, collection: Collection) -> bool:
    """Whether a group that is told its water gets what comes out of the tap and nothing else."""
    return {name for name, share in use.shares if share > 0} == {_usual(tuple(collection.waters.values()))}


def _usual(waters: tuple[WaterSource, ...]) -> str | None:
    """What comes out of the tap: the water with the most lime, of which nothing is told before all; never rain."""
    limiest = max(waters, key=_lime, default=None)
    return None if limiest is None or _lime(limiest) < RAIN_HARDNESS_MG_PER_L else limiest.name


def _lime(water: WaterSource) -> float:
    """The lime in a water as far as it can be told [mg/L CaCO3]."""
    for told in (water.alkalinity_mg_per_l, water.hardness_mg_per_l):
        if told is not None:
            return told
    return float("inf") if water.ec_ms_per_cm is None else water.ec_ms_per_cm * _MG_PER_MS_PER_CM
