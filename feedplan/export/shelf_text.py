"""The shelf in words: what is there, what is needed, when it runs out, what to buy, and what no plan uses."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from typing import Any

from feedplan.engine.sink.shelf import ShelfLine
from feedplan.export.entry import CalendarEntry, Kind
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
    yield f"The shelf on {full_day(today)}, planned to {full_day(end)}"
    for line in lines:
        if line.is_planned or line.recorded or line.assumed:
            yield ""
            yield from _product_lines(line, today)
    idle = [line.feed.name for line in lines if not line.is_planned]
    if idle:
        yield ""
        yield f"No plan uses: {', '.join(idle)}."
    costs: dict[str, Decimal] = {}
    for line in lines:
        if line.cost is not None:
            currency = line.feed.on_hand.currency
            costs[currency] = costs.get(currency, Decimal(0)) + line.cost
    if costs:
        yield ""
        yield f"The season's feed costs {listed([_money(cost, name) for name, cost in costs.items()])}."


def _product_lines(line: ShelfLine, today: date) -> Iterator[str]:
    used = f"{amount(line.recorded, line)} by the journal"
    if line.assumed:
        used += f", {amount(line.assumed, line)} as planned and not recorded"
    on_hand = line.feed.on_hand
    if line.left is None:
        yield f"{line.feed.name}: no stock told. Write stock: and counted: to see when it runs out."
    else:
        assert on_hand.stock is not None
        counted = on_hand.counted
        since = f" on {day_words(counted, today)}" if counted is not None else ""
        yield f"{line.feed.name}: {amount(line.left, line)} left of {amount(on_hand.stock, line)}{since}."
        if counted is None:
            yield "  The stock has no day, so it counts as of today. Write counted: and the day."
        yield f"  Used since: {used}."
    whom = f", for {listed(line.groups)}" if line.groups else ""
    spare = f"{amount(line.with_spare, line)} with 15 % to spare"
    yield f"  Needed this season: {amount(line.needed, line)}{whom}; {spare}."
    yield from (f"  {words}" for words in _run_out_words(line, today))
    if line.cost is not None:
        yield f"  Costs {_money(line.cost, on_hand.currency)} a season."


def _run_out_words(line: ShelfLine, today: date) -> Iterator[str]:
    best_before = line.feed.on_hand.best_before
    if best_before is not None and line.is_planned:
        past = best_before < today
        yield f"{'Past its keeping time since' if past else 'Keeps to'} {full_day(best_before)}."
    if line.left is None:
        return
    if line.runs_out is not None:
        yield f"Runs out {full_day(line.runs_out)}."
    if line.buy > 0:
        by = f" by {day_words(line.runs_out, today)}" if line.runs_out is not None else ""
        yield f"Buy {amount(to_buy(line), line)}{by}."
    elif line.is_planned:
        yield "Enough for the season."


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
    return f"{line.feed.name} runs out {day_words(line.runs_out, today)}: buy {amount(to_buy(line), line)} by then."


def run_out_entry(line: ShelfLine) -> CalendarEntry:
    """A product about to run out, on the day it does; what to buy shrinks with every feed and is left to the round."""
    assert line.runs_out is not None
    return CalendarEntry(
        key=f"shelf/{line.feed.name}/{line.runs_out.year}",
        kind=Kind.NOTE,
        start=line.runs_out,
        title=f"{line.feed.name} runs out: buy more before today's feed",
        text="The plan needs more than is left. How much to buy: feedplan shelf",
    )
