"""What the weather says about stages, worked out once for all trees it is the same for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from feedplan.engine.cohorts import Cohort
from feedplan.engine.growing_year import DAY, day_in_season, season_of
from feedplan.engine.stages.courses import Courses, DailyCounts
from feedplan.engine.stages.prediction import (
    Prediction,
    Sightings,
    StageSite,
    first_counted,
    predict,
    warmth_count,
)
from feedplan.engine.stages.stages import Foretold, Record, TypicalYear
from feedplan.model.climate import Climate
from feedplan.model.clock import Clock, Measure, StageRule
from feedplan.model.collection import Collection
from feedplan.model.journal import Entry
from feedplan.model.moment import DayOfYear

SeenOnSpecies = Mapping[tuple[str, int], Mapping[str, Sightings]]
"""What was seen on trees of a species in a season, by stage."""


@dataclass(frozen=True, slots=True)
class _Known:
    """A species' clock, told apart by `key` from all others."""

    key: int
    clock: Clock


class Foretelling:
    """The weather of one pass, and every prediction made from it so far. climate: as known on the day of the plan."""

    def __init__(self, collection: Collection, climate: Climate, today: date) -> None:
        self._collection = collection
        self._place = collection.place
        self._record = DailyCounts(climate)
        self._courses: dict[int, Courses] = {}
        self._clocks: dict[tuple[object, ...], _Known] = {}
        self._found: dict[tuple[object, ...], Mapping[str, Prediction]] = {}
        self._far_season = season_of(today, self._place.hemisphere) + 2

    def told(self, record: Record, fallback: str, species: str, seen_on: SeenOnSpecies) -> Record:
        """A record that knows what the weather says, by its species' clock with what was learned fitted in.

        fallback: the calendar that stands in for stages the species' own lacks.
        """
        known = self._known(record.typical, fallback, species)
        typical = replace(record.typical, clock=known.clock)
        foretold = self._foretold(known, record.typical.calendar.spread_days, species, seen_on)
        return Record(record.entries, typical, record.vocabulary, record.hemisphere, foretold)

    def _foretold(self, known: _Known, spread_days: int, species: str, seen_on: SeenOnSpecies) -> Foretold:

        def foretold(season: int, seen: Mapping[str, date]) -> Mapping[str, Prediction]:
            elsewhere = seen_on.get((species, season), {})
            key = (known.key, season, frozenset(seen.items()), species if elsewhere else "")
            if key not in self._found:
                place = StageSite(float(self._place.latitude), self._place.hemisphere, season, spread_days)
                self._found[key] = predict(known.clock, self._of(season), place, seen, elsewhere)
            return self._found[key]

        return foretold

    def _of(self, season: int) -> Courses:
        if season not in self._courses:
            self._courses[season] = Courses(self._record, season, self._place.hemisphere)
        return self._courses[season]

    def _known(self, typical: TypicalYear, fallback: str, species: str) -> _Known:
        learned = {
            stage: rule
            for (word, stage), rule in self._collection.learned.items()
            if word == species.casefold()
        }
        own = tuple(typical.own.items())
        key = (typical.calendar.name, fallback, own, species if learned else "")
        if key not in self._clocks:
            rules = self._with_own_dates(typical) | learned
            ordered = {stage: rules[stage] for stage, _ in typical.dates if stage in rules}
            self._clocks[key] = _Known(len(self._clocks), ordered)
        return self._clocks[key]

    def _with_own_dates(self, typical: TypicalYear) -> dict[str, StageRule]:
        """The clock, set so that in the middle of all years it meets the dates the grower wrote.

        A stage that is not brought by warmth keeps the date written.
        """
        rules = dict(typical.clock)
        for stage, day in typical.own.items():
            rule = rules.pop(stage, None)
            if rule is not None and rule.measure is Measure.WARMTH:
                amount = self._warmth_by(rule, day)
                if amount > 0:
                    share = rule.give_or_take / rule.amount if rule.amount else 0.0
                    rules[stage] = replace(
                        rule,
                        amount=round(amount),
                        give_or_take=round(amount * share),
                        after=None,
                        at_least_days=None,
                        at_most_days=None,
                        own_date=True,
                    )
        return {s: rule for s, rule in rules.items() if rule.after is None or rule.after in rules}

    def _warmth_by(self, rule: StageRule, day: DayOfYear) -> float:
        """Degree days by a day of the year, the middle of all years on record, or by normals [° day]."""
        season, courses = self._far_season, self._of(self._far_season)
        place = StageSite(0.0, self._place.hemisphere, season, 0)
        start = courses.index(first_counted(rule.counting, place))
        end = courses.index(day_in_season(day, season, place.hemisphere) + DAY)
        if not courses.is_known or end <= start:
            return 0.0
        found = sorted(sums[end] - sums[start] for sums in courses.sums(warmth_count(rule.counting)))
        return found[len(found) // 2]


def seen_on_species(
    cohorts: Sequence[Cohort], record_of: Callable[[Cohort], Record], seasons: Iterable[int]
) -> SeenOnSpecies:
    """Every stage seen this pass, by species and season, one day for each tree it was seen on."""
    found: dict[tuple[str, int], dict[str, list[tuple[Entry, int]]]] = {}
    wanted = tuple(seasons)
    for cohort in cohorts:
        if not cohort.entries:
            continue
        record = record_of(cohort)
        for season in wanted:
            for stage, entry in record.sightings(season).first.items():
                for species in {tree.species for tree in cohort.trees}:
                    trees = sum(tree.species == species for tree in cohort.trees)
                    found.setdefault((species, season), {}).setdefault(stage, []).append((entry, trees))
    return {
        key: {stage: _sightings(entries) for stage, entries in stages.items()}
        for key, stages in found.items()
    }


def _sightings(entries: Sequence[tuple[Entry, int]]) -> Sightings:
    days = tuple(sorted(entry.day for entry, trees in entries for _ in range(trees)))
    return Sightings(days, max(entry.known for entry, _ in entries))
