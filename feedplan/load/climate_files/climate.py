"""The climate folder of a collection: normals.csv, daily.csv and station records, as one Climate."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from types import MappingProxyType

from feedplan.errors import Problem
from feedplan.load.climate_files.climate_rows import Record, days_of, months_of, normals_from_days
from feedplan.load.climate_files.climate_table import Complaints, Table, read_table
from feedplan.load.climate_files.station_record import is_station_record, read_station_record
from feedplan.load.findings import Findings
from feedplan.load.folder import CLIMATE, Folder
from feedplan.model.climate import Climate, ClimateDay, Normals

NORMALS = f"{CLIMATE}/normals.csv"
DAILY = f"{CLIMATE}/daily.csv"


def read_climate(folder: Folder, findings: Findings) -> Climate | None:
    """All weather in the climate folder; None when there is none. What is wrong with it is noted.

    The daily table wins over station records, and the first of those in order of names over the others.
    """
    notes: list[str] = []
    sources: list[str] = []
    days: dict[date, ClimateDay] = {}
    for name in (DAILY, *folder.station_records()):
        record = _read_days(folder, name, findings, sources, notes)
        days = {**(record.days if record is not None else {}), **days}
    normals = _read_normals(folder, findings, sources, notes)
    if normals is None and days:
        months = normals_from_days(days.values())
        normals = Normals(months, from_record=True) if months is not None else None
    if not sources:
        return None
    ordered: Mapping[date, ClimateDay] = MappingProxyType(dict(sorted(days.items())))
    return Climate(ordered, normals, None, tuple(sources), tuple(notes))


def _text(folder: Folder, name: str, findings: Findings, sources: list[str]) -> tuple[str, str] | None:
    found = folder.plain(name)
    if found is None:
        return None
    file, text = found
    if isinstance(text, Problem):
        findings.add(text)
        return None
    sources.append(file)
    return file, text


def _read_days(
    folder: Folder, name: str, findings: Findings, sources: list[str], notes: list[str]
) -> Record | None:
    found = _text(folder, name, findings, sources)
    if found is None:
        return None
    file, text = found
    complaints = Complaints(file)
    if is_station_record(text):
        record: Record | None = read_station_record(text, complaints)
    else:
        table = read_table(text, ("date", "tmin_c", "tmax_c"), complaints)
        record = days_of(table, complaints) if table is not None else None
        _note_unread(table, file, notes)
    _pass_on(complaints, findings)
    if record is not None and record.blank_days:
        notes.append(f"{file}: days without both temperatures, counted as gaps: {record.blank_days}")
    if record is not None and record.failed_readings:
        failed = record.failed_readings
        notes.append(f"{file}: readings that failed the station's own checks, left out: {failed}")
    return record


def _read_normals(folder: Folder, findings: Findings, sources: list[str], notes: list[str]) -> Normals | None:
    found = _text(folder, NORMALS, findings, sources)
    if found is None:
        return None
    file, text = found
    complaints = Complaints(file)
    table = read_table(text, ("month", "tmin_c", "tmax_c"), complaints)
    months = months_of(table, complaints) if table is not None else None
    _note_unread(table, file, notes)
    _pass_on(complaints, findings)
    return Normals(months) if months is not None else None


def _note_unread(table: Table | None, file: str, notes: list[str]) -> None:
    if table is not None and table.unread:
        notes.append(f"{file}: columns not read: {', '.join(table.unread)}")


def _pass_on(complaints: Complaints, findings: Findings) -> None:
    for problem in complaints.problems:
        findings.add(problem)
