"""A day's cans planned together: what is weighed, poured, topped up, and left over.

Feeds made of the same products in the same shares, with the same water, share their cans: weighed once at the strongest
strength, then topped up with water from one strength to the next. The plan takes the fewest weighings, then leaves the
least over, then fills the fewest times. Every strength ends within 5 % of the one asked for.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from functools import cached_property, lru_cache
from hashlib import sha256
from itertools import combinations, groupby

from feedplan.dose.arithmetic import Product
from feedplan.dose.salts import do_clash
from feedplan.engine.sink.cans import CanBatch, CanFill, CanPlan, FeedToMix, Serving, TreePour
from feedplan.engine.sink.chain import Chain, Span, Tools, best_chain
from feedplan.model.measures import WORST_ERROR, Measures

_MOST_PREMIXES = 2
"""What is too little to weigh is thinned once; twice only where once is not enough."""
_MORE_THAN_LEAST = 5
_MOST_PARTED = 6
"""Up to so many pours or strengths are parted between cans in every way; judgement, for speed."""


def plan_cans(feeds: Sequence[FeedToMix], measures: Measures, injector: Decimal | None = None) -> CanPlan:
    """The cans for all feeds of a day. injector: as of a CanBatch, where they are stocks in `measures` of feed."""
    given = tuple(feeds), measures, injector
    # Equal numbers may be written otherwise, 10 and 10.0, and are then told otherwise.
    return _planned(*given, sha256(repr(given).encode()).digest())


@lru_cache(maxsize=256)
def _planned(
    feeds: Sequence[FeedToMix], measures: Measures, injector: Decimal | None, written: bytes
) -> CanPlan:
    """The same, worked out once for all calendars and pages that tell of the day. written: sets what is equal apart."""
    kinds: dict[object, list[FeedToMix]] = {}
    for feed in sorted(feeds, key=lambda feed: (-feed.ppm, feed.key)):
        kinds.setdefault(feed.kind, []).append(feed)
    batches: list[CanBatch] = []
    not_made: list[str] = []
    for alike in kinds.values():
        made, found = alike, _Sink(alike, measures, injector).batches()
        while short := [feed for feed in made if _poured(feed, found) < feed.litres]:
            # A feed that only some of its trees would get is not made at all.
            made = [feed for feed in made if feed not in short]
            found = _Sink(made, measures, injector).batches() if made else []
        batches += found
        not_made += [feed.key for feed in alike if feed not in made]
    return CanPlan(tuple(_in_turn(batches)), tuple(not_made))


def _poured(feed: FeedToMix, batches: Sequence[CanBatch]) -> Decimal:
    """What the trees of a feed are poured from some cans [L]."""
    servings = (serving for batch in batches for fill in batch.fills for serving in fill.servings)
    return sum((p.litres for each in servings if each.key == feed.key for p in each.pours), Decimal(0))


def _in_turn(batches: Sequence[CanBatch]) -> Iterator[CanBatch]:
    """The weakest first, so that a can needs a rinse only where the next would be too strong or fall out."""
    before: CanBatch | None = None
    for batch in sorted(batches, key=lambda batch: batch.fills[0].ppm):
        is_new = before is not None and before.weighed[0][0] != batch.weighed[0][0]
        yield replace(batch, rinse_first=is_new and before is not None and _needs_rinse(before, batch))
        before = batch


def _needs_rinse(before: CanBatch, after: CanBatch) -> bool:
    clash = any(do_clash(one, other) for one, _ in before.weighed for other, _ in after.weighed)
    return clash or before.fills[-1].ppm > after.fills[0].ppm


@dataclass(frozen=True, slots=True)
class _Amount:
    """Products weighed out, and the nitrogen in them [mg]."""

    weighed: tuple[tuple[Product, Decimal], ...]
    nitrogen: Decimal


@dataclass(frozen=True, slots=True)
class _Unit:
    """One pour of one of the feeds, by its place among them."""

    feed: int
    pour: TreePour


_Served = tuple[tuple[int, Decimal], ...]
"""What is poured from one can: of each feed, by its place, so much [L]. Which trees get it changes nothing."""


@dataclass(frozen=True, slots=True, order=True)
class _Cost:
    """What a day's cans cost, least first: pours that no can makes, weighings, what is left over [L], fillings."""

    gaps: int = 0
    weighings: int = 0
    left: Decimal = Decimal(0)
    fills: int = 0

    def __add__(self, other: _Cost) -> _Cost:
        return _Cost(
            self.gaps + other.gaps,
            self.weighings + other.weighings,
            self.left + other.left,
            self.fills + other.fills,
        )


_GAP = _Cost(gaps=1)


@dataclass(frozen=True, slots=True)
class _Way:
    """Cans for some pours: what they cost, the first of them with its pours, and the others."""

    cost: _Cost = _Cost()
    first: CanBatch | None = None
    units: tuple[_Unit, ...] = ()
    others: _Way | None = None

    def batches(self) -> Iterator[CanBatch]:
        """Every can, with the trees that are poured from it."""
        way: _Way | None = self
        while way is not None:
            if way.first is not None:
                yield _poured_on(way.first, way.units)
            way = way.others


def _poured_on(batch: CanBatch, units: Sequence[_Unit]) -> CanBatch:
    """A can with its trees in place of the litres alone."""
    pours = [tuple(unit.pour for unit in of_feed) for _, of_feed in groupby(units, key=lambda u: u.feed)]
    in_turn = iter(pours)
    fills = tuple(
        replace(fill, servings=tuple(replace(each, pours=next(in_turn)) for each in fill.servings))
        for fill in batch.fills
    )
    return replace(batch, fills=fills)


def _served_by(units: Sequence[_Unit]) -> _Served:
    return tuple(
        (feed, sum((unit.pour.litres for unit in of_feed), Decimal(0)))
        for feed, of_feed in groupby(units, key=lambda unit: unit.feed)
    )


class _Sink:
    """The cans for feeds that differ only by strength, the strongest first."""

    def __init__(
        self, feeds: Sequence[FeedToMix], measures: Measures, injector: Decimal | None = None
    ) -> None:
        self.feeds, self.measures, self.injector = feeds, measures, injector
        # Water for a stock is measured with the jug.
        least = Decimal(0) if injector is None else measures.least_taken_l
        self.marks = tuple(mark for mark in measures.fill_marks_l if mark >= least)
        self.tools = Tools(
            marks=tuple(map(float, self.marks)),
            stock_marks=tuple(float(mark) for mark in measures.stock_marks_l if mark >= least),
            jug=float(measures.jug_step_l),
            least_taken=float(measures.least_taken_l),
            keeps_lines=injector is not None,
        )
        parts = feeds[0].parts
        self.products = tuple(product for product, _ in parts)
        self.per_n = tuple(per_l / feeds[0].ppm for _, per_l in parts)
        self.known: dict[_Served, tuple[_Cost, CanBatch] | None] = {}

    def batches(self) -> list[CanBatch]:
        """As few as there can be; what no can makes is left out."""
        units = [_Unit(at, pour) for at, feed in enumerate(self.feeds) for pour in feed.pours if pour.litres]
        if not units:
            return []
        one = self._one_can(units, _Way())
        if one is None:
            pours = list(self._full_cans(units))
            ways = [self._cut(pours), *self._parted(pours)]
            one = min(ways, key=lambda way: way.cost)
        return list(one.batches())

    def _full_cans(self, units: Sequence[_Unit]) -> Iterator[_Unit]:
        """The pours, one that no can holds in as many cans as it takes."""
        can = self.measures.largest_can_l
        for unit in units:
            left = unit.pour.litres
            while left > can:
                yield replace(unit, pour=replace(unit.pour, litres=can))
                left -= can
            yield replace(unit, pour=replace(unit.pour, litres=left))

    def _parted(self, units: Sequence[_Unit]) -> Iterator[_Way]:
        """Every way to part a few pours, or a few feeds of many pours each whole, between two cans."""
        places = [unit.feed for unit in units] if len(units) > _MOST_PARTED else list(range(len(units)))
        pieces = sorted(set(places))
        for count in range(1, len(pieces) if len(pieces) <= _MOST_PARTED else 0):
            for others in map(set, combinations(pieces[1:], count)):
                second = [unit for unit, place in zip(units, places, strict=True) if place in others]
                first = [unit for unit, place in zip(units, places, strict=True) if place not in others]
                then = self._one_can(second, _Way())
                way = None if then is None else self._one_can(first, then)
                if way is not None:
                    yield way

    def _cut(self, units: Sequence[_Unit]) -> _Way:
        """The best cans where each takes the pours that come next, strongest first; those no can makes are left."""
        best = {len(units): _Way()}
        needs = [self.feeds[unit.feed].least_ppm * unit.pour.litres for unit in units]
        for start in range(len(units) - 1, -1, -1):
            found: _Way | None = None
            for end, served in self._ends(units, needs, start):
                can, others = self._can(served), best[end]
                if can is None:
                    continue
                cost = can[0] + others.cost
                if found is None or cost < found.cost:
                    found = _Way(cost, can[1], tuple(units[start:end]), others)
            after = best[start + 1]
            best[start] = found or _Way(_GAP + after.cost, others=after)
        return best[0]

    def _ends(
        self, units: Sequence[_Unit], needs: Sequence[Decimal], start: int
    ) -> Iterator[tuple[int, _Served]]:
        """Where a can begun with a pour may end, with what it pours: where a strength ends, or where it is full.

        needs: the nitrogen each pour needs at least [mg].
        """
        holds = self.feeds[units[start].feed].most_ppm * self.measures.largest_can_l
        nearly_full = holds * (1 - 2 * WORST_ERROR)  # to a tenth of a can
        needed, litres = Decimal(0), Decimal(0)
        done: _Served = ()
        for end in range(start, len(units)):
            unit = units[end]
            needed += needs[end]
            if needed > holds:
                return
            litres += unit.pour.litres
            after = units[end + 1] if end + 1 < len(units) else None
            is_done = after is None or after.feed != unit.feed
            if is_done or needed + needs[end + 1] > nearly_full:
                yield end + 1, (*done, (unit.feed, litres))
            if is_done:
                done, litres = (*done, (unit.feed, litres)), Decimal(0)

    def _one_can(self, units: Sequence[_Unit], others: _Way) -> _Way | None:
        """One can for some pours before others, None where there is none."""
        can = self._can(_served_by(units))
        return None if can is None else _Way(can[0] + others.cost, can[1], tuple(units), others)

    def _can(self, served: _Served) -> tuple[_Cost, CanBatch] | None:
        """A can of so much of each feed, its pours without a tree, and what it costs; None where there is none."""
        if served not in self.known:
            can = self._search(served)
            self.known[served] = None if can is None else (_Cost(0, 1, can.left_litres, len(can.fills)), can)
        return self.known[served]

    def _search(self, by_feed: _Served) -> CanBatch | None:
        served = [(self.feeds[at], litres) for at, litres in by_feed]
        needed = sum((feed.ppm * litres for feed, litres in served), Decimal(0))
        least = self._least_nitrogen
        is_small = needed < least
        if is_small and (self._do_clash or self.injector is not None):
            return None
        if is_small:
            amounts = self._amounts(least, least * (1 + _MORE_THAN_LEAST * 2 * WORST_ERROR))
        else:
            most = max(feed.most_ppm for feed, _ in served) * self.measures.largest_can_l
            amounts = self._amounts(max(least, min(needed * (1 - WORST_ERROR), most)), most)
        if not amounts:
            return None
        # Rounded amounts may hold a little more of one product than asked: no label or ceiling is passed for that.
        spans = tuple(
            Span(float(feed.ppm), float(feed.least_ppm), float(self._most_ppm(feed, amounts)), float(litres))
            for feed, litres in served
        )
        nitrogen = tuple(float(amount.nitrogen) for amount in amounts)
        chain = best_chain(spans, self.tools, nitrogen, 1 if is_small else 0)
        if chain is None and is_small:
            chain = best_chain(spans, self.tools, nitrogen, _MOST_PREMIXES)
        return None if chain is None else self._made(chain, amounts[chain.amount], served)

    @cached_property
    def _do_clash(self) -> bool:
        """Whether its products must never meet but in much water."""
        return any(do_clash(one, other) for one, other in combinations(self.products, 2))

    @cached_property
    def _least_nitrogen(self) -> Decimal:
        """What the least that can be weighed of every product brings [mg N]."""
        pairs = zip(self.products, self.per_n, strict=True)
        return max(self.measures.least_of(product.unit) / per_n for product, per_n in pairs if per_n)

    def _amounts(self, least: Decimal, most: Decimal) -> list[_Amount]:
        """What may be weighed out between two amounts of nitrogen [mg]: the chief product in steps of the scale."""
        steps = [self.measures.scale_for(product.unit).step for product in self.products]
        chief = max(self.per_n)
        step = steps[self.per_n.index(chief)]
        first, last = int((least * chief / step).to_integral_value("ROUND_CEILING")), int(most * chief / step)
        # A bottle of stock takes thousands of steps: a thousandth of them is near enough.
        stride = 1 if self.injector is None else max(1, (last - first) // 1000)
        found = []
        for count in range(first, last + 1, stride):
            weighed = tuple(
                (
                    product,
                    (count * step * per_n / chief / own).quantize(Decimal(1), ROUND_HALF_EVEN) * own,
                )
                for product, per_n, own in zip(self.products, self.per_n, steps, strict=True)
                if per_n
            )
            if all(amount >= self.measures.least_of(product.unit) for product, amount in weighed):
                nitrogen = sum((p.mg_per_unit["N"] * amount for p, amount in weighed), Decimal(0))
                found.append(_Amount(weighed, nitrogen))
        return found

    def _most_ppm(self, feed: FeedToMix, amounts: Sequence[_Amount]) -> Decimal:
        """The strongest a feed may be, whichever of the amounts it is made from [mg N/L]."""
        if len(self.products) == 1:
            return feed.most_ppm
        return min(_within_limits(feed, amount) for amount in amounts)

    def _made(self, chain: Chain, amount: _Amount, served: Sequence[tuple[FeedToMix, Decimal]]) -> CanBatch:
        """The chain found, worked out exactly."""
        fills: list[CanFill] = []
        nitrogen, rest, done = Fraction(amount.nitrogen), Decimal(0), 0
        step, marks = self.measures.jug_step_l, {*self.marks, *self.measures.stock_marks_l}
        for filled in chain.fillings:
            aside = (Decimal(str(filled.aside)) / step).to_integral_value() * step
            if self.injector is not None:
                aside = rest - ((rest - Decimal(str(filled.aside))) / step).to_integral_value() * step
            litres = next(mark for mark in marks if abs(float(mark) - filled.litres) < 1e-9)
            if fills:
                nitrogen = fills[-1].ppm * Fraction(rest - aside)
            kept = rest - aside
            servings = tuple(
                Serving(feed.key, (TreePour("", poured),)) for feed, poured in served[done : filled.served]
            )
            fills.append(CanFill(aside, kept, litres, nitrogen / Fraction(litres), servings))
            rest, done = fills[-1].rest, filled.served
        can = self.measures.can_for(max(fill.litres for fill in fills if fill.servings))
        ounces = self.measures.scale_oz
        return CanBatch(
            amount.weighed, self.feeds[0].water, can, tuple(fills), injector=self.injector, scale_oz=ounces
        )


def _within_limits(feed: FeedToMix, amount: _Amount) -> Decimal:
    """The strongest a feed may be that is made from an amount: as told, by labels, by nutrients [mg N/L]."""
    limits = [feed.most_ppm]
    limits += [product.most_per_l * amount.nitrogen / weighed for product, weighed in amount.weighed]
    for element, most in feed.most_mg_per_l:
        held = sum((p.mg_per_unit.get(element, Decimal(0)) * w for p, w in amount.weighed), Decimal(0))
        if held:
            limits.append(most * amount.nitrogen / held)
    return min(limits)
