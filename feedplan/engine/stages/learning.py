"""What a grower's own sightings teach: the base and the sum of warmth that bring a stage, and how far off they are.

The fit is small and robust: for each base the sum whose dates miss the sightings least, a few days' miss counting by
its square and more than that only in proportion (Huber, "Robust estimation of a location parameter", Annals of
Mathematical Statistics 35, 1964, pp. 73-101). How good it is shows on years it has not seen: each year in turn is
left out, the others are fitted, and the year's dates are told from them.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import accumulate
from math import sqrt

from feedplan.engine.growing_year import DAY
from feedplan.engine.stages.courses import Count, DailyCounts

FEWEST_SEASONS = 2
"""With fewer nothing is learned; leaving a year out needs another one to learn from."""

SEASONS_FOR_BASE = 4
"""With fewer seasons the base is kept: two numbers from two or three years fit the weather's noise. Judgement."""

BASES_C = tuple(range(0, 11))
"""The bases tried [°C]."""

LARGE_MISS_DAYS = 4.0
"""A miss beyond this counts in proportion, not by its square [days]. Judgement: what trees of a kind differ by."""

AROUND_DAYS = 40
"""Sums are tried from that many days before the first sighting to as many after the last [days]."""

SUMS_TRIED = 800
SPAN_OF_MISSES = 1.28
"""Standard deviations from the middle to the 10 or 90 % point of a normal distribution."""


@dataclass(frozen=True, slots=True)
class Observed:
    """What was seen of one stage in one season. first: the day warmth counts from; days: one for each sighting."""

    season: int
    first: date
    days: tuple[date, ...]


@dataclass(frozen=True, slots=True)
class Fit:
    """A sum and its base. degree_days, give_or_take: above base_c [°C, ° day].

    error_days: root mean square miss of the sightings fitted; left_out_days: of each season told from the others.
    mean_date_days: what the mean date of the others would have missed by, in place of warmth [days].
    """

    base_c: float
    degree_days: float
    give_or_take: float
    error_days: float
    left_out_days: float
    mean_date_days: float
    seasons: int
    sightings: int


def fit(record: DailyCounts, observed: Sequence[Observed], base_c: float) -> Fit | None:
    """The sum that fits best, and the base too where there are seasons enough; None when there are too few.

    base_c: kept where there are not, and where another base is no better on seasons left out [°C]. Every season must be
    on record from its first day counted to its last sighting.
    """
    if len({season.season for season in observed}) < FEWEST_SEASONS:
        return None
    known = [_Table(record, observed, base_c)]
    free = known
    if len(observed) >= SEASONS_FOR_BASE:
        bases = sorted({base_c, *map(float, BASES_C)})
        free = [_Table(record, observed, base) for base in bases]
    kept, better = _left_out(known, observed), _left_out(free, observed)
    tables, left_out = (free, better) if better < kept else (known, kept)
    table, at = _best(tables, None)
    sums = [total for season in range(len(observed)) for total in table.sums_seen(season)]
    return Fit(
        base_c=table.base_c,
        degree_days=table.tried[at],
        give_or_take=max(0.05 * table.tried[at], _spread(sums, len(observed))),
        error_days=_rms(miss for season in range(len(observed)) for miss in table.misses(season, at)),
        left_out_days=left_out,
        mean_date_days=_mean_date(observed),
        seasons=len(observed),
        sightings=sum(len(season.days) for season in observed),
    )


class _Table:
    """Every sum tried for one base: the date it gives in each season, and how far that is off."""

    def __init__(self, record: DailyCounts, observed: Sequence[Observed], base_c: float) -> None:
        self.base_c = base_c
        self._observed = observed
        count = Count("warmth", base_c)
        self._sums = [
            list(accumulate(record.counts(count, season.first, _length(season)))) for season in observed
        ]
        seen = [(sums[max(0, _place(s, min(s.days)) - AROUND_DAYS)], sums[-1])
                for s, sums in zip(observed, self._sums, strict=True)]  # fmt: skip
        low, high = min(low for low, _ in seen), max(high for _, high in seen)
        step = max(high - low, 1.0) / SUMS_TRIED
        self.tried = [low + step * (i + 0.5) for i in range(SUMS_TRIED)]
        self.costs = [
            [sum(map(_cost, self.misses(number, at))) for at in range(SUMS_TRIED)]
            for number in range(len(observed))
        ]

    def misses(self, number: int, at: int) -> list[float]:
        """How many days the date told in a season is off, one for each sighting; late is above 0."""
        season, sums = self._observed[number], self._sums[number]
        told = season.first + DAY * min(bisect_left(sums, self.tried[at]), len(sums))
        return [float((told - day).days) for day in season.days]

    def sums_seen(self, number: int) -> list[float]:
        """The sums counted by each sighting of a season."""
        season, sums = self._observed[number], self._sums[number]
        return [sums[_place(season, day)] for day in season.days]


def _length(season: Observed) -> int:
    return _place(season, max(season.days)) + AROUND_DAYS + 1


def _place(season: Observed, day: date) -> int:
    return (day - season.first).days


def _cost(miss: float) -> float:
    size = abs(miss)
    return size**2 if size <= LARGE_MISS_DAYS else LARGE_MISS_DAYS * (2 * size - LARGE_MISS_DAYS)


def _best(tables: Sequence[_Table], without: int | None) -> tuple[_Table, int]:
    """The base and the sum that cost least over all seasons but one; of equally good sums the middle one."""
    found: list[tuple[float, int, int]] = []
    for number, table in enumerate(tables):
        rows = [row for season, row in enumerate(table.costs) if season != without]
        totals = [sum(column) for column in zip(*rows, strict=True)]
        least = min(totals)
        ties = [at for at, total in enumerate(totals) if total <= least + 1e-9]
        found.append((least, number, ties[len(ties) // 2]))
    _, number, at = min(found)
    return tables[number], at


def _left_out(tables: Sequence[_Table], observed: Sequence[Observed]) -> float:
    """Root mean square miss of every season told by the fit to the others [days]."""
    misses: list[float] = []
    for season in range(len(observed)):
        table, at = _best(tables, season)
        misses += table.misses(season, at)
    return _rms(misses)


def _mean_date(observed: Sequence[Observed]) -> float:
    """Root mean square miss of the mean date of the other seasons [days]."""
    misses: list[float] = []
    for season in observed:
        others = [_place(s, day) for s in observed if s is not season for day in s.days]
        mean = sum(others) / len(others)
        misses += [_place(season, day) - mean for day in season.days]
    return _rms(misses)


def _spread(sums: Sequence[float], seasons: int) -> float:
    """Half the 10 to 90 % range of the sums seen, wider for few seasons [° day]."""
    mean = sum(sums) / len(sums)
    deviation = sqrt(sum((each - mean) ** 2 for each in sums) / max(1, len(sums) - 1))
    return SPAN_OF_MISSES * deviation * sqrt(1 + 1 / seasons)


def _rms(misses: Iterable[float]) -> float:
    values = list(misses)
    return sqrt(sum(value * value for value in values) / len(values))


def on_record(record: DailyCounts, season: Observed) -> bool:
    """Whether the weather from the first day counted to the last sighting is known, but for a day in fifty."""
    return record.share_on_record(season.first, max(season.days)) >= 0.98
