"""Solid feeds: grams for a pot by arithmetic, coated feeds by temperature, organic meals against published trials."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedplan.dose.arithmetic import Product
from feedplan.dose.grade import Grade, parse_grade
from feedplan.dose.release import (
    Q10,
    Q10_RANGE,
    QUICK_Q10,
    coated_speed,
    lag_speed,
    organic_speed,
)
from feedplan.engine.feeding.solid_counts import ZERO, gives_mg_per_l
from feedplan.engine.feeding.solid_periods import rate_of
from feedplan.model.collection import Feed
from feedplan.model.forms import FORMS
from feedplan.model.moment import DayOfYear
from feedplan.model.schedule import SolidPeriod
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
    feed = Feed("it", FORMS["organic"], Product(Grade(percent_n, ZERO, ZERO)), released=released)
    period = SolidPeriod("it", DayOfYear(4, 1), DayOfYear(8, 1), 30, n_mg_per_l=n_mg_per_l)
    grams = rate_of(period, feed)[0] * litres
    assert float(grams) == pytest.approx(row["grams"], abs=row["tolerance"])
    assert float(gives_mg_per_l(feed, grams / litres)) == pytest.approx(float(n_mg_per_l))


@pytest.mark.parametrize("row", rows("coated_factors", TABLE))
def test_a_coated_feed_lasts_longer_in_the_cold_by_the_rule_of_thumb(row: dict[str, Any]) -> None:
    factor = 1 / coated_speed(row["temp_c"], row["reference_c"], row["q10"])
    assert factor == pytest.approx(row["factor"], abs=0.001)
    low, high = sorted(1 / coated_speed(row["temp_c"], row["reference_c"], q10) for q10 in Q10_RANGE)
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


def percent_out(days: float, temp_c: float, form: str = "organic") -> float:
    """Share of all the N of an organic feed, mixed in, that is free after some days at a temperature [percent]."""
    row = FORMS[form]
    assert row.curve is not None
    assert row.released is not None
    share = row.curve(1, 1, 21).share(lambda speed: days * speed(temp_c))
    return 100 * float(row.released) * share


@pytest.mark.parametrize("row", rows("organic_weeks", TABLE))
def test_each_kind_of_organic_feed_comes_free_as_in_the_trials(row: dict[str, Any]) -> None:
    low, high = row["percent"]
    for temp_c in row["temps_c"]:
        assert low <= percent_out(7 * row["weeks"], temp_c, row["form"]) <= high


@pytest.mark.parametrize("row", rows("organic_100_days", TABLE))
def test_each_kind_of_organic_feed_lies_in_the_wide_range_of_49_products(row: dict[str, Any]) -> None:
    low, high = row["percent"]
    for temp_c in row["temps_c"]:
        assert low <= percent_out(100, temp_c, row["form"]) <= high


@pytest.mark.parametrize(
    ("form", "percent"),
    [
        ("organic", 66),  # blood meal, 8 weeks at 25 °C: Hartz and Johnstone 2006, abstract read
        ("pellets", 52),  # alfalfa, 12 weeks: Agehara and Warncke 2005, abstract read
        ("cake", 44),  # seed meals, 6 weeks: Li, Schulz and Müller 2014, abstract read
        ("manure", 30),  # 84 days at 23 °C: Lazicki and others 2020, abstract read
        ("compost", 4),  # 100 days: Cabrera, SARE LS16-269, read
    ],
)
def test_of_each_kind_of_organic_feed_the_most_that_came_free_in_its_trials_is_counted(
    form: str, percent: int
) -> None:
    assert FORMS[form].released == Decimal(percent) / 100


@pytest.mark.parametrize("row", rows("organic_missed", TABLE))
def test_what_no_curve_meets_is_known_with_how_far_off_it_is(row: dict[str, Any]) -> None:
    low, high = row["percent"]
    ours = [percent_out(7 * row["weeks"], temp_c, row["form"]) for temp_c in row["temps_c"]]
    off = max(max(low - one, one - high) for one in ours)
    assert off == pytest.approx(row["misses_by"], abs=0.1)


@pytest.mark.parametrize(
    ("form", "regression_percents"),
    [
        ("organic", (22.92, 38.50, 52.99)),
        ("pellets", (14.78, 24.91, 34.95)),
        ("cake", (30.13, 36.76, 39.12)),
        ("manure", (7.85, 13.22, 18.53)),
        ("compost", (0.50, 0.86, 1.42)),
    ],
)
def test_how_each_kind_of_organic_feed_begins_is_as_before(
    form: str, regression_percents: tuple[float, ...]
) -> None:
    """Regression values, after 3, 7 and 28 days at 10 °C: few trials tell the first days."""
    found = [percent_out(days, 10, form) for days in (3, 7, 28)]
    assert found == pytest.approx(regression_percents, abs=0.05)


def test_the_quick_store_speeds_up_with_warmth_as_litter_did() -> None:
    row = rows("litter_speed", TABLE)[0]
    (cold, *_, warm), (slow, *_, fast) = row["temps_c"], row["per_day"]
    q10 = (fast / slow) ** (10 / (warm - cold))
    assert round(q10, 1) == row["q10_low_to_high"] == QUICK_Q10


@pytest.mark.parametrize("form", ["pellets", "cake", "manure", "compost"])
def test_on_the_surface_a_feed_waits_between_the_weeks_that_are_common_practice(form: str) -> None:
    row = rows("surface_lag", TABLE)[0]
    shortest, longest = (FORMS[form].lag_days / lag_speed(temp_c) / 7 for temp_c in row["temps_c"])
    least, most = row["weeks"]
    # Cakes span the whole range between the two temperatures; a printed week is right to half of one.
    assert least - 0.6 <= shortest < longest <= most + 0.2
    assert FORMS["organic"].lag_days == 0  # meal is worked in


def test_the_share_taken_for_meals_is_the_highest_of_the_published_means() -> None:
    means = rows("organic_kinds", TABLE)[0]["percent_8_weeks"]
    assert max(means.values()) == 100 * MEAL_RELEASED
    assert MEAL.usual_days == 8 * 7


def test_what_is_counted_for_pellets_and_meals_is_the_highest_of_the_12_week_trial() -> None:
    # Urea is none: it is a salt of its own (91 to 96 % free) and is dissolved, not laid.
    found = rows("organic_12_weeks", TABLE)[0]["percent"]
    assert 100 * (FORMS["pellets"].released or 0) == found["alfalfa_pellets"][1]
    assert found["blood_meal"][1] <= 100 * MEAL_RELEASED


def test_meals_hardly_come_free_below_ten_degrees() -> None:
    # Common practice, no source: "little below 10 °C".
    assert percent_out(14, 2) < percent_out(14, 10) * 0.65
    assert organic_speed(0) == organic_speed(-5) == 0
    assert percent_out(60, -1) == 0


@given(st.floats(-5, 45), st.floats(-5, 45), st.floats(1.2, 3))
def test_warmer_is_never_slower(one: float, other: float, q10: float) -> None:
    cold, warm = sorted((one, other))
    assert coated_speed(cold, 21, q10) <= coated_speed(warm, 21, q10)
    assert organic_speed(cold) <= organic_speed(warm)
    assert lag_speed(cold) <= lag_speed(warm)


@given(
    st.sampled_from(["organic", "pellets", "cake", "manure", "compost"]),
    st.floats(0, 2000),
    st.floats(0, 2000),
)
def test_what_is_out_never_goes_back_and_never_exceeds_what_is_counted(
    form: str, one: float, other: float
) -> None:
    early, late = sorted((one, other))
    most = 100 * float(FORMS[form].released or 0)
    assert 0 <= percent_out(early, 20, form) <= percent_out(late, 20, form) <= most + 1e-9
