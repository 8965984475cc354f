"""What a compiled time zone file says: its clock changes so far and the rule from then on (RFC 9636)."""

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
