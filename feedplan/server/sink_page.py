"""The sink's page: what goes into the can, for any product, strength and can."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from decimal import Decimal, InvalidOperation

from feedplan.dose.arithmetic import (
    LIQUID,
    SOLID,
    Product,
    stock_for_small,
    work_out_dose,
)
from feedplan.dose.ceilings import EC, USUAL
from feedplan.dose.conductivity import ION_OF_ELEMENT, IONS, IONS_SHARE, PAIRS
from feedplan.dose.grade import ATOMIC_WEIGHTS, Grade
from feedplan.dose.strength import STRONGEST_PPM_N, LabelShare, PpmN, Strength
from feedplan.errors import DoseError
from feedplan.model.collection import Collection
from feedplan.words.dose import amount_words, dose_lines, three_figures
from feedplan.words.language import say

CANS_L = (Decimal("1.5"), Decimal(5), Decimal(9), Decimal(10))
"""Cans that many growers have [L]."""

STRENGTHS_PPM = (25, 50, 75, 100, 150, 200)
LABEL_SHARES = (("1/4", Decimal("0.25")), ("1/2", Decimal("0.5")), ("1", Decimal(1)))
OTHER = "another label"
_LARGEST_CAN_L = Decimal(1000)
# What a field of the sink's form says until somebody writes in it.
_USUAL = {
    "n": "20",
    "p": "20",
    "k": "20",
    "form": SOLID,
    "density": "1.2",
    "strength": "100",
    "own_ppm": "100",
}


def can_choices(habit_litres: Decimal, chosen: Decimal) -> list[tuple[str, bool]]:
    """The cans to choose from, as numbers of litres, with the one chosen; the grower's own among them."""
    cans = sorted({*CANS_L, habit_litres, chosen})
    return [(three_figures(can), can == chosen) for can in cans]


@dataclass(frozen=True, slots=True)
class SinkPage:
    """The form and its answer.

    form: its fields as they were written. products: to choose from, as the page's script works with them. amount: what
    a wet hand needs; into: of what; lines: the rest, or what is wrong.
    """

    form: Mapping[str, str]
    products: tuple[Mapping[str, object], ...]
    amount: str
    into: str
    lines: tuple[str, ...]


def sink_page(collection: Collection, form: Mapping[str, str]) -> SinkPage:
    """The page for what was asked. form: the fields by name; whatever is missing has a usual value."""
    products = {feed.name: feed.product for feed in collection.feeds.values() if not feed.is_solid}
    can = three_figures(collection.habits.can_litres)
    asked = {"product": next(iter(products), OTHER), "can": can, "own_can": can} | _USUAL | dict(form)
    if asked["product"] not in (*products, OTHER):
        asked["product"] = next(iter(products), OTHER)
    amount, into, lines = _answer(asked, products)
    return SinkPage(asked, tuple(map(_for_script, products, products.values())), amount, into, lines)


def _for_script(name: str, product: Product) -> dict[str, object]:
    """A product of the shelf. mg: nutrients in one gram or ml [mg], N first. rate, most: per litre, None for none."""
    return {
        "title": name,
        "unit": product.unit,
        "mg": [(element, float(mg)) for element, mg in product.mg_per_unit.items()],  # JSON here sorts names
        "spoon": _number_or_none(product.spoon_g),
        "rate": _number_or_none(product.label_rate_per_l),
        "most": _number_or_none(product.highest_per_l),
    }


def _number_or_none(value: Decimal | None) -> float | None:
    return None if value is None else float(value)


def sink_sentences() -> dict[str, str]:
    """How the sink answers, with {fields} to fill, for the page's script.

    What is said of a dose is said in the words of `feedplan.dose.wording`; a test in a browser compares them.
    """
    return {
        "missing": say("{product} is not on this page yet; open it again with a connection."),
        "into": say("in {litres} L"),
        "of_stock": say("of the stock below, in {litres} L"),
        "number": say("{field}: write a number from {least} to {most}"),
        "litres": say("Litres of the can"),
        "label": say("The label's numbers"),
        "density": say("The density"),
        "ppm": say("Ppm N"),
        "label_sum": say("The label's numbers: write a number from 0 to 100, 100 in all at most."),
        "no_rate": say("{product} has no label rate; give it in {unit}/L, or ask for ppm N instead."),
        "no_n": say(
            "{product} holds no nitrogen, so ppm N sets no dose; use a share of its label rate instead."
        ),
        "too_weak": say("{product} is too weak for this: use a product with more N, or ask for less."),
        "stock_g": say("Dissolve {amount} g in water to make 1 L, use {ml} ml of it in {litres} L."),
        "stock_ml": say("Mix {amount} ml in water to make 1 L, use {ml} ml of it in {litres} L."),
        "small_g": say(
            "({amount} g is too little to weigh on a 0.1 g scale. Label the stock bottle: not for drinking.)"
        ),
        "small_ml": say("({amount} ml is too little to measure. Label the stock bottle: not for drinking.)"),
        "per_l": say("That is {amount} {unit} per litre."),
        "per_l_spoons": say(
            "That is {amount} {unit} per litre, about {count} level spoons of {spoon} g in all (weighing is surer)."
        ),
        "gives": say("Gives {n} ppm N, {others} (mg per litre, as elements)."),
        "cut": say("Cut from {asked} to {amount} {unit} per litre: the label allows no more."),
        "strong": say("Strong: above 250 ppm N salts can burn roots. Follow the label; start lower."),
        "too_rich": say(
            "Too rich for trees in pots: {words}. Make it {percent} % as strong, {ppm} ppm N; a feed with more N for "
            "its P and K can be stronger."
        ),
        "too_rich_no_n": say("Too rich for trees in pots: {words}. Make it {percent} % as strong."),
        "over": say("{holds} mg {what} per litre, above {most}"),
        "over_ec": say("{holds} mS/cm over the water's own, above {most}"),
    }


def rich_figures() -> dict[str, object]:
    """By which the page's script finds what is too rich, as `feedplan.dose.ceilings` does.

    most: the ceilings [mg/L as element, mS/cm]. ions, ion_of, pairs: of `feedplan.dose.conductivity`; weights [g/mol].
    unsure: how far conductivity may be off [share].
    """
    most = {"P": USUAL.p_mg_per_l, "K": USUAL.k_mg_per_l, EC: USUAL.ec_ms_per_cm}
    return {
        "most": {what: float(value) for what, value in most.items()},
        "ions": {name: asdict(ion) for name, ion in IONS.items()},
        "ion_of": ION_OF_ELEMENT,
        "weights": {element: float(ATOMIC_WEIGHTS[element]) for element in ION_OF_ELEMENT},
        "pairs": PAIRS,
        "unsure": IONS_SHARE,
    }


def _answer(asked: Mapping[str, str], products: Mapping[str, Product]) -> tuple[str, str, tuple[str, ...]]:
    """Amount, vessel and lines; what is wrong as the only line."""
    try:
        product = products.get(asked["product"]) or _other_product(asked)
        litres = _number(asked["own_can" if asked["can"] == "own" else "can"], "litres", _LARGEST_CAN_L)
        dose = work_out_dose(product, _strength(asked), litres, cap=True)
    except (DoseError, ValueError) as refusal:
        return "", "", (f"{str(refusal)[:1].upper()}{str(refusal)[1:]}.",)
    words = three_figures(litres)
    if dose.is_too_small:
        amount = f"{three_figures(stock_for_small(dose).use_ml)} ml"
        return amount, _sink_words("of_stock", litres=words), tuple(dose_lines(dose))
    # The first line says the amount, which the page shows large.
    return amount_words(dose), _sink_words("into", litres=words), tuple(dose_lines(dose)[1:])


def _sink_words(name: str, **values: object) -> str:
    return sink_sentences()[name].format(**values)


def _other_product(asked: Mapping[str, str]) -> Product:
    """The product whose label was typed in. Raises ValueError."""
    n, p, k = (_number(asked[name], "label", Decimal(100), least=Decimal(0)) for name in "npk")
    grade = Grade(n, p, k)
    if asked["form"] != LIQUID:
        return Product(grade, SOLID)
    return Product(grade, LIQUID, _number(asked["density"], "density", Decimal(2)))


def _strength(asked: Mapping[str, str]) -> Strength:
    """The strength chosen: ppm N, or a share of the label's rate. Raises ValueError."""
    strength = asked["strength"]
    shares = {f"label {words}": share for words, share in LABEL_SHARES}
    if strength in shares:
        return LabelShare(shares[strength])
    return PpmN(_number(asked["own_ppm"] if strength == "own" else strength, "ppm", STRONGEST_PPM_N))


def _number(text: str, field: str, most: Decimal, least: Decimal = Decimal("0.01")) -> Decimal:
    """A number from a field of the form. Raises ValueError with what was expected."""
    try:
        value = Decimal(text.strip().replace(",", "."))
    except InvalidOperation:
        value = Decimal(-1)
    if not value.is_finite() or not least <= value <= most:
        raise ValueError(_sink_words("number", field=_sink_words(field), least=least, most=most))
    return value
