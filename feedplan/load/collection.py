"""A whole collection from its files: everything right as frozen values, or everything wrong at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from feedplan.errors import FilesHaveProblems, Problem
from feedplan.load.climate import read_climate
from feedplan.load.collection_builder import CollectionBuilder, sound_parts
from feedplan.load.folder import (
    CLIMATE,
    COLLECTION,
    JOURNAL,
    SCHEDULES,
    DiskFolder,
    Folder,
    Page,
    TextFolder,
    page_of,
)
from feedplan.load.journal import JournalNames, read_journal
from feedplan.load.problems import Findings, Passage
from feedplan.model.climate import Climate
from feedplan.model.collection import Collection
from feedplan.model.journal import Journal, Moved


@dataclass(frozen=True, slots=True)
class Loaded:
    """What the files say.

    warnings: doubtful practice. files: every file looked for, whether there or not. climate: None without a climate
    folder.
    """

    collection: Collection
    journal: Journal
    warnings: tuple[Problem, ...] = ()
    files: tuple[Path, ...] = ()
    climate: Climate | None = None


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
    if collection is None or findings.problems:
        return None
    _warn_of_empty_groups(collection, journal, file)
    return Loaded(collection, journal, findings.warnings, folder.files, climate)


def _journal(page: Page | None, names: JournalNames, findings: Findings) -> Journal:
    if page is None:
        return Journal()
    findings.add_misread(page.problems)
    return read_journal(page.value, Passage(page.spot, findings), names)


def _warn_of_empty_groups(collection: Collection, journal: Journal, file: Passage) -> None:
    """Notes groups that no tree stands in or was ever moved to."""
    used = {tree.group for tree in collection.trees}
    used |= {entry.fact.group or "" for entry in journal.entries if isinstance(entry.fact, Moved)}
    for name in collection.groups.keys() - used:
        file.named("groups", name).doubtful(f"group '{name}' has no trees")
