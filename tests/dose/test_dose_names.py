"""Salts by the names people say: each stands for one that is known, and is sold no richer than the pure salt."""

from __future__ import annotations

from decimal import Decimal

import pytest

from feedplan.dose.grade import parse_grade, with_nutrients
from feedplan.dose.names import LAID_FEEDS, LIQUID_FEEDS, LONGEST_NAME, SOLD, TWO_SALTS, spelled
from feedplan.dose.salts import SALTS
from tests.dose.published import rows


def test_every_salt_but_the_restricted_can_be_named() -> None:
    assert {sold.salt for sold in SOLD.values()} == {
        name for name, salt in SALTS.items() if not salt.is_restricted
    }
    assert set(TWO_SALTS) <= set(SOLD)
    assert set(TWO_SALTS.values()) <= set(SALTS)


def test_names_are_as_they_are_looked_up() -> None:
    names = [*SOLD, *LIQUID_FEEDS, *LAID_FEEDS]
    assert [name for name in names if spelled(name) != name or len(name.split()) > LONGEST_NAME] == []
    assert spelled("Sulphate of  Ammonia") == "sulfate of ammonia"


def test_what_is_sold_is_no_richer_than_the_pure_salt() -> None:
    # Labels round to half a percent; diammonium phosphate 18-46-0 is a field grade below the pure 21-54-0.
    for sold in SOLD.values():
        contains = {element: Decimal(percent) for element, percent in sold.contains.items()}
        bag = with_nutrients(parse_grade(sold.grade), contains).elements
        pure = SALTS[sold.salt].grade.elements
        for element, percent in bag.items():
            assert percent <= pure.get(element, Decimal(0)) + Decimal("0.1"), (sold.salt, element)


@pytest.mark.parametrize(
    "row",
    [row for row in rows("typical_products", "published_salts.yaml") if row["known"] == "read"],
    ids=lambda row: row["salt"],
)
def test_typical_contents_are_as_published(row: dict[str, object]) -> None:
    sold = SOLD[str(row["salt"])]
    grade = parse_grade(sold.grade)
    told = {"N": grade.n, "P2O5": grade.p, "K2O": grade.k} | {e: Decimal(p) for e, p in sold.contains.items()}
    published = {element: Decimal(str(percent)) for element, percent in dict(row["percent"]).items()}  # type: ignore[call-overload]
    if row["salt"] == "monoammonium phosphate":  # published is the field grade, here the one that dissolves
        assert all(told[element] > percent for element, percent in published.items())
    else:
        assert {element: told[element] for element in published} == published
