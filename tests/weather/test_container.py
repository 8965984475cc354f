"""Pot sizes, daily use and depletion against practice, FAO-56 examples and published use of container trees.

"Worked example" means an example of growers' practice worked out apart from this code; common practice, no source.
FAO-56: Allen, Pereira, Raes, Smith 1998, print edition; pages beside each check.
"""

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedplan.weather.container import (
    BARE_LEAST_MM_PER_DAY,
    OPEN_WALLS,
    PotSize,
    allowed_depletion,
    depletion_next_day,
    litres_on,
    pot_use,
    size_from_litres,
)
from feedplan.weather.substrate import read_mix

FULL_LEAF = 1.2  # the share that stages.yaml gives a hardened first flush

# --- Sizes -----------------------------------------------------------------------------------------------------


def test_a_tapering_basket_is_a_frustum() -> None:
    # By hand: pi/3 x 20 (14^2 + 14 x 11.2 + 11.2^2) = 10,016.2 cm3; the floor is 0.8 times as wide as the top.
    pot = size_from_litres(10.0162, top_cm2=615.752)
    assert pot.depth_cm == pytest.approx(20, abs=0.001)
    assert size_from_litres(10.0162, depth_cm=20).top_m2 == pytest.approx(0.0615752, abs=1e-6)


def test_a_pot_told_by_its_litres_has_about_the_top_of_published_ones() -> None:
    # Beeson 2010, HortScience 45:1260: 11.4 L has 0.0508 m2. Worked example: 10 L, 28 cm has 0.06 m2.
    assert size_from_litres(11.4).top_m2 == pytest.approx(0.0508, rel=0.15)
    assert size_from_litres(10).top_m2 == pytest.approx(0.06, rel=0.15)


@given(st.floats(0.05, 200), st.none() | st.floats(2, 60), st.none() | st.floats(10, 5000))
def test_whatever_is_told_of_a_pot_is_kept_and_the_rest_fits(
    volume_l: float, depth_cm: float | None, top_cm2: float | None
) -> None:
    pot = size_from_litres(volume_l, depth_cm=depth_cm, top_cm2=top_cm2)
    assert pot.volume_l == volume_l
    assert depth_cm is None or pot.depth_cm == depth_cm
    assert top_cm2 is None or pot.top_m2 == pytest.approx(top_cm2 / 10_000)
    if depth_cm is None or top_cm2 is None:
        frustum_l = pot.top_m2 * 10_000 * pot.depth_cm * (1 + pot.taper + pot.taper**2) / 3 / 1000
        assert frustum_l == pytest.approx(volume_l)


def test_no_pot_is_refused() -> None:
    with pytest.raises(ValueError, match="is no pot"):
        size_from_litres(3, depth_cm=-1)


@pytest.mark.parametrize(
    ("litres", "depth_mm", "area_m2", "tolerance"),
    [
        (0.6, 11.8, 0.0508, 0.0003),  # Beeson 2010, HortScience 45:1260, abstract: a day of an 11.4 L pot
        (155, 3100, 0.050, 0.001),  # the same: 155 L are 3.1 m
        (101, 1990, 0.0508, 0.0003),  # Beeson 2012, HortScience 47:264, abstract: 101 L are 1.99 m
    ],
)
def test_litres_and_millimetres_meet_on_the_published_area(
    litres: float, depth_mm: float, area_m2: float, tolerance: float
) -> None:
    assert litres / depth_mm == pytest.approx(area_m2, abs=tolerance)
    assert litres_on(depth_mm, area_m2) == pytest.approx(litres, rel=0.025)


# --- Use -------------------------------------------------------------------------------------------------------


def test_shallow_pot_of_the_worked_example_uses_108_ml() -> None:
    # Worked example: 20 x 15 x 5 cm; 3 mm/day x 0.03 m2 x 1.2.
    assert pot_use(0.03).on(3, FULL_LEAF) == pytest.approx(0.108)


def test_open_basket_of_the_worked_example_uses_0_28_l() -> None:
    # Worked example: 10 L, 28 cm, 0.06 m2; 3 mm/day x 0.06 x 1.2 x 1.3 = 0.28 L.
    assert pot_use(0.06, walls=OPEN_WALLS).on(3, FULL_LEAF) == pytest.approx(0.28, abs=0.002)


def test_both_worked_examples_hold_roughly_with_water_taken_from_substrate_and_depth() -> None:
    # The same two pots with the mineral mix at their own depth: a shallow pot holds more than 12 %, a deep one less.
    mix = read_mix("mineral")

    def days(pot: PotSize, walls: float) -> float:
        within_reach = mix.available(pot.depth_cm, pot.taper) * pot.volume_l
        return (
            allowed_depletion(pot.depth_cm) * within_reach / pot_use(pot.top_m2, walls=walls).on(3, FULL_LEAF)
        )

    shallow = size_from_litres(1.5, depth_cm=5, top_cm2=300)
    assert 0.5 <= days(shallow, 1.0) * 1.05 < 1  # twice a day
    # Growers' table for deep open-sided pots of 8 to 12 L at 15 to 20 °C: once in one to two days.
    assert 1 <= days(size_from_litres(10, top_cm2=600), OPEN_WALLS) <= 2


def test_use_agrees_with_a_separate_computation() -> None:
    # 0.0214 m2, 5 mm/day, 1.2: 0.1284 L/day. Arithmetic worked out apart from this code.
    assert pot_use(0.0214).on(5, 1.2) == pytest.approx(0.1284, abs=0.0001)


def test_a_wide_crown_counts_in_place_of_the_pot_top_and_its_coefficient_is_bounded() -> None:
    # FAO-56 Eq. 72: no more than 1.3 of the reference, on the area that is really exposed.
    assert pot_use(0.05, 0.2).on(4, 3.0) == pytest.approx(4 * 0.2 * 1.3)
    assert pot_use(0.05, 0.02).on(4, 3.0) == pytest.approx(4 * 0.05 * 3.0)


def test_cut_roots_and_bare_twigs_lower_use_only_to_that_of_bare_substrate() -> None:
    pot = pot_use(0.03)
    assert pot.on(3, FULL_LEAF, roots=0.5) == pytest.approx(0.054)
    bare = pot.on(3, 0.0)
    assert bare > 0
    assert pot.on(3, 0.1, roots=0.5) == bare


def test_bare_mix_loses_what_a_shaded_nursery_pot_lost() -> None:
    # Beeson 2010, HortScience 45:1260, abstract: about 0.16 L a day from an 11.4 L pot of bare mix (0.0508 m2), which
    # is 3.1 mm. Its evapotranspiration is not in the abstract; 5 mm is taken for Florida's growing season (judgement).
    assert pot_use(0.0508).on(5, 0.0) == pytest.approx(0.16, abs=0.01)
    # FAO-56, table 19: soil that is wetted daily loses up to 1.0 to 1.2 of the reference; a mix that dries, less.
    assert pot_use(1.0).on(5, 0.0) < 5 * 1.2


def test_a_market_size_shrub_drinks_up_to_the_published_peak_where_its_crown_is_told() -> None:
    # Beeson 2010, the same pot: mostly below 0.6 L a day, 1.3 L at market size. A crown of 50 cm covers 0.2 m2.
    assert pot_use(0.0508, 0.2).on(5, 1.3) == pytest.approx(1.3, abs=0.05)
    assert 0.25 < pot_use(0.0508).on(5, 1.2) < 0.6  # no crown told: the pot's top


def test_a_sunless_winter_day_still_dries_a_pot() -> None:
    assert pot_use(0.05).on(0, 1.0) == pytest.approx(BARE_LEAST_MM_PER_DAY * 0.05)


@given(st.floats(0, 12), st.floats(0.001, 0.5), st.floats(0, 1.0), st.floats(0.3, 1.5), st.floats(0.5, 1.0))
def test_use_never_falls_when_the_day_gets_thirstier_or_roots_are_whole(
    et0: float, top_m2: float, canopy_m2: float, leaf: float, roots: float
) -> None:
    pot = pot_use(top_m2, canopy_m2)
    cut, whole, thirstier = pot.on(et0, leaf, roots), pot.on(et0, leaf), pot.on(et0 + 1, leaf)
    assert 0 < cut <= whole <= thirstier
    assert pot.counted_in(2.5).on(et0, leaf) == pytest.approx(whole / 2.5)


def test_negative_areas_and_factors_are_refused() -> None:
    with pytest.raises(ValueError, match="must not be negative"):
        pot_use(-0.05)


def test_open_walls_lie_within_the_range_of_practice() -> None:
    assert 1.2 <= OPEN_WALLS <= 1.5  # common practice, no source


def test_allowed_depletion_follows_depth_and_rest_and_stays_below_that_of_field_soil() -> None:
    # Common practice, no source: shallow, to 6 cm, 30 %, normal 40 to 50 %, dormant 60 %.
    assert allowed_depletion(5) == allowed_depletion(6) == 0.30
    assert 0.40 <= allowed_depletion(6.1) == allowed_depletion(12) <= 0.50
    assert allowed_depletion(5, dormant=True) == 0.60
    # FAO-56 Table 22, p. 165: conifers 0.70 in deep soil.
    assert max(allowed_depletion(12), allowed_depletion(12, dormant=True)) <= 0.70


# --- From day to day -------------------------------------------------------------------------------------------


def test_the_first_day_of_example_38_drains_before_it_dries() -> None:
    # Example 38, pp. 172-173, day 1: 23 mm missing, 40 mm given, 5.5 mm used: 17 mm drain, 5.5 mm missing.
    assert depletion_next_day(23, 40, 5.5, available=100) == pytest.approx(5.5, abs=0.6)


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
        depletion = depletion_next_day(depletion, rain + irrigation, use, available=100)
        assert depletion == pytest.approx(printed, abs=1.2), f"day {day}"


@given(st.floats(0, 50), st.floats(0, 100), st.floats(0, 20))
def test_no_water_is_made_while_some_is_left(depletion: float, water_in: float, use: float) -> None:
    after = depletion_next_day(depletion, water_in, use, available=inf)
    drained = max(0.0, water_in - depletion)
    assert depletion - water_in + use + drained == pytest.approx(after, abs=1e-9)
    assert depletion_next_day(depletion, water_in, use, available=10) == min(after, 10)
