"""The demo's climate files and what they make of a year of water checks.

What a grower does is common practice, no source: a look twice a week in winter, one to three a day in July by pot.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest

from feedplan.engine.day import day_of
from feedplan.engine.outdoors.daily_et import site_of, summarise
from feedplan.engine.season import Season
from feedplan.export.entries import calendar_entries
from feedplan.load import Loaded
from feedplan.model.climate import Standing
from feedplan.model.collection import PotClass
from feedplan.model.reason import HeavyRain
from feedplan.words.reasons import fact_words
from tests.demo.test_any_span import as_served
from tests.demo.test_demo_collections import DEMO_DAY, NORTH, SOUTH, loaded
from tests.looks import looked_at

SUMMER_DAY = date(2028, 1, 16)
DAY = timedelta(days=1)


def season_of(folder: str, today: date) -> tuple[Season, Loaded]:
    where = NORTH if folder == "north" else SOUTH
    return as_served(where, today), loaded(where)


def rates_on(season: Season, day: date, pot_class: PotClass) -> set[Decimal]:
    """Rates of a day for one class of pot, outdoors and not under a hold."""
    return {
        rate.per_week
        for watch in season.watches
        for tree in watch.trees
        if tree.pot.pot_class is pot_class
        and (rate := watch.rate_on(day)) is not None
        and not watch.timeline.must_dry_on(day)
        and not watch.timeline.care.bench_on(tree, day).indoors
    }


@pytest.mark.parametrize(
    ("folder", "today", "winter"),
    [("north", DEMO_DAY, date(2028, 1, 15)), ("south", SUMMER_DAY, date(2028, 7, 15))],
)
def test_in_winter_all_pots_are_looked_at_twice_a_week(folder: str, today: date, winter: date) -> None:
    season, _ = season_of(folder, today)
    assert {rate for kind in PotClass for rate in rates_on(season, winter, kind)} == {2}


@pytest.mark.parametrize(
    ("folder", "today", "summer"), [("north", DEMO_DAY, date(2027, 7, 15)), ("south", SUMMER_DAY, SUMMER_DAY)]
)
def test_in_high_summer_pots_are_looked_at_one_to_three_times_a_day(
    folder: str, today: date, summer: date
) -> None:
    season, _ = season_of(folder, today)
    rates = {kind: rates_on(season, summer, kind) for kind in PotClass}
    assert all(7 <= rate <= 21 for found in rates.values() for rate in found)
    assert max(rates[PotClass.SHALLOW]) > min(rates[PotClass.DEEP])


def test_the_northern_record_is_a_year_with_three_lost_days_and_ten_to_come() -> None:
    """As its header says; counted in the file by hand."""
    found = loaded(NORTH)
    assert found.climate is not None
    summary = summarise(found.climate.as_of(DEMO_DAY), site_of(found.collection.place))
    assert (summary.first, summary.last) == (date(2026, 6, 1), date(2027, 6, 4))
    assert [(gap.first, gap.days) for gap in summary.gaps] == [(date(2026, 11, 14), 3)]
    assert summary.forecast_to == date(2027, 6, 15)


def test_the_year_s_evaporation_is_that_of_such_a_place() -> None:
    """Lowland Britain evaporates about 500 to 600 mm a year, a third of it in June and July: from memory, unchecked."""
    found = loaded(NORTH)
    assert found.climate is not None
    summary = summarise(found.climate.as_of(DEMO_DAY), site_of(found.collection.place))
    months = [value for value in summary.et0_of_normals if value is not None]
    assert 480 <= sum(months) * 365 / 12 <= 620
    assert 0.28 <= sum(months[5:7]) / sum(months) <= 0.38


def test_the_hot_week_end_ahead_is_told_with_its_day() -> None:
    season, _ = season_of("north", DEMO_DAY)
    rises = [c for c in season.checks if c.rise is not None]
    assert {fact_words(c.rise.cause, DEMO_DAY) for c in rises if c.rise is not None} == {"30 °C on 13 Jun"}
    assert all(date(2027, 6, 8) <= c.start and c.end <= date(2027, 6, 15) for c in rises)


def test_rain_on_a_wednesday_puts_its_feeds_off_and_takes_no_check_away() -> None:
    season, found = season_of("north", DEMO_DAY)
    wet = date(2027, 6, 9)
    put_off = [
        dropped
        for timeline in season.timelines
        for dropped in timeline.dropped
        if any(reason.fact == HeavyRain(14, Standing.FORECAST) for reason in dropped.reasons)
    ]
    assert put_off
    covered = {"lean-to", "cold frame", "indoors"}
    groups = found.collection.groups
    assert all(groups[dropped.group].bench not in covered for dropped in put_off)
    checked = {each.tree.name for each in day_of(season, wet).watched}
    here = {tree.name for timeline in season.timelines if timeline.here(wet) for tree in timeline.trees}
    assert checked == here
    assert looked_at(season, wet) >= here


def test_the_windowsill_keeps_to_its_table() -> None:
    season, _ = season_of("north", DEMO_DAY)
    assert all(c.litres is None for c in season.checks if c.group == "windowsill")


@pytest.mark.parametrize(("folder", "today"), [("north", DEMO_DAY), ("south", SUMMER_DAY)])
def test_every_week_every_tree_is_looked_at(folder: str, today: date) -> None:
    season, _ = season_of(folder, today)
    for offset in range(0, 360, 17):
        day = today + DAY * offset
        checked = looked_at(season, day)
        here = {tree.name for timeline in season.timelines if timeline.here(day) for tree in timeline.trees}
        assert checked >= here


@pytest.mark.parametrize(("folder", "today"), [("north", DEMO_DAY), ("south", SUMMER_DAY)])
def test_keys_of_the_calendar_are_unique(folder: str, today: date) -> None:
    season, found = season_of(folder, today)
    keys = [entry.key for entry in calendar_entries(season, found.collection)]
    assert len(keys) == len(set(keys))
