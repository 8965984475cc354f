"""The benches of a day in order of thirst, each with the trees that need the first look and what they drink."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from feedplan.engine.outdoors.benches import bench_name
from feedplan.engine.outdoors.skies import Skies
from feedplan.engine.water.balance import Balance, PotDay
from feedplan.engine.water.water_plan import checks_go_by
from feedplan.model.collection import Collection
from feedplan.model.season import Season


@dataclass(frozen=True, slots=True)
class BenchThirst:
    """One bench on a day. pots: thirstiest first; pour_l: to pour for the day's use of all of them [L]."""

    name: str
    pots: tuple[PotDay, ...]
    pour_l: float


def balance_of(season: Season, collection: Collection) -> Balance | None:
    """The pots under the season's skies; None where checks go by the table."""
    climate = season.climate
    if climate is None or not checks_go_by(collection, climate).is_weather:
        return None
    return Balance(collection, Skies(climate, collection.place))


def benches_by_thirst(season: Season, collection: Collection, day: date) -> tuple[BenchThirst, ...]:
    """The benches outdoors, thirstiest first; a group without a bench stands under its own name."""
    balance = balance_of(season, collection)
    if balance is None:
        return ()
    benches: dict[str, list[PotDay]] = {}
    for timeline in season.timelines:
        if not timeline.here(day):
            continue
        group = timeline.group_on(day)
        for tree in timeline.trees:
            pot = balance.pot_day(timeline, tree, day)
            if pot is not None:
                name = bench_name(tree, group, timeline.entries, collection, day) or group
                benches.setdefault(name, []).append(pot)
    found = [_bench(name, pots) for name, pots in benches.items()]
    return tuple(sorted(found, key=lambda bench: (-bench.pots[0].thirst, bench.name)))


def _bench(name: str, pots: list[PotDay]) -> BenchThirst:
    pots.sort(key=lambda pot: (-pot.thirst, pot.tree.name))
    return BenchThirst(name, tuple(pots), sum(pot.pour_l * pot.tree.count for pot in pots))
