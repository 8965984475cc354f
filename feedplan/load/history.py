"""The memory of a collection: history.csv, a settled line a tree and feed, and told.json, what was last asked for.

history.csv only grows: what became of a feed may be said again in a later line, and the last line about a feed counts.
Both can be deleted; then the plan works its past out again from the journal, and says so.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal, InvalidOperation
from functools import lru_cache
from pathlib import Path

from feedplan.dose.grade import parse_npk_ratio
from feedplan.load.folder import JOURNAL, Page
from feedplan.load.problems import Findings, Spot
from feedplan.model.history import History, Outcome, ToldFeed, TreeHistory
from feedplan.model.journal import Journal
from feedplan.model.reason import Quoted, Reason, Rule

HISTORY = "history.csv"
TOLD = "told.json"
_FORMAT = "feedplan told 1"
_EXTRA = "not asked for"

COLUMNS = (
    "told",
    "tree",
    "product",
    "ppm_n",
    "outcome",
    "given_on",
    "poured_ml",
    "n_mg_per_l_of_pot",
    "because",
    "group",
    "period",
    "asked_product",
    "due",
    "counts_from",
    "season",
    "number",
    "asked_ppm_n",
    "planned_ppm_n",
    "share",
    "mixed",
    "unrecorded",
    "entry",
    "lineage",
)
"""The first nine are for a person; the others let the plan take up where it was."""


@dataclass(frozen=True, slots=True)
class Memory:
    """The two files as they stand; None for one that is not there."""

    history: str | None = None
    told: str | None = None


NOTHING_KEPT = Memory()
"""Neither file is there."""


@dataclass(frozen=True, slots=True)
class HistoryLine:
    """One line of history.csv. outcome, given_on, ppm, product: what became of it; poured_ml: into this tree's pot."""

    tree: str
    told: ToldFeed
    outcome: Outcome
    given_on: date | None
    product: str
    ppm: Decimal
    poured_ml: Decimal
    n_mg_per_l: Decimal
    because: str
    entry: str

    @property
    def key(self) -> tuple[str, date, int, bool]:
        """What tells it from other feeds."""
        return self.tree, self.told.told, self.told.ordinal, self.told.extra


_Key = tuple[str, date, int, bool]
_SAID = ("outcome", "given_on", "product", "ppm_n", "entry")
"""The cells of a line that say what became of a feed; the last two before them follow from the pot."""


@dataclass(frozen=True, slots=True)
class Remembered:
    """What the two files hold. memory: as they stood; said: what was said last of each feed.

    first_seen: since when entries are known that were typed in late.

    notes: what could not be read, one sentence each. is_lost: one of them is not there, and the other is.
    """

    memory: Memory = NOTHING_KEPT
    history: History = field(default_factory=History)
    said: Mapping[_Key, tuple[str, ...]] = field(default_factory=dict)
    first_seen: Mapping[str, date] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    is_lost: bool = False


def _cells(line: HistoryLine) -> dict[str, str]:
    cells: dict[str, object] = {
        "told": line.told.told,
        "tree": line.tree,
        "product": line.product,
        "ppm_n": _number(line.ppm),
        "outcome": line.outcome,
        "given_on": line.given_on or "",
        "poured_ml": _number(round(line.poured_ml)),
        "n_mg_per_l_of_pot": _number(round(line.n_mg_per_l, 1)),
        "because": line.because,
        "entry": line.entry,
        **_told_cells(line.told),
    }
    return {name: str(cells[name]) for name in COLUMNS}


def new_lines(lines: Iterable[HistoryLine], remembered: Remembered) -> str:
    """The lines of history.csv that say something new, each with its end."""
    found = []
    for line in lines:
        cells = _cells(line)
        if remembered.said.get(line.key) != tuple(cells[name] for name in _SAID):
            found.append(_row(cells.values()))
    return "".join(found)


def _told_cells(told: ToldFeed) -> dict[str, object]:
    return {
        "group": told.group,
        "period": told.period,
        "asked_product": told.feed or "",
        "due": told.due,
        "counts_from": told.counts_from,
        "season": told.season,
        "number": told.ordinal,
        "asked_ppm_n": _number(told.ppm),
        "planned_ppm_n": _number(told.plan_ppm),
        "share": _number(told.share),
        "mixed": _EXTRA if told.extra else told.ratio or "",
        "unrecorded": told.unrecorded,
        "lineage": told.lineage,
    }


def header_text() -> str:
    """The first line of history.csv."""
    return _row(COLUMNS)


def _row(cells: Iterable[object]) -> str:
    stream = io.StringIO()
    csv.writer(stream, lineterminator="\n").writerow([str(cell) for cell in cells])
    return stream.getvalue()


def _number(value: Decimal | int) -> str:
    return f"{Decimal(value).normalize():f}"


def guard_journal(journal: Journal, memory: Memory, page: Page | None, findings: Findings) -> None:
    """Notes that entries known before are gone: a journal cut short would lift holds without a word."""
    asked = None if memory.told is None else _asked(memory.told)
    known = () if asked is None else asked.entry_ids
    now = {entry.id for entry in (*journal.entries, *journal.withdrawn)}
    gone = [each for each in known if each not in now]
    if len(now) >= len(known) or findings.problems:
        return
    spot = Spot.start_of(JOURNAL) if page is None else page.spot
    told = Path(spot.source.file).with_name(TOLD)
    text = (
        f"{len(known)} entries were known, {len(now)} are left; put back what is missing ({', '.join(gone[:3])}"
        f"{', ...' if len(gone) > 3 else ''}) from a copy, or, if they are to go, type: rm {told}"
    )
    findings.at(spot, text)


def read_history(memory: Memory, since: date = date.min) -> Remembered:
    """What the two files say. What cannot be read is left out and noted.

    since: feeds asked for before that day are passed over, which makes long histories quick to read.
    """
    history, told = memory.history, memory.told
    if history is None and told is None:
        return Remembered()
    asked = None if told is None else _asked(told)
    settled = _settled_in(history or "", since.isoformat())
    notes = list(settled.notes)
    if told is not None and asked is None:
        notes.append(f"{TOLD} is damaged; what it held is worked out anew from the journal")
    asked = asked or _Asked()
    is_short = history is not None and history.count("\n") < asked.lines
    if is_short:
        notes.append(f"{HISTORY} has lost lines; what was told before is worked out anew from the journal")
    lost_from = {"": date.min} if is_short or history is None else settled.lost_from
    by_tree: dict[str, list[ToldFeed]] = {name: [] for name in asked.trees}
    for (tree, *_), feed in settled.feeds.items():
        by_tree.setdefault(tree, []).append(feed)
    trees = {}
    for name, rows in by_tree.items():
        ahead = asked.trees.get(name, TreeHistory())
        known = {(row.told, row.ordinal) for row in rows}
        rows += [feed for feed in ahead.feeds if (feed.told, feed.ordinal) not in known]
        rows.sort(key=lambda row: (row.told, row.ordinal))
        asked_to = ahead.asked_to or (max(row.told for row in rows) if rows else None)
        found = TreeHistory(tuple(rows), asked_to, ahead.in_step)
        trees[name] = found.before(min(lost_from.get(name, date.max), lost_from.get("", date.max)))
    return Remembered(
        memory,
        History(trees, asked.entry_ids, asked.told_on, asked.cans),
        settled.said,
        asked.first_seen,
        tuple(notes),
        is_lost=history is None or told is None,
    )


@dataclass(frozen=True, slots=True)
class _Settled:
    """What history.csv holds. lost_from: from when on a tree's lines are not to be trusted, "" for those of all."""

    feeds: Mapping[_Key, ToldFeed]
    said: Mapping[_Key, tuple[str, ...]]
    lost_from: Mapping[str, date]
    notes: tuple[str, ...]


def _settled_in(text: str, since: str) -> _Settled:
    """The feeds of history.csv from a day on."""
    raw = text.splitlines()
    head = next(csv.reader(raw[:1]), [])
    feeds: dict[_Key, ToldFeed] = {}
    said: dict[_Key, tuple[str, ...]] = {}
    lost_from: dict[str, date] = {}
    bad = []
    for number, line in enumerate(raw[1:], start=2):
        if not line or line < since:
            continue
        cells = dict(zip(head, next(csv.reader([line]), []), strict=False))
        try:
            feed, tree = _told_of(cells), cells["tree"]
            key = (tree, feed.told, feed.ordinal, feed.extra)
            feeds[key], said[key] = feed, tuple(cells[name] for name in _SAID)
        except (KeyError, ValueError, InvalidOperation):
            bad.append(number)
            tree, day = _whose(cells, len(head))
            lost_from[tree] = min(day, lost_from.get(tree, date.max))
    if not bad:
        return _Settled(feeds, said, {}, ())
    more = f", and {len(bad) - 1} more" if len(bad) > 1 else ""
    note = f"{HISTORY}:{bad[0]}: not a line of the history{more}; what it told is worked out anew from the journal"
    return _Settled(feeds, said, lost_from, (note,))


def _whose(cells: Mapping[str, str], width: int) -> tuple[str, date]:
    """The tree and day of a line that cannot be read; of all trees and days where not even these can."""
    try:
        return cells["tree"] if len(cells) == width else "", date.fromisoformat(cells["told"])
    except (KeyError, ValueError):
        return "", date.min


def _told_of(cells: Mapping[str, str]) -> ToldFeed:
    """A feed from its cells. Raises KeyError, ValueError or InvalidOperation for cells that are none."""
    extra = cells["mixed"] == _EXTRA
    quoted = cells.get("because", "")
    return ToldFeed(
        told=date.fromisoformat(cells["told"]),
        due=date.fromisoformat(cells["due"]),
        counts_from=date.fromisoformat(cells["counts_from"]),
        season=int(cells["season"]),
        ordinal=int(cells["number"]),
        period=cells["period"],
        group=cells["group"],
        feed=cells["asked_product"] or None,
        ratio=parse_npk_ratio(cells["mixed"]) if cells["mixed"] and not extra else None,
        ppm=_finite(cells["asked_ppm_n"]),
        plan_ppm=_finite(cells["planned_ppm_n"]),
        share=_finite(cells["share"]),
        unrecorded=Outcome(cells["unrecorded"]),
        extra=extra,
        lineage=cells.get("lineage", ""),
        reasons=(Reason(Rule.TOLD, Quoted(quoted)),) if quoted else (),
    )


def _finite(text: str) -> Decimal:
    value = Decimal(text)
    if not value.is_finite():
        raise ValueError(text)
    return value


@dataclass(frozen=True, slots=True)
class _Asked:
    trees: Mapping[str, TreeHistory] = field(default_factory=dict)
    entry_ids: tuple[str, ...] = ()
    first_seen: Mapping[str, date] = field(default_factory=dict)
    told_on: date | None = None
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
        trees = {
            name: TreeHistory(tuple(map(_told_of, rows)), asked_to, joined.get(name))
            for name, rows in content["trees"].items()
        }
        seen = {str(i): date.fromisoformat(day) for i, day in content["first_seen"].items()}
        cans = tuple(
            (date.fromisoformat(day), _finite(litres)) for day, litres in content.get("cans", {}).items()
        )
        return _Asked(
            trees, tuple(map(str, content["entries"])), seen, told_on, cans, int(content.get("lines", 0))
        )
    except (ValueError, TypeError, KeyError, AttributeError, InvalidOperation, RecursionError):
        return None


def told_text(history: History, first_seen: Mapping[str, date], day: date, asked_to: date, lines: int) -> str:
    """The text of told.json: what is asked for from a day on, and the entries known.

    lines: how many history.csv has, so that one cut short is noticed.
    """
    trees = {
        name: [
            {
                "told": str(feed.told),
                **{key: str(value) for key, value in _told_cells(feed).items()},
            }
            for feed in tree.feeds
            if feed.unrecorded is Outcome.ASKED and feed.told >= day
        ]
        for name, tree in history.trees.items()
    }
    content = {
        "format": _FORMAT,
        "settled_to": str(day),
        "asked_to": str(asked_to),
        "lines": lines,
        "cans": {str(first): _number(litres) for first, litres in history.cans},
        "in_step": {name: str(tree.in_step) for name, tree in history.trees.items() if tree.in_step},
        "entries": list(history.entry_ids),
        "first_seen": {key: str(day) for key, day in sorted(first_seen.items())},
        "trees": trees,
    }
    return json.dumps(content, ensure_ascii=False, indent=0) + "\n"
