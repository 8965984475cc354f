"""A whole collection from its files: everything right as frozen values, or everything wrong at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from feedplan.errors import FilesHaveProblems, Problem
from feedplan.load.collection_models import CollectionModel, GroupModel, TreeModel
from feedplan.load.collection_parts import (
    away_of,
    feed_of,
    feed_uses,
    habits_of,
    note_of,
    place_of,
    pot_of,
    slug,
)
from feedplan.load.folder import COLLECTION, JOURNAL, SCHEDULES, DiskFolder, Folder, TextFolder
from feedplan.load.journal import Known, read_journal
from feedplan.load.parts import Parts, read_parts
from feedplan.load.problems import Findings, near_miss
from feedplan.load.schedules import Change, ScheduleBook
from feedplan.load.spots import Spot
from feedplan.load.vocabulary import Words, read_vocabulary
from feedplan.model.collection import Collection, Feed, Group, Tree
from feedplan.model.journal import Journal
from feedplan.model.moment import DayOfYear, Hemisphere
from feedplan.model.schedule import Schedule
from feedplan.model.stage import Vocabulary


@dataclass(frozen=True, slots=True)
class Loaded:
    """What the files say. warnings: doubtful practice. files: every file looked for, whether there or not."""

    collection: Collection
    journal: Journal
    warnings: tuple[Problem, ...] = ()
    files: tuple[Path, ...] = ()


def load_collection(path: str | Path) -> Loaded:
    """The collection in a folder, or whose collection.yaml that is. Raises FilesHaveProblems with all of them."""
    return _load(DiskFolder(path))


def load_text(collection: str, journal: str = "", schedules: Mapping[str, str] | None = None) -> Loaded:
    """A collection from texts, as if they stood in collection.yaml, journal.yaml and schedules/NAME.yaml.

    schedules: text by name, without .yaml. Raises FilesHaveProblems with all of them.
    """
    texts = {COLLECTION: collection, JOURNAL: journal}
    texts |= {
        f"{SCHEDULES}/{name.removesuffix('.yaml')}.yaml": text for name, text in (schedules or {}).items()
    }
    return _load(TextFolder(texts))


def _load(folder: Folder) -> Loaded:
    findings = Findings()
    page = folder.page(COLLECTION)
    assert page is not None
    findings.add(*page.problems)
    collection, known = None, Known(is_whole=False)
    if page.value is not None:
        builder = _Builder(folder, read_parts(page.value, page.spot, findings), page.spot, findings)
        collection, known = builder.collection(), builder.known()
    elif not page.problems:
        findings.at(page.spot, "is empty; write place, feeds, groups and trees")
    journal = Journal()
    journal_page = folder.page(JOURNAL)
    if journal_page is not None:
        findings.add(*journal_page.problems)
        journal = read_journal(journal_page.value, journal_page.spot, known, findings)
    if findings.problems or collection is None:
        raise FilesHaveProblems(findings.problems)
    return Loaded(collection, journal, findings.warnings, folder.files)


class _Builder:
    """Builds the collection out of its parts, looking up what they name."""

    def __init__(self, folder: Folder, parts: Parts, spot: Spot, findings: Findings) -> None:
        self._parts = parts
        self._spot = spot
        self._findings = findings
        here = Hemisphere.SOUTH if parts.is_south else Hemisphere.NORTH
        self._vocabulary: Vocabulary = read_vocabulary(folder, here, findings)
        self._words = Words(self._vocabulary.words.values())
        self._book = ScheduleBook(folder, here, self._vocabulary, findings)
        self._feeds: dict[str, Feed | None] = {}

    def collection(self) -> Collection | None:
        """The collection; what is wrong with it is noted, and then it may be None."""
        parts, findings = self._parts, self._findings
        place_spot = self._spot.child("place") or self._spot
        place = place_of(parts.place, place_spot, findings) if parts.place is not None else None
        self._feeds = {name: self._feed(name) for name in parts.feeds}
        groups = {name: self._group(name, part) for name, part in parts.groups.items() if part is not None}
        trees = self._trees()
        whole = parts.whole
        if whole is None or place is None:
            return None
        self._check_whole(whole)
        return Collection(
            identity=whole.id or slug(place.name),
            place=place,
            habits=habits_of(whole.habits, self._spot.child("habits") or self._spot, findings),
            feeds={name: feed for name, feed in self._feeds.items() if feed is not None},
            groups={name: group for name, group in groups.items() if group is not None},
            trees=trees,
            vocabulary=self._vocabulary,
            away=tuple(away_of(a, self._spot.at(("away", i)), findings) for i, a in enumerate(whole.away)),
            notes=tuple(note_of(n, self._spot.at(("notes", i))) for i, n in enumerate(whole.notes)),
            own_dates=self._own_dates(whole),
            since=whole.since,
            source=self._spot.source,
        )

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
        return None if model is None else feed_of(name, model, self._spot.at(("feeds", name)), self._findings)

    def _group(self, name: str, model: GroupModel) -> Group | None:
        spot = self._spot.at(("groups", name))
        schedule = self._book.resolve(model.schedule, spot.child("schedule") or spot, self._changes_of(name))
        feeds = feed_uses(
            model.feed, spot.child("feed") or spot, f"group '{name}'", self._feeds, self._findings
        )
        if schedule is None:
            return None
        return Group(name, schedule, feeds, model.bench or "", spot.source)

    def _changes_of(self, group: str) -> tuple[Change, ...]:
        model = self._parts.groups[group]
        if model is None or not model.changes:
            return ()
        return (Change(f"group {group}", model.changes, self._spot.at(("groups", group, "changes"))),)

    def _trees(self) -> tuple[Tree, ...]:
        """The trees in their order, names told apart."""
        first: dict[str, int] = {}
        trees_spot = self._spot.child("trees") or self._spot
        trees = []
        for index, model in self._parts.trees.items():
            spot = trees_spot.child(index) or trees_spot
            if model.name in first:
                line = trees_spot.at((first[model.name],)).source.line
                self._findings.at(
                    spot.child("name") or spot,
                    f"tree '{model.name}' stands already in line {line}; give one another name",
                )
            first.setdefault(model.name, index)
            tree = self._tree(model, spot)
            if tree is not None:
                trees.append(tree)
        return tuple(trees)

    def _tree(self, model: TreeModel, spot: Spot) -> Tree | None:
        if model.group not in self._parts.groups:
            hint = near_miss(model.group, self._parts.groups)
            self._findings.at(
                spot.child("group") or spot,
                f"group of tree '{model.name}': no group is called '{model.group}'{hint}",
            )
            return None
        owner = f"tree '{model.name}'"
        pot = pot_of(model.pot, spot.child("pot") or spot, owner, self._findings)
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
            schedule=self._own_schedule(model, spot) if model.changes else None,
            feeds=feed_uses(model.feed, spot.child("feed") or spot, owner, self._feeds, self._findings)
            if model.feed
            else (),
            about=model.about or "",
            source=spot.source,
        )

    def _own_schedule(self, model: TreeModel, spot: Spot) -> Schedule | None:
        group = self._parts.groups[model.group]
        if group is None:
            return None
        where = self._spot.at(("groups", model.group, "schedule"))
        own = Change(f"tree {model.name}", model.changes or {}, spot.child("changes") or spot)
        return self._book.resolve(group.schedule, where, (*self._changes_of(model.group), own))

    def _own_dates(self, whole: CollectionModel) -> dict[tuple[str, str], DayOfYear]:
        """The grower's own typical dates; they are the place's own and never turned."""
        dates = {}
        for species, stages in whole.stages.items():
            for text, day in stages.items():
                stage = self._words.stage(text)
                if stage is None:
                    place = self._spot.at(("stages", species)).key(text)
                    self._findings.at(
                        place,
                        f"stages of '{species}': no stage is called '{text}'{self._words.stage_hint(text)}",
                    )
                dates[species, stage or text] = day
        return dates

    def _check_whole(self, whole: CollectionModel) -> None:
        """Notes groups without a tree and a collection without any."""
        used = {tree.group for tree in whole.trees}
        for name in whole.groups:
            if name not in used:
                self._findings.warn(self._spot.at(("groups", name)), f"group '{name}' has no trees")
        if not whole.trees:
            self._findings.at(
                self._spot.key("trees"),
                "trees is empty; write for example {name: Brindle, species: larch, ...}",
            )
