"""Grades: what a label's three numbers are in elements.

Independent references: the libraries `periodictable` and `molmass`, and the rows of published.yaml.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import molmass
import periodictable
import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedplan.dose.grade import (
    ATOMIC_WEIGHTS,
    ELEMENT_OF_OXIDE,
    ELEMENTAL,
    OXIDE,
    OXIDE_FACTORS,
    Grade,
    mass_fraction,
    parse_grade,
    with_nutrients,
)
from tests.dose.published import rows


@pytest.mark.parametrize("element", ATOMIC_WEIGHTS)
def test_atomic_weights_agree_with_both_libraries(element: str) -> None:
    ours = float(ATOMIC_WEIGHTS[element])
    assert ours == pytest.approx(periodictable.elements.symbol(element).mass, rel=2e-4)
    assert ours == pytest.approx(molmass.Formula(element).mass, rel=2e-4)


@pytest.mark.parametrize(("oxide", "element"), ELEMENT_OF_OXIDE.items())
def test_oxide_factors_agree_with_both_libraries(oxide: str, element: str) -> None:
    compound = periodictable.formula(oxide)
    by_periodictable = compound.mass_fraction[periodictable.elements.symbol(element)]
    by_molmass = molmass.Formula(oxide).composition()[element].fraction
    assert float(OXIDE_FACTORS[element]) == pytest.approx(by_periodictable, abs=1e-4)
    assert float(OXIDE_FACTORS[element]) == pytest.approx(by_molmass, abs=1e-4)


@pytest.mark.parametrize("row", rows("oxide_factors"))
def test_oxide_factors_agree_with_print(row: dict[str, Any]) -> None:
    assert float(OXIDE_FACTORS[row["element"]]) == pytest.approx(row["factor"], abs=row["tolerance"])


@pytest.mark.parametrize("row", rows("oxide_inverses"))
def test_oxide_factors_turn_round(row: dict[str, Any]) -> None:
    assert 1 / float(OXIDE_FACTORS[row["element"]]) == pytest.approx(row["factor"], abs=row["tolerance"])


@pytest.mark.parametrize(
    ("element", "atoms", "formula"),
    [("N", {"N": 1, "O": 3}, "NO3"), ("N", {"N": 1, "H": 4}, "NH4"), ("S", {"S": 1, "O": 4}, "SO4")],
)
def test_shares_of_ions_agree_with_both_libraries(element: str, atoms: dict[str, int], formula: str) -> None:
    ours = float(mass_fraction(element, atoms))
    theirs = periodictable.formula(formula).mass_fraction[periodictable.elements.symbol(element)]
    assert ours == pytest.approx(theirs, abs=2e-4)
    assert ours == pytest.approx(molmass.Formula(formula).composition()[element].fraction, abs=2e-4)


def test_a_label_is_read_as_oxides_unless_said_otherwise() -> None:
    assert parse_grade("24-8-16").basis == OXIDE
    elements = parse_grade("24-8-16", ELEMENTAL).elements
    assert [elements["N"], elements["P"], elements["K"]] == [24, 8, 16]


@pytest.mark.parametrize("row", rows("labels") + rows("ratios_with_total"))
def test_a_ratio_with_its_total_is_an_elemental_grade(row: dict[str, Any]) -> None:
    grade = parse_grade(row["text"])
    ours = [float(grade.elements[element]) for element in "NPK"]
    assert ours == pytest.approx(row["elements"], abs=row["tolerance"])
    if "oxides" in row:
        p, k = (float(grade.elements[element] / OXIDE_FACTORS[element]) for element in "PK")
        assert [float(grade.n), p, k] == pytest.approx(row["oxides"], abs=row["tolerance"])


def test_an_elemental_label_read_as_oxides_is_far_off() -> None:
    right = parse_grade("12-9-12", ELEMENTAL).elements["P"]
    wrong = parse_grade("12-9-12").elements["P"]
    assert float(right / wrong) == pytest.approx(2.291, abs=0.001)


@given(*[st.decimals(0, 33, places=1)] * 3)
def test_one_feed_holds_the_same_on_either_basis(n: Decimal, p: Decimal, k: Decimal) -> None:
    elements = Grade(n, p, k).elements
    assert Grade(elements["N"], elements["P"], elements["K"], ELEMENTAL).elements == elements


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("20-10-20", ("20", "10", "20")),
        ("15.5-0-0", ("15.5", "0", "0")),
        (" 7 - 3 - 6 ", ("7", "3", "6")),
        ("12–12–17", ("12", "12", "17")),
    ],
)
def test_grades_are_read_as_labels_print_them(text: str, numbers: tuple[str, str, str]) -> None:
    grade = parse_grade(text)
    assert (grade.n, grade.p, grade.k) == tuple(map(Decimal, numbers))


def test_a_grade_prints_as_the_label_does() -> None:
    assert str(parse_grade("15.50-0-20")) == "15.5-0-20"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("3:1:2", "'3:1:2' is a ratio, not a grade; write the percentages, such as 24-8-16"),
        ("20-20", "'20-20' is not a grade; write the label's three percentages, such as 24-8-16"),
        ("", "'' is not a grade; write the label's three percentages, such as 24-8-16"),
        ("20-10-20-2", "'20-10-20-2' is not a grade; write the label's three percentages, such as 24-8-16"),
        ("20,5-10-20", "'20,5-10-20' is not a grade; write the label's three percentages, such as 24-8-16"),
        ("46-46-46", "grade 46-46-46 must be three percentages that sum to 100 at most, such as 24-8-16"),
        ("0:0:0(33)", "'0:0:0(33)' is a ratio of nothing; write for example 4:3:4(33)"),
    ],
)
def test_what_is_not_a_grade_is_refused_with_advice(text: str, message: str) -> None:
    with pytest.raises(ValueError) as refusal:
        parse_grade(text)
    assert str(refusal.value) == message


def test_an_unknown_basis_is_refused() -> None:
    with pytest.raises(ValueError, match="'organic' is not a basis for a grade; write oxide or elemental"):
        parse_grade("5-3-2", "organic")


def test_further_nutrients_are_kept_as_elements() -> None:
    grade = with_nutrients(
        parse_grade("15-5-15"), {"CaO": Decimal(5), "Mg": Decimal(2), "Fe": Decimal("0.1")}
    )
    assert list(grade.elements) == ["N", "P", "K", "Ca", "Mg", "Fe"]
    assert float(grade.elements["Ca"]) == pytest.approx(5 * 0.7147, abs=0.001)
    assert grade.elements["Mg"] == 2


@pytest.mark.parametrize(
    ("percents", "message"),
    [
        ({"MgO": 2, "Mg": 1}, "Mg is given twice; write it once, as element or as oxide"),
        ({"Xx": 2}, "'Xx' is not a nutrient; write one of Ca, Mg, S, Na, Cl, Fe, Mn, Zn, Cu, B, Mo"),
        ({"Ca": 101}, "Ca 101 is not a percentage; write 0 to 100"),
    ],
)
def test_further_nutrients_that_make_no_sense_are_refused(percents: dict[str, int], message: str) -> None:
    with pytest.raises(ValueError) as refusal:
        with_nutrients(parse_grade("20-10-20"), {name: Decimal(value) for name, value in percents.items()})
    assert str(refusal.value) == message
