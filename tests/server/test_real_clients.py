"""Calendar programs of other people's making against the running server: subscribe, sync again after an edit, read."""

from __future__ import annotations

import shutil
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import icalendar
import pytest
import recurring_ical_events

from tests.export.readers import ical_js_events, needs_ical_js
from tests.server.process import PATIENCE_S, ROOT, Running, serving
from tests.server.world import titles

BIN = Path(sys.executable).parent
DAY = date(2027, 6, 5)


def program(name: str) -> str:
    """A program of the environment the tests run in, or of the system."""
    found = shutil.which(name, path=str(BIN)) or shutil.which(name)
    if found is None:
        pytest.skip(f"{name} is not installed (it is in the test extra)")
    return found


@dataclass
class Subscriber:
    """vdirsyncer keeping a folder of events in step with a served calendar, and khal reading that folder."""

    folder: Path
    served: Running
    collection: Path
    file: str = "Everything"

    def fetched(self) -> bytes:
        with urllib.request.urlopen(self.served.calendars[self.file], timeout=PATIENCE_S) as answer:
            data: bytes = answer.read()
        return data

    def sync(self) -> None:
        config = self.folder / "vdirsyncer.conf"
        config.write_text(
            f'[general]\nstatus_path = "{self.folder}/status/"\n'
            '[pair trees]\na = "served"\nb = "kept"\ncollections = null\n'
            f'[storage served]\ntype = "http"\nurl = "{self.served.calendars[self.file]}"\n'
            f'[storage kept]\ntype = "filesystem"\npath = "{self.folder}/kept/"\nfileext = ".ics"\n'
        )
        is_first = not (self.folder / "kept").exists()
        (self.folder / "kept").mkdir(exist_ok=True)
        for step in ("discover", "sync") if is_first else ("sync",):
            words = [program("vdirsyncer"), "-c", str(config), step]
            done = subprocess.run(
                words, capture_output=True, text=True, input="y\n", timeout=PATIENCE_S, check=False
            )
            assert done.returncode == 0, done.stdout + done.stderr

    def kept(self) -> list[str]:
        """The titles of all events kept, sorted."""
        return sorted(titles(b"".join(file.read_bytes() for file in (self.folder / "kept").iterdir())))

    def read_by_khal(self, first: date, days: int) -> set[tuple[str, str]]:
        """Day and title of everything khal shows on some days."""
        config = self.folder / "khal.conf"
        config.write_text(
            f"[calendars]\n[[trees]]\npath = {self.folder}/kept\nreadonly = True\n"
            "[locale]\nlocal_timezone = Europe/London\ndefault_timezone = Europe/London\ntimeformat = %H:%M\n"
            "dateformat = %Y-%m-%d\nlongdateformat = %Y-%m-%d\ndatetimeformat = %Y-%m-%d %H:%M\n"
            f"longdatetimeformat = %Y-%m-%d %H:%M\n[sqlite]\npath = {self.folder}/khal.db\n"
        )
        words = [
            program("khal"),
            "-c",
            str(config),
            "list",
            "--day-format",
            "day {date}",
            "--format",
            "title {title}",
        ]
        done = subprocess.run(
            [*words, first.isoformat(), f"{days}d"],
            capture_output=True,
            text=True,
            timeout=PATIENCE_S,
            check=True,
        )
        found, day = set(), ""
        for kind, _, said in (line.partition(" ") for line in done.stdout.splitlines()):
            assert kind in ("day", "title")
            if kind == "day":
                day = said
            else:
                found.add((day, said))
        return found


@pytest.fixture(scope="module")
def _served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Running, Path]]:
    folder = tmp_path_factory.mktemp("served") / "northern"
    shutil.copytree(ROOT / "demo" / "northern", folder)
    with serving(folder) as served:
        yield served, folder


@pytest.fixture
def subscriber(_served: tuple[Running, Path], tmp_path: Path) -> Iterator[Subscriber]:
    """One with nothing kept yet. Tests share the server; what one edits is put back after it."""
    served, folder = _served
    file = folder / "collection.yaml"
    as_it_was = file.read_bytes()
    yield Subscriber(tmp_path, served, folder)
    file.write_bytes(as_it_was)


def expected(calendar: bytes, first: date, days: int) -> set[tuple[str, str]]:
    """Day and title of every occurrence, expanded by recurring-ical-events."""
    query = recurring_ical_events.of(icalendar.Calendar.from_ical(calendar))
    found = set()
    for day in (first + timedelta(days=ahead) for ahead in range(days)):
        found |= {(day.isoformat(), str(event["SUMMARY"])) for event in query.at(day)}
    return found


def test_vdirsyncer_keeps_as_many_events_as_the_plan_has_and_follows_an_edit(subscriber: Subscriber) -> None:
    subscriber.sync()
    before = sorted(titles(subscriber.fetched()))
    assert len(before) > 300
    assert subscriber.kept() == before

    file = subscriber.collection / "collection.yaml"
    text = file.read_text(encoding="utf-8")
    assert "can: 10 L" in text
    file.write_text(text.replace("can: 10 L", "can: 5 L"), encoding="utf-8")
    subscriber.sync()
    after = sorted(titles(subscriber.fetched()))
    assert after != before
    assert subscriber.kept() == after

    subscriber.sync()
    assert subscriber.kept() == after


def test_khal_shows_each_day_what_another_expander_finds(subscriber: Subscriber) -> None:
    subscriber.sync()
    shown = subscriber.read_by_khal(DAY, 4)
    assert shown == expected(subscriber.fetched(), DAY, 4)
    assert len(shown) > 30


def test_a_broken_file_takes_no_event_away_from_a_subscriber(subscriber: Subscriber) -> None:
    subscriber.sync()
    before = subscriber.kept()
    file = subscriber.collection / "collection.yaml"
    file.write_text(file.read_text(encoding="utf-8").replace("schedule: refined", "schedule: refnied"))
    subscriber.sync()
    assert [title for title in subscriber.kept() if "not up to date" not in title] == before
    assert len(subscriber.kept()) == len(before) + 1


@needs_ical_js
def test_ical_js_reads_every_calendar(subscriber: Subscriber) -> None:
    assert len(subscriber.served.calendars) > 10
    for title in subscriber.served.calendars:
        subscriber.file = title
        calendar = subscriber.fetched()
        read = ical_js_events(calendar, date(2028, 12, 31))
        assert sorted(event["summary"] for event in read) == sorted(
            title.replace("\\,", ",").replace("\\;", ";") for title in titles(calendar)
        )
        assert all(event["occurrences"] for event in read)
