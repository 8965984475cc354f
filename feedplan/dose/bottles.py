"""Stock bottles: how strong a stock may be where it is kept, and what must not share a bottle."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from feedplan.dose.arithmetic import Product, Stock
from feedplan.dose.salts import Salt, grams_per_litre_of_solution
from feedplan.errors import DoseError

# An engineering margin, not published: a second salt with an ion in common, hard water and a cold night all lower
# what stays dissolved.
SAFE_SHARE = Decimal(2) / 3


def safe_stock_g_per_l(salt: Salt, coldest_c: Decimal) -> Decimal:
    """The most of a straight salt to put in a litre of stock kept no colder than a temperature [g/L].

    Two thirds of its solubility there. Raises DoseError for a restricted salt, and where nothing is known.
    """
    if salt.is_restricted:
        raise DoseError(f"{salt.name} is restricted in many countries; no stock is worked out for it")
    grams = salt.solubility.at(float(coldest_c)) if salt.solubility is not None else None
    if grams is None:
        warm_enough = "" if salt.solubility is None else f" below {salt.solubility.points[0][0]:g} °C"
        raise DoseError(
            f"how much {salt.name} dissolves{warm_enough} is not known here; keep the stock warmer, "
            f"or weigh into the can instead"
        )
    return SAFE_SHARE * Decimal(str(round(grams_per_litre_of_solution(grams), 3)))


def check_stock(stock: Stock, salt: Salt, coldest_c: Decimal) -> None:
    """Raises DoseError when a stock of a straight salt would crystallise, or nearly, at the coldest it is kept."""
    safe = safe_stock_g_per_l(salt, coldest_c)
    if stock.per_l > safe:
        raise DoseError(
            f"{float(stock.per_l):.3g} g of {salt.name} in a litre may crystallise at {coldest_c} °C; "
            f"make it {float(safe):.3g} g or weaker"
        )


def do_clash(one: Product, other: Product) -> bool:
    """Whether two products must not share a stock bottle, though the dilute feed may hold both.

    Calcium with sulfate makes gypsum, calcium with phosphate makes calcium phosphate, and iron that is not chelated
    goes with phosphate (pairs as extension sheets and makers of fertigation gear list them). Magnesium with
    ammonium phosphate clashes only in alkaline water and is not looked for.
    """
    return _spoils(one, other) or _spoils(other, one)


def _spoils(one: Product, other: Product) -> bool:
    holds, meets = one.grade.elements, other.grade.elements
    has_phosphate, has_sulfate = meets["P"] > 0, meets.get("S", Decimal(0)) > 0
    if holds.get("Ca", Decimal(0)) > 0 and (has_phosphate or has_sulfate):
        return True
    return holds.get("Fe", Decimal(0)) > 0 and holds["P"] == 0 and has_phosphate


def bottles_for(products: Sequence[Product]) -> list[tuple[Product, ...]]:
    """The products sorted into as few bottles as come out when each goes into the first it does not clash with."""
    bottles: list[list[Product]] = []
    for product in products:
        for bottle in bottles:
            if not any(do_clash(product, there) for there in bottle):
                bottle.append(product)
                break
        else:
            bottles.append([product])
    return [tuple(bottle) for bottle in bottles]
