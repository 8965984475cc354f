"""Readers of calendar files that share no code with feedplan: each gives what it found in one plain form."""

from __future__ import annotations

import atexit
import hashlib
import importlib.resources
import json
import re
import shutil
import subprocess
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import cache, lru_cache
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import icalendar
import pytest
import recurring_ical_events
import vobject

JS = Path(__file__).parent / "js"
NODE = shutil.which("node")
needs_ical_js = pytest.mark.skipif(
    NODE is None or not (JS / "node_modules" / "ical.js").is_dir(),
    reason="ical.js is not installed: npm ci --prefix tests/export/js",
)

Instant = date | datetime


@dataclass(frozen=True, slots=True)
class Found:
    """An event as a reader saw it; starts: every occurrence, timed ones in UTC."""

    uid: str
    summary: str
    description: str
    categories: tuple[str, ...]
    starts: tuple[Instant, ...]


@lru_cache(maxsize=1024)
def tzdata_zone(name: str) -> ZoneInfo:
    """The zone as Python's zoneinfo reads it from the tzdata package, whatever the system's own files say."""
    resource = importlib.resources.files("tzdata").joinpath("zoneinfo", *name.split("/"))
    with resource.open("rb") as file:
        return ZoneInfo.from_file(file, key=name)


def with_own_zone_names(data: bytes) -> bytes:
    """The same calendar with zone names that no reader knows, so that each must go by the VTIMEZONE."""
    mark = hashlib.sha256(data).hexdigest()[:12].encode()
    return re.sub(rb"TZID([=:])", rb"TZID\1/invented/" + mark + b"/", data)


def read_lines(data: bytes) -> list[str]:
    """The unfolded lines, by the letter of RFC 5545 section 3.1; fails on anything else."""
    assert data.endswith(b"\r\n")
    assert b"\r" not in data.replace(b"\r\n", b"")
    assert b"\n" not in data.replace(b"\r\n", b"")
    physical = data[:-2].split(b"\r\n")
    assert max(map(len, physical)) <= 75
    for line in physical:
        line.decode("utf-8")  # no fold inside a character
        assert not re.search(rb"[\x00-\x08\x0a-\x1f\x7f]", line)
    return data[:-2].decode().replace("\r\n ", "").split("\r\n")


def read_with_icalendar(data: bytes, first: date, last: date) -> list[Found]:
    """Through icalendar and recurring-ical-events, over a window with both ends included."""
    calendar = icalendar.Calendar.from_ical(data)
    assert not calendar.errors
    found = []
    events: list[Any] = list(calendar.walk("VEVENT"))
    for event in events:
        assert not event.errors
        one = icalendar.Calendar()
        for zone in calendar.walk("VTIMEZONE"):
            one.add_component(zone)
        one.add_component(event)
        occurrences = recurring_ical_events.of(one).between(first, last + timedelta(days=1))
        words = tuple(str(word) for word in event["CATEGORIES"].cats)
        starts = tuple(sorted(_utc(occurrence["DTSTART"].dt) for occurrence in occurrences))
        found.append(
            Found(str(event["UID"]), str(event["SUMMARY"]), str(event.get("DESCRIPTION", "")), words, starts)
        )
    return found


def read_with_vobject(data: bytes) -> list[Found]:
    """Through vobject, whose time zones and recurrences are dateutil's."""
    calendar = vobject.readOne(data.decode())
    return [_from_vobject(event) for event in getattr(calendar, "vevent_list", [])]


def _from_vobject(event: Any) -> Found:
    start = event.dtstart.value
    starts = event.getrruleset(addRDate=True) if "rrule" in event.contents else [start]
    if not isinstance(start, datetime):
        starts = [moment.date() if isinstance(moment, datetime) else moment for moment in starts]
    text = event.description.value if "description" in event.contents else ""
    words = tuple(event.contents["categories"][0].value)
    return Found(event.uid.value, event.summary.value, text, words, tuple(_utc(moment) for moment in starts))


def read_with_ical_js(data: bytes, before: date) -> list[Found]:
    """Through ical.js, a reader in another language that knows no time zone but the file's own."""
    return [
        Found(
            row["uid"],
            row["summary"],
            row["description"] or "",
            tuple(row["categories"]),
            tuple(_iso(start) for start, _ in row["occurrences"]),
        )
        for row in ical_js_events(data, before)
    ]


@cache
def _ical_js() -> subprocess.Popen[bytes]:
    """read.mjs, one process for all the calendars of a test run."""
    assert NODE is not None
    reader = subprocess.Popen(
        [NODE, str(JS / "read.mjs")], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
    )
    atexit.register(reader.communicate)
    return reader


def ical_js_events(data: bytes, before: date) -> list[dict[str, Any]]:
    """What read.mjs prints of each event."""
    reader = _ical_js()
    assert reader.stdin is not None
    assert reader.stdout is not None
    reader.stdin.write(json.dumps([before.isoformat(), data.decode()]).encode() + b"\n")
    reader.stdin.flush()
    answer = json.loads(reader.stdout.readline())
    assert "error" not in answer, answer["error"]
    events: list[dict[str, Any]] = answer["events"]
    return events


def _iso(text: str) -> Instant:
    return datetime.fromisoformat(text) if "T" in text else date.fromisoformat(text)


def _utc(moment: Instant) -> Instant:
    """An instant in UTC, or a plain date."""
    return moment.astimezone(UTC) if isinstance(moment, datetime) else moment
