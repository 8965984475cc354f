"""With nothing new written down, tomorrow's calendar is today's: no event changes because a day went by."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from feedplan.engine.plan import plan_season
from feedplan.export.calendars import all_entries
from feedplan.export.entry import CalendarEntry
from feedplan.load.collection import load_collection, load_text

DEMO = Path(__file__).parents[2] / "demo"


def entries_on(name: str, day: date) -> dict[str, CalendarEntry]:
    loaded = load_collection(DEMO / name)
    season = plan_season(loaded.collection, loaded.journal, day)
    return {entry.key: entry for entry in all_entries(season, loaded.collection).all}


@pytest.mark.parametrize(("name", "day"), [("northern", date(2027, 12, 10)), ("southern", date(2028, 6, 10))])
def test_a_day_without_news_changes_nothing(name: str, day: date) -> None:
    today, tomorrow = entries_on(name, day), entries_on(name, day + timedelta(days=1))
    assert [key for key in today.keys() & tomorrow.keys() if today[key] != tomorrow[key]] == []


PLACE = """\
place: {name: Mill Yard, latitude: 54.0, time_zone: Europe/London}
id: mill-yard
feeds:
  powder: {grade: 24-8-16, form: soluble}
groups:
  growing-on: {schedule: vigorous, feed: powder}
trees:
  - {name: Brindle, species: larch, group: growing-on, pot: 5 L}
  - {name: Kettle, species: larch, group: growing-on, pot: 5 L}
  - {name: Osprey, species: hornbeam, group: growing-on, pot: 5 L}
"""
SHARED = "- {date: 2027-05-01, id: aa000001, trees: [Brindle, Kettle], check: dry}\n"
MOIST = "- {date: 2027-06-01, id: aa000002, tree: Kettle, check: moist}\n"
NOTES = """\
notes:
  - {on: 13 February, say: Order pumice.}
  - {on: 2027-09-25, say: Open garden.}
"""


def keys_of(collection: str, journal: str = "") -> dict[str, str]:
    loaded = load_text(collection, journal, {})
    season = plan_season(loaded.collection, loaded.journal, date(2027, 6, 1))
    return {entry.key: entry.title for entry in all_entries(season, loaded.collection).all}


def test_a_pot_found_moist_renames_nothing() -> None:
    """Also where the tree shares with another one an entry that sets the two apart from the rest."""
    assert any(key.startswith("feed/tree/Brindle/") for key in keys_of(PLACE, SHARED))
    assert keys_of(PLACE, SHARED + MOIST) == keys_of(PLACE, SHARED)
    assert keys_of(PLACE, MOIST) == keys_of(PLACE)


def test_a_note_stays_itself_when_another_is_put_before_it_and_when_it_moves() -> None:
    before = keys_of(PLACE + NOTES)
    first = NOTES.replace("notes:\n", "notes:\n  - {on: 1 March, say: Clean the butt.}\n")
    after = keys_of(PLACE + first.replace("13 February", "20 February"))
    notes = {key: title for key, title in before.items() if key.startswith("note/")}
    assert len(notes) == 2
    assert notes.items() <= after.items()
