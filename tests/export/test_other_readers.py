"""What programs that share no code with feedplan read in its calendars."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import ics
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from feedplan.export.entry import CalendarEntry, Kind, Repeat
from feedplan.export.ics import event_uid, first_day, last_day, one_line, plain_text

from .readers import (
    Found,
    Instant,
    ical_js_events,
    needs_ical_js,
    read_with_ical_js,
    read_with_icalendar,
    read_with_vobject,
    tzdata_zone,
    with_own_zone_names,
)
from .samples import ENTRIES, FEED, NASTY_TEXTS, SETTINGS, built, collections_of_entries

Reader = Callable[[bytes, date, date], list[Found]]


def by_icalendar(data: bytes, first: date, last: date) -> list[Found]:
    return read_with_icalendar(with_own_zone_names(data), first, last)


def by_vobject(data: bytes, first: date, last: date) -> list[Found]:
    return read_with_vobject(with_own_zone_names(data))


def by_ical_js(data: bytes, first: date, last: date) -> list[Found]:
    # Zones west of Greenwich have their evenings on the next day of UTC.
    return read_with_ical_js(with_own_zone_names(data), last + timedelta(days=2))


# Each reader goes by the VTIMEZONE of the file: the names of the zones are changed to ones nobody knows.
READERS = pytest.mark.parametrize(
    "read",
    [
        pytest.param(by_icalendar, id="icalendar with recurring-ical-events"),
        pytest.param(by_vobject, id="vobject with dateutil"),
        pytest.param(by_ical_js, id="ical.js", marks=needs_ical_js),
    ],
)
CHANGING = [
    "Europe/London",
    "Europe/Dublin",
    "America/New_York",
    "America/Scoresbysund",
    "Australia/Sydney",
    "Australia/Lord_Howe",
    "Pacific/Auckland",
    "Africa/Cairo",
    "America/Havana",
    "Asia/Gaza",
]
UNCHANGING = ["Asia/Kolkata", "Asia/Tokyo", "America/Phoenix", "UTC"]


def occurrences(entry: CalendarEntry, zone: str) -> tuple[Instant, ...]:
    """Every start of an entry: days counted off one by one, wall-clock times turned to UTC by zoneinfo."""
    repeat = entry.repeat or Repeat(entry.start)
    count = (repeat.until - entry.start).days + 1
    days = [entry.start + timedelta(days=ahead) for ahead in range(count)]
    if repeat.weekdays:
        days = [day for day in days if day.weekday() in repeat.weekdays]
    else:
        days = days[:: repeat.every_days]
    if entry.at is None:
        return tuple(days)
    return tuple(datetime.combine(day, entry.at, tzdata_zone(zone)).astimezone(UTC) for day in days)


def whole_year(year: int, at: time) -> CalendarEntry:
    return CalendarEntry(
        f"water/a/{at}", Kind.WATER, date(year, 1, 1), "Check water", at=at, repeat=Repeat(date(year, 12, 31))
    )


@READERS
@pytest.mark.parametrize("year", [2027, 2040])
@pytest.mark.parametrize("zone", CHANGING + UNCHANGING)
def test_checks_stay_at_their_wall_clock_times_all_year_round(read: Reader, zone: str, year: int) -> None:
    """07:00, noon and 18:30 on every day, so on both sides of both clock changes, before and after 2037."""
    entries = [whole_year(year, at) for at in (time(7), time(12), time(18, 30))]
    data = built(entries, replace(SETTINGS, time_zone=zone))
    found = {event.uid: event.starts for event in read(data, date(year, 1, 1), date(year, 12, 31))}
    for entry in entries:
        assert found[event_uid(SETTINGS.identity, entry.key)] == occurrences(entry, zone)


@READERS
def test_a_calendar_over_several_years_has_the_clock_changes_of_them_all(read: Reader) -> None:
    """In Gaza no rule foretells them yet, so they are listed one by one."""
    entries = [
        CalendarEntry(f"water/{year}", Kind.WATER, date(year, 1, 1), "Check", at=time(7), repeat=repeat)
        for year in (2027, 2030, 2028)
        for repeat in [Repeat(date(year + 1, 6, 30), every_days=9)]
    ]
    data = built(entries, replace(SETTINGS, time_zone="Asia/Gaza"))
    found = {event.uid: event.starts for event in read(data, date(2027, 1, 1), date(2031, 12, 31))}
    for entry in entries:
        assert found[event_uid(SETTINGS.identity, entry.key)] == occurrences(entry, "Asia/Gaza")


def hours_of_change(zone: str, year: int) -> list[datetime]:
    """Wall-clock half hours of the days on which clocks change, those shown once only."""
    found = []
    for ahead in range(364):
        day = datetime(year, 1, 1, tzinfo=tzdata_zone(zone)) + timedelta(days=ahead)
        if day.utcoffset() == (day + timedelta(days=1)).utcoffset():
            continue
        for half_hour in range(52):
            shown = (day.astimezone(UTC) + timedelta(minutes=30 * half_hour + 15)).astimezone(
                tzdata_zone(zone)
            )
            if shown.utcoffset() == shown.replace(fold=1 - shown.fold).utcoffset():
                found.append(shown)
    return found


@READERS
@pytest.mark.parametrize("year", [2027, 2040])
@pytest.mark.parametrize("zone", CHANGING)
def test_single_entries_on_the_days_of_clock_changes_are_at_the_right_instant(
    read: Reader, zone: str, year: int
) -> None:
    moments = hours_of_change(zone, year)
    assert len(moments) > 40 or zone == "America/Havana"
    entries = [
        CalendarEntry(f"note/{n}", Kind.NOTE, moment.date(), "Look", at=moment.time())
        for n, moment in enumerate(moments)
    ]
    data = built(entries, replace(SETTINGS, time_zone=zone))
    found = {event.uid: event.starts for event in read(data, date(year, 1, 1), date(year, 12, 31))}
    for entry, moment in zip(entries, moments, strict=True):
        assert found[event_uid(SETTINGS.identity, entry.key)] == (moment.astimezone(UTC),)


@READERS
def test_every_reader_sees_the_same_entries(read: Reader) -> None:
    data = built(ENTRIES)
    found = {event.uid: event for event in read(data, date(2027, 1, 1), date(2028, 12, 31))}
    for entry in ENTRIES:
        event = found[event_uid(SETTINGS.identity, entry.key)]
        assert event.summary == entry.title
        assert event.description == entry.text
        assert event.categories == (entry.kind.value, *([entry.group] if entry.group else []))
        assert event.starts == occurrences(entry, "Europe/London")
    assert len(found) == len(ENTRIES)


@READERS
def test_odd_names_come_through_as_they_are(read: Reader) -> None:
    entries = [
        replace(FEED, key=f"feed/{n}", title=text, text=f"{text}\n\n{text}", group=text)
        for n, text in enumerate(NASTY_TEXTS)
    ]
    found = {event.uid: event for event in read(built(entries), date(2027, 1, 1), date(2027, 12, 31))}
    for entry in entries:
        event = found[event_uid(SETTINGS.identity, entry.key)]
        assert event.summary == entry.title
        assert event.description == entry.text
        assert event.categories == ("feeding", entry.group)


def data_of(entry: CalendarEntry) -> tuple[object, ...]:
    """What a calendar must carry of an entry."""
    words = (entry.kind.value, *([one_line(entry.group)] if entry.group else []))
    return (
        one_line(entry.title) or entry.kind.value,
        plain_text(entry.text),
        words,
        occurrences(entry, SETTINGS.time_zone),
    )


def window(entries: list[CalendarEntry]) -> tuple[date, date]:
    days = [entry.start for entry in entries] + [last_day(entry) for entry in entries]
    return min(days, default=date(2027, 1, 1)), max(days, default=date(2027, 1, 1))


def is_shown_once(entry: CalendarEntry) -> bool:
    """Whether no occurrence is at a wall-clock time that clocks show twice or not at all."""
    days = [start for start in occurrences(entry, SETTINGS.time_zone) if isinstance(start, datetime)]
    shown = [start.astimezone(tzdata_zone(SETTINGS.time_zone)) for start in days]
    return all(
        moment.replace(tzinfo=None).time() == entry.at
        and moment.utcoffset() == moment.replace(fold=1 - moment.fold).utcoffset()
        for moment in shown
    )


LIMITS = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@given(collections_of_entries().map(lambda entries: [entry for entry in entries if is_shown_once(entry)]))
@LIMITS
def test_a_calendar_read_by_icalendar_gives_the_entries_back(entries: list[CalendarEntry]) -> None:
    found = {event.uid: event for event in by_icalendar(built(entries), *window(entries))}
    assert len(found) == len(entries)
    for entry in entries:
        event = found[event_uid(SETTINGS.identity, entry.key)]
        assert (event.summary, event.description, event.categories, event.starts) == data_of(entry)


@given(collections_of_entries().map(lambda entries: [entry for entry in entries if is_shown_once(entry)]))
@LIMITS
def test_a_calendar_read_by_vobject_gives_the_entries_back(entries: list[CalendarEntry]) -> None:
    found = {event.uid: event for event in by_vobject(built(entries), *window(entries))}
    assert len(found) == len(entries)
    for entry in entries:
        event = found[event_uid(SETTINGS.identity, entry.key)]
        assert (event.summary, event.description, event.categories, event.starts) == data_of(entry)


@needs_ical_js
@given(collections_of_entries().map(lambda entries: [entry for entry in entries if is_shown_once(entry)]))
@settings(LIMITS, max_examples=12)
def test_a_calendar_read_by_ical_js_gives_the_entries_back(entries: list[CalendarEntry]) -> None:
    found = {event.uid: event for event in by_ical_js(built(entries), *window(entries))}
    assert len(found) == len(entries)
    for entry in entries:
        event = found[event_uid(SETTINGS.identity, entry.key)]
        assert (event.summary, event.description, event.categories, event.starts) == data_of(entry)


@given(
    st.lists(
        st.text(
            st.characters(exclude_categories=["Cs", "Cc"], exclude_characters="\\"), min_size=1, max_size=90
        ),
        max_size=4,
    )
)
@LIMITS
def test_the_ics_library_reads_the_same_titles_and_days(titles: list[str]) -> None:
    """Backslashes left out: ics 0.7 reads an escaped one before an "n" as a line break."""
    entries = [replace(FEED, key=f"feed/{n}", title=title) for n, title in enumerate(titles)]
    found = {event.uid: event for event in ics.Calendar(built(entries).decode()).events}
    for entry in entries:
        event = found[event_uid(SETTINGS.identity, entry.key)]
        assert event.name == (one_line(entry.title) or "feeding")
        assert event.all_day
        assert event.begin.date() == FEED.start
        assert event.duration == timedelta(days=1)


def test_the_ics_library_reads_timed_entries_and_alarms() -> None:
    (event,) = ics.Calendar(
        built([replace(FEED, at=time(7), minutes=45)], replace(SETTINGS, alarm_at=time(8))).decode()
    ).events
    assert event.begin.datetime.astimezone(UTC) == datetime(2027, 4, 6, 6, tzinfo=UTC)
    assert event.duration == timedelta(minutes=45)
    assert len(event.alarms) == 1


@READERS
def test_an_empty_calendar_is_read_by_all(read: Reader) -> None:
    assert read(built([]), date(2027, 1, 1), date(2027, 12, 31)) == []


@needs_ical_js
def test_ical_js_sees_lengths_status_and_alarms() -> None:
    hold = replace(FEED, days=3)
    timed = replace(FEED, key="feed/timed", at=time(23, 50), minutes=25)
    data = built([hold, timed], replace(SETTINGS, alarm_at=time(8)))
    by_uid = {event["uid"]: event for event in ical_js_events(data, date(2028, 1, 1))}
    spans = by_uid[event_uid(SETTINGS.identity, FEED.key)]["occurrences"]
    assert spans == [["2027-04-06", "2027-04-09"]]
    event = by_uid[event_uid(SETTINGS.identity, "feed/timed")]
    assert event["occurrences"] == [["2027-04-06T22:50:00.000Z", "2027-04-06T23:15:00.000Z"]]
    assert (event["status"], event["sequence"], event["alarms"]) == ("CONFIRMED", 0, 1)


def test_the_first_day_of_a_weekly_entry_is_one_of_its_days() -> None:
    entry = replace(FEED, start=date(2027, 3, 16), repeat=Repeat(date(2027, 4, 30), weekdays=(0, 3)))
    assert first_day(entry) == occurrences(entry, "UTC")[0] == date(2027, 3, 18)
    assert last_day(entry) == date(2027, 4, 30)
