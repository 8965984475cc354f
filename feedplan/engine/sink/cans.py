"""What is mixed on a day: the feeds as they are asked for, and the cans that they are then poured from."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from feedplan.dose.arithmetic import Product
from feedplan.model.measures import WORST_ERROR

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

    key: what it is called. parts: what goes into a litre of it at `ppm` [g or ml]. water: of what sources, by share;
    none for the usual water. ppm: nitrogen asked for; most_ppm: never to be passed [mg N/L]. most_mg_per_l: nutrients
    never to be passed.
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
    its litres are then those of the feed that it makes. scale_oz: the step of a scale that shows ounces [oz].
    """

    weighed: tuple[tuple[Product, Decimal], ...]
    water: tuple[tuple[str, float], ...]
    can_l: Decimal
    fills: tuple[CanFill, ...]
    rinse_first: bool = False
    injector: Decimal | None = None
    scale_oz: Decimal | None = None

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
