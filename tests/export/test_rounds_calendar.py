"""The calendar a month can show: how much stands in it, how it reads, and that it stands still."""

from __future__ import annotations

import os
import statistics
from collections import Counter
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from functools import cache
from pathlib import Path

import ics
import pytest

from feedplan.engine.plan import plan_season
from feedplan.engine.season import Season
from feedplan.export.calendars import Entries, all_entries, settings_of
from feedplan.export.entry import CalendarEntry, CalendarName, Kind
from feedplan.export.ledger import Scope
from feedplan.export.publish import calendar_bytes
from feedplan.load.collection import Loaded, load_collection, load_text

from .month import WIDTH, drawn, rows_by_day
from .readers import needs_ical_js, read_lines, read_with_ical_js, read_with_icalendar, read_with_vobject

DEMO = Path(__file__).parents[2] / "demo"
GOLDEN = Path(__file__).parent / "golden"
YEAR = timedelta(days=364)
DAY = timedelta(days=1)

SPECIES = (
    "Japanese larch",
    "hornbeam",
    "Japanese maple",
    "beech",
    "Scots pine",
    "juniper",
    "box",
    "crab apple",
)
SCHEDULES = ("vigorous", "refined", "conifer", "flowering", "recovering", "broadleaf-evergreen")


def large_garden() -> str:
    """A made-up garden of 164 names in six groups, pots from a handful to a tub."""
    groups = "".join(f"  {name}: {{schedule: {name}, feed: powder}}\n" for name in SCHEDULES)
    trees = "".join(
        f"  - {{name: Tree {n}, species: {SPECIES[n % 8]}, group: {SCHEDULES[n % 6]}, pot: {1 + n % 13} L}}\n"
        for n in range(164)
    )
    return (
        "place: {name: Long Acre, latitude: 52.1, time_zone: Europe/London}\nid: long-acre\n"
        "habits: {feed_on: [Wednesday, Saturday]}\n"
        "feeds:\n  powder: {grade: 20-20-20, form: soluble, label_maximum: 2 g per L}\n"
        f"groups:\n{groups}trees:\n{trees}"
    )


@cache
def loaded_of(name: str) -> Loaded:
    return load_text(large_garden(), "", {}) if name == "large" else load_collection(DEMO / name)


@cache
def season_of(name: str, today: date) -> Season:
    loaded = loaded_of(name)
    return plan_season(loaded.collection, loaded.journal, today, climate=loaded.climate)


@cache
def entries_on(name: str, today: date) -> Entries:
    season = season_of(name, today)
    return all_entries(season, season.collection)


def written(
    name: str, today: date, calendar: CalendarName = CalendarName.ROUNDS, span: timedelta = YEAR
) -> bytes:
    """A year from a day on, or another span, as `feedplan calendar --from --to` has it."""
    season = season_of(name, today)
    entries = entries_on(name, today).of(calendar)
    settings = settings_of(calendar, season.collection)
    return calendar_bytes(entries, settings, Scope(today, today + span), today).data


GARDENS = pytest.mark.parametrize(
    ("name", "today"),
    [("northern", date(2027, 6, 5)), ("southern", date(2027, 6, 5)), ("large", date(2027, 1, 1))],
)


@pytest.mark.parametrize(
    ("name", "today", "median", "most_bytes"),
    [
        ("northern", date(2027, 6, 5), 2, 150_000),
        ("southern", date(2027, 6, 5), 3, 150_000),
        ("large", date(2027, 1, 1), 3, 180_000),
    ],
)
def test_a_day_has_few_rows_and_the_year_is_small(
    name: str, today: date, median: int, most_bytes: int
) -> None:
    """Of the contract for the northern demo: median 2 rows a day, 4 on nine days of ten, 5 at most, 150 kB a year.

    Checks twice a day or oftener for half the year make the median of the others 3.
    """
    data = written(name, today)
    rows = sorted(len(day) for day in rows_by_day(data, today, today + YEAR).values())
    assert statistics.median(rows) <= median
    assert rows[len(rows) * 9 // 10] <= 4
    assert rows[-1] <= 5
    assert len(data) <= most_bytes


@GARDENS
def test_a_day_has_one_row_without_a_time_and_one_at_each_time(name: str, today: date) -> None:
    rows = rows_by_day(written(name, today), today, today + YEAR)
    for day, titles in rows.items():
        times = Counter(title[:5] if title[2:3] == ":" else "" for title in titles)
        assert max(times.values(), default=0) <= 1, (day, titles)


@GARDENS
def test_no_look_is_lost_where_rows_are_brought_together(name: str, today: date) -> None:
    """Each look at each tree, counted day by day from the entries of each group and from the rows."""
    season, entries = season_of(name, today), entries_on(name, today)
    rows = [entry for entry in entries.rounds if entry.kind is Kind.WATER]
    days = [today + DAY * n for n in range(0, 365, 7)]
    for day in (day + DAY * (n % 7) for n, day in enumerate(days)):
        for look, at in enumerate(season.collection.habits.checks_at):
            looked = {t.name for s in season.checks if s.look == look and s.falls_on(day) for t in s.trees}
            titles = [entry.title for entry in rows if entry.at == at and falls_on(entry, day)]
            assert len(titles) == bool(looked), (day, at, titles)


def falls_on(entry: CalendarEntry, day: date) -> bool:
    assert entry.repeat is not None
    is_weekday = not entry.repeat.weekdays or day.weekday() in entry.repeat.weekdays
    return entry.start <= day <= entry.repeat.until and is_weekday


def test_the_row_of_a_day_reads_within_the_width_of_its_box() -> None:
    rows = {
        entry.start: entry for entry in entries_on("northern", date(2027, 6, 5)).rounds if entry.at is None
    }
    titles = {day: rows[day].title for day in rows}
    assert titles[date(2027, 6, 5)] == "Feed 67, look at 2, weigh 2"
    assert titles[date(2027, 6, 20)] == "Look at Ghyll, 2 stages?"
    assert titles[date(2027, 9, 25)].endswith("Open garden. Take the labels off the show bench.")
    for title in titles.values():  # nothing that counts is cut in the middle of its number
        assert title[:WIDTH].split(",")[0] == title.split(",")[0] or "?" in title or "." in title, title


def test_a_single_tree_is_named() -> None:
    titles = [entry.title for entry in entries_on("northern", date(2027, 6, 5)).rounds if entry.at is None]
    assert any(title.startswith("Look at Ghyll") for title in titles)
    assert any(title.startswith("Feed ") and not title[5].isdigit() for title in titles)


def test_checks_stand_at_all_their_times() -> None:
    rows = [entry for entry in entries_on("northern", date(2027, 6, 5)).rounds if entry.kind is Kind.WATER]
    assert {entry.at for entry in rows} == {time(7), time(15), time(20)}
    assert {entry.title.split()[0] for entry in rows if entry.at == time(7)} == {"Check"}
    assert all("gain" in entry.title[:11] for entry in rows if entry.at != time(7))


def test_holds_are_one_row_a_day_and_go_on_until_seen() -> None:
    season, today = season_of("northern", date(2027, 6, 5)), date(2027, 6, 5)
    rows = entries_on("northern", today).holds
    days = [row.start + DAY * n for row in rows for n in range(row.days)]
    assert len(days) == len(set(days))
    held = {
        day
        for t in season.timelines
        for h in t.holds
        if not h.by_weather
        for day in shown(season)
        if h.covers(day)
    }
    assert held and held <= set(days)
    assert rows[-1].start + DAY * rows[-1].days > season.end  # one of them is open


def shown(season: Season) -> list[date]:
    return [season.start + DAY * n for n in range((season.end - season.start).days + 1)]


STILL = [
    ("northern", date(2027, 6, 14)),
    ("northern", date(2027, 7, 20)),
    ("northern", date(2027, 12, 10)),
    ("southern", date(2027, 6, 5)),
    ("southern", date(2027, 12, 20)),
    ("large", date(2027, 5, 10)),
]


@pytest.mark.parametrize(("name", "today"), STILL)
def test_a_day_later_with_nothing_new_no_entry_of_any_calendar_has_changed(name: str, today: date) -> None:
    """Not even one byte: neither title, text, days nor end; and none goes but at the edge of the days shown."""
    before = {entry.key: entry for entry in entries_on(name, today).all}
    after = {entry.key: entry for entry in entries_on(name, today + DAY).all}
    assert [key for key in before if key in after and before[key] != after[key]] == []
    edge = season_of(name, today).start
    gone = [entry for key, entry in before.items() if key not in after]
    assert [entry.key for entry in gone if entry.start > edge] == []


@pytest.mark.parametrize("calendar", CalendarName)
def test_every_reader_finds_every_row(calendar: CalendarName) -> None:
    """Those of four months, in which there is every kind of row; one of the readers is slow."""
    today = date(2027, 6, 5)
    data = written("northern", today, calendar, timedelta(days=120))
    assert read_lines(data)
    found = {event.uid for event in read_with_icalendar(data, today, today)}
    assert found
    assert {event.uid for event in read_with_vobject(data)} == found
    assert len(ics.Calendar(data.decode()).events) == len(found)


@needs_ical_js
def test_another_language_reads_the_same_rows_on_the_same_days() -> None:
    today = date(2027, 6, 5)
    data = written("northern", today)
    end = today + timedelta(days=60)

    def days(starts: tuple[date, ...]) -> list[str]:
        inside = (s.date() if isinstance(s, datetime) else s for s in starts)
        return sorted(str(day) for day in inside if today <= day < end)

    one = {event.uid: (event.summary, days(event.starts)) for event in read_with_icalendar(data, today, end)}
    other = {event.uid: (event.summary, days(event.starts)) for event in read_with_ical_js(data, end)}
    assert one == other


def test_calendars_differ_in_name_identity_and_colour() -> None:
    collection = loaded_of("northern").collection
    settings = [settings_of(name, collection) for name in CalendarName]
    settings.append(settings_of(CalendarName.DETAIL, collection, group="conifers"))
    for told in ([s.name for s in settings], [s.uid for s in settings], [s.colour for s in settings]):
        assert len(set(told)) == len(settings)


def test_where_pages_are_known_each_row_links_to_its_day_and_none_names_a_command() -> None:
    today = date(2027, 6, 5)
    collection = loaded_of("northern").collection
    site = "https://trees.example.org/plan/"
    for name in CalendarName:
        settings = settings_of(name, collection, site=site, source=f"{site}{name}.ics")
        entries = entries_on("northern", today).of(name)
        data = calendar_bytes(entries, settings, Scope(today, today + YEAR), today).data
        lines = read_lines(data)
        assert f"SOURCE;VALUE=URI:{site}{name}.ics" in lines
        assert sum(line.startswith(f"URL:{site}") for line in lines) == lines.count("BEGIN:VEVENT")
        assert "feedplan record" not in "\n".join(line for line in lines if "Answer" in line)
    day = next(entry for entry in entries_on("northern", today).rounds if entry.key == "day/2027-06-12")
    assert settings.page_of(day) == f"{site}day-2027-06-12.html"
    assert replace(settings, has_day_pages=False).page_of(day) == site


def test_the_rounds_of_the_southern_demo_are_what_they_were() -> None:
    """A regression value. After a change that is meant: FEEDPLAN_REWRITE_GOLDEN=1, and read the whole difference."""
    path, data = GOLDEN / "rounds" / "southern_demo.ics", written("southern", date(2027, 11, 10))
    if os.environ.get("FEEDPLAN_REWRITE_GOLDEN"):
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(data)
    assert data == path.read_bytes()


def test_a_month_is_drawn_as_it_would_be_shown() -> None:
    month = drawn(written("northern", date(2027, 6, 5)), 2027, 6)
    assert "|Feed 67, look at 2, weigh|" in month
    assert max(map(len, month.splitlines())) == 7 * (WIDTH + 1) + 1
