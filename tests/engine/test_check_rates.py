"""From thirst to looks: the ladder against practice's worked examples, floors in growth, and no flicker."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise
from math import ceil, inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedplan.engine.water.checks import litres_for_look, weekdays_of
from feedplan.engine.water.thirst import (
    CALM_DAYS,
    DAILY,
    EVERY_2_DAYS,
    EVERY_3_DAYS,
    IN_FULL_LEAF,
    IN_LEAF,
    LADDER,
    MARGIN,
    MOST,
    TWICE_A_DAY,
    TWICE_A_WEEK,
    changes_in,
    heat_step,
    least_step,
    steady_steps,
    step_for,
)
from feedplan.load.read_words import parse_check_rate
from feedplan.model.schedule import CheckRate
from tests.properties import examples

THIRST = st.floats(0.01, 4)


def test_every_rate_is_one_a_grower_can_write_in_a_schedule() -> None:
    for rate in LADDER:
        assert parse_check_rate(rate.name) == rate


@pytest.mark.parametrize(
    ("days", "step"),
    [
        (0, MOST),
        (0.2, MOST),
        (0.34, MOST),
        (0.5, TWICE_A_DAY),  # worked example: 54 mL of 108 mL a day, see test_balance
        (0.97, DAILY),
        (1.5, DAILY),
        (1.92, EVERY_2_DAYS),  # worked example: 0.54 L of 0.28 L a day, "about two days"
        (2.726, EVERY_2_DAYS),  # 0.35 L of 0.1284 L a day, arithmetic worked out apart from this code
        (3.0, EVERY_3_DAYS),
        (6.9, TWICE_A_WEEK),
        (40, TWICE_A_WEEK),
        (inf, TWICE_A_WEEK),
    ],
)
def test_days_of_water_become_looks_a_day_or_days_between(days: float, step: int) -> None:
    assert step_for(1 / days if days else inf) == step


@given(THIRST, THIRST)
def test_a_thirstier_pot_is_never_looked_at_less_and_no_pot_less_than_twice_a_week(
    one: float, other: float
) -> None:
    less, more = sorted((one, other))
    assert step_for(less) <= step_for(more)
    assert 2 <= LADDER[step_for(less)].per_week <= 21


@given(st.floats(0.34, 3.1))
def test_a_pot_is_looked_at_about_as_soon_as_it_has_dried(days: float) -> None:
    """A twentieth late at the most, wherever three looks a day to one in three days can do that."""
    between_looks = 7 / float(LADDER[step_for(1 / days)].per_week)
    assert between_looks <= days * 1.05 + 1e-9


@given(st.floats(0, 1.3), st.booleans(), st.booleans())
def test_shallow_and_weak_pots_are_looked_at_daily_in_growth(leaf: float, shallow: bool, weak: bool) -> None:
    step = least_step(leaf, shallow=shallow, weak=weak)
    if leaf >= IN_LEAF and (shallow or weak):
        assert step >= DAILY
    if leaf >= IN_FULL_LEAF:
        assert step >= (TWICE_A_DAY if weak else DAILY)
    assert step >= TWICE_A_WEEK


@given(st.floats(0, 1.3), st.booleans())
def test_a_weak_tree_is_looked_at_as_often_as_a_strong_one(leaf: float, shallow: bool) -> None:
    assert least_step(leaf, shallow=shallow, weak=True) >= least_step(leaf, shallow=shallow, weak=False)


@given(st.integers(0, 5), st.floats(0, 1.3), st.booleans())
def test_heat_adds_a_look_in_leaf_and_never_takes_one(usual: int, leaf: float, deep: bool) -> None:
    step = heat_step(usual, leaf, deep=deep)
    assert step >= usual
    if leaf >= IN_LEAF:
        assert step == len(LADDER) - 1 or step > usual


# Stretches of days alike, so that thirst stays low long enough for a rate to come down, and to come down again.
YEARS = st.lists(st.tuples(THIRST, st.integers(1, 20)), min_size=1, max_size=12).map(
    lambda stretches: [thirst for thirst, days in stretches for _ in range(days)]
)


@given(YEARS)
def test_no_day_is_looked_at_less_than_its_own_thirst_asks(thirst: list[float]) -> None:
    steps = steady_steps(thirst, [0] * len(thirst))
    assert all(step >= step_for(each) for step, each in zip(steps, thirst, strict=True))


@given(YEARS)
def test_a_rate_that_came_down_stood_for_a_week_before_it_comes_down_again(thirst: list[float]) -> None:
    steps = steady_steps(thirst, [0] * len(thirst))
    falls = [place for place, (a, b) in enumerate(pairwise(steps), start=1) if b < a]
    assert all(later - earlier >= CALM_DAYS for earlier, later in pairwise(falls))


def test_thirst_that_falls_for_weeks_lowers_the_rate_a_week_at_a_time() -> None:
    """From three looks a day to two a week: each rate stands for its calm week, then the next below is taken."""
    by_week = [4, *(thirst for thirst in (1.2, 0.8, 0.4, 0.3, 0.05) for _ in range(CALM_DAYS))]
    steps = steady_steps(by_week, [0] * len(by_week))
    falls = [place for place, (a, b) in enumerate(pairwise(steps), start=1) if b < a]
    assert [later - earlier for earlier, later in pairwise(falls)] == [CALM_DAYS] * 4
    assert [steps[place] for place in falls] == [TWICE_A_DAY, DAILY, EVERY_2_DAYS, EVERY_3_DAYS, TWICE_A_WEEK]


@given(st.floats(0.2, 3), st.lists(st.floats(1, MARGIN), min_size=30, max_size=60))
@examples(50)
def test_thirst_that_wavers_within_the_margin_changes_the_rate_at_most_once(
    base: float, wavers: list[float]
) -> None:
    steps = steady_steps([base * waver for waver in wavers], [0] * len(wavers))
    ups = [place for place, (a, b) in enumerate(pairwise(steps)) if b > a]
    downs = [place for place, (a, b) in enumerate(pairwise(steps)) if b < a]
    assert len(ups) <= 1
    assert downs == []


@given(YEARS, st.integers(0, 5))
def test_floors_hold(thirst: list[float], floor: int) -> None:
    assert min(steady_steps(thirst, [floor] * len(thirst))) >= floor


def test_runs_of_equal_steps_are_found() -> None:
    assert list(changes_in([1, 1, 2, 2, 2, 0])) == [0, 2, 5]


def test_a_look_more_a_week_takes_none_away_and_the_longest_gap_is_as_short_as_it_can_be() -> None:
    """So the days of a round stay while rates change, and no pot waits longer than its rate says (judgement)."""
    fewer: set[int] = set()
    for looks in range(1, 8):
        days = weekdays_of(CheckRate(Decimal(looks), f"{looks} times a week"))
        assert len(days) == len(set(days)) == looks
        assert fewer <= set(days)
        assert max(later - day for day, later in pairwise([*days, days[0] + 7])) == ceil(7 / looks)
        fewer = set(days)


def test_what_a_pot_takes_at_a_look_is_what_it_drinks_from_one_to_the_next() -> None:
    """The basket of test_balance drinks 0.28 L a day."""
    for step, litres in ((TWICE_A_DAY, "0.14"), (DAILY, "0.28"), (TWICE_A_WEEK, "0.98")):
        assert litres_for_look(0.28, LADDER[step]) == pytest.approx(Decimal(litres), abs=Decimal("0.01"))
