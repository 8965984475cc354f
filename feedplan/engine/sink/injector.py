"""A day's feed through an injector in the hose: which mixes go into a bottle of stock, and which stay in cans."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import ROUND_CEILING, Decimal

from feedplan.dose.arithmetic import COLDEST_C, Dose, stock_at
from feedplan.dose.salts import Salt, check_stock
from feedplan.engine.sink.cans import CanPlan, FeedToMix
from feedplan.engine.sink.day_cans import plan_cans
from feedplan.errors import DoseError
from feedplan.model.measures import Injector, Measures


def plan_with_injector(
    feeds: Sequence[FeedToMix], measures: Measures, injector: Injector, salts: Mapping[str, Salt]
) -> CanPlan:
    """The cans of a day, then its stocks. salts: those on the shelf, by the name of the product.

    A strength of which a can holds all is not worth a hose, nor is a stock of which more is left than goes out: both
    are mixed in cans (judgement: hoses themselves hold a litre or two), as is what no bottle makes.
    """
    litres: dict[object, Decimal] = {}
    for feed in feeds:
        litres[feed.kind, feed.ppm] = litres.get((feed.kind, feed.ppm), Decimal(0)) + feed.litres
    through = [
        feed
        for feed in feeds
        if litres[feed.kind, feed.ppm] > measures.largest_can_l and is_for_stock(feed, injector, salts)
    ]
    of_stock = measures.through(_as_full(injector, through, measures))
    stocks = plan_cans(through, of_stock, injector.ratio).batches
    while wasted := {
        key for batch in stocks if batch.left_litres * 2 > batch.mixed_litres for key in batch.keys
    }:
        through = [feed for feed in through if feed.key not in wasted]
        stocks = plan_cans(through, of_stock, injector.ratio).batches
    made = {key for batch in stocks for key in batch.keys}
    cans = plan_cans([feed for feed in feeds if feed.key not in made], measures)
    # Each stock after the first is another product, or stronger than what is left of the last.
    bottle = injector.stock_l * injector.ratio
    rinsed = (replace(batch, can_l=bottle, rinse_first=number > 0) for number, batch in enumerate(stocks))
    return replace(cans, batches=(*cans.batches, *rinsed))


def _as_full(injector: Injector, feeds: Sequence[FeedToMix], measures: Measures) -> Injector:
    """The injector with its bottle as far as these feeds can fill it, to the next full jug: less to search through."""
    stock = sum((feed.litres for feed in feeds), Decimal(0)) / injector.ratio
    jugs = max(Decimal(1), (stock / measures.jug_l).to_integral_value(ROUND_CEILING))
    return replace(injector, stock_l=min(injector.stock_l, jugs * measures.jug_l))


def is_for_stock(feed: FeedToMix, injector: Injector, salts: Mapping[str, Salt]) -> bool:
    """Whether a feed may go out through an injector: one product, that dissolves so far, in the water of the hose.

    One product to a bottle keeps apart what falls out as a concentrate, calcium from phosphate and sulfate.
    """
    if len(feed.parts) != 1 or len(feed.water) > 1:
        return False
    ((product, per_l),) = feed.parts
    strongest = per_l * max(feed.most_ppm, feed.ppm) / feed.ppm
    try:
        stock = stock_at(Dose(product, feed.litres, strongest, strongest), injector.ratio)
        if product.name in salts:
            check_stock(stock, salts[product.name], COLDEST_C)
    except DoseError:
        return False
    return True
