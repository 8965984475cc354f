"""A whole collection from its files: everything right as frozen values, or everything wrong at once."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from feedplan.dose.measures import measured_in
from feedplan.errors import FilesHaveProblems, Problem
from feedplan.load import collection_parts as parts
from feedplan.load.climate import read_climate
from feedplan.load.collection_models import CollectionModel, FeedUseModel, GroupModel, TreeModel
from feedplan.load.copies import copies_of_journal, copies_of_others
from feedplan.load.feed_uses import feed_uses, strength_slips
from feedplan.load.feeds import feed_of
from feedplan.load.folder import (
    CLIMATE,
    COLLECTION,
    JOURNAL,
    SCHEDULES,
    WAS_NOT_SET,
    DiskFolder,
    Folder,
    Page,
    TextFolder,
    page_of,
)
from feedplan.load.history import HISTORY, NOTHING_KEPT, TOLD, Memory, guard_journal
from feedplan.load.journal import read_journal
from feedplan.load.journal_names import JournalNames
from feedplan.load.meanings import bench_meant
from feedplan.load.problems import Findings, Passage
from feedplan.load.schedules import ScheduleBook, ScheduleChange
from feedplan.load.sound_parts import SoundParts, sound_parts
from feedplan.load.vocabulary import StageWords, read_learned, read_vocabulary
from feedplan.model.climate import Climate
from feedplan.model.collection import Bench, Collection, FeedUse, Group, Tree, WaterUse
from feedplan.model.journal import Journal, Moved
from feedplan.model.moment import DayOfYear, Hemisphere
from feedplan.model.schedule import Schedule
from feedplan.model.source import SHIPPED


@dataclass(frozen=True, slots=True)
class Loaded:
    """What the files say.

    warnings: doubtful practice. questions: what only the grower knows, of the files alone.
    files: every file looked for, whether there or not. climate: None without a climate
    folder. memory: what was told before, as written. copies: files that two computers left by writing at once.
    """

    collection: Collection
    journal: Journal
    warnings: tuple[Problem, ...] = ()
    files: tuple[Path, ...] = ()
    climate: Climate | None = None
    memory: Memory = NOTHING_KEPT
    questions: tuple[Problem, ...] = ()
    copies: tuple[Problem, ...] = ()


def load_collection(path: str | Path) -> Loaded:
    """The collection in a folder, or whose collection.yaml that is. Raises FilesHaveProblems with all of them."""
    return _load(DiskFolder(path))


def load_text(
    collection: str,
    journal: str = "",
    schedules: Mapping[str, str] | None = None,
    climate: Mapping[str, str] | None = None,
) -> Loaded:
    """A collection from texts, as if they stood in collection.yaml, journal.yaml, schedules/ and climate/.

    schedules: text by name, without .yaml; climate: text by name, such as "normals.csv".
    Raises FilesHaveProblems with all of them.
    """
    texts = {COLLECTION: collection, JOURNAL: journal}
    texts |= {
        f"{SCHEDULES}/{name.removesuffix('.yaml')}.yaml": text for name, text in (schedules or {}).items()
    }
    texts |= {f"{CLIMATE}/{name}": text for name, text in (climate or {}).items()}
    return _load(TextFolder(texts))


def problems_with_journal(path: Path, journal: str, file: str) -> tuple[Problem, ...]:
    """What would be wrong with a collection if its journal read so; only the journal's own shape without one.

    path: the collection.yaml; file: the journal's name in messages.
    """
    findings = Findings()
    journal_page = page_of(journal, file)
    if path.exists():
        _read(DiskFolder(path), journal_page, findings)
    else:
        _journal(journal_page, JournalNames(is_whole=False), findings)
    return findings.problems


def _load(folder: Folder) -> Loaded:
    findings = Findings()
    loaded = _read(folder, folder.page(JOURNAL), findings)
    if loaded is None:
        raise FilesHaveProblems(findings.problems)
    return loaded


def _read(folder: Folder, journal_page: Page | None, findings: Findings) -> Loaded | None:
    """Everything, or None with its problems noted."""
    page = folder.page(COLLECTION)
    assert page is not None
    with measured_in(parts.units_told(page.value)):
        return _read_parts(folder, page, journal_page, findings)


def _read_parts(folder: Folder, page: Page, journal_page: Page | None, findings: Findings) -> Loaded | None:
    """The same, in the measures of the place."""
    findings.add_misread(page.problems)
    file = Passage(page.spot, findings)
    collection, names = None, JournalNames(is_whole=False)
    if page.value is not None:
        builder = CollectionBuilder(folder, sound_parts(page.value, file), file)
        collection, names = builder.collection(), builder.names()
    elif not page.problems:
        file.wrong("is empty; write place, feeds, groups and trees")
    journal = _journal(journal_page, names, findings)
    climate = read_climate(folder, findings)
    memory = Memory(folder.memory(HISTORY), folder.memory(TOLD))
    copies = copies_of_journal(folder, journal_page)
    guard_journal(journal, memory, journal_page, findings, copies.holding)
    if collection is None or findings.problems:
        return None
    _ask_about_empty_groups(collection, journal, file)
    _ask_about_replaced_values(collection, file)
    found = (*copies.found, *copies_of_others(folder, memory))
    return Loaded(
        collection, journal, findings.warnings, folder.files, climate, memory, findings.questions, found
    )


def _journal(page: Page | None, names: JournalNames, findings: Findings) -> Journal:
    if page is None:
        return Journal()
    findings.add_misread(page.problems)
    return read_journal(page.value, Passage(page.spot, findings), names)


def _ask_about_empty_groups(collection: Collection, journal: Journal, file: Passage) -> None:
    """Notes groups that no tree stands in or was ever moved to."""
    used = {tree.group for tree in collection.trees}
    used |= {entry.fact.group or "" for entry in journal.entries if isinstance(entry.fact, Moved)}
    empty = [name for name in collection.groups if name not in used]
    if empty:
        names = ", ".join(f"'{name}'" for name in empty)
        told = f"group {names} has no trees" if len(empty) == 1 else f"the groups {names} have no trees"
        file.named("groups", empty[0]).ask(f"{told}; are any still to come?")


def _ask_about_replaced_values(collection: Collection, file: Passage) -> None:
    """Asks about values of an own schedule that every group with it changes, so that they count nowhere."""
    users: dict[str, list[Group]] = {}
    for group in collection.groups.values():
        if not group.schedule.source.file.startswith(SHIPPED):
            users.setdefault(group.schedule.name, []).append(group)
    for name, groups in users.items():
        changed = [
            {k: v for layer in g.schedule.layers[1:] for k, v in layer.changed.items()} for g in groups
        ]
        shared = set.intersection(*(set(keys) for keys in changed))
        for key in sorted(key for key in shared if not changed[0][key].endswith(WAS_NOT_SET)):
            who = "group" if len(groups) == 1 else "groups"
            told = f"{who} {', '.join(g.name for g in groups)} changes '{key.replace(' / ', ': ')}' of your schedule"
            where = file.at("groups", groups[0].name).key("changes")
            where.ask(
                f"{told} '{name}', so the value written there counts nowhere; is it to be changed there?"
            )


def slug(name: str) -> str:
    """A name in small letters, digits and hyphens, any script; "collection" when nothing is left."""
    plain = unicodedata.normalize("NFC", name).casefold()
    return re.sub(r"[\W_]+", "-", plain).strip("-") or "collection"


class CollectionBuilder:
    """Builds one collection. file: the whole of collection.yaml."""

    def __init__(self, folder: Folder, sound: SoundParts, file: Passage) -> None:
        self._folder = folder
        self._sound = sound
        self._file = file
        hemisphere = Hemisphere.SOUTH if sound.is_south else Hemisphere.NORTH
        self._vocabulary = read_vocabulary(folder, hemisphere, file.findings)
        self._words = StageWords(self._vocabulary.words.values())
        self._book = ScheduleBook(folder, hemisphere, self._vocabulary, file.findings)
        self._feeds = {
            name: None if model is None else feed_of(name, model, file.at("feeds", name))
            for name, model in sound.feeds.items()
        }
        self._waters = {
            name: parts.water_source_of(name, model, file.named("water", name))
            for name, model in (sound.whole.water if sound.whole is not None else {}).items()
        }

    def collection(self) -> Collection | None:
        """The collection; what is wrong with it is noted, and then it may be None."""
        file, whole = self._file, self._sound.whole
        place = None if self._sound.place is None else parts.place_of(self._sound.place, file.at("place"))
        groups = {
            name: self._group(name, part) for name, part in self._sound.groups.items() if part is not None
        }
        trees = self._trees()
        if whole is None or place is None:
            return None
        if not whole.trees:
            file.key("trees").wrong(
                "trees is empty; write one, such as - {name: Brindle, species: larch, ...}"
            )
        return Collection(
            identity=whole.id or slug(place.name),
            place=place,
            habits=parts.habits_of(whole.habits, parts.measures_of(whole.measures, whole.habits, file), file),
            feeds={name: feed for name, feed in self._feeds.items() if feed is not None},
            groups={name: group for name, group in groups.items() if group is not None},
            trees=trees,
            vocabulary=self._vocabulary,
            away=tuple(parts.away_of(part, file.at("away", i)) for i, part in enumerate(whole.away)),
            notes=tuple(parts.note_of(part, file.at("notes", i)) for i, part in enumerate(whole.notes)),
            own_dates=self._own_dates(whole),
            since=whole.since,
            source=file.source,
            benches=self._benches(whole),
            waters=self._waters,
            learned=read_learned(self._folder, self._words, file.findings),
        )

    def names(self) -> JournalNames:
        """What the journal may speak of."""
        sound = self._sound
        return JournalNames(
            sound.tree_names,
            sound.groups.keys(),
            self._feeds,
            {tree.species for tree in sound.trees.values()},
            self._book.all_rules,
            self._words,
            sound.has_trees,
            {tree.name: tree.count for tree in sound.trees.values()},
            self._vocabulary.kinds,
            self._all_benches,
            self._feeds_used(),
        )

    def _feeds_used(self) -> dict[tuple[str, str], list[list[FeedUseModel]]]:
        """The feeds that trees use, by what an entry may call those trees: a tree its own, or those of its group."""
        groups = {name: list((g and g.feed) or ()) for name, g in self._sound.groups.items()}
        used = {("group", name): [feeds] for name, feeds in groups.items()}
        for tree in self._sound.trees.values():
            feeds = list(tree.feed or ()) or groups.get(tree.group, [])
            calls = (("tree", tree.name), ("species", tree.species), ("everything", ""))
            for call in (*calls, ("group", tree.group)):
                if feeds not in (lists := used.setdefault(call, [])):
                    lists.append(feeds)
        return used

    @property
    def _all_benches(self) -> frozenset[str]:
        """Every bench that is described or on which something stands."""
        sound = self._sound
        groups = (group.bench for group in sound.groups.values() if group is not None)
        described = sound.whole.benches.keys() if sound.whole is not None else ()
        used = (*groups, *(tree.bench for tree in sound.trees.values()))
        return frozenset({*described, *(bench for bench in used if bench)})

    def _benches(self, whole: CollectionModel) -> dict[str, Bench]:
        """The benches; one where nothing stands, and one that looks like a slip for another, are asked about."""
        used: set[tuple[tuple[str | int, ...], str | None]] = set()
        used |= {(("groups", name, "bench"), group.bench) for name, group in whole.groups.items()}
        used |= {(("trees", i, "bench"), tree.bench) for i, tree in enumerate(whole.trees)}
        likely = set()
        for path, name in used:
            if name is not None and (meant := bench_meant(name, whole.benches)):
                self._file.ask(f"no bench is called '{name}' under benches; did you mean '{meant}'?", *path)
                likely.add(meant)
        for name in whole.benches.keys() - {bench for _, bench in used} - likely:
            self._file.named("benches", name).ask(f"nothing stands on bench '{name}'; is it still there?")
        return {
            name: parts.bench_of(name, model, self._file.named("benches", name))
            for name, model in whole.benches.items()
        }

    def _group(self, name: str, model: GroupModel) -> Group | None:
        part, owner = self._file.at("groups", name), f"group '{name}'"
        schedule = self._book.resolve(model.schedule, part.at("schedule"), self._changes_of(name))
        feeds = self._uses(model, owner, schedule, part)
        solid_feeds = self._solid_uses(model, owner, part)
        parts.check_mix(owner, model, schedule, self._feeds, part)
        if schedule is None:
            return None
        return Group(
            name,
            schedule,
            feeds,
            model.bench or "",
            self._file.named("groups", name).source,
            solid_feeds,
            model.ratio,
            tuple(model.mix_of),
            model.mix,
            self._water_of(model, owner, part),
            model.flush,
        )

    def _water_of(self, model: GroupModel, owner: str, part: Passage) -> WaterUse | None:
        """The water of a group; nothing is said of it while the collection is unsound."""
        if self._sound.whole is None:
            return None
        return parts.water_use_of(model.water, self._waters, owner, part)

    def _uses(
        self, model: GroupModel | TreeModel, owner: str, schedule: Schedule | None, part: Passage
    ) -> tuple[FeedUse, ...]:
        """The feeds in use, checked against the schedule they are used in."""
        uses = feed_uses(model.feed, "feed", owner, self._feeds, part.at("feed"))
        for slip in strength_slips(schedule, uses, self._feeds, self._vocabulary.calendars):
            part.wrong(f"feed of {owner}: {slip}", "feed")
        return uses

    def _solid_uses(self, model: GroupModel | TreeModel, owner: str, part: Passage) -> tuple[FeedUse, ...]:
        """The solid feeds in use."""
        return feed_uses(model.solid_feed, "solid_feed", owner, self._feeds, part.at("solid_feed"))

    def _changes_of(self, group: str) -> tuple[ScheduleChange, ...]:
        model = self._sound.groups[group]
        if model is None or not model.changes:
            return ()
        return (ScheduleChange("group", group, model.changes, self._file.at("groups", group, "changes")),)

    def _trees(self) -> tuple[Tree, ...]:
        """The trees in their order; names used twice are noted."""
        first: dict[str, int] = {}
        trees = []
        for index, model in self._sound.trees.items():
            part = self._file.at("trees", index)
            if model.name in first:
                line = self._file.at("trees", first[model.name]).source.line
                part.wrong(
                    f"tree '{model.name}' stands already in line {line}; give one of them another name",
                    "name",
                )
            first.setdefault(model.name, index)
            tree = self._tree(model, part)
            if tree is not None:
                trees.append(tree)
        return tuple(trees)

    def _tree(self, model: TreeModel, part: Passage) -> Tree | None:
        owner = f"tree '{model.name}'"
        if model.group not in self._sound.groups:
            part.at("group").unknown("group", model.group, self._sound.groups, f"group of {owner}")
            return None
        pot = parts.pot_of(model.pot, owner, part.at("pot"))
        schedule = self._own_schedule(model, part) if model.changes else None
        feeds = self._uses(model, owner, schedule, part)
        if pot is None:
            return None
        return Tree(
            name=model.name,
            species=model.species,
            group=model.group,
            pot=pot.for_one_of(model.count),
            count=model.count,
            bench=model.bench or "",
            weak=model.weak,
            since=model.since,
            canopy_cm2=model.canopy,
            schedule=schedule,
            feeds=feeds,
            about=model.about or "",
            source=part.source,
            solid_feeds=self._solid_uses(model, owner, part),
            substrate=model.mix,
            repot_every_years=model.repot_every,
            old=model.old,
        )

    def _own_schedule(self, model: TreeModel, part: Passage) -> Schedule | None:
        """The schedule of a tree with changes of its own, laid over those of its group."""
        group = self._sound.groups[model.group]
        if group is None:
            return None
        own = ScheduleChange("tree", model.name, model.changes or {}, part.at("changes"))
        place = self._file.at("groups", model.group, "schedule")
        return self._book.resolve(group.schedule, place, (*self._changes_of(model.group), own))

    def _own_dates(self, whole: CollectionModel) -> dict[tuple[str, str], DayOfYear]:
        """The grower's own typical dates; they are the place's own and never turned."""
        return {
            (species, self._words.known_stage(text, part.key(text), f"stages of '{species}'")): day
            for species, stages in whole.stages.items()
            for part in (self._file.at("stages", species),)
            for text, day in stages.items()
        }
