"""The course of one timeline, stage by stage, in the order in which the stages run.

Each stage is a plain function over values that do not change: what applies (care), growth stages, holds, when feeding
is open, what stands in its way, liquid feeds, solid feeds, and the season's budget over both. What the weather says
about stages is worked out once for all trees it is the same for.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from feedplan.engine.cohorts import Cohort, cohorts_of, species_seen_in_part
from feedplan.engine.feeding.budget import keep_to_budget, liquid_mg_per_l
from feedplan.engine.feeding.feeding import feeds_of
from feedplan.engine.feeding.gates import Gates
from feedplan.engine.feeding.openings import Feeding
from feedplan.engine.feeding.release import Release
from feedplan.engine.feeding.restrictions import restrictions_of
from feedplan.engine.feeding.solid_counts import Counter
from feedplan.engine.feeding.solid_periods import SolidPlan
from feedplan.engine.feeding.solids import solids_of
from feedplan.engine.feeding.windows import lay_windows
from feedplan.engine.growing_year import DAY, day_in_season, season_end, season_of, season_start
from feedplan.engine.history import settled
from feedplan.engine.holds.holds import by_start, open_holds, ramps_after
from feedplan.engine.outdoors.daily_et import site_of
from feedplan.engine.outdoors.outdoors import Outdoors, heat_holds, measured_in
from feedplan.engine.season import Timeline
from feedplan.engine.sink.shelf import SOON
from feedplan.engine.stages.courses import Courses, DailyCounts
from feedplan.engine.stages.prediction import (
    Prediction,
    Sightings,
    StageSite,
    first_counted,
    predict,
    warmth_count,
)
from feedplan.engine.stages.stages import Foretold, Record, TypicalYear, typical_year
from feedplan.model.climate import Climate
from feedplan.model.collection import Collection
from feedplan.model.course import StageDate
from feedplan.model.history import NO_HISTORY, History, TreeHistory
from feedplan.model.journal import Entry, Journal
from feedplan.model.moment import DayOfYear
from feedplan.model.stage import Clock, Measure, StageRule


class Pass:
    """What all timelines of one plan share: the days looked at, and the weather as known on the day of the plan.

    first, last: the days planned, whole seasons, with as many after today as the shelf is told for. reach: a season
    more, in which the next feed of each tree and the next opening of each feeding period are looked for.
    """

    def __init__(
        self,
        collection: Collection,
        journal: Journal,
        today: date,
        shown: tuple[date, date],
        *,
        climate: Climate | None,
        history: History = NO_HISTORY,
    ) -> None:
        start, end = min(shown[0], today), max(shown[1], today + SOON)
        hemisphere = collection.place.hemisphere
        self.collection = collection
        self.today = today
        self.climate = climate.as_of(today) if climate is not None else None
        earliest = min([start, *(e.day for e in journal.entries)])
        self.first = collection.since or season_start(season_of(earliest, hemisphere) - 1, hemisphere)
        last_season = season_of(end, hemisphere)
        first_season = min(season_of(self.first, hemisphere), season_of(start, hemisphere) - 1)
        self.last = season_end(last_season, hemisphere)
        self.reach = season_end(last_season + 1, hemisphere)
        self.seasons = range(first_season, last_season + 2)
        days = min(self.first, start), self.reach
        self.outdoors = Outdoors(self.climate, collection.habits, today, days, site_of(collection.place))
        self.release = Release(self.climate, min(self.first, earliest), self.last)
        self._foretelling = Foretelling(collection, self.climate, today) if self.climate is not None else None
        self._seen_on: SeenOnSpecies = {}
        self._stages: dict[tuple[str, tuple[str, ...]], dict[tuple[object, ...], dict[str, StageDate]]] = {}
        self.cohorts = self._sorted(journal, history)

    @property
    def last_season(self) -> int:
        """The season of the last day shown."""
        return self.seasons[-1] - 1

    def _sorted(self, journal: Journal, history: History) -> tuple[Cohort, ...]:
        """The trees sorted into cohorts. Where the weather is known, a species seen in part stands by itself."""
        if self._foretelling is None:
            return cohorts_of(self.collection, journal, self.today, history=history)
        learned = {species for species, _ in self.collection.learned}
        apart = species_seen_in_part(self.collection, journal, self.today) | {
            tree.species for tree in self.collection.trees if tree.species.casefold() in learned
        }
        cohorts = cohorts_of(self.collection, journal, self.today, apart, history)
        self._seen_on = seen_on_species(cohorts, self._record_apart_from_weather, self.seasons)
        return cohorts

    def record(self, cohort: Cohort) -> Record:
        """What is known of a cohort, and what the weather says of its stages where there is any."""
        record = self._record_apart_from_weather(cohort)
        species, fallbacks = cohort.trees[0].species, _fallbacks(cohort)
        if self._foretelling is not None:
            record = self._foretelling.told(record, fallbacks, species, self._seen_on)
        return replace(record, worked_out=self._stages.setdefault((species, fallbacks), {}))

    def _record_apart_from_weather(self, cohort: Cohort) -> Record:
        species, vocabulary = cohort.trees[0].species, self.collection.vocabulary
        fallbacks = [vocabulary.calendars[name] for name in _fallbacks(cohort)]
        calendar = vocabulary.calendar_for(species, fallbacks[0].name)
        own = {
            stage: day
            for (word, stage), day in self.collection.own_dates.items()
            if species in self.collection.species_called(word)
        }
        typical = typical_year(calendar, fallbacks, own)
        return Record(cohort.entries, typical, vocabulary, self.collection.place.hemisphere)


def _fallbacks(cohort: Cohort) -> tuple[str, ...]:
    """The calendars that stand in where a species has none, those of the groups it stood in, in that order.

    The first group's goes before: a move adds stages that the new group waits for and changes no date of the past.
    """
    care = cohort.care
    return tuple(dict.fromkeys(care.schedule_of(stay).calendar for stay in care.stays))


def settle(cohort: Cohort, shared: Pass) -> TreeHistory:
    """What one cohort was told on every day before today, and what it was asked for on its own word."""

    def plan_as_of(day: date, until: date, told: TreeHistory) -> Timeline:
        known = cohort.as_of(day)
        return timeline_of(known, shared.record(known), shared, told=told, today=day, until=until)

    unlogged = shared.collection.habits.unlogged_feeds
    days = shared.first, shared.today
    return settled(cohort, days, unlogged, plan_as_of)


def timeline_of(
    cohort: Cohort,
    record: Record,
    shared: Pass,
    *,
    told: TreeHistory,
    today: date,
    until: date,
) -> Timeline:
    """One cohort's whole course, planned on a day to the end of the season of another.

    record: its growth stages, as known on the day of the plan. told: what was told before that day.
    """
    collection, habits, care = shared.collection, shared.collection.habits, cohort.care
    season = season_of(until, record.hemisphere)
    last = min(shared.last, season_end(season, record.hemisphere))
    # The feed after the last one tells when the next is due, which nobody asks of a plan of the past.
    reach = last if today < shared.today else min(shared.reach, season_end(season + 1, record.hemisphere))
    holds = by_start(
        open_holds(record, care, cohort.leaves, shared.last_season),
        heat_holds(care, shared.outdoors.waves),
    )
    windows = lay_windows(record, care, holds, shared.first, reach)
    restrictions = restrictions_of(
        cohort.entries,
        holds,
        collection.away,
        (cohort.arrives, cohort.leaves),
        record.hemisphere,
        gates=Gates(shared.outdoors, care, windows, measured_in(cohort.entries)),
    )
    ramps = ramps_after(holds)
    feeding = Feeding(
        care=care,
        record=record,
        windows=windows,
        restrictions=restrictions,
        ramps=ramps,
        told=told.feeds,
        today=today,
        first=shared.first,
        last=last,
        reach=reach,
        in_step=told.in_step,
    )
    due, dropped = feeds_of(feeding)
    solid = solids_of(
        SolidPlan(
            care=care,
            record=record,
            holds=holds,
            restrictions=restrictions,
            ramps=ramps,
            counter=Counter(shared.release, record.hemisphere, today),
            liquid_mg_per_l=liquid_mg_per_l(due, habits.feed_share, today),
            told=told.layings,
            today=today,
            first=shared.first,
            last=last,
        )
    )
    feeds, trimmed = keep_to_budget(due, solid.solids, care, today)
    return Timeline(
        lineage=cohort.lineage,
        trees=cohort.trees,
        calendar=record.typical.calendar.name,
        entries=cohort.entries,
        care=care,
        own=cohort.own,
        arrives=cohort.arrives,
        earlier=cohort.earlier,
        leaves=cohort.leaves,
        stages=tuple((season, record.course(season)) for season in shared.seasons),
        holds=holds,
        windows=windows.windows,
        waiting=windows.waiting,
        feeds=feeds,
        dropped=tuple(sorted((*dropped, *trimmed), key=lambda d: d.due)),
        solids=solid.solids,
        restrictions=restrictions,
        solid_events=solid.events,
        solid_dropped=solid.dropped,
    )


def records_by_species(
    collection: Collection, journal: Journal, today: date, climate: Climate
) -> tuple[tuple[str, Record], ...]:
    """What is known of every tree, by species, with what the weather alone says of its stages."""
    # Without the journal, so that no date told is drawn towards the sightings it will be measured against.
    unseen = Pass(collection, Journal(), today, (today, today), climate=climate)
    apart = {tree.species for tree in collection.trees}
    cohorts = cohorts_of(collection, journal, today, apart)
    return tuple((cohort.trees[0].species, unseen.record(cohort)) for cohort in cohorts if cohort.entries)


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

    def told(
        self, record: Record, fallbacks: tuple[str, ...], species: str, seen_on: SeenOnSpecies
    ) -> Record:
        """A record that knows what the weather says, by its species' clock with what was learned fitted in.

        fallbacks: the calendars that stand in for stages the species' own lacks.
        """
        known = self._known(record.typical, fallbacks, species)
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

    def _known(self, typical: TypicalYear, fallbacks: tuple[str, ...], species: str) -> _Known:
        learned = {
            stage: rule
            for (word, stage), rule in self._collection.learned.items()
            if word == species.casefold()
        }
        own = tuple(typical.own.items())
        key = (typical.calendar.name, fallbacks, own, species if learned else "")
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
