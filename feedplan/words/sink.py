"""The sink in words, however it was asked: what a can already holds, tables of strengths and sizes, which measures."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from feedplan.dose.arithmetic import LIQUID, Dose
from feedplan.dose.measures import UNITS
from feedplan.words.dose import amount_words, dose_cautions, one_decimal, three_figures
from feedplan.words.language import say

# Nobody has a scale that shows less in ounces (judgement).
_LEAST_OUNCES = Decimal("0.1")
# So little more than the label says is what is lost when spoons are turned into grams [g or ml per L].
_ROUNDED = Decimal("1e-9")
_PER_MEASURE = {"us": "us gal", "imperial": "imperial gal"}


def feed_words(
    litres: Decimal, number: Decimal | None = None, unit: str = "L", measures: str = "metric"
) -> str:
    """A volume of feed as it was asked for, in litres and in the gallons of the place: "2 US gal (7.57 L)"."""
    in_litres = f"{three_figures(litres)} L" if litres >= 1 else f"{three_figures(litres * 1000)} ml"
    if number is not None and unit not in ("L", "ml", "cl", "dl"):
        return f"{three_figures(number)} {say(unit)} ({in_litres})"
    if measures in _PER_MEASURE:
        gallon = UNITS[_PER_MEASURE[measures]]
        return f"{in_litres} ({three_figures(litres / gallon.worth)} {say(gallon.name)})"
    return in_litres


def also_words(dose: Dose, measures: str) -> str:
    """An amount in the measures of the place, to stand beside grams or millilitres; empty where it needs none."""
    if measures == "metric" or dose.is_too_small or dose.scale.ounces is not None:
        return ""
    if dose.product.form != LIQUID:
        ounces = dose.amount / UNITS["oz"].worth
        return say("{oz} oz", oz=three_figures(ounces)) if ounces >= _LEAST_OUNCES else ""
    ounce = UNITS["us fl oz" if measures == "us" else "imperial fl oz"]
    spoon = UNITS["us tsp" if measures == "us" else "tsp"]
    unit = ounce if dose.amount >= 2 * ounce.worth * 1000 else spoon
    return f"{three_figures(dose.amount / (unit.worth * 1000))} {say(unit.name)}"


def beside(lines: Sequence[str], dose: Dose, measures: str) -> list[str]:
    """The lines of a dose, with its amount in the measures of the place after the grams or millilitres."""
    also = also_words(dose, measures)
    if not also or not lines:
        return list(lines)
    amount = amount_words(dose)
    return [lines[0].replace(amount, f"{amount} ({also})", 1), *lines[1:]]


def taken_words(names: Iterable[str]) -> Iterator[str]:
    """Which gallon or spoon was taken, where two could be meant."""
    told = []
    for name in dict.fromkeys(names):
        litres = UNITS[name.lower()].worth
        size = f"{three_figures(litres)} L" if litres >= 1 else f"{three_figures(litres * 1000)} ml"
        told.append(say("{unit} of {size}", unit=say(name), size=size))
    if told:
        yield say("Taken: {units}; --measures us, imperial or metric takes another.", units=", ".join(told))


# --- What is in it ---------------------------------------------------------------------------------------------


def holds_lines(low: Dose, high: Dose, amount: str, volume: str) -> Iterator[str]:
    """What a can holds into which so much was put. low, high: the same where the amount is sure."""
    held = [(name, mg, high.nutrients_mg_per_l[name]) for name, mg in low.nutrients_mg_per_l.items()]
    told = ", ".join(
        f"{_span(one, other)} {'ppm N' if name == 'N' else name}"
        for name, one, other in held
        if other or name in ("N", "P", "K")
    )
    values = {"held": told, "amount": amount, "product": low.product.title, "volume": volume}
    if low.per_l == high.per_l and low.product == high.product:
        yield say("{amount} {product} in {volume} holds {held} (mg per litre, as elements).", **values)
        yield say("That is {amount} per litre.", amount=f"{three_figures(low.per_l)} {low.product.unit}")
    else:
        yield say(
            "{amount} {product} in {volume} holds roughly {held} (mg per litre, as elements).", **values
        )
    if (highest := high.product.highest_per_l) is not None and high.per_l - highest > _ROUNDED:
        yield say(
            "Above the label: it allows {most} {unit} per litre. Fill up with water, or do not use it.",
            most=three_figures(highest),
            unit=high.product.unit,
        )
    yield from dose_cautions(high)


def _span(low: Decimal, high: Decimal) -> str:
    one, other = three_figures(low), three_figures(high)
    return one if one == other else say("{low} to {high}", low=one, high=other)


def rough_spoon_words(spoon: str, low_g: Decimal, high_g: Decimal, command: str) -> str:
    """That a spoonful of powder is no weight, and how to make it one."""
    return say(
        "Rough: a level {spoon} of powder weighs {low} to {high} g, each powder its own. Weigh one of yours, and type "
        "its grams: {command}",
        spoon=say(spoon),
        low=one_decimal(low_g),
        high=one_decimal(high_g),
        command=command,
    )


def rough_liquid_words(heavy: Decimal, command: str) -> str:
    """That a liquid's label is by weight or by volume, and how to say which."""
    return say(
        "Rough: its label may be by weight, and it weighs 1 to {heavy} kg per litre. Weigh 100 ml, and type its "
        "density: {command} (or 'by volume', where the label says w/v).",
        heavy=heavy,
        command=command,
    )


def makes_words(n: Decimal, target: str) -> str:
    """What nitrogen comes with a strength that is set by another nutrient."""
    return say("{target} makes {n} ppm N.", target=target, n=three_figures(n))


def as_sold_words(grade: str, pure: Dose, other: str) -> Iterator[str]:
    """The grade of the bag beside the pure salt's. other: another salt that the name is said of, empty for none."""
    yield say(
        "Taken as sold, {grade}; of the pure salt it would be {amount}. The bag's own numbers come first.",
        grade=grade,
        amount=amount_words(pure),
    )
    if other:
        yield say("If the bag says {other}, type that name.", other=other)


def ec_words(ec: str, low: Decimal, high: Decimal, unit: str, water_ec: float | None) -> str:
    """How sure an amount is that was found from a conductivity. water_ec: of the water, None when not told [mS/cm]."""
    values = {
        "ec": ec,
        "water": water_ec,
        "low": three_figures(low),
        "high": three_figures(high),
        "unit": unit,
    }
    if values["low"] == values["high"]:
        if water_ec is None:
            return say("{ec} over the water's own: check it with the pen.", **values)
        return say("{ec} with the water's own {water} mS/cm in it: check it with the pen.", **values)
    if water_ec is None:
        return say(
            "{ec} over the water's own takes {low} to {high} {unit} per litre, by the forms of its nitrogen: this is "
            "the least. Check it with the pen.",
            **values,
        )
    return say(
        "{ec} with the water's own {water} mS/cm in it takes {low} to {high} {unit} per litre, by the forms of its "
        "nitrogen: this is the least. Check it with the pen.",
        **values,
    )


# --- Tables ----------------------------------------------------------------------------------------------------


def strengths_lines(
    title: str, volume: str, rows: Sequence[tuple[str, Dose]], measures: str
) -> Iterator[str]:
    """A table over strengths for one can."""
    yield say("{product} in {volume}:", product=title, volume=volume)
    yield from _table(
        [[strength, *_cells(dose, measures), *_held(dose), _remark(dose)] for strength, dose in rows]
    )
    yield say("Held: mg per litre, as elements. The label comes first: never more than it says.")


def sizes_lines(title: str, strength: str, rows: Sequence[tuple[str, Dose]], measures: str) -> Iterator[str]:
    """A table over sizes of cans for one strength."""
    yield say("{product} at {strength}:", product=title, strength=strength)
    yield from _table([[volume, *_cells(dose, measures), _little(dose)] for volume, dose in rows])


def makes_lines(title: str, amount: str, rows: Sequence[tuple[str, Dose]], measures: str) -> Iterator[str]:
    """A table of how much feed an amount makes, over strengths."""
    yield say("{amount} {product} makes:", amount=amount, product=title)
    yield from _table(
        [
            [feed_words(dose.litres, measures=measures), strength, *_held(dose), _remark(dose)]
            for strength, dose in rows
        ]
    )


def _cells(dose: Dose, measures: str) -> list[str]:
    """The amount, in the measures of the place and in spoons where they are known."""
    spoons = "" if dose.spoons is None else say("{spoons} spoons", spoons=one_decimal(dose.spoons))
    small = f"{three_figures(dose.amount)} {dose.product.unit}"
    return [small if dose.is_too_small else amount_words(dose), also_words(dose, measures), spoons]


def _held(dose: Dose) -> list[str]:
    return [f"{three_figures(mg)} {name}" for name, mg in dose.nutrients_mg_per_l.items() if mg]


def _little(dose: Dose) -> str:
    return say("too little to weigh: make a stock") if dose.is_too_small else ""


def _remark(dose: Dose) -> str:
    """What is wrong with a row; empty where nothing is."""
    from feedplan.words.ceilings import too_rich_words  # noqa: PLC0415 - as in words/dose.py

    highest = dose.product.highest_per_l
    if highest is not None and dose.per_l > highest:
        return say("above the label")
    if too_rich_words(dose):
        return say("too rich for pots")
    return _little(dose)


def _table(rows: Sequence[Sequence[str]]) -> Iterator[str]:
    """Rows in columns, the last one a remark; empty columns left out."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for *cells, remark in rows:
        columns = [cell.rjust(width) for cell, width in zip(cells, widths[:-1], strict=True) if width]
        yield f"  {'  '.join([*columns, remark])}".rstrip()
