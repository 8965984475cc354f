"""The shipped schedules against the trade's own tables of feeding and watering, whole years at a time.

The tables below are common practice, no source: ranges that growers give each other, dates for lowland gardens near
the sea at 50 to 55 degrees north. Season budgets are judgement.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from itertools import pairwise

import pytest

from feedplan.load.read_words import parse_check_rate, parse_moment
from feedplan.model.moment import stages_named
from tests.schedules.shipped_files import (
    DAY,
    POTS,
    SCHEDULES,
    YEAR,
    checks_per_week,
    days,
    first_day,
    last_day,
    liquid_periods,
    merged_dates,
    number,
    read,
    vocabulary,
)

CALENDARS = tuple(vocabulary().calendars)
OUTDOORS = tuple(name for name in SCHEDULES if name != "indoor-tropical")

# Common practice, no source: days between feeds, ppm N, highest air and lowest root-zone temperature, and the last
# day of feed. An indoor schedule has no gates, because weather outdoors says nothing about a room.
FEEDING_TABLE: dict[str, tuple[range, range, int | None, int | None, date]] = {
    "vigorous": (range(7, 15), range(50, 201), 32, 8, date(YEAR, 9, 30)),
    "refined": (range(14, 29), range(40, 81), 30, 8, date(YEAR, 10, 31)),
    "recovering": (range(21, 29), range(20, 51), 28, 10, date(YEAR, 8, 15)),
    "newly-repotted": (range(10, 29), range(50, 101), 30, 8, date(YEAR, 9, 30)),
    "collected": (range(28, 29), range(20, 41), 28, 10, date(YEAR, 8, 15)),
    "conifer": (range(14, 22), range(50, 126), 30, 6, date(YEAR, 11, 15)),
    "conifer-refined": (range(21, 22), range(40, 81), 30, 6, date(YEAR, 11, 15)),
    "conifer-decandled": (range(14, 15), range(60, 151), 30, 6, date(YEAR, 11, 15)),
    "broadleaf-evergreen": (range(14, 22), range(50, 126), 32, 8, date(YEAR, 9, 15)),
    "ericaceous": (range(14, 22), range(40, 81), 28, 10, date(YEAR, 8, 15)),
    "flowering": (range(14, 15), range(60, 121), 30, 8, date(YEAR, 9, 30)),
    "indoor-tropical": (range(14, 15), range(50, 101), None, None, date(YEAR, 10, 31)),
    "seedlings": (range(7, 8), range(25, 151), 30, 12, date(YEAR, 8, 15)),
    "cuttings": (range(10, 15), range(25, 51), 28, 15, date(YEAR, 8, 15)),
}

# Periods of short days, open only where growth was seen to go on past its usual end, so that a typical year leaves them
# shut. 28 to 42 days or none in low light: common practice, no source.
LOW_LIGHT = {"indoor-tropical": ("low light to midwinter", "low light from midwinter")}
LOW_LIGHT_DAYS = range(28, 43)

# Judgement: nitrogen per litre of pot in one season [mg N/L].
BUDGET_TABLE: dict[str, range] = {
    "vigorous": range(250, 451),
    "refined": range(80, 201),
    "recovering": range(10, 61),
    "collected": range(10, 61),
    "conifer": range(150, 301),
    "conifer-refined": range(80, 301),
    "conifer-decandled": range(150, 301),
    "broadleaf-evergreen": range(150, 301),
}

# Common practice, no source: checks a week by pot, fewest and most, on a day of the stated season.
WATER_TABLE = {
    "winter": (date(YEAR, 1, 15), {"shallow": (2, 2), "medium": (1, 2), "deep": (1, 1), "weak": (1, 1)}),
    "spring": (date(YEAR, 4, 10), {"shallow": (7, 7), "medium": (3, 7), "deep": (2, 7), "weak": (7, 7)}),
    "first flush": (
        date(YEAR, 5, 10),
        {"shallow": (7, 14), "medium": (7, 14), "deep": (3, 7), "weak": (7, 14)},
    ),
    "summer": (date(YEAR, 7, 15), {"shallow": (14, 14), "medium": (7, 14), "deep": (7, 7), "weak": (14, 14)}),
    "autumn": (date(YEAR, 10, 12), {"shallow": (2, 7), "medium": (3, 7), "deep": (2, 7), "weak": (2, 7)}),
}

FEED_SHARE = Decimal("0.1")  # feed poured as a share of the pot's volume: common practice, no source


def periods(schedule: str) -> dict[str, dict[str, str]]:
    return liquid_periods(schedule)


def min_gap(period: dict[str, str]) -> int:
    """The shortest gap allowed: as written, else seven tenths of the interval rounded up."""
    return days(period["min_gap"]) if "min_gap" in period else -(-days(period["every"]) * 7 // 10)


def nitrogen_in_a_season(schedule: str, calendar: str, *, closest: bool, early: int = 0) -> Decimal:
    """All liquid feed of a season, none missed [mg N per litre of pot]. early: days every stage comes early."""
    dates = {stage: day - early * DAY for stage, day in merged_dates(schedule, calendar).items()}
    total, last = Decimal(0), None
    for period in sorted(periods(schedule).values(), key=lambda p: first_day(p["from"], dates)):
        step = min_gap(period) if closest else days(period["every"])
        day = first_day(period["from"], dates)
        if last is not None:
            day = max(day, last + step * DAY)
        while day <= last_day(period["to"], dates):
            total += number(period["strength"]) * FEED_SHARE
            last, day = day, day + step * DAY
    return total


def test_the_tables_speak_of_every_schedule() -> None:
    assert set(FEEDING_TABLE) == set(SCHEDULES)


@pytest.mark.parametrize("schedule", SCHEDULES)
def test_intervals_strengths_gates_and_stop_lie_within_common_practice(schedule: str) -> None:
    every, ppm, air_max, root_min, latest = FEEDING_TABLE[schedule]
    dates = merged_dates(schedule, read(schedule)["stages"])
    for name, period in periods(schedule).items():
        assert days(period["every"]) in (LOW_LIGHT_DAYS if name in LOW_LIGHT.get(schedule, ()) else every)
        assert number(period["strength"]) in ppm
        assert last_day(period["to"], dates) <= latest
        assert (number(period["air_below"]) if "air_below" in period else None) == air_max
        assert (number(period["root_zone_above"]) if "root_zone_above" in period else None) == root_min


@pytest.mark.parametrize("schedule", BUDGET_TABLE)
def test_budgets_lie_within_the_range_for_such_trees(schedule: str) -> None:
    assert number(read(schedule)["budget"]) in BUDGET_TABLE[schedule]


@pytest.mark.parametrize("schedule", SCHEDULES)
def test_a_fully_fed_season_stays_within_the_budget_whatever_kind_of_tree_it_is(schedule: str) -> None:
    for calendar in CALENDARS:
        spent = nitrogen_in_a_season(schedule, calendar, closest=False)
        assert 0 < spent <= number(read(schedule)["budget"]), calendar


@pytest.mark.parametrize("schedule", SCHEDULES)
def test_even_an_early_season_fed_at_the_closest_gap_stays_within_the_budget(schedule: str) -> None:
    for calendar in CALENDARS:
        early = vocabulary().calendars[calendar].spread_days
        spent = nitrogen_in_a_season(schedule, calendar, closest=True, early=early)
        assert spent <= number(read(schedule)["budget"]), calendar


@pytest.mark.parametrize("schedule", SCHEDULES)
def test_every_stage_a_schedule_waits_for_has_a_day_in_its_own_typical_year(schedule: str) -> None:
    known = merged_dates(schedule, read(schedule)["stages"])
    told = [
        stage
        for p in periods(schedule).values()
        for key in ("from", "to")
        for stage in stages_named(parse_moment(p[key]))
    ]
    told += list(read(schedule)["water"])
    told += [rule["release_at"] for rule in read(schedule).get("holds", {}).values() if "release_at" in rule]
    assert [stage for stage in told if stage not in known] == []
    assert [stage for stage in read(schedule).get("look_for", {}) if stage not in vocabulary().words] == []


@pytest.mark.parametrize("schedule", SCHEDULES)
def test_feeding_periods_follow_one_another_without_overlap(schedule: str) -> None:
    for calendar in CALENDARS:
        dates = merged_dates(schedule, calendar)
        told = {
            name: (first_day(p["from"], dates), last_day(p["to"], dates))
            for name, p in periods(schedule).items()
        }
        shut = tuple(name for name, (first, last) in told.items() if first > last)
        assert shut == LOW_LIGHT.get(schedule, ()), calendar
        spans = sorted(span for name, span in told.items() if name not in shut)
        assert all(before[1] < after[0] for before, after in pairwise(spans)), calendar


@pytest.mark.parametrize("schedule", SCHEDULES)
def test_a_period_that_stops_at_a_stage_outdoors_also_stops_on_a_day(schedule: str) -> None:
    """A stage still awaited has no day; without a day beside it, feed would run on to the year's end."""
    for period in periods(schedule).values():
        stop = parse_moment(period["to"])
        if schedule in OUTDOORS and stages_named(stop) and period["to"].count("+") == 0:
            assert any(part[0].isdigit() for part in period["to"].split(" or "))


@pytest.mark.parametrize("schedule", OUTDOORS)
def test_outdoors_no_feed_falls_in_december_january_or_february(schedule: str) -> None:
    for calendar in CALENDARS:
        dates = merged_dates(schedule, calendar)
        for period in periods(schedule).values():
            assert first_day(period["from"], dates) >= date(YEAR, 3, 1), calendar
            assert last_day(period["to"], dates) <= date(YEAR, 11, 30), calendar


@pytest.mark.parametrize("season", WATER_TABLE)
@pytest.mark.parametrize("schedule", OUTDOORS)
def test_water_is_checked_at_least_as_often_as_common_practice_and_at_most_twice_that(
    schedule: str, season: str
) -> None:
    day, table = WATER_TABLE[season]
    rates = checks_per_week(schedule, day, merged_dates(schedule, read(schedule)["stages"]))
    for pot, (fewest, most) in table.items():
        assert fewest <= rates[pot] <= 2 * most, (pot, rates[pot])


@pytest.mark.parametrize("schedule", OUTDOORS)
def test_whatever_stands_under_a_schedule_rests_in_january_and_is_checked_daily_in_july(
    schedule: str,
) -> None:
    for calendar in CALENDARS:
        dates = merged_dates(schedule, calendar)
        winter, summer = (
            checks_per_week(schedule, day, dates) for day in (date(YEAR, 1, 15), date(YEAR, 7, 15))
        )
        assert all(1 <= winter[pot] <= 2 for pot in POTS), calendar
        assert all(summer[pot] >= 7 for pot in POTS), calendar


@pytest.mark.parametrize("schedule", SCHEDULES)
def test_checks_rise_to_midsummer_and_fall_to_winter_without_a_jump(schedule: str) -> None:
    rows = list(read(schedule)["water"].values())
    for pot in POTS:
        rates = [parse_check_rate(row[pot]).per_week for row in rows]
        top = rates.index(max(rates))
        assert rates[: top + 1] == sorted(rates[: top + 1])
        assert rates[top:] == sorted(rates[top:], reverse=True)
        assert all(max(a, b) <= 4 * min(a, b) for a, b in pairwise(rates))


@pytest.mark.parametrize("schedule", SCHEDULES)
def test_a_shallower_pot_is_never_checked_less_and_a_weak_tree_never_less_than_a_deep_pot(
    schedule: str,
) -> None:
    for row in read(schedule)["water"].values():
        shallow, medium, deep, weak = (parse_check_rate(row[pot]).per_week for pot in POTS)
        assert shallow >= medium >= deep
        assert weak >= deep


@pytest.mark.parametrize("schedule", SCHEDULES)
def test_the_water_table_follows_the_year_and_ends_in_rest(schedule: str) -> None:
    dates = merged_dates(schedule, read(schedule)["stages"])
    rows = list(read(schedule)["water"])
    assert rows == sorted(rows, key=dates.__getitem__)
    assert rows[-1] == list(vocabulary().calendars[read(schedule)["stages"]].dates)[-1][0]


@pytest.mark.parametrize("schedule", SCHEDULES)
def test_every_schedule_says_what_its_trees_usually_get_and_bear(schedule: str) -> None:
    """Without them the season's sum stands alone, and a feed far too salty is let through. Judgement."""
    told = read(schedule)
    least, most = (number(told["usual"][end]) for end in ("least", "most"))
    assert least <= number(told["budget"]) <= most
    assert set(told["ceilings"]) == {"ec", "phosphorus", "potassium"}
