"""What all sightings in the journal teach about each species, beside what its clock says without them.

The base and the sum of warmth that bring a stage are fitted, robustly for so few: for each base the sum whose dates
miss the sightings least, a few days' miss counting by its square and more than that only in proportion (Huber, "Robust
estimation of a location parameter", Annals of Mathematical Statistics 35, 1964, pp. 73-101). How good that is shows on
years it has not seen: each year in turn is left out, the others are fitted, and the year's dates are told from them.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import accumulate
from math import sqrt

from feedplan.engine.growing_year import DAY, season_of
from feedplan.engine.stages.courses import Count, DailyCounts
from feedplan.engine.stages.prediction import StageSite, first_counted
from feedplan.engine.stages.stages import Record
from feedplan.engine.timelines import records_by_species
from feedplan.model.climate import Climate
from feedplan.model.collection import Collection
from feedplan.model.journal import Journal
from feedplan.model.stage import Clock, Measure, StageRule

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


@dataclass(frozen=True, slots=True)
class TooFew:
    """Too few seasons to learn from. seen: seasons with sightings; on_record: those whose weather is known."""

    seen: int
    on_record: int
    needed: int = FEWEST_SEASONS


@dataclass(frozen=True, slots=True)
class Calibration:
    """One stage of one species. before: the rule without what was seen; before_days: what it misses by [days].

    fit: None where there is too little to learn from; why_not says what is missing then.
    """

    species: str
    stage: str
    before: StageRule
    before_days: float | None
    fit: Fit | None
    why_not: TooFew | None = None

    @property
    def is_better(self) -> bool:
        """Whether the fit tells seasons it has not seen better than the rule before did."""
        return self.fit is not None and (
            self.before_days is None or self.fit.left_out_days < self.before_days
        )


@dataclass(slots=True)
class _Seen:
    """Sightings of one stage of one species by season, and what the clock alone said of each."""

    rule: StageRule
    days: dict[int, list[date]]
    told: dict[int, date]


def calibrations(
    collection: Collection, journal: Journal, climate: Climate, today: date
) -> tuple[Calibration, ...]:
    """What can be learned of every stage that warmth brings and that was seen, by species and stage."""
    shipped = replace(collection, learned={})
    found: dict[tuple[str, str], _Seen] = {}
    for species, record in records_by_species(shipped, journal, today, climate):
        _gather(species, record, found)
    learner = _Learner(DailyCounts(climate.as_of(today)), collection)
    return tuple(learner.calibration(*key, seen) for key, seen in sorted(found.items()))


def _gather(species: str, record: Record, found: dict[tuple[str, str], _Seen]) -> None:
    """Add one record's sightings of stages that warmth brings."""
    seasons = {season_of(entry.day, record.hemisphere) for entry in record.entries}
    for season in sorted(seasons):
        told = record.foretold(season, {}) if record.foretold is not None else {}
        for stage, entry in record.sightings(season).first.items():
            rule = record.typical.clock.get(stage)
            if rule is None or not _is_learnable(rule, record.typical.clock):
                continue
            seen = found.setdefault((species, stage), _Seen(rule, {}, {}))
            seen.days.setdefault(season, []).append(entry.day)
            expected = told[stage].day if stage in told else None
            if expected is not None:
                seen.told[season] = expected


def _is_learnable(rule: StageRule, clock: Clock) -> bool:
    """Whether warmth brings a stage, counted from a day of the year or from a stage that is."""
    before = clock.get(rule.after) if rule.after is not None else None
    return rule.measure is Measure.WARMTH and (before is None or before.after is None)


class _Learner:
    """Fits what was seen to the weather of one place."""

    def __init__(self, daily: DailyCounts, collection: Collection) -> None:
        self._daily = daily
        self._place = StageSite(float(collection.place.latitude), collection.place.hemisphere, 0, 0)

    def calibration(self, species: str, stage: str, seen: _Seen) -> Calibration:
        """What one stage of one species teaches."""
        observed = self._observed(seen)
        known = [season for season in observed if on_record(self._daily, season)]
        misses = [
            float((seen.told[season.season] - day).days)
            for season in known
            if season.season in seen.told
            for day in season.days
        ]
        before = sqrt(sum(miss**2 for miss in misses) / len(misses)) if misses else None
        found = fit(self._daily, known, seen.rule.counting.base_c)
        why_not = None if found is not None else TooFew(len(observed), len(known))
        return Calibration(species, stage, seen.rule, before, found, why_not)

    def _observed(self, seen: _Seen) -> list[Observed]:
        """The sightings by season, those of a season that began before warmth counts left out."""
        counting = seen.rule.counting
        firsts = {
            season: first_counted(counting, replace(self._place, season=season)) for season in seen.days
        }
        return [
            Observed(season, firsts[season], tuple(sorted(days)))
            for season, days in sorted(seen.days.items())
            if min(days) > firsts[season]
        ]


def taught(found: tuple[Calibration, ...]) -> Mapping[tuple[str, str], Calibration]:
    """The calibrations worth keeping, by species and stage: those better than the rule before on seasons not seen."""
    return {(each.species, each.stage): each for each in found if each.is_better}
