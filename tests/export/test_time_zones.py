"""Time zones of calendars against zoneinfo: Python's own reading of the same compiled files."""

from __future__ import annotations

import importlib.resources
import io
import struct
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from dateutil.tz import tzical  # type: ignore[import-untyped]
from hypothesis import given
from hypothesis import strategies as st

from feedplan.errors import UsageError
from feedplan.export.zone_file import Clock, WeekdayOnset, parse_rule, parse_zone, read_zone, vtimezone
from tests.properties import examples

from .readers import read_lines, tzdata_zone

NAMES = importlib.resources.files("tzdata").joinpath("zones").read_text().split()
# One of each kind: the usual rules of both hemispheres, half-hour and quarter-hour offsets, half an hour of
# summer time, clocks that change at 24:00 or before 00:00, no changes, no rule yet, west of Greenwich, far east.
TELLING_NAMES = [
    "Europe/London",
    "Europe/Dublin",
    "America/New_York",
    "America/St_Johns",
    "America/Santiago",
    "America/Scoresbysund",
    "Australia/Sydney",
    "Australia/Lord_Howe",
    "Pacific/Auckland",
    "Pacific/Chatham",
    "Africa/Cairo",
    "America/Havana",
    "Asia/Gaza",
    "Asia/Kolkata",
    "Asia/Tokyo",
    "Pacific/Kiritimati",
]


def changes_of(zone: ZoneInfo, year: int) -> Iterator[datetime]:
    """The instants of a year at which the offset of a zone changes, found by halving days."""
    day = datetime(year, 1, 1, tzinfo=UTC)
    for start in (day + timedelta(days=n) for n in range(366)):
        low, high = start, start + timedelta(days=1)
        if low.astimezone(zone).utcoffset() == high.astimezone(zone).utcoffset():
            continue
        while high - low > timedelta(minutes=1):
            middle = low + (high - low) / 2
            same = middle.astimezone(zone).utcoffset() == low.astimezone(zone).utcoffset()
            low, high = (middle, high) if same else (low, middle)
        yield high.replace(second=0, microsecond=0)


def telling_times(zone: ZoneInfo, year: int) -> Iterator[datetime]:
    """Wall-clock times that a wrong rule gets wrong: the quarter hours near each change, and each month."""
    moments = [datetime(year, month, 1, 7, tzinfo=UTC) for month in range(1, 13)]
    for change in changes_of(zone, year):
        moments += [
            change + timedelta(minutes=15 * n) for n in (-96, -12, -6, -5, -3, -1, 0, 1, 3, 5, 6, 12, 96)
        ]
    for shown in (moment.astimezone(zone) for moment in moments):
        shown_once = shown.utcoffset() == shown.replace(fold=1 - shown.fold).utcoffset()
        if shown_once and shown.year == year:
            yield shown


@lru_cache(maxsize=1024)
def by_dateutil(text: str, name: str) -> Any:
    """The zone as dateutil reads a VTIMEZONE."""
    return tzical(io.StringIO(text.replace("\r\n", "\n"))).get(name)


def disagreements(text: str, name: str, zone: ZoneInfo, year: int) -> list[str]:
    """The times of a year at which a VTIMEZONE and a zone disagree."""
    read = by_dateutil(text, name)
    assert read is not None
    return [
        f"{shown:%Y-%m-%d %H:%M}"
        for shown in telling_times(zone, year)
        if shown.replace(tzinfo=read).utcoffset() != shown.utcoffset()
    ]


@pytest.mark.parametrize("year", [2027, 2040])
def test_every_zone_agrees_with_zoneinfo_before_and_after_2037(year: int) -> None:
    seen: set[str] = set()
    for name in NAMES:
        text = vtimezone(read_zone(name), year, year)
        rules = text.replace(name, "")
        if rules not in seen or name in TELLING_NAMES:
            seen.add(rules)
            assert disagreements(text, name, tzdata_zone(name), year) == [], name
    assert len(seen) > 60


def test_zones_of_the_same_rules_have_the_same_offsets() -> None:
    """What lets the test above take one zone of each set of rules: 07:00 in each month, every zone."""
    for name in NAMES:
        zone = read_zone(name)
        changes = zone.changes_between(2026, 2028)
        for month in range(1, 13):
            when = datetime(2027, month, 1, 7, tzinfo=tzdata_zone(name))
            past = [change.after for change in changes if change.at <= when]
            clock = past[-1] if past else changes[0].before if changes else zone.rule.standard
            assert timedelta(seconds=clock.offset_s) == when.utcoffset(), name
            assert clock.name == when.tzname(), name


@pytest.mark.parametrize("name", TELLING_NAMES)
def test_a_time_zone_is_short_and_its_lines_are_in_form(name: str) -> None:
    text = vtimezone(read_zone(name), 2027, 2028)
    assert len(text) < 1100  # icalendar 7.3 writes 2,300 octets for Berlin
    assert read_lines(text.encode())[:2] == ["BEGIN:VTIMEZONE", f"TZID:{name}"]


def test_london_is_written_as_rfc_5545_writes_a_zone_by_rule() -> None:
    """The form of RFC 5545 section 3.6.5; the dates are those of the Summer Time Order 2002 (UK, SI 2002/262)."""
    lines = vtimezone(read_zone("Europe/London"), 2027, 2028).splitlines()
    assert lines[2:9] == [
        "BEGIN:DAYLIGHT",
        "DTSTART:19700329T010000",
        "TZOFFSETFROM:+0000",
        "TZOFFSETTO:+0100",
        "TZNAME:BST",
        "RRULE:FREQ=YEARLY;BYMONTH=3;BYDAY=-1SU",
        "END:DAYLIGHT",
    ]


def test_a_change_at_24_00_of_the_last_thursday_may_fall_in_the_next_month() -> None:
    text = vtimezone(read_zone("Africa/Cairo"), 2027, 2040)
    assert "BYMONTH=10;BYMONTHDAY=26,27,28,29,30,31;BYDAY=FR" in text
    assert "BYMONTH=11;BYMONTHDAY=1;BYDAY=FR" in text
    # 2030-10-31 is the last Thursday of its month, so clocks go back as 1 November begins
    november = datetime(2030, 11, 1, 7, tzinfo=tzdata_zone("Africa/Cairo"))
    assert november.utcoffset() == timedelta(hours=2)
    assert disagreements(text, "Africa/Cairo", tzdata_zone("Africa/Cairo"), 2030) == []


@pytest.mark.parametrize("name", ["UTC", "Etc/UTC", "Etc/Zulu"])
def test_utc_is_known_under_its_names(name: str) -> None:
    assert read_zone(name).is_utc


@pytest.mark.parametrize("name", ["GMT", "Africa/Abidjan", "Europe/London"])
def test_a_zone_at_offset_zero_is_not_utc(name: str) -> None:
    assert not read_zone(name).is_utc


@pytest.mark.parametrize(
    "name", ["Europe/Londn", "../../etc/passwd", "/etc/localtime", "", "Europe", "zones"]
)
def test_an_unknown_zone_is_refused_in_one_line(name: str) -> None:
    with pytest.raises((UsageError, ValueError)) as caught:
        read_zone(name)
    assert "\n" not in str(caught.value)


# The examples of RFC 9636 section 3.3.1, written down from memory.
@pytest.mark.parametrize(
    ("text", "offset_s", "to_daylight"),
    [
        ("<-03>3<-02>,M3.5.0/-2,M10.5.0/-1", -10_800, WeekdayOnset(3, 5, 0, -7200)),
        ("IST-2IDT,M3.4.4/26,M10.5.0", 7200, WeekdayOnset(3, 4, 4, 93_600)),
    ],
)
def test_rules_are_read_as_in_the_examples_of_rfc_9636(
    text: str, offset_s: int, to_daylight: WeekdayOnset
) -> None:
    rule = parse_rule(text)
    assert rule.standard.offset_s == offset_s
    assert rule.daylight_starts == to_daylight
    assert rule.daylight is not None
    assert rule.daylight.offset_s == offset_s + 3600


@pytest.mark.parametrize("text", ["", "EST", "EST5EDT", "5", "EST5EDT,M3.2.0", "EST5EDT,X3,X4", "<EST5"])
def test_what_is_no_rule_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="not a time zone rule"):
        parse_rule(text)


def compiled(footer: str, changes: list[tuple[int, int]], clocks: list[tuple[int, int, str]]) -> bytes:
    """A compiled zone file of version 2 (RFC 9636, section 3). changes: (time, clock); clocks: (s, dst, name)."""
    names = b"".join(name.encode() + b"\0" for _, _, name in clocks)
    starts = [names.index(name.encode() + b"\0") for _, _, name in clocks]
    types = b"".join(
        struct.pack(">lBB", offset, dst, at) for (offset, dst, _), at in zip(clocks, starts, strict=True)
    )

    def head(times: int) -> bytes:
        return b"TZif2" + bytes(15) + struct.pack(">6l", 0, 0, 0, times, len(clocks), len(names))

    times = b"".join(struct.pack(">q", time) for time, _ in changes)
    indexes = bytes(clock for _, clock in changes)
    first = head(0) + types + names
    return first + head(len(changes)) + times + indexes + types + names + f"\n{footer}\n".encode()


def seconds(*when: int) -> int:
    return int(datetime(*when, tzinfo=UTC).timestamp())  # type: ignore[misc, arg-type]


def test_a_file_that_lists_years_of_foretold_changes_is_still_written_by_rule() -> None:
    """As "fat" files do, which some systems ship."""
    zone = read_zone("Europe/London")
    changes = [
        (int(change.at.timestamp()), index)
        for year in range(2020, 2038)
        for index, change in zip((1, 0), zone.rule.changes_in(year), strict=True)
    ]
    raw = compiled("GMT0BST,M3.5.0/1,M10.5.0", changes, [(0, 0, "GMT"), (3600, 1, "BST")])
    assert vtimezone(parse_zone("Europe/London", raw), 2027, 2028) == vtimezone(zone, 2027, 2028)


def test_changes_that_no_rule_foretells_are_listed_for_the_years_asked_for() -> None:
    """An invented island that moves from +01 to +0215 in June 2027, and keeps that."""
    raw = compiled("<+0215>-2:15", [(seconds(2027, 6, 1, 3), 1)], [(3600, 0, "+01"), (8100, 0, "+0215")])
    text = vtimezone(parse_zone("Sea/Island", raw), 2027, 2027)
    zone = ZoneInfo.from_file(io.BytesIO(raw), key="Sea/Island")
    assert "TZOFFSETTO:+0215" in text
    assert "RRULE" not in text
    assert disagreements(text, "Sea/Island", zone, 2027) == []
    later = vtimezone(parse_zone("Sea/Island", raw), 2028, 2028)
    assert "+0100" not in later


def test_a_change_on_the_last_evening_of_the_last_year_is_listed() -> None:
    """An invented coast in the west that changes at 20:00 on 31 December 2027: by UTC, in 2028."""
    raw = compiled("<-06>6", [(seconds(2028, 1, 1, 1), 1)], [(-18_000, 0, "-05"), (-21_600, 0, "-06")])
    text = vtimezone(parse_zone("West/Coast", raw), 2027, 2027)
    evening = datetime(2027, 12, 31, 21, tzinfo=by_dateutil(text, "West/Coast"))
    assert evening.utcoffset() == timedelta(hours=-6)


def test_offsets_with_seconds_keep_them() -> None:
    raw = compiled("<-002640>0:26:40", [], [(-1600, 0, "-002640")])
    assert "TZOFFSETTO:-002640\r\n" in vtimezone(parse_zone("Old/Town", raw), 2027, 2027)


ONSETS = st.one_of(
    # Not before the first week of January: CPython's zoneinfo does not look for an onset in the year before its own.
    st.builds(
        "M{}.{}.{}/{}".format, st.integers(1, 4), st.integers(1, 5), st.integers(0, 6), st.integers(-24, 60)
    ).filter(lambda onset: not (onset.startswith("M1.1.") and "/-" in onset)),
    # Not J59: POSIX calls 28 February that in every year, CPython's zoneinfo takes 29 February in leap years.
    st.builds("J{}/{}".format, st.integers(10, 120).filter(lambda day: day != 59), st.integers(-5, 30)),
)
LATER_ONSETS = st.builds(
    "M{}.{}.{}/{}".format, st.integers(7, 10), st.integers(1, 5), st.integers(0, 6), st.integers(-24, 60)
)


@given(ONSETS, LATER_ONSETS, st.integers(-11, 12), st.booleans(), st.sampled_from([2027, 2028, 2040]))
@examples(60)
def test_any_rule_agrees_with_zoneinfo(first: str, second: str, hours: int, south: bool, year: int) -> None:
    """Also rules that no zone has today: late February, days of the year, two days past midnight."""
    starts, ends = (second, first) if south else (first, second)
    footer = f"<{-hours:+03}>{hours}<{1 - hours:+03}>,{starts},{ends}"
    raw = compiled(footer, [], [(-hours * 3600, 0, f"{-hours:+03}")])
    zone = ZoneInfo.from_file(io.BytesIO(raw), key="Any/Where")
    assert disagreements(vtimezone(parse_zone("Any/Where", raw), year, year), "Any/Where", zone, year) == []


def test_a_day_counted_from_zero_is_read_as_posix_says() -> None:
    """Day 10 is 11 January: glibc agrees (`TZ="AAA0BBB,10/0,M7.1.0/0" date`), Python 3.11's zoneinfo is a day off."""
    rule = parse_rule("AAA0BBB,10/0,M7.1.0/0")
    assert rule.changes_in(2027)[0].at == datetime(2027, 1, 11, tzinfo=UTC)
    leap = parse_rule("AAA0BBB,60/0,J200/0")
    assert leap.changes_in(2028)[0].at == datetime(2028, 3, 1, tzinfo=UTC)
    assert leap.changes_in(2027)[0].at == datetime(2027, 3, 2, tzinfo=UTC)


def test_a_zone_without_a_rule_keeps_its_last_clock() -> None:
    raw = compiled("", [(seconds(2020, 1, 1), 1)], [(0, 0, "OLD"), (3600, 0, "NEW")])
    assert parse_zone("No/Footer", raw).rule.standard == Clock("NEW", 3600)


def test_a_file_that_is_not_a_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="not a compiled one"):
        parse_zone("Europe/London", b"hello")


def test_onsets_of_the_last_week_are_the_last_of_their_month_in_every_year() -> None:
    """28 years hold every leap year and weekday."""
    for year in range(2024, 2052):
        for month in range(1, 13):
            day = WeekdayOnset(month, 5, 0, 3600).in_year(year)
            assert (day.month, day.isoweekday(), day.hour) == (month, 7, 1)
            assert (date(year, month, day.day) + timedelta(days=7)).month != month


def test_a_file_that_still_holds_32_bit_times_is_read_by_its_64_bit_ones() -> None:
    """RFC 8536: a first body for old readers may stand before the one that counts."""
    raw = importlib.resources.files("tzdata").joinpath("zoneinfo", "Europe", "London").read_bytes()
    old = struct.pack(">6l", 0, 0, 0, 2, 1, 4) + bytes(2 * 4 + 2 + 6) + b"GMT\0"
    second = raw.index(b"TZif", 4)
    assert parse_zone("London", raw[:20] + old + raw[second:]) == parse_zone("London", raw)
