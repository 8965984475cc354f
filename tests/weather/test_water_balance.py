"""Root-zone water against the examples of FAO Irrigation and Drainage Paper 56 (Allen and others 1998, print edition).

Pages beside each check; tolerances are the printed digits.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedplan.weather.water_balance import (
    coefficient_on_day,
    depletion_share_at,
    next_day,
    readily_available,
    stress_factor,
    total_available_mm,
)

# Example 36, p. 166: field capacity, wilting point, root depth [m], p; total and readily available water [mm].
EXAMPLE_36 = [
    ("onion on loamy sand", 0.15, 0.06, 0.4, 0.30, 36, 11),
    ("onion on silty clay", 0.35, 0.23, 0.4, 0.30, 48, 14),
    ("tomato on silt", 0.32, 0.15, 0.8, 0.40, 136, 54),
    ("tomato on silty clay", 0.35, 0.23, 0.8, 0.40, 96, 38),
    ("maize on loamy sand", 0.15, 0.06, 1.2, 0.55, 108, 59),
    ("maize on silt", 0.32, 0.15, 1.2, 0.55, 204, 112),
    ("maize on silty clay", 0.35, 0.23, 1.2, 0.55, 144, 79),
]


@pytest.mark.parametrize("row", EXAMPLE_36, ids=lambda row: row[0])
def test_available_water_is_that_of_example_36(
    row: tuple[str, float, float, float, float, float, float],
) -> None:
    _, capacity, wilting, depth_m, share, total, ready = row
    assert total_available_mm(capacity, wilting, depth_m) == pytest.approx(total, abs=0.5)
    available = total_available_mm(capacity, wilting, depth_m)
    assert readily_available(available, share) == pytest.approx(ready, abs=0.5)


@pytest.mark.parametrize(
    ("table", "use", "adjusted"), [(0.5, 6, 0.46), (0.7, 3, 0.78), (0.7, 1, 0.8), (0.1, 12, 0.1)]
)
def test_thirsty_days_stress_earlier(table: float, use: float, adjusted: float) -> None:
    # p = p_table + 0.04 (5 - ETc) within 0.1 to 0.8: p. 162 and Table 22 footnote 2, worked by hand.
    assert depletion_share_at(table, use) == pytest.approx(adjusted, abs=0.0005)


def test_stress_begins_when_the_ready_water_is_gone() -> None:
    # Eq. 84 by hand: available 36 mm, ready 10.8; at 23.4 half of the rest is gone.
    assert stress_factor(10.0, 36, 0.3) == 1
    assert stress_factor(10.8, 36, 0.3) == pytest.approx(1)
    assert stress_factor(23.4, 36, 0.3) == pytest.approx(0.5)
    assert stress_factor(36, 36, 0.3) == 0
    with pytest.raises(ValueError, match="depletion 37"):
        stress_factor(37, 36, 0.3)


def test_the_first_day_of_example_38_drains_before_it_dries() -> None:
    # Example 38, pp. 172-173, day 1: 23 mm missing, 40 mm given, 5.5 mm used: 17 mm drain, 5.5 mm missing.
    day = next_day(23, 40, 5.5, total_available=100)
    assert day.drained == pytest.approx(17, abs=0.5)
    assert day.depletion == pytest.approx(5.5, abs=0.6)


# Example 38, p. 173: day, rain, irrigation, use, depletion at the start after water, and at the end [mm].
EXAMPLE_38 = [
    (2, 0, 0, 6.1, 5, 12),
    (3, 0, 0, 4.0, 12, 16),
    (4, 0, 0, 2.9, 16, 18),
    (5, 0, 0, 2.5, 18, 21),
    (6, 6, 0, 2.7, 15, 18),
    (7, 0, 0, 4.7, 18, 22),
    (8, 0, 0, 2.8, 22, 25),
    (9, 0, 0, 2.2, 25, 27),
    (10, 0, 27, 6.3, 0, 6),
]


def test_ten_days_of_example_38_follow_from_the_first() -> None:
    # The printed columns are whole mm, so rows drift by up to 1.2 mm.
    depletion = 5.5
    for day, rain, irrigation, use, _, printed in EXAMPLE_38:
        depletion = next_day(depletion, rain + irrigation, use, total_available=100).depletion
        assert depletion == pytest.approx(printed, abs=1.2), f"day {day}"


@pytest.mark.parametrize(("day", "published"), [(12, 0.15), (37, 0.63), (65, 1.14), (90, 0.70)])
def test_coefficient_between_stages_is_that_of_example_30(day: int, published: float) -> None:
    # Example 30, p. 141: stages of 25, 25, 30 and 20 days; 0.15, 1.14, 0.25.
    assert coefficient_on_day(day, (25, 25, 30, 20), 0.15, 1.14, 0.25) == pytest.approx(published, abs=0.006)


def test_days_outside_the_season_have_no_coefficient() -> None:
    with pytest.raises(ValueError, match="outside the season of 100 days"):
        coefficient_on_day(101, (25, 25, 30, 20), 0.15, 1.14, 0.25)


@given(st.floats(0, 50), st.floats(0, 100), st.floats(0, 20))
def test_no_water_is_made_or_lost_while_some_is_left(depletion: float, water_in: float, use: float) -> None:
    day = next_day(depletion, water_in, use, total_available=1000)
    assert depletion - water_in + use + day.drained == pytest.approx(day.depletion, abs=1e-9)
    assert day.drained >= 0
