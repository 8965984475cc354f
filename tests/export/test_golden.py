"""Whole calendars compared byte by byte with files kept here, each named for one behaviour.

They are regression values, looked through by hand when first written. After a change that is meant:
FEEDPLAN_REWRITE_GOLDEN=1 python -m pytest tests/export/test_golden.py
"""

from __future__ import annotations

import os
from dataclasses import replace
from datetime import date, time, timedelta
from pathlib import Path

import pytest

from feedplan.export.entry import CalendarEntry, Kind, Repeat
from feedplan.export.ics import CalendarSettings
from feedplan.export.publish import calendar_bytes

from .samples import ENTRIES, FEED, HOLD, SCOPE, SETTINGS, TODAY, WATER, built

GOLDEN = Path(__file__).parent / "golden"
AUCKLAND = replace(SETTINGS, identity="harbour-steps", name="Harbour Steps", time_zone="Pacific/Auckland")
AUTUMN_CHECKS = CalendarEntry(
    key="water/veranda/2040/4",
    kind=Kind.WATER,
    start=date(2040, 3, 26),
    title="Check water: veranda",
    group="veranda",
    at=time(7),
    minutes=20,
    repeat=Repeat(until=date(2040, 4, 15), every_days=2),
)
ODD_NAMES = CalendarEntry(
    key="feed/odd/1",
    kind=Kind.FEEDING,
    start=date(2027, 5, 1),
    title="Feed 🌳 “Ōsugi”, זית; C:\\New\\trees",
    text="First line\r\nSecond, with a bell\x07 and a tab\there\u2028Third; 🌲" + " and on" * 30,
    group="odd, all of them",
)


def one_changed_one_gone() -> bytes:
    """The collection a fortnight on: another dose, one hold lifted, the rest as it was."""
    before = calendar_bytes(ENTRIES, SETTINGS, SCOPE, TODAY).ledger
    text = FEED.text.replace("6.2 g", "3.1 g")
    changed = replace(FEED, title="Feed growing-on: 3.1 g in 10 L, 12 trees", text=text)
    now = [changed, *(entry for entry in ENTRIES if entry not in (FEED, HOLD))]
    later = TODAY + timedelta(days=14)
    return calendar_bytes(now, SETTINGS, SCOPE, later, ledger=before, with_cancelled=True).data


CALENDARS = {
    "all_kinds": lambda: built(ENTRIES),
    "alarms_asked_for": lambda: built([FEED, HOLD, WATER], replace(SETTINGS, alarm_at=time(8))),
    "all_day_only_carries_no_zone": lambda: built([FEED, HOLD]),
    "autumn_change_in_the_south_in_2040": lambda: built([AUTUMN_CHECKS], AUCKLAND),
    "empty": lambda: built([]),
    "odd_names": lambda: built([ODD_NAMES], CalendarSettings("odd", "Odd, but mine; 🌳", "UTC", "One\nTwo")),
    "changed_dose_and_lifted_hold_for_import": one_changed_one_gone,
}


@pytest.mark.parametrize("name", CALENDARS)
def test_a_calendar_is_byte_for_byte_what_it_was(name: str) -> None:
    path, data = GOLDEN / f"{name}.ics", CALENDARS[name]()
    if os.environ.get("FEEDPLAN_REWRITE_GOLDEN"):
        path.write_bytes(data)
    assert data == path.read_bytes()


def test_no_golden_file_is_left_over() -> None:
    assert {path.stem for path in GOLDEN.glob("*.ics")} == set(CALENDARS)
