"""Planning keeps nothing between calls: other plans before it, in any order and with any horizon, change no plan."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from datetime import date, timedelta
from functools import lru_cache

import pytest

from feedplan.engine.answers.explain import explain
from feedplan.engine.plan import plan_season
from feedplan.engine.season import Season
from feedplan.export.entries import calendar_entries
from feedplan.load import Loaded
from feedplan.model.course import Status
from tests.demo.test_demo_collections import DEMO_DAY, NORTH, SOUTH, loaded
from tests.engine.test_checks_by_weather import TODAY as SUMMER
from tests.engine.test_checks_by_weather import daily
from tests.engine.test_checks_by_weather import loaded as small

DAY = timedelta(days=1)
Planned = Callable[[], Season]


def planning(of: Loaded, today: date, back: int, ahead: int) -> Season:
    """A plan from freshly planned parts; the same climate object is handed in each time."""
    return plan_season(
        of.collection, of.journal, today, today - DAY * back, today + DAY * ahead, climate=of.climate
    )


@lru_cache
def two_places() -> tuple[Loaded, Loaded]:
    """One collection in a hot July, one in a cool one: all but their weather is the same."""
    hot = small(daily=daily(SUMMER - 10 * DAY, {12: (17.0, 33.0), 13: (17.0, 33.0)}))
    cool = small(daily=daily(SUMMER - 10 * DAY, dict.fromkeys(range(20), (6.0, 11.0))))
    return hot, cool


def plans() -> dict[str, Planned]:
    hot, cool = two_places()
    return {
        "hot, far": lambda: planning(hot, SUMMER, 60, 800),
        "hot, near": lambda: planning(hot, SUMMER, 0, 1),
        "hot, next day": lambda: planning(hot, SUMMER + DAY, 60, 400),
        "cool": lambda: planning(cool, SUMMER, 60, 400),
    }


def told(season: Season) -> object:
    """All that a season says of its trees."""
    entries = calendar_entries(season, season.collection)
    whys = [explain(season, tree, season.today) for tree in season.collection.trees]
    return entries, [(why.reasons, why.feed, why.watch, why.water) for why in whys]


@pytest.mark.parametrize("order", list(itertools.permutations(range(4)))[::5])
def test_plans_in_any_order_are_the_plans_made_alone(order: tuple[int, ...]) -> None:
    """The fault this keeps out: the same call gave 1150 feeds fresh and 380 after one with a short horizon."""
    made = plans()
    alone = {name: told(plan()) for name, plan in made.items()}
    names = [list(made)[place] for place in order]
    again = {name: told(made[name]()) for name in names}
    assert again == alone


def test_a_plan_reaches_from_the_month_of_30_days_back_to_that_of_400_ahead_as_the_help_says() -> None:
    of = two_places()[0]
    season = plan_season(of.collection, of.journal, SUMMER, climate=of.climate)
    back, ahead = SUMMER - 30 * DAY, SUMMER + 400 * DAY
    assert (season.start.year, season.start.month, season.start.day) == (back.year, back.month, 1)
    assert (season.end.year, season.end.month) == (ahead.year, ahead.month)
    assert (season.end + DAY).day == 1


def test_a_short_plan_first_takes_nothing_from_a_long_one() -> None:
    found = loaded(NORTH)
    fresh = planning(found, DEMO_DAY, 30, 400)
    planning(found, DEMO_DAY, 0, 0)
    after = planning(found, DEMO_DAY, 30, 400)
    assert after == fresh
    assert sum(len(timeline.feeds) for timeline in after.timelines) > 300


@pytest.mark.parametrize(("folder", "today"), [(NORTH, DEMO_DAY), (SOUTH, date(2028, 1, 16))])
def test_asking_why_changes_no_plan(folder: object, today: date) -> None:
    found = loaded(NORTH if folder == NORTH else SOUTH)
    season = planning(found, today, 30, 200)
    before = told(season)
    for tree in found.collection.trees:
        explain(season, tree, today + DAY * 20)
    assert told(season) == before
    assert planning(found, today, 30, 200) == season


@pytest.mark.parametrize("ahead", [0, 30, 199, 201, 365, 800])
def test_a_longer_plan_holds_the_feeds_of_a_shorter_one_and_more(ahead: int) -> None:
    found = loaded(SOUTH)
    today = date(2028, 3, 20)
    near, far = planning(found, today, 30, ahead), planning(found, today, 30, 1200)
    for one, other in zip(near.timelines, far.timelines, strict=True):
        last = today + DAY * ahead
        upto = [f for f in one.feeds if f.day <= last]
        assert upto == [f for f in other.feeds if f.day <= last]
        assert one.lineage == other.lineage
    feeds = [f for timeline in far.timelines for f in timeline.feeds if f.status is Status.OVERDUE]
    assert feeds  # such a day is among them, on which the next feed lies beyond the season
