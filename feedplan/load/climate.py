"""The climate folder of a collection: normals.csv, daily.csv and station records (GHCN-Daily), as one Climate."""

from __future__ import annotations

import calendar
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from types import MappingProxyType
from typing import NamedTuple

from feedplan.errors import Problem
from feedplan.load.bounds import EARLIEST_WEATHER, LATEST_YEAR, RANGES
from feedplan.load.climate_rows import DailyRecord, days_of, months_of, normals_from_days
from feedplan.load.climate_table import Table, TableProblems, read_table
from feedplan.load.copies import is_left_by_two_writers
from feedplan.load.folder import CLIMATE, TABLE_FILE, Folder
from feedplan.load.problems import Findings, Spot
from feedplan.model.climate import Climate, ClimateDay, Normals, Standing
from feedplan.model.source import Source
from feedplan.weather.evapotranspiration import DayWeather

MISSING = -9999
MOST_READINGS = 500_000
"""No station has more: a hundred and fifty years of all nine elements that are read."""
DLY_VALUES = 21
DLY_CELL = 8


@dataclass(frozen=True, slots=True)
class Element:
    """What an element code stands for. measure: feedplan's name; factor: from the record's unit to feedplan's."""

    measure: str
    factor: float


ELEMENTS: Mapping[str, Element] = {
    "TMIN": Element("tmin_c", 0.1),
    "TMAX": Element("tmax_c", 0.1),
    "PRCP": Element("rain_mm", 0.1),
    "AWND": Element("wind_m_per_s", 0.1),
    "TSUN": Element("sunshine_hours", 1 / 60),
    "ADPT": Element("dew_point_c", 0.1),
    "RHAV": Element("rh_mean_percent", 1),
    "RHMX": Element("rh_max_percent", 1),
    "RHMN": Element("rh_min_percent", 1),
}
"""Elements that are read ([1], section III): temperatures in tenths of °C, rain in tenths of mm, wind in tenths of m/s,
sunshine in minutes. Wind is taken as measured at 10 m, the height of the World Meteorological Organization's guide."""


class StationReading(NamedTuple):
    """One value of the record. flags: M-FLAG and Q-FLAG as they stand."""

    day: date
    element: str
    value: int
    flags: str
    line: int


_DLY = re.compile(r"[A-Z]{2}[A-Z0-9_-]{9}\d{6}[A-Z0-9]{4}[ \d-]{5}")
_BY_STATION = re.compile(r'"?[A-Z]{2}[A-Z0-9_-]{9}"?,"?\d{8}"?,"?[A-Z0-9]{4}"?,')


def is_station_record(text: str) -> bool:
    """Whether a text begins as one of the two layouts does."""
    start = text.lstrip()[:64]
    return bool(_DLY.match(start) or _BY_STATION.match(start))


def read_station_record(text: str, problems: TableProblems) -> DailyRecord:
    """The days of a station record that have both temperatures, and how many readings failed a quality check."""
    readings = _dly_readings if _DLY.match(text.lstrip()[:64]) else _csv_readings
    by_day: dict[date, dict[str, float]] = {}
    lines: dict[date, int] = {}
    failed = 0
    for count, reading in enumerate(readings(text, problems)):
        if count == MOST_READINGS:
            problems.add(
                reading.line, 1, f"has more than {MOST_READINGS} readings; is it one station's record?"
            )
            break
        element = ELEMENTS[reading.element]
        if reading.value == MISSING:
            continue
        if reading.flags[1:].strip() or reading.flags.startswith("P"):
            failed += 1
            continue
        value = reading.value * element.factor
        limit = RANGES[element.measure]
        if limit.least <= value <= limit.most:
            by_day.setdefault(reading.day, {})[element.measure] = value
            lines.setdefault(reading.day, reading.line)
    days, blank = {}, 0
    for day, values in by_day.items():
        found = _day(day, values, Source(problems.file, lines[day]))
        if found is None:
            blank += 1
        else:
            days[day] = found
    return DailyRecord(days, blank, failed)


def _day(day: date, values: dict[str, float], source: Source) -> ClimateDay | None:
    """The day; None without both temperatures, or when the minimum is above the maximum by the record's own error."""
    rain_mm = values.pop("rain_mm", None)
    if "tmin_c" not in values or "tmax_c" not in values or values["tmin_c"] > values["tmax_c"]:
        return None
    return ClimateDay(day, Standing.OBSERVED, DayWeather(**values), rain_mm, marked=True, source=source)


def _dly_readings(text: str, problems: TableProblems) -> Iterator[StationReading]:
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip() or line[17:21] not in ELEMENTS:
            continue
        try:
            year, month = int(line[11:15]), int(line[15:17])
            if not EARLIEST_WEATHER <= year <= LATEST_YEAR:
                problems.add(number, 12, f"the year {year} lies outside {EARLIEST_WEATHER} to {LATEST_YEAR}")
                continue
            for day in range(1, calendar.monthrange(year, month)[1] + 1):
                cell = line[DLY_VALUES + DLY_CELL * (day - 1) : DLY_VALUES + DLY_CELL * day].ljust(DLY_CELL)
                value = int(cell[:5]) if cell[:5].strip() else MISSING
                yield StationReading(date(year, month, day), line[17:21], value, cell[5:7], number)
        except ValueError:
            problems.add(number, 1, "is no line of a .dly record; download the file anew")


def _csv_readings(text: str, problems: TableProblems) -> Iterator[StationReading]:
    for number, line in enumerate(text.splitlines(), start=1):
        cells = [cell.strip().strip('"') for cell in line.split(",")]
        if not line.strip() or (len(cells) > 2 and cells[2] not in ELEMENTS):
            continue
        try:
            day = date(int(cells[1][:4]), int(cells[1][4:6]), int(cells[1][6:8]))
            if not EARLIEST_WEATHER <= day.year <= LATEST_YEAR:
                problems.add(number, 1, f"{day} lies outside {EARLIEST_WEATHER} to {LATEST_YEAR}")
                continue
            flags = f"{cells[4] or ' '}{cells[5]}"
            yield StationReading(day, cells[2], int(cells[3]), flags, number)
        except (ValueError, IndexError):
            problems.add(number, 1, "is no line of a by-station record; download the file anew")


NORMALS = f"{CLIMATE}/normals.csv"
DAILY = f"{CLIMATE}/daily.csv"


def read_climate(folder: Folder, findings: Findings) -> Climate | None:
    """All weather in the climate folder; None when there is none. What is wrong with it is noted.

    The daily table wins over station records, and the first of those in order of names over the others.
    """
    _ask_about_other_files(folder, findings)
    reader = _ClimateReader(folder, findings)
    days: dict[date, ClimateDay] = {}
    for name in (DAILY, *folder.station_records()):
        days = {**reader.days(name), **days}
    normals = reader.normals()
    if normals is None and days:
        months = normals_from_days(days.values())
        normals = Normals(months, from_record=True) if months is not None else None
    if not reader.sources:
        return None
    ordered: Mapping[date, ClimateDay] = MappingProxyType(dict(sorted(days.items())))
    return Climate(ordered, normals, None, tuple(reader.sources), tuple(reader.notes))


def _ask_about_other_files(folder: Folder, findings: Findings) -> None:
    """Notes a climate folder that is a file, and asks about tables in it whose names say nothing."""
    if folder.is_file(CLIMATE):
        findings.at(
            Spot.start_of(CLIMATE),
            "is a file; make a folder of that name, with normals.csv or daily.csv in it",
        )
        return
    from difflib import get_close_matches  # noqa: PLC0415 - only where a table has a name of its own

    others = sorted(set(folder.files_in(CLIMATE, "")) - {Path(NORMALS).name, Path(DAILY).name})
    for name in (each for each in others if not is_left_by_two_writers(each)):
        if Path(name).suffix.lower() not in (".csv", ".txt", ".tsv") or Path(name).stem.lower() in _OTHERS:
            continue
        close = get_close_matches(name.lower(), [Path(NORMALS).name, Path(DAILY).name], 1, 0.7)
        meant = f"did you mean '{close[0]}'?" if close else "is it meant as daily.csv, or as normals.csv?"
        findings.ask(Spot.start_of(f"{CLIMATE}/{name}"), f"is not read under this name; {meant}")


_OTHERS = frozenset({"readme", "license", "licence", "source", "sources"})


class _ClimateReader:
    """Reads one climate folder. sources: the files read; notes: what the grower is told of them."""

    def __init__(self, folder: Folder, findings: Findings) -> None:
        self._folder = folder
        self._findings = findings
        self.sources: list[str] = []
        self.notes: list[str] = []

    def days(self, name: str) -> Mapping[date, ClimateDay]:
        """The days of a daily table or station record; none without such a file."""
        text, problems = self._text(name)
        if text is None:
            return {}
        if is_station_record(text):
            record = read_station_record(text, problems)
        else:
            table = self._table(text, ("date", "tmin_c", "tmax_c"), problems)
            record = days_of(table, problems) if table is not None else DailyRecord({})
        self._pass_on(problems)
        for count, what in (
            (record.blank_days, "days without both temperatures, counted as gaps"),
            (record.failed_readings, "readings that failed the station's own checks, left out"),
        ):
            if count:
                self.notes.append(f"{problems.file}: {what}: {count}")
        return record.days

    def normals(self) -> Normals | None:
        """The twelve months of the table of normals; None without a sound one."""
        text, problems = self._text(NORMALS)
        if text is None:
            return None
        table = self._table(text, ("month", "tmin_c", "tmax_c"), problems)
        months = months_of(table, problems) if table is not None else None
        self._pass_on(problems)
        return Normals(months) if months is not None else None

    def _text(self, name: str) -> tuple[str | None, TableProblems]:
        """A file's text, None when there is none or it cannot be read, and where to note what is wrong with it."""
        file, text = self._folder.text(name, TABLE_FILE) or (name, None)
        if isinstance(text, Problem):
            self._findings.add(text)
            text = None
        elif text is not None:
            self.sources.append(file)
        return text, TableProblems(file)

    def _table(self, text: str, needed: Sequence[str], problems: TableProblems) -> Table | None:
        table = read_table(text, needed, problems)
        if table is not None and table.unread:
            self.notes.append(f"{problems.file}: columns not read: {', '.join(table.unread)}")
        return table

    def _pass_on(self, problems: TableProblems) -> None:
        for problem in problems.problems:
            self._findings.add(problem)
