"""A whole collection from its files: everything right as frozen values, or everything wrong at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from feedplan.errors import FilesHaveProblems, Problem
from feedplan.load.build import CollectionBuilder
from feedplan.load.findings import Findings
from feedplan.load.folder import COLLECTION, JOURNAL, SCHEDULES, DiskFolder, Folder, TextFolder
from feedplan.load.journal import read_journal
from feedplan.load.journal_entries import Known
from feedplan.load.parts import read_parts
from feedplan.load.spots import Spot
from feedplan.model.collection import Collection
from feedplan.model.journal import Journal, Moved


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
    findings.add_misread(page.problems)
    collection, known = None, Known(is_whole=False)
    if page.value is not None:
        parts = read_parts(page.value, page.spot, findings)
        builder = CollectionBuilder(folder, parts, page.spot, findings)
        collection, known = builder.collection(), builder.known()
    elif not page.problems:
        findings.at(page.spot, "is empty; write place, feeds, groups and trees")
    journal = _journal(folder, known, findings)
    if findings.problems or collection is None:
        raise FilesHaveProblems(findings.problems)
    _warn_of_empty_groups(collection, journal, page.spot, findings)
    return Loaded(collection, journal, findings.warnings, folder.files)


def _journal(folder: Folder, known: Known, findings: Findings) -> Journal:
    page = folder.page(JOURNAL)
    if page is None:
        return Journal()
    findings.add_misread(page.problems)
    return read_journal(page.value, page.spot, known, findings)


def _warn_of_empty_groups(collection: Collection, journal: Journal, spot: Spot, findings: Findings) -> None:
    """Notes groups that no tree stands in or was ever moved to."""
    used = {tree.group for tree in collection.trees}
    used |= {entry.fact.group or "" for entry in journal.entries if isinstance(entry.fact, Moved)}
    for name in collection.groups:
        if name not in used:
            findings.warn(spot.key_at(("groups", name)), f"group '{name}' has no trees")
