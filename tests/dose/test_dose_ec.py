"""Conductivity: KCl standards, measured single salts, handbook solutions, feeds; what it says when it cannot say."""

from __future__ import annotations

from decimal import Decimal
from itertools import product
from math import sqrt
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedplan.dose.arithmetic import Dose, Product, work_out_dose
from feedplan.dose.ceilings import USUAL, is_surely_within, passed
from feedplan.dose.conductivity import (
    ALPHA,
    IONS,
    EcLimit,
    EcMethod,
    ExpectedEc,
    conductivity_ms_cm,
    ec_at,
    ec_at_25,
    expected_ec,
    feed_ions,
    ionic_strength,
    together,
)
from feedplan.dose.grade import parse_grade
from feedplan.dose.salts import SALTS
from feedplan.dose.strength import PpmN
from feedplan.words.dose import pen_method, pen_note
from tests.dose.published import agrees, rows

TABLE = "published_salts.yaml"

# What each salt falls into in water, from its formula.
FALLS_INTO = {
    "potassium nitrate": {"K+": 1, "NO3-": 1},
    "monoammonium phosphate": {"NH4+": 1, "H2PO4-": 1},
    "diammonium phosphate": {"NH4+": 2, "HPO4--": 1},
    "calcium nitrate tetrahydrate": {"Ca++": 1, "NO3-": 2},
    "calcium ammonium nitrate double salt": {"Ca++": 5, "NH4+": 1, "NO3-": 11},
    "magnesium nitrate hexahydrate": {"Mg++": 1, "NO3-": 2},
    "ammonium sulfate": {"NH4+": 2, "SO4--": 1},
    "urea": {},
}


def feed(grade: str, ppm: float = 100) -> Any:
    return work_out_dose(Product(parse_grade(grade)), PpmN(Decimal(str(ppm))), Decimal(10))


def forms(**percents: float) -> dict[str, Decimal]:
    return {form: Decimal(str(percent)) for form, percent in percents.items()}


@pytest.mark.parametrize("row", rows("limiting_conductivities", TABLE), ids=lambda row: row["ion"])
def test_single_ions_agree_with_the_handbook_at_infinite_dilution(row: dict[str, Any]) -> None:
    ion = IONS[row["ion"]]
    assert ion.conductivity(25.0, 0.0) / abs(ion.charge) == pytest.approx(row["value"], rel=0.02)


@pytest.mark.parametrize("row", rows("kcl_standards", TABLE), ids=lambda row: f"{row['mol_per_kg']} mol/kg")
def test_kcl_standards_come_out_but_for_the_misses_listed(row: dict[str, Any]) -> None:
    """The standards are good to 0.04 %, the method to about 1 % up to feed strength: each miss is listed there."""
    for temp_c, us_per_cm in row["by_temp"].items():
        amount = 1000 * row["mol_per_kg"] * row["kg_per_l"][temp_c]
        ours = 1000 * conductivity_ms_cm({"K+": amount, "Cl-": amount}, temp_c)
        assert agrees(ours, us_per_cm, row["tolerance"], row["misses"].get(temp_c)), (
            temp_c,
            ours / us_per_cm - 1,
        )


@pytest.mark.parametrize("row", rows("kcl_molar", TABLE))
def test_molar_kcl_solutions_come_out(row: dict[str, Any]) -> None:
    amount = 1000 * row["mol_per_l"]
    ours = 1000 * conductivity_ms_cm({"K+": amount, "Cl-": amount})
    assert agrees(ours, row["us_per_cm"], row["tolerance"], row.get("miss")), ours / row["us_per_cm"] - 1


@pytest.mark.parametrize("temp_c", [5, 10, 20, 25])
@pytest.mark.parametrize("molality", [0.001, 0.005, 0.01, 0.02])
@pytest.mark.parametrize("row", rows("measured_salts", TABLE), ids=lambda row: row["salt"])
def test_measured_single_salts_come_out_at_feed_strength(
    row: dict[str, Any], molality: float, temp_c: float
) -> None:
    def at(numbers: list[float]) -> float:
        return numbers[0] * temp_c**2 + numbers[1] * temp_c + numbers[2]

    per_equivalent = at(row["lambda0"]) - at(row["a"]) * sqrt(molality) / (1 + row["b"] * sqrt(molality))
    measured = per_equivalent * molality * row["charge"]
    ours = conductivity_ms_cm({ion: 1000 * molality * count for ion, count in row["ions"].items()}, temp_c)
    assert ours == pytest.approx(measured, rel=row["tolerance"])


@pytest.mark.parametrize(("mmol_per_l", "regression_ms_cm"), [(10, 1.1781), (50, 5.4586), (100, 10.4190)])
def test_salt_water_conducts_as_before(mmol_per_l: float, regression_ms_cm: float) -> None:
    """Regression values at 25 °C: of sodium only the limit at infinite dilution is held against a source above."""
    found = conductivity_ms_cm({"Na+": mmol_per_l, "Cl-": mmol_per_l})
    assert found == pytest.approx(regression_ms_cm, abs=0.0001)


def test_a_feed_of_all_ions_conducts_as_before() -> None:
    """Regression values: the published table's numbers for strength and warmth show singly in no measured salt."""
    feed = {"K+": 8.0, "Na+": 2.0, "NH4+": 4.0, "Ca++": 3.0, "Mg++": 2.0, "Cl-": 2.0}
    feed |= {"SO4--": 3.0, "NO3-": 12.0, "HCO3-": 1.0, "H2PO4-": 2.0, "HPO4--": 0.5}
    assert [conductivity_ms_cm(feed, temp_c) for temp_c in (5, 25)] == pytest.approx(
        [1.65597, 2.64929], abs=1e-5
    )


@pytest.mark.parametrize(
    "row", rows("strong_solutions", TABLE), ids=lambda row: f"{row['salt']} {row['mass_percent']} %"
)
def test_handbook_solutions_of_half_to_one_percent_come_out_but_for_the_misses_listed(
    row: dict[str, Any],
) -> None:
    mmol_per_l = 10_000 * row["mass_percent"] * 1.002 / row["molar_mass"]  # density 1.002 kg/L, good to 0.5 %
    ours = conductivity_ms_cm({ion: mmol_per_l * count for ion, count in row["ions"].items()}, 20.0)
    assert agrees(ours, row["ms_per_cm"], row["tolerance"], row.get("miss")), ours / row["ms_per_cm"] - 1


def test_a_plain_sum_of_ions_would_be_far_too_high_for_magnesium_sulfate() -> None:
    # CRC Handbook at 20 C, 0.5 %: 4.1 mS/cm, 41 % of the sum of its ions; the pairing is what brings it down.
    mmol = 10_000 * 0.5 * 1.002 / 120.37
    plain = sum(mmol / 1000 * IONS[ion].conductivity(20, 0) for ion in ("Mg++", "SO4--"))
    assert conductivity_ms_cm({"Mg++": mmol, "SO4--": mmol}, 20) < 0.5 * plain


@pytest.mark.parametrize("row", rows("feeds", TABLE), ids=lambda row: row["grade"])
def test_complete_feeds_read_what_extension_tables_say(row: dict[str, Any]) -> None:
    expected = expected_ec(feed(row["grade"]), nitrogen_percents=forms(**row["forms"]))
    assert expected.methods == (EcMethod.BY_IONS,)
    assert expected.likely == pytest.approx(row["ms_per_cm"], abs=row["tolerance"])


@pytest.mark.parametrize("row", rows("own_figures", TABLE))
def test_the_products_own_figure_comes_first(row: dict[str, Any]) -> None:
    dose = feed(row["grade"], row["ppm"])
    added = expected_ec(
        dose, ec_per_100_ppm_n=row["ec_per_100_ppm_n"], nitrogen_percents=forms(nitrate=12, ammonium=3)
    )
    expected = together([added], 0.2)
    assert expected.methods == (EcMethod.OWN_FIGURE,)
    assert expected.likely == pytest.approx(0.2 + row["ms_per_cm"])
    assert expected.low < expected.likely < expected.high
    assert expected.is_telling


def test_a_feed_beyond_the_methods_reach_says_so() -> None:
    # Measured single salts were compared up to 0.02 mol/kg and 1 % only; ten times that is not known to hold.
    told = forms(nitrate=13.85)
    strong, weak = (expected_ec(feed("13.85-0-46.58", ppm), nitrogen_percents=told) for ppm in (2000, 150))
    assert strong.limits == (EcLimit.STRONG,)
    assert weak.limits == ()


def test_urea_adds_nothing_and_says_so() -> None:
    expected = together([expected_ec(feed("46-0-0"), nitrogen_percents=forms(urea=46))], 0.35)
    assert expected.likely == pytest.approx(0.35)
    assert expected.limits == (EcLimit.UREA,)
    assert not expected.is_telling
    assert "urea does not conduct" in pen_note(expected)


def test_without_the_forms_of_nitrogen_only_a_range_is_given() -> None:
    expected = expected_ec(feed("24-8-16"))
    assert expected.methods == (EcMethod.BY_RANGE,)
    assert expected.limits == (EcLimit.FORMS_UNKNOWN, EcLimit.TOO_WIDE)
    assert not expected.is_telling
    assert "copy nitrate, ammonium and urea from the label" in pen_note(expected)
    assert "Too wide to catch a doubled dose." in pen_note(expected)


def test_every_way_and_limit_of_an_expected_conductivity_has_its_words() -> None:
    all_of_them = ExpectedEc(1, 1, 1, tuple(EcMethod), tuple(EcLimit))
    assert len(set(pen_method(all_of_them).split("; "))) == len(EcMethod)
    assert pen_note(all_of_them).count(".") == len(EcLimit)


def test_products_and_water_add_up_and_say_each_thing_once() -> None:
    even, bare = feed("20-10-20"), feed("24-8-16")
    parts = [expected_ec(even, 0.65), expected_ec(bare), expected_ec(bare)]
    both = together(parts, 0.4)
    assert both.likely == pytest.approx(0.4 + sum(part.likely for part in parts))
    assert both.high - both.low == pytest.approx(sum(part.high - part.low for part in parts))
    assert both.methods == (EcMethod.OWN_FIGURE, EcMethod.BY_RANGE)
    assert both.limits == (EcLimit.FORMS_UNKNOWN, EcLimit.TOO_WIDE)


def test_a_feed_that_hardly_conducts_is_not_told_from_water() -> None:
    assert expected_ec(feed("20-10-20", 100), 0.65).is_telling
    assert not expected_ec(feed("20-10-20", 5), 0.65).is_telling  # 0.03 mS/cm


def test_a_labels_figure_is_good_to_a_twentieth_and_a_pen_to_a_twentieth_of_a_millisiemens() -> None:
    """Judgement, both: labels print two digits, for one strength; a cheap pen shows hundredths and drifts."""
    least = expected_ec(feed("20-10-20", 10), 0.53)
    assert [least.low, least.high] == pytest.approx([0.05035, 0.05565])
    assert least.is_telling
    assert not expected_ec(feed("20-10-20", 10), 0.52).is_telling


@pytest.mark.parametrize(
    "name", [name for name, salt in SALTS.items() if salt.n_atoms and not salt.is_restricted]
)
def test_the_range_holds_what_the_salts_really_read(name: str) -> None:
    salt = SALTS[name]
    dose = work_out_dose(Product(salt.grade), PpmN(Decimal(100)), Decimal(10))
    per_l = float(dose.per_l / salt.molar_mass) * 1000
    real = conductivity_ms_cm({ion: per_l * count for ion, count in FALLS_INTO[name].items()})
    wide = expected_ec(dose)
    assert wide.low - 1e-9 <= real <= wide.high + 1e-9


def test_forms_that_do_not_sum_to_the_grade_are_refused() -> None:
    with pytest.raises(
        ValueError, match="the forms of nitrogen sum to 12 %, the grade says 20 %; copy all of them"
    ):
        expected_ec(feed("20-10-20"), nitrogen_percents=forms(nitrate=12))
    with pytest.raises(ValueError, match="'amide' is not a form of nitrogen"):
        expected_ec(feed("20-10-20"), nitrogen_percents=forms(amide=20))


def test_the_temperature_coefficient_lies_in_the_published_ranges() -> None:
    row = rows("temperature", TABLE)[0]
    for name in ("alpha_kcl", "alpha_natural"):
        assert row[name]["low_percent"] <= 100 * ALPHA <= row[name]["high_percent"]
    reading = row["reading"]
    assert ec_at_25(reading["ms_per_cm"], reading["temp_c"]) == pytest.approx(
        reading["at_25"], abs=reading["tolerance"]
    )


@given(st.floats(0.01, 5), st.floats(0, 35))
def test_temperature_correction_turns_round(ec25: float, temp_c: float) -> None:
    assert ec_at_25(ec_at(ec25, temp_c), temp_c) == pytest.approx(ec25)


AMOUNTS = st.dictionaries(
    st.sampled_from([name for name, ion in IONS.items() if ion.charge]), st.floats(0.01, 10), min_size=1
)


@given(AMOUNTS)
def test_more_of_everything_conducts_more_but_less_than_in_proportion(ions: dict[str, float]) -> None:
    once = conductivity_ms_cm(ions)
    half = conductivity_ms_cm({name: amount / 2 for name, amount in ions.items()})
    assert half < once <= 2 * half * (1 + 1e-6)


@given(st.sampled_from(["20-10-20", "24-8-16", "13-0-46", "3-4-3"]), st.floats(10, 300))
def test_the_ions_of_a_feed_carry_no_open_charge(grade: str, ppm: float) -> None:
    dose = feed(grade, round(ppm, 1))
    ions = feed_ions(dose, {"nitrate": dose.product.grade.n / 2, "ammonium": dose.product.grade.n / 2})
    assert sum(amount * IONS[ion].charge for ion, amount in ions.items()) == pytest.approx(0, abs=1e-9)
    assert ionic_strength(ions) > 0


def test_what_p_and_k_alone_tell_to_be_within_the_ceilings_is_within_them() -> None:
    """Every feed of N, P and K that is let through unseen passes no ceiling when it is looked at."""
    seen = 0
    for n, p, k in product(range(0, 50, 7), range(0, 53, 4), range(0, 55, 6)):
        if n + p + k > 100 or not n + p + k:
            continue
        one = Product(parse_grade(f"{n}-{p}-{k}"))
        for per_l in (Decimal("0.3"), Decimal(1), Decimal(3), Decimal(20)):
            dose = Dose(one, Decimal(1), per_l, per_l)
            if is_surely_within(dose.nutrients_mg_per_l, USUAL):
                seen += 1
                assert passed(dose.nutrients_mg_per_l, expected_ec(dose), USUAL) == ()
    assert seen > 500
    assert not is_surely_within({"N": Decimal(0), "P": Decimal(0), "K": Decimal(0), "Mg": Decimal(1)}, USUAL)
