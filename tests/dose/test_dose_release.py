"""Solid feeds: grams for a pot by arithmetic, coated feeds by temperature, organic meals against published trials."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedplan.dose.arithmetic import Product
from feedplan.dose.grade import parse_grade
from feedplan.dose.release import (
    Q10,
    Q10_RANGE,
    coated_days,
    coated_speed,
    grams_for_pot,
    organic_share,
    organic_speed,
)
from feedplan.model.collection import Feed
from feedplan.model.forms import FORMS
from tests.dose.published import rows

TABLE = "published_solids.yaml"
MEAL = FORMS["organic"]
assert MEAL.released is not None
MEAL_RELEASED = MEAL.released


@pytest.mark.parametrize("row", rows("grams_per_pot", TABLE))
def test_grams_for_a_pot_are_as_worked_out_by_hand(row: dict[str, Any]) -> None:
    n_mg_per_l, litres, percent_n, released = (
        Decimal(str(row[key])) for key in ("n_mg_per_l", "litres", "percent_n", "released")
    )
    grams = grams_for_pot(n_mg_per_l, litres, percent_n, released)
    assert float(grams) == pytest.approx(row["grams"], abs=row["tolerance"])
    assert grams * 10 * percent_n * released / litres == n_mg_per_l


def test_a_feed_without_nitrogen_sets_no_grams() -> None:
    with pytest.raises(ValueError, match="gives no nitrogen sets no dose"):
        grams_for_pot(Decimal(150), Decimal(2), Decimal(0))


@pytest.mark.parametrize("row", rows("coated_factors", TABLE))
def test_a_coated_feed_lasts_longer_in_the_cold_by_the_rule_of_thumb(row: dict[str, Any]) -> None:
    factor = coated_days(1, row["temp_c"], row["reference_c"], row["q10"])
    assert factor == pytest.approx(row["factor"], abs=0.001)
    low, high = sorted(coated_days(1, row["temp_c"], row["reference_c"], q10) for q10 in Q10_RANGE)
    assert low == pytest.approx(row["factor"], rel=row["spread"])
    assert high == pytest.approx(row["factor"], rel=row["spread"])


def test_the_range_taken_for_coatings_is_what_label_tables_imply() -> None:
    implied = [row["q10"] for row in rows("coated_label_tables", TABLE)]
    assert Q10_RANGE[0] <= min(implied) + 0.01
    assert Q10_RANGE[1] >= max(implied) - 0.06
    assert Q10_RANGE[0] < Q10 < Q10_RANGE[1]


def test_a_very_wide_published_span_gives_a_speed_up_inside_or_near_that_range() -> None:
    # Wang and others 2011: 63.6 to 70.8 % of the N out in 220 d at 25 °C, all of it in 168 to 216 h at 100 °C. Partial
    # against full release, so only roughly comparable: taken as an even release.
    row = rows("coated_wide_span", TABLE)[0]
    days_for_all = row["days"] / (sum(row["percent"]) / 200)
    hours = sum(row["hours_at_100_c"]) / 2
    q10 = (days_for_all * 24 / hours) ** (10 / 75)
    assert Q10_RANGE[0] - 0.1 < q10 < Q10_RANGE[1]


def test_labels_mean_21_degrees_unless_they_say_otherwise() -> None:
    row = rows("label_temperature", TABLE)[0]
    coated = Feed("coated", FORMS["coated"], Product(parse_grade("16-8-12")), longevity_days=150)
    assert float(coated.longevity_c) == pytest.approx(row["usual_c"], abs=row["tolerance"])


def percent_out(days: float, temp_c: float) -> float:
    return 100 * float(MEAL_RELEASED) * organic_share(days * organic_speed(temp_c))


@pytest.mark.parametrize("row", rows("organic_weeks", TABLE))
def test_organic_meals_come_free_as_in_the_trials(row: dict[str, Any]) -> None:
    low, high = row["percent"]
    for temp_c in row["temps_c"]:
        ours = percent_out(7 * row["weeks"], temp_c)
        assert low - row["tolerance"] <= ours <= high + row["tolerance"]


def test_the_share_taken_for_meals_is_the_highest_of_the_published_means() -> None:
    means = rows("organic_kinds", TABLE)[0]["percent_8_weeks"]
    assert max(means.values()) == 100 * MEAL_RELEASED
    assert MEAL.usual_days == 8 * 7
    assert all(high <= 100 for _, high in rows("organic_12_weeks", TABLE)[0]["percent"].values())


def test_what_is_counted_for_meals_covers_every_animal_or_plant_feed_of_the_12_week_trial() -> None:
    # Urea is none: it is a salt of its own (91 to 96 % free) and is dissolved, not laid.
    for kind, (_, high) in rows("organic_12_weeks", TABLE)[0]["percent"].items():
        if kind != "urea":
            assert high <= 100 * MEAL_RELEASED


def test_meals_hardly_come_free_below_ten_degrees() -> None:
    # Common practice, no source: "little below 10 °C".
    assert percent_out(14, 2) < percent_out(14, 10) * 0.65
    assert organic_speed(0) == organic_speed(-5) == 0
    assert percent_out(60, -1) == 0


def test_temperature_changes_the_speed_of_meals_more_than_what_they_give_in_the_end() -> None:
    # Hartz and Johnstone 2006: 56 against 66 % after 8 weeks, a factor of 1.18 for 15 °C.
    assert percent_out(56, 25) / percent_out(56, 10) < 1.3
    assert organic_speed(25) / organic_speed(10) > 3


@given(st.floats(-5, 45), st.floats(-5, 45), st.floats(1.2, 3))
def test_warmer_is_never_slower(one: float, other: float, q10: float) -> None:
    cold, warm = sorted((one, other))
    assert coated_speed(cold, 21, q10) <= coated_speed(warm, 21, q10)
    assert organic_speed(cold) <= organic_speed(warm)


@given(st.floats(0, 2000), st.floats(0, 2000))
def test_what_is_out_never_goes_back_and_never_exceeds_all(one: float, other: float) -> None:
    early, late = sorted((one, other))
    assert 0 <= organic_share(early) <= organic_share(late) <= 1
