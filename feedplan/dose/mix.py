"""Which products from the shelf, and how much of each, come closest to a target of N, P and K.

Every choice of up to a few products is tried; for each, the amounts that miss least are found exactly (fractions,
no rounding), none below zero and none above its label's maximum.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from itertools import combinations, product

from feedplan.dose.arithmetic import Product
from feedplan.dose.grade import ELEMENTAL, OXIDE, OXIDE_FACTORS
from feedplan.errors import DoseError

NUTRIENTS = ("N", "P", "K")

# Nitrogen sets the strength, so a miss in it counts ten times a miss in P or K (judgement, no source); these
# weights go with squares.
WEIGHTS: dict[str, Fraction] = {"N": Fraction(100), "P": Fraction(1), "K": Fraction(1)}

# A miss is measured against its target, or against this share of the N target where that is more: a milligram of P
# where hardly any is wanted is no great matter (judgement, no source).
LEAST_SCALE = Fraction(1, 4)

# One more product in the can must better the miss by more than this [percent], or it is not worth opening the tub.
WORTH_ANOTHER = 1.0

# A miss above this [percent] in any nutrient asks for another kind of product.
CLOSE_ENOUGH = 10.0


@dataclass(frozen=True, slots=True)
class Target:
    """What the feed shall hold, as elements [mg/L]."""

    n: Decimal
    p: Decimal
    k: Decimal

    @property
    def amounts(self) -> tuple[Decimal, Decimal, Decimal]:
        """N, P and K in that order [mg/L]."""
        return (self.n, self.p, self.k)


def target_from_ratio(n_mg_per_l: Decimal, ratio: Sequence[Decimal], basis: str) -> Target:
    """The target of a strength [mg N/L] and a ratio N:P:K, on the basis said (3:1:2 on labels is oxide).

    Raises ValueError for a ratio without N, or not of three parts.
    """
    if len(ratio) != 3 or ratio[0] <= 0 or min(ratio) < 0:
        raise ValueError("a ratio is N, P and K, N above 0; write for example 3:1:2")
    if basis not in (OXIDE, ELEMENTAL):
        raise ValueError(f"{basis!r} is not a basis for a ratio; write {OXIDE} or {ELEMENTAL}")
    n, p, k = (n_mg_per_l * part / ratio[0] for part in ratio)
    if basis == OXIDE:
        p, k = p * OXIDE_FACTORS["P"], k * OXIDE_FACTORS["K"]
    return Target(n, p, k)


@dataclass(frozen=True, slots=True)
class Mix:
    """The closest mix.

    parts: products with what goes into a litre of each [g or ml]. reached: as elements [mg/L].
    misses: by nutrient, percent of its target (of a quarter of the N target where that is more), below 0 when short.
    miss: the root of their weighted squares [percent].
    """

    parts: tuple[tuple[Product, Decimal], ...]
    reached: dict[str, Decimal]
    misses: dict[str, float]
    miss: float

    @property
    def worst(self) -> tuple[str, float] | None:
        """The nutrient that is furthest off and its miss [percent, below 0 when short]; None when all are close."""
        name, miss = max(self.misses.items(), key=lambda pair: abs(pair[1]))
        return (name, miss) if abs(miss) > CLOSE_ENOUGH else None

    def times(self, factor: Decimal, target: Target) -> Mix:
        """The same mix at another strength, no product above its label's maximum, beside a target."""
        parts = tuple((one, min(amount * factor, one.most_per_l)) for one, amount in self.parts)
        reached = {
            n: sum((one.mg_per_unit[n] * amount for one, amount in parts), Decimal(0)) for n in NUTRIENTS
        }
        least = target.n * _decimal(LEAST_SCALE)
        wanted = zip(NUTRIENTS, target.amounts, strict=True)
        misses = {n: float(100 * (reached[n] - want) / max(want, least)) for n, want in wanted}
        squares = (float(WEIGHTS[name]) * miss**2 for name, miss in misses.items())
        return Mix(parts, reached, misses, sum(squares) ** 0.5)

    def percents_off(self, target: Target) -> dict[str, float | None]:
        """How far each nutrient is off [percent of what was asked, below 0 when short]; None where none was asked."""
        wanted = zip(self.reached.items(), target.amounts, strict=True)
        return {name: float(100 * (got - want) / want) if want else None for (name, got), want in wanted}


def find_mix(products: Sequence[Product], target: Target, most_products: int = 2) -> Mix:
    """The mix of at most so many products that misses the target least; a tie goes to fewer products.

    Raises DoseError for an empty shelf or a target without N.
    """
    if not products:
        raise DoseError("no products to mix; name at least one")
    if target.n <= 0:
        raise DoseError("a target needs nitrogen; give ppm N above 0")
    best: Mix | None = None
    for size in range(1, min(most_products, len(products)) + 1):
        closest = min(
            (_closest(chosen, target) for chosen in combinations(products, size)), key=lambda mix: mix.miss
        )
        if best is None or closest.miss < best.miss - WORTH_ANOTHER:
            best = closest
    if best is None:
        raise DoseError(f"{most_products} products at most leaves nothing to mix; allow at least 1")
    return best


def _closest(chosen: Sequence[Product], target: Target) -> Mix:
    """The mix of just these products that misses least."""
    columns = [_column(one) for one in chosen]
    wanted = [Fraction(amount) for amount in target.amounts]
    scales = [max(amount, LEAST_SCALE * wanted[0]) for amount in wanted]
    weights = [WEIGHTS[nutrient] / scale**2 for nutrient, scale in zip(NUTRIENTS, scales, strict=True)]
    limits = [Fraction(one.most_per_l) for one in chosen]
    amounts = min(
        _corner_solutions(columns, wanted, weights, limits),
        key=lambda tried: _squared_miss(columns, tried, wanted, weights),
    )
    reached = _contents(columns, amounts)
    misses = [
        float(100 * (got - want) / scale) for got, want, scale in zip(reached, wanted, scales, strict=True)
    ]
    return Mix(
        parts=tuple((one, _decimal(amount)) for one, amount in zip(chosen, amounts, strict=True) if amount),
        reached={nutrient: _decimal(got) for nutrient, got in zip(NUTRIENTS, reached, strict=True)},
        misses=dict(zip(NUTRIENTS, misses, strict=True)),
        miss=100 * float(_squared_miss(columns, amounts, wanted, weights)) ** 0.5,
    )


def _column(one: Product) -> list[Fraction]:
    """N, P and K of one unit of a product [mg]."""
    per_unit = one.mg_per_unit
    return [Fraction(per_unit[nutrient]) for nutrient in NUTRIENTS]


def _contents(columns: list[list[Fraction]], amounts: Sequence[Fraction]) -> list[Fraction]:
    return [
        sum((column[row] * amount for column, amount in zip(columns, amounts, strict=True)), Fraction(0))
        for row in range(len(NUTRIENTS))
    ]


def _squared_miss(
    columns: list[list[Fraction]],
    amounts: Sequence[Fraction],
    wanted: list[Fraction],
    weights: list[Fraction],
) -> Fraction:
    rows = zip(_contents(columns, amounts), wanted, weights, strict=True)
    return sum(((got - want) ** 2 * weight for got, want, weight in rows), Fraction(0))


def _corner_solutions(
    columns: list[list[Fraction]], wanted: list[Fraction], weights: list[Fraction], limits: list[Fraction]
) -> Iterator[list[Fraction]]:
    """Every stationary point within the bounds: each product at none, at its limit, or free.

    The least bounded miss is one of them (the active set of a convex problem), so the best of these is the best.
    """
    for states in product(("none", "limit", "free"), repeat=len(columns)):
        amounts = [
            limit if state == "limit" else Fraction(0) for state, limit in zip(states, limits, strict=True)
        ]
        free = [index for index, state in enumerate(states) if state == "free"]
        rest = [want - got for want, got in zip(wanted, _contents(columns, amounts), strict=True)]
        solved = _least_squares([columns[index] for index in free], rest, weights)
        if solved is None:
            continue
        for index, amount in zip(free, solved, strict=True):
            amounts[index] = amount
        if all(0 <= amount <= limit for amount, limit in zip(amounts, limits, strict=True)):
            yield amounts


def _least_squares(
    columns: list[list[Fraction]], wanted: list[Fraction], weights: list[Fraction]
) -> list[Fraction] | None:
    """Amounts of least weighted squared miss, by the normal equations; None when two columns are alike."""
    size = len(columns)

    def dot(one: list[Fraction], other: list[Fraction]) -> Fraction:
        return sum((a * b * weight for a, b, weight in zip(one, other, weights, strict=True)), Fraction(0))

    table = [
        [dot(columns[i], columns[j]) for j in range(size)] + [dot(columns[i], wanted)] for i in range(size)
    ]
    for step in range(size):
        pivot = next((row for row in range(step, size) if table[row][step]), None)
        if pivot is None:
            return None
        table[step], table[pivot] = table[pivot], table[step]
        table[step] = [value / table[step][step] for value in table[step]]
        for row in range(size):
            if row != step and table[row][step]:
                factor = table[row][step]
                table[row] = [a - factor * b for a, b in zip(table[row], table[step], strict=True)]
    return [table[row][size] for row in range(size)]


def _decimal(value: Fraction) -> Decimal:
    return Decimal(value.numerator) / Decimal(value.denominator)
