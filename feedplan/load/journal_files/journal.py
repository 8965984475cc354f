"""The journal: entries identified, checked against the collection, and those undone left out."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterator, Mapping, Set
from dataclasses import replace

from pydantic import ConfigDict, TypeAdapter

from feedplan.load.findings import Findings, near_miss, shown
from feedplan.load.journal_files.journal_entries import EntryReader, Known
from feedplan.load.models.journal_models import EntryModel
from feedplan.load.models.shape import check_shape, sound_part
from feedplan.load.text.spots import Spot
from feedplan.model.journal import Entry, Journal

_ENTRIES = TypeAdapter(list[EntryModel], config=ConfigDict(defer_build=True))

_OF_AN_UNDO = frozenset({"date", "recorded", "id", "undo", "note"})


def read_journal(value: object, spot: Spot, known: Known, findings: Findings) -> Journal:
    """The journal, its problems noted. known: what the collection holds; nothing is looked up when it is not whole."""
    if value is None:
        return Journal()
    if not isinstance(value, list):
        findings.at(
            spot, "is not a list; write one entry a line, each starting with - {date: 2027-04-26, ..."
        )
        return Journal()
    models = _models(value, spot, findings)
    ids = _ids(value, models, spot, findings)
    undone = _undone(models, ids, spot, findings)
    departed = {
        name
        for index, model in models.items()
        if model.gone and ids[index] not in undone
        for name in (model.tree, *(model.trees or ()))
        if name is not None
    }
    reader = EntryReader(known, spot, findings, departed)
    entries = [
        entry
        for index, model in models.items()
        if model.undo is None
        and ids[index] not in undone
        and (entry := reader.entry(index, model, ids[index]))
    ]
    return Journal(tuple(entries), tuple(_withdrawn(models, ids, undone, known, spot)))


def _withdrawn(
    models: Mapping[int, EntryModel],
    ids: Mapping[int, str],
    undone: Set[str],
    known: Known,
    spot: Spot,
) -> Iterator[Entry]:
    """The entries taken back, each with the day of that; one that nobody could read any more is left out."""
    since = {m.undo: max(m.date, m.recorded or m.date) for m in models.values() if m.undo in undone}
    reader = EntryReader(known, spot, Findings(), set())
    for index, model in models.items():
        if model.undo is None and ids[index] in undone:
            entry = reader.entry(index, model, ids[index])
            if entry is not None:
                yield replace(entry, undone=since[ids[index]])


def _models(value: list[object], spot: Spot, findings: Findings) -> dict[int, EntryModel]:
    """Every entry whose shape is right, by its place in the list."""
    models = check_shape(_ENTRIES, value, spot, findings)
    if models is not None:
        return dict(enumerate(models))
    found = ((index, sound_part(EntryModel, item)) for index, item in enumerate(value))
    return {index: model for index, model in found if model is not None}


def _ids(
    value: list[object], models: Mapping[int, EntryModel], spot: Spot, findings: Findings
) -> dict[int, str]:
    """The id of every entry: as written, else made from its content, the second of equal ones told apart."""
    ids: dict[int, str] = {}
    first: dict[str, int] = {}
    seen: dict[str, int] = {}
    for index, model in models.items():
        if model.id is None:
            digest = content_id(value[index])
            seen[digest] = seen.get(digest, 0) + 1
            ids[index] = digest if seen[digest] == 1 else f"{digest}-{seen[digest]}"
            continue
        ids[index] = model.id
        if model.id in first:
            line = spot.at((first[model.id],)).source.line
            findings.at(
                spot.at((index, "id")), f"the id '{model.id}' is taken by line {line}; write another or none"
            )
        first.setdefault(model.id, index)
    return ids


def content_id(entry: object) -> str:
    """Eight letters and digits made from what an entry says, whatever the order of its keys."""
    parts = sorted(f"{key}={shown(value)}" for key, value in entry.items()) if isinstance(entry, dict) else []
    return hashlib.sha256("\n".join(parts).encode("utf-8", "replace")).hexdigest()[:8]


def _undone(
    models: Mapping[int, EntryModel], ids: Mapping[int, str], spot: Spot, findings: Findings
) -> frozenset[str]:
    """The ids of entries that no longer stand; undoing an undo makes its entry stand again."""
    known = set(ids.values())
    targets: dict[str, str] = {}
    for index, model in models.items():
        if model.undo is None:
            continue
        if model.undo not in known:
            hint = near_miss(model.undo, known, few=0)
            findings.at(spot.at((index, "undo")), f"no entry has the id '{model.undo}'{hint}")
        else:
            targets[ids[index]] = model.undo
        more = min(model.model_fields_set - _OF_AN_UNDO, default=None)
        if more is not None:
            findings.at(spot.at((index,)).key(more), f"an undo tells nothing else; remove {more}")
    undone, in_rings = _settle(targets)
    for index, model in models.items():
        if model.undo is not None and ids[index] in in_rings:
            others = "itself" if model.undo == ids[index] else f"{model.undo}, which leads back to it"
            findings.at(spot.at((index, "undo")), f"this entry undoes {others}; write the id of another")
    return undone


def _settle(targets: Mapping[str, str]) -> tuple[frozenset[str], frozenset[str]]:
    """Which ids are undone, those with an undoer that stands itself; and which undo each other in a ring.

    targets: what each undoing entry undoes. Entries that nothing undoes stand, and are settled first.
    """
    waiting = Counter(targets.values())
    settled = [name for name in targets if not waiting[name]]
    undone: set[str] = set()
    open_ones = set(targets)
    for name in settled:
        open_ones.discard(name)
        target = targets.get(name)
        if target is None:
            continue
        if name not in undone:
            undone.add(target)
        waiting[target] -= 1
        if not waiting[target]:
            settled.append(target)
    return frozenset(undone), frozenset(open_ones)
