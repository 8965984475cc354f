"""Calendar entries as a standard calendar file (RFC 5545, RFC 7986).

Written line by line, not through a calendar library: icalendar 7.3 turns a backslash before a capital N into a
line break, leaves NAME and the X- properties unescaped, REFRESH-INTERVAL without its VALUE and control
characters in, and takes six times as long. The tests hold this writer against it and other readers. Text is made safe
first: no control characters, one kind of line break.
"""

from __future__ import annotations

import re
import uuid
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from feedplan.errors import UsageError
from feedplan.export.entry import CalendarEntry, Kind, Repeat
from feedplan.export.ledger import TIME_ZONE, PublishedEvent
from feedplan.export.zone_file import read_zone, vtimezone
from feedplan.words.language import say

# CSS3 colour names (RFC 7986, section 5.9). Few readers show them: nothing rests on a colour.
KIND_COLOURS = {
    Kind.FEEDING: "seagreen",
    Kind.WATER: "steelblue",
    Kind.HOLD: "firebrick",
    Kind.REVIEW: "darkorange",
    Kind.STAGE: "olivedrab",
    Kind.ALERT: "orangered",
    Kind.NOTE: "slategray",
    Kind.ROUND: "seagreen",
}
# Colours a calendar may have, with the values of "CSS Color Module Level 3", W3C, section 4.3.
CALENDAR_COLOURS = {
    "darkcyan": "#008B8B",
    "darkorange": "#FF8C00",
    "firebrick": "#B22222",
    "forestgreen": "#228B22",
    "goldenrod": "#DAA520",
    "indianred": "#CD5C5C",
    "olivedrab": "#6B8E23",
    "royalblue": "#4169E1",
    "saddlebrown": "#8B4513",
    "seagreen": "#2E8B57",
    "slateblue": "#6A5ACD",
    "slategray": "#708090",
    "steelblue": "#4682B4",
    "teal": "#008080",
}
# What a grower must do something about; a hold is a state and needs no bell.
_ALARMED = frozenset({Kind.FEEDING, Kind.WATER, Kind.REVIEW, Kind.STAGE, Kind.ROUND})

_WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
_NAMESPACE = uuid.UUID("5f0c1d0a-6a0b-5d0e-9f6f-2f5d5a4c7e11")  # feedplan's own; never to change
_SUMMARY = re.compile(r"^SUMMARY:((?:.*\r\n )*.*)\r\n", re.MULTILINE)
_ALARM = re.compile(r"^BEGIN:VALARM\r\n.*?^END:VALARM\r\n", re.MULTILINE | re.DOTALL)
# What str.splitlines counts as a line break, so that no reader finds a line where none was meant.
_LINE_BREAK = re.compile("\r\n|[\r\x0b\x0c\x1c\x1d\x1e\x85\u2028\u2029]")
# RFC 5545 section 3.3.11 forbids control characters but HTAB; C1 controls go too. Half a surrogate pair
# cannot be written as UTF-8.
_CONTROL = re.compile("[\x00-\x08\x0e-\x1f\x7f-\x9f]")
_HALF_PAIR = re.compile("[\ud800-\udfff]")
_TRAILING_BLANKS = re.compile(r"[ \t]+$", re.MULTILINE)
_BLANKS = re.compile(r"[ \t\n]+")
_LINE_OCTETS = 75


@dataclass(frozen=True, slots=True)
class CalendarSettings:
    """What one calendar is, apart from its entries.

    identity: the collection's identity, the same for ever; UIDs are made from it and do not show it.
    name, description: free text. time_zone: IANA name, for timed entries. colour: one of CALENDAR_COLOURS.
    refresh: how often a subscriber may ask again. alarm_at: wall-clock time of the alarm of all-day entries;
    timed ones then ring when they start. None for no alarms. calendar: which of the collection's calendars, "" for
    that of everything. site: the address of the pages, with / at its end, "" where it is not known; has_day_pages: each
    day has one there. source: the address of the calendar itself.
    """

    identity: str
    name: str
    time_zone: str
    description: str = ""
    colour: str = "seagreen"
    refresh: timedelta = timedelta(hours=6)
    alarm_at: time | None = None
    calendar: str = ""
    site: str = ""
    has_day_pages: bool = True
    source: str = ""

    @property
    def uid(self) -> str:
        """The identity of the calendar."""
        return calendar_uid(self.identity, self.calendar)

    def page_of(self, entry: CalendarEntry) -> str:
        """The address of the page that shows an entry's day, "" where none is known; for one that repeats, today's."""
        is_dated = bool(self.site) and self.has_day_pages and entry.repeat is None
        return f"{self.site}day-{entry.start}.html" if is_dated else self.site


class DatedEvent(NamedTuple):
    """A whole VEVENT and the days it reaches over."""

    first: date
    last: date
    uid: str
    block: str


def event_uid(identity: str, key: str) -> str:
    """The UID of an entry: a name-based UUID (RFC 9562, version 5) that shows nothing of what it is made from."""
    name = f"{identity}\n{key}".encode(errors="replace").decode()  # half a surrogate pair has no UTF-8
    return str(uuid.uuid5(_NAMESPACE, name))


def calendar_uid(identity: str, calendar: str = "") -> str:
    """The identity of one of a collection's calendars, made as the UIDs are. calendar: "" for that of everything."""
    return event_uid(identity, f"calendar/{calendar}" if calendar else "")


def first_day(entry: CalendarEntry) -> date:
    """The day of an entry's first occurrence: a weekly one starts on the first of its weekdays."""
    if entry.repeat is None or not entry.repeat.weekdays:
        return entry.start
    week = (entry.start + timedelta(days=ahead) for ahead in range(7))
    aligned = next(day for day in week if day.weekday() in entry.repeat.weekdays)
    # A stretch too short for any of its weekdays: one event on its first day. One check too many is safe.
    return aligned if aligned <= entry.repeat.until else entry.start


def last_day(entry: CalendarEntry) -> date:
    """The last day that an entry touches."""
    first = first_day(entry)
    last = max(first, entry.repeat.until) if entry.repeat else first
    return last if entry.at else last + timedelta(days=max(entry.days, 1) - 1)


def event_body(entry: CalendarEntry, settings: CalendarSettings) -> str:
    """The lines of an event that say what it is, ended by CRLF: all but its identity and revision."""
    groups = [entry.group] if entry.group else []
    title = one_line(entry.title) or entry.kind.value
    page = settings.page_of(entry)
    text = plain_text("\n".join(filter(None, [entry.text, _answer(entry, page)])))
    lines = _when(entry, settings.time_zone)
    lines.append(content_line("SUMMARY", escaped(title)))
    if text:
        lines.append(content_line("DESCRIPTION", escaped(text)))
    if page:
        lines.append(content_line("URL", page))
    lines.append(
        content_line("CATEGORIES", ",".join(escaped(one_line(word)) for word in [entry.kind, *groups]))
    )
    lines += [f"COLOR:{KIND_COLOURS[entry.kind]}\r\n", "TRANSP:TRANSPARENT\r\n"]
    if settings.alarm_at is not None and entry.kind in _ALARMED:
        lines += _alarm(entry, settings.alarm_at, title)
    return "".join(lines)


def _answer(entry: CalendarEntry, page: str) -> str:
    """How to answer what an entry asks: on its page, or by the command where no page is known."""
    return say("Answer: {page}", page=page) if entry.answer and page else entry.answer


def event_block(uid: str, record: PublishedEvent) -> str:
    """A whole VEVENT; a cancelled one loses its alarm."""
    status, body = "CONFIRMED", record.draft.body
    if record.gone is not None:
        status, body = "CANCELLED", _off(_ALARM.sub("", body))
    # Without a METHOD, DTSTAMP is when the event was last revised (RFC 5545, section 3.8.7.2).
    stamps = f"DTSTAMP:{record.changed}\r\nLAST-MODIFIED:{record.changed}\r\n"
    numbers = f"SEQUENCE:{record.sequence}\r\nSTATUS:{status}\r\n"
    return f"BEGIN:VEVENT\r\nUID:{uid}\r\n{stamps}{numbers}{body}END:VEVENT\r\n"


def _off(body: str) -> str:
    """The body with a title that says it is off: some programs draw a cancelled event like any other."""
    return _retitled(body, lambda title: say("Off: {title}", title=title))


def no_longer_off(body: str) -> str:
    """The body of a cancelled event as it was before."""
    return _retitled(body, lambda title: title.removeprefix(say("Off: {title}", title="")))


def _retitled(body: str, retitle: Callable[[str], str]) -> str:
    """The body with another title, made of the one it has; both escaped already."""
    summary = _SUMMARY.search(body)
    if summary is None:
        return body
    title = retitle(summary[1].replace("\r\n ", ""))
    return body[: summary.start()] + content_line("SUMMARY", title) + body[summary.end() :]


def calendar_file(settings: CalendarSettings, events: Iterable[DatedEvent], today: date) -> bytes:
    """The bytes of a calendar, its events in order of date, with a VTIMEZONE for each zone that they use.

    A calendar without events carries the zone of its settings, since RFC 5545 wants at least one component.
    Raises UsageError for an unknown zone or colour.
    """
    ordered = sorted(events, key=lambda event: (event.first, event.uid))
    spans = _zone_spans(ordered)
    shown = spans or ({} if ordered else {settings.time_zone: (today.year, today.year)})
    zones = [vtimezone(read_zone(name), *years) for name, years in sorted(shown.items())]
    blocks = [event.block for event in ordered]
    head = _head(settings, is_zoned=bool(spans))
    return "".join([*head, *zones, *blocks, "END:VCALENDAR\r\n"]).encode()


def _zone_spans(events: Iterable[DatedEvent]) -> dict[str, tuple[int, int]]:
    """The first and last year in which the events use each time zone."""
    spans: dict[str, tuple[int, int]] = {}
    for event in events:
        if match := TIME_ZONE.search(event.block):
            first, last = spans.get(match[1], (event.first.year, event.last.year))
            spans[match[1]] = (min(first, event.first.year), max(last, event.last.year))
    return spans


def _head(settings: CalendarSettings, *, is_zoned: bool) -> list[str]:
    """The properties of the calendar itself: the standard ones and, beside them, those older readers know."""
    name, description = one_line(settings.name), plain_text(settings.description)
    hex_colour = CALENDAR_COLOURS.get(settings.colour)
    if hex_colour is None:
        known = ", ".join(CALENDAR_COLOURS)
        raise UsageError(
            say(
                "unknown calendar colour '{colour}'; write one of {known}",
                colour=settings.colour,
                known=known,
            )
        )
    refresh = _duration(settings.refresh)
    lines = [
        ("BEGIN", "VCALENDAR"),
        ("VERSION", "2.0"),
        ("PRODID", "-//feedplan//calendar//EN"),
        ("CALSCALE", "GREGORIAN"),
        # Not UID (RFC 7986): vdirsyncer 0.21 takes that for the UID of every event, and keeps a single one of them.
        ("X-WR-RELCALID", settings.uid),
        ("NAME", escaped(name)),
        ("X-WR-CALNAME", escaped(name)),
        ("COLOR", settings.colour),
        ("X-APPLE-CALENDAR-COLOR", hex_colour),
        ("REFRESH-INTERVAL;VALUE=DURATION", refresh),
        ("X-PUBLISHED-TTL", refresh),
    ]
    if description:
        lines += [("DESCRIPTION", escaped(description)), ("X-WR-CALDESC", escaped(description))]
    if settings.source:
        lines.append(("SOURCE;VALUE=URI", settings.source))
    if is_zoned:
        lines.append(("X-WR-TIMEZONE", settings.time_zone))
    return [content_line(*line) for line in lines]


def _when(entry: CalendarEntry, time_zone: str) -> list[str]:
    """DTSTART, the end or length, and the recurrence."""
    start = first_day(entry)
    if entry.at is None:
        end = start + timedelta(days=max(entry.days, 1))  # exclusive
        lines = [f"DTSTART;VALUE=DATE:{start:%Y%m%d}\r\n", f"DTEND;VALUE=DATE:{end:%Y%m%d}\r\n"]
    else:
        parameter, mark = ("", "Z") if read_zone(time_zone).is_utc else (f";TZID={time_zone}", "")
        # A length, not an end: it stays right when the clocks change in between.
        length = _duration(timedelta(minutes=max(entry.minutes, 1)))
        lines = [f"DTSTART{parameter}:{start:%Y%m%d}T{entry.at:%H%M%S}{mark}\r\n", f"DURATION:{length}\r\n"]
    if entry.repeat and entry.repeat.until >= start:
        lines.append(content_line("RRULE", _rule(entry.repeat, entry.at, time_zone)))
    return lines


def _rule(repeat: Repeat, at: time | None, time_zone: str) -> str:
    """The recurrence rule; UNTIL is a DATE beside a DATE start and UTC beside a zoned one."""
    weekdays = ",".join(_WEEKDAYS[day] for day in sorted(set(repeat.weekdays)))
    often = f"FREQ=WEEKLY;BYDAY={weekdays}" if weekdays else "FREQ=DAILY"
    if not weekdays and repeat.every_days > 1:
        often += f";INTERVAL={repeat.every_days}"
    if at is None:
        return f"{often};UNTIL={repeat.until:%Y%m%d}"
    # The end of the last day, so that a reader an hour off still shows the last occurrence.
    end = datetime.combine(repeat.until, time(23, 59, 59), tzinfo=ZoneInfo(time_zone)).astimezone(UTC)
    return f"{often};UNTIL={end:%Y%m%dT%H%M%SZ}"


def _alarm(entry: CalendarEntry, alarm_at: time, title: str) -> list[str]:
    """A VALARM: at a wall-clock time of the first day of an all-day entry, at the start of a timed one."""
    after_start = timedelta(hours=alarm_at.hour, minutes=alarm_at.minute) if entry.at is None else timedelta()
    return [
        "BEGIN:VALARM\r\nACTION:DISPLAY\r\n",
        f"TRIGGER:{_duration(after_start)}\r\n",
        content_line("DESCRIPTION", escaped(title)),
        "END:VALARM\r\n",
    ]


def _duration(length: timedelta) -> str:
    """A length of time as RFC 5545 writes it, in hours and minutes."""
    hours, minutes = divmod(length // timedelta(minutes=1), 60)
    if not hours and not minutes:
        return "PT0S"
    return "PT" + (f"{hours}H" if hours else "") + (f"{minutes}M" if minutes else "")


def plain_text(text: str) -> str:
    """The text with "\\n" for every line break, no control characters, no blanks at line ends.

    >>> plain_text("Brin\\x07dle\\r\\nKettle  \\n")
    'Brindle\\nKettle'
    """
    if text.isprintable():  # most names and titles: no line break, no control character
        return text.rstrip(" ")
    text = _CONTROL.sub("", _LINE_BREAK.sub("\n", text))
    return _TRAILING_BLANKS.sub("", _HALF_PAIR.sub("\ufffd", text)).strip("\n")


def one_line(text: str) -> str:
    """The text as a single line, runs of blanks and line breaks made one space.

    >>> one_line("Feed growing-on:\\n 6.2 g\\tin 10 L")
    'Feed growing-on: 6.2 g in 10 L'
    """
    return _BLANKS.sub(" ", plain_text(text)).strip(" ")


def escaped(text: str) -> str:
    """A TEXT value (RFC 5545, section 3.3.11).

    >>> escaped("6.2 g, in 10 L")
    '6.2 g\\\\, in 10 L'
    """
    text = text.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    return text.replace("\n", "\\n")


def content_line(name: str, value: str) -> str:
    """One property, folded to lines of 75 octets and ended by CRLF (RFC 5545, section 3.1).

    No UTF-8 character is split, nor an escaped one: some readers lose an event over that.
    """
    line = f"{name}:{value}"
    if len(line) <= _LINE_OCTETS and line.isascii():
        return line + "\r\n"
    raw, parts, room = line.encode(), [], _LINE_OCTETS
    while len(raw) > room:
        cut = _fold_at(raw, room)
        parts.append(raw[:cut])
        raw, room = raw[cut:], _LINE_OCTETS - 1  # the next line begins with a space
    return b"\r\n ".join([*parts, raw]).decode() + "\r\n"


def _fold_at(raw: bytes, cut: int) -> int:
    """The last place up to `cut` between two whole characters."""
    while raw[cut] & 0xC0 == 0x80:  # inside a UTF-8 sequence
        cut -= 1
    backslashes = cut - len(raw[:cut].rstrip(b"\\"))
    return cut - backslashes % 2
