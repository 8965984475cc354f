"""How often a tree is looked at: round, why, calendar, page and helper's sheet give one answer, at the times told."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, time, timedelta
from functools import lru_cache
from pathlib import Path

import icalendar
import pytest
import recurring_ical_events

from feedplan.engine.answers.explain import explain
from feedplan.engine.day import day_of
from feedplan.engine.season import Season
from feedplan.engine.water.checks import looks_on, sheet_of
from feedplan.export.entries import calendar_entries
from feedplan.export.entry import Kind
from feedplan.export.helper_sheet import helper_lines
from feedplan.export.round_facts import round_facts
from feedplan.export.round_text import round_lines
from feedplan.export.why_text import why_facts, why_lines
from feedplan.model.collection import Away
from feedplan.server.round_page import round_page
from feedplan.words.outdoors import rate_words
from tests.demo.test_any_span import as_served
from tests.demo.test_demo_collections import DEMO_DAY, NORTH, SOUTH, loaded
from tests.export.samples import SETTINGS, built

DAY = timedelta(days=1)
# Each weekday, hot days ahead, midsummer, autumn, midwinter and spring, and days before the plan's own.
OFFSETS = (-20, -3, *range(11), 30, 75, 121, 150, 211, 260, 300, 333)
DAYS = [(folder, today, today + DAY * n) for folder, today in ((NORTH, DEMO_DAY), (SOUTH, date(2028, 1, 16)))
        for n in OFFSETS]  # fmt: skip

Looks = Mapping[str, list[time]]
"""The times of a day's looks at each tree, in order."""


@lru_cache
def written(folder: Path, today: date) -> icalendar.Calendar:
    """The calendar's water checks, written out and read back."""
    season, collection = as_served(folder, today), loaded(folder).collection
    entries = [entry for entry in calendar_entries(season, collection) if entry.at is not None]
    assert {entry.kind for entry in entries} == {Kind.WATER}
    return icalendar.Calendar.from_ical(built(entries))


def in_calendar(folder: Path, today: date, day: date) -> Looks:
    """The looks of a day as a calendar program shows them."""
    found: dict[str, list[time]] = {}
    for event in recurring_ical_events.of(written(folder, today)).at(day):
        start = event["DTSTART"].dt
        assert start.date() == day
        assert str(start.tzinfo) == SETTINGS.time_zone
        for name in _trees_of(str(event["DESCRIPTION"])):
            found.setdefault(name, []).append(start.time().replace(tzinfo=None))
    return {name: sorted(times) for name, times in found.items()}


def _trees_of(text: str) -> Iterable[str]:
    [line] = [line for line in text.splitlines() if line.startswith("Trees: ")]
    for part in line.removeprefix("Trees: ").removesuffix(".").split(", "):
        yield part.partition(" (")[0]


def in_round(season: Season, folder: Path, day: date) -> Looks:
    """The looks as `round --json` has them, its rates saying the same."""
    facts = round_facts(day_of(season, day), loaded(folder).collection)
    found: dict[str, list[time]] = {}
    for checks in facts["checks"]:
        for bench in checks["benches"]:
            for name in bench["trees"]:
                found.setdefault(name, []).append(time.fromisoformat(checks["at"]))
    assert {each["tree"]: each["looks_today"] for each in facts["rates"] if each["looks_today"]} == {
        name: len(times) for name, times in found.items()
    }
    return found


def on_page(season: Season, folder: Path, day: date) -> Looks:
    """The looks as the page sets them out, by bench."""
    collection = loaded(folder).collection
    page = round_page(season, collection, day)
    found: dict[str, list[time]] = {}
    for _, rows in page.benches:
        for row in (row for row in rows if row.rate):  # others are fed or looked at alone
            times = [time.fromisoformat(at) for at in row.rate.partition(", at ")[2].split(", ")]
            for tree in row.trees:
                assert tree.name not in found, "a tree stands once, at one rate"
                found[tree.name] = times
    return found


def by_why(season: Season, folder: Path, day: date) -> Looks:
    """The looks that the rate told by `why` asks for."""
    collection = loaded(folder).collection
    found = {}
    for tree in collection.trees:
        why = explain(season, tree, day)
        rate = why.watch.rate_on(day) if why.watch is not None else None
        said = [line for line in why_lines(why) if line.startswith("Check water ")]
        if rate is None:
            assert said == []
            continue
        assert why_facts(why)["checks_per_week"] == float(rate.per_week)
        assert len(said) == 1
        assert said[0].startswith(f"Check water {rate_words(rate)}")
        found[tree.name] = list(collection.habits.checks_at[: looks_on(rate, day)])
    return {name: times for name, times in found.items() if times}


def on_sheet(season: Season, day: date) -> Looks:
    """The looks a helper's sheet asks for in an absence that holds the day."""
    sheet = sheet_of(season, Away(day - DAY * 2, day + DAY * 5))
    text = " ".join(" ".join(helper_lines(sheet)).split())
    found: dict[str, list[time]] = {}
    for _, rows in sheet.benches:
        for row in rows:
            if row.falls_on(day):
                for tree in row.trees:
                    at = sheet.checks_at[row.look]
                    assert f"{at:%H:%M}" in text and tree.name in text
                    assert at not in found.get(tree.name, []), "a tree stands once at one time"
                    found.setdefault(tree.name, []).append(at)
    return {name: sorted(times) for name, times in found.items()}


@pytest.mark.parametrize(("folder", "today", "day"), DAYS)
def test_all_give_the_same_looks_at_the_same_times(folder: Path, today: date, day: date) -> None:
    """The faults this keeps out: a class's rate for every pot in it, two rates for one tree, all looks at 07:00."""
    season = as_served(folder, today)
    told = in_round(season, folder, day)
    assert {at for times in told.values() for at in times} <= set(loaded(folder).collection.habits.checks_at)
    assert in_calendar(folder, today, day) == told
    assert on_page(season, folder, day) == told
    assert by_why(season, folder, day) == told
    assert on_sheet(season, day) == told


@pytest.mark.parametrize(("folder", "today", "day"), DAYS[::3])
def test_the_one_line_counts_the_looks_of_that_day(folder: Path, today: date, day: date) -> None:
    found = day_of(as_served(folder, today), day)
    counts = {each.tree.name: each.tree.count for each in found.watched}
    told = in_round(as_served(folder, today), folder, day)
    line = next(iter(round_lines(found, loaded(folder).collection)))
    assert f"check {sum(counts[name] for name in told)}" in line


def test_the_demo_has_looks_at_every_time_and_days_with_few() -> None:
    """Else the tests above would say little: all three times, and a winter day on which nothing is looked at twice."""
    summer, winter = (
        in_round(as_served(NORTH, DEMO_DAY), NORTH, day) for day in (DEMO_DAY, date(2028, 1, 10))
    )
    assert {len(times) for times in summer.values()} == {1, 2, 3}
    assert {len(times) for times in winter.values()} == {1}
    rest = in_round(as_served(NORTH, DEMO_DAY), NORTH, date(2028, 1, 11))
    assert len(rest) < len(winter) / 4
