"""Where a tree stands on a day, and what that bench is like."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from feedplan.model.collection import Collection, Tree
from feedplan.model.journal import Entry, Moved
from feedplan.model.water import OPEN_BENCH, Bench


def bench_name(tree: Tree, group: str, entries: Sequence[Entry], collection: Collection, day: date) -> str:
    """The bench of a tree that is in a group on a day: where it was moved last, else its own, else its group's.

    A bench of its own counts while it is in the group the collection names. Empty when none is told.
    """
    moves = (e.fact for e in entries if isinstance(e.fact, Moved) and e.day <= day)
    moved = [move for move in moves if move.bench or move.group]
    if moved and moved[-1].bench:
        return moved[-1].bench
    own = tree.bench if group == tree.group else ""
    return own or collection.groups[group].bench


def bench_on(tree: Tree, group: str, entries: Sequence[Entry], collection: Collection, day: date) -> Bench:
    """What is told of that bench; open to sun, wind and rain where nothing is, indoors where the schedule says so."""
    name = bench_name(tree, group, entries, collection, day)
    told = collection.benches.get(name)
    if told is not None:
        return told
    schedule = tree.schedule if tree.schedule is not None and group == tree.group else None
    if (schedule or collection.groups[group].schedule).indoors:
        return Bench(name or group, under_cover=True, indoors=True)
    return OPEN_BENCH if not name else Bench(name)


def are_indoors(
    trees: Sequence[Tree], group: str, entries: Sequence[Entry], collection: Collection, day: date
) -> bool:
    """Whether all of some trees stand indoors on a day, where the weather says nothing of them."""
    return all(bench_on(tree, group, entries, collection, day).indoors for tree in trees)
