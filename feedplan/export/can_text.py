"""A day's cans as what hands do, in order: weigh, pour, fill up, and what to do with the rest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import ROUND_HALF_UP, Decimal
from itertools import pairwise
from typing import Any

from feedplan.dose.arithmetic import LIQUID, STRONG_STOCK_PER_L, Product
from feedplan.engine.sink.cans import CanBatch, CanFill, CanPlan, TreePour, as_decimal
from feedplan.words.dose import on_scale_words, one_decimal, stock_cautions, strong_stock_caution
from feedplan.words.language import say
from feedplan.words.writing import measured_words, number, ppm_words, water_name, whole_ppm

# What is left over is worth a word from so much on [L].
_LEFT_OVER_L = Decimal("0.5")
_LEFT_OF_STOCK_L = Decimal("0.01")


def can_steps(plan: CanPlan, *, short: bool = False) -> Iterator[tuple[str, ...]]:
    """Each weighing of a day: what is weighed into what, then line by line what is done with it.

    Cautions for stocks stand before the first of them. short: a line for each filling, without spoons, what each tree
    is poured, and what is left over.
    """
    is_told = False
    for batch in plan.batches:
        if batch.injector is not None:
            before = () if is_told else tuple(_before_stocks(batch.injector))
            is_told = True
            yield (*before, *_stock_lines(batch, batch.injector, short=short))
            continue
        lines = list(_lines(batch, short=short))
        yield (say("Rinse the can."), *lines) if batch.rinse_first else tuple(lines)


def left_over_line(plan: CanPlan) -> Iterator[str]:
    """What to do with the feed that nobody gets."""
    if plan.left_litres >= _LEFT_OVER_L:
        yield say(
            "About {litres} is left over in all: pour it on soil in growth, never into drains, ponds or ditches.",
            litres=measured_words(plan.left_litres),
        )


def _lines(batch: CanBatch, *, short: bool) -> Iterator[str]:
    first = batch.fills[0]
    is_liquid = all(product.form == LIQUID for product, _ in batch.weighed)
    begun = say(
        _BEGUN[is_liquid, bool(first.servings)],
        amounts=" + ".join(
            _amount_words(product, amount, batch.scale_oz, short=short) for product, amount in batch.weighed
        ),
        litres=_water_words(batch, first.litres, first.litres),
        ppm=_strength(first, short=short),
    )
    filled = (_fill_words(batch, before, after, short=short) for before, after in pairwise(batch.fills))
    for fill, line in zip(batch.fills, (begun, *filled), strict=True):
        steps = [line, *_pour_lines(fill, short=short)]
        yield from [" ".join(steps)] if short else steps
    yield from () if short else _rest_lines(batch)


_BEGUN = {
    (False, True): "Weigh {amounts} into {litres} ({ppm}).",
    (True, True): "Measure {amounts} into {litres} ({ppm}).",
    (False, False): "Weigh {amounts} into {litres}: a stock ({ppm}), for no tree as it is.",
    (True, False): "Measure {amounts} into {litres}: a stock ({ppm}), for no tree as it is.",
}


def _strength(fill: CanFill, *, short: bool) -> str:
    ppm = as_decimal(fill.ppm)
    return say("{number} ppm", number=whole_ppm(ppm)) if short else ppm_words(ppm)


def _amount_words(product: Product, amount: Decimal, scale_oz: Decimal | None, *, short: bool) -> str:
    """ "4.2 g spring-24-8-16 (about 0.8 level spoons)"."""
    words = f"{on_scale_words(amount, product.unit, scale_oz)} {product.title}"
    if short or product.spoon_g is None:
        return words
    return say(
        "{amount} (about {spoons} level spoons)", amount=words, spoons=one_decimal(amount / product.spoon_g)
    )


def _water_words(batch: CanBatch, to: Decimal, added: Decimal) -> str:
    """What the can stands at, and which water is added where it is not the usual one."""
    litres = say("{litres} L", litres=number(to))
    if not batch.water:
        return litres
    if len(batch.water) == 1:
        return say("{litres} with {water}", litres=litres, water=water_name(batch.water[0][0]))
    parts, left = [], added
    for name, share in batch.water[:-1]:
        part = (added * Decimal(str(share))).quantize(Decimal("0.01"), ROUND_HALF_UP)
        parts.append(f"{measured_words(part)} {name}")
        left -= part
    parts.append(f"{measured_words(left)} {batch.water[-1][0]}")
    return say("{litres} with {parts}", litres=litres, parts=" + ".join(parts))


def _fill_words(batch: CanBatch, before: CanFill, after: CanFill, *, short: bool) -> str:
    litres = _water_words(batch, after.litres, after.litres - after.kept)
    ppm = _strength(after, short=short)
    if not before.servings:
        kept = measured_words(after.kept)
        return say("Take {kept} of it and fill up to {litres} ({ppm}).", kept=kept, litres=litres, ppm=ppm)
    if after.aside:
        aside = measured_words(after.aside)
        return say("Take {aside} out, fill up to {litres} ({ppm}).", aside=aside, litres=litres, ppm=ppm)
    return say("Fill up to {litres} ({ppm}).", litres=litres, ppm=ppm)


def _before_stocks(ratio: Decimal) -> Iterator[str]:
    """What holds for every stock of a day, before the first is weighed."""
    yield from stock_cautions(None)
    # Said each time: growers mean 1 in 100 and 1 to 100 by the same sign.
    yield say(
        "Set the injector to 1:{ratio}: 1 part of stock in {ratio} parts of mixed feed.", ratio=number(ratio)
    )


def _stock_lines(batch: CanBatch, ratio: Decimal, *, short: bool) -> Iterator[str]:
    """A bottle of stock for the injector: made up, drawn from, thinned for the next strength."""
    if batch.rinse_first:
        yield say("Rinse the stock bottle and the injector with water.")
    first, *others = batch.fills
    ((product, amount),) = batch.weighed
    begun = say(
        "Measure {amount} and make it up to {litres} of stock with water ({ppm} in the hose)."
        if product.form == LIQUID
        else "Weigh {amount} and make it up to {litres} of stock with water ({ppm} in the hose).",
        amount=_amount_words(product, amount, batch.scale_oz, short=short),
        litres=measured_words(first.litres / ratio),
        ppm=_strength(first, short=short),
    )
    thinned = (_thinned_words(fill, ratio, short=short) for fill in others)
    for fill, line in zip(batch.fills, (begun, *thinned), strict=True):
        strong = _strong_stock(amount / first.litres * ratio) if fill is first else ()
        steps = [line, *strong, *_pour_lines(fill, short=short, hose=_hose_words(batch))]
        yield from [" ".join(steps)] if short else steps
    yield from () if short else _rest_of_stock(batch.left_litres, ratio)


def _hose_words(batch: CanBatch) -> str:
    """The hose, with the water that must come out of it where it is not the usual one."""
    names = [name for name, _ in batch.water]
    return say("the hose ({water})", water=names[0]) if names else say("the hose")


def _thinned_words(fill: CanFill, ratio: Decimal, *, short: bool) -> str:
    """A stock for the next strength: at most what is reckoned with stays, so that it is never too strong."""
    return say(
        "Keep at most {kept} of the stock, make it up to {litres} with water ({ppm} in the hose); "
        "let the stronger feed in the hose run out on soil in growth.",
        kept=measured_words(fill.kept / ratio),
        litres=measured_words(fill.litres / ratio),
        ppm=_strength(fill, short=short),
    )


def _strong_stock(per_l: Decimal) -> Iterator[str]:
    if per_l > STRONG_STOCK_PER_L:
        yield strong_stock_caution()


def _rest_of_stock(left: Decimal, ratio: Decimal) -> Iterator[str]:
    """left: feed that the rest of a stock would make [L]."""
    stock = left / ratio
    if stock >= _LEFT_OF_STOCK_L:
        yield _thin_first(stock, left - stock)


def _thin_first(stock: Decimal, water: Decimal) -> str:
    return say(
        "Left over: {litres} of the stock; thin it with {water} of water first.",
        litres=measured_words(stock),
        water=measured_words(water.quantize(Decimal("0.1"), ROUND_HALF_UP)),
    )


def _pour_lines(fill: CanFill, *, short: bool, hose: str = "") -> Iterator[str]:
    pours = [pour for serving in fill.servings for pour in serving.pours]
    if pours:
        trees = pours_words(pours, short=short)
        yield say(
            "Pour {litres} from {hose}: {trees}." if hose else "Pour {litres}: {trees}.",
            litres=measured_words(fill.poured),
            hose=hose,
            trees=trees,
        )


def pours_words(pours: Sequence[TreePour], *, short: bool) -> str:
    """Who is poured from a can; short: without how much each."""
    return ", ".join(_pour_words(pour, short=short or len(pours) == 1) for pour in pours)


def _pour_words(pour: TreePour, *, short: bool) -> str:
    """ "Fennel 480 ml", "Larch row (30) 1.2 L"."""
    name = pour.tree if pour.count == 1 else f"{pour.tree} ({pour.count})"
    return name if short else f"{name} {measured_words(pour.litres)}"


def _rest_lines(batch: CanBatch) -> Iterator[str]:
    """What is left over; a stock is thinned to the strength it was thinned to before."""
    stock, left = Decimal(0), batch.left_litres
    if not batch.fills[0].servings:
        stock = batch.fills[1].aside
        water = stock * (as_decimal(batch.fills[0].ppm / batch.fills[1].ppm) - 1)
        if stock:
            yield _thin_first(stock, water)
    if left > stock:
        yield say("Left over: {litres}.", litres=measured_words(left - stock))


def can_plan_facts(plan: CanPlan) -> list[dict[str, Any]]:
    """The same facts for `--json`."""
    return [_batch_facts(batch) for batch in plan.batches]


def _batch_facts(batch: CanBatch) -> dict[str, Any]:
    return _can_facts(batch) if batch.injector is None else _stock_facts(batch, batch.injector)


def _stock_facts(batch: CanBatch, ratio: Decimal) -> dict[str, Any]:
    """A stock for the injector; `stock_` before what is measured in the bottle."""
    kept = {"taken_out_litres", "kept_litres", "filled_to_litres"}
    facts = _can_facts(batch)
    bottle, left = facts.pop("can_litres"), facts.pop("left_over_litres")
    fillings = [
        {
            f"stock_{name}" if name in kept else name: round(value / float(ratio), 4)
            if name in kept
            else value
            for name, value in filling.items()
        }
        for filling in facts.pop("fillings")
    ]
    return facts | {
        "injector_parts": float(ratio),
        "stock_bottle_litres": round(bottle / float(ratio), 4),
        "fillings": fillings,
        "stock_left_over_litres": round(left / float(ratio), 4),
    }


def _can_facts(batch: CanBatch) -> dict[str, Any]:
    return {
        "rinse_first": batch.rinse_first,
        "products": [{"feed": p.title, "g" if p.unit == "g" else "ml": float(a)} for p, a in batch.weighed],
        "can_litres": float(batch.can_l),
        "water_shares": dict(batch.water),
        "fillings": [
            {
                "taken_out_litres": float(fill.aside),
                "kept_litres": float(fill.kept),
                "filled_to_litres": float(fill.litres),
                "n_mg_per_l": round(float(fill.ppm), 2),
                "poured_litres": float(fill.poured),
                "trees": [
                    {"tree": pour.tree, "count": pour.count, "litres": float(pour.litres)}
                    for serving in fill.servings
                    for pour in serving.pours
                ],
            }
            for fill in batch.fills
        ],
        "left_over_litres": float(batch.left_litres),
    }
