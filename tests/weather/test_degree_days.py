"""Degree days and hours of cold against published tables, numerical integrals and the shipped tables of R packages.

The sources stand beside their tables; tolerances are the printed digits.
"""

from math import pi, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedplan.weather.meteorology import hours_below, sine_degree_days

# McMaster and Wilhelm 1997, Agric. For. Meteorol. 87:291-300, Table 1, as shipped in the tests of the R package
# degday: tmax, tmin [°C]; degree days above 0 °C. The rows whose day lies wholly above or below the base: there the
# two readings of the simple average and the area under any curve agree.
MCMASTER_WILHELM_TABLE_1 = [
    (20, 10, 15),
    (10, 1, 5.5),
    (6, 0, 3),
    (10, 5, 7.5),
    (-2, -7, 0),
    (-5, -10, 0),
    (15, 2, 8.5),
]
# The rows whose day crosses the base: degree days by the mean of the day, and by extremes first raised to the base. The
# sine lies between the two.
MCMASTER_WILHELM_ACROSS_THE_BASE = [(8, -2, 3, 4), (5, -5, 0, 2.5), (10, -2, 4, 5)]

# Zalom et al. 1983, Table 7, as shipped in the tests of the R package degday: tmin, tmax [°F]; degree days between
# 55 and 90 °F, horizontal cutoff, by single sine. All six ways a day can lie to the thresholds.
ZALOM_TABLE_7 = [
    (96, 110, 35.0),
    (91, 105, 35.0),
    (45, 54, 0.0),
    (38, 50, 0.0),
    (60, 80, 15.0),
    (75, 88, 26.5),
    (50, 82, 11.85),
    (45, 70, 5.31),
    (60, 100, 22.82),
    (75, 95, 28.91),
    (50, 101, 18.95),
    (48, 95, 16.96),
]

# R package TrenchR, test of its degree-day functions: tmin, tmax [°C]; single sine between 12 and 33 °C.
# Its (35, 40) is left out: the file gives 5 where a horizontal cutoff, and its own double sine, give 21.
TRENCHR = [(7, 14, 0.47), (7, 10, 0.0), (13, 14, 1.5), (13, 40, 12.94), (7, 40, 10.94)]


@pytest.mark.parametrize(("tmax", "tmin", "published"), MCMASTER_WILHELM_TABLE_1)
def test_days_on_one_side_of_the_base_are_those_of_mcmaster_and_wilhelm(
    tmax: float, tmin: float, published: float
) -> None:
    assert sine_degree_days(tmin, tmax, 0) == pytest.approx(published, abs=0.001)


@pytest.mark.parametrize(("tmax", "tmin", "least", "most"), MCMASTER_WILHELM_ACROSS_THE_BASE)
def test_days_across_the_base_lie_between_both_readings_of_the_simple_average(
    tmax: float, tmin: float, least: float, most: float
) -> None:
    assert least < sine_degree_days(tmin, tmax, 0) < most


@pytest.mark.parametrize(("tmin", "tmax", "sine"), ZALOM_TABLE_7)
def test_the_sine_is_that_of_zalom_table_7(tmin: float, tmax: float, sine: float) -> None:
    assert sine_degree_days(tmin, tmax, 55, 90) == pytest.approx(sine, abs=0.006)


@pytest.mark.parametrize(("tmin", "tmax", "published"), TRENCHR)
def test_sine_in_celsius_is_that_of_trenchr(tmin: float, tmax: float, published: float) -> None:
    assert sine_degree_days(tmin, tmax, 12, 33) == pytest.approx(published, abs=0.006)


@given(st.floats(-20, 30), st.floats(0.1, 25), st.floats(-5, 20), st.floats(1, 20))
def test_sine_is_the_integral_of_the_clipped_sine(
    tmin: float, spread: float, lower: float, above: float
) -> None:
    tmax, upper = tmin + spread, lower + above

    def clipped(turn: float) -> float:
        return max(lower, min(upper, tmin + spread / 2 * (1 + sin(turn)))) - lower

    steps = 20_000
    area = sum(clipped(-pi / 2 + pi * (step + 0.5) / steps) for step in range(steps)) / steps
    assert sine_degree_days(tmin, tmax, lower, upper) == pytest.approx(area, abs=1e-4)


@given(st.floats(-20, 30), st.floats(0, 25), st.floats(-5, 15))
def test_the_sine_counts_at_least_what_the_mean_is_above_the_base_and_just_that_on_warm_days(
    tmin: float, spread: float, base: float
) -> None:
    sine, above = sine_degree_days(tmin, tmin + spread, base), tmin + spread / 2 - base
    assert sine >= max(0.0, above) - 1e-9
    if tmin >= base:
        assert sine == pytest.approx(above)


def test_a_day_known_by_its_mean_counts_what_is_above_the_base() -> None:
    assert [sine_degree_days(mean, mean, 5) for mean in (4.0, 5.0, 11.5)] == [0, 0, 6.5]


def test_fahrenheit_degree_days_divide_by_1_8() -> None:
    # Zalom's day of 50 to 82 °F, in °C.
    celsius = sine_degree_days(10, (82 - 32) / 1.8, (55 - 32) / 1.8, (90 - 32) / 1.8)
    assert celsius == pytest.approx(11.85 / 1.8, abs=0.005)


def test_extremes_the_wrong_way_round_are_refused() -> None:
    with pytest.raises(ValueError, match="minimum 9 is above maximum 3"):
        sine_degree_days(9, 3, 5)
    with pytest.raises(ValueError, match="minimum 9 is above maximum 3"):
        hours_below(9, 3, 5)
    with pytest.raises(ValueError, match="upper threshold 5 is not above"):
        sine_degree_days(3, 9, 5, upper=5)


def test_hours_below_a_bound_are_all_none_or_the_part_under_the_sine() -> None:
    # By hand: the mean splits the day in halves; the sine is under mean - amplitude/2 for a third of it.
    assert hours_below(0, 10, 5) == pytest.approx(12)
    assert hours_below(0, 10, 2.5) == pytest.approx(8)
    assert hours_below(0, 10, 0) == 0
    assert hours_below(-3, 4, 7.2) == 24
    assert hours_below(7.2, 9, 7.2) == 0


def test_chill_hours_between_two_bounds_are_a_difference() -> None:
    # By hand: from 0 to 10 °C, hours between 2.5 and 5 °C are 12 - 8.
    assert hours_below(0, 10, 5) - hours_below(0, 10, 2.5) == pytest.approx(4)
