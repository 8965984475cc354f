"""How fast water is worked out, each figure beside a reference or per pot, in one run on one machine.

python -m tests.bench.water        prints:

et0        daily reference evapotranspiration of a year and of thirty years of one site: feedplan's own code, without
           numpy, against eto (FAO-56 as printed) and refet (ASCE-EWRI) on the same rows, numpy and library already
           imported; and a whole new process of each for one year, imports and all (aim: no slower there)
checks     what planning by the weather adds to the plan of the northern demo, and of 10,000 trees
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from datetime import date
from functools import partial

import numpy as np
import refet
from eto import ETo

from feedplan.engine.plan import plan_season
from feedplan.load import Loaded, load_collection, load_text
from feedplan.weather.evapotranspiration import DayWeather, Site, reference_et
from tests.bench.speed import _COLLECTION, DEMO, TODAY, _row, ratio

SITE = Site(-43.6, 500)
DAYS_A_YEAR = 365


class Rows:
    """Made-up weather of some years, as Python values and as the arrays the references take."""

    def __init__(self, years: int) -> None:
        random = np.random.default_rng(30)
        count = years * DAYS_A_YEAR
        self.day = np.tile(np.arange(1, DAYS_A_YEAR + 1), years)
        mean = 11 - 8 * np.cos(2 * np.pi * (self.day - 200) / 365) * -1 + random.normal(0, 3, count)
        half = random.uniform(2, 8, count)
        self.tmin, self.tmax = mean - half, mean + half
        self.ea = 0.6108 * np.exp(17.27 * self.tmin / (self.tmin + 237.3))
        self.rs = random.uniform(4, 20, count)
        self.wind = random.uniform(1, 6, count)
        columns = (self.tmin, self.tmax, self.ea, self.rs, self.wind, self.day)
        self.rows = list(zip(*(column.tolist() for column in columns), strict=True))


def own(rows: Rows) -> list[float]:
    """Every row by feedplan [mm/day]."""
    return [
        reference_et(
            DayWeather(
                tmin, tmax, vapour_pressure_kpa=ea, solar_mj_per_m2=rs, wind_m_per_s=wind, wind_height_m=2.0
            ),
            SITE,
            day,
        ).et0_mm_per_day
        for tmin, tmax, ea, rs, wind, day in rows.rows
    ]


def by_eto(rows: Rows) -> object:
    """Every row by eto, FAO-56 as printed."""
    data = {"T_min": rows.tmin, "T_max": rows.tmax, "e_a": rows.ea, "R_s": rows.rs, "U_z": rows.wind}
    return ETo(data, "D", day_of_year=rows.day, z_msl=500, lat=-43.6, z_u=2).eto_fao(decimals=None)


def by_refet(rows: Rows) -> object:
    """Every row by refet, ASCE-EWRI short crop."""
    return refet.Daily(
        tmin=rows.tmin,
        tmax=rows.tmax,
        ea=rows.ea,
        rs=rows.rs,
        uz=rows.wind,
        zw=2,
        elev=500,
        lat=-43.6,
        doy=rows.day,
    ).eto()


def largest_difference(rows: Rows) -> str:
    """How far the three lie apart on the rows timed, so that the same thing is timed [mm/day]."""
    mine = np.array(own(rows))
    to_eto = np.abs(mine - np.maximum(0, np.asarray(by_eto(rows)))).max()
    to_refet = np.abs(mine - np.maximum(0, np.asarray(by_refet(rows)))).max()
    return f"largest difference to eto {to_eto:.4f}, to refet {to_refet:.2f} mm/day (its floor under Rs/Rso)"


def et0_in_process() -> list[str]:
    """A year and thirty years, libraries imported."""
    found = []
    for years in (1, 30):
        rows = Rows(years)
        name = "a year" if years == 1 else "30 years"
        for other, by_other in (("eto", by_eto), ("refet", by_refet)):
            found.append(
                _row(f"ET0, {name}, own / {other}", *ratio(partial(own, rows), partial(by_other, rows)))
            )
        found.append(largest_difference(rows))
    return found


_OWN = """
from feedplan.weather.evapotranspiration import DayWeather, Site, reference_et
for day in range(1, 366):
    reference_et(DayWeather(5, 15, vapour_pressure_kpa=0.9, solar_mj_per_m2=12, wind_m_per_s=3), Site(-43.6, 500), day)
"""
_ETO = """
import numpy as np
from eto import ETo
one = np.full(365, 1.0)
data = {"T_min": 5 * one, "T_max": 15 * one, "e_a": 0.9 * one, "R_s": 12 * one, "U_z": 3 * one}
ETo(data, "D", day_of_year=np.arange(1, 366), z_msl=500, lat=-43.6, z_u=10).eto_fao()
"""
_REFET = """
import numpy as np
import refet
one = np.full(365, 1.0)
refet.Daily(tmin=5 * one, tmax=15 * one, ea=0.9 * one, rs=12 * one, uz=3 * one, zw=10, elev=500, lat=-43.6,
            doy=np.arange(1, 366)).eto()
"""


def et0_whole_process() -> list[str]:
    """A year of days from the start of Python to its end."""

    def process(code: str) -> Callable[[], object]:
        return lambda: subprocess.run([sys.executable, "-c", code], check=True, capture_output=True)

    return [
        _row("ET0, a year, whole process, own / eto", *ratio(process(_OWN), process(_ETO))),
        _row("ET0, a year, whole process, own / refet", *ratio(process(_OWN), process(_REFET))),
    ]


def planning_by_weather() -> list[str]:
    """Plans with and without weather: the demo's 41 names, and 10,000 trees."""
    demo = load_collection(DEMO)
    trees = "".join(
        f"  - {{name: T{n}, species: maple, group: growing-on, pot: {1 + n % 40} L}}\n" for n in range(10_000)
    )
    normals = (DEMO / "climate" / "normals.csv").read_text(encoding="utf-8")
    many = load_text(_COLLECTION + trees, climate={"normals.csv": normals})

    def plan(loaded: Loaded, *, weather: bool) -> Callable[[], object]:
        climate = loaded.climate if weather else None
        today = date.fromisoformat(TODAY)
        return lambda: plan_season(loaded.collection, loaded.journal, today, climate=climate)

    return [
        _row(
            "plan of the demo, with / without weather",
            *ratio(plan(demo, weather=True), plan(demo, weather=False)),
        ),
        _row(
            "plan of 10,000 trees, with / without",
            *ratio(plan(many, weather=True), plan(many, weather=False)),
        ),
    ]


if __name__ == "__main__":
    for measure in (et0_in_process, et0_whole_process, planning_by_weather):
        print("\n".join(measure()), flush=True)
