"""Products finished before the next is begun: a change of product waits until what is left no longer fills the can.

How long a tub lasts follows from the feeds of all trees, which follow from the products in use. So the plan is made as
if the change did not come; where the tub then gives out is where it comes.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from feedplan.engine.season import Season
from feedplan.engine.sink.shelf import Use, uses_of
from feedplan.model.collection import Collection, Feed, FeedUse, Group, Tree

Owner = Group | Tree


def waits_for_another(collection: Collection) -> bool:
    """Whether any product is begun only when the one before it is used up."""
    owners: tuple[Owner, ...] = (*collection.groups.values(), *collection.trees)
    return any(use.when_used_up for owner in owners for use in (*owner.feeds, *owner.solid_feeds))


def never_begun(collection: Collection) -> Collection:
    """The collection without the products that wait for another."""
    return _with_uses(collection, lambda _, uses: tuple(use for use in uses if not use.when_used_up))


def begun_when_used_up(collection: Collection, season: Season) -> Collection:
    """The collection with the first product that waits, of each list, begun on the day the one before it is used up.

    season: the plan of `never_begun`, with all that was told. One that was told already stays begun. Without a known
    stock, and the day it was counted, the date written holds; one whose turn does not come in the days planned, or
    before another begins by its date, is left out.
    """
    shelf = _Shelf(collection.feeds, uses_of(season, collection), _begun(season))
    return _with_uses(collection, shelf.first_dated)


@dataclass(frozen=True, slots=True)
class _Shelf:
    """How long each product lasts. begun: the first day on which each was told to a group."""

    feeds: Mapping[str, Feed]
    uses: Mapping[str, Sequence[Use]]
    begun: Mapping[tuple[str, str], date]

    def first_dated(self, group: str, uses: tuple[FeedUse, ...]) -> tuple[FeedUse, ...]:
        """The products of a group with the first that waits dated, or left out; those of every year stand aside."""
        waiting = next((use for use in uses if use.when_used_up), None)
        if waiting is None:
            return uses
        yearly = tuple(use for use in uses if use.every_year is not None)
        uses = tuple(use for use in uses if use.every_year is None)
        index = uses.index(waiting)
        start = waiting.start or date.min
        if index and self._is_counted(uses[index - 1].feed):
            days = (self.begun.get((group, waiting.feed)), self._used_up(uses[index - 1].feed))
            known = [day for day in days if day is not None]
            start = max(start, min(known)) if known else date.max
        later = uses[index + 1 :]
        turn_over = min((use.start or date.min for use in later if not use.when_used_up), default=date.max)
        if start >= turn_over:
            return (*uses[:index], *later, *yearly)
        dated = replace(waiting, start=start, when_used_up=False)
        rest = (
            replace(use, start=max(use.start or start, start)) if use.when_used_up else use for use in later
        )
        return (*sorted((*uses[:index], dated, *rest), key=lambda use: use.start or date.min), *yearly)

    def _is_counted(self, name: str) -> bool:
        on_hand = self.feeds[name].on_hand
        return on_hand.stock is not None and on_hand.counted is not None

    def _used_up(self, name: str) -> date | None:
        """The first day since it was counted on which more of a product is asked for than is left."""
        on_hand = self.feeds[name].on_hand
        left, counted = on_hand.stock or Decimal(0), on_hand.counted or date.min
        for use in self.uses.get(name, ()):
            if use.day >= counted:
                left -= use.amount
                if left < 0:
                    return use.day
        return None


def _begun(season: Season) -> Mapping[tuple[str, str], date]:
    found: dict[tuple[str, str], date] = {}
    for timeline in season.timelines:
        for event in timeline.feeds:
            if event.asked_feed is not None and event.told < season.today:
                key = event.group, event.asked_feed
                found[key] = min(found.get(key, date.max), event.told)
    return found


def _with_uses(
    collection: Collection, change: Callable[[str, tuple[FeedUse, ...]], tuple[FeedUse, ...]]
) -> Collection:
    """The collection with other products in use. change: from a group and the products named for it or a tree of it."""
    groups = {
        name: replace(group, feeds=change(name, group.feeds), solid_feeds=change(name, group.solid_feeds))
        for name, group in collection.groups.items()
    }
    trees = tuple(
        replace(tree, feeds=change(tree.group, tree.feeds), solid_feeds=change(tree.group, tree.solid_feeds))
        for tree in collection.trees
    )
    return replace(collection, groups=groups, trees=trees)
