"""Copies that lie beside the grower's files because two computers wrote at once, and what in them counts for nothing.

Programs that keep a folder alike on several computers keep one version and put the other beside it, most with
"conflict" in its name, some with the name of the computer or a number. An editor's copies (`journal.yaml~`) are none.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import NamedTuple

from feedplan.errors import Problem
from feedplan.load.folder import CLIMATE, COLLECTION, JOURNAL, SCHEDULES, TABLE_FILE, Folder, Page, page_of
from feedplan.load.history import HISTORY, TOLD, Memory, asked_for
from feedplan.load.history_cells import Key
from feedplan.load.journal_ids import content_id
from feedplan.load.problems import Spot, cut, shown
from feedplan.words.language import say, say_count

_CONFLICT = re.compile("conflict|konflikt|conflit", re.IGNORECASE)
_A_JOURNAL = re.compile(r"[^.#].*\.ya?ml|[^.#].*\.ya?ml\.txt", re.IGNORECASE)


def is_left_by_two_writers(name: str) -> bool:
    """Whether a file's name says that two computers wrote it at once."""
    return _CONFLICT.search(name) is not None and name[0] not in ".#" and name[-1] != "~"


class JournalCopies(NamedTuple):
    """What copies of the journal hold. found: what to tell of each; holding: the file in which an entry's id stands."""

    found: tuple[Problem, ...] = ()
    holding: Mapping[str, str] = {}


def copies_of_journal(folder: Folder, journal: Page | None) -> JournalCopies:
    """What stands in copies of the journal and not in the journal itself."""
    known = _entries(None if journal is None else journal.value)
    found: list[Problem] = []
    holding: dict[str, str] = {}
    for name in sorted(folder.files_in("", "")):
        is_marked = is_left_by_two_writers(name)
        stem = Path(JOURNAL).stem
        if name == JOURNAL or stem not in name.casefold() or not (is_marked or _A_JOURNAL.fullmatch(name)):
            continue
        read = folder.text(name) if folder.is_file(name) else None
        if read is None:
            continue
        page = page_of(read[1], read[0])
        entries = _entries(page.value)
        for entry_id in entries:
            holding.setdefault(entry_id, name)
        if entries or page.value is None:
            found += _differences(page, entries, known, is_there=journal is not None, is_marked=is_marked)
    return JournalCopies(tuple(found), holding)


def _entries(value: object) -> dict[str, tuple[int, object]]:
    """The entries of a journal as read, each with its place, by id; without one by what it says."""
    items = value if isinstance(value, list) else []
    dated = [(place, item) for place, item in enumerate(items) if isinstance(item, dict) and "date" in item]
    return {str(item.get("id") or content_id(item)): (place, item) for place, item in dated}


def _differences(
    page: Page,
    entries: Mapping[str, tuple[int, object]],
    known: Mapping[str, tuple[int, object]],
    *,
    is_there: bool,
    is_marked: bool,
) -> Iterator[Problem]:
    if page.problems and is_marked:
        told = say(
            "looks like a copy of {file} and cannot be read in full: {problem}; look through it, write in {file} what "
            "is missing there, then delete this copy",
            file=JOURNAL,
            problem=page.problems[0].message,
        )
        yield page.spot.problem(told)
    lacking = [place for entry_id, place in entries.items() if entry_id not in known]
    if lacking:
        place, first = lacking[0]
        yield page.spot.at([place]).problem(
            _copy_over(len(lacking), first) if is_there else _not_read(len(lacking), first)
        )
    others = [(i, *entries[i]) for i in entries if i in known and entries[i][1] != known[i][1]]
    if others:
        entry_id, place, first = others[0]
        told = say_count(
            "looks like a copy of {file} in which the entry {id} reads otherwise: {entry}; write in {file} what is "
            "right, then delete this copy",
            "looks like a copy of {file} in which {count} entries read otherwise, the first {id}: {entry}; write in "
            "{file} what is right, then delete this copy",
            len(others),
            file=JOURNAL,
            id=cut(entry_id),
            entry=shown(first),
        )
        yield page.spot.at([place]).problem(told)


def _copy_over(count: int, first: object) -> str:
    return say_count(
        "looks like a copy of {file}, as when two computers write at once; 1 entry in it counts for nothing, since it "
        "is not in {file}: {entry}; copy it there, then delete this copy",
        "looks like a copy of {file}, as when two computers write at once; {count} entries in it count for nothing, "
        "since they are not in {file}, the first: {entry}; copy them there, then delete this copy",
        count,
        file=JOURNAL,
        entry=shown(first),
    )


def _not_read(count: int, first: object) -> str:
    return say_count(
        "is not read under this name, and there is no {file}; if its entry counts ({entry}), name it {file}",
        "is not read under this name, and there is no {file}; if its {count} entries count (the first: {entry}), "
        "name it {file}",
        count,
        file=JOURNAL,
        entry=shown(first),
    )


def copies_of_others(folder: Folder, memory: Memory) -> Iterator[Problem]:
    """What to tell of copies of all files but the journal."""
    yield from _of_the_memory(folder, memory)
    schedules, tables = (
        (SCHEDULES, folder.files_in(SCHEDULES, ".yaml")),
        (CLIMATE, folder.files_in(CLIMATE, ".csv")),
    )
    for place, own in (("", [COLLECTION]), schedules, tables):
        for name in sorted(filter(is_left_by_two_writers, folder.files_in(place, ""))):
            path = f"{place}/{name}" if place else name
            if (of := _meant(name, own)) is None or not folder.is_file(path):
                continue
            found, original = (
                folder.text(each, TABLE_FILE) for each in (path, f"{place}/{of}" if place else of)
            )
            if found is not None and original is not None and found[1] != original[1]:
                told = say(
                    "looks like a copy of {file}, as when two computers write at once, and is not read; write in "
                    "{file} what of it is right, then delete this copy",
                    file=of,
                )
                yield Spot.start_of(found[0]).problem(told)


def _meant(name: str, own: Iterable[str]) -> str | None:
    """Which file a name is a copy of: the one with the longest name that stands in it."""
    stems = {Path(each).stem.casefold(): each for each in own if not is_left_by_two_writers(each)}
    return max(
        ((stem, each) for stem, each in stems.items() if stem in name.casefold()),
        key=lambda pair: len(pair[0]),
        default=(None, None),
    )[1]


def _of_the_memory(folder: Folder, memory: Memory) -> Iterator[Problem]:
    """Another computer's memory: what it told that this one knows nothing of."""
    for name in sorted(filter(is_left_by_two_writers, folder.files_in("", ""))):
        of = _meant(name, (TOLD, HISTORY))
        text = None if of is None else folder.memory(name)
        if text is None:
            continue
        told = asked_for(Memory(told=text) if of == TOLD else Memory(history=text))
        if lacking := sorted(told - asked_for(memory)):
            yield Spot.start_of(name).problem(_told_elsewhere(len(lacking), lacking[0]))


def _told_elsewhere(count: int, first: Key) -> str:
    tree, day, _ = first
    return say_count(
        "looks like what another computer told: it asked for 1 feed that this folder knows nothing of, {tree} on "
        "{day}; if it was given, write that down with feedplan record fed, then delete this copy",
        "looks like what another computer told: it asked for {count} feeds that this folder knows nothing of, the "
        "first {tree} on {day}; write down with feedplan record fed what was given, then delete this copy",
        count,
        tree=tree,
        day=day,
    )
