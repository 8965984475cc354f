"""Builds a collection out of the parts that could be read, looking up what they name."""

from __future__ import annotations

from feedplan.load.building.collection_parts import (
    away_of,
    feed_of,
    feed_uses,
    habits_of,
    note_of,
    place_of,
    pot_of,
    slug,
    strength_slips,
)
from feedplan.load.building.mix_parts import check_mix
from feedplan.load.building.parts import Parts
from feedplan.load.building.schedules import Change, ScheduleBook
from feedplan.load.building.vocabulary import Words, read_vocabulary
from feedplan.load.building.water_parts import bench_of, water_source_of, water_use_of
from feedplan.load.building.zones import lies_in_other_hemisphere
from feedplan.load.findings import Findings, near_miss
from feedplan.load.folder import Folder
from feedplan.load.journal_files.journal_entries import Known
from feedplan.load.journal_files.learned_file import read_learned
from feedplan.load.models.collection_models import CollectionModel, FeedUseModel, GroupModel, TreeModel
from feedplan.load.text.spots import Spot
from feedplan.model.collection import Collection, Feed, FeedUse, Group, Place, Tree
from feedplan.model.moment import DayOfYear, Hemisphere
from feedplan.model.schedule import Schedule
from feedplan.model.water import Bench, WaterUse


class CollectionBuilder:
    """Builds one collection. spot: the place of the whole file."""

    def __init__(self, folder: Folder, parts: Parts, spot: Spot, findings: Findings) -> None:
        self._folder = folder
        self._parts = parts
        self._spot = spot
        self._findings = findings
        here = Hemisphere.SOUTH if parts.is_south else Hemisphere.NORTH
        self._vocabulary = read_vocabulary(folder, here, findings)
        self._words = Words(self._vocabulary.words.values())
        self._book = ScheduleBook(folder, here, self._vocabulary, findings)
        self._feeds = {name: self._feed(name) for name in parts.feeds}
        self._waters = {
            name: water_source_of(name, part, spot.key_at(("water", name)), findings)
            for name, part in (parts.whole.water if parts.whole is not None else {}).items()
        }

    def collection(self) -> Collection | None:
        """The collection; what is wrong with it is noted, and then it may be None."""
        parts, spot, findings = self._parts, self._spot, self._findings
        place = self._place()
        groups = {name: self._group(name, part) for name, part in parts.groups.items() if part is not None}
        trees = self._trees()
        whole = parts.whole
        if whole is None or place is None:
            return None
        if not whole.trees:
            findings.at(
                spot.key("trees"), "trees is empty; write one, such as - {name: Brindle, species: larch, ...}"
            )
        return Collection(
            identity=whole.id or slug(place.name),
            place=place,
            habits=habits_of(whole.habits),
            feeds={name: feed for name, feed in self._feeds.items() if feed is not None},
            groups={name: group for name, group in groups.items() if group is not None},
            trees=trees,
            vocabulary=self._vocabulary,
            away=tuple(away_of(part, spot.at(("away", i)), findings) for i, part in enumerate(whole.away)),
            notes=tuple(note_of(part, spot.at(("notes", i))) for i, part in enumerate(whole.notes)),
            own_dates=self._own_dates(whole),
            since=whole.since,
            source=spot.source,
            benches=self._benches(whole),
            waters=self._waters,
            learned=read_learned(self._folder, self._words, findings),
        )

    def _benches(self, whole: CollectionModel) -> dict[str, Bench]:
        """The benches; one where nothing stands is noted."""
        benches = (*(group.bench for group in whole.groups.values()), *(tree.bench for tree in whole.trees))
        used = {bench for bench in benches if bench}
        for name in whole.benches.keys() - used:
            place = self._spot.key_at(("benches", name))
            self._findings.warn(place, f"nothing stands on bench '{name}'{near_miss(name, used)}")
        return {
            name: bench_of(name, part, self._spot.key_at(("benches", name)))
            for name, part in whole.benches.items()
        }

    def _place(self) -> Place | None:
        """The place; a latitude that looks as if its sign were forgotten is doubtful."""
        if self._parts.place is None:
            return None
        place = place_of(self._parts.place)
        if lies_in_other_hemisphere(place.latitude, place.time_zone):
            side = "south" if place.latitude < 0 else "north"
            self._findings.warn(
                self._spot.at(("place", "latitude")),
                f"latitude of place: {place.latitude} is {side} of the equator and {place.time_zone} is not; "
                f"if you meant {-place.latitude}, every date is half a year off",
            )
        return place

    def known(self) -> Known:
        """What the journal may speak of."""
        parts = self._parts
        return Known(
            parts.tree_names,
            parts.groups.keys(),
            self._feeds,
            {tree.species for tree in parts.trees.values()},
            self._book.all_rules,
            self._words,
            parts.has_trees,
        )

    def _feed(self, name: str) -> Feed | None:
        model = self._parts.feeds[name]
        if model is None:
            return None
        return feed_of(name, model, self._spot.at(("feeds", name)), self._findings)

    def _group(self, name: str, model: GroupModel) -> Group | None:
        spot = self._spot.at(("groups", name))
        schedule = self._book.resolve(model.schedule, spot.at(("schedule",)), self._changes_of(name))
        feeds = self._uses(model.feed, spot, f"group '{name}'", schedule)
        solid_feeds = self._solid_uses(model.solid_feed, spot, f"group '{name}'")
        check_mix(name, model, schedule, self._feeds, spot=spot, findings=self._findings)
        if schedule is None:
            return None
        return Group(
            name,
            schedule,
            feeds,
            model.bench or "",
            self._spot.key_at(("groups", name)).source,
            solid_feeds,
            model.ratio,
            tuple(model.mix_of),
            model.mix,
            self._water_of(name, model, spot),
            model.flush,
        )

    def _water_of(self, group: str, model: GroupModel, spot: Spot) -> WaterUse | None:
        """The water of a group; nothing is said of it while the collection is unsound."""
        if self._parts.whole is None:
            return None
        return water_use_of(model.water, self._waters, group, spot, self._findings)

    def _uses(
        self, parts: list[FeedUseModel], spot: Spot, owner: str, schedule: Schedule | None
    ) -> tuple[FeedUse, ...]:
        """The feeds in use, checked against the schedule they are used in."""
        place = spot.at(("feed",))
        uses = feed_uses(parts, place, owner, self._feeds, self._findings)
        for slip in strength_slips(schedule, uses, self._feeds):
            self._findings.at(place, f"feed of {owner}: {slip}")
        return uses

    def _solid_uses(self, parts: list[FeedUseModel], spot: Spot, owner: str) -> tuple[FeedUse, ...]:
        """The coated or organic feeds in use."""
        place = spot.at(("solid_feed",))
        return feed_uses(parts, place, owner, self._feeds, self._findings, key="solid_feed")

    def _changes_of(self, group: str) -> tuple[Change, ...]:
        model = self._parts.groups[group]
        if model is None or not model.changes:
            return ()
        return (Change(f"group {group}", model.changes, self._spot.at(("groups", group, "changes"))),)

    def _trees(self) -> tuple[Tree, ...]:
        """The trees in their order; names used twice are noted."""
        first: dict[str, int] = {}
        whole = self._spot.at(("trees",))
        trees = []
        for index, model in self._parts.trees.items():
            spot = whole.at((index,))
            if model.name in first:
                line = whole.at((first[model.name],)).source.line
                self._findings.at(
                    spot.at(("name",)),
                    f"tree '{model.name}' stands already in line {line}; give one of them another name",
                )
            first.setdefault(model.name, index)
            tree = self._tree(model, spot)
            if tree is not None:
                trees.append(tree)
        return tuple(trees)

    def _tree(self, model: TreeModel, spot: Spot) -> Tree | None:
        owner = f"tree '{model.name}'"
        if model.group not in self._parts.groups:
            hint = near_miss(model.group, self._parts.groups)
            self._findings.at(
                spot.at(("group",)), f"group of {owner}: no group is called '{model.group}'{hint}"
            )
            return None
        pot = pot_of(model.pot, spot, owner, self._findings)
        schedule = self._own_schedule(model, spot) if model.changes else None
        feeds = self._uses(model.feed, spot, owner, schedule) if model.feed else ()
        if pot is None:
            return None
        return Tree(
            name=model.name,
            species=model.species,
            group=model.group,
            pot=pot,
            count=model.count,
            bench=model.bench or "",
            weak=model.weak,
            since=model.since,
            canopy_cm2=model.canopy,
            schedule=schedule,
            feeds=feeds,
            about=model.about or "",
            source=spot.source,
            solid_feeds=self._solid_uses(model.solid_feed, spot, owner) if model.solid_feed else (),
            substrate=model.mix,
        )

    def _own_schedule(self, model: TreeModel, spot: Spot) -> Schedule | None:
        """The schedule of a tree with changes of its own, laid over those of its group."""
        group = self._parts.groups[model.group]
        if group is None:
            return None
        where = self._spot.at(("groups", model.group, "schedule"))
        own = Change(f"tree {model.name}", model.changes or {}, spot.at(("changes",)))
        return self._book.resolve(group.schedule, where, (*self._changes_of(model.group), own))

    def _own_dates(self, whole: CollectionModel) -> dict[tuple[str, str], DayOfYear]:
        """The grower's own typical dates; they are the place's own and never turned."""
        dates = {}
        for species, stages in whole.stages.items():
            place = self._spot.at(("stages", species))
            for text, day in stages.items():
                stage = self._words.stage(text)
                if stage is None:
                    hint = self._words.stage_hint(text)
                    self._findings.at(
                        place.key(text), f"stages of '{species}': no stage is called '{text}'{hint}"
                    )
                dates[species, stage or text] = day
        return dates
