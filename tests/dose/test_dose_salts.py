"""Straight salts: grades from formulas, forms of nitrogen, solubility, against libraries and published tables."""

from __future__ import annotations

from typing import Any

import molmass
import numpy as np
import periodictable
import pytest
from scipy.interpolate import BarycentricInterpolator

from feedplan.dose.grade import ELEMENT_OF_OXIDE, OXIDE_FACTORS
from feedplan.dose.salts import SALTS, Salt
from tests.dose.published import rows

TABLE = "published_salts.yaml"


def percent(salt: Salt, nutrient: str) -> float:
    """Percent of a nutrient as the source states it, oxide or element."""
    element = ELEMENT_OF_OXIDE.get(nutrient, nutrient)
    factor = float(OXIDE_FACTORS[element]) if nutrient != element else 1.0
    return float(salt.percent(element)) / factor


@pytest.mark.parametrize("row", rows("pure_salts", TABLE), ids=lambda row: row["salt"])
def test_pure_salts_hold_what_their_formula_says(row: dict[str, Any]) -> None:
    salt = SALTS[row["salt"]]
    assert float(salt.molar_mass) == pytest.approx(row["molar_mass"], abs=0.02)
    for nutrient, expected in row["percent"].items():
        assert percent(salt, nutrient) == pytest.approx(expected, abs=row["tolerance"])


@pytest.mark.parametrize("salt", SALTS.values(), ids=lambda salt: salt.name)
def test_pure_salts_agree_with_both_libraries(salt: Salt) -> None:
    counts = "".join(f"{element}{count}" for element, count in salt.atoms.items())
    ours = float(salt.molar_mass)
    assert ours == pytest.approx(periodictable.formula(counts).mass, rel=1e-4)
    assert ours == pytest.approx(molmass.Formula(counts).mass, rel=1e-4)
    for element, item in molmass.Formula(counts).composition().items():
        assert float(salt.percent(element)) == pytest.approx(100 * item.fraction, abs=0.03)


@pytest.mark.parametrize("salt", SALTS.values(), ids=lambda salt: salt.name)
def test_the_atoms_of_a_salt_are_those_of_its_written_formula(salt: Salt) -> None:
    written = sum(_one_part(part).mass for part in salt.formula.split("."))
    assert float(salt.molar_mass) == pytest.approx(written, rel=1e-4)


def _one_part(part: str) -> Any:
    """A formula such as 4H2O or 5Ca(NO3)2, read by molmass."""
    digits = len(part) - len(part.lstrip("0123456789"))
    return molmass.Formula(f"({part[digits:]}){part[:digits] or 1}")


@pytest.mark.parametrize("salt", SALTS.values(), ids=lambda salt: salt.name)
def test_forms_of_nitrogen_sum_to_the_grade(salt: Salt) -> None:
    assert float(sum(salt.nitrogen_percents.values())) == pytest.approx(float(salt.grade.n), abs=1e-9)


@pytest.mark.parametrize("row", rows("nitrogen_forms", TABLE))
def test_forms_of_nitrogen_are_as_published(row: dict[str, Any]) -> None:
    ours = {form: float(value) for form, value in SALTS[row["salt"]].nitrogen_percents.items()}
    assert ours == pytest.approx(row["forms"], abs=row["tolerance"])


@pytest.mark.parametrize("row", rows("typical_products", TABLE), ids=lambda row: row["salt"])
def test_what_is_sold_lies_just_below_the_pure_compound(row: dict[str, Any]) -> None:
    for nutrient, sold in row["percent"].items():
        pure = percent(SALTS[row["salt"]], nutrient)
        assert sold <= pure + 0.01
        assert pure - sold <= row["slack"]


@pytest.mark.parametrize("row", rows("solubility", TABLE), ids=lambda row: f"{row['salt']} {row['temp_c']} C")
def test_solubility_is_as_published(row: dict[str, Any]) -> None:
    solubility = SALTS[row["salt"]].solubility
    assert solubility is not None
    assert solubility.at(row["temp_c"]) == pytest.approx(row["grams"], abs=row["tolerance"])


@pytest.mark.parametrize("row", rows("misprinted_solubility", TABLE), ids=lambda row: row["salt"])
def test_misprints_in_circulation_are_not_reproduced(row: dict[str, Any]) -> None:
    solubility = SALTS[row["salt"]].solubility
    assert solubility is not None
    ours = solubility.at(row["temp_c"])
    assert ours == pytest.approx(row["right"], abs=row["tolerance"])
    assert ours != pytest.approx(row["printed"], rel=0.1)


@pytest.mark.parametrize("salt", SALTS.values(), ids=lambda salt: salt.name)
def test_less_dissolves_in_the_cold_and_nothing_is_claimed_below_the_table(salt: Salt) -> None:
    assert salt.solubility is not None
    coldest = salt.solubility.points[0][0]
    found = [salt.solubility.at(coldest + step) for step in range(0, 40, 2)]
    known = [value for value in found if value is not None]
    assert len(known) == len(found)
    assert known == sorted(known)
    assert salt.solubility.at(coldest - 0.1) is None


@pytest.mark.parametrize(
    "salt",
    [salt for salt in SALTS.values() if salt.solubility and len(salt.solubility.points) >= 4],
    ids=lambda salt: salt.name,
)
def test_each_row_of_a_long_solubility_table_is_what_its_other_rows_foretell(salt: Salt) -> None:
    """Solubility is a smooth curve, so that a figure copied wrongly stands out; a hydrate's rises the most steeply."""
    assert salt.solubility is not None
    temps_c, grams = map(np.array, zip(*salt.solubility.points, strict=True))
    for at in range(1, len(temps_c) - 1):
        others = np.arange(len(temps_c)) != at
        foretold = BarycentricInterpolator(temps_c[others], grams[others])(temps_c[at])
        assert float(foretold) == pytest.approx(grams[at], rel=0.01), temps_c[at]
