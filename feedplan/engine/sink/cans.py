"""A day's cans planned together: what is weighed, poured, topped up, and left over.

Feeds made of the same products in the same shares, with the same water, share their cans: weighed once at the strongest
strength, then topped up with water from one strength to the next. The plan takes the fewest weighings, then leaves the
least over, then fills the fewest times. Every strength ends within 5 % of the one asked for.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from functools import cached_property
from itertools import combinations, groupby

from feedplan.dose.arithmetic import Product
from feedplan.dose.salts import do_clash
from feedplan.engine.sink.chain import Chain, Span, Tools, best_chain
from feedplan.model.measures import WORST_ERROR, Measures

_MOST_PREMIXES = 2
"""What is too little to weigh is thinned once; twice only where once is not enough."""
_MORE_THAN_LEAST = 5
_MOST_PARTED = 6
"""Up to so many pours or strengths are parted between cans in every way; judgement, for speed."""
_SHARE = Decimal("1e-9")


@dataclass(frozen=True, slots=True)
class TreePour:
    """What a tree, or all of one name together, is poured [L]."""

    tree: str
    litres: Decimal
    count: int = 1


@dataclass(frozen=True, slots=True)
class FeedToMix:
    """One feed of the day before it is mixed.

    key: what it is called. parts: what goes into a litre of it at `ppm` [g or ml]. water: of what sources, by share.
    ppm: nitrogen asked for; most_ppm: never to be passed [mg N/L]. most_mg_per_l: nutrients never to be passed.
    """

    key: str
    parts: tuple[tuple[Product, Decimal], ...]
    water: tuple[tuple[str, float], ...]
    ppm: Decimal
    most_ppm: Decimal
    pours: tuple[TreePour, ...]
    most_mg_per_l: tuple[tuple[str, Decimal], ...] = ()

    @property
    def litres(self) -> Decimal:
        """What all its trees are poured [L]."""
        return sum((pour.litres for pour in self.pours), Decimal(0))

    @property
    def least_ppm(self) -> Decimal:
        """The weakest it may be [mg N/L]."""
        return min(self.ppm, self.most_ppm) * (1 - WORST_ERROR)

    @property
    def kind(self) -> object:
        """The same for feeds that one can be made into the other by adding water."""
        parts = [(product, (per_l / self.ppm / _SHARE).to_integral_value()) for product, per_l in self.parts]
        return tuple(parts), self.water


@dataclass(frozen=True, slots=True)
class Serving:
    """Trees of one feed that are poured from one filling."""

    key: str
    pours: tuple[TreePour, ...]


@dataclass(frozen=True, slots=True)
class CanFill:
    """The can filled up once. aside: poured out of it before [L]; kept: what stays of the filling before [L].

    litres: it is filled to [L]. ppm: nitrogen that is then in it, exactly [mg N/L]. servings: strongest first.
    """

    aside: Decimal
    kept: Decimal
    litres: Decimal
    ppm: Fraction
    servings: tuple[Serving, ...]

    @property
    def poured(self) -> Decimal:
        """What its trees are poured [L]."""
        return sum((pour.litres for serving in self.servings for pour in serving.pours), Decimal(0))

    @property
    def rest(self) -> Decimal:
        """What then stays in the can [L]."""
        return self.litres - self.poured


@dataclass(frozen=True, slots=True)
class CanBatch:
    """One weighing and what is made of it. can_l: the can for it [L]; rinse_first: it is to be rinsed before.

    weighed: how much of each product [g or ml]. injector: of a stock, 1 part of which goes into so many parts of feed;
    its litres are then those of the feed that it makes.
    """

    weighed: tuple[tuple[Product, Decimal], ...]
    water: tuple[tuple[str, float], ...]
    can_l: Decimal
    fills: tuple[CanFill, ...]
    rinse_first: bool = False
    injector: Decimal | None = None

    @property
    def keys(self) -> frozenset[str]:
        """The feeds poured from it."""
        return frozenset(serving.key for fill in self.fills for serving in fill.servings)

    @property
    def pours(self) -> tuple[TreePour, ...]:
        """Every pour from it, in order."""
        return tuple(p for fill in self.fills for serving in fill.servings for p in serving.pours)

    @property
    def left_over(self) -> tuple[tuple[Decimal, Fraction], ...]:
        """What nobody is poured: litres and strength of each [L, mg N/L]."""
        pairs = [(after.aside, before.ppm) for before, after in zip(self.fills, self.fills[1:], strict=False)]
        last = self.fills[-1]
        return tuple((litres, ppm) for litres, ppm in (*pairs, (last.rest, last.ppm)) if litres > 0)

    @property
    def left_litres(self) -> Decimal:
        """All of that together [L]."""
        return sum((litres for litres, _ in self.left_over), Decimal(0))

    @property
    def mixed_litres(self) -> Decimal:
        """Feed made, poured or not [L]."""
        return sum((fill.poured for fill in self.fills), Decimal(0)) + self.left_litres


@dataclass(frozen=True, slots=True)
class CanPlan:
    """The cans of a day in the order in which they are mixed. not_made: feeds that no can here makes, by key."""

    batches: tuple[CanBatch, ...] = ()
    not_made: tuple[str, ...] = ()

    @property
    def left_litres(self) -> Decimal:
        """Feed left over in all, stocks apart [L]."""
        return sum((batch.left_litres for batch in self.batches if batch.injector is None), Decimal(0))

    @property
    def mixed_litres(self) -> Decimal:
        """Mixed in all [L]."""
        return sum((batch.mixed_litres for batch in self.batches), Decimal(0))

    def serving(self, keys: Iterable[str]) -> CanPlan:
        """The cans alone from which some feeds are poured, whole, and those of these feeds that no can makes."""
        wanted = set(keys)
        batches = tuple(batch for batch in self.batches if not wanted.isdisjoint(batch.keys))
        return CanPlan(batches, tuple(key for key in self.not_made if key in wanted))

    def ppm_of(self, key: str) -> Fraction | None:
        """The nitrogen really in the can for a feed, of several cans the strongest [mg N/L]; None for none."""
        fills = [fill for batch in self.batches for fill in batch.fills]
        return max((fill.ppm for fill in fills if any(s.key == key for s in fill.servings)), default=None)


def as_decimal(value: Fraction) -> Decimal:
    """An exact strength as one to write or to reckon on with."""
    return Decimal(value.numerator) / Decimal(value.denominator)


def plan_cans(feeds: Sequence[FeedToMix], measures: Measures, injector: Decimal | None = None) -> CanPlan:
    """The cans for all feeds of a day. injector: as of a CanBatch, where they are stocks in `measures` of feed."""
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
        self.known: dict[tuple[_Unit, ...], CanBatch | None] = {}

    def batches(self) -> list[CanBatch]:
        """As few as there can be; what no can makes is left out."""
        units = [_Unit(at, pour) for at, feed in enumerate(self.feeds) for pour in feed.pours if pour.litres]
        one = self._batch(units) if units else None
        if one is not None or not units:
            return [] if one is None else [one]
        pours = list(self._full_cans(units))
        ways = [self._cut(pours)]
        ways += [[self._batch(part) for part in parted] for parted in self._parted(pours)]
        whole = [[batch for batch in way if batch is not None] for way in ways if None not in way]
        if whole:
            return min(whole, key=_cost)
        return [batch for batch in ways[0] if batch is not None]

    def _full_cans(self, units: Sequence[_Unit]) -> Iterator[_Unit]:
        """The pours, one that no can holds in as many cans as it takes."""
        can = self.measures.largest_can_l
        for unit in units:
            left = unit.pour.litres
            while left > can:
                yield replace(unit, pour=replace(unit.pour, litres=can))
                left -= can
            yield replace(unit, pour=replace(unit.pour, litres=left))

    def _parted(self, units: Sequence[_Unit]) -> Iterator[list[list[_Unit]]]:
        """Every way to part a few pours, or a few feeds of many pours each whole, between two cans."""
        places = [unit.feed for unit in units] if len(units) > _MOST_PARTED else list(range(len(units)))
        pieces = sorted(set(places))
        for count in range(1, len(pieces) if len(pieces) <= _MOST_PARTED else 0):
            for others in map(set, combinations(pieces[1:], count)):
                yield [
                    [unit for unit, place in zip(units, places, strict=True) if place not in others],
                    [unit for unit, place in zip(units, places, strict=True) if place in others],
                ]

    def _cut(self, units: Sequence[_Unit]) -> list[CanBatch | None]:
        """The best cans where each takes the pours that come next, strongest first."""
        best: dict[int, list[CanBatch | None]] = {len(units): []}
        for start in range(len(units) - 1, -1, -1):
            ways = []
            for end in self._ends(units, start):
                batch = self._batch(units[start:end])
                if batch is not None:
                    ways.append([batch, *best[end]])
            best[start] = min(ways, key=_cost_with_gaps) if ways else [None, *best[start + 1]]
        return best[0]

    def _ends(self, units: Sequence[_Unit], start: int) -> Iterator[int]:
        """Where a can that begins with a pour may end: where a strength ends, or where it is full."""
        holds = self.feeds[units[start].feed].most_ppm * self.measures.largest_can_l
        needed = Decimal(0)
        for end in range(start, len(units)):
            needed += self._least_of(units[end])
            if needed > holds:
                return
            after = units[end + 1] if end + 1 < len(units) else None
            if after is None or after.feed != units[end].feed or self._fills_up(needed, after, holds):
                yield end + 1

    def _fills_up(self, needed: Decimal, after: _Unit, holds: Decimal) -> bool:
        """Whether a can may be full before the next pour: by what it needs at least, to a tenth of a can."""
        return needed + self._least_of(after) > holds * (1 - 2 * WORST_ERROR)

    def _least_of(self, unit: _Unit) -> Decimal:
        return self.feeds[unit.feed].least_ppm * unit.pour.litres

    def _batch(self, units: Sequence[_Unit]) -> CanBatch | None:
        """One can for some pours, None where there is none."""
        key = tuple(units)
        if key not in self.known:
            self.known[key] = self._search(key)
        return self.known[key]

    def _search(self, units: tuple[_Unit, ...]) -> CanBatch | None:
        by_feed = [(at, tuple(u.pour for u in us)) for at, us in groupby(units, key=lambda u: u.feed)]
        served = [(self.feeds[at], pours) for at, pours in by_feed]
        poured = [sum((pour.litres for pour in pours), Decimal(0)) for _, pours in served]
        needed = sum(
            (feed.ppm * litres for (feed, _), litres in zip(served, poured, strict=True)), Decimal(0)
        )
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
            for (feed, _), litres in zip(served, poured, strict=True)
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
        return max(self.measures.least_amount / per_n for per_n in self.per_n if per_n)

    def _amounts(self, least: Decimal, most: Decimal) -> list[_Amount]:
        """What may be weighed out between two amounts of nitrogen [mg]: the chief product in steps of the scale."""
        step = self.measures.scale_g
        chief = max(self.per_n)
        first, last = int((least * chief / step).to_integral_value("ROUND_CEILING")), int(most * chief / step)
        # A bottle of stock takes thousands of steps: a thousandth of them is near enough.
        stride = 1 if self.injector is None else max(1, (last - first) // 1000)
        found = []
        for count in range(first, last + 1, stride):
            weighed = tuple(
                (
                    product,
                    (count * step * per_n / chief / step).quantize(Decimal(1), ROUND_HALF_EVEN) * step,
                )
                for product, per_n in zip(self.products, self.per_n, strict=True)
                if per_n
            )
            if all(amount >= self.measures.least_amount for _, amount in weighed):
                nitrogen = sum((p.mg_per_unit["N"] * amount for p, amount in weighed), Decimal(0))
                found.append(_Amount(weighed, nitrogen))
        return found

    def _most_ppm(self, feed: FeedToMix, amounts: Sequence[_Amount]) -> Decimal:
        """The strongest a feed may be, whichever of the amounts it is made from [mg N/L]."""
        if len(self.products) == 1:
            return feed.most_ppm
        return min(_within_limits(feed, amount) for amount in amounts)

    def _made(
        self, chain: Chain, amount: _Amount, served: Sequence[tuple[FeedToMix, tuple[TreePour, ...]]]
    ) -> CanBatch:
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
            servings = tuple(Serving(feed.key, pours) for feed, pours in served[done : filled.served])
            fills.append(CanFill(aside, kept, litres, nitrogen / Fraction(litres), servings))
            rest, done = fills[-1].rest, filled.served
        can = self.measures.can_for(max(fill.litres for fill in fills if fill.servings))
        return CanBatch(amount.weighed, self.feeds[0].water, can, tuple(fills), injector=self.injector)


def _within_limits(feed: FeedToMix, amount: _Amount) -> Decimal:
    """The strongest a feed may be that is made from an amount: as told, by labels, by nutrients [mg N/L]."""
    limits = [feed.most_ppm]
    limits += [product.most_per_l * amount.nitrogen / weighed for product, weighed in amount.weighed]
    for element, most in feed.most_mg_per_l:
        held = sum((p.mg_per_unit.get(element, Decimal(0)) * w for p, w in amount.weighed), Decimal(0))
        if held:
            limits.append(most * amount.nitrogen / held)
    return min(limits)


def _cost(batches: Sequence[CanBatch]) -> tuple[int, Decimal, int]:
    return (
        len(batches),
        sum((batch.left_litres for batch in batches), Decimal(0)),
        sum(len(batch.fills) for batch in batches),
    )


def _cost_with_gaps(batches: Sequence[CanBatch | None]) -> tuple[int, tuple[int, Decimal, int]]:
    """Feeds left out count before all."""
    made = [batch for batch in batches if batch is not None]
    return (len(batches) - len(made), _cost(made))
