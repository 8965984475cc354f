"""What all sightings in the journal teach about each species, beside what its clock says without them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from math import sqrt

from feedplan.engine.growing_year import season_of
from feedplan.engine.stages.courses import DailyCounts
from feedplan.engine.stages.learning import FEWEST_SEASONS, Fit, Observed, fit, on_record
from feedplan.engine.stages.stage_rules import StageSite, first_counted
from feedplan.engine.stages.stages import Record
from feedplan.engine.timelines import records_by_species
from feedplan.model.climate import Climate
from feedplan.model.clock import Clock, Measure, StageRule
from feedplan.model.collection import Collection
from feedplan.model.journal import Journal


@dataclass(frozen=True, slots=True)
class TooFew:
    """Too few seasons to learn from. seen: seasons with sightings; on_record: those whose weather is known."""

    seen: int
    on_record: int
    needed: int = FEWEST_SEASONS


@dataclass(frozen=True, slots=True)
class Lesson:
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


def lessons(collection: Collection, journal: Journal, climate: Climate, today: date) -> tuple[Lesson, ...]:
    """What can be learned of every stage that warmth brings and that was seen, by species and stage."""
    shipped = replace(collection, learned={})
    found: dict[tuple[str, str], _Seen] = {}
    for species, record in records_by_species(shipped, journal, today, climate):
        _gather(species, record, found)
    learner = _Learner(DailyCounts(climate.as_of(today)), collection)
    return tuple(learner.lesson(*key, seen) for key, seen in sorted(found.items()))


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

    def lesson(self, species: str, stage: str, seen: _Seen) -> Lesson:
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
        return Lesson(species, stage, seen.rule, before, found, why_not)

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


def taught(found: tuple[Lesson, ...]) -> Mapping[tuple[str, str], Lesson]:
    """The lessons worth keeping, by species and stage: those better than the rule before on seasons not seen."""
    return {(lesson.species, lesson.stage): lesson for lesson in found if lesson.is_better}
