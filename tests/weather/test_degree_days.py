"""Degree days and chill against published tables, numerical integrals and the shipped tables of R packages.

The sources stand beside their tables; tolerances are the printed digits.
"""

from datetime import date, timedelta
from math import pi, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from feedplan.weather.degree_days import (
    AverageMethod,
    ChillCurve,
    average_degree_days,
    celsius_degree_days,
    chill_days,
    date_reached,
    degrees_above,
    hours_below,
    sine_degree_days,
    triangle_degree_days,
)

# McMaster and Wilhelm 1997, Agric. For. Meteorol. 87:291-300, Table 1, as shipped in the tests of the R package
# degday: tmax, tmin [°C]; degree days above 0 °C by method 1 and method 2.
MCMASTER_WILHELM_TABLE_1 = [
    (20, 10, 15, 15),
    (10, 1, 5.5, 5.5),
    (8, -2, 3, 4),
    (6, 0, 3, 3),
    (10, 5, 7.5, 7.5),
    (5, -5, 0, 2.5),
    (-2, -7, 0, 0),
    (-5, -10, 0, 0),
    (10, -2, 4, 5),
    (15, 2, 8.5, 8.5),
]

# Zalom et al. 1983, Table 7, as shipped in the tests of the R package degday: tmin, tmax [°F]; degree days between
# 55 and 90 °F, horizontal cutoff, by single triangle and single sine. All six ways a day can lie to the thresholds.
ZALOM_TABLE_7 = [
    (96, 110, 35.0, 35.0),
    (91, 105, 35.0, 35.0),
    (45, 54, 0.0, 0.0),
    (38, 50, 0.0, 0.0),
    (60, 80, 15.0, 15.0),
    (75, 88, 26.5, 26.5),
    (50, 82, 11.39, 11.85),
    (45, 70, 4.5, 5.31),
    (60, 100, 23.75, 22.82),
    (75, 95, 29.38, 28.91),
    (50, 101, 19.56, 18.95),
    (48, 95, 16.76, 16.96),
]

# R package TrenchR, test of its degree-day functions: tmin, tmax [°C]; single sine between 12 and 33 °C.
# Its (35, 40) is left out: the file gives 5 where a horizontal cutoff, and its own double sine, give 21.
TRENCHR = [(7, 14, 0.47), (7, 10, 0.0), (13, 14, 1.5), (13, 40, 12.94), (7, 40, 10.94)]


@pytest.mark.parametrize(("tmax", "tmin", "method_1", "method_2"), MCMASTER_WILHELM_TABLE_1)
def test_both_readings_of_the_simple_average_are_those_of_mcmaster_and_wilhelm(
    tmax: float, tmin: float, method_1: float, method_2: float
) -> None:
    assert average_degree_days(tmin, tmax, 0) == pytest.approx(method_1, abs=0.001)
    assert average_degree_days(tmin, tmax, 0, AverageMethod.LIMITS_FIRST) == pytest.approx(
        method_2, abs=0.001
    )


@pytest.mark.parametrize(("tmin", "tmax", "triangle", "sine"), ZALOM_TABLE_7)
def test_sine_and_triangle_are_those_of_zalom_table_7(
    tmin: float, tmax: float, triangle: float, sine: float
) -> None:
    assert triangle_degree_days(tmin, tmax, 55, 90) == pytest.approx(triangle, abs=0.006)
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


def test_triangle_is_the_integral_of_the_clipped_triangle() -> None:
    # scipy.integrate.quad over half a day of straight rise from 3 to 25, between 7 and 20.
    area, _ = quad(lambda t: max(7.0, min(20.0, 3 + 22 * t)) - 7.0, 0, 1, points=[4 / 22, 17 / 22])
    assert triangle_degree_days(3, 25, 7, 20) == pytest.approx(area, abs=1e-6)


@given(st.floats(-20, 30), st.floats(0, 25), st.floats(-5, 15))
def test_the_sine_counts_at_least_the_average_and_they_agree_on_warm_days(
    tmin: float, spread: float, base: float
) -> None:
    sine = sine_degree_days(tmin, tmin + spread, base)
    assert sine >= average_degree_days(tmin, tmin + spread, base) - 1e-9
    if tmin >= base:
        assert sine == pytest.approx(average_degree_days(tmin, tmin + spread, base))


def test_average_stops_at_the_upper_threshold_by_either_reading() -> None:
    # By hand. 20 to 36 °C, base 10, upper 30: mean 28, or (20 + 30)/2 = 25. 32 to 36: both stand at 30.
    assert average_degree_days(20, 36, 10, upper=30) == pytest.approx(18)
    assert average_degree_days(20, 36, 10, AverageMethod.LIMITS_FIRST, upper=30) == pytest.approx(15)
    assert average_degree_days(32, 36, 10, upper=30) == pytest.approx(20)


def test_a_day_known_by_its_mean_counts_what_is_above_the_base() -> None:
    assert [degrees_above(mean, 5) for mean in (4.0, 5.0, 11.5)] == [0, 0, 6.5]


def test_fahrenheit_degree_days_divide_by_1_8() -> None:
    # The first row of Zalom's 50 to 82 °F day, once in each unit.
    celsius = sine_degree_days(10, (82 - 32) / 1.8, (55 - 32) / 1.8, (90 - 32) / 1.8)
    assert celsius_degree_days(11.85) == pytest.approx(celsius, abs=0.005)


@pytest.mark.parametrize("function", [sine_degree_days, triangle_degree_days, average_degree_days])
def test_extremes_the_wrong_way_round_are_refused(function: object) -> None:
    assert callable(function)
    with pytest.raises(ValueError, match="minimum 9 is above maximum 3"):
        function(9, 3, 5)
    with pytest.raises(ValueError, match="upper threshold 5 is not above"):
        function(3, 9, 5, upper=5)


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


def test_chill_days_count_the_bound_itself() -> None:
    assert chill_days([-2.0, 5.0, 5.1, 12.0]) == 2
    assert chill_days([-2.0, 5.0, 5.1, 12.0], bound=10) == 3


def test_a_colder_winter_needs_less_warmth() -> None:
    # Form of Cannell and Smith 1983; the numbers are theirs for Sitka spruce, from memory: 67.4 + 4401.8 exp(-0.042 C).
    curve = ChillCurve(floor=67.4, scale=4401.8, rate=-0.042)
    assert curve.needed(0) == pytest.approx(4469.2)
    # By hand: exp(-4.2) = 0.0149956, times 4401.8 = 66.01.
    assert curve.needed(100) == pytest.approx(133.4, abs=0.05)
    assert curve.needed(140) < curve.needed(100)


def record(start: date, values: list[float]) -> list[tuple[date, float]]:
    return [(start + timedelta(days=n), value) for n, value in enumerate(values)]


def test_the_date_is_the_first_whose_sum_reaches_the_need() -> None:
    days = record(date(2024, 2, 27), [50, 3, 4, 3, 5])
    assert date_reached(days, 7, date(2024, 2, 28)) == date(2024, 2, 29)
    assert date_reached(days, 10, date(2024, 2, 28)) == date(2024, 3, 1)
    assert date_reached(days, 10.5, date(2024, 2, 28)) == date(2024, 3, 2)


def test_no_date_when_the_record_ends_first() -> None:
    assert date_reached(record(date(2024, 2, 1), [1, 1]), 5, date(2024, 2, 1)) is None


def test_a_gap_in_the_record_is_reported_not_skipped() -> None:
    days = [(date(2024, 2, 1), 1.0), (date(2024, 2, 3), 1.0)]
    with pytest.raises(ValueError, match="no 2024-02-02"):
        date_reached(days, 5, date(2024, 2, 1))


def test_a_record_that_starts_late_is_reported() -> None:
    with pytest.raises(ValueError, match="no 2024-01-31"):
        date_reached(record(date(2024, 2, 1), [1, 1]), 5, date(2024, 1, 31))
