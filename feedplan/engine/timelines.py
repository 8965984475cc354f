"""The course of one timeline, stage by stage, in the order in which the stages run.

Each stage is a plain function over values that do not change: what applies (care), growth stages, holds, when feeding
is open, what stands in its way, liquid feeds, solid feeds, and the season's budget over both.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import date

from feedplan.engine.cohorts import Cohort, cohorts_of, species_seen_in_part
from feedplan.engine.feeding.budget import keep_to_budget, liquid_mg_per_l
from feedplan.engine.feeding.feeding import feeds_of
from feedplan.engine.feeding.gates import Gates
from feedplan.engine.feeding.openings import Feeding
from feedplan.engine.feeding.restrictions import restrictions_of
from feedplan.engine.feeding.solid_counts import Counter
from feedplan.engine.feeding.solid_periods import SolidPlan
from feedplan.engine.feeding.solids import solids_of
from feedplan.engine.feeding.windows import lay_windows
from feedplan.engine.frame import Frame, SeenOnSpecies
from feedplan.engine.growing_year import DAY, season_end, season_of
from feedplan.engine.history import settled
from feedplan.engine.holds.holds import by_start, open_holds
from feedplan.engine.holds.ramps import ramps_after
from feedplan.engine.outdoors.outdoors import heat_holds, measured_in
from feedplan.engine.season import Timeline
from feedplan.engine.stages.prediction import Sightings
from feedplan.engine.stages.stages import Record
from feedplan.engine.stages.typical import typical_year
from feedplan.model.climate import Climate
from feedplan.model.collection import Collection
from feedplan.model.course import StageDate
from feedplan.model.history import NO_HISTORY, History, TreeHistory
from feedplan.model.journal import Entry, Journal


class Pass:
    """What all timelines of one plan share. seen_on: what was seen on the trees of each species, where weather counts.

    frame: its days and weather; one of an earlier plan serves again where it is the same.
    """

    def __init__(self, frame: Frame, journal: Journal, history: History = NO_HISTORY) -> None:
        self.frame = frame
        self.seen_on: SeenOnSpecies = {}
        self._stages: dict[tuple[str, tuple[str, ...]], dict[tuple[object, ...], dict[str, StageDate]]] = {}
        self.cohorts = self._sorted(journal, history)

    def seen_on_kind(self, cohort: Cohort) -> SeenOnSpecies:
        """What was seen on trees of a cohort's species, its own among them."""
        return {key: seen for key, seen in self.seen_on.items() if key[0] == cohort.trees[0].species}

    def _sorted(self, journal: Journal, history: History) -> tuple[Cohort, ...]:
        """The trees sorted into cohorts. Where the weather is known, a species seen in part stands by itself."""
        if self.frame.foretelling is None:
            return cohorts_of(self.frame.collection, journal, self.frame.today, history=history)
        learned = {species for species, _ in self.frame.collection.learned}
        apart = species_seen_in_part(self.frame.collection, journal, self.frame.today) | {
            tree.species for tree in self.frame.collection.trees if tree.species.casefold() in learned
        }
        cohorts = cohorts_of(self.frame.collection, journal, self.frame.today, apart, history)
        self.seen_on = seen_on_species(cohorts, self._record_apart_from_weather, self.frame.seasons)
        return cohorts

    def record(self, cohort: Cohort) -> Record:
        """What is known of a cohort, and what the weather says of its stages where there is any."""
        record = self._record_apart_from_weather(cohort)
        species, fallbacks = cohort.trees[0].species, _fallbacks(cohort)
        if self.frame.foretelling is not None:
            record = self.frame.foretelling.told(record, fallbacks, species, self.seen_on)
        return replace(record, worked_out=self._stages.setdefault((species, fallbacks), {}))

    def _record_apart_from_weather(self, cohort: Cohort) -> Record:
        species, vocabulary = cohort.trees[0].species, self.frame.collection.vocabulary
        fallbacks = [vocabulary.calendars[name] for name in _fallbacks(cohort)]
        calendar = vocabulary.calendar_for(species, fallbacks[0].name)
        own = {
            stage: day
            for (word, stage), day in self.frame.collection.own_dates.items()
            if species in self.frame.collection.species_called(word)
        }
        typical = typical_year(calendar, fallbacks, own)
        return Record(cohort.entries, typical, vocabulary, self.frame.collection.place.hemisphere)


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

    unlogged = shared.frame.collection.habits.unlogged_feeds
    days = shared.frame.first, shared.frame.today
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
    collection, habits, care = shared.frame.collection, shared.frame.collection.habits, cohort.care
    season = season_of(until, record.hemisphere)
    last = min(shared.frame.last, season_end(season, record.hemisphere))
    # The feed after the last one tells when the next is due, which nobody asks of a plan of the past.
    reach = (
        last
        if today < shared.frame.today
        else min(shared.frame.reach, season_end(season + 1, record.hemisphere))
    )
    holds = by_start(
        open_holds(record, care, cohort.leaves, shared.frame.last_season),
        heat_holds(care, shared.frame.outdoors.waves),
    )
    windows = lay_windows(record, care, holds, shared.frame.first, reach)
    restrictions = restrictions_of(
        cohort.entries,
        holds,
        collection.away,
        (cohort.arrives, cohort.leaves),
        record.hemisphere,
        gates=Gates(shared.frame.outdoors, care, record, windows, measured_in(cohort.entries)),
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
        first=shared.frame.first,
        last=last,
        reach=reach,
        in_step=told.in_step,
        unasked=cohort.unasked,
        off_day=cohort.off_day,
        soonest=today if cohort.open_today or today < shared.frame.today else today + DAY,
    )
    due, dropped = feeds_of(feeding)
    solid = solids_of(
        SolidPlan(
            care=care,
            record=record,
            holds=holds,
            restrictions=restrictions,
            ramps=ramps,
            counter=Counter(shared.frame.release, record.hemisphere, today),
            liquid_mg_per_l=liquid_mg_per_l(due, habits.feed_share, today),
            told=told.layings,
            today=today,
            first=shared.frame.first,
            last=last,
        )
    )
    feeds, trimmed = keep_to_budget(due, solid.solids, care, today)
    # A feed put off and then left out for the budget moved nowhere: one answer to what became of it.
    left_out = {each.due for each in trimmed}
    dropped = tuple(each for each in dropped if each.resumed is None or each.due not in left_out)
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
        stages=tuple((season, record.course(season)) for season in shared.frame.seasons),
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
    unseen = Pass(Frame.around(collection, Journal(), today, (today, today), climate), Journal())
    apart = {tree.species for tree in collection.trees}
    cohorts = cohorts_of(collection, journal, today, apart)
    return tuple((cohort.trees[0].species, unseen.record(cohort)) for cohort in cohorts if cohort.entries)


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
