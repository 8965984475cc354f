"""What goes into the can, in words: doses and stocks, mixes, what a pen shows, what to take care of."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from typing import TYPE_CHECKING

from feedplan.dose.arithmetic import LIQUID, Dose, Product, Stock, stock_for_small
from feedplan.dose.measures import UNITS
from feedplan.words.language import say

if TYPE_CHECKING:  # the command at the sink must not wait for what only mixes and salts need
    from feedplan.dose.conductivity import ExpectedEc
    from feedplan.dose.mix import Mix, Target
    from feedplan.dose.salts import Salt

# A miss this small is not worth a word [percent]: a spoon is less exact.
_CLOSE_PERCENT = 2.0


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
    """The amount for all the litres as the scale shows it, such as "5.0 g" or "12.4 ml"."""
    return on_scale_words(dose.scale.nearest(dose.amount), dose.product.unit, dose.scale.ounces)


def on_scale_words(amount: Decimal, unit: str, ounces: Decimal | None = None) -> str:
    """An amount that a scale or syringe shows, such as "4.2 g"; where it shows ounces in such steps "28 g (1.0 oz)"."""
    if ounces is None or unit != "g":
        is_short = amount == round(amount, 3)
        return f"{f'{amount:f}' if is_short else three_figures(amount)} {unit}"
    ounce = UNITS["oz"].worth
    return say(
        "{grams} g ({ounces} oz)",
        grams=one_decimal(amount) if ounces * ounce < 1 else f"{amount.quantize(Decimal(1)):f}",
        ounces=f"{(amount / ounce).quantize(ounces.normalize()):f}",
    )


def volume_words(litres: Decimal, gallons: Decimal | None = None, unit: str = "") -> str:
    """A volume of feed, such as "10 L", or as it was asked for: "2 US gal (7.57 L)"."""
    in_litres = f"{three_figures(litres)} L"
    return in_litres if gallons is None else f"{three_figures(gallons)} {say(unit)} ({in_litres})"


# --- One product -----------------------------------------------------------------------------------------------


def dose_lines(
    dose: Dose, stock: Stock | None = None, ratio: Decimal | None = None, volume: str = ""
) -> list[str]:
    """The dose in words: what to do, how much that is per litre, what is then in the feed, cautions if any.

    stock, ratio: set together for a dose that goes through a 1:ratio stock. volume: how to write the volume of
    feed; in litres if empty.
    """
    volume = volume or volume_words(dose.litres)
    lines = [_per_litre(dose), nutrients_words(dose), *dose_cautions(dose, stock)]
    if stock is not None and ratio is not None:
        return [*_with_stock(dose, stock, ratio, volume), *lines]
    if dose.is_too_small:
        return [*_with_small_stock(dose, volume), *lines]
    return [_into(amount_words(dose), volume, dose.product.form == LIQUID), *lines]


def _into(amount: str, volume: str, is_liquid: bool) -> str:
    if is_liquid:
        return say("Measure {amount} into {volume}.", amount=amount, volume=volume)
    return say("Weigh {amount} into {volume}.", amount=amount, volume=volume)


def _with_stock(dose: Dose, stock: Stock, ratio: Decimal, volume: str) -> Iterator[str]:
    yield say(
        "Measure {ml} ml of 1:{ratio} stock, fill to {volume}.",
        ml=one_decimal(stock.use_ml),
        ratio=f"{ratio:f}",
        volume=volume,
    )
    # Said each time: growers mean 1 in 100 and 1 to 100 by the same sign.
    yield say(
        "Stock: {amount} {unit} made up to 1 L with water. "
        "1:{ratio} means 1 part of stock in {ratio} parts of mixed feed.",
        amount=one_decimal(stock.per_l),
        unit=dose.product.unit,
        ratio=f"{ratio:f}",
    )


def _with_small_stock(dose: Dose, volume: str) -> Iterator[str]:
    """What to do with an amount that no kitchen scale or syringe shows: dissolve more of it, use a part."""
    stock, unit = stock_for_small(dose), dose.product.unit
    is_liquid = dose.product.form == LIQUID
    values = {
        "amount": on_scale_words(dose.scale.nearest(stock.per_l), unit, dose.scale.ounces),
        "ml": three_figures(stock.use_ml),
        "volume": volume,
    }
    little = f"{three_figures(dose.amount)} {unit}"
    if is_liquid:
        yield say("Mix {amount} in water to make 1 L, use {ml} ml of it in {volume}.", **values)
        yield say(
            "({amount} is too little to measure. Label the stock bottle: not for drinking.)", amount=little
        )
    else:
        yield say("Dissolve {amount} in water to make 1 L, use {ml} ml of it in {volume}.", **values)
        yield say(
            "({amount} is too little to weigh on a {step} scale. Label the stock bottle: not for drinking.)",
            amount=little,
            step=f"{dose.scale.step:f} g" if dose.scale.ounces is None else f"{dose.scale.ounces:f} oz",
        )


def _per_litre(dose: Dose) -> str:
    per_l = f"{three_figures(dose.per_l)} {dose.product.unit}"
    if dose.spoons is None or dose.product.spoon_g is None or dose.is_too_small:
        return say("That is {amount} per litre.", amount=per_l)
    return say(
        "That is {amount} per litre, about {spoons} level spoons of {spoon} g in all (weighing is surer).",
        amount=per_l,
        spoons=one_decimal(dose.spoons),
        spoon=three_figures(dose.product.spoon_g),
    )


def nutrients_words(dose: Dose) -> str:
    """What a litre of feed holds: "Gives 100 ppm N, 43.6 P, 83 K (mg per litre, as elements)."."""
    n, *others = (three_figures(mg) for mg in dose.nutrients_mg_per_l.values())
    names = list(dose.nutrients_mg_per_l)[1:]
    named = ", ".join(f"{mg} {name}" for mg, name in zip(others, names, strict=True))
    return say("Gives {n} ppm N, {others} (mg per litre, as elements).", n=n, others=named)


def dose_cautions(dose: Dose, stock: Stock | None = None) -> list[str]:
    """What to look out for in this dose; empty for an ordinary one."""
    from feedplan.words.ceilings import too_rich_words  # noqa: PLC0415 - see above

    found = []
    if dose.is_capped:
        asked, per_l = three_figures(dose.asked_per_l), three_figures(dose.per_l)
        found.append(
            say(
                "Cut from {asked} to {amount} {unit} per litre: the label allows no more.",
                asked=asked,
                amount=per_l,
                unit=dose.product.unit,
            )
        )
    found += too_rich_words(dose)
    if dose.is_strong:
        found.append(say("Strong: above 250 ppm N salts can burn roots. Follow the label; start lower."))
    if stock is not None and stock.is_strong:
        found.append(strong_stock_caution())
    if stock is not None and stock.is_too_small:
        found.append(say("Too little stock to measure: use a smaller ratio."))
    return found


def strong_stock_caution() -> str:
    """What to do about a stock so strong that a complete feed may stay at the bottom."""
    return say("Strong stock: it may not dissolve in cold water. Follow the label; shake before use.")


def dose_facts(dose: Dose, stock: Stock | None = None) -> dict[str, object]:
    """The numbers of the dose by name, in a stable order, ready for JSON.

    The stock an amount too small to weigh is measured from counts as the stock when none is given.
    """
    long = long_unit(dose)
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
    facts["cautions"] = dose_cautions(dose, stock)
    return facts


def long_unit(dose: Dose) -> str:
    """What a product is measured in, as the keys of facts say it: "grams" or "millilitres"."""
    return "grams" if dose.product.unit == "g" else "millilitres"


def _number(number: Decimal) -> float:
    """A decimal as a JSON number; six decimals are finer than any scale."""
    return float(round(number, 6))


# --- Salts and stock bottles -----------------------------------------------------------------------------------


def salt_caution(salt: Salt | None) -> str:
    """The usual caution of a straight salt; empty for an ordinary one, and for what is none."""
    found = []
    if salt is not None and salt.is_oxidiser:
        found.append(
            say("An oxidiser: keep from heat, fuel, sawdust and acids, in its own closed container.")
        )
    if salt is not None and salt.is_restricted:
        found.append(
            say("Restricted in many countries: shown for information, no stock is worked out for it.")
        )
    return " ".join(found)


def stock_cautions(salt: Salt | None) -> list[str]:
    """What to take care of with a stock, and with this salt."""
    own = salt_caution(salt)
    return [
        say("A concentrate: gloves and eye protection; wash up. Nothing of it into drains or ponds."),
        say("Through a hose or injector only with the backflow protection your local code asks for."),
        *([own] if own else []),
    ]


def bottle_label(dose: Dose, stock: Stock, made: date, bottle_litres: Decimal) -> list[str]:
    """What to write on a bottle of stock: contents, strength, use, date, and the usual warnings."""
    return [
        say("{product} stock. NOT FOR DRINKING.", product=dose.product.title),
        say(
            "{amount} {unit} made up to {litres} L with water.",
            amount=one_decimal(stock.per_l * bottle_litres),
            unit=dose.product.unit,
            litres=three_figures(bottle_litres),
        ),
        say(
            "Use {ml} ml in each litre of feed: {ppm} ppm N.",
            ml=three_figures(stock.use_ml / dose.litres),
            ppm=round(dose.n_mg_per_l),
        ),
        say(
            "Made {day}. Shake before use; throw none of it into drains or ponds.",
            day=made.isoformat(),
        ),
        say("Keep cool, dark and locked away from children and pets, never in a drink bottle."),
    ]


def label_to_stick(label: Iterable[str]) -> Iterator[str]:
    """A bottle's label below the lines of its dose."""
    yield ""
    yield say("Stick this on the bottle:")
    yield from (f"  {line}" for line in label)


# --- Mixes -----------------------------------------------------------------------------------------------------


def weigh_words(doses: Sequence[Dose], volume: str) -> str:
    """What to weigh or measure of several products: "Weigh 3.3 g 20-10-20 + 2.2 g 15.5-0-0 into 10 L."."""
    parts = " + ".join(f"{amount_words(dose)} {dose.product.title}" for dose in doses)
    return _into(parts or say("nothing"), volume, all(dose.product.form == LIQUID for dose in doses))


def asked_words(ratio: object, target: Target) -> str:
    """What a mix was asked to hold. ratio: as the grower wrote it."""
    amounts = zip("NPK", target.amounts, strict=True)
    wanted = ", ".join(f"{three_figures(mg)} {name}" for name, mg in amounts)
    return say("Asked {ratio}: {wanted} mg per litre, as elements.", ratio=ratio, wanted=wanted)


def reached_words(mix: Mix) -> str:
    """What a mix holds, as elements: "100 N, 14.5 P, 55.3 K"."""
    return ", ".join(f"{three_figures(mg)} {name}" for name, mg in mix.reached.items())


def miss_words(mix: Mix, target: Target) -> str:
    """How far a mix is off: "P 8 % short, K 12 % over", or "as asked"."""
    words = []
    for name, percent in mix.percents_off(target).items():
        if percent is None and mix.reached[name]:
            words.append(
                say("{mg} mg {nutrient} with none asked", mg=three_figures(mix.reached[name]), nutrient=name)
            )
        elif percent is not None and percent < -_CLOSE_PERCENT:
            words.append(say("{nutrient} {percent} % short", nutrient=name, percent=f"{-percent:.0f}"))
        elif percent is not None and percent > _CLOSE_PERCENT:
            words.append(say("{nutrient} {percent} % over", nutrient=name, percent=f"{percent:.0f}"))
    return ", ".join(words) or say("as asked")


def holds_words(mix: Mix, target: Target) -> str:
    """What a mix holds and how far that is off what was asked."""
    return say("Holds {reached}: {miss}.", reached=reached_words(mix), miss=miss_words(mix, target))


def no_closer_words(mix: Mix) -> str:
    """That nothing at hand comes closer, and what would."""
    return say("These products come no closer. {help}", help=help_words(mix))


def help_words(mix: Mix) -> str:
    """What kind of product would bring it closer: "It takes a feed without K, such as 15.5-0-0."; empty when close."""
    if mix.worst is None:
        return ""
    nutrient, miss = mix.worst
    if miss < 0:
        return {
            "N": say("It takes a feed with N and little else, such as 15.5-0-0 or 21-0-0."),
            "P": say("It takes a feed with P and no N, such as 0-52-34."),
            "K": say("It takes a feed with K and little else, such as 0-0-50."),
        }[nutrient]
    return {
        "N": say("It takes products with less N for their P and K, such as 0-52-34 or 0-0-50."),
        "P": say("It takes a feed without P, such as 13-0-46 or 15.5-0-0."),
        "K": say("It takes a feed without K, such as 15.5-0-0 or 21-0-0."),
    }[nutrient]


def clash_words(one: Product, other: Product) -> str:
    """How two products are put into one can though as concentrates they must not meet."""
    return say(
        "{one} and {other}: dissolve each apart in half the water, then pour together.",
        one=one.title,
        other=other.title,
    )


def bottles_lines(bottles: Sequence[Sequence[Product]]) -> Iterator[str]:
    """Which products may share a stock bottle, where they may not all."""
    if len(bottles) > 1:
        named = (
            say(
                "bottle {letter}: {products}",
                letter=letter,
                products=", ".join(product.title for product in bottle),
            )
            for letter, bottle in zip("ABC", bottles, strict=False)
        )
        yield say("As stocks keep them apart: {bottles}.", bottles="; ".join(named))


# --- What a pen shows ------------------------------------------------------------------------------------------


def pen_lines(
    ec: ExpectedEc, knows_water: bool, at_c: Decimal | None, at_is_f: bool = False
) -> Iterator[str]:
    """What a conductivity pen shows of a feed, and one that does not correct for temperature.

    knows_water: the water's own part is in it. at_c: how warm the water is [°C]; at_is_f: the grower thinks in °F.
    """
    values = {name: f"{getattr(ec, name):.2f}" for name in ("likely", "low", "high")}
    if knows_water:
        yield say("A conductivity pen shows about {likely} mS/cm at 25 °C ({low} to {high}).", **values)
    else:
        yield say(
            "A conductivity pen shows about {likely} mS/cm at 25 °C ({low} to {high}) over the water's own.",
            **values,
        )
    if at_c is not None:
        reading = f"{ec.uncorrected_at(float(at_c)):.2f}"
        degrees = f"{round(at_c * 9 / 5 + 32)} °F ({round(at_c)} °C)" if at_is_f else f"{at_c} °C"
        yield say("Without temperature correction it shows {ec} at {degrees}.", ec=reading, degrees=degrees)


def pen_note(ec: ExpectedEc) -> str:
    """What limits the use of an expected conductivity; empty when it is good enough to catch a doubled dose."""
    from feedplan.dose.conductivity import EcLimit  # noqa: PLC0415 - see above

    told = {
        EcLimit.FORMS_UNKNOWN: say(
            "The forms of its nitrogen are not known; "
            "copy nitrate, ammonium and urea from the label to narrow this."
        ),
        EcLimit.TOO_WIDE: say("Too wide to catch a doubled dose."),
        EcLimit.STRONG: say("Stronger than the reckoning reaches: what the pen shows may be well off."),
        EcLimit.UREA: say("Its urea does not conduct: the pen sees less feed than there is."),
    }
    return " ".join(told[limit] for limit in ec.limits)


def pen_method(ec: ExpectedEc) -> str:
    """How an expected conductivity was found."""
    from feedplan.dose.conductivity import EcMethod  # noqa: PLC0415 - see above

    told = {
        EcMethod.OWN_FIGURE: say("the product's own conductivity figure"),
        EcMethod.BY_IONS: say("sum over its ions (McCleskey and others, 2012)"),
        EcMethod.BY_RANGE: say("range over the forms its nitrogen may have"),
    }
    return "; ".join(told[method] for method in ec.methods)


def pen_facts(ec: ExpectedEc) -> dict[str, float]:
    """An expected conductivity as plain numbers, ready for JSON."""
    return {"likely": round(ec.likely, 3), "low": round(ec.low, 3), "high": round(ec.high, 3)}
