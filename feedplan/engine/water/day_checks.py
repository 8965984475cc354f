"""The checks of one day: which trees are looked at, when and where, and which benches dry first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, time

from feedplan.engine.season import Rise, Season, Watch
from feedplan.engine.water.balance import PotDay, balance_of
from feedplan.engine.water.checks import looks_on
from feedplan.model.collection import Tree
from feedplan.model.schedule import CheckRate


@dataclass(frozen=True, slots=True)
class TreeLooks:
    """How often one tree is looked at. place: its bench, else its group. looks: how many on this day, from 0.

    must_dry: let the surface dry between waterings. rise: the weather that asks for more than usual.
    """

    tree: Tree
    place: str
    group: str
    rate: CheckRate
    looks: int
    must_dry: bool
    rise: Rise | None


@dataclass(frozen=True, slots=True)
class ChecksAt:
    """The looks of one time of day, by place in the order in which places dry."""

    at: time
    places: tuple[tuple[str, tuple[TreeLooks, ...]], ...]

    @property
    def trees(self) -> tuple[TreeLooks, ...]:
        """All trees looked at then."""
        return tuple(each for _, trees in self.places for each in trees)


@dataclass(frozen=True, slots=True)
class BenchThirst:
    """One bench of the day. pots: thirstiest first."""

    name: str
    pots: tuple[PotDay, ...]

    @property
    def pour_l(self) -> float:
        """To pour for the day's use of all of them [L]."""
        return sum(pot.pour_l * pot.tree.count for pot in self.pots)


def watched_on(season: Season, day: date) -> Iterator[TreeLooks]:
    """Every tree that is watched on a day, looked at then or not."""
    for watch in season.watches:
        rate = watch.rate_on(day)
        if rate is not None:
            yield from (_tree_looks(watch, tree, rate, day) for tree in watch.trees)


def _tree_looks(watch: Watch, tree: Tree, rate: CheckRate, day: date) -> TreeLooks:
    care, usual = watch.timeline.care, watch.usual_on(day)
    return TreeLooks(
        tree=tree,
        place=care.place_of(tree, day),
        group=care.group_on(day),
        rate=rate,
        looks=looks_on(rate, day),
        must_dry=watch.must_dry_on(day),
        rise=watch.rise_on(day) if rate != usual else None,
    )


def checks_at(season: Season, watched: Sequence[TreeLooks], dry_first: Sequence[str]) -> Iterator[ChecksAt]:
    """The looks of the day by time; places in the order in which they dry where that is known, else by name."""
    order = {name: number for number, name in enumerate(dry_first)}
    for number, at in enumerate(season.collection.habits.checks_at):
        places: dict[str, list[TreeLooks]] = {}
        for each in watched:
            if each.looks > number:
                places.setdefault(each.place, []).append(each)
        if places:
            names = sorted(places, key=lambda name: (order.get(name, len(order)), name))
            yield ChecksAt(at, tuple((name, tuple(places[name])) for name in names))


def thirst_on(season: Season, day: date) -> tuple[BenchThirst, ...]:
    """The benches outdoors, thirstiest first; none where checks do not go by the weather."""
    balance = balance_of(season)
    if balance is None:
        return ()
    benches: dict[str, list[PotDay]] = {}
    for timeline in season.timelines:
        for tree in timeline.trees if timeline.here(day) else ():
            pot = balance.pot_day(timeline, tree, day)
            if pot is not None:
                benches.setdefault(timeline.care.place_of(tree, day), []).append(pot)
    found = []
    for name, pots in benches.items():
        # Wet roots are not thirsty roots: who is to dry first heads no list.
        pots.sort(key=lambda pot: (pot.must_dry, -pot.thirst, pot.tree.name))
        found.append(BenchThirst(name, tuple(pots)))
    return tuple(sorted(found, key=lambda b: (b.pots[0].must_dry, -b.pots[0].thirst, b.name)))
