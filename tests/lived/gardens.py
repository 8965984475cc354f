"""The gardens that are lived in: both demos, and three small ones. Places, trees and weather are invented."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import yaml

from feedplan.load.collection import load_collection
from feedplan.model.climate import Climate, Normals
from tests.lived.garden import Garden, Written
from tests.lived.nature import normals_of
from tests.scenarios.weather import MONTHLY

DEMO = Path(__file__).parents[2] / "demo"
YEAR_NORTH = (date(2027, 1, 1), date(2027, 12, 31))
YEAR_SOUTH = (date(2027, 7, 1), date(2028, 6, 30))

YARD = """
place: {name: Cobble Yard, latitude: 53.4, elevation: 60 m, time_zone: Europe/London}
id: cobble-yard
since: 2027-01-01
feeds:
  powder: {grade: 20-10-20, form: soluble, label_rate: 1 g per L, label_maximum: 2 g per L}
  weaker: {grade: 12-6-18, form: soluble, label_rate: 1 g per L, label_maximum: 2 g per L}
groups:
  growing-on: {schedule: vigorous, feed: powder}
  shown: {schedule: refined, feed: powder}
trees:
  - {name: Brindle, species: larch, group: growing-on, pot: 9 L}
  - {name: Moth, species: hornbeam, group: growing-on, pot: 6 L}
  - {name: Old Kelp, species: field maple, group: shown, pot: 3 L}
  - {name: Anvil, species: wych elm, group: shown, pot: 4 L}
"""

TERRACE = """
place: {name: Kororua Terrace, latitude: -41.2, elevation: 10 m, time_zone: Pacific/Auckland}
id: kororua-terrace
since: 2027-07-01
habits: {feed_on: [Saturday], can: 9 L}
feeds:
  powder: {grade: 20-10-20, form: soluble, label_rate: 1 g per L, label_maximum: 2 g per L}
  bottle: {grade: 6-10-12, form: liquid, measured: by volume, label_rate: 4 ml per L, label_maximum: 8 ml per L}
  coated: {grade: 16-8-12, form: coated, longevity: 150 days}
groups:
  growing-on: {schedule: vigorous, feed: powder}
  conifers: {schedule: conifer, feed: powder}
  blossom: {schedule: flowering, feed: bottle}
trees:
  - {name: Sable, species: wych elm, group: growing-on, pot: 8 L}
  - {name: Ember, species: trident maple, group: growing-on, pot: 5 L}
  - {name: Tern, species: juniper, group: conifers, pot: 12 L}
  - {name: Pippin, species: crab apple, group: blossom, pot: 10 L}
"""

FRAMES = """
place: {name: Long Frames, latitude: 48.1, elevation: 240 m, time_zone: Europe/Paris}
id: long-frames
since: 2027-01-01
habits: {feed_share: 15 %, can: 5 L}
feeds:
  powder: {grade: 20-10-20, form: soluble, label_rate: 1 g per L, label_maximum: 2 g per L}
  coated: {grade: 14-6-11, form: coated, longevity: 180 days}
groups:
  nursery: {schedule: seedlings, feed: powder}
  ward: {schedule: recovering, feed: powder}
  hedge: {schedule: broadleaf-evergreen, feed: powder, changes: {budget: 100 mg N per L}}
  shown: {schedule: refined, feed: powder}
trees:
  - {name: Elm row, species: wych elm seedlings, group: nursery, pot: 0.4 L, count: 12}
  - {name: Wisp, species: Japanese maple, group: ward, pot: 5 L, weak: true}
  - {name: Parson, species: box, group: hedge, pot: 7 L}
  - name: Thimble
    species: hornbeam
    group: shown
    pot: 15 x 11 x 4 cm
    changes: {feeding: {summer: {every: 14 days, strength: 40 ppm N}}}
"""

# Invented: an inland place with hot summers.
_INLAND = [
    (-2, 4),
    (-1, 7),
    (2, 12),
    (5, 16),
    (9, 21),
    (13, 25),
    (15, 28),
    (14, 27),
    (11, 22),
    (7, 16),
    (2, 9),
    (-1, 5),
]


def _months(lows_and_highs: list[tuple[int, int]], shift: int = 0) -> Normals:
    turned = lows_and_highs[-shift:] + lows_and_highs[:-shift]
    return normals_of({month: (low, high, 60.0) for month, (low, high) in enumerate(turned, start=1)})


@dataclass(frozen=True, slots=True)
class Plot:
    """A garden to live in, with what its weather is drawn around and what will be written there in any case."""

    garden: Garden
    normals: Normals
    coming: tuple[Written, ...] = ()


def _small(text: str, year: tuple[date, date], normals: Normals) -> Plot:
    place = text.split("name: ", 1)[1].split(",", 1)[0]
    return Plot(Garden(place, text, *year), normals)


def _demo(folder: str, year: tuple[date, date], *, as_written: bool) -> Plot:
    """A demo. as_written: with the journal and the weather in its folder, else with neither."""
    loaded = load_collection(DEMO / folder)
    text = (DEMO / folder / "collection.yaml").read_text(encoding="utf-8")
    own = {p.stem: p.read_text(encoding="utf-8") for p in (DEMO / folder / "schedules").glob("*.yaml")}
    climate: Climate | None = loaded.climate
    assert climate is not None
    assert climate.normals is not None
    name = f"{folder} demo" + (" as written" if as_written else "")
    garden = Garden(name, text, *year, own, sky=climate if as_written else None)
    return Plot(garden, climate.normals, _journal(folder, text) if as_written else ())


def _journal(folder: str, collection: str) -> tuple[Written, ...]:
    """A demo's journal, each entry to be written on its own evening."""
    entries = yaml.safe_load((DEMO / folder / "journal.yaml").read_text(encoding="utf-8"))
    return tuple(_note(number, entry) for number, entry in enumerate(entries))


def _note(number: int, entry: Mapping[str, Any]) -> Written:
    says = {key: value for key, value in entry.items() if key not in ("date", "recorded", "id")}
    about = frozenset({says["tree"]} if "tree" in says else says.get("trees", ()))
    name = str(entry.get("id", f"demo{number}"))
    return Written(name, entry["date"], entry.get("recorded", entry["date"]), says, about)


SMALL: Mapping[str, Callable[[], Plot]] = {
    "yard": lambda: _small(YARD, YEAR_NORTH, _months(MONTHLY)),
    "terrace": lambda: _small(TERRACE, YEAR_SOUTH, _months(MONTHLY, 6)),
    "frames": lambda: _small(FRAMES, YEAR_NORTH, _months(_INLAND)),
}
"""Three small gardens, cheap to live in."""

DEMOS: Mapping[str, Callable[[], Plot]] = {
    "northern": lambda: _demo("northern", YEAR_NORTH, as_written=False),
    "southern": lambda: _demo("southern", YEAR_SOUTH, as_written=False),
}
"""The demos' trees, with nothing written yet and no weather."""

AS_WRITTEN: Mapping[str, Callable[[], Plot]] = {
    "northern as written": lambda: _demo("northern", YEAR_NORTH, as_written=True),
    "southern as written": lambda: _demo("southern", YEAR_SOUTH, as_written=True),
}
"""The demos with their own journals and weather, for a grower who writes nothing besides."""

PLOTS = {**SMALL, **DEMOS, **AS_WRITTEN}
"""Every garden by a short name."""
