"""A month of a calendar file drawn as text, as a program that shows months would: read back by another library."""

from __future__ import annotations

import calendar
import sys
import textwrap
from collections.abc import Iterable
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import icalendar
import recurring_ical_events

WIDTH = 25
"""Characters of a day's box: what a phone held upright or a window of a desk shows of a title."""
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def rows_by_day(data: bytes, first: date, last: date) -> dict[date, list[str]]:
    """What stands on each day, all-day rows first, timed ones with their time; both ends included."""
    found: dict[date, list[tuple[str, str]]] = {
        first + timedelta(days=n): [] for n in range((last - first).days + 1)
    }
    parsed = icalendar.Calendar.from_ical(data)
    events: list[Any] = recurring_ical_events.of(parsed).between(first, last + timedelta(days=1))
    for event in events:
        start, title = event["DTSTART"].dt, str(event["SUMMARY"])
        if isinstance(start, datetime):
            found[start.date()].append((f"{start:%H:%M}", title))
            continue
        day, end = start, event["DTEND"].dt
        while day < end:
            if day in found:
                found[day].append(("", title))
            day += timedelta(days=1)
    return {day: [f"{at} {title}".strip() for at, title in sorted(rows)] for day, rows in found.items()}


def drawn(data: bytes, year: int, month: int, width: int = WIDTH) -> str:
    """The month as a grid of weeks, each row cut to the width of its box."""
    weeks = calendar.Calendar().monthdatescalendar(year, month)
    rows = rows_by_day(data, weeks[0][0], weeks[-1][-1])
    rule = "+".join(["", *["-" * width] * 7, ""])
    lines = [rule, _boxes(WEEKDAYS, width), rule]
    for week in weeks:
        boxes = [[str(day.day), *rows[day]] for day in week]
        height = max(map(len, boxes))
        lines += [_boxes((row[n] if n < len(row) else "" for row in boxes), width) for n in range(height)]
        lines.append(rule)
    return "\n".join(lines) + "\n"


def _boxes(cells: Iterable[str], width: int) -> str:
    return "|".join(["", *(cell[:width].ljust(width) for cell in cells), ""])


if __name__ == "__main__":  # python -m tests.export.month FILE 2027 6
    sys.stdout.write(
        textwrap.dedent(drawn(Path(sys.argv[1]).read_bytes(), int(sys.argv[2]), int(sys.argv[3])))
    )
