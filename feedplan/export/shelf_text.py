"""The shelf in words: what is there, what is needed, when it runs out, what to buy, and what no plan uses."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from typing import Any

from feedplan.engine.sink.shelf import ShelfLine
from feedplan.export.entry import CalendarEntry, Kind
from feedplan.words.language import say
from feedplan.words.writing import day_words, full_day, listed, number

_TENTH, _WHOLE = Decimal("0.1"), Decimal(1)
_LARGE = Decimal(1000)
_STEPS = ((Decimal(1000), Decimal(50)), (Decimal(100), Decimal(10)), (Decimal(0), Decimal(1)))


def amount(value: Decimal, line: ShelfLine) -> str:
    """An amount of the product: "412 g", "1.25 kg", "640 ml"."""
    unit = line.feed.product.unit
    if value >= _LARGE:
        large = (value / _LARGE).quantize(Decimal("0.01"), ROUND_HALF_UP)
        return f"{number(large)} {'kg' if unit == 'g' else 'L'}"
    return f"{number(value.quantize(_TENTH if value < 10 else _WHOLE, ROUND_HALF_UP))} {unit}"


def to_buy(line: ShelfLine) -> Decimal:
    """What to buy, rounded up to a step that a shop or a scale can follow [g or ml]."""
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
    if best_before is not None and line.is_planned:
        is_past = best_before < today
        yield say(
            "Past its keeping time since {day}." if is_past else "Keeps to {day}.", day=full_day(best_before)
        )
    if line.left is None:
        return
    if line.runs_out is not None:
        yield say("Runs out {day}.", day=full_day(line.runs_out))
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
    """A product about to run out, for the round: "powder runs out Sat 12 Jun: buy 320 g by then"."""
    assert line.runs_out is not None
    return say(
        "{feed} runs out {day}: buy {amount} by then.",
        feed=line.feed.name,
        day=day_words(line.runs_out, today),
        amount=amount(to_buy(line), line),
    )


def run_out_entry(line: ShelfLine) -> CalendarEntry:
    """A product about to run out, on the day it does; what to buy shrinks with every feed and is left to the round."""
    assert line.runs_out is not None
    return CalendarEntry(
        key=f"shelf/{line.feed.name}/{line.runs_out.year}",
        kind=Kind.NOTE,
        start=line.runs_out,
        title=say("{feed} runs out: buy more before today's feed", feed=line.feed.name),
        text=say("The plan needs more than is left. How much to buy: feedplan shelf"),
    )
