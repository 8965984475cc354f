"""The memory of a collection: history.csv, a settled line a tree and feed, and told.json, what was last asked for.

history.csv only grows: what became of a feed may be said again in a later line, and the last line about a feed counts.
A laying of solid feed has its line like a feed; it is known by its grams.
Both can be deleted; then the plan works its past out again from the journal, and says so.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal, InvalidOperation
from functools import lru_cache
from pathlib import Path

from feedplan.load.folder import JOURNAL, Page
from feedplan.load.history_cells import (
    SAID,
    HistoryLine,
    Key,
    cells_of,
    finite,
    header_text,
    key_of,
    plain,
    row_text,
    told_cells,
    told_feed_of,
    told_laying_of,
)
from feedplan.load.journal_ids import is_made_of_words
from feedplan.load.problems import Findings, Spot
from feedplan.model.history import History, Outcome, ToldFeed, ToldLaying, TreeHistory
from feedplan.model.journal import Journal

HISTORY = "history.csv"
TOLD = "told.json"
_FORMAT = "feedplan told 1"
_WITHOUT_ENTRY = (Outcome.TAKEN, Outcome.MISSED)
_DAMAGED = "# "
"""Before a line of history.csv that could not be read, or that was worked out anew."""


@dataclass(frozen=True, slots=True)
class Memory:
    """The two files as they stand; None for one that is not there."""

    history: str | None = None
    told: str | None = None


NOTHING_KEPT = Memory()
"""Neither file is there."""


@dataclass(frozen=True, slots=True)
class Remembered:
    """What the two files hold. memory: as they stood; said: what was said last of each feed.

    first_seen: since when entries are known that were typed in late.

    notes: what could not be read, one sentence each. is_lost: one of them is not there, and the other is.
    sound: the text of history.csv with what is damaged marked, so that it is worked out anew once; None if nothing is.
    """

    memory: Memory = NOTHING_KEPT
    history: History = field(default_factory=History)
    said: Mapping[Key, tuple[str, ...]] = field(default_factory=dict)
    first_seen: Mapping[str, date] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    is_lost: bool = False
    sound: str | None = None


def new_lines(lines: Iterable[HistoryLine], remembered: Remembered) -> str:
    """The lines of history.csv that say something new, each with its end."""
    found = []
    for line in lines:
        cells = cells_of(line)
        if remembered.said.get(line.key) != tuple(cells[name] for name in SAID):
            found.append(row_text(cells.values()))
    return "".join(found)


def guard_journal(
    journal: Journal, memory: Memory, page: Page | None, findings: Findings, holding: Mapping[str, str]
) -> None:
    """Notes that entries known before are gone: a journal cut short would lift holds without a word.

    holding: the file beside the journal, left by two writers, in which an entry stands.

    An id made from an entry's own words is another after an edit by hand, so of those only the number counts; one that
    stands in the file (as of each tap) stays, unless an editor saved an old copy over it.
    """
    asked = None if memory.told is None else _asked(memory.told)
    known = () if asked is None else asked.entry_ids
    now = {entry.id for entry in (*journal.entries, *journal.withdrawn)}
    gone = [each for each in known if each not in now]
    recorded = [each for each in gone if not is_made_of_words(each)]
    is_short = len(now) < len(known)
    if not (is_short or recorded) or findings.problems:
        return
    spot = Spot.start_of(JOURNAL) if page is None else page.spot
    told = Path(spot.source.file).with_name(TOLD)
    missing = gone if is_short else recorded
    what = (
        f"{'1 entry was' if len(known) == 1 else f'{len(known)} entries were'} known, "
        f"{len(now)} {'is' if len(now) == 1 else 'are'} left"
        if is_short
        else f"{'1 entry' if len(recorded) == 1 else f'{len(recorded)} entries'} recorded before "
        f"{'is' if len(recorded) == 1 else 'are'} gone, as when an editor saves an old copy"
    )
    copy = next((holding[each] for each in missing if each in holding), "a copy")
    text = (
        f"{what}; put back what is missing ({', '.join(missing[:3])}"
        f"{', ...' if len(missing) > 3 else ''}) from {copy}, or, if they are to go, type: rm {told}"
    )
    findings.at(spot, text)


def last_told(memory: Memory) -> date:
    """The day as of which the last plan was remembered; the first of all days where none was."""
    asked = None if memory.told is None else _asked(memory.told)
    return (asked and asked.told_on) or date.min


def read_history(memory: Memory, since: date = date.min, today: date = date.max) -> Remembered:
    """What the two files say. What cannot be read is left out and noted.

    since: feeds asked for before that day are passed over, which makes long histories quick to read. today: a feed that
    counts as given or missed without an entry on that day or later was told by a clock that ran ahead, and is left out.
    """
    history, told = memory.history, memory.told
    if history is None and told is None:
        return Remembered()
    asked = None if told is None else _asked(told)
    settled = _settled_in(history or "", since.isoformat(), today)
    notes = list(settled.notes)
    if told is not None and asked is None:
        notes.append(f"{TOLD} is damaged; what it held is worked out anew from the journal")
    asked = asked or _Asked()
    is_short = history is not None and history.count("\n") < asked.lines
    if is_short:
        notes.append(f"{HISTORY} has lost lines; what was told before is worked out anew from the journal")
    lost_from = {"": date.min} if is_short or history is None else settled.lost_from
    by_tree: dict[str, list[ToldFeed | ToldLaying]] = {name: [] for name in asked.trees}
    for (tree, *_), one in settled.told.items():
        by_tree.setdefault(tree, []).append(one)
    trees = {}
    for name, rows in by_tree.items():
        known = _all_of(rows, asked.trees.get(name, TreeHistory()))
        trees[name] = known.before(min(lost_from.get(name, date.max), lost_from.get("", date.max)))
    return Remembered(
        memory,
        History(trees, asked.entry_ids, asked.told_on, asked.fed_then, asked.cans),
        settled.said,
        asked.first_seen,
        tuple(notes),
        is_lost=history is None or told is None,
        sound=settled.sound,
    )


def asked_for(memory: Memory) -> set[Key]:
    """Every feed and laying that the two files say a plan asked for."""
    asked = (_asked(memory.told) if memory.told is not None else None) or _Asked()
    keys = {key for key, one in _settled_in(memory.history or "", "").told.items() if not one.extra}
    for name, tree in asked.trees.items():
        keys |= {key_of(name, feed) for feed in tree.feeds} | {key_of(name, one) for one in tree.layings}
    return keys


def _all_of(rows: Iterable[ToldFeed | ToldLaying], ahead: TreeHistory) -> TreeHistory:
    """What is settled of one tree, with what it was asked for last. Where the latter is lost, no further than that."""
    feeds = [row for row in rows if isinstance(row, ToldFeed)]
    layings = [row for row in rows if isinstance(row, ToldLaying)]
    fed = {(row.told, row.ordinal) for row in feeds}
    laid = {key_of("", row) for row in layings}
    feeds += [feed for feed in ahead.feeds if (feed.told, feed.ordinal) not in fed]
    layings += [laying for laying in ahead.layings if key_of("", laying) not in laid]
    return TreeHistory(
        tuple(sorted(feeds, key=lambda row: (row.told, row.ordinal))),
        ahead.asked_to or max((row.told for row in feeds), default=None),
        ahead.in_step,
        tuple(sorted(layings, key=lambda row: (row.told, row.period, row.number))),
        ahead.laid_to or max((row.told for row in layings), default=None),
    )


@dataclass(frozen=True, slots=True)
class _Settled:
    """What history.csv holds. lost_from: from when on a tree's lines are not to be trusted, "" for those of all.

    sound: as of `Remembered`; said: of the lines that are not marked in it.
    """

    told: Mapping[Key, ToldFeed | ToldLaying]
    said: Mapping[Key, tuple[str, ...]]
    lost_from: Mapping[str, date]
    notes: tuple[str, ...]
    sound: str | None = None

    def is_lost(self, key: Key) -> bool:
        """Whether what was told stands behind a damaged line."""
        tree, day, _ = key
        return day >= min(self.lost_from.get(tree, date.max), self.lost_from.get("", date.max))


def _settled_in(text: str, since: str, today: date = date.max) -> _Settled:
    """The feeds and layings of history.csv from a day on. today: as of `read_history`."""
    raw = text.splitlines()
    head = _cells_in(raw[0]) if raw else []
    told: dict[Key, ToldFeed | ToldLaying] = {}
    said: dict[Key, tuple[str, ...]] = {}
    lost_from: dict[str, date] = {}
    bad, ahead = [], []
    keys: dict[int, Key] = {}
    for number, line in enumerate(raw[1:], start=2):
        if not line or line < since or line.startswith(_DAMAGED):
            continue
        cells = dict(zip(head, _cells_in(line), strict=False))
        try:
            one = told_laying_of(cells) if cells.get("grams_per_l_of_pot") else told_feed_of(cells)
            key = key_of(cells["tree"], one)
            if one.told >= today and cells["outcome"] in _WITHOUT_ENTRY:
                ahead.append(number)
                continue
            told[key], said[key] = one, tuple(cells.get(name, "") for name in SAID)
            keys[number] = key
        except (KeyError, ValueError, InvalidOperation):
            bad.append(number)
            tree, day = _whose(cells, len(head))
            lost_from[tree] = min(day, lost_from.get(tree, date.max))
    if not bad and not ahead:
        return _Settled(told, said, {}, ())
    more = f", and {len(bad) - 1} more" if len(bad) > 1 else ""
    what = f"not a line of the history{more}; what it told is worked out anew from the journal"
    found = _Settled(told, said, lost_from, (f"{HISTORY}:{bad[0]}: {what}",) if bad else ())
    lost = {*bad, *ahead, *(number for number, key in keys.items() if found.is_lost(key))}
    sound = [f"{_DAMAGED}{line}" if number in lost else line for number, line in enumerate(raw, start=1)]
    still_said = {key: cells for key, cells in said.items() if not found.is_lost(key)}
    return replace(found, said=still_said, sound="\n".join(sound) + "\n")


def _cells_in(line: str) -> list[str]:
    """The cells of a line; none where a byte of it was lost, or a quote was never closed in a very long one."""
    if _LOST in line:
        return []
    try:
        return next(csv.reader([line]), []) if '"' in line else line.split(",")
    except csv.Error:
        return []


_LOST = "\ufffd"


def _whose(cells: Mapping[str, str], width: int) -> tuple[str, date]:
    """The tree and day of a line that cannot be read; of all trees and days where not even these can."""
    try:
        return cells["tree"] if len(cells) == width else "", date.fromisoformat(cells["told"])
    except (KeyError, ValueError):
        return "", date.min


@dataclass(frozen=True, slots=True)
class _Asked:
    trees: Mapping[str, TreeHistory] = field(default_factory=dict)
    entry_ids: tuple[str, ...] = ()
    first_seen: Mapping[str, date] = field(default_factory=dict)
    told_on: date | None = None
    fed_then: frozenset[str] = frozenset()
    cans: tuple[tuple[date, Decimal], ...] = ()
    lines: int = 0


@lru_cache(maxsize=1)
def _asked(text: str) -> _Asked | None:
    """What told.json says, None where it is damaged; read once though the journal's guard and the plan both ask."""
    try:
        content = json.loads(text)
        if content["format"] != _FORMAT:
            raise ValueError(content["format"])
        told_on, asked_to = (date.fromisoformat(content[name]) for name in ("settled_to", "asked_to"))
        joined = {name: date.fromisoformat(day) for name, day in content.get("in_step", {}).items()}
        layings = content.get("layings")
        trees = {
            name: TreeHistory(
                tuple(map(told_feed_of, rows)),
                asked_to,
                joined.get(name),
                tuple(map(told_laying_of, (layings or {}).get(name, ()))),
                None if layings is None else asked_to,
            )
            for name, rows in content["trees"].items()
        }
        seen = {str(i): date.fromisoformat(day) for i, day in content["first_seen"].items()}
        cans = tuple(
            (date.fromisoformat(day), finite(litres)) for day, litres in content.get("cans", {}).items()
        )
        # Files written before it was kept tell by what they still ask for.
        fed_then = content.get("fed_today", [n for n, t in trees.items() if _is_fed_on(t, told_on)])
        return _Asked(
            trees,
            tuple(map(str, content["entries"])),
            seen,
            told_on,
            frozenset(map(str, fed_then)),
            cans,
            int(content.get("lines", 0)),
        )
    except (ValueError, TypeError, KeyError, AttributeError, InvalidOperation, RecursionError):
        return None


def _is_fed_on(tree: TreeHistory, day: date) -> bool:
    return any(feed.told == day for feed in tree.feeds)


def told_text(history: History, first_seen: Mapping[str, date], day: date, asked_to: date, lines: int) -> str:
    """The text of told.json: what is asked for from a day on, and the entries known.

    lines: how many history.csv has, so that one cut short is noticed.
    """
    asked = {name: _still_asked(tree.feeds, day) for name, tree in history.trees.items()}
    layings = {name: _still_asked(tree.layings, day) for name, tree in history.trees.items()}
    content: dict[str, object] = {
        "format": _FORMAT,
        "settled_to": str(day),
        "asked_to": str(asked_to),
        "lines": lines,
        "fed_today": sorted(history.fed_then),
        "cans": {str(first): plain(litres) for first, litres in history.cans},
        "in_step": {name: str(tree.in_step) for name, tree in history.trees.items() if tree.in_step},
        "entries": list(history.entry_ids),
        "first_seen": {key: str(day) for key, day in sorted(first_seen.items())},
    }
    by_tree = {"trees": asked, "layings": {name: rows for name, rows in layings.items() if rows}}
    lines_of = (f"{_as_json(key)}: {{\n{_one_a_line(rows)}\n}}" for key, rows in by_tree.items())
    return "{\n" + ",\n".join([_one_a_line(content), *lines_of]) + "\n}\n"


def _one_a_line(content: Mapping[str, object]) -> str:
    """The members of a JSON object, each on a line: a change shows where it is, and indenting takes far longer."""
    return ",\n".join(f"{_as_json(key)}: {_as_json(value)}" for key, value in content.items())


_as_json = json.JSONEncoder(ensure_ascii=False).encode


def _still_asked(told: Iterable[ToldFeed | ToldLaying], day: date) -> list[dict[str, str]]:
    """What is asked for from a day on, as cells."""
    return [
        {"told": str(one.told), **{key: str(value) for key, value in told_cells(one).items()}}
        for one in told
        if one.unrecorded is Outcome.ASKED and one.told >= day
    ]


def with_todays_columns(text: str) -> str:
    """History written before some columns came, with a first line that names them all; its lines stay as they are."""
    head, _, rest = text.partition("\n")
    return text if f"{head}\n" == header_text() or not head else header_text() + rest
