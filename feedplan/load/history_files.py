"""The memory of a collection: history.csv, a settled line a tree and feed, and told.json, what was last asked for.

history.csv only grows: what became of a feed may be said again in a later line, and the last line about a feed counts.
Both can be deleted; then the plan works its past out again from the journal, and says so.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal, InvalidOperation

from feedplan.dose.grade import parse_npk_ratio
from feedplan.model.history import History, Outcome, ToldFeed, TreeHistory
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
)
"""The first nine are for a person; the others let the plan take up where it was."""


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


@dataclass(frozen=True, slots=True)
class Remembered:
    """What the two files hold. lines: the last said of each feed, as written; notes: what could not be read."""

    history: History = field(default_factory=History)
    lines: Mapping[tuple[str, date, int, bool], str] = field(default_factory=dict)
    first_seen: Mapping[str, date] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    is_new: bool = True


def line_text(line: HistoryLine) -> str:
    """A line of history.csv with its end."""
    told = line.told
    cells: dict[str, object] = {
        "told": told.told,
        "tree": line.tree,
        "product": line.product,
        "ppm_n": _number(line.ppm),
        "outcome": line.outcome,
        "given_on": line.given_on or "",
        "poured_ml": _number(round(line.poured_ml)),
        "n_mg_per_l_of_pot": _number(round(line.n_mg_per_l, 1)),
        "because": line.because,
        "entry": line.entry,
        **_told_cells(told),
    }
    return _row(cells[name] for name in COLUMNS)


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


def read_history(history: str | None, told: str | None) -> Remembered:
    """What the two files say; None for a file that is not there. What cannot be read is left out and noted."""
    if history is None and told is None:
        return Remembered()
    notes: list[str] = []
    settled: dict[str, dict[tuple[str, date, int, bool], ToldFeed]] = {}
    lines: dict[tuple[str, date, int, bool], str] = {}
    for number, tree, feed, text in _settled_lines(history or "", notes):
        key = (tree, feed.told, feed.ordinal, feed.extra)
        settled.setdefault(tree, {})[key] = feed
        lines[key] = text
        assert number > 0
    asked = _asked(told, notes)
    trees = {}
    for name in settled.keys() | asked.trees.keys():
        rows = sorted(settled.get(name, {}).values(), key=lambda row: (row.told, row.ordinal))
        ahead = asked.trees.get(name, TreeHistory())
        last = rows[-1].told if rows else date.min
        later = tuple(
            feed for feed in ahead.feeds if feed.told > last or feed.told not in {r.told for r in rows}
        )
        trees[name] = TreeHistory((*rows, *later), ahead.settled_to, ahead.asked_to)
    found = History(trees, asked.entry_ids)
    return Remembered(found, lines, asked.first_seen, tuple(notes), is_new=False)


def _settled_lines(text: str, notes: list[str]) -> Iterator[tuple[int, str, ToldFeed, str]]:
    """The feeds of history.csv, each with its line's number, its tree and the line as it stands."""
    if not text:
        return
    raw = text.split("\n")
    head = next(csv.reader([raw[0]]), [])
    bad = 0
    for number, line in enumerate(raw[1:], start=2):
        if not line:
            continue
        cells = dict(zip(head, next(csv.reader([line]), []), strict=False))
        try:
            yield number, cells["tree"], _told_of(cells), f"{line}\n"
        except (KeyError, ValueError, InvalidOperation):
            bad += 1
            if bad == 1:
                notes.append(f"{HISTORY}:{number}: not a line of the history; it is left out")
    if bad > 1:
        notes[-1] += f", and {bad - 1} more"


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


def _asked(text: str | None, notes: list[str]) -> _Asked:
    """What told.json says; nothing where it is lost or damaged."""
    if text is None:
        return _Asked()
    try:
        content = json.loads(text)
        if content["format"] != _FORMAT:
            raise ValueError(content["format"])
        settled_to, asked_to = (date.fromisoformat(content[name]) for name in ("settled_to", "asked_to"))
        trees = {
            name: TreeHistory(tuple(map(_told_of, rows)), settled_to, asked_to)
            for name, rows in content["trees"].items()
        }
        seen = {str(i): date.fromisoformat(day) for i, day in content["first_seen"].items()}
        return _Asked(trees, tuple(map(str, content["entries"])), seen)
    except (ValueError, TypeError, KeyError, AttributeError, InvalidOperation, RecursionError):
        notes.append(f"{TOLD} is damaged; it is left out")
        return _Asked()


def told_text(history: History, first_seen: Mapping[str, date], settled_to: date, asked_to: date) -> str:
    """The text of told.json: what is asked for from a day on, and the entries known."""
    trees = {
        name: [
            {
                "told": str(feed.told),
                **{key: str(value) for key, value in _told_cells(feed).items()},
            }
            for feed in tree.feeds
            if feed.unrecorded is Outcome.ASKED and feed.told >= settled_to
        ]
        for name, tree in history.trees.items()
    }
    content = {
        "format": _FORMAT,
        "settled_to": str(settled_to),
        "asked_to": str(asked_to),
        "entries": list(history.entry_ids),
        "first_seen": {key: str(day) for key, day in sorted(first_seen.items())},
        "trees": trees,
    }
    return json.dumps(content, ensure_ascii=False, indent=0) + "\n"
