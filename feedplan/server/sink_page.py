"""The sink: any product or label, any strength, any can, with or without a plan."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from feedplan.dose.arithmetic import LIQUID, SOLID, Dose, Product, stock_for_small, work_out_dose
from feedplan.dose.grade import Grade
from feedplan.dose.strength import STRONGEST_PPM_N, LabelShare, PpmN, Strength
from feedplan.errors import DoseError
from feedplan.model.collection import Collection, Feed
from feedplan.words.dose import amount_words, dose_lines, three_figures

STRENGTHS_PPM = (25, 50, 75, 100, 150, 200)
LABEL_SHARES = (("1/4", Decimal("0.25")), ("1/2", Decimal("0.5")), ("1", Decimal(1)))
OTHER = "another label"
_LARGEST_CAN_L = Decimal(1000)


@dataclass(frozen=True, slots=True)
class ShelfProduct:
    """A product to choose. The numbers as text, exactly as they are, for the page's own arithmetic.

    mg: nutrients in one gram or millilitre [mg], as JSON would have it. rate, maximum: per litre, "" for none.
    """

    name: str
    grade: str
    unit: str
    form: str
    mg: Mapping[str, str]
    spoon: str
    rate: str
    maximum: str


@dataclass(frozen=True, slots=True)
class SinkAsked:
    """What was asked for, as the form has it: numbers as they were written."""

    product: str
    n: str
    p: str
    k: str
    is_liquid: bool
    density: str
    strength: str
    own_ppm: str
    can: str
    own_can: str


@dataclass(frozen=True, slots=True)
class SinkPage:
    """The form and its answer. amount: what a wet hand needs; into: of what; lines: the rest, or what is wrong."""

    asked: SinkAsked
    products: tuple[ShelfProduct, ...]
    amount: str
    into: str
    lines: tuple[str, ...]


def sink_page(collection: Collection, form: Mapping[str, str]) -> SinkPage:
    """The page for what was asked. form: the fields by name; whatever is missing has a usual value."""
    products = [feed for feed in collection.feeds.values() if not feed.is_solid]
    asked = _asked(form, products, collection)
    amount, into, lines = _answer(asked, {feed.name: feed.product for feed in products})
    return SinkPage(asked, tuple(map(_shelf_product, products)), amount, into, lines)


def _asked(form: Mapping[str, str], products: list[Feed], collection: Collection) -> SinkAsked:
    names = [feed.name for feed in products]
    product = form.get("product", "")
    can = three_figures(collection.habits.can_litres)
    return SinkAsked(
        product=product if product in names or product == OTHER else (names[0] if names else OTHER),
        n=form.get("n", "20"),
        p=form.get("p", "20"),
        k=form.get("k", "20"),
        is_liquid=form.get("form") == LIQUID,
        density=form.get("density", "1.2"),
        strength=form.get("strength", "100"),
        own_ppm=form.get("own_ppm", "100"),
        can=form.get("can", can),
        own_can=form.get("own_can", can),
    )


def _answer(asked: SinkAsked, products: Mapping[str, Product]) -> tuple[str, str, tuple[str, ...]]:
    """Amount, vessel and lines; what is wrong as the only line."""
    try:
        product = products.get(asked.product) or _other_product(asked)
        litres = _number(
            asked.own_can if asked.can == "own" else asked.can, "litres of the can", _LARGEST_CAN_L
        )
        dose = work_out_dose(product, _strength(asked), litres, cap=True)
    except (DoseError, ValueError) as refusal:
        return "", "", (f"{str(refusal)[:1].upper()}{str(refusal)[1:]}.",)
    into = f"in {three_figures(litres)} L"
    if dose.is_too_small:
        stock = stock_for_small(dose)
        return f"{three_figures(stock.use_ml)} ml", f"of the stock below, {into}", tuple(dose_lines(dose))
    return amount_words(dose), into, tuple(_without_amount(dose))


def _without_amount(dose: Dose) -> Iterator[str]:
    """The lines after the first, which says the amount that the page shows large."""
    yield from dose_lines(dose)[1:]


def _other_product(asked: SinkAsked) -> Product:
    """The product whose label was typed in. Raises ValueError."""
    hundred = Decimal(100)
    n, p, k = (
        _number(text, "the label's numbers", hundred, least=Decimal(0))
        for text in (asked.n, asked.p, asked.k)
    )
    density = _number(asked.density, "the density", Decimal(2)) if asked.is_liquid else None
    return Product(Grade(n, p, k), LIQUID if asked.is_liquid else SOLID, density)


def _strength(asked: SinkAsked) -> Strength:
    """The strength chosen: ppm N, or a share of the label's rate. Raises ValueError."""
    shares = {f"label {words}": share for words, share in LABEL_SHARES}
    if asked.strength in shares:
        return LabelShare(shares[asked.strength])
    text = asked.own_ppm if asked.strength == "own" else asked.strength
    return PpmN(_number(text, "ppm N", STRONGEST_PPM_N))


def _number(text: str, what: str, most: Decimal, least: Decimal = Decimal("0.01")) -> Decimal:
    """A number from a field of the form. Raises ValueError with what was expected."""
    try:
        value = Decimal(text.strip().replace(",", "."))
    except InvalidOperation:
        value = Decimal(-1)
    if not value.is_finite() or not least <= value <= most:
        raise ValueError(f"{what}: write a number from {least} to {most}")
    return value


def _shelf_product(feed: Feed) -> ShelfProduct:
    product = feed.product
    return ShelfProduct(
        name=feed.name,
        grade=str(product.grade),
        unit=product.unit,
        form=product.form,
        mg={element: _exactly(mg) for element, mg in product.mg_per_unit.items()},
        spoon=_exactly(product.spoon_g),
        rate=_exactly(product.label_rate_per_l),
        maximum=_exactly(product.highest_per_l),
    )


def _exactly(value: Decimal | None) -> str:
    return "" if value is None else f"{value.normalize():f}"
