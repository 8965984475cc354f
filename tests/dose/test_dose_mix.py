"""Mixing from the shelf: exact where it can be, else the least miss, checked against scipy's bounded least squares."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from itertools import combinations
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import lsq_linear

from feedplan.dose.arithmetic import MOST_PER_L, Product
from feedplan.dose.grade import parse_grade
from feedplan.dose.mix import (
    LEAST_SCALE,
    NUTRIENTS,
    WEIGHTS,
    WORTH_ANOTHER,
    Mix,
    Target,
    find_mix,
    target_from_ratio,
)
from feedplan.dose.salts import SALTS
from feedplan.errors import DoseError
from feedplan.words.dose import help_words, miss_words
from tests.dose.published import rows
from tests.properties import examples

TABLE = "published_salts.yaml"


def shelf(names: list[str]) -> list[Product]:
    return [
        Product(SALTS[name].grade, name=name) if name in SALTS else Product(parse_grade(name), name=name)
        for name in names
    ]


def target(n: Any, p: Any, k: Any) -> Target:
    return Target(Decimal(str(n)), Decimal(str(p)), Decimal(str(k)))


@pytest.mark.parametrize("row", rows("mixes", TABLE))
def test_exact_mixes_come_out_exactly(row: dict[str, Any]) -> None:
    wanted = row["target"]
    mix = find_mix(shelf(row["products"]), target(wanted["N"], wanted["P"], wanted["K"]), most_products=3)
    amounts = {product.name: float(amount) for product, amount in mix.parts}
    expected = dict(zip(row["products"], row["g_per_l"], strict=True))
    assert amounts == pytest.approx(expected, abs=row["tolerance"])
    assert mix.miss == 0
    assert mix.worst is None
    assert help_words(mix) == ""


def test_half_the_nitrogen_from_each_of_two_products() -> None:
    # 0.25 g/L of 20-20-20 and 0.3226 g/L of 15.5-0-0 hold 100 N, 21.82 P, 41.51 K (exact arithmetic).
    mix = find_mix(shelf(["20-20-20", "15.5-0-0"]), target(100, "21.8215", "41.5075"))
    assert [float(amount) for _, amount in mix.parts] == pytest.approx([0.25, 0.3226], abs=0.0001)


def test_a_mix_at_its_own_strength_misses_as_it_did() -> None:
    """Definition: the root of the weighted squares of the misses, with no product at its limit."""
    wanted = target(100, 10, 90)
    found = find_mix(shelf(["20-20-20", "15.5-0-0"]), wanted)
    again = found.times(Decimal(1), wanted)
    assert found.miss > 1
    assert again.miss == pytest.approx(found.miss)
    assert again.misses == pytest.approx(found.misses)


def test_a_nutrient_of_which_none_is_wanted_is_measured_against_a_quarter_of_the_nitrogen() -> None:
    """By hand: 0.5 g/L of 20-4-0 brings 100 N and 8.73 P, which is 34.9 % of 25 mg/L. The quarter is judgement."""
    mix = find_mix(shelf(["20-4-0"]), target(100, 0, 0))
    assert mix.misses["P"] == pytest.approx(34.9, abs=0.1)
    assert mix.times(Decimal(2), target(200, 0, 0)).misses["P"] == pytest.approx(34.9, abs=0.1)


@pytest.mark.parametrize("row", rows("ratios", TABLE))
def test_a_label_ratio_becomes_elements(row: dict[str, Any]) -> None:
    ratio = [Decimal(str(part)) for part in row["ratio"]]
    wanted = target_from_ratio(Decimal(100), ratio, row["basis"])
    assert float(wanted.p) == pytest.approx(row["p"], abs=row["tolerance"])
    assert float(wanted.k) == pytest.approx(row["k"], abs=row["tolerance"])


def test_an_elemental_ratio_is_taken_as_it_is() -> None:
    assert target_from_ratio(Decimal(100), [Decimal(100), Decimal(13), Decimal(65)], "elemental") == target(
        100, 13, 65
    )


def test_a_ratio_may_ask_for_none_of_a_nutrient() -> None:
    assert target_from_ratio(Decimal(90), [Decimal(3), Decimal(0), Decimal(1)], "elemental") == target(
        90, 0, 30
    )


def test_a_miss_of_ten_percent_is_close_enough() -> None:
    """Judgement: above it another kind of product is asked for."""
    nutrients = dict.fromkeys(NUTRIENTS, Decimal(1))
    assert Mix((), nutrients, {"N": 0.0, "P": -10.0, "K": 0.0}, 10.0).worst is None
    assert Mix((), nutrients, {"N": 0.0, "P": -10.1, "K": 0.0}, 10.1).worst == ("P", -10.1)


def test_one_product_is_enough_when_it_fits() -> None:
    mix = find_mix(
        shelf(["24-8-16", "13-0-46", "0-52-34"]),
        target_from_ratio(Decimal(120), [Decimal(3), Decimal(1), Decimal(2)], "oxide"),
    )
    assert [product.name for product, _ in mix.parts] == ["24-8-16"]
    assert mix.miss == pytest.approx(0, abs=1e-9)


def test_a_label_maximum_bounds_the_mix() -> None:
    capped = Product(parse_grade("20-20-20"), name="capped", label_maximum_per_l=Decimal("0.3"))
    mix = find_mix([capped], target(100, 43.6, 83))
    assert mix.parts[0][1] == Decimal("0.3")
    assert mix.misses["N"] == pytest.approx(-40)
    assert mix.worst is not None
    assert mix.worst[1] == pytest.approx(-40, abs=1)
    assert miss_words(mix, target(100, 43.6, 83)) == "N 40 % short, P 40 % short, K 40 % short"


@pytest.mark.parametrize(
    ("names", "wanted", "miss", "help_with"),
    [
        (
            ["15.5-0-0", "0-52-34"],
            target(100, 10, 150),
            "K 8",
            "It takes a feed with K and little else, such as",
        ),
        (["20-20-20"], target(100, 5, 83), "P 7", "It takes a feed without P, such as"),
        (
            ["0-52-34"],
            target(100, 20, 20),
            "N 100 % short",
            "It takes a feed with N and little else, such as",
        ),
    ],
)
def test_a_shelf_that_cannot_come_close_says_what_would_help(
    names: list[str], wanted: Target, miss: str, help_with: str
) -> None:
    mix = find_mix(shelf(names), wanted)
    assert miss in miss_words(mix, wanted)
    assert help_words(mix).startswith(help_with)


def test_an_empty_shelf_and_a_target_without_nitrogen_are_refused() -> None:
    with pytest.raises(DoseError, match="no products to mix; name at least one"):
        find_mix([], target(100, 10, 50))
    with pytest.raises(DoseError, match="a target needs nitrogen; give ppm N above 0"):
        find_mix(shelf(["0-52-34"]), target(0, 10, 50))
    with pytest.raises(DoseError, match="allow at least 1"):
        find_mix(shelf(["20-20-20"]), target(100, 10, 50), most_products=0)
    with pytest.raises(ValueError, match="a ratio is N, P and K, N above 0; write for example 3:1:2"):
        target_from_ratio(Decimal(100), [Decimal(0), Decimal(1), Decimal(2)], "oxide")


GRADES = ["24-8-16", "20-10-20", "15.5-0-0", "13-0-46", "0-52-34", "0-0-50", "21-0-0", "10-52-10", "12-61-0"]


def scipy_miss(chosen: list[Product], wanted: Target) -> float:
    """Weighted miss in percent of the best mix of all these products, by scipy."""
    scales = np.array(
        [max(float(amount), float(LEAST_SCALE * Fraction(wanted.n))) for amount in wanted.amounts]
    )
    roots = np.sqrt([float(WEIGHTS[name]) for name in NUTRIENTS]) / scales
    matrix = (
        np.array([[float(one.mg_per_unit[name]) for one in chosen] for name in NUTRIENTS]) * roots[:, None]
    )
    vector = np.array([float(amount) for amount in wanted.amounts]) * roots
    uppers = [float(one.highest_per_l if one.highest_per_l is not None else MOST_PER_L) for one in chosen]
    found = lsq_linear(matrix, vector, bounds=(0, uppers), tol=1e-14, method="bvls")
    return 100 * float(np.sqrt(2 * found.cost))


@examples(60)
@given(
    st.lists(st.sampled_from(GRADES), min_size=1, max_size=4, unique=True),
    st.integers(20, 300),
    st.integers(0, 100),
    st.integers(0, 300),
    st.decimals("0.2", 2, places=1) | st.none(),
)
def test_no_mix_of_the_shelf_misses_less_by_scipy(
    names: list[str], n: int, p: int, k: int, highest: Decimal | None
) -> None:
    products = [Product(parse_grade(name), name=name, label_maximum_per_l=highest) for name in names]
    wanted = target(n, p, k)
    mix = find_mix(products, wanted)
    pairs = [scipy_miss(list(chosen), wanted) for size in (1, 2) for chosen in combinations(products, size)]
    assert mix.miss <= min(pairs) + WORTH_ANOTHER + 1e-6
    assert mix.miss >= min(pairs) - 1e-6
    chosen = [product for product, _ in mix.parts]
    if chosen:
        assert mix.miss == pytest.approx(scipy_miss(chosen, wanted), abs=1e-6)
    for product, amount in mix.parts:
        assert 0 < amount <= (product.highest_per_l or MOST_PER_L)
    assert len(mix.parts) <= 2


@given(
    st.sampled_from(GRADES),
    st.sampled_from(GRADES),
    st.decimals("0.1", 1, places=2),
    st.decimals("0.1", 1, places=2),
)
def test_the_contents_of_a_mix_are_found_again(one: str, other: str, grams: Decimal, more: Decimal) -> None:
    products = shelf(sorted({one, other}))
    amounts = [grams, more]
    contents = [
        sum((p.mg_per_unit[name] * a for p, a in zip(products, amounts, strict=False)), Decimal(0))
        for name in NUTRIENTS
    ]
    if contents[0] > 0:
        assert find_mix(products, Target(*contents)).miss <= WORTH_ANOTHER
