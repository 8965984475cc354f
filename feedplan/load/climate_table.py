"""What a column of a weather table holds, by its header: the measure, its unit, and the height of the wind."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from math import isfinite, isnan, nan
from typing import NamedTuple

from feedplan.errors import Problem
from feedplan.load.bounds import EARLIEST_WEATHER, LATEST_YEAR, RANGES
from feedplan.load.problems import cut, legible

Convert = Callable[[float], float]


def _times(factor: float) -> Convert:
    return lambda value: value * factor


def _same(value: float) -> float:
    return value


def celsius_from_fahrenheit(value: float) -> float:
    """Degrees Celsius from degrees Fahrenheit [°C]."""
    return (value - 32) / 1.8


_TEMPERATURE: Mapping[str, Convert] = {"c": _same, "f": celsius_from_fahrenheit}
_DEPTH: Mapping[str, Convert] = {"mm": _same, "in": _times(25.4)}
_PERCENT: Mapping[str, Convert] = {"": _same, "percent": _same}
# A statute mile is 1609.344 m and a nautical one 1852 m.
_SPEED: Mapping[str, Convert] = {
    "m/s": _same,
    "km/h": _times(1 / 3.6),
    "mph": _times(0.44704),
    "kn": _times(1.852 / 3.6),
}
_HOURS: Mapping[str, Convert] = {"": _same, "h": _same, "min": _times(1 / 60), "s": _times(1 / 3600)}
# A watt through a day is 86,400 J; a kilowatt-hour is 3.6 MJ.
_RADIATION: Mapping[str, Convert] = {"mj/m2": _same, "w/m2": _times(0.0864), "kwh/m2": _times(3.6)}
_PRESSURE: Mapping[str, Convert] = {"kpa": _same, "hpa": _times(0.1), "mbar": _times(0.1)}
_PLAIN: Mapping[str, Convert] = {"": _same}


@dataclass(frozen=True, slots=True)
class Quantity:
    """One thing a column can hold. name: as in the code; units: written unit to converter; written: to suggest."""

    name: str
    units: Mapping[str, Convert]
    written: str
    also: tuple[str, ...] = ()


QUANTITIES = (
    Quantity("date", _PLAIN, "date", ("day", "time", "datum")),
    Quantity("month", _PLAIN, "month", ("monat", "mois")),
    Quantity(
        "tmin_c",
        _TEMPERATURE,
        "tmin_c",
        ("tmin", "t min", "min", "minimum", "low", "min temp", "temp min", "temperature min", "min temperature",
         "minimum temperature", "mean minimum", "mean daily minimum", "mean minimum temperature"),
    ),
    Quantity(
        "tmax_c",
        _TEMPERATURE,
        "tmax_c",
        ("tmax", "t max", "max", "maximum", "high", "max temp", "temp max", "temperature max", "max temperature",
         "maximum temperature", "mean maximum", "mean daily maximum", "mean maximum temperature"),
    ),
    Quantity(
        "rain_mm", _DEPTH, "rain_mm", ("rain", "rainfall", "precipitation", "precip", "prcp", "precipitation sum")
    ),
    Quantity("dew_point_c", _TEMPERATURE, "dew_point_c", ("dew point", "dewpoint", "mean dew point", "dew point mean")),
    Quantity(
        "rh_mean_percent",
        _PERCENT,
        "humidity_percent",
        ("humidity", "rh", "relative humidity", "rh mean", "mean humidity", "humidity mean", "relative humidity mean"),
    ),
    Quantity("rh_max_percent", _PERCENT, "humidity_max_percent", ("humidity max", "rh max", "relative humidity max")),
    Quantity("rh_min_percent", _PERCENT, "humidity_min_percent", ("humidity min", "rh min", "relative humidity min")),
    Quantity("vapour_pressure_kpa", _PRESSURE, "vapour_pressure_kpa", ("vapour pressure", "vapor pressure")),
    Quantity(
        "wind_m_per_s", _SPEED, "wind_m_per_s", ("wind", "wind speed", "windspeed", "mean wind", "wind speed mean")
    ),
    Quantity("wind_height_m", {"m": _same}, "wind_height_m", ("wind height",)),
    Quantity(
        "sunshine_hours", _HOURS, "sunshine_hours", ("sunshine", "sun", "sunshine duration", "bright sunshine")
    ),
    Quantity(
        "solar_mj_per_m2",
        _RADIATION,
        "radiation_mj_per_m2",
        ("radiation", "solar", "solar radiation", "global radiation", "shortwave radiation",
         "shortwave radiation sum"),
    ),
    Quantity("standing", _PLAIN, "standing", ("kind", "status")),
)  # fmt: skip
"""Every column that is read, with the ways to write it; a unit stands behind: tmin_c, "Tmin (°C)", "rain [in]"."""

_BY_WORDS = {words: measure for measure in QUANTITIES for words in measure.also} | {
    measure.name: measure for measure in QUANTITIES if measure.units is _PLAIN
}
_UNIT_WORDS = {
    "c": "c", "degc": "c", "celsius": "c", "deg c": "c", "f": "f", "degf": "f", "fahrenheit": "f", "deg f": "f",
    "mm": "mm", "in": "in", "inch": "in", "inches": "in", "percent": "percent", "%": "percent", "pct": "percent",
    "m s": "m/s", "m per s": "m/s", "mps": "m/s", "km h": "km/h", "km per h": "km/h", "kmh": "km/h", "kph": "km/h",
    "mph": "mph", "kn": "kn", "knots": "kn", "kt": "kn", "h": "h", "hours": "h", "hrs": "h", "min": "min",
    "minutes": "min", "s": "s", "mj m2": "mj/m2", "mj per m2": "mj/m2", "w m2": "w/m2", "w per m2": "w/m2",
    "kwh m2": "kwh/m2", "kwh per m2": "kwh/m2", "kpa": "kpa", "hpa": "hpa", "mbar": "mbar", "m": "m",
}  # fmt: skip
_LONGEST_HEADER = 80
_PER_DAY = re.compile(r" (?:per )?(?:d|day|month)$")
_HEIGHT = re.compile(r" (?:at )?(\d+(?:\.\d+)?) ?m(?= |$)")


@dataclass(frozen=True, slots=True)
class Column:
    """A column that is read. index: from 0; wind_height_m: told by the header, else None."""

    index: int
    measure: Quantity
    convert: Convert
    wind_height_m: float | None = None


def read_header(header: str, index: int) -> Column | str | None:
    """The column a header names; a sentence when its unit is missing or of another kind; None when it is not read."""
    words = _words(header)
    height = _HEIGHT.search(words)
    if height is not None:
        words = (words[: height.start()] + words[height.end() :]).strip()
    if len(words) > _LONGEST_HEADER:
        return None
    measure, unit = _quantity_and_unit(_PER_DAY.sub("", words))
    if measure is None:
        return None
    if unit not in measure.units:
        told = (
            f"'{cut(header.strip())}' says no unit"
            if not unit
            else f"'{cut(header.strip())}' is in no unit of it"
        )
        known = " or ".join(name for name in measure.units if name)
        return f"the column {told}; write {measure.written} for example (known: {known})"
    is_wind = measure.name == "wind_m_per_s"
    height_m = float(height[1]) if height and is_wind else None
    limit = RANGES["wind_height_m"]
    if height_m is not None and not limit.least <= height_m <= limit.most:
        bounds = f"write {limit.least:g} m to {limit.most:g} m, such as wind_10m_m_per_s"
        return f"the column '{cut(header.strip())}' has its wind at {height_m:g} m; {bounds}"
    return Column(index, measure, measure.units[unit], height_m)


def _words(header: str) -> str:
    text = (
        header.strip().lower().replace("²", "2").replace("°", " ").replace("º", " ").replace("%", " percent ")
    )
    return " ".join(re.sub(r"[^a-z0-9.]+", " ", text).split())


def _quantity_and_unit(words: str) -> tuple[Quantity | None, str]:
    """The measure and its unit, the longest measure first, so that `min` alone is no minute."""
    parts = words.split()
    for count in range(len(parts), 0, -1):
        unit = " ".join(parts[count:])
        measure = _BY_WORDS.get(" ".join(parts[:count]))
        if measure is not None and (not unit or unit in _UNIT_WORDS):
            return measure, _UNIT_WORDS.get(unit, "")
    return None, ""


LONGEST_LINE = 5_000
MOST_LINES = 150_000
"""No line of a table of weather is longer [characters]; four hundred years of days are no longer table."""
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


class TableProblems:
    """Problems of one file, the first few told one by one, the rest counted."""

    def __init__(self, file: str) -> None:
        self.file = file
        self._told: list[Problem] = []
        self._more = 0
        self._next: tuple[int, int] | None = None

    def add(self, line: int, column: int, message: str) -> None:
        """Notes a problem at a place."""
        if len(self._told) < MOST_PROBLEMS:
            self._told.append(Problem(self.file, line, column, legible(message)))
        else:
            self._next = self._next or (line, column)
            self._more += 1

    def at(self, cell: Cell, message: str) -> None:
        """Notes a problem with what stands in a cell."""
        self.add(cell.line, cell.column if self._next is None else 1, message)

    @property
    def problems(self) -> tuple[Problem, ...]:
        """All that is to be told."""
        if self._next is None:
            return tuple(self._told)
        rest = Problem(self.file, *self._next, f"and {self._more} more like these in this file")
        return (*self._told, rest)


def read_table(text: str, needed: Sequence[str], problems: TableProblems) -> Table | None:
    """The table in a text, None when no header with the needed columns is found; what is wrong is noted."""
    if text.count("\n") > MOST_LINES:
        problems.add(MOST_LINES, 1, f"has more than {MOST_LINES} lines; is this a table of days or months?")
        return None
    lines = list(enumerate(text.splitlines(), start=1))
    long = next((number for number, raw in lines if len(raw) > LONGEST_LINE), None)
    if long is not None:
        problems.add(
            long, 1, f"is longer than {LONGEST_LINE} characters; is a quote never closed, or a line end lost?"
        )
        return None
    lines = [(number, raw) for number, raw in lines if raw.strip() and not raw.lstrip().startswith("#")]
    if not lines:
        problems.add(1, 1, "is empty; write a header line and a line for each day or month")
        return None
    first_line, delimiter = lines[0][0], _delimiter(lines)
    for place, (number, raw) in enumerate(lines[:MOST_LINES_ABOVE]):
        cells = _cells(raw, number, delimiter)
        read = [read_header(cell.text, index) for index, cell in enumerate(cells)]
        if sum(result is not None for result in read) >= 2:
            columns = _columns(cells, read, needed, problems)
            if columns is None:
                return None
            unread = tuple(
                cut(cell.text)
                for cell, result in zip(cells, read, strict=True)
                if result is None and cell.text.strip()
            )
            rows = [
                _row(_cells(raw, number, delimiter), columns, len(cells), delimiter == ",", problems)
                for number, raw in lines[place + 1 :]
            ]
            return Table(columns, rows, unread, number)
    problems.add(first_line, 1, f"no header line found; write one such as {_example(needed)}")
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
    cells: Sequence[Cell], read: Sequence[Column | str | None], needed: Sequence[str], problems: TableProblems
) -> dict[str, Column] | None:
    columns: dict[str, Column] = {}
    is_sound = True
    for cell, result in zip(cells, read, strict=True):
        if isinstance(result, str):
            problems.at(cell, result)
            is_sound = False
        elif result is not None:
            if result.measure.name in columns:
                problems.at(cell, f"the column '{cut(cell.text)}' repeats another; delete one of them")
                is_sound = False
            columns.setdefault(result.measure.name, result)
    told = {result.measure.name for result in read if isinstance(result, Column)}
    lacking = [_written(name) for name in needed if name not in told]
    if lacking and is_sound:
        problems.add(
            cells[0].line, 1, f"the header lacks {' and '.join(lacking)}; add it, such as {_example(needed)}"
        )
    return columns if is_sound and not lacking else None


def _written(name: str) -> str:
    return next(measure.written for measure in QUANTITIES if measure.name == name)


def _row(
    cells: list[Cell], columns: dict[str, Column], width: int, by_comma: bool, problems: TableProblems
) -> dict[str, Cell]:
    if len(cells) > width and any(cell.text for cell in cells[width:]):
        hint = "; numbers with a decimal comma need semicolons between them" if by_comma else ""
        problems.add(cells[0].line, 1, f"has {len(cells)} values under {width} headers{hint}")
        return {}
    return {name: cells[column.index] for name, column in columns.items() if column.index < len(cells)}


def number_in(cell: Cell, column: Column, problems: TableProblems) -> float | None:
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
        problems.at(cell, f"'{cut(text)}' is not a number; write one, or leave it blank")
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


def date_in(cell: Cell, problems: TableProblems) -> date | None:
    """The day in a cell: 2027-06-05, with or without a time, 20270605 or 5.6.2027; None, noted, for anything else."""
    written = cell.text.replace("T", " ").split(" ")[0]
    try:
        return _day_of_record(date.fromisoformat(written.replace("/", "-")), cell, problems)
    except ValueError:
        pass
    try:
        day = datetime.strptime(written, "%d.%m.%Y").date()  # noqa: DTZ007
        return _day_of_record(day, cell, problems)
    except ValueError:
        pass
    problems.at(cell, f"'{cut(cell.text)}' is no day that is clear; write for example 2027-06-05")
    return None


def _day_of_record(day: date, cell: Cell, problems: TableProblems) -> date | None:
    """The day, if weather was or will be measured on it; None, noted, else."""
    if EARLIEST_WEATHER <= day.year <= LATEST_YEAR:
        return day
    problems.at(cell, f"{day} lies outside {EARLIEST_WEATHER} to {LATEST_YEAR}; check the year")
    return None
