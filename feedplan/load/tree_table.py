"""A grower's own table of trees, as a spreadsheet saves it: one row a tree, columns in any order, by their headings."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import NoReturn

from feedplan.dose.measures import tidy
from feedplan.errors import FeedplanError, Problem
from feedplan.load.folder import TABLE_FILE, decode_source
from feedplan.load.problems import near_miss, visible
from feedplan.load.read_site import parse_pot
from feedplan.load.read_words import parse_name, parse_words
from feedplan.words.language import say

HEADINGS: Mapping[str, tuple[str, ...]] = {
    "name": ("tree", "tree name", "called", "label"),
    "species": ("kind", "kind of tree", "type", "sort", "plant", "botanical name"),
    "pot": ("pot size", "pots", "container", "size", "volume", "pot volume"),
    "group": ("groups", "category", "set"),
    "bench": ("benches", "place", "location", "where", "stand", "stands", "where it stands", "position"),
    "count": ("number", "how many", "quantity", "qty", "pieces", "no of trees"),
    "notes": ("note", "remarks", "remark", "comments", "comment", "about", "words", "condition", "health", "state",
              "status", "history", "stage", "age"),
}  # fmt: skip
"""The columns that are read, each with other ways to head it. Several columns of notes are read as one."""
NEEDED = ("name", "species", "pot")
_SPELLED = {spelling: column for column, others in HEADINGS.items() for spelling in (column, *others)}
_UNIT = re.compile(r"(.*?)\s*[(\[]\s*([^)\]]+?)\s*[)\]]")
_SEPARATORS = ";,\t"
_COMMA = re.compile(r"(?<=\d),(\d+)")
MOST_ALIKE = 10_000
_NO_UNIT = re.compile(r"(?:round|oval)?[\d.x ]+", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class TableRow:
    """One tree of the table. row: as the spreadsheet counts; words: all that its notes say; "" where nothing stands."""

    row: int
    name: str
    species: str
    pot: str
    group: str = ""
    bench: str = ""
    count: int = 1
    words: str = ""


@dataclass(frozen=True, slots=True)
class TreeTable:
    """The trees of a table. left_out: headings of columns that are not read."""

    rows: tuple[TableRow, ...]
    left_out: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Column:
    """A column that is read. heading: as written; unit: the one in its heading, "" without."""

    column: str
    heading: str
    unit: str


def read_tree_table(raw: bytes, file: str) -> TreeTable:
    """The trees of a table: UTF-8 or UTF-16, cells parted by commas, semicolons or tabs.

    file: its name in messages. Raises FeedplanError with all that is wrong, one line each with its row and column.
    """
    filled = _cells(_lines(_text_of(raw, file)), file)
    if not filled:
        _refuse(
            file, [say("it is empty; write a row with the headings name, species and pot, then a row a tree")]
        )
    (head, headings), *below = filled
    columns, left_out = _columns(headings, head, file)
    reader = _RowReader(columns, len(headings))
    trees = tuple(reader.tree(number, cells) for number, cells in below)
    if not trees:
        reader.slips.append(say("there is no row below the headings; write a row a tree"))
    if reader.slips:
        _refuse(file, reader.slips)
    return TreeTable(trees, left_out)


def _refuse(file: str, slips: Iterable[str]) -> NoReturn:
    """Raises FeedplanError with every slip on a line of its own."""
    head = say("{file} cannot be read as it stands, so nothing was written:", file=file)
    raise FeedplanError("\n".join([head, *(f"  {visible(slip)}" for slip in slips)]))


def _text_of(raw: bytes, file: str) -> str:
    """The text of the table, whichever way a spreadsheet saved it. Raises FeedplanError."""
    if raw.startswith(b"PK") or raw.startswith(b"\xd0\xcf\x11\xe0"):
        raise FeedplanError(
            say('{file} is a whole workbook; save the sheet as "CSV UTF-8" and name that', file=file)
        )
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raw = raw.decode("utf-16", "replace").encode("utf-8", "replace")
    text = decode_source(raw, file, TABLE_FILE)
    if isinstance(text, Problem):
        raise FeedplanError(f"{text}; " + say('a spreadsheet calls that "CSV UTF-8"'))
    return text


def _lines(text: str) -> list[str]:
    """The lines with their ends; the first one left empty where it only names the separator, as some sheets write."""
    lines = text.splitlines(keepends=True)
    if lines and re.fullmatch(r"sep=.?\s*", lines[0], re.IGNORECASE):
        lines[0] = "\n"
    return lines


def _cells(lines: list[str], file: str) -> list[tuple[int, list[str]]]:
    """Every row that holds something with its number, cut where most headings are then known. Raises FeedplanError."""
    heads = next((line for line in lines if line.strip()), "")
    sign = max(_SEPARATORS, key=lambda sign: sum(_known(cell) is not None for cell in heads.split(sign)))
    reader = csv.reader(lines, delimiter=sign, strict=True)
    try:
        rows = list(enumerate(reader, 1))
    except csv.Error:
        line = reader.line_num
        unclosed = say(
            "line {line}: a quotation mark is not closed, or not doubled within a cell; mend it", line=line
        )
        _refuse(file, [unclosed])
    return [(number, cells) for number, cells in rows if any(cell.strip() for cell in cells)]


def _known(heading: str) -> _Column | None:
    """The column a heading means, with the unit in its brackets; None for one that is not read."""
    words, unit = tidy(heading.strip('" ')), ""
    if match := _UNIT.fullmatch(words):
        words, unit = match[1], match[2]
    column = _SPELLED.get(words.casefold().replace("_", " ").rstrip(":"))
    return None if column is None else _Column(column, tidy(heading), unit)


def _columns(headings: list[str], row: int, file: str) -> tuple[dict[int, _Column], tuple[str, ...]]:
    """The columns that are read by their place, and the headings of the others. Raises FeedplanError."""
    columns = {
        place: found for place, heading in enumerate(headings) if (found := _known(heading)) is not None
    }
    left_out = tuple(
        tidy(heading) for place, heading in enumerate(headings) if place not in columns and heading.strip()
    )
    given = [found.column for found in columns.values()]
    slips = [
        say(
            "row {row}: two columns are headed as {column}; head one of them otherwise",
            row=row,
            column=column,
        )
        for column in HEADINGS
        if given.count(column) > 1 and column != "notes"
    ]
    slips += [_missing(column, row, left_out) for column in NEEDED if column not in given]
    if slips:
        _refuse(file, slips)
    return columns, left_out


def _missing(column: str, row: int, left_out: tuple[str, ...]) -> str:
    """What to say of a column that is not there."""
    near = [heading for heading in left_out if "did you mean" in near_miss(heading, [column], 0)]
    if near:
        return say("row {row}, {heading}: head it {column}", row=row, heading=near[0], column=column)
    return say(
        "row {row}: no column is headed {column}; write {column} at the head of the column that tells it",
        row=row,
        column=column,
    )


class _RowReader:
    """Reads row after row, noting what is wrong. width: how many cells the headings take."""

    def __init__(self, columns: Mapping[int, _Column], width: int) -> None:
        self._columns = columns
        self._width = width
        self._taken: dict[str, int] = {}
        self.slips: list[str] = []

    def tree(self, row: int, cells: list[str]) -> TableRow:
        """The tree of one row; what cannot be read is noted and left empty."""
        if any(cell.strip() for cell in cells[self._width :]):
            more = say("row {row} has more cells than there are headings; put a cell that holds a comma or semicolon "
                       "in quotation marks", row=row)  # fmt: skip
            self.slips.append(more)
            return TableRow(row, "", "", "")
        found: dict[str, str] = {}
        words = []
        for place, column in self._columns.items():
            cell = tidy(cells[place]) if place < len(cells) else ""
            read = self._read(row, column, cell)
            if column.column == "notes":
                words.append(read)
            else:
                found[column.column] = read
        count = found.pop("count", "")
        return TableRow(row, **found, count=int(count or 1), words="; ".join(filter(None, words)))

    def _read(self, row: int, column: _Column, cell: str) -> str:
        """The cell as it is to be written in the collection; "" where it is empty or cannot be read."""
        try:
            value = _value(column, cell)
            if column.column == "name":
                self._take(value, row)
        except ValueError as refusal:
            self.slips.append(
                say("row {row}, {heading}: {told}", row=row, heading=column.heading, told=refusal)
            )
            return ""
        return value

    def _take(self, name: str, row: int) -> None:
        """Raises ValueError for a name that stands already."""
        first = self._taken.setdefault(name, row)
        if first != row:
            raise ValueError(
                say(
                    "'{name}' stands already in row {first}; give one of them another name",
                    name=name,
                    first=first,
                )
            )


def _value(column: _Column, cell: str) -> str:
    """A cell as it is to be written in the collection. Raises ValueError, which says what to write."""
    if not cell:
        if column.column in NEEDED:
            raise ValueError(say("nothing is written; write the tree's {what}", what=say(column.column)))
        return ""
    match column.column:
        case "pot":
            return _pot(cell, column.unit)
        case "count":
            return _count(cell)
        case "notes":
            return parse_words(cell)
        case _:
            return parse_name(cell)


def _pot(cell: str, unit: str) -> str:
    """A pot as feedplan writes it: decimal points, and the unit of the heading where the cell has none."""
    if any(len(thousands) == 3 for thousands in _COMMA.findall(cell)):
        raise ValueError(
            say("'{cell}' has a comma before three digits; write it without the comma", cell=cell)
        )
    written = _COMMA.sub(r".\1", cell).replace("*", "x")
    if unit and _NO_UNIT.fullmatch(written):
        written = f"{written} {unit}"
    parse_pot(written)
    return written


def _count(cell: str) -> str:
    """How many stand behind a name."""
    if not cell.isdecimal() or not 1 <= int(cell) <= MOST_ALIKE:
        raise ValueError(
            say("'{cell}' is not a number of trees; write 1 to {most}", cell=cell, most=MOST_ALIKE)
        )
    return str(int(cell))
