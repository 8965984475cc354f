"""What to put into the can, in words: amounts, water, what is then in it, what the pen should show, cautions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Any

from feedplan.dose.arithmetic import Dose
from feedplan.dose.salts import SALTS
from feedplan.engine.season import RoundItem
from feedplan.engine.sink.can import Can, WaterInCan
from feedplan.engine.water.waters import lime_advice
from feedplan.model.collection import Collection
from feedplan.words.dose import (
    amount_words,
    help_words,
    long_unit,
    miss_words,
    one_decimal,
    pen_facts,
    pen_method,
    pen_note,
    reached_words,
    salt_caution,
    three_figures,
)
from feedplan.words.language import say
from feedplan.words.writing import can_words, listed, litres_words, places, ppm_words

# What is left in the can is worth a word from so much on [L].
_LEFT_OVER_L = Decimal("0.5")


def amount_in_can(item: RoundItem) -> str:
    """The amounts for a title: "6.2 g in 10 L", "4.6 g + 2.4 ml in 10 L", or the strength where none is known."""
    if item.can is None:
        return ppm_words(item.ppm)
    amounts = " + ".join(map(amount_words, item.can.doses))
    return say("{amounts} in {litres} L", amounts=amounts, litres=three_figures(item.litres))


def mix_lines(item: RoundItem, collection: Collection) -> Iterator[str]:
    """Products, strength and amounts per can, how much to make and pour, and what else there is to know of the mix."""
    cans, poured, ppm = can_words(item, collection), litres_words(item.poured_litres), ppm_words(item.ppm)
    pour = say("Fill {cans}; pour about {litres} in all.", cans=cans, litres=poured)
    can = item.can
    if can is None:
        yield f"{ppm}. {pour}"
        return
    size = collection.habits.can_litres
    values = {"what": can.ratio or item.feed, "ppm": ppm, "litres": three_figures(size)}
    doses = can.for_litres(size)
    if can.ratio is None and doses[0].spoons is not None:
        yield say(
            "{what}, {ppm}: {amount} per can of {litres} L, about {spoons} level spoons.",
            amount=amount_words(doses[0]),
            spoons=one_decimal(doses[0].spoons),
            **values,
        )
    else:
        amounts = map(_amount_of, doses) if can.ratio is not None else map(amount_words, doses)
        yield say("{what}, {ppm}: {amounts} per can of {litres} L.", amounts=" + ".join(amounts), **values)
    yield pour
    yield from _blend_lines(can.water, can.litres, size)
    if any(dose.is_too_small for dose in can.doses):
        yield say("Too little to weigh on a 0.1 g scale: ask 'feedplan dose' for a stock.")
    yield from mix_notes(item, collection)


def mix_notes(item: RoundItem, collection: Collection) -> Iterator[str]:
    """What there is to know of a mix whichever can it is made in: its water, what it holds, cautions."""
    if item.can is None:
        return
    yield from _lime_lines(item, collection)
    yield from contents_lines(item.can)
    yield from ec_lines(item.can)
    yield from cautions(item.can, collection)


def _amount_of(dose: Dose) -> str:
    """An amount of one of several products, with its spoons where their weight is known."""
    amount = f"{amount_words(dose)} {dose.product.title}"
    if dose.spoons is None:
        return amount
    return say("{amount}, about {spoons} level spoons", amount=amount, spoons=one_decimal(dose.spoons))


def _blend_lines(water: WaterInCan, litres: Decimal, size: Decimal) -> Iterator[str]:
    """How a can is filled from two waters."""
    if len(water.litres) > 1:
        parts = " + ".join(f"{litres_words(share / litres * size)} {name}" for name, share in water.litres)
        yield say("Water for a can: {parts}.", parts=parts)


def _lime_lines(item: RoundItem, collection: Collection) -> Iterator[str]:
    """What to do about hard water, for groups of lime-haters alone."""
    trees = [tree for timeline in item.timelines for tree in timeline.trees]
    size = collection.habits.can_litres
    advice = lime_advice(collection.groups[item.group], trees, collection, size)
    if advice is None:
        return
    parts = " + ".join(f"{litres_words(litres)} {name}" for name, litres in advice.parts if litres > 0)
    yield say(
        _LIME_BLEND if parts else _LIME_RAIN,
        alkalinity=places(advice.alkalinity),
        most=places(advice.most),
        litres=three_figures(size),
        parts=parts,
    )
    yield say("Yellow between green veins asks about the water before it asks for feed.")


_LIME_BLEND = (
    "Their water holds {alkalinity} mg/L CaCO3 of alkalinity; these pots bear {most}: "
    "fill a can of {litres} L with {parts}."
)
_LIME_RAIN = "Their water holds {alkalinity} mg/L CaCO3 of alkalinity; these pots bear {most}: use rainwater."


def contents_lines(can: Can) -> Iterator[str]:
    """P and K that come along, or for a mix what was asked and reached; Ca and Mg where the feed brings some."""
    contents = can.contents
    if can.mix is None:
        p, k = (three_figures(contents[nutrient]) for nutrient in ("P", "K"))
        yield say("Brings {p} mg P and {k} mg K per litre.", p=p, k=k)
    else:
        yield from mix_reached_lines(can)
    fed = {element for dose in can.doses for element in dose.product.grade.elements}
    if can.water.brings and fed & {element for element, _ in can.water.brings}:
        held = [f"{three_figures(contents[element])} mg {element}" for element, _ in can.water.brings]
        yield say("Holds {held} per litre, the water's own with it.", held=listed(held))


def mix_reached_lines(can: Can) -> Iterator[str]:
    """What a mix was asked to hold, what it holds, the miss in percent, and what kind of product would help."""
    mix, target = can.mix, can.target
    assert mix is not None and target is not None
    yield say(
        "Holds {reached} mg per litre: {miss}.", reached=reached_words(mix), miss=miss_words(mix, target)
    )
    if help_words(mix):
        yield f"{say('The shelf comes no closer.')} {help_words(mix)}"


def ec_lines(can: Can) -> Iterator[str]:
    """What a conductivity pen should show, where that is sure enough to catch a doubled dose."""
    if can.ec is None or not can.is_told_by_pen:
        return
    yield say(
        "The pen should rise by about {likely} mS/cm at 25 °C ({low} to {high}) over the water's own."
        if can.water.ec_ms_per_cm is None
        else "The pen should show about {likely} mS/cm at 25 °C ({low} to {high}).",
        low=places(can.ec.low, 2),
        likely=places(can.ec.likely, 2),
        high=places(can.ec.high, 2),
    )


def cautions(can: Can, collection: Collection) -> Iterator[str]:
    """What to take care of with these products, and only with these."""
    if can.do_products_clash:
        yield say("Dissolve each apart in half the water, then pour together: as concentrates they fall out.")
    for dose in can.doses:
        feed = collection.feeds.get(dose.product.name)
        caution = salt_caution(SALTS.get(feed.salt)) if feed is not None else ""
        if caution:
            yield f"{dose.product.title}: {caution}"


def left_over_line(items: Iterable[RoundItem]) -> Iterator[str]:
    """What to do with feed that half-cans leave over."""
    left = sum((item.litres - item.poured_litres for item in items), Decimal(0))
    if left >= _LEFT_OVER_L:
        yield say(
            "About {litres} is left over in all: pour it on soil in growth, never into drains, ponds or ditches.",
            litres=litres_words(left),
        )


def can_facts(can: Can | None, collection: Collection) -> dict[str, Any]:
    """The same facts for `--json`; empty without a product or ratio."""
    if can is None:
        return {}
    facts: dict[str, Any] = {"products": [_dose_facts(dose) for dose in can.doses]}
    if len(can.doses) == 1:
        facts[long_unit(can.doses[0])] = round(float(can.doses[0].amount), 1)
    facts["contents_mg_per_l"] = {name: round(float(mg), 2) for name, mg in can.contents.items()}
    facts["water_litres"] = {name: round(float(litres), 2) for name, litres in can.water.litres}
    if can.mix is not None and can.target is not None:
        facts["ratio"] = str(can.ratio)
        misses = can.mix.percents_off(can.target)
        facts["misses_percent"] = {n: None if miss is None else round(miss, 1) for n, miss in misses.items()}
        facts["advice"] = help_words(can.mix)
    if can.ec is not None:
        facts["ec_at_25_c_ms_per_cm"] = {
            **pen_facts(can.ec),
            "with_water": can.water.ec_ms_per_cm is not None,
            "method": pen_method(can.ec),
            "note": pen_note(can.ec),
            "sure_enough": can.is_told_by_pen,
        }
    facts["cautions"] = list(cautions(can, collection))
    return facts


def _dose_facts(dose: Dose) -> dict[str, Any]:
    return {"feed": dose.product.name, long_unit(dose): round(float(dose.amount), 1)}
