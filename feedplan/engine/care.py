"""What applies to some trees on a day: group, schedule, bench, products, mix and water. Nobody else answers that.

What a tree has of its own (a schedule with changes, products, a bench) counts while it stands in the group that the
collection names; once moved to another group it is cared for as that group is. Its pot and its mix go with it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

from feedplan.dose.grade import Ratio
from feedplan.model.collection import (
    DEFAULT_SUBSTRATE,
    OPEN_BENCH,
    Bench,
    Collection,
    Feed,
    FeedUse,
    Group,
    PotColour,
    Substrate,
    Tree,
    used_on,
)
from feedplan.model.course import Stay
from feedplan.model.journal import Entry, Moved
from feedplan.model.schedule import Schedule
from feedplan.weather.root_zone import ALBEDO


@dataclass(frozen=True, slots=True)
class Shelter:
    """From a day on: whether no rain reaches any of the trees, and whether all of them stand indoors.

    warmer_by_c, shade, albedo: of their root zones as the coldest has it; see `root_zone_mean_c` [°C, 0-1, 0-1].
    """

    start: date
    under_cover: bool
    indoors: bool
    warmer_by_c: float = 0.0
    shade: float = 0.0
    albedo: float = ALBEDO[PotColour.BROWN]


@dataclass(frozen=True)
class Care:
    """The care of trees that share a course of events. stays: the groups they have stood in, in day order.

    moves: their moves, in day order. All trees have the same schedule and products of their own, if any; benches, pots
    and mixes may differ from tree to tree.
    """

    trees: tuple[Tree, ...]
    stays: tuple[Stay, ...]
    moves: tuple[Entry, ...]
    collection: Collection = field(compare=False, repr=False)

    def group_on(self, day: date) -> str:
        """The group on a day; before the first stay, the first."""
        stays = self.stays
        if len(stays) == 1:
            return stays[0].group
        return next((stay.group for stay in reversed(stays) if stay.start <= day), stays[0].group)

    def schedule_of(self, stay: Stay) -> Schedule:
        """The schedule of a stay: the trees' own, with its changes, while they are where the collection has them."""
        own = self.trees[0].schedule
        return own if own is not None and self._is_own(stay.group) else self._group(stay.group).schedule

    def schedule_on(self, day: date) -> Schedule:
        """The schedule in force on a day."""
        own = self.trees[0].schedule
        group = self.group_on(day)
        return own if own is not None and self._is_own(group) else self._group(group).schedule

    def feed_on(self, day: date) -> Feed | None:
        """The product dissolved for them on a day; None where none is named."""
        return self._used(self.trees[0].feeds, self._group(self.group_on(day)).feeds, day)

    def solid_feed_on(self, day: date) -> Feed | None:
        """The product laid on their pots on a day; None where none is named."""
        return self._used(self.trees[0].solid_feeds, self._group(self.group_on(day)).solid_feeds, day)

    @cached_property
    def solid_feed_changes(self) -> tuple[date, ...]:
        """The days from which another product may be laid, in day order; between two of them it is the same."""
        groups = (self._group(stay.group).solid_feeds for stay in self.stays)
        uses = (use for uses in (self.trees[0].solid_feeds, *groups) for use in uses)
        starts = (use.start for use in uses if use.start is not None)
        return tuple(sorted({*starts, *(stay.start for stay in self.stays)}))

    def ratio_on(self, day: date) -> Ratio | None:
        """What is mixed for them from the shelf where no product is named."""
        return self._group(self.group_on(day)).ratio

    def substrate_of(self, tree: Tree, day: date) -> Substrate:
        """What a tree's pot is filled with: told of it, of its group, or taken as mineral."""
        return tree.substrate or self._group(self.group_on(day)).substrate or DEFAULT_SUBSTRATE

    def repot_every_years(self, tree: Tree, day: date) -> int | None:
        """How often a tree is repotted: told of it, or by its schedule on a day; None when nobody says [years]."""
        return tree.repot_every_years or self.schedule_on(day).repot_every_years

    def bench_name(self, tree: Tree, day: date) -> str:
        """Where a tree stands on a day: where it was moved last, else its own bench, else its group's.

        A move to another group takes it to that group's bench; where the group names none it stays where it was. Empty
        when no bench is told.
        """
        group, last = self.group_on(day), ""
        for entry in self.moves:
            assert isinstance(entry.fact, Moved)
            if entry.day <= day:
                last = entry.fact.bench or self._home(tree, entry.fact.group or "") or last
        return last or self._home(tree, group) or tree.bench

    def _home(self, tree: Tree, group: str) -> str:
        """The bench a tree has in a group: its own in the group the collection names, else the group's."""
        if not group:
            return ""
        return (tree.bench if self._is_own(group) else "") or self._group(group).bench

    def bench_on(self, tree: Tree, day: date) -> Bench:
        """What is told of that bench; in the open where nothing is, indoors where the schedule says so."""
        name = self.bench_name(tree, day)
        told = self.collection.benches.get(name)
        if told is not None:
            return told
        if self.schedule_on(day).indoors:
            return Bench(name or self.group_on(day), under_cover=True, indoors=True)
        return Bench(name) if name else OPEN_BENCH

    def place_of(self, tree: Tree, day: date) -> str:
        """What a person calls the place where a tree stands: its bench, else its group."""
        return self.bench_name(tree, day) or self.group_on(day)

    def shelter_on(self, day: date) -> Shelter:
        """What keeps the weather from them on a day; rain and heat count as long as they reach one of them."""
        return next((s for s in reversed(self.shelters) if s.start <= day), self.shelters[0])

    @cached_property
    def shelters(self) -> tuple[Shelter, ...]:
        """All that has sheltered them or will, in day order."""
        found = []
        for start in sorted({date.min, *(stay.start for stay in self.stays), *(e.day for e in self.moves)}):
            benches = [self.bench_on(tree, start) for tree in self.trees]
            found.append(
                Shelter(
                    start,
                    under_cover=all(b.under_cover for b in benches),
                    indoors=all(b.indoors for b in benches),
                    warmer_by_c=min(b.warmth_c for b in benches),
                    shade=float(max(b.shade for b in benches)),
                    albedo=max(ALBEDO[tree.pot.colour] for tree in self.trees),
                )
            )
        return tuple(found)

    def _group(self, name: str) -> Group:
        return self.collection.groups[name]

    def _is_own(self, group: str) -> bool:
        return group == self.trees[0].group

    def _used(self, own: tuple[FeedUse, ...], of_group: tuple[FeedUse, ...], day: date) -> Feed | None:
        uses = own if own and self._is_own(self.group_on(day)) else of_group
        current = used_on(day, uses)
        return self.collection.feeds[current.feed] if current is not None else None
