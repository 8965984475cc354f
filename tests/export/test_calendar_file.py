"""The bytes of a calendar, checked by the letter of RFC 5545 and RFC 7986 without any calendar library."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from datetime import date, time, timedelta

import pytest
from hypothesis import given

from feedplan.errors import UsageError
from feedplan.export.entry import CalendarEntry, Kind, Repeat
from feedplan.export.ics import CALENDAR_COLOURS, KIND_COLOURS, CalendarSettings, event_uid
from tests.properties import examples

from .readers import read_lines
from .samples import ENTRIES, FEED, HOLD, NASTY_TEXTS, SETTINGS, TODAY, WATER, built, collections_of_entries

# Once each in an event (RFC 5545, section 3.6.1), and all of them here.
ALWAYS = (
    "UID",
    "DTSTAMP",
    "LAST-MODIFIED",
    "SEQUENCE",
    "STATUS",
    "DTSTART",
    "SUMMARY",
    "CATEGORIES",
    "TRANSP",
)
# What each needs when its value is not of the property's default type (RFC 5545 and RFC 7986).
FORMS = {
    "DTSTART": r";VALUE=DATE:\d{8}|;TZID=[A-Za-z0-9/_+-]+:\d{8}T\d{6}|:\d{8}T\d{6}Z",
    "DTEND": r";VALUE=DATE:\d{8}",
    "DURATION": r":PT(\d+H)?(\d+M)?",
    "DTSTAMP": r":\d{8}T\d{6}Z",
    "LAST-MODIFIED": r":\d{8}T\d{6}Z",
    "REFRESH-INTERVAL": r";VALUE=DURATION:PT(\d+H)?(\d+M)?",
    "COLOR": r":[a-z]+",
    "SEQUENCE": r":\d+",
    "STATUS": r":(CONFIRMED|CANCELLED)",
    "TRANSP": r":TRANSPARENT",
    "TRIGGER": r":PT(\d+H)?(\d+M)?(0S)?",
}


def events_in(lines: list[str]) -> list[list[str]]:
    """The lines of each VEVENT."""
    starts = [at for at, line in enumerate(lines) if line == "BEGIN:VEVENT"]
    ends = [at for at, line in enumerate(lines) if line == "END:VEVENT"]
    return [lines[start + 1 : end] for start, end in zip(starts, ends, strict=True)]


def value(lines: list[str], name: str) -> str:
    """The one value of a property."""
    (found,) = [line for line in lines if re.match(rf"{name}[;:]", line)]
    return found.partition(":")[2]


def check_calendar(data: bytes) -> list[str]:
    """Everything that holds for every calendar; gives its unfolded lines."""
    lines = read_lines(data)
    assert (lines[0], lines[-1]) == ("BEGIN:VCALENDAR", "END:VCALENDAR")
    assert lines.count("VERSION:2.0") == 1
    assert sum(line.startswith("PRODID:") for line in lines) == 1
    assert not any(line.startswith("METHOD") for line in lines)
    for line in outside_zones(lines):
        name = re.split("[;:]", line, maxsplit=1)[0]
        assert re.fullmatch("[A-Z-]+", name)
        if form := FORMS.get(name):
            assert re.fullmatch(form, line[len(name) :]), line
    check_nesting(lines)
    check_events(lines)
    return lines


def outside_zones(lines: list[str]) -> list[str]:
    """The lines but for those of time zones, whose times are of no zone."""
    first = next((at for at, line in enumerate(lines) if line == "BEGIN:VTIMEZONE"), len(lines))
    ends = [at for at, line in enumerate(lines) if line == "END:VTIMEZONE"]
    return lines[:first] + lines[ends[-1] + 1 :] if ends else lines


def check_nesting(lines: list[str]) -> None:
    open_parts: list[str] = []
    for line in lines:
        if line.startswith("BEGIN:"):
            open_parts.append(line[6:])
        elif line.startswith("END:"):
            assert open_parts.pop() == line[4:]
    assert not open_parts
    assert any(line.startswith("BEGIN:") for line in lines[1:])  # at least one component (section 3.6)


def check_events(lines: list[str]) -> None:
    events = events_in(lines)
    zones = {line[5:] for line in lines if line.startswith("TZID:")}
    used = {line.split("=")[1].split(":")[0] for line in lines if line.startswith("DTSTART;TZID")}
    assert used == zones or not events
    uids = [value(event, "UID") for event in events]
    assert len(set(uids)) == len(uids)
    for event in events:
        own = event[: event.index("BEGIN:VALARM")] if "BEGIN:VALARM" in event else event
        names = Counter(re.split("[;:]", line, maxsplit=1)[0] for line in own)
        assert all(names[name] == 1 for name in ALWAYS)
        assert max(names.values()) == 1
        assert ("DTEND" in names) != ("DURATION" in names)
        check_ends(own)


def check_ends(event: list[str]) -> None:
    """A DATE ends on a later DATE and repeats until a DATE; a date-time lasts and repeats until one in UTC."""
    (start,) = [line for line in event if line.startswith("DTSTART")]
    rule = [line for line in event if line.startswith("RRULE:")]
    is_date = "VALUE=DATE" in start
    if is_date:
        assert value(event, "DTEND") > value(event, "DTSTART")
    for line in rule:
        assert re.search(r";UNTIL=\d{8}$" if is_date else r";UNTIL=\d{8}T\d{6}Z$", line)
        assert "COUNT" not in line


@given(collections_of_entries())
@examples(60)
def test_every_calendar_keeps_to_the_standard(entries: list[CalendarEntry]) -> None:
    lines = check_calendar(built(entries))
    assert len(events_in(lines)) == len(entries)


@pytest.mark.parametrize("zone", ["Europe/London", "America/New_York", "Asia/Kathmandu", "UTC"])
@pytest.mark.parametrize("alarm_at", [None, time(7, 30), time(0)])
def test_calendars_of_every_kind_of_zone_and_alarm_keep_to_the_standard(
    zone: str, alarm_at: time | None
) -> None:
    check_calendar(built(ENTRIES, replace(SETTINGS, time_zone=zone, alarm_at=alarm_at)))


def test_an_all_day_entry_ends_on_the_day_after_its_last() -> None:
    (event,) = events_in(check_calendar(built([HOLD])))
    assert "DTSTART;VALUE=DATE:20270312" in event
    assert "DTEND;VALUE=DATE:20270417" in event  # 36 days: 12 March to 16 April


def test_a_timed_entry_repeats_until_the_end_of_its_last_day_in_utc() -> None:
    (event,) = events_in(check_calendar(built([WATER])))
    assert "DTSTART;TZID=Europe/London:20270320T070000" in event
    assert "DURATION:PT15M" in event
    assert "RRULE:FREQ=DAILY;UNTIL=20270410T225959Z" in event  # summer time: an hour ahead of UTC


def test_timed_entries_of_a_collection_in_utc_need_no_zone() -> None:
    lines = check_calendar(built([WATER], replace(SETTINGS, time_zone="Etc/UTC")))
    (event,) = events_in(lines)
    assert "DTSTART:20270320T070000Z" in event
    assert "RRULE:FREQ=DAILY;UNTIL=20270410T235959Z" in event
    assert "BEGIN:VTIMEZONE" not in lines
    assert not any(line.startswith("X-WR-TIMEZONE") for line in lines)


def test_a_calendar_of_all_day_entries_carries_no_zone() -> None:
    lines = check_calendar(built([FEED, HOLD]))
    assert "BEGIN:VTIMEZONE" not in lines
    assert not any("TIMEZONE" in line for line in lines)


def test_an_empty_calendar_still_has_the_one_component_that_rfc_5545_wants() -> None:
    lines = check_calendar(built([]))
    assert lines.count("BEGIN:VTIMEZONE") == 1
    assert events_in(lines) == []


def test_weekly_entries_start_on_the_first_of_their_weekdays() -> None:
    """Else the recurrence set is undefined (RFC 5545, section 3.8.5.3)."""
    saturdays = CalendarEntry(
        "water/a/1", Kind.WATER, date(2027, 3, 16), "Check", repeat=Repeat(date(2027, 4, 30), weekdays=(5, 2))
    )
    (event,) = events_in(check_calendar(built([saturdays])))
    assert "DTSTART;VALUE=DATE:20270317" in event  # a Wednesday
    assert "RRULE:FREQ=WEEKLY;BYDAY=WE,SA;UNTIL=20270430" in event


def test_a_stretch_too_short_for_its_weekdays_is_one_check_on_its_first_day() -> None:
    short = CalendarEntry(
        "water/a/1", Kind.WATER, date(2027, 3, 16), "Check", repeat=Repeat(date(2027, 3, 17), weekdays=(6,))
    )
    (event,) = events_in(check_calendar(built([short])))
    assert value(event, "DTSTART") == "20270316"


@pytest.mark.parametrize("every", [1, 2, 10])
def test_an_interval_is_written_only_where_it_is_not_one(every: int) -> None:
    entry = replace(FEED, repeat=Repeat(date(2027, 6, 1), every_days=every))
    (event,) = events_in(check_calendar(built([entry])))
    assert ("INTERVAL" in value(event, "RRULE")) == (every > 1)


def test_alarms_are_only_there_when_asked_for() -> None:
    assert "BEGIN:VALARM" not in check_calendar(built(ENTRIES))
    lines = check_calendar(built(ENTRIES, replace(SETTINGS, alarm_at=time(8, 15))))
    triggers = Counter(line for line in lines if line.startswith("TRIGGER"))
    assert triggers == {"TRIGGER:PT8H15M": 3, "TRIGGER:PT0S": 2}  # not the hold
    assert lines.count("ACTION:DISPLAY") == 5


def test_the_calendar_says_what_it_is_in_standard_and_in_older_properties() -> None:
    settings_ = CalendarSettings(
        "x", "Trees, mine; all\nof \\them", "Europe/London", "Fed\nand watered", refresh=timedelta(minutes=90)
    )
    lines = check_calendar(built([FEED], settings_))
    assert r"NAME:Trees\, mine\; all of \\them" in lines
    assert r"X-WR-CALNAME:Trees\, mine\; all of \\them" in lines
    assert r"DESCRIPTION:Fed\nand watered" in lines
    assert r"X-WR-CALDESC:Fed\nand watered" in lines
    assert "REFRESH-INTERVAL;VALUE=DURATION:PT1H30M" in lines
    assert "X-PUBLISHED-TTL:PT1H30M" in lines


def test_a_refresh_is_every_six_hours_unless_said() -> None:
    assert "REFRESH-INTERVAL;VALUE=DURATION:PT6H" in read_lines(built([FEED]))


def test_kind_and_group_are_categories_and_each_kind_has_its_colour() -> None:
    for kind in Kind:
        (event,) = events_in(check_calendar(built([replace(FEED, kind=kind, group="maples, old")])))
        assert value(event, "CATEGORIES") == rf"{kind.value},maples\, old"
        assert value(event, "COLOR") == KIND_COLOURS[kind]


def test_uids_show_nothing_of_the_collection_and_never_change() -> None:
    """A regression value: a changed UID would leave every published event twice in calendars."""
    uid = event_uid("mill-yard", "feed/growing-on/2027/3")
    assert uid == "60d244fa-ece3-5b12-a17c-f9d5dd1ea932"
    assert event_uid("mill-yard", "feed/growing-on/2027/4") != uid
    assert event_uid("other-yard", "feed/growing-on/2027/3") != uid


def test_a_moved_and_renamed_entry_keeps_its_uid() -> None:
    moved = replace(FEED, start=FEED.start + timedelta(days=9), title="Feed: 3 g in 5 L", text="", at=time(7))
    (before,), (after,) = (events_in(read_lines(built([entry]))) for entry in (FEED, moved))
    assert value(before, "UID") == value(after, "UID")


def test_the_order_of_entries_does_not_matter() -> None:
    same_day = [replace(entry, key=f"{entry.key}/b") for entry in ENTRIES]
    assert built([*ENTRIES, *same_day]) == built([*reversed(same_day), *reversed(ENTRIES)])


@pytest.mark.parametrize("name", NASTY_TEXTS)
def test_a_name_cannot_break_out_of_its_line(name: str) -> None:
    lines = check_calendar(
        built([replace(FEED, title=name, text=name, group=name)], replace(SETTINGS, name=name))
    )
    assert len(events_in(lines)) == 1


def test_a_title_of_nothing_but_control_characters_falls_back_on_its_kind() -> None:
    (event,) = events_in(check_calendar(built([replace(FEED, title="\x07\n")])))
    assert value(event, "SUMMARY") == "feeding"


def test_two_entries_of_one_key_are_a_fault() -> None:
    with pytest.raises(ValueError, match="two calendar entries have the key 'feed/growing-on/2027/3'"):
        built([FEED, replace(FEED, title="another")])


def test_an_unknown_colour_is_refused_with_those_there_are() -> None:
    with pytest.raises(UsageError, match="unknown calendar colour '#fff'; write one of darkcyan, "):
        built([FEED], replace(SETTINGS, colour="#fff"))


def test_colours_are_those_of_css() -> None:
    """Against the CSS3 table that pydantic carries (its names and values are the W3C's)."""
    from pydantic.color import COLORS_BY_NAME

    for name, hex_value in CALENDAR_COLOURS.items():
        red, green, blue = COLORS_BY_NAME[name]
        assert hex_value == f"#{red:02X}{green:02X}{blue:02X}"
    assert set(KIND_COLOURS.values()) <= set(COLORS_BY_NAME)


def test_today_is_the_stamp_of_what_is_new() -> None:
    (event,) = events_in(read_lines(built([FEED])))
    assert value(event, "DTSTAMP") == value(event, "LAST-MODIFIED") == f"{TODAY:%Y%m%d}T000000Z"
    assert value(event, "SEQUENCE") == "0"
