"""What journal entries are known by, and which of them others take back."""

from __future__ import annotations

import hashlib
import re
from collections import Counter
from collections.abc import Mapping

from feedplan.load.collection_models import EntryModel
from feedplan.load.problems import Passage, near_miss, shown

_OF_AN_UNDO = frozenset({"date", "recorded", "id", "undo", "note"})


def ids_of(value: list[object], models: Mapping[int, EntryModel], file: Passage) -> dict[int, str]:
    """The id of every entry: as written, else made from its content, the second of equal ones told apart."""
    ids: dict[int, str] = {}
    first: dict[str, int] = {}
    seen: Counter[str] = Counter()
    for index, model in models.items():
        if model.id is None:
            digest = content_id(value[index])
            seen[digest] += 1
            ids[index] = digest if seen[digest] == 1 else f"{digest}-{seen[digest]}"
            continue
        ids[index] = model.id
        if model.id in first:
            line = file.at(first[model.id]).source.line
            file.wrong(f"the id '{model.id}' is taken by line {line}; write another or none", index, "id")
        first.setdefault(model.id, index)
    return ids


def content_id(entry: object) -> str:
    """Eight letters and digits made from what an entry says, whatever the order of its keys."""
    parts = sorted(f"{key}={shown(value)}" for key, value in entry.items()) if isinstance(entry, dict) else []
    return hashlib.sha256("\n".join(parts).encode("utf-8", "replace")).hexdigest()[:8]


def is_made_of_words(entry_id: str) -> bool:
    """Whether an id looks made from what its entry says, and is another once the entry is edited."""
    return re.fullmatch(r"[0-9a-f]{8}(-\d+)?", entry_id) is not None


def undone_by(models: Mapping[int, EntryModel], ids: Mapping[int, str], file: Passage) -> frozenset[str]:
    """The ids of entries that no longer stand; undoing an undo makes its entry stand again."""
    known = set(ids.values())
    undoers = {index: model for index, model in models.items() if model.undo is not None}
    for index, model in undoers.items():
        if model.undo not in known:
            hint = near_miss(model.undo or "", known, few=0)
            file.wrong(f"no entry has the id '{model.undo}'{hint}", index, "undo")
        more = min(model.model_fields_set - _OF_AN_UNDO, default=None)
        if more is not None:
            file.at(index).key(more).wrong(f"an undo tells nothing else; remove {more}")
    targets = {ids[index]: model.undo or "" for index, model in undoers.items() if model.undo in known}
    undone, in_rings = _settle(targets)
    for index, model in undoers.items():
        if ids[index] in in_rings:
            others = "itself" if model.undo == ids[index] else f"{model.undo}, which leads back to it"
            file.wrong(f"this entry undoes {others}; write the id of another", index, "undo")
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
