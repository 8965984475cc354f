"""The can and the shelf in words: what goes in, what is then in it and what the pen shows; what is there and needed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from typing import Any

from feedplan.dose.arithmetic import LIQUID, Dose
from feedplan.dose.ceilings import EC
from feedplan.dose.salts import SALTS
from feedplan.engine.season import RoundItem
from feedplan.engine.sink.can import Can
from feedplan.engine.sink.cans import CanBatch, CanPlan
from feedplan.engine.sink.mixing import LabelFill, by_label
from feedplan.engine.sink.shelf import ShelfLine
from feedplan.engine.water.waters import lime_advice
from feedplan.export.can_text import pours_words
from feedplan.export.entry import CalendarEntry, Kind
from feedplan.model.collection import Collection
from feedplan.model.course import Status
from feedplan.words.dose import (
    amount_words,
    help_words,
    long_unit,
    miss_words,
    pen_facts,
    pen_method,
    pen_note,
    reached_words,
    salt_caution,
    three_figures,
)
from feedplan.words.language import say
from feedplan.words.writing import (
    day_words,
    full_day,
    listed,
    litres_words,
    number,
    places,
)

_LARGE = Decimal(1000)
_STEPS = ((Decimal(1000), Decimal(50)), (Decimal(100), Decimal(10)), (Decimal(0), Decimal(5)))


def mix_notes(item: RoundItem, can: Can | None, cans: CanPlan, collection: Collection) -> Iterator[str]:
    """What there is to know of a mix beside what hands do: its water, what it holds, cautions.

    can: what is really in it. cans: those of its day.
    """
    if can is not None and item.label_share and item.status is not Status.RECORDED:
        yield from measured_by_label(by_label(item, collection))
        if (over := item.label_over) is not None:
            unit = "mS/cm" if over.what == EC else say("mg {element} per litre", element=over.what)
            yield say(
                "As strong as asked it would bring {holds} {unit}, the ceiling is {most}.",
                holds=three_figures(over.holds),
                unit=unit,
                most=three_figures(over.most),
            )
    if can is None or item.label_share:
        yield say("Pour about {litres} in all.", litres=litres_words(item.poured_litres))
    if item.key in cans.not_made:
        yield from too_little(item, collection)
    if can is not None and item.status is not Status.RECORDED:
        yield from _lime_lines(item, collection)
        yield from contents_lines(can)
        yield from ec_lines(can)
        yield from cautions(can, collection)


def measured_by_label(fills: Sequence[LabelFill]) -> Iterator[str]:
    """What to measure of a product without nitrogen, can by can, and of several who is poured from each."""
    for fill in fills:
        measure = say(
            "Measure {amount} {feed} into {litres} L."
            if fill.dose.product.form == LIQUID
            else "Weigh {amount} {feed} into {litres} L.",
            amount=amount_words(fill.dose),
            feed=fill.dose.product.title,
            litres=number(fill.dose.litres),
        )
        trees = pours_words(fill.pours, short=True)
        poured = say("Pour {litres}: {trees}.", litres=litres_words(fill.poured), trees=trees)
        yield measure if len(fills) == 1 else f"{measure} {poured}"


def too_little(item: RoundItem, collection: Collection) -> Iterator[str]:
    """What to type where a mix of several feeds is too small to weigh: a whole can, of which only so much is poured."""
    if item.ratio is None:
        yield say("Too little to weigh: ask 'feedplan dose' for a stock.")
        return
    feeds = collection.groups[item.group].mix_of
    command = ["feedplan", "dose", "--mix", "--ratio", f'"{item.ratio}"', "--ppm", places(item.ppm)]
    command += ["--litres", places(collection.habits.can_litres)]
    command += [word for feed in feeds for word in ("--of", feed)]
    yield say(
        "Too little to weigh. Mix a whole can and pour {litres} of it: {command}",
        litres=litres_words(item.poured_litres),
        command=" ".join(command),
    )


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


_TENTH, _WHOLE = Decimal("0.1"), Decimal(1)


def amount(value: Decimal, line: ShelfLine) -> str:
    """An amount of the product: "412 g", "1.25 kg", "640 ml"."""
    unit = line.feed.product.unit
    if value >= _LARGE:
        large = (value / _LARGE).quantize(Decimal("0.01"), ROUND_HALF_UP)
        return f"{number(large)} {'kg' if unit == 'g' else 'L'}"
    return f"{number(value.quantize(_TENTH if value < 10 else _WHOLE, ROUND_HALF_UP))} {unit}"


def to_buy(line: ShelfLine) -> Decimal:
    """What to buy, rounded up to a step that a shop can follow and that stays the same for days [g or ml]."""
    step = next(step for least, step in _STEPS if line.buy >= least)
    return (line.buy / step).to_integral_value(ROUND_CEILING) * step


def shelf_lines(lines: Sequence[ShelfLine], today: date, end: date) -> Iterator[str]:
    """The whole shelf as lines of text."""
    yield say("The shelf on {day}, planned to {end}", day=full_day(today), end=full_day(end))
    for line in lines:
        if line.is_planned or line.recorded or line.assumed:
            yield ""
            yield from _product_lines(line, today)
    idle = [line.feed.name for line in lines if not line.is_planned]
    if idle:
        yield ""
        yield say("No plan uses: {names}.", names=", ".join(idle))
    costs: dict[str, Decimal] = {}
    for line in lines:
        if line.cost is not None:
            currency = line.feed.on_hand.currency
            costs[currency] = costs.get(currency, Decimal(0)) + line.cost
    if costs:
        yield ""
        costs_words = listed([_money(cost, name) for name, cost in costs.items()])
        yield say("The season's feed costs {costs}.", costs=costs_words)


def _product_lines(line: ShelfLine, today: date) -> Iterator[str]:
    on_hand = line.feed.on_hand
    if line.left is None:
        yield say(
            "{feed}: no stock told. Write stock: and counted: to see when it runs out.", feed=line.feed.name
        )
    else:
        assert on_hand.stock is not None
        counted = on_hand.counted
        yield say(
            "{feed}: {left} left of {stock}."
            if counted is None
            else "{feed}: {left} left of {stock} on {day}.",
            feed=line.feed.name,
            left=amount(line.left, line),
            stock=amount(on_hand.stock, line),
            day="" if counted is None else day_words(counted, today),
        )
        if counted is None:
            yield "  " + say("The stock has no day, so it counts as of today. Write counted: and the day.")
        yield "  " + say(
            "Used since: {recorded} by the journal, {assumed} as planned and not recorded."
            if line.assumed
            else "Used since: {recorded} by the journal.",
            recorded=amount(line.recorded, line),
            assumed=amount(line.assumed, line),
        )
    yield "  " + say(
        "Needed this season: {needed}, for {groups}; {spare} with 15 % to spare."
        if line.groups
        else "Needed this season: {needed}; {spare} with 15 % to spare.",
        needed=amount(line.needed, line),
        groups=listed(line.groups),
        spare=amount(line.with_spare, line),
    )
    yield from (f"  {words}" for words in _run_out_words(line, today))
    if line.cost is not None:
        yield "  " + say("Costs {cost} a season.", cost=_money(line.cost, on_hand.currency))


def _run_out_words(line: ShelfLine, today: date) -> Iterator[str]:
    best_before = line.feed.on_hand.best_before
    out = line.runs_out
    too_old_on = out if out is not None and line.left and line.is_too_old_on(out) else None
    if best_before is not None and line.is_planned and (too_old_on is None or best_before < today):
        is_past = best_before < today
        yield say(
            "Past its keeping time since {day}." if is_past else "Keeps to {day}.", day=full_day(best_before)
        )
    if line.left is None:
        return
    if out is not None:
        yield say(
            "Runs out {day}."
            if too_old_on is None
            else "Too old for the feed of {day}, though some is left."
            if best_before is None or best_before < today
            else "Keeps to {best_before}: too old for the feed of {day}, though some is left.",
            day=full_day(out),
            best_before=full_day(best_before or out),
        )
    if line.buy > 0:
        yield say(
            "Buy {amount}." if line.runs_out is None else "Buy {amount} by {day}.",
            amount=amount(to_buy(line), line),
            day="" if line.runs_out is None else day_words(line.runs_out, today),
        )
    elif line.is_planned:
        yield say("Enough for the season.")


def _money(cost: Decimal, currency: str) -> str:
    return f"{cost.quantize(Decimal('0.01'), ROUND_HALF_UP):f}{f' {currency}' if currency else ''}"


def shelf_facts(lines: Sequence[ShelfLine], today: date, end: date) -> dict[str, Any]:
    """The same facts for `--json`."""
    return {
        "date": today.isoformat(),
        "season_ends": end.isoformat(),
        "products": [_line_facts(line) for line in lines],
    }


def _line_facts(line: ShelfLine) -> dict[str, Any]:
    unit = "g" if line.feed.product.unit == "g" else "ml"
    on_hand = line.feed.on_hand

    def whole(value: Decimal | None) -> float | None:
        return None if value is None else round(float(value), 1)

    def iso(day: date | None) -> str | None:
        return None if day is None else day.isoformat()

    return {
        "feed": line.feed.name,
        "form": str(line.feed.form),
        f"stock_{unit}": whole(on_hand.stock),
        "counted": iso(on_hand.counted),
        f"used_recorded_{unit}": whole(line.recorded),
        f"used_assumed_{unit}": whole(line.assumed),
        f"left_{unit}": whole(line.left),
        f"needed_{unit}": whole(line.needed),
        f"needed_with_spare_{unit}": whole(line.with_spare),
        "runs_out": iso(line.runs_out),
        "best_before": iso(on_hand.best_before),
        f"buy_{unit}": whole(to_buy(line)) if line.left is not None else None,
        "groups": list(line.groups),
        "planned": line.is_planned,
        "season_cost": None if line.cost is None else round(float(line.cost), 2),
        "currency": on_hand.currency,
    }


def run_out_line(line: ShelfLine, today: date) -> str:
    """A product about to run out or to be too old, for the round: "powder: runs out Sat 12 Jun; buy 320 g."."""
    best_before = line.feed.on_hand.best_before
    assert line.runs_out is not None
    if line.left is not None and line.left <= 0:
        sentence = "{feed}: has run out; buy {amount} by {day}."
    elif best_before is not None and line.is_too_old_on(line.runs_out):
        sentence = (
            "{feed}: keeps to {best_before}, too old after that though some is left; buy {amount} by {day}."
        )
    else:
        sentence = "{feed}: runs out {day}; buy {amount}."
    return say(
        sentence,
        feed=line.feed.name,
        day=day_words(line.runs_out, today),
        amount=amount(to_buy(line), line),
        best_before="" if best_before is None else day_words(best_before, today),
    )


def short_lines(batch: CanBatch, lines: Iterable[ShelfLine], day: date) -> Iterator[str]:
    """What is weighed out on a day of products of which not enough is left by the plan."""
    weighed = {product.name for product, _ in batch.weighed}
    for line in lines:
        if line.feed.name in weighed and line.left is not None and line.is_short_on(day):
            best_before = line.feed.on_hand.best_before
            yield say(
                "{feed} is past its keeping time: buy {amount} first."
                if best_before is not None and best_before < day
                else "Of {feed} {left} is left by the plan, too little: buy {amount} first, or count the tub anew.",
                feed=line.feed.name,
                left=amount(line.left, line),
                amount=amount(to_buy(line), line),
            )


def run_out_entry(line: ShelfLine) -> CalendarEntry:
    """A product about to run out or too old, on the day it does or did: what is past stays, whatever was fed since.

    What to buy shrinks with every feed and is left to the round.
    """
    day = line.first_short or line.runs_out
    assert day is not None
    is_old = line.is_too_old_on(day)
    return CalendarEntry(
        key=f"shelf/{line.feed.name}/{day.year}",
        kind=Kind.NOTE,
        start=day,
        title=say(
            "Buy {feed}: what is left is too old today"
            if is_old
            else "Buy {feed}: today needs more than is left",
            feed=line.feed.name,
        ),
        text=say(
            "The plan needs some that is not past its keeping time. How much to buy: feedplan shelf"
            if is_old
            else "The plan needs more than is left. How much to buy: feedplan shelf"
        ),
    )
