"""A weather table as text: commas or semicolons, decimal points or commas, comments, and where every cell stands."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from math import isfinite, isnan, nan
from typing import NamedTuple

from feedplan.errors import Problem
from feedplan.load.climate_files.climate_columns import MEASURES, Column, read_header

MOST_LINES_ABOVE = 30
"""Lines a service may put above the header: name of the station, licence, and so on."""
MOST_PROBLEMS = 10
"""So many problems of one file are told one by one."""
BLANK = frozenset({"", "-", "--", "na", "n/a", "nan", "null", "none", "m", "x"})
MISSING = frozenset({-9999.0, -999.0})
"""Ways to write that nothing was measured, as words and as numbers."""
TRACE = frozenset({"t", "tr", "trace"})
"""Ways to write rain too little to measure."""


class Cell(NamedTuple):
    """What stands in one place. line: 1-based; raw: the whole line; place: which cell of it, from 0."""

    text: str
    line: int
    raw: str
    place: int
    delimiter: str

    @property
    def column(self) -> int:
        """Where its text begins, 1-based; worked out only when something is wrong."""
        at = 0
        for index, text in enumerate(_split(self.raw, self.delimiter)):
            found = max(self.raw.find(text, at), at)
            if index == self.place:
                return found + 1 + len(text) - len(text.lstrip())
            at = found + len(text)
        return 1


@dataclass(frozen=True, slots=True)
class Table:
    """A table read so far: its columns by measure, and its rows as cells by measure. unread: headers passed over."""

    columns: dict[str, Column]
    rows: list[dict[str, Cell]]
    unread: tuple[str, ...]
    header_line: int


class Complaints:
    """Problems of one file, the first few told one by one, the rest counted."""

    def __init__(self, file: str) -> None:
        self.file = file
        self._told: list[Problem] = []
        self._more = 0
        self._next: tuple[int, int] | None = None

    def add(self, line: int, column: int, message: str) -> None:
        """Notes a problem at a place."""
        if len(self._told) < MOST_PROBLEMS:
            self._told.append(Problem(self.file, line, column, message))
        else:
            self._next = self._next or (line, column)
            self._more += 1

    @property
    def problems(self) -> tuple[Problem, ...]:
        """All that is to be told."""
        if self._next is None:
            return tuple(self._told)
        rest = Problem(self.file, *self._next, f"and {self._more} more like these in this file")
        return (*self._told, rest)


def read_table(text: str, needed: Sequence[str], complaints: Complaints) -> Table | None:
    """The table in a text, None when no header with the needed columns is found; what is wrong is noted."""
    lines = list(enumerate(text.splitlines(), start=1))
    lines = [(number, raw) for number, raw in lines if raw.strip() and not raw.lstrip().startswith("#")]
    if not lines:
        complaints.add(1, 1, "is empty; write a header line and a line for each day or month")
        return None
    first_line, delimiter = lines[0][0], _delimiter(lines)
    for place, (number, raw) in enumerate(lines[:MOST_LINES_ABOVE]):
        cells = _cells(raw, number, delimiter)
        read = [read_header(cell.text, index) for index, cell in enumerate(cells)]
        if sum(result is not None for result in read) >= 2:
            columns = _columns(cells, read, needed, complaints)
            if columns is None:
                return None
            unread = tuple(
                cell.text
                for cell, result in zip(cells, read, strict=True)
                if result is None and cell.text.strip()
            )
            rows = [
                _row(_cells(raw, number, delimiter), columns, len(cells), delimiter == ",", complaints)
                for number, raw in lines[place + 1 :]
            ]
            return Table(columns, rows, unread, number)
    complaints.add(first_line, 1, f"no header line found; write one such as {_example(needed)}")
    return None


def _example(needed: Sequence[str]) -> str:
    return ",".join([*needed, "rain_mm"])


def _delimiter(lines: Sequence[tuple[int, str]]) -> str:
    """The sign that parts most of the first lines."""
    sample = "\n".join(raw for _, raw in lines[:MOST_LINES_ABOVE])
    return max((";", "\t", ","), key=lambda sign: sample.count(sign) * (1 if sign == "," else 3))


def _split(raw: str, delimiter: str) -> list[str]:
    """A line's cells as they stand; quotes may hold the sign that parts them."""
    return next(csv.reader([raw], delimiter=delimiter)) if '"' in raw else raw.split(delimiter)


def _cells(raw: str, line: int, delimiter: str) -> list[Cell]:
    parts = _split(raw, delimiter)
    return [Cell(text.strip(), line, raw, index, delimiter) for index, text in enumerate(parts)]


def _columns(
    cells: Sequence[Cell], read: Sequence[Column | str | None], needed: Sequence[str], complaints: Complaints
) -> dict[str, Column] | None:
    columns: dict[str, Column] = {}
    is_sound = True
    for cell, result in zip(cells, read, strict=True):
        if isinstance(result, str):
            complaints.add(cell.line, cell.column, result)
            is_sound = False
        elif result is not None:
            if result.measure.name in columns:
                complaints.add(
                    cell.line, cell.column, f"the column '{cell.text}' repeats another; delete one of them"
                )
                is_sound = False
            columns.setdefault(result.measure.name, result)
    told = {result.measure.name for result in read if isinstance(result, Column)}
    lacking = [_written(name) for name in needed if name not in told]
    if lacking and is_sound:
        complaints.add(
            cells[0].line, 1, f"the header lacks {' and '.join(lacking)}; add it, such as {_example(needed)}"
        )
    return columns if is_sound and not lacking else None


def _written(name: str) -> str:
    return next(measure.written for measure in MEASURES if measure.name == name)


def _row(
    cells: list[Cell], columns: dict[str, Column], width: int, by_comma: bool, complaints: Complaints
) -> dict[str, Cell]:
    if len(cells) > width and any(cell.text for cell in cells[width:]):
        hint = "; numbers with a decimal comma need semicolons between them" if by_comma else ""
        complaints.add(cells[0].line, 1, f"has {len(cells)} values under {width} headers{hint}")
        return {}
    return {name: cells[column.index] for name, column in columns.items() if column.index < len(cells)}


def number_in(cell: Cell, column: Column, complaints: Complaints) -> float | None:
    """The number in a cell in feedplan's own unit; None when it is blank or, noted, no number."""
    text = cell.text
    try:
        value = float(text)
    except ValueError:
        if text.lower() in BLANK:
            return None
        if text.lower() in TRACE and column.measure.name == "rain_mm":
            return 0.0
        value = _other_number(text)
    if value in MISSING or (isnan(value) and text.lower() in BLANK):
        return None
    if not isfinite(value):
        complaints.add(cell.line, cell.column, f"'{text}' is not a number; write one, or leave it blank")
        return None
    return column.convert(value)


def _other_number(text: str) -> float:
    """A number with a decimal comma or a printed minus sign; no number as NaN."""
    plain = text.replace("−", "-")
    if plain.count(",") == 1 and "." not in plain:
        plain = plain.replace(",", ".")
    try:
        return float(plain)
    except ValueError:
        return nan


def date_in(cell: Cell, complaints: Complaints) -> date | None:
    """The day in a cell: 2027-06-05, with or without a time, 20270605 or 5.6.2027; None, noted, for anything else."""
    written = cell.text.replace("T", " ").split(" ")[0]
    try:
        return date.fromisoformat(written.replace("/", "-"))
    except ValueError:
        pass
    try:
        return datetime.strptime(written, "%d.%m.%Y").date()  # noqa: DTZ007
    except ValueError:
        pass
    complaints.add(cell.line, cell.column, f"'{cell.text}' is no day that is clear; write it as 2027-06-05")
    return None
