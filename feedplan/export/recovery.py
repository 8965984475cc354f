"""A ledger made again from the calendar file it belonged to, so that a lost ledger loses nothing."""

from __future__ import annotations

import re
from contextlib import suppress
from datetime import date, datetime, timedelta
from typing import Any

from feedplan.errors import UsageError
from feedplan.export.entry import Kind
from feedplan.export.ledger import Draft, Ledger, PublishedEvent, is_sound
from feedplan.export.zone_file import read_zone

_EVENT = re.compile(r"^BEGIN:VEVENT\r\n(.*?)^END:VEVENT\r\n", re.MULTILINE | re.DOTALL)
_LOGICAL_LINE = re.compile(r"[^\r\n]*\r\n(?:[ \t][^\r\n]*\r\n)*")
_OF_THE_REVISION = re.compile(r"(UID|DTSTAMP|LAST-MODIFIED|SEQUENCE|STATUS)[:;]", re.IGNORECASE)
_TIME_ZONE = re.compile(r"^DTSTART;TZID=([^:;\r\n]+):", re.MULTILINE)


def recover_ledger(raw: bytes, calendar: str) -> Ledger:
    """What can still be read of a calendar's events; nothing when the file is another calendar's.

    A file cut off half way gives its whole events. An event whose lines another program has put in another
    form keeps its SEQUENCE but counts as changed.
    """
    text = re.sub(r"\r*\n", "\r\n", raw.decode("utf-8", errors="replace"))
    head = text.partition("BEGIN:VEVENT\r\n")[0]
    if f"\r\nX-WR-RELCALID:{calendar}\r\n" not in head:
        return Ledger(calendar)
    records = {}
    for match in _EVENT.finditer(text):
        # Anything may stand in a damaged event, and what a parser makes of it is not foreseeable; one that
        # cannot be read is left out.
        with suppress(ValueError, KeyError, TypeError, AttributeError, IndexError, UsageError):
            uid, record = _event(match[0], match[1])
            if is_sound(uid, record):
                records[uid] = record
    return Ledger(calendar, records)


def _event(block: str, lines: str) -> tuple[str, PublishedEvent]:
    """The UID and record of one VEVENT."""
    from icalendar import Event  # noqa: PLC0415 - 45 ms to load, and only a lost ledger needs it

    event: Any = Event.from_ical(block)
    body = "".join(line for line in _LOGICAL_LINE.findall(lines) if not _OF_THE_REVISION.match(line))
    if match := _TIME_ZONE.search(body):
        read_zone(match[1])
    changed = event["LAST-MODIFIED"].to_ical().decode()
    is_cancelled = str(event.get("STATUS", "")).upper() == "CANCELLED"
    gone = event["LAST-MODIFIED"].dt.date() if is_cancelled else None
    kind, group = _kind_and_group([str(word) for word in event["CATEGORIES"].cats])
    draft = Draft(kind, group, *_days(event), body)
    return str(event["UID"]), PublishedEvent(draft, int(event.get("SEQUENCE", 0)), changed, gone)


def _kind_and_group(words: list[str]) -> tuple[Kind, str | None]:
    """The kind comes first in CATEGORIES, then the group."""
    return Kind(words[0]), words[1] if len(words) > 1 else None


def _days(event: Any) -> tuple[date, date]:
    """The first and last day of an event, repeats included."""
    start = event["DTSTART"].dt
    first = _day(start)
    end = first if isinstance(start, datetime) else _day(event["DTEND"].dt) - timedelta(days=1)
    if "RRULE" not in event:
        return first, end
    return first, _day(event["RRULE"]["UNTIL"][0], start) + (end - first)


def _day(moment: date, like: date | None = None) -> date:
    """The day of a date or of an instant, on the wall clock that `like` is shown on."""
    if not isinstance(moment, datetime):
        return moment
    zone = like.tzinfo if isinstance(like, datetime) else None
    return moment.astimezone(zone).date() if zone else moment.date()
