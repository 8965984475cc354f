"""A compiled time zone file (RFC 9636), and the zone as a calendar carries it (RFC 5545, section 3.6.5).

Calendar libraries tend to list every clock change up to 2037 and stop there. The rule that holds from now on is
the last line of a compiled zone file, so it is written instead, short and right in any year. Only where a zone changes
its clocks without a rule in the years asked for (Gaza, by the moon) are the changes of those years listed.
"""

from __future__ import annotations

import importlib.util
import re
import struct
import zoneinfo
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from pathlib import Path

from feedplan.errors import UsageError
from feedplan.words.language import say

HOUR_S = 3600
DAY_S = 86_400
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_ZONE_NAME = re.compile(r"[A-Za-z0-9_+-]+(/[A-Za-z0-9_+-]+)*")
_WEEKDAYS = ("SU", "MO", "TU", "WE", "TH", "FR", "SA")
# Rules start here, as is usual in calendars: before any entry, and in range of every reader.
_RULES_FROM = 1970
_CALENDAR_CYCLE_YEARS = 28  # the weekdays of the Gregorian calendar come round, leap years included


@dataclass(frozen=True, slots=True)
class Clock:
    """How clocks stand. name: as written on them ("GMT"); offset_s: ahead of UTC [s]."""

    name: str
    offset_s: int


@dataclass(frozen=True, slots=True)
class ClockChange:
    """One change of the clocks. at: the instant, in UTC."""

    at: datetime
    before: Clock
    after: Clock


@dataclass(frozen=True, slots=True)
class WeekdayOnset:
    """A yearly onset "Mm.w.d/time": weekday `weekday` (0 is Sunday) of week `week` (5 is the last) of a month.

    after_midnight_s: from 00:00 of that day on the clock before the change; may be negative or over a day [s].
    """

    month: int
    week: int
    weekday: int
    after_midnight_s: int

    def in_year(self, year: int) -> datetime:
        """The onset in a year, as the clock before the change shows it."""
        if self.week == 5:
            next_month = date(year + self.month // 12, self.month % 12 + 1, 1)
            earliest = next_month - timedelta(days=7)
        else:
            earliest = date(year, self.month, 7 * self.week - 6)
        day = earliest + timedelta(days=(self.weekday - earliest.isoweekday()) % 7)
        return datetime(day.year, day.month, day.day) + timedelta(seconds=self.after_midnight_s)  # noqa: DTZ001


@dataclass(frozen=True, slots=True)
class DayOnset:
    """A yearly onset "Jn/time" or "n/time": a day of the year, 29 February counted or not.

    day: days after 1 January. counts_leap_day: False means that day 59 is 1 March in every year.
    """

    day: int
    counts_leap_day: bool
    after_midnight_s: int

    def in_year(self, year: int) -> datetime:
        """The onset in a year, as the clock before the change shows it."""
        model = date(year if self.counts_leap_day else 2001, 1, 1) + timedelta(days=self.day)
        return datetime(year, model.month, model.day) + timedelta(seconds=self.after_midnight_s)  # noqa: DTZ001


Onset = WeekdayOnset | DayOnset


@dataclass(frozen=True, slots=True)
class ZoneRule:
    """What holds after the last listed clock change. daylight: None where clocks do not change.

    The names are those of POSIX: Dublin's standard clock is the summer one, its daylight clock the winter one.
    """

    standard: Clock
    daylight: Clock | None = None
    daylight_starts: Onset | None = None
    standard_starts: Onset | None = None

    def changes_in(self, year: int) -> list[ClockChange]:
        """The clock changes of a year by this rule, earliest first."""
        if self.daylight is None or self.daylight_starts is None or self.standard_starts is None:
            return []
        changes = [
            _change(self.daylight_starts.in_year(year), self.standard, self.daylight),
            _change(self.standard_starts.in_year(year), self.daylight, self.standard),
        ]
        return sorted(changes, key=lambda change: change.at)


@dataclass(frozen=True, slots=True)
class Zone:
    """A time zone. first: the clock before any change; listed: changes that `rule` does not foretell."""

    name: str
    first: Clock
    listed: tuple[ClockChange, ...]
    rule: ZoneRule

    @property
    def is_utc(self) -> bool:
        """Whether this is UTC under one of its names."""
        return not self.listed and self.rule == ZoneRule(Clock("UTC", 0))

    def changes_between(self, first_year: int, last_year: int) -> list[ClockChange]:
        """Every clock change of some years, by the list and then by the rule."""
        listed = [change for change in self.listed if first_year <= change.at.year <= last_year]
        rule_from = self.listed[-1].at if self.listed else datetime.min.replace(tzinfo=UTC)
        foretold = [
            change for year in range(first_year, last_year + 1) for change in self.rule.changes_in(year)
        ]
        return listed + [change for change in foretold if change.at > rule_from]


@lru_cache(maxsize=16)
def read_zone(name: str) -> Zone:
    """The zone of an IANA name, from the tzdata package or else the system. Raises UsageError."""
    for folder in (*_tzdata_folders(), *zoneinfo.TZPATH):
        path = Path(folder, name)
        if _ZONE_NAME.fullmatch(name) and path.is_file():
            return parse_zone(name, path.read_bytes())
    raise UsageError(say("unknown time zone '{name}'; write an IANA name such as Europe/London", name=name))


def _tzdata_folders() -> list[str]:
    """Where the tzdata package keeps its files, found without importlib.resources, which takes 14 ms to load."""
    package = importlib.util.find_spec("tzdata")  # some systems leave it out and rely on their own files
    folders = package.submodule_search_locations if package else None
    return [str(Path(folder, "zoneinfo")) for folder in folders or ()]


def parse_zone(name: str, raw: bytes) -> Zone:
    """The zone in the bytes of a compiled file of version 2 or later. Raises ValueError when they are not one."""
    if raw[:4] != b"TZif" or raw[4:5] < b"2":
        raise ValueError(f"the file of time zone {name} is not a compiled one of version 2 or later")
    counts = struct.unpack(">6l", raw[20:44])
    body = 44 + _body_size(counts, 4)
    counts = struct.unpack(">6l", raw[body + 20 : body + 44])
    first, changes = _listed_changes(raw[body + 44 :], counts)
    footer = raw[body + 44 + _body_size(counts, 8) :].decode("ascii").strip("\n")
    rule = parse_rule(footer) if footer else ZoneRule(changes[-1].after if changes else first)
    return Zone(name, first, _without_foretold(changes, rule), rule)


def _body_size(counts: tuple[int, ...], time_size: int) -> int:
    """Length of a data block whose times take `time_size` bytes (RFC 9636, section 3.2)."""
    ut_local, std_wall, leaps, times, types, name_bytes = counts
    return times * (time_size + 1) + types * 6 + name_bytes + leaps * (time_size + 4) + std_wall + ut_local


def _listed_changes(block: bytes, counts: tuple[int, ...]) -> tuple[Clock, list[ClockChange]]:
    """The first clock and every listed change, from a data block with 8-byte times."""
    _, _, _, times, types, name_bytes = counts
    instants = struct.unpack(f">{times}q", block[: times * 8])
    indexes = block[times * 8 : times * 9]
    type_bytes = block[times * 9 : times * 9 + types * 6]
    names = block[times * 9 + types * 6 :][:name_bytes]
    clocks = [
        Clock(names[at:].split(b"\0", 1)[0].decode("ascii"), offset_s)
        for offset_s, _, at in struct.iter_unpack(">lBB", type_bytes)
    ]
    clock, changes = clocks[0], []
    for instant, index in zip(instants, indexes, strict=True):
        before, clock = clock, clocks[index]
        if before != clock and instant > -(2**40):  # a first time long before any clock is a place-holder
            changes.append(ClockChange(_EPOCH + timedelta(seconds=instant), before, clock))
    return clocks[0], changes


def _without_foretold(changes: list[ClockChange], rule: ZoneRule) -> tuple[ClockChange, ...]:
    """The changes up to the last that the rule does not foretell: "fat" files list years of others."""
    kept = len(changes)
    while kept > 1 and _is_next_foretold(changes[kept - 1], changes[kept - 2], rule):
        kept -= 1
    return tuple(changes[:kept])


def _is_next_foretold(change: ClockChange, previous: ClockChange, rule: ZoneRule) -> bool:
    """Whether, by the rule, a change is the first to come after the one listed before it.

    Havana left out its changes of November 2026 and March 2027: that of November 2027 is by the rule again, but
    the rule does not hold before it.
    """
    years = range(change.at.year - 1, change.at.year + 1)
    foretold = [
        each for year in years for each in rule.changes_in(year) if previous.at < each.at <= change.at
    ]
    return foretold == [change]


_NAME = r"<[A-Za-z0-9+-]+>|[A-Za-z]+"
_TIME = r"[+-]?\d+(?::\d+){0,2}"
_ONSET = rf"(?:M\d+\.\d+\.\d+|J?\d+)(?:/{_TIME})?"
_RULE = re.compile(rf"({_NAME})({_TIME})(?:({_NAME})({_TIME})?,({_ONSET}),({_ONSET}))?")


def parse_rule(text: str) -> ZoneRule:
    """The rule in the last line of a zone file, a POSIX TZ string as RFC 9636 section 3.3 widens it.

    >>> parse_rule("<+0845>-8:45").standard
    Clock(name='+0845', offset_s=31500)

    Raises ValueError for anything else.
    """
    match = _RULE.fullmatch(text)
    if match is None:
        raise ValueError(f"not a time zone rule: {text!r}")
    name, offset, daylight_name, daylight_offset, daylight_starts, standard_starts = match.groups()
    standard = Clock(name.strip("<>"), -_seconds(offset))
    if daylight_name is None:
        return ZoneRule(standard)
    ahead_s = -_seconds(daylight_offset) if daylight_offset else standard.offset_s + HOUR_S
    daylight = Clock(daylight_name.strip("<>"), ahead_s)
    return ZoneRule(standard, daylight, _onset(daylight_starts), _onset(standard_starts))


def _onset(text: str) -> Onset:
    day, _, time = text.partition("/")
    seconds = _seconds(time or "2")  # POSIX: 02:00 unless said
    if day.startswith("M"):
        month, week, weekday = map(int, day[1:].split("."))
        return WeekdayOnset(month, week, weekday, seconds)
    if day.startswith("J"):
        return DayOnset(int(day[1:]) - 1, counts_leap_day=False, after_midnight_s=seconds)
    return DayOnset(int(day), counts_leap_day=True, after_midnight_s=seconds)


def _seconds(text: str) -> int:
    """A signed "h[:m[:s]]" in seconds; hours may pass 24."""
    parts = [int(part) for part in text.lstrip("+-").split(":")]
    hours, minutes, seconds = (*parts, 0, 0)[:3]
    total_s = hours * HOUR_S + minutes * 60 + seconds
    return -total_s if text.startswith("-") else total_s


def _change(onset: datetime, before: Clock, after: Clock) -> ClockChange:
    """The change that happens when the clock `before` shows `onset`."""
    return ClockChange(onset.replace(tzinfo=UTC) - timedelta(seconds=before.offset_s), before, after)


@dataclass(frozen=True, slots=True)
class _Observance:
    """Clocks going from `before` to `after` when they show `starts`, and each year again if there is a rule."""

    starts: datetime
    before: Clock
    after: Clock
    rule: str = ""


def vtimezone(zone: Zone, first_year: int, last_year: int) -> str:
    """The VTIMEZONE component that is right for wall-clock times of some years, as lines ended by CRLF."""
    observances = _by_rule(zone, first_year) or _dated(zone, first_year, last_year)
    lines = ["BEGIN:VTIMEZONE", f"TZID:{zone.name}"]
    lines += [line for observance in observances for line in _lines(observance)]
    return "".join(f"{line}\r\n" for line in [*lines, "END:VTIMEZONE"])


def _by_rule(zone: Zone, first_year: int) -> list[_Observance]:
    """Observances by yearly rule; empty when the rule does not hold yet or cannot be written plainly."""
    if zone.listed and zone.listed[-1].at >= datetime(first_year, 1, 1, tzinfo=UTC):
        return []
    rule = zone.rule
    if rule.daylight is None or rule.daylight_starts is None or rule.standard_starts is None:
        return [_always(rule.standard)]
    to_daylight = [
        _Observance(at, rule.standard, rule.daylight, by) for at, by in _yearly(rule.daylight_starts)
    ]
    to_standard = [
        _Observance(at, rule.daylight, rule.standard, by) for at, by in _yearly(rule.standard_starts)
    ]
    return to_daylight + to_standard if to_daylight and to_standard else []


def _yearly(onset: Onset) -> list[tuple[datetime, str]]:
    """The recurrence rules that together give an onset, each with its first instance.

    "Last Thursday at 24:00" is a Friday of 26 October to 1 November: one rule for each month.
    """
    if not isinstance(onset, WeekdayOnset):
        return []
    if 0 <= onset.after_midnight_s < DAY_S:
        week = -1 if onset.week == 5 else onset.week
        by_day = f"BYMONTH={onset.month};BYDAY={week}{_WEEKDAYS[onset.weekday]}"
        return [(onset.in_year(_RULES_FROM), f"FREQ=YEARLY;{by_day}")]
    onsets = [onset.in_year(_RULES_FROM + year) for year in range(_CALENDAR_CYCLE_YEARS)]
    days = sorted({(at.month, at.day) for at in onsets})
    if len(days) != 7:  # the end of February lies between: in a leap year the seven days are others
        return []
    return [
        _in_month(month, [at for at in onsets if at.month == month]) for month in sorted({m for m, _ in days})
    ]


def _in_month(month: int, onsets: list[datetime]) -> tuple[datetime, str]:
    """The rule for the onsets that fall in one month, with the first of them."""
    days = ",".join(map(str, sorted({at.day for at in onsets})))
    weekday = _WEEKDAYS[onsets[0].isoweekday() % 7]
    return onsets[0], f"FREQ=YEARLY;BYMONTH={month};BYMONTHDAY={days};BYDAY={weekday}"


def _dated(zone: Zone, first_year: int, last_year: int) -> list[_Observance]:
    """The clock in force as some years begin, then each change of theirs.

    A change late on 31 December may be of the next year by UTC.
    """
    changes = zone.changes_between(first_year, last_year + 1)
    if changes:
        return [_always(changes[0].before), *map(_once, changes)]
    earlier = [change.after for change in zone.listed if change.at.year < first_year]
    return [_always(earlier[-1] if earlier else zone.first)]


def _always(clock: Clock) -> _Observance:
    return _Observance(datetime(_RULES_FROM, 1, 1), clock, clock)  # noqa: DTZ001 - a wall-clock time


def _once(change: ClockChange) -> _Observance:
    shown = (change.at + timedelta(seconds=change.before.offset_s)).replace(tzinfo=None)
    return _Observance(shown, change.before, change.after)


def _lines(observance: _Observance) -> list[str]:
    """One STANDARD or DAYLIGHT part. Clocks put forward are DAYLIGHT, whatever the zone file calls them."""
    is_forward = observance.after.offset_s > observance.before.offset_s
    part = "DAYLIGHT" if is_forward else "STANDARD"
    lines = [
        f"BEGIN:{part}",
        f"DTSTART:{observance.starts:%Y%m%dT%H%M%S}",
        f"TZOFFSETFROM:{_offset(observance.before)}",
        f"TZOFFSETTO:{_offset(observance.after)}",
        f"TZNAME:{observance.after.name}",
    ]
    if observance.rule:
        lines.append(f"RRULE:{observance.rule}")
    return [*lines, f"END:{part}"]


def _offset(clock: Clock) -> str:
    """An offset as "+hhmm", with seconds where it has them."""
    minutes, seconds = divmod(abs(clock.offset_s), 60)
    sign = "-" if clock.offset_s < 0 else "+"
    return f"{sign}{minutes // 60:02}{minutes % 60:02}" + (f"{seconds:02}" if seconds else "")
