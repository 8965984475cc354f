"""Calendar files on a disk: what is written, what is left alone, and what a lost or torn file costs."""

from __future__ import annotations

import errno
import json
import os
import subprocess
import sys
from collections.abc import Iterable
from dataclasses import replace
from datetime import time, timedelta
from pathlib import Path
from typing import Any

import icalendar
import pytest

from feedplan.errors import CannotWriteError
from feedplan.export.entry import CalendarEntry
from feedplan.export.ledger import Scope, recover_ledger
from feedplan.export.publish import Report, calendar_bytes, publish_calendar
from feedplan.export.unchanged import ledger_beside

from .samples import ENTRIES, FEED, HOLD, NASTY_TEXTS, SETTINGS, TODAY, TWICE_A_WEEK, WATER


def publish(path: Path, entries: Iterable[CalendarEntry], after_days: int = 0, **options: Any) -> Report:
    today = TODAY + timedelta(days=after_days)
    window = Scope(today - timedelta(days=30), today + timedelta(days=400))
    return publish_calendar(path, entries, SETTINGS, window, today, **options)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "trees.ics"


@pytest.fixture
def published(path: Path) -> Path:
    """A calendar in its third state: one event changed on the second day, one gone on the third."""
    publish(path, ENTRIES)
    publish(path, [replace(FEED, title="Feed growing-on: 3.1 g in 10 L"), *ENTRIES[1:]], after_days=1)
    publish(path, last_state(), after_days=2)
    return path


def last_state() -> list[CalendarEntry]:
    changed = replace(FEED, title="Feed growing-on: 3.1 g in 10 L")
    return [changed, *(entry for entry in ENTRIES if entry not in (FEED, HOLD))]


def test_the_first_calendar_comes_with_a_ledger_and_no_warning(path: Path) -> None:
    report = publish(path, ENTRIES)
    assert report == Report(events=6, new=6, changed=0, cancelled=0)
    assert sorted(file.name for file in path.parent.iterdir()) == ["trees.ics", "trees.ics.ledger.json"]


def test_an_unchanged_plan_leaves_both_files_alone(published: Path) -> None:
    files = [published, ledger_beside(published)]
    before = [file.stat() for file in files]
    report = publish(published, last_state(), after_days=3)
    assert report == Report(events=5, new=0, changed=0, cancelled=0, is_rewritten=False)
    assert [(old.st_ino, old.st_mtime_ns) for old in before] == [
        (file.stat().st_ino, file.stat().st_mtime_ns) for file in files
    ]


def test_publishing_loads_no_calendar_library(path: Path) -> None:
    """Loading one takes longer than writing the whole calendar; only a lost ledger needs it."""
    script = (
        "import sys\n"
        "from datetime import date\n"
        "from pathlib import Path\n"
        "from feedplan.export.entry import CalendarEntry, Kind\n"
        "from feedplan.export.ics import CalendarSettings\n"
        "from feedplan.export.ledger import Scope\n"
        "from feedplan.export.publish import publish_calendar\n"
        "day, settings = date(2027, 3, 14), CalendarSettings('a', 'Trees', 'Europe/London')\n"
        "for title in ('Feed', 'Feed less', 'Feed less'):\n"
        "    entry = CalendarEntry('feed/1', Kind.FEEDING, day, title)\n"
        "    report = publish_calendar(Path(sys.argv[1]), [entry], settings, Scope(day, day), day)\n"
        "print(report.is_rewritten, 'icalendar' in sys.modules)\n"
    )
    root = Path(__file__).parents[2]
    command = [sys.executable, "-c", script, str(path)]
    done = subprocess.run(command, cwd=root, capture_output=True, check=False)
    assert done.stdout == b"False False\n", done.stderr.decode()


def test_a_ledger_can_lie_elsewhere(path: Path, tmp_path: Path) -> None:
    ledger = tmp_path / "state.json"
    publish(path, ENTRIES, ledger_path=ledger)
    assert ledger.exists()
    assert not ledger_beside(path).exists()


@pytest.mark.parametrize(
    ("damage", "says"),
    [
        (lambda raw: None, "is missing"),
        (lambda raw: raw[: len(raw) // 2], "is cut off or damaged"),
        (lambda raw: b"", "is cut off or damaged"),
        (lambda raw: raw.replace(b'"sequence":1', b'"sequence":"1"'), "has a wrong value for the event"),
        (lambda raw: raw.replace(b"ledger 1", b"ledger 2"), "was written by another version of feedplan"),
        (lambda raw: json.dumps({"calendar": 1}).encode(), "is damaged"),
    ],
)
def test_a_lost_or_damaged_ledger_costs_a_warning_and_nothing_else(
    published: Path, damage: Any, says: str
) -> None:
    ledger = ledger_beside(published)
    calendar, remembered = published.read_bytes(), ledger.read_bytes()
    spoiled = damage(remembered)
    ledger.unlink() if spoiled is None else ledger.write_bytes(spoiled)
    report = publish(published, last_state(), after_days=3)
    assert published.read_bytes() == calendar
    assert ledger.read_bytes() == remembered
    (warning,) = report.warnings
    assert warning.startswith(f"the ledger trees.ics.ledger.json {says}")
    assert warning.endswith("was made again from trees.ics")


def test_numbers_go_on_from_the_calendar_when_the_ledger_is_lost_and_the_plan_changed(
    published: Path,
) -> None:
    ledger_beside(published).unlink()
    changed = replace(FEED, title="Feed growing-on: 2 g in 10 L")
    report = publish(published, [changed, *last_state()[1:]], after_days=9)
    assert (report.new, report.changed, report.cancelled) == (0, 1, 0)
    by_title = {str(event["SUMMARY"]): event for event in events_of(published)}
    assert by_title[changed.title]["SEQUENCE"] == 2
    assert by_title[f"Off: {HOLD.title}"]["STATUS"] == "CANCELLED"
    assert by_title[f"Off: {HOLD.title}"]["SEQUENCE"] == 1


def test_what_went_while_the_ledger_was_lost_is_cancelled(published: Path) -> None:
    ledger_beside(published).unlink()
    report = publish(published, last_state()[1:], after_days=3)
    assert report.cancelled == 1


def test_what_passed_while_the_ledger_was_lost_is_not_cancelled(path: Path) -> None:
    publish(path, [WATER, TWICE_A_WEEK])  # until 10 April and 31 May
    ledger_beside(path).unlink()
    assert publish(path, [TWICE_A_WEEK], after_days=70).cancelled == 0


def test_odd_names_are_recovered_too(path: Path) -> None:
    entries = [
        replace(FEED, key=f"feed/{n}", title=text, text=text, group=text)
        for n, text in enumerate(NASTY_TEXTS)
    ]
    publish(path, [*entries, replace(WATER, at=time(23, 45))])
    before = path.read_bytes()
    ledger_beside(path).unlink()
    assert publish(path, [*entries, replace(WATER, at=time(23, 45))], after_days=1).changed == 0
    assert path.read_bytes() == before


def test_a_torn_calendar_gives_back_its_whole_events(published: Path) -> None:
    """As a copy that broke off would leave it, its ledger lost as well."""
    ledger_beside(published).unlink()
    raw = published.read_bytes()
    published.write_bytes(raw[: raw.rindex(b"BEGIN:VEVENT") + 150])
    report = publish(published, last_state(), after_days=5)
    assert report.new == 1
    assert report.changed == 0
    assert "was made again from trees.ics" in report.warnings[0]


def test_a_calendar_saved_again_by_another_program_keeps_its_numbers(published: Path) -> None:
    """icalendar writes the properties in another order; what cannot be compared counts as changed."""
    before = {str(event["UID"]): event["SEQUENCE"] for event in events_of(published)}
    published.write_bytes(
        icalendar.Calendar.from_ical(published.read_bytes()).to_ical().replace(b"\r\n", b"\n")
    )
    ledger_beside(published).unlink()
    publish(published, last_state(), after_days=5)
    after = {str(event["UID"]): event["SEQUENCE"] for event in events_of(published)}
    assert set(after) == set(before)
    assert all(after[uid] >= before[uid] for uid in before)
    publish(published, last_state(), after_days=6)  # and the ledger made from it is sound
    assert not publish(published, last_state(), after_days=6).warnings


@pytest.mark.parametrize(
    "foreign",
    [
        b"not a calendar at all \xff\x00",
        b"BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\nUID:x\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n",
        b"",
    ],
)
def test_events_of_a_file_that_is_not_ours_are_not_cancelled(path: Path, foreign: bytes) -> None:
    path.write_bytes(foreign)
    report = publish(path, [FEED])
    assert (report.events, report.cancelled) == (1, 0)
    assert report.warnings == (
        "the ledger trees.ics.ledger.json is missing; the numbering of changes starts again from 0",
    )
    assert b"UID:x" not in path.read_bytes()


def test_an_event_that_someone_else_put_into_the_calendar_is_not_cancelled(published: Path) -> None:
    event = b"BEGIN:VEVENT\r\nUID:lunch\r\nLAST-MODIFIED:20270314T000000Z\r\nDTSTART;VALUE=DATE:20270320\r\n"
    event += b"DTEND;VALUE=DATE:20270321\r\nCATEGORIES:note\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"
    published.write_bytes(published.read_bytes().replace(b"END:VCALENDAR\r\n", event))
    ledger_beside(published).unlink()
    assert publish(published, last_state(), after_days=3).cancelled == 0
    assert b"UID:lunch" not in published.read_bytes()


@pytest.mark.parametrize("zone", ["America/New_York", "Pacific/Auckland", "UTC"])
def test_a_ledger_made_again_is_the_one_that_was_lost_in_every_zone(path: Path, zone: str) -> None:
    there = replace(SETTINGS, time_zone=zone, alarm_at=time(8))
    window = Scope(TODAY, TODAY + timedelta(days=400))
    built = calendar_bytes([*ENTRIES, replace(FEED, key="late", at=time(23, 30))], there, window, TODAY)
    assert recover_ledger(built.data, built.ledger.calendar) == built.ledger


def test_the_events_of_another_collection_are_not_cancelled(published: Path) -> None:
    other = replace(SETTINGS, identity="other-yard")
    window = Scope(TODAY, TODAY + timedelta(days=400))
    report = publish_calendar(published, [FEED], other, window, TODAY)
    assert (report.events, report.new, report.cancelled) == (1, 1, 0)
    assert "belongs to another calendar; the numbering of changes starts again from 0" in report.warnings[0]


def test_a_full_disk_leaves_the_calendar_and_the_ledger_as_they_were(
    published: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A stand-in for a full disk: the second file is the one that no longer fits."""
    before = {file.name: file.read_bytes() for file in published.parent.iterdir()}
    synced = []

    def sync(descriptor: int) -> None:
        synced.append(descriptor)
        if len(synced) > 1:
            raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", sync)
    with pytest.raises(CannotWriteError, match="the disk is full; make room and run this again"):
        publish(published, [replace(FEED, title="other")], after_days=4)
    assert {file.name: file.read_bytes() for file in published.parent.iterdir()} == before


def test_a_crash_between_the_two_files_never_gives_one_number_twice(
    published: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The ledger is in place, the calendar is not: the next calendar is numbered above both."""
    replace_file = Path.replace

    def crash(self: Path, target: Path) -> Path:
        if target == published:
            raise KeyboardInterrupt
        return replace_file(self, target)

    old = published.read_bytes()
    with monkeypatch.context() as patch:
        patch.setattr(Path, "replace", crash)
        with pytest.raises(KeyboardInterrupt):
            publish(published, [replace(FEED, title="lost"), *last_state()[1:]], after_days=4)
    assert published.read_bytes() == old
    assert len(list(published.parent.iterdir())) == 2
    publish(published, [replace(FEED, title="next"), *last_state()[1:]], after_days=5)
    (event,) = [event for event in events_of(published) if event["SUMMARY"] == "next"]
    assert event["SEQUENCE"] == 3


def test_a_folder_in_the_way_is_refused_in_one_line(tmp_path: Path) -> None:
    with pytest.raises(CannotWriteError, match="it is a folder; name a file in it"):
        publish(tmp_path, ENTRIES)
    assert list(tmp_path.iterdir()) == []


def events_of(path: Path) -> list[Any]:
    return list(icalendar.Calendar.from_ical(path.read_bytes()).walk("VEVENT"))
