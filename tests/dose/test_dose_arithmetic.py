"""Dilution arithmetic against print: rule of 75, injector charts, liquids, contents; and its own laws.

Printed charts run 1 to 2 % above exact arithmetic and are compared at their printed rounding; the exact grid is
compared at its last digit.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from feedplan.dose.arithmetic import (
    LIQUID,
    Dose,
    Product,
    amount_per_litre,
    stock_at,
    stock_for_small,
    work_out_dose,
)
from feedplan.dose.grade import Grade, parse_grade
from feedplan.dose.measures import parse_mass, parse_volume
from feedplan.dose.strength import LabelShare, PpmN
from feedplan.errors import DoseError
from tests.dose.published import grid, rows

OUNCE_G = parse_mass("1 oz")
US_GALLON_L = parse_volume("1 US gal")


def solid(percent_n: Any, **label: Any) -> Product:
    """A soluble feed of which only N matters."""
    return Product(Grade(Decimal(str(percent_n)), Decimal(0), Decimal(0)), **label)


def ppm(value: Any) -> PpmN:
    return PpmN(Decimal(str(value)))


@pytest.mark.parametrize("row", rows("ppm_from_amount"))
def test_an_amount_in_gallons_gives_the_printed_ppm(row: dict[str, Any]) -> None:
    grams = Decimal(str(row["grams"])) if "grams" in row else row["oz"] * OUNCE_G
    litres = row["us_gal"] * US_GALLON_L
    mix = Dose(solid(row["percent_n"]), litres, grams / litres, grams / litres)
    assert float(mix.n_mg_per_l) == pytest.approx(row["ppm"], abs=row["tolerance"])


@pytest.mark.parametrize("row", rows("ounces_in_feed"))
def test_ounces_for_a_hundred_gallons_are_as_printed(row: dict[str, Any]) -> None:
    mix = work_out_dose(solid(row["percent_n"]), ppm(row["ppm"]), 100 * US_GALLON_L)
    assert float(mix.amount / OUNCE_G) == pytest.approx(row["oz"], abs=row["tolerance"])


def ounces_per_gallon(percent_n: Any, strength: Any, ratio: Any) -> float:
    mix = work_out_dose(solid(percent_n), ppm(strength), Decimal(1))
    return float(stock_at(mix, Decimal(ratio)).per_l * US_GALLON_L / OUNCE_G)


@pytest.mark.parametrize("row", rows("ounces_in_stock"))
def test_ounces_in_a_gallon_of_stock_are_as_printed(row: dict[str, Any]) -> None:
    ours = ounces_per_gallon(row["percent_n"], row["ppm"], row["ratio"])
    assert ours == pytest.approx(row["oz"], abs=row["tolerance"])


@pytest.mark.parametrize("row", rows("stock_tanks"))
def test_ounces_for_a_stock_tank_are_as_printed(row: dict[str, Any]) -> None:
    ours = row["us_gal"] * ounces_per_gallon(row["percent_n"], row["ppm"], row["ratio"])
    assert ours == pytest.approx(row["oz"], abs=row["tolerance"])


@pytest.mark.parametrize("row", rows("misprinted"))
def test_a_known_misprint_is_not_reproduced(row: dict[str, Any]) -> None:
    ours = ounces_per_gallon(row["percent_n"], row["ppm"], 100)
    assert ours == pytest.approx(row["right_oz"], abs=row["tolerance"])
    assert ours > row["printed_oz"] + 1


@pytest.mark.parametrize("row", rows("stock_nitrogen"))
def test_a_stock_holds_ratio_times_the_nitrogen(row: dict[str, Any]) -> None:
    mix = work_out_dose(solid(20), ppm(row["ppm"]), Decimal(1))
    stock = stock_at(mix, Decimal(row["ratio"]))
    assert stock.per_l * 10 * 20 == row["stock_ppm"]


@pytest.mark.parametrize("cell", grid(), ids=lambda cell: f"{cell['grade']}@{cell['ppm']}, {cell['ratio']}")
def test_every_cell_of_the_injector_grid_agrees(cell: dict[str, str]) -> None:
    ratio = Decimal(cell["ratio"].removeprefix("1:"))
    mix = work_out_dose(Product(parse_grade(cell["grade"])), ppm(cell["ppm"]), Decimal(1))
    stock = stock_at(mix, ratio)
    ounces = float(stock.per_l * US_GALLON_L / OUNCE_G)
    assert float(mix.per_l) == pytest.approx(float(cell["g_per_l_feed"]), abs=0.0005)
    assert float(stock.per_l) == pytest.approx(float(cell["g_per_l_stock"]), abs=0.05)
    assert ounces == pytest.approx(float(cell["oz_per_us_gal"]), abs=0.0006)
    assert ounces == pytest.approx(float(cell["rule_of_75"]), rel=0.002)


@pytest.mark.parametrize("row", rows("in_or_to"))
def test_one_in_a_hundred_is_not_one_to_a_hundred(row: dict[str, Any]) -> None:
    mix = work_out_dose(solid(20), ppm(100), Decimal(10))
    stock = stock_at(mix, Decimal(row["ratio"]))
    assert stock.use_ml * row["ratio"] == 10_000  # 1 part in the whole, as this project fixes it
    added_to_10_l = stock.use_ml / 1000 * stock.per_l / (10 + stock.use_ml / 1000)
    part_in_water = 1 / (1 + stock.use_ml / 10_000)
    assert float(added_to_10_l / mix.per_l) == pytest.approx(row["share"], abs=row["tolerance"])
    assert float(part_in_water) == pytest.approx(row["share"], abs=row["tolerance"])


@pytest.mark.parametrize("row", rows("contents"))
def test_a_feed_holds_the_nutrients_of_its_grade(row: dict[str, Any]) -> None:
    per_l = Decimal(str(row["g_per_l"]))
    mix = Dose(Product(parse_grade(row["grade"])), Decimal(1), per_l, per_l)
    ours = [float(mix.nutrients_mg_per_l[element]) for element in "NPK"]
    assert ours == pytest.approx(row["mg_per_l"], abs=row["tolerance"])


@pytest.mark.parametrize("row", rows("liquids"))
def test_a_liquid_is_dosed_by_its_density(row: dict[str, Any]) -> None:
    grade = parse_grade(row["grade"])
    by_weight = Product(grade, LIQUID, density_kg_per_l=Decimal(str(row["density"])))
    by_volume = Product(grade, LIQUID, by_volume=True)
    strength = ppm(row["ppm"])
    assert float(amount_per_litre(by_weight, strength)) == pytest.approx(
        row["ml_per_l"], abs=row["tolerance"]
    )
    ml_per_l = float(amount_per_litre(by_volume, strength))
    assert ml_per_l == pytest.approx(row["by_volume_ml_per_l"], abs=row["tolerance"])


@pytest.mark.parametrize("row", rows("retained"))
def test_nitrogen_left_in_a_pot_is_volume_times_strength(row: dict[str, Any]) -> None:
    mix = work_out_dose(solid(20), ppm(row["ppm"]), Decimal(str(row["litres"])))
    assert float(mix.n_mg_per_l * mix.litres) == pytest.approx(row["mg_n"], abs=row["tolerance"])
    assert float(mix.amount) == pytest.approx(row["grams_of_20_n"], abs=row["tolerance"])


STRENGTHS = st.decimals(1, 500, places=1).map(PpmN)
PRODUCTS = st.one_of(
    st.builds(solid, st.decimals(3, 46, places=1)),
    st.builds(
        lambda n, density: Product(Grade(n, Decimal(3), Decimal(6)), LIQUID, density),
        st.decimals(3, 25, places=1),
        st.decimals("0.9", "1.5", places=2),
    ),
)


@given(PRODUCTS, STRENGTHS, st.decimals("0.5", 200, places=1))
def test_dose_to_strength_and_back_returns(product: Product, strength: PpmN, litres: Decimal) -> None:
    mix = work_out_dose(product, strength, litres)
    assert float(mix.n_mg_per_l) == pytest.approx(float(strength.n_mg_per_l), rel=1e-12)
    again = work_out_dose(product, PpmN(round(mix.n_mg_per_l, 6)), litres)
    assert float(again.amount) == pytest.approx(float(mix.amount), rel=1e-6)


@given(PRODUCTS, STRENGTHS, STRENGTHS)
def test_a_stronger_feed_never_takes_less(product: Product, one: PpmN, other: PpmN) -> None:
    weak, strong = sorted((one, other), key=lambda strength: strength.n_mg_per_l)
    assert amount_per_litre(product, weak) <= amount_per_litre(product, strong)


@given(PRODUCTS, STRENGTHS, st.decimals("0.5", 200, places=1), st.integers(2, 20))
def test_a_stock_brings_the_same_product_as_weighing(
    product: Product, strength: PpmN, litres: Decimal, ratio: int
) -> None:
    mix = work_out_dose(product, strength, litres)
    if mix.per_l * ratio <= 500:
        stock = stock_at(mix, Decimal(ratio))
        assert float(stock.per_l * stock.use_ml / 1000) == pytest.approx(float(mix.amount))


@example(Decimal("0.001"), Decimal(20))
@given(st.decimals("0.001", "0.49", places=3), st.decimals("0.2", 20, places=1))
def test_what_is_too_small_to_weigh_comes_out_of_a_stock(amount: Decimal, litres: Decimal) -> None:
    mix = Dose(solid(20), litres, amount / litres, amount / litres)
    stock = stock_for_small(mix)
    assert mix.is_too_small
    assert stock.per_l >= 5
    assert float(stock.per_l * stock.use_ml / 1000) == pytest.approx(float(amount))


def test_half_a_gram_can_be_weighed_and_less_cannot() -> None:
    assert not work_out_dose(solid(20), ppm(100), Decimal(1)).is_too_small
    assert work_out_dose(solid(20), ppm(99), Decimal(1)).is_too_small


def test_a_feed_is_strong_above_what_flower_crops_get_all_season() -> None:
    """University extension sheets: constant feed for flower crops goes to 250 ppm N."""
    assert not work_out_dose(solid(20), ppm(250), Decimal(1)).is_strong
    assert work_out_dose(solid(20), ppm(251), Decimal(1)).is_strong


def test_a_share_of_the_label_is_a_share_of_its_rate() -> None:
    mix = work_out_dose(solid(24, label_rate_per_l=Decimal(1)), LabelShare(Decimal("0.5")), Decimal(10))
    assert mix.amount == 5
    assert mix.n_mg_per_l == 120


def test_the_label_maximum_is_refused_or_caps_as_asked() -> None:
    product = solid(20, label_rate_per_l=Decimal(1), label_maximum_per_l=Decimal("1.5"))
    with pytest.raises(DoseError) as refusal:
        work_out_dose(product, ppm(400), Decimal(10))
    assert str(refusal.value) == "20-0-0: 400 ppm N takes 2 g/L, above the label's 1.5 g/L; ask for less"
    capped = work_out_dose(product, ppm(400), Decimal(10), cap=True)
    assert (capped.per_l, capped.asked_per_l, capped.is_capped) == (Decimal("1.5"), Decimal(2), True)
    assert not work_out_dose(product, ppm(300), Decimal(10)).is_capped


def test_without_a_maximum_the_label_rate_is_the_maximum() -> None:
    with pytest.raises(DoseError, match=r"above the label's 1 g/L"):
        work_out_dose(solid(20, label_rate_per_l=Decimal(1)), ppm(201), Decimal(1))


@given(PRODUCTS, STRENGTHS, st.decimals("0.1", 3, places=2))
def test_a_capped_dose_never_exceeds_the_label(product: Product, strength: PpmN, highest: Decimal) -> None:
    labelled = Product(
        product.grade, product.form, product.density_kg_per_l, product.by_volume, label_maximum_per_l=highest
    )
    mix = work_out_dose(labelled, strength, Decimal(10), cap=True)
    assert mix.per_l <= highest
    assert mix.is_capped == (amount_per_litre(product, strength) > highest)


@pytest.mark.parametrize(
    ("product", "strength", "litres", "message"),
    [
        (
            Product(parse_grade("0-52-34")),
            ppm(100),
            10,
            "0-52-34 holds no nitrogen, so ppm N sets no dose; use a share of its label rate instead",
        ),
        (
            solid(20),
            LabelShare(Decimal("0.5")),
            10,
            "20-0-0 has no label rate; give it in g/L, or ask for ppm N instead",
        ),
        (solid(20), ppm(100), 0, "0 L of feed is nothing to mix; give litres above 0"),
        (
            solid("0.1"),
            ppm(100),
            10,
            "0.1-0-0 is too weak for 100 ppm N: that takes 100 g in each litre; "
            "use a product with more N, or ask for less",
        ),
    ],
)
def test_a_dose_that_cannot_be_is_refused_with_what_to_do(
    product: Product, strength: PpmN | LabelShare, litres: int, message: str
) -> None:
    with pytest.raises(DoseError) as refusal:
        work_out_dose(product, strength, Decimal(litres))
    assert str(refusal.value) == message


def test_a_stock_that_would_not_dissolve_is_refused() -> None:
    mix = work_out_dose(solid(20), ppm(400), Decimal(10))
    with pytest.raises(DoseError) as refusal:
        stock_at(mix, Decimal(1000))
    assert str(refusal.value) == (
        "a 1:1000 stock would need 2000 g in each litre; use a smaller ratio, 1:250 at most"
    )


@pytest.mark.parametrize("density", ["0.8", "2.0"])
def test_the_lightest_and_the_heaviest_feed_are_taken(density: str) -> None:
    """Judgement: concentrates weigh 0.8 to 2.0 kg/L."""
    assert Product(parse_grade("6-3-6"), LIQUID, Decimal(density)).density_kg_per_l == Decimal(density)


@pytest.mark.parametrize(
    ("label", "message"),
    [
        ({"form": "gas"}, "'gas' is not a form of feed; write solid or liquid"),
        ({"form": "liquid"}, "a liquid feed needs its density"),
        ({"form": "liquid", "density_kg_per_l": Decimal(1200)}, "density 1200 kg/L is outside 0.8 to 2.0"),
        ({"form": "liquid", "by_volume": True, "spoon_g": Decimal(5)}, "a liquid feed is measured in ml"),
        ({"by_volume": True}, "a solid feed is labelled by weight"),
        ({"label_rate_per_l": Decimal(0)}, "the label rate is 0; write a number above 0"),
    ],
)
def test_a_label_that_cannot_be_is_refused(label: dict[str, Any], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        Product(parse_grade("20-10-20"), **label)


def test_the_same_feed_fills_another_can() -> None:
    mix = work_out_dose(solid(20, spoon_g=Decimal(5)), ppm(100), Decimal(25))
    assert mix.for_litres(Decimal(10)).amount == 5
    assert mix.for_litres(Decimal(10)).spoons == 1
