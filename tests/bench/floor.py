"""The least a calendar command could do: import the same libraries, parse the same YAML, write as many events.

python tests/bench/floor.py EVENTS OUTPUT FILE.yaml ...
"""

from __future__ import annotations

import sys
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import click  # noqa: F401 - its import is part of the floor
import icalendar
import pydantic  # noqa: F401 - its import is part of the floor
import yaml


def main(events: int, output: Path, files: list[Path]) -> None:
    """Parse every file, then serialise `events` plain events to `output`."""
    for file in files:
        yaml.load(file.read_text(encoding="utf-8"), Loader=yaml.CSafeLoader)
    calendar = icalendar.Calendar()
    calendar.add("prodid", "-//floor//EN")
    calendar.add("version", "2.0")
    stamp = datetime(2027, 1, 1, tzinfo=UTC)
    for number in range(events):
        event = icalendar.Event()
        day = date(2027, 1, 1) + timedelta(days=number % 365)
        event.add("uid", f"floor-{number}")
        event.add("dtstamp", stamp)
        event.add("last-modified", stamp)
        event.add("sequence", 0)
        event.add("dtstart", day)
        event.add("dtend", day + timedelta(days=1))
        event.add("summary", "Feed growing-on: 6.2 g in 10 L, 12 trees")
        event.add("description", "What to mix, for which trees and why. " * 12)
        event.add("categories", ["feeding", "growing-on"])
        event.add("color", "green")
        event.add("transp", "TRANSPARENT")
        calendar.add_component(event)
    output.write_bytes(calendar.to_ical())


if __name__ == "__main__":
    main(int(sys.argv[1]), Path(sys.argv[2]), [Path(name) for name in sys.argv[3:]])
