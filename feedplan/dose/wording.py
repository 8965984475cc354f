"""What a mix looks like on paper, and the same facts as plain numbers."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

from feedplan.dose.arithmetic import LIQUID, SMALLEST_AMOUNT, Dose
from feedplan.dose.stock import Stock, stock_for_small

# Upper end of a constant feed for flower crops, 150 to 250 ppm N (university extension fact sheets); a tree in a
# small pot is fed well below it.
STRONG_PPM_N = Decimal(250)

# Above this a complete feed may not dissolve in cold water (common practice, no source; the label may say).
STRONG_STOCK_PER_L = Decimal(200)


def one_decimal(number: Decimal) -> str:
    """A number to one decimal, halves up: what a 0.1 g scale or a 0.1 ml syringe can show."""
    return f"{number.quantize(Decimal('0.1'), ROUND_HALF_UP):f}"


def three_figures(number: Decimal) -> str:
    """A number to three figures without an exponent or trailing zeros, such as 0.625, 5 or 1240."""
    if number == 0:
        return "0"
    last_place = Decimal(1).scaleb(number.adjusted() - 2)
    rounded = number.quantize(last_place, ROUND_HALF_UP) if last_place < 1 else number.quantize(Decimal(1))
    return f"{rounded.normalize():f}"


def amount_words(dose: Dose) -> str:
    """The amount for all the litres, such as "5.0 g" or "12.4 ml"."""
    return f"{one_decimal(dose.amount)} {dose.product.unit}"


def dose_lines(
    dose: Dose, stock: Stock | None = None, ratio: Decimal | None = None, volume: str = ""
) -> list[str]:
    """The mix in words: what to do, how much that is per litre, what is then in the feed, cautions if any.

    stock, ratio: set together for a dose that goes through a 1:ratio stock. volume: how to write the volume of
    feed; in litres if empty.
    """
    volume = volume or f"{three_figures(dose.litres)} L"
    lines = [_per_litre(dose), _nutrients(dose), *cautions(dose, stock)]
    if stock is not None and ratio is not None:
        return _with_stock(dose, stock, ratio, volume) + lines
    if dose.is_too_small:
        return _with_small_stock(dose, volume) + lines
    verb = "Measure" if dose.product.form == LIQUID else "Weigh"
    return [f"{verb} {amount_words(dose)} into {volume}.", *lines]


def _with_stock(dose: Dose, stock: Stock, ratio: Decimal, volume: str) -> list[str]:
    return [
        f"Measure {one_decimal(stock.use_ml)} ml of 1:{ratio:f} stock, fill to {volume}.",
        f"Stock: {one_decimal(stock.per_l)} {dose.product.unit} made up to 1 L with water. "
        f"1:{ratio:f} means 1 part of stock in {ratio:f} parts of mixed feed.",
    ]


def _with_small_stock(dose: Dose, volume: str) -> list[str]:
    unit, stock = dose.product.unit, stock_for_small(dose)
    verb, scale = (
        ("Mix", "measure") if dose.product.form == LIQUID else ("Dissolve", "weigh on a 0.1 g scale")
    )
    return [
        f"{verb} {one_decimal(stock.per_l)} {unit} in water to make 1 L, use {three_figures(stock.use_ml)} ml of it "
        f"in {volume}.",
        f"({three_figures(dose.amount)} {unit} is too little to {scale}. Label the stock bottle: not for drinking.)",
    ]


def _per_litre(dose: Dose) -> str:
    text = f"That is {three_figures(dose.per_l)} {dose.product.unit} per litre"
    if dose.spoons is not None and dose.product.spoon_g is not None and not dose.is_too_small:
        spoon = f"{three_figures(dose.product.spoon_g)} g"
        text += f", about {one_decimal(dose.spoons)} level spoons of {spoon} in all (weighing is surer)"
    return text + "."


def _nutrients(dose: Dose) -> str:
    n, *others = (f"{three_figures(mg)} {name}" for name, mg in dose.nutrients_mg_per_l.items())
    return f"Gives {n.removesuffix('N')}ppm N, {', '.join(others)} (mg per litre, as elements)."


def cautions(dose: Dose, stock: Stock | None = None) -> list[str]:
    """What to look out for in this mix; empty for an ordinary one."""
    unit = dose.product.unit
    found = []
    if dose.is_capped:
        found.append(
            f"Cut from {three_figures(dose.asked_per_l)} to {three_figures(dose.per_l)} {unit} per litre: "
            f"the label allows no more."
        )
    if dose.n_mg_per_l > STRONG_PPM_N:
        found.append("Strong: above 250 ppm N salts can burn roots. Follow the label; start lower.")
    if stock is not None and stock.per_l > STRONG_STOCK_PER_L:
        found.append("Strong stock: it may not dissolve in cold water. Follow the label; shake before use.")
    if stock is not None and stock.use_ml < SMALLEST_AMOUNT:
        found.append("Too little stock to measure: use a smaller ratio.")
    return found


def dose_facts(dose: Dose, stock: Stock | None = None) -> dict[str, object]:
    """The numbers of the mix by name, in a stable order, ready for JSON.

    The stock an amount too small to weigh is measured from counts as the stock when none is given.
    """
    long = "grams" if dose.product.unit == "g" else "millilitres"
    facts: dict[str, object] = {long: _number(dose.amount), f"{long}_per_litre": _number(dose.per_l)}
    for element, mg in dose.nutrients_mg_per_l.items():
        facts[f"{element.lower()}_mg_per_l"] = _number(mg)
    facts["litres"] = _number(dose.litres)
    if dose.spoons is not None:
        facts["spoons"] = _number(dose.spoons)
    facts["too_small_to_weigh"] = dose.is_too_small
    if stock is None and dose.is_too_small:
        stock = stock_for_small(dose)
    if stock is not None:
        facts[f"stock_{long}_per_litre"] = _number(stock.per_l)
        facts["stock_ml"] = _number(stock.use_ml)
    facts["cautions"] = cautions(dose, stock)
    return facts


def _number(number: Decimal) -> float:
    """A decimal as a JSON number; six decimals are finer than any scale."""
    return float(round(number, 6))
