"""The search for one can that serves several strengths: weighed once, poured from, topped up, strongest first.

A chain begins with an amount of product in so much water. Then, for each strength: what is not wanted is poured aside,
the rest is filled up to a mark of the can, and the trees of that strength are poured. Feed poured aside or left in the
end is left over. Sizes are floats here; what is found is worked out again exactly by the caller.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import ceil, floor, inf

_EPSILON = 1e-9
_Run = tuple[int, float, float, float]
"""Strengths that one filling serves: up to which, from what to what strength [mg N/L], and how much of it [L]."""
_PREMIX: _Run = (0, 0.0, inf, 0.0)
_MOST_AMOUNTS = 12
_MOST_TRIES = 4000
"""So many fillings are tried at the most; days of three or four strengths need a few hundred."""


@dataclass(frozen=True, slots=True)
class Span:
    """One strength asked for, at the best `aim`, from `low` to `high` [mg N/L], and so many litres of it [L]."""

    aim: float
    low: float
    high: float
    litres: float


@dataclass(frozen=True, slots=True)
class Tools:
    """What a chain is measured with.

    marks: to fill a can to, rising [L]; stock_marks: to make up a stock to, in the jug or the can [L].
    jug: its step [L]; least_taken: what must be left for the next filling [L]. keeps_lines: what is kept for it is
    measured, not what is poured aside.
    """

    marks: tuple[float, ...]
    stock_marks: tuple[float, ...]
    jug: float
    least_taken: float
    keeps_lines: bool = False


@dataclass(frozen=True, slots=True)
class Filled:
    """One filling: aside: poured away before [L]; litres: the can is then filled to [L]; served: spans up to here."""

    aside: float
    litres: float
    served: int


@dataclass(frozen=True, slots=True)
class Chain:
    """The best chain found. amount: which of the amounts offered; left: feed left over [L]."""

    amount: int
    fillings: tuple[Filled, ...]
    left: float

    @property
    def cost(self) -> tuple[float, int]:
        """What is to be least, in this order."""
        return (round(self.left, 6), len(self.fillings))


@dataclass(frozen=True, slots=True)
class _State:
    """A chain so far, with what stands in the can: its strength [mg N/L], the rest of it and what was left over [L]."""

    amount: int
    fillings: tuple[Filled, ...]
    strength: float
    rest: float
    left: float


@lru_cache(maxsize=1024)
def best_chain(
    spans: tuple[Span, ...], tools: Tools, nitrogen: tuple[float, ...], premixes: int = 0
) -> Chain | None:
    """The chain for some strengths with the least left over, then with the fewest fillings; None for none.

    spans: strongest first. nitrogen: of each amount on offer [mg]. premixes: so many fillings that are poured on no
    tree may come first. A group fed week after week asks the same again: half the searches of a year.
    """
    return _ChainSearch(spans, tools, premixes).find(nitrogen)


class _ChainSearch:
    """One search; see `best_chain`."""

    def __init__(self, spans: Sequence[Span], tools: Tools, premixes: int) -> None:
        self.spans, self.tools, self.premixes = spans, tools, premixes
        # The most nitrogen the trees from each strength on can take up, and the least they need [mg].
        places = range(len(spans) + 1)
        self.takes = [sum(s.high * s.litres for s in spans[at:]) for at in places]
        self.needs = [sum(s.low * s.litres for s in spans[at:]) * (1 - _EPSILON) for at in places]
        self.runs = [list(self._runs(at)) for at in places]
        self.best: Chain | None = None
        self.tries = 0

    def find(self, nitrogen: Sequence[float]) -> Chain | None:
        """The best chain, None where none keeps to all strengths. nitrogen: of each amount on offer [mg]."""
        starts = []
        for run in ([_PREMIX] if self.premixes else []) + self.runs[0]:
            served, low, high, poured = run
            for mark in self.tools.marks if served else self.tools.stock_marks:
                if poured > mark + _EPSILON:
                    continue
                fitting = [a for a, n in enumerate(nitrogen) if _is_within(n / mark, low, high)]
                for amount in _spread(fitting):
                    now = _State(
                        amount, (Filled(0.0, mark, served),), nitrogen[amount] / mark, mark - poured, 0.0
                    )
                    if now.strength * now.rest >= self.needs[served]:
                        starts.append((self._least_left(now), now))
        self._follow(starts)
        return None if self.best is None else self._nearest(self.best, nitrogen)

    def _nearest(self, chain: Chain, nitrogen: Sequence[float]) -> Chain:
        """The same fillings, of the amount that comes nearest to what is asked: all else is alike."""
        strengths = list(self._strengths(chain, nitrogen[chain.amount]))
        by_amount = {}
        for amount, n in enumerate(nitrogen):
            times = n / nitrogen[chain.amount]
            if all(
                _is_within(s * times, span.low, span.high)
                for s, span in zip(strengths, self.spans, strict=True)
            ):
                pairs = zip(strengths, self.spans, strict=True)
                by_amount[amount] = max(abs(s * times / span.aim - 1) for s, span in pairs)
        nearest = min(
            by_amount, key=lambda amount: (round(by_amount[amount], 6), amount), default=chain.amount
        )
        return Chain(nearest, chain.fillings, chain.left)

    def _strengths(self, chain: Chain, nitrogen: float) -> Iterator[float]:
        """What each of the strengths asked for comes to [mg N/L]."""
        served, rest = 0, 0.0
        strength = nitrogen / chain.fillings[0].litres
        for number, filled in enumerate(chain.fillings):
            if number:
                strength *= (rest - filled.aside) / filled.litres
            yield from [strength] * (filled.served - served)
            rest = filled.litres - sum(span.litres for span in self.spans[served : filled.served])
            served = filled.served

    def _follow(self, states: list[tuple[float, _State]]) -> None:
        """Go on from each, those first that may leave the least over."""
        for least_left, now in sorted(states, key=lambda pair: pair[0]):
            if self._is_worse(least_left, 1) or self.tries > _MOST_TRIES:
                return
            self._go_on(least_left, now)

    def _runs(self, at: int) -> Iterator[_Run]:
        """How many strengths one filling can serve, most first."""
        low, high, poured = 0.0, inf, 0.0
        found = []
        for span_at in range(at, len(self.spans)):
            span = self.spans[span_at]
            low, high, poured = max(low, span.low), min(high, span.high), poured + span.litres
            if low > high * (1 + _EPSILON):
                break
            found.append((span_at + 1, low, high, poured))
        yield from reversed(found)

    def _least_left(self, now: _State) -> float:
        """What is left over at the least: the trees to come take up only so much of what is in the can [L]."""
        return now.left + max(0.0, now.rest - self.takes[now.fillings[-1].served] / now.strength)

    def _go_on(self, least_left: float, now: _State) -> None:
        """Follow a chain from what stands in the can."""
        at, count = now.fillings[-1].served, len(now.fillings)
        is_done = at == len(self.spans)
        if self._is_worse(least_left, count + (not is_done)):
            return
        if is_done:
            self.best = Chain(now.amount, now.fillings, now.left + now.rest)
            return
        self.tries += 1
        ways = []
        for run in ([_PREMIX] if at == 0 and count < self.premixes else []) + self.runs[at]:
            for filled, strength in self._fillings(now.strength, now.rest, run):
                rest, left = filled.litres - run[3], now.left + filled.aside
                if strength * rest >= self.needs[run[0]]:
                    then = _State(now.amount, (*now.fillings, filled), strength, rest, left)
                    ways.append((self._least_left(then), then))
        self._follow(ways)

    def _fillings(self, strength: float, rest: float, run: _Run) -> Iterator[tuple[Filled, float]]:
        """The ways to fill the can for the next strengths, each with the strength it comes to [mg N/L]."""
        served, low, high, poured = run
        is_last = served == len(self.spans)
        for mark in self.tools.marks:
            if mark < poured - _EPSILON:
                continue
            if strength * rest < low * mark * (1 - _EPSILON):
                return  # too little feed is left for so much water
            is_found = False
            for aside in self._asides(strength, rest, mark, low, high, is_last=is_last):
                is_found = True
                yield Filled(aside, mark, served), strength * (rest - aside) / mark
            if is_found and is_last:
                return  # a higher mark only leaves more over

    def _asides(
        self, strength: float, rest: float, mark: float, low: float, high: float, *, is_last: bool
    ) -> Iterator[float]:
        """How much to pour aside, least first: nothing, or down to the strongest or the weakest that will do [L]."""
        most_kept = min(rest, mark, high * mark / strength)
        least_kept = max(self.tools.least_taken, low * mark / strength)
        jug = self.tools.jug
        if self.tools.keeps_lines:
            least, most = rest - _steps_down(most_kept, jug), rest - _steps_up(least_kept, jug)
        else:
            least, most = _steps_up(rest - most_kept, jug), _steps_down(rest - least_kept, jug)
        if rest - least >= least_kept - _EPSILON:
            yield least
            if not is_last and most > least + _EPSILON:
                yield most

    def _is_worse(self, left: float, fillings: int) -> bool:
        return self.best is not None and (round(left, 6), fillings) >= self.best.cost


def _is_within(strength: float, low: float, high: float) -> bool:
    return low * (1 - _EPSILON) <= strength <= high * (1 + _EPSILON)


def _spread(amounts: Sequence[int]) -> Sequence[int]:
    """Some of many amounts, both ends among them."""
    if len(amounts) <= _MOST_AMOUNTS:
        return amounts
    last = len(amounts) - 1
    return [amounts[round(n * last / (_MOST_AMOUNTS - 1))] for n in range(_MOST_AMOUNTS)]


def _steps_up(value: float, step: float) -> float:
    return max(0, ceil(value / step - 1e-6)) * step


def _steps_down(value: float, step: float) -> float:
    return max(0, floor(value / step + 1e-6)) * step
