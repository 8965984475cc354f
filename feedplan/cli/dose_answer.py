"""The answer to a request at the sink: a dose, what a can already holds, or a table over what was not told."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from feedplan.cli.dose_options import StockRequest
from feedplan.cli.dose_product import HEAVY_LIQUID, DoseRequest, Portion
from feedplan.cli.dose_request import one_can
from feedplan.dose.arithmetic import (
    LIQUID,
    MOST_PER_L,
    Dose,
    Product,
    Stock,
    amount_per_litre,
    stock_at,
    work_out_dose,
)
from feedplan.dose.strength import EcTarget, LabelShare, NutrientTarget, PpmN, Strength
from feedplan.errors import DoseError
from feedplan.words.dose import (
    bottle_label,
    dose_cautions,
    dose_facts,
    dose_lines,
    label_to_stick,
    nutrients_words,
    pen_facts,
    pen_lines,
    stock_cautions,
    three_figures,
)
from feedplan.words.language import say
from feedplan.words.sink import beside, feed_words, taken_words

if TYPE_CHECKING:
    from feedplan.dose.salts import Salt

# Cans by the measure of the place [L, or gallons].
_SIZES = {"metric": (1, 2, 5, 10, 15, 20), "us": (1, 2, 3, 5), "imperial": (1, 2, 3, 5)}
_GALLONS = {"us": "us gal", "imperial": "imperial gal"}


class DoseAnswer(NamedTuple):
    """What is printed: lines for a person, or the same facts for JSON."""

    lines: tuple[str, ...]
    facts: Mapping[str, object]


def answer_dose(request: DoseRequest) -> DoseAnswer:
    """The dose, what the can holds, or a table. Raises DoseError for what must not be mixed."""
    if request.amount is not None:
        answer = _of_amount(request, request.amount)
    elif request.strength is None:
        answer = _strengths(request)
    elif request.litres is None and request.can_litres is None and request.stock is None:
        answer = _sizes(request, request.strength)
    else:
        answer = _dose(request, request.strength)
    return answer._replace(lines=(*answer.lines, *taken_words(request.taken)))


# --- One dose --------------------------------------------------------------------------------------------------


def _dose(request: DoseRequest, strength: Strength | NutrientTarget | EcTarget) -> DoseAnswer:
    """The dose for a strength and so much feed, one can where no amount is told."""
    litres = one_can(request) if request.litres is None else request.litres
    volume = request.volume or feed_words(litres, measures=request.measures)
    dose, notes = _worked_out(request, strength, litres)
    pen, facts = _about_pen(request, dose)
    notes = [*pen, *notes, *_about_product(request, strength, dose)]
    if request.stock is None:
        lines = beside(dose_lines(dose, volume=volume), dose, request.measures)
        return DoseAnswer((*lines, *notes), dose_facts(dose) | facts)
    stock, ratio = stock_at(dose, request.stock.ratio), request.stock.ratio
    more = _about_stock(request.stock, request.salt, dose, stock)
    lines = dose_lines(dose, stock, ratio.normalize(), volume)
    return DoseAnswer((*lines, *notes, *more), dose_facts(dose, stock) | facts)


def _worked_out(
    request: DoseRequest, strength: Strength | NutrientTarget | EcTarget, litres: Decimal
) -> tuple[Dose, list[str]]:
    """The dose, and how sure it is. A liquid that may be labelled by weight counts as by weight: the lesser dose."""
    product = request.heavy or request.product
    if not isinstance(strength, EcTarget):
        dose = work_out_dose(product, strength, litres, request.cap)
        return replace(dose, scale=request.scale), []
    from feedplan.engine.sink.can import per_litre_for_ec
    from feedplan.words.sink import ec_words

    target = strength.ms_per_cm - Decimal(str(request.water_ec or 0))
    if target <= 0:
        raise DoseError(
            say(
                "{ec} is no more than the water's own {water} mS/cm; ask for more",
                ec=strength,
                water=request.water_ec,
            )
        )
    amounts = per_litre_for_ec(product, request.feed, request.salt, target)
    if amounts is None:
        raise DoseError(
            say(
                "{product} hardly conducts, so no pen tells its strength; ask for ppm instead",
                product=product.title,
            )
        )
    least, most = amounts
    highest = product.highest_per_l
    if highest is not None and least > highest:
        if not request.cap:
            raise DoseError(
                say(
                    "{product}: {ec} takes {amount} {unit}/L, above the label's {highest} {unit}/L; ask for less",
                    product=product.title,
                    ec=strength,
                    amount=f"{least:.3g}",
                    unit=product.unit,
                    highest=f"{highest:.3g}",
                )
            )
        return Dose(product, litres, highest, least, request.scale), []
    return Dose(product, litres, least, least, request.scale), [
        ec_words(str(strength), least, most, product.unit, request.water_ec)
    ]


def _about_product(
    request: DoseRequest, strength: Strength | NutrientTarget | EcTarget, dose: Dose
) -> Iterator[str]:
    """What is uncertain about a product of that name, and what nitrogen comes with another nutrient."""
    from feedplan.words import sink

    if isinstance(strength, NutrientTarget) and strength.element in ("P", "K") and dose.n_mg_per_l:
        yield sink.makes_words(dose.n_mg_per_l, f"{three_figures(strength.mg_per_l)} ppm {strength.element}")
    if request.heavy is not None:
        yield sink.rough_liquid_words(HEAVY_LIQUID, request.retyped("density 1.2"))
    if request.sold is not None and request.pure is not None:
        yield from _as_sold(request, request.pure, strength, dose)


def _as_sold(
    request: DoseRequest, pure: Product, strength: Strength | NutrientTarget | EcTarget, dose: Dose
) -> Iterator[str]:
    from feedplan.dose.names import TWO_SALTS
    from feedplan.words.sink import as_sold_words

    sold = request.sold
    if sold is None or isinstance(strength, LabelShare | EcTarget):
        return
    per_l = amount_per_litre(pure, strength)
    contents = ", ".join(f"{percent} % {element}" for element, percent in sold.contains.items())
    grade = f"{sold.grade} ({contents})" if contents else sold.grade
    yield from as_sold_words(grade, Dose(pure, dose.litres, per_l, per_l), TWO_SALTS.get(request.name, ""))


def _about_stock(request: StockRequest, salt: Salt | None, dose: Dose, stock: Stock) -> Iterator[str]:
    """Cautions for a stock and its label, if one is wanted; a stock that would crystallise is refused."""
    if salt is not None:
        from feedplan.dose.salts import check_stock

        check_stock(stock, salt, request.coldest_c)
    yield from stock_cautions(salt)
    if request.bottle_litres is not None:
        from datetime import datetime

        made = datetime.now().astimezone().date()
        yield from label_to_stick(bottle_label(dose, stock, made, request.bottle_litres))


def _about_pen(request: DoseRequest, dose: Dose) -> tuple[list[str], dict[str, object]]:
    """What a pen should show of a feed of the collection, where that is sure enough to catch a doubled dose."""
    if request.feed is None:
        return [], {}
    from feedplan.dose.conductivity import together
    from feedplan.engine.sink.can import added_ec

    knows_water = request.water_ec is not None
    ec = together([added_ec(dose, request.feed)], request.water_ec or 0.0)
    if not ec.is_telling:
        return [], {}
    facts = {"ec_at_25_c_ms_per_cm": pen_facts(ec), "with_water": knows_water}
    return list(pen_lines(ec, knows_water, request.at_c, request.at_is_f)), facts


# --- What is in it ---------------------------------------------------------------------------------------------


def _of_amount(request: DoseRequest, amount: Portion) -> DoseAnswer:
    """What a can holds that so much was put into; how much feed it makes, where feed is not told."""
    ratio = Decimal(1) if request.stock is None else request.stock.ratio
    if request.strength is not None:
        return _made(request, amount, request.strength)
    if request.litres is None:
        return _makes(request, amount)
    litres = request.litres * ratio
    if amount.high / litres > MOST_PER_L:
        raise DoseError(
            say(
                "{amount} in {volume} is no feed; a litre takes {most} {unit} at the most",
                amount=amount.words,
                volume=request.volume,
                most=MOST_PER_L,
                unit=request.product.unit,
            )
        )
    from feedplan.words.sink import holds_lines

    low = Dose(request.product, litres, amount.low / litres, amount.low / litres)
    high = Dose(request.heavy or request.product, litres, amount.high / litres, amount.high / litres)
    volume = request.volume
    if request.stock is not None:
        volume = say(
            "{volume} of stock, 1 part of it in {ratio},", volume=volume, ratio=f"{ratio.normalize():f}"
        )
    lines = [*holds_lines(low, high, amount.words, volume), *_rough(request, amount)]
    pen, facts = _about_pen(request, high) if low.per_l == high.per_l else ([], {})
    found = dose_facts(low) | facts
    if (low.per_l, low.product) != (high.per_l, high.product):
        found |= {
            f"highest_{name}": value for name, value in dose_facts(high).items() if name.endswith("_mg_per_l")
        }
    return DoseAnswer((*lines, *pen), found)


def _rough(request: DoseRequest, amount: Portion) -> Iterator[str]:
    from feedplan.words import sink

    if amount.low != amount.high:
        one, other = amount.low / amount.spoons, amount.high / amount.spoons
        yield sink.rough_spoon_words(amount.spoon, one, other, request.retyped("spoon 5 g"))
    if request.heavy is not None:
        yield sink.rough_liquid_words(HEAVY_LIQUID, request.retyped("density 1.2"))


def _made(
    request: DoseRequest, amount: Portion, strength: Strength | NutrientTarget | EcTarget
) -> DoseAnswer:
    """How much feed of a strength an amount makes."""
    if amount.low != amount.high:
        raise DoseError(
            say(
                "a spoonful is no weight; weigh one level spoonful, and type its grams: {command}",
                command=request.retyped("spoon 5 g"),
            )
        )
    one, _ = _worked_out(request, strength, Decimal(1))
    return _dose(request._replace(amount=None, litres=amount.low / one.per_l, volume=""), strength)


def _makes(request: DoseRequest, amount: Portion) -> DoseAnswer:
    """How much feed an amount makes, over strengths."""
    from feedplan.words.sink import makes_lines

    product = request.heavy or request.product
    rows = []
    for words, strength in _usual(product):
        per_l = amount_per_litre(product, strength)
        rows.append((words, Dose(product, amount.low / per_l, per_l, per_l)))
    lines = makes_lines(product.title, amount.words, rows, request.measures)
    return DoseAnswer((*lines, *_rough(request, amount)), _facts(rows))


# --- Tables ----------------------------------------------------------------------------------------------------


def _usual(product: Product) -> Iterator[tuple[str, PpmN | NutrientTarget]]:
    """Usual strengths of a product, weakest first, in words and as values.

    By nitrogen where it holds any: feeds for trees are 20 to 200 ppm N. Else by what it holds most of (judgement).
    """
    main = product.main_nutrient
    if main is None:
        raise DoseError(
            say(
                "{product} holds nothing that a dose goes by; add what its label says, such as --contains 'Fe 6 %'",
                product=product.title,
            )
        )
    if main == "N":
        yield from ((f"{n} ppm N", PpmN(Decimal(n))) for n in (25, 50, 75, 100, 150, 200))
        return
    usual = (
        (25, 50, 75, 100, 150)
        if main in ("P", "K")
        else (10, 20, 30, 50)
        if main in ("Ca", "Mg")
        else (1, 2, 3, 5)
    )
    yield from ((f"{mg} ppm {main}", NutrientTarget(main, Decimal(mg))) for mg in usual)


def _strengths(request: DoseRequest) -> DoseAnswer:
    """A table over usual strengths for one can."""
    from feedplan.words.sink import strengths_lines

    litres = one_can(request) if request.litres is None else request.litres
    volume = request.volume or feed_words(litres, measures=request.measures)
    product, ratio = request.heavy or request.product, None if request.stock is None else request.stock.ratio
    if ratio is not None and product.form == LIQUID:
        ml = litres * 1000 / ratio
        return _of_amount(
            request._replace(stock=None, litres=litres, volume=volume),
            Portion(ml, ml, f"{three_figures(ml)} ml"),
        )
    rows = []
    for words, strength in _usual(product):
        per_l = amount_per_litre(product, strength)
        rows.append((words, Dose(product, litres, per_l, per_l, request.scale)))
    lines = list(strengths_lines(product.title, volume, rows, request.measures))
    if ratio is not None:
        lines.append(_stock_of_table(rows[3 if len(rows) > 4 else -1], ratio))
    lines += _about_product(request, _usual_one(product), rows[0][1]) if request.sold or request.heavy else []
    return DoseAnswer(tuple(lines), _facts(rows))


def _usual_one(product: Product) -> PpmN | NutrientTarget:
    return next(iter(_usual(product)))[1]


def _stock_of_table(row: tuple[str, Dose], ratio: Decimal) -> str:
    """How strong a stock must be for one row of the table."""
    words, dose = row
    return say(
        "Through 1:{ratio}, 1 part of stock in {ratio} parts of mixed feed, {strength} takes {amount} {unit} in each "
        "litre of stock; say the strength for the stock of another.",
        ratio=f"{ratio.normalize():f}",
        strength=words,
        amount=three_figures(dose.per_l * ratio),
        unit=dose.product.unit,
    )


def _sizes(request: DoseRequest, strength: Strength | NutrientTarget | EcTarget) -> DoseAnswer:
    """A table over sizes of cans for one strength."""
    from feedplan.dose.measures import UNITS
    from feedplan.words.sink import sizes_lines

    rows: list[tuple[str, Dose]] = []
    notes: list[str] = []
    for size in _SIZES[request.measures]:
        number = Decimal(size)
        gallon = UNITS[_GALLONS[request.measures]] if request.measures in _GALLONS else None
        litres = number if gallon is None else number * gallon.worth
        dose, notes = _worked_out(request, strength, litres)
        rows.append((feed_words(litres, number, "L" if gallon is None else gallon.name), dose))
    dose = rows[-1][1]
    lines = [
        *sizes_lines(request.product.title, str(strength), rows, request.measures),
        nutrients_words(dose),
    ]
    more = [*dose_cautions(dose), *notes, *_about_product(request, strength, dose)]
    return DoseAnswer((*lines, *more), _facts(rows))


def _facts(rows: Sequence[tuple[str, Dose]]) -> dict[str, object]:
    """A table as JSON."""
    return {"rows": [{"for": words} | dose_facts(dose) for words, dose in rows]}
