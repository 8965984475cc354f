"""Stock bottles: not too strong for the cold, calcium apart from sulfate and phosphate, labelled."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedplan.dose.arithmetic import Product, Stock, stock_at, work_out_dose
from feedplan.dose.grade import parse_grade, with_nutrients
from feedplan.dose.salts import SALTS, bottles_for, check_stock, do_clash, safe_stock_g_per_l
from feedplan.dose.strength import PpmN
from feedplan.errors import DoseError
from feedplan.words.dose import bottle_label
from tests.dose.published import rows


def of_salt(name: str) -> Product:
    return Product(SALTS[name].grade, name=name)


SALT_PRODUCTS = [of_salt(name) for name in SALTS]


@pytest.mark.parametrize("pair", rows("clashes", "published_salts.yaml"))
def test_listed_pairs_do_not_share_a_bottle(pair: list[str]) -> None:
    one, other = map(of_salt, pair)
    assert do_clash(one, other)
    assert do_clash(other, one)
    assert len(bottles_for([one, other])) == 2


def test_nitrates_and_potassium_salts_share_a_bottle_with_calcium() -> None:
    calcium = of_salt("calcium nitrate tetrahydrate")
    assert not do_clash(calcium, of_salt("potassium nitrate"))
    assert not do_clash(calcium, of_salt("potassium chloride"))
    assert not do_clash(calcium, of_salt("urea"))


def test_iron_without_phosphate_is_kept_from_phosphate() -> None:
    iron = Product(with_nutrients(parse_grade("0-0-0"), {"Fe": Decimal(6)}), name="iron")
    assert do_clash(iron, of_salt("monopotassium phosphate"))
    assert not do_clash(iron, of_salt("calcium nitrate tetrahydrate"))


@given(st.lists(st.sampled_from(SALT_PRODUCTS), max_size=8))
def test_no_bottle_holds_a_clash_and_nothing_is_lost(products: list[Product]) -> None:
    bottles = bottles_for(products)
    assert sorted(product.name for bottle in bottles for product in bottle) == sorted(
        p.name for p in products
    )
    for bottle in bottles:
        assert not any(do_clash(one, other) for one in bottle for other in bottle)
    assert len(bottles) <= 2


def test_a_stock_stays_below_two_thirds_of_what_dissolves_in_the_cold() -> None:
    mkp = SALTS["monopotassium phosphate"]
    # IUPAC-NIST record 66_22: 17.7 g in 100 g of water at 10 C, so at most 17.7 / 1.177 x 1.10 kg/L = 165 g/L whatever
    # its density up to 1.1, and two thirds of that is 110 g/L.
    assert 90 < safe_stock_g_per_l(mkp, Decimal(10)) < 110
    assert safe_stock_g_per_l(mkp, Decimal(20)) > safe_stock_g_per_l(mkp, Decimal(10))
    check_stock(Stock(Decimal(90), Decimal(100)), mkp, Decimal(10))
    with pytest.raises(DoseError) as refusal:
        check_stock(Stock(Decimal(150), Decimal(100)), mkp, Decimal(10))
    assert str(refusal.value).startswith(
        "150 g of monopotassium phosphate in a litre may crystallise at 10 °C; make it "
    )


def test_a_restricted_salt_gets_no_stock() -> None:
    with pytest.raises(
        DoseError, match="ammonium nitrate is restricted in many countries; no stock is worked out"
    ):
        safe_stock_g_per_l(SALTS["ammonium nitrate"], Decimal(20))


def test_a_temperature_outside_the_table_is_said_not_guessed() -> None:
    with pytest.raises(DoseError) as refusal:
        safe_stock_g_per_l(SALTS["magnesium nitrate hexahydrate"], Decimal(5))
    assert str(refusal.value) == (
        "how much magnesium nitrate hexahydrate dissolves below 10 °C is not known here; keep the stock warmer, "
        "or weigh into the can instead"
    )


def test_a_bottle_says_what_it_is_and_how_to_use_it() -> None:
    mix = work_out_dose(Product(parse_grade("20-10-20")), PpmN(Decimal(100)), Decimal(10))
    label = bottle_label(mix, stock_at(mix, Decimal(100)), date(2027, 4, 24), Decimal(2))
    assert label == [
        "20-10-20 stock. NOT FOR DRINKING.",
        "100.0 g made up to 2 L with water.",
        "Use 10 ml in each litre of feed: 100 ppm N.",
        "Made 2027-04-24. Shake before use; throw none of it into drains or ponds.",
        "Keep cool, dark and locked away from children and pets, never in a drink bottle.",
    ]
