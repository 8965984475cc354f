"""The best cans of a day by full search: every parting of trees, amount, mark, jug step tried.

Slow, and nothing is shared.

The rules are those of the plan: an amount in steps of the scale that is weighed to within 5 %, in water to a mark;
then, for each strength down, some poured aside in steps of the jug and water added to a mark. Where all the trees
together need less than can be weighed, a stock that no tree gets may come before, of up to twice the least amount.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from math import ceil, floor, inf

Pour = tuple[float, float]
"""A strength [mg N/L] and litres of it [L]."""
LOW, HIGH, TINY = 0.95, 1.05, 1e-9


class FullSearch:
    """The least weighings for a day, and the least left over with so many."""

    def __init__(self, n_mg_per_g: float, scale: float, marks: float, jug_step: float, can: float) -> None:
        self.n, self.scale, self.step, self.can = n_mg_per_g, scale, jug_step, can
        self.marks = [marks * k for k in range(1, floor(can / marks + TINY) + 1)]
        self.stock_marks = [5 * jug_step * k for k in range(1, 21)]
        self.least_g, self.least_kept = 10 * scale, 10 * jug_step
        self.one_can = lru_cache(maxsize=None)(self._one_can)

    def best(self, pours: Sequence[Pour]) -> tuple[int, float] | None:
        """Weighings and litres left over."""
        ordered = sorted(pours, reverse=True)
        for count in range(1, len(ordered) + 1):
            left = min((self._all(parts) for parts in _partitions(ordered, count)), default=inf)
            if left < inf:
                return count, left
        return None

    def _all(self, parts: Sequence[Sequence[Pour]]) -> float:
        left = 0.0
        for part in parts:
            left += self.one_can(_summed(part))
            if left == inf:
                break
        return left

    def _one_can(self, spans: tuple[Pour, ...]) -> float:
        """The least left over of one weighing, infinite where none serves them all."""
        is_small = sum(ppm * litres for ppm, litres in spans) < self.least_g * self.n - TINY
        known: dict[tuple[int, float, float], float] = {}

        def poured(at: int, strength: float, rest: float) -> float:
            """Once as many strengths as can be are poured from what stands in the can."""
            least = inf
            for number in range(at, len(spans)):
                ppm, litres = spans[number]
                if not ppm * LOW - TINY <= strength <= ppm * HIGH + TINY or litres > rest + TINY:
                    break
                rest -= litres
                least = min(
                    least, rest if number + 1 == len(spans) else filled_up(number + 1, strength, rest)
                )
            return least

        def filled_up(at: int, strength: float, rest: float) -> float:
            """Once some is poured aside and the can filled up to a mark."""
            key = (at, round(strength, 7), round(rest, 7))
            if key not in known:
                known[key] = min(asides(at, strength, rest), default=inf)
            return known[key]

        def asides(at: int, strength: float, rest: float) -> Iterator[float]:
            ppm = spans[at][0]
            for mark in self.marks:
                if mark < spans[at][1] - TINY or ppm * LOW * mark > strength * rest + TINY:
                    continue
                for steps in range(floor(rest / self.step + TINY) + 1):
                    kept = rest - steps * self.step
                    then = strength * kept / mark
                    if kept < self.least_kept - TINY or then < ppm * LOW - TINY:
                        break
                    if kept <= mark + TINY and then <= ppm * HIGH + TINY:
                        yield steps * self.step + poured(at, then, mark)

        def begun() -> Iterator[float]:
            for mark in sorted({*self.marks, *(self.stock_marks if is_small else ())}):
                strongest = spans[0][0] * HIGH * mark / self.n
                most = max(strongest, 2 * self.least_g) if is_small else strongest
                for steps in range(
                    ceil(self.least_g / self.scale - TINY), floor(most / self.scale + TINY) + 1
                ):
                    strength = steps * self.scale * self.n / mark
                    if mark in self.marks:
                        yield poured(0, strength, mark)
                    if is_small:
                        yield filled_up(0, strength, mark)

        return min(begun(), default=inf)


def _summed(part: Sequence[Pour]) -> tuple[Pour, ...]:
    strengths: dict[float, float] = {}
    for ppm, litres in part:
        strengths[ppm] = round(strengths.get(ppm, 0.0) + litres, 9)
    return tuple(strengths.items())


def _partitions(pours: Sequence[Pour], count: int) -> Iterator[list[list[Pour]]]:
    """Every way to part the pours into so many cans."""
    if not pours:
        if count == 0:
            yield []
        return
    first, rest = pours[0], pours[1:]
    for parts in _partitions(rest, count - 1) if count else ():
        yield [[first], *parts]
    for parts in _partitions(rest, count) if count <= len(rest) else ():
        for at in range(len(parts)):
            yield [*parts[:at], [first, *parts[at]], *parts[at + 1 :]]
