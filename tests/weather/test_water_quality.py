"""Water chemistry and salt balance against published examples and independent atomic masses.

Sources stand beside the checks; tolerances are the printed digits.
"""

import molmass
import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedplan.weather.water_quality import (
    CACO3_MG_PER_DEGREE,
    CACO3_MG_PER_MMOL,
    CALCIUM_MG_PER_MMOL,
    HYDROGENCARBONATE_MG_PER_MMOL,
    MAGNESIUM_MG_PER_MMOL,
    alkalinity_from_hydrogencarbonate,
    alkalinity_from_meq,
    blend,
    gross_from_net,
    hardness_from_degrees,
    hardness_from_ions,
    leaching_requirement,
    share_for_target,
)


@pytest.mark.parametrize(
    ("ours", "formula"),
    [
        (CACO3_MG_PER_MMOL, "CaCO3"),
        (CALCIUM_MG_PER_MMOL, "Ca"),
        (MAGNESIUM_MG_PER_MMOL, "Mg"),
        (HYDROGENCARBONATE_MG_PER_MMOL, "HCO3"),
    ],
)
def test_molar_masses_are_those_of_molmass(ours: float, formula: str) -> None:
    # Independent library.
    assert ours == pytest.approx(molmass.Formula(formula).mass, rel=1e-4)


def test_calcium_converts_as_an_extension_sheet_prints_it() -> None:
    # "It is the water", extension sheet (studylib 13976279): Ca 3.3 meq/L is 66 mg/L; two charges an ion.
    assert hardness_from_ions(66, 0) == pytest.approx(alkalinity_from_meq(3.3), abs=0.2 * 2.497)


def test_hardness_of_calcium_and_magnesium_is_counted_as_lime() -> None:
    # Factors 2.497 and 4.118 of Standard Methods 2340 B, from memory: 80 mg/L Ca and 12 mg/L Mg are 249 mg/L.
    assert hardness_from_ions(1, 0) == pytest.approx(2.497, abs=0.0005)
    assert hardness_from_ions(0, 1) == pytest.approx(4.118, abs=0.0005)
    assert hardness_from_ions(80, 12) == pytest.approx(249, abs=0.5)


def test_degrees_of_hardness_have_their_textbook_sizes() -> None:
    # Definitions: 10 mg/L CaO is 17.848, 10 mg/L CaCO3, a grain per imperial gallon 14.254, per US gallon 17.118 mg/L.
    assert CACO3_MG_PER_DEGREE["german"] == pytest.approx(17.848, abs=0.005)
    assert hardness_from_degrees(3, "french") == 30
    # One French degree is 4 mg/L Ca or 2.4 mg/L Mg (AgroParisTech water page).
    assert hardness_from_ions(4.0, 0) == pytest.approx(10, abs=0.05)
    assert hardness_from_ions(0, 2.43) == pytest.approx(10, abs=0.05)
    assert CACO3_MG_PER_DEGREE["us"] == pytest.approx(17.118, abs=0.005)
    assert CACO3_MG_PER_DEGREE["english"] == pytest.approx(14.25, abs=0.005)
    assert hardness_from_degrees(1, "mmol/L") == pytest.approx(100.1, abs=0.05)


def test_alkalinity_converts_from_titration_and_from_hydrogencarbonate() -> None:
    # 1 meq/L is 50.04 mg/L CaCO3 and 61.016 mg/L HCO3 (masses of periodictable 2.1.0).
    assert alkalinity_from_meq(1) == pytest.approx(50.04, abs=0.01)
    assert alkalinity_from_hydrogencarbonate(61.016) == pytest.approx(50.04, abs=0.01)


def test_a_blend_holds_what_ali_example_8_4_says() -> None:
    # Ali 2011, Practices of Irrigation and On-farm Water Management, Example 8.4.
    assert blend([10, 50], [0.7, 0.3]) == pytest.approx(22, abs=0.001)


def test_rain_softens_tap_water_in_proportion() -> None:
    # Mass balance by hand: a quarter of 240 and three quarters of 5.
    assert blend([240, 5], [0.25, 0.75]) == pytest.approx(63.75)


def test_the_share_for_a_target_is_that_of_ali_example_8_3() -> None:
    # Ali 2011, Example 8.3: 2 and 15 to make 8. The book cuts 7/13 = 0.538 to 0.53.
    found = share_for_target(2, 15, 8)
    assert found.share_of_first == pytest.approx(7 / 13)


@pytest.mark.parametrize(
    ("tap", "rain", "target", "tap_share"),
    [(250, 5, 80, 0.3061), (300, 10, 60, 0.1724), (180, 20, 100, 0.5), (120, 5, 100, 0.8261)],
)
def test_tap_and_rain_meet_an_alkalinity_by_mass_balance(
    tap: float, rain: float, target: float, tap_share: float
) -> None:
    # Mass balance worked out apart from this code, mg/L CaCO3.
    assert share_for_target(tap, rain, target).share_of_first == pytest.approx(tap_share, abs=0.0001)


@pytest.mark.parametrize("target", [-1, 1.9, 15.1])
def test_a_target_outside_both_waters_is_impossible_not_moved(target: float) -> None:
    found = share_for_target(2, 15, target)
    assert found.share_of_first is None
    assert found.why_not == f"No blend gives {target:g} mg/L: the waters hold 2 and 15 mg/L"


def test_two_equal_waters_reach_only_themselves() -> None:
    assert share_for_target(5, 5, 5).share_of_first == 1
    assert share_for_target(5, 5, 6, "dS/m").why_not == "No blend gives 6 dS/m: the waters both hold 5 dS/m"


@given(st.floats(0, 500), st.floats(0, 500), st.floats(0, 1))
def test_blending_by_the_found_share_gives_the_target(first: float, second: float, place: float) -> None:
    target = first + (second - first) * place
    share = share_for_target(first, second, target).share_of_first
    if share is None:
        assert target == pytest.approx(first) or target == pytest.approx(second)
    else:
        assert 0 <= share <= 1
        assert blend([first, second], [share, 1 - share]) == pytest.approx(target, abs=1e-6)


def test_shares_that_do_not_add_up_are_refused() -> None:
    with pytest.raises(ValueError, match="add up to 1"):
        blend([10, 50], [0.7, 0.2])
    with pytest.raises(ValueError, match="one per water"):
        blend([10, 50, 3], [0.7, 0.3])


def test_leaching_requirement_is_that_of_the_vine() -> None:
    # White 2003, Soils for Fine Wines, Box 7.3: water 1.0, vine 2.5 dS/m: 0.09.
    assert leaching_requirement(1.0, 2.5) == pytest.approx(0.09, abs=0.005)


def test_leaching_requirement_is_that_of_the_corn_of_fao_29() -> None:
    # FAO-29 Rev. 1, section 2.4.2, Example 3, from memory: water 1.2; 1.7 and 2.5 dS/m: 0.16 and 0.10;
    # 800 mm of use then takes 890 mm of water at 0.10.
    assert leaching_requirement(1.2, 1.7) == pytest.approx(0.16, abs=0.006)
    assert leaching_requirement(1.2, 2.5) == pytest.approx(0.10, abs=0.007)
    assert gross_from_net(800, 0.10) == pytest.approx(890, abs=5)


@pytest.mark.parametrize("water_ec", [2.5, 5.0, 9.0])
def test_water_too_salty_to_leach_has_no_requirement(water_ec: float) -> None:
    # At a tolerance of 1 dS/m the formula reaches 1 at 2.5 and has no meaning from 5 on.
    assert leaching_requirement(water_ec, 1.0) is None


def test_pouring_allows_for_what_drains() -> None:
    # UF/IFAS EDIS ENH1268: the leaching fraction is drained over entered, so 850 mL stay of 1000 at 0.15.
    assert gross_from_net(850, 0.15) == pytest.approx(1000)
    with pytest.raises(ValueError, match="less than 1"):
        gross_from_net(1, 1)
