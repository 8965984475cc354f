"""The pass itself: collection, journal, today and horizon in; the whole season out. No clock, file or network."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, timedelta
from typing import TypeVar

from feedplan.engine.answers.prompts import note_events, reviews_of, stage_prompts
from feedplan.engine.cohorts import Cohort, cohorts_of, is_species, poured_litres, species_seen_in_part
from feedplan.engine.feeding.barriers import barring_of
from feedplan.engine.feeding.budget import keep_to_budget, recorded_mg_per_l
from feedplan.engine.feeding.feeding import Feeding, feeds_of
from feedplan.engine.feeding.gates import gates_of
from feedplan.engine.feeding.release import Release
from feedplan.engine.feeding.rounds import round_items, solid_items
from feedplan.engine.feeding.solid_counts import Counter
from feedplan.engine.feeding.solids import SolidCourse, SolidPlan, solids_of
from feedplan.engine.feeding.windows import lay_windows
from feedplan.engine.growing_year import season_end, season_of, season_start
from feedplan.engine.holds.heat import heat_holds
from feedplan.engine.holds.holds import by_start, open_holds, ramps_after
from feedplan.engine.outdoors.alerts import alerts_of
from feedplan.engine.outdoors.benches import are_indoors
from feedplan.engine.outdoors.outdoors import outdoors_of
from feedplan.engine.stages.foretelling import Foretelling, SeenOnSpecies, seen_on_species
from feedplan.engine.stages.stages import Record, typical_year
from feedplan.engine.water.check_table import Rows, TableCourses, dated_rows
from feedplan.engine.water.flushes import flushes
from feedplan.engine.water.water_plan import plan_water
from feedplan.model.climate import Climate
from feedplan.model.collection import Collection, Feed, FeedUse
from feedplan.model.course import FeedEvent, Hold, Stay
from feedplan.model.journal import Journal
from feedplan.model.schedule import Schedule
from feedplan.model.season import Season, Timeline

T = TypeVar("T")

LOOK_BACK_DAYS = 30
LOOK_AHEAD_DAYS = 400
LONGEST_AHEAD = timedelta(days=5 * 366)


def plan_season(
    collection: Collection,
    journal: Journal,
    today: date,
    start: date | None = None,
    end: date | None = None,
    *,
    climate: Climate | None = None,
) -> Season:
    """Every event from `start` (30 days back) to `end` (400 days ahead, at most 5 years), with its reasons.

    Journal entries and weather not known by `today` are left out: the plan of a past day is what it was on that day.
    """
    start = start or today - timedelta(days=LOOK_BACK_DAYS)
    end = min(end or today + timedelta(days=LOOK_AHEAD_DAYS), today + LONGEST_AHEAD)
    span = _Span(collection, journal, today, (min(start, today), max(end, today)), climate)
    planned = [span.timeline(cohort) for cohort in span.cohorts(journal)]
    timelines = tuple(timeline for timeline, _ in planned)
    records = {timeline.lineage: record for timeline, record in planned}
    table = TableCourses(lambda timeline: span.water_rows(timeline, records[timeline.lineage]))
    water = plan_water(timelines, collection, span.climate, table, (today, start, end))
    rounds = round_items(timelines, collection.habits.can_litres)
    return Season(
        today=today,
        start=start,
        end=end,
        timelines=timelines,
        rounds=tuple(item for item in rounds if start <= item.day <= end),
        checks=water.checks,
        reviews=reviews_of(timelines, (start, end), today, collection.place.hemisphere),
        prompts=stage_prompts(timelines, today, end),
        notes=note_events(collection.notes, start, end),
        climate=span.climate,
        frosts=water.frosts,
        flushes=tuple(f for f in flushes(timelines, collection, today) if start <= f.day <= end),
        alerts=alerts_of(timelines, span.outdoors, collection, end),
        checks_by=water.checks_by,
        solids=tuple(item for item in solid_items(timelines) if start <= item.day <= end),
    )


def records_by_species(
    collection: Collection, journal: Journal, today: date, climate: Climate
) -> tuple[tuple[str, Record], ...]:
    """What is known of every tree, by species, with what the weather alone says of its stages."""
    span = _Span(collection, journal, today, (today, today), climate)
    apart = {tree.species for tree in collection.trees}
    cohorts = cohorts_of(collection, journal, today, apart)
    return tuple((cohort.trees[0].species, span.record(cohort)) for cohort in cohorts if cohort.entries)


class _Span:
    """What all timelines of one pass share."""

    def __init__(
        self,
        collection: Collection,
        journal: Journal,
        today: date,
        shown: tuple[date, date],
        climate: Climate | None,
    ) -> None:
        start, end = shown
        self.collection = collection
        self.today = today
        self.climate = climate.as_of(today) if climate is not None else None
        hemisphere = collection.place.hemisphere
        earliest = min([start, *(e.day for e in journal.entries)])
        self.first = collection.since or season_start(season_of(earliest, hemisphere) - 1, hemisphere)
        self.last_season = season_of(end, hemisphere)
        self.first_season = min(season_of(self.first, hemisphere), season_of(start, hemisphere) - 1)
        self.last = season_end(self.last_season, hemisphere)
        self.outdoors = outdoors_of(self.climate, collection.habits, today, self.last)
        self.release = Release(self.climate, min(self.first, earliest), self.last)
        self.foretelling = Foretelling(collection, self.climate, today) if self.climate is not None else None
        self._seen_on: SeenOnSpecies = {}

    def cohorts(self, journal: Journal) -> tuple[Cohort, ...]:
        """The trees sorted into cohorts. Where the weather is known, a species seen in part stands by itself."""
        if self.foretelling is None:
            return cohorts_of(self.collection, journal, self.today)
        learned = {species for species, _ in self.collection.learned}
        apart = species_seen_in_part(self.collection, journal, self.today) | {
            tree.species for tree in self.collection.trees if tree.species.casefold() in learned
        }
        cohorts = cohorts_of(self.collection, journal, self.today, apart)
        self._seen_on = seen_on_species(cohorts, self._plain_record, self._seasons)
        return cohorts

    @property
    def _seasons(self) -> range:
        return range(self.first_season, self.last_season + 2)

    def timeline(self, cohort: Cohort) -> tuple[Timeline, Record]:
        """One cohort's whole course, and the record it was worked out from."""
        hemisphere = self.collection.place.hemisphere
        record = self.record(cohort)
        schedule_on = _by_stay(cohort.stays, lambda group: self._schedule(cohort, group))
        schedules = [self._schedule(cohort, stay.group) for stay in cohort.stays]
        holds = by_start(
            open_holds(record, schedule_on, cohort.leaves, self.last_season),
            () if self._indoors(cohort) else heat_holds(schedules, schedule_on, self.outdoors.waves),
        )
        windows = lay_windows(
            record, cohort.stays, lambda g: self._schedule(cohort, g), self.first, self.last
        )
        feeding = Feeding(
            record=record,
            windows=windows,
            barring=barring_of(
                cohort.entries,
                holds,
                self.collection.away,
                (cohort.arrives, cohort.leaves),
                hemisphere,
                gates=gates_of(
                    cohort.trees,
                    cohort.entries,
                    cohort.stays[-1].group,
                    self.collection,
                    self.outdoors,
                    period_on=windows.period_on,
                ),
            ),
            ramps=ramps_after(holds),
            habits=self.collection.habits,
            group_on=_by_stay(cohort.stays, lambda group: group),
            feed_on=self._feed_on(cohort),
            today=self.today,
            first=self.first,
            last=self.last,
            ratio_on=_by_stay(cohort.stays, lambda group: self.collection.groups[group].ratio),
        )
        due, dropped = feeds_of(feeding)
        solid = self._solids(cohort, feeding, holds, due)
        feeds, trimmed = keep_to_budget(due, solid.solids, schedule_on, self.collection.habits.feed_share)
        timeline = Timeline(
            lineage=cohort.lineage,
            trees=cohort.trees,
            calendar=record.typical.calendar.name,
            entries=cohort.entries,
            stays=cohort.stays,
            own=cohort.own,
            arrives=cohort.arrives,
            leaves=cohort.leaves,
            stages=tuple((season, tuple(record.stages(season).values())) for season in self._seasons),
            holds=holds,
            windows=windows.windows,
            waiting=windows.waiting,
            feeds=feeds,
            dropped=tuple(sorted((*dropped, *trimmed), key=lambda d: d.due)),
            solids=solid.solids,
            feed_litres=poured_litres(cohort.trees, self.collection.habits.feed_share),
            solid_events=solid.events,
            solid_dropped=solid.dropped,
        )
        return timeline, record

    def _solids(
        self, cohort: Cohort, feeding: Feeding, holds: Sequence[Hold], due: Sequence[FeedEvent]
    ) -> SolidCourse:
        """The solid feed of one cohort. due: its liquid feeds, of which recorded strengths are settled."""
        lead = cohort.trees[0]

        def uses(group: str) -> tuple[FeedUse, ...]:
            if lead.solid_feeds and group == lead.group:
                return lead.solid_feeds
            return self.collection.groups[group].solid_feeds

        return solids_of(
            SolidPlan(
                record=feeding.record,
                stays=cohort.stays,
                schedule_of=lambda group: self._schedule(cohort, group),
                feed_on=self._used_on(cohort, uses),
                holds=holds,
                barring=feeding.barring,
                ramps=feeding.ramps,
                habits=self.collection.habits,
                counter=Counter(self.release, self.collection.place.hemisphere, self.today),
                feeds=self.collection.feeds,
                litres=lead.pot.litres,
                spent_mg_per_l=recorded_mg_per_l(due, self.collection.habits.feed_share),
                today=self.today,
                first=self.first,
                last=self.last,
            )
        )

    def _indoors(self, cohort: Cohort) -> bool:
        """Whether the trees stand indoors as things are today."""
        group = cohort.stays[-1].group
        return are_indoors(cohort.trees, group, cohort.entries, self.collection, self.today)

    def water_rows(self, timeline: Timeline, record: Record) -> Rows:
        """The timeline's water table over every season looked at and the one after."""
        lead = timeline.trees[0]
        schedule = lead.schedule or self.collection.groups[timeline.group_on(self.today)].schedule
        return dated_rows(record, schedule, self.first_season, self.last_season + 1)

    def record(self, cohort: Cohort) -> Record:
        """What is known of a cohort, and what the weather says of its stages where there is any."""
        record = self._plain_record(cohort)
        if self.foretelling is None:
            return record
        return self.foretelling.told(record, self._fallback(cohort), cohort.trees[0].species, self._seen_on)

    def _fallback(self, cohort: Cohort) -> str:
        """The calendar that stands in where a species has none: that of the schedule the trees are in now."""
        return self._schedule(cohort, cohort.stays[-1].group).calendar

    def _plain_record(self, cohort: Cohort) -> Record:
        """What is known of a cohort apart from the weather."""
        lead = cohort.trees[0]
        vocabulary = self.collection.vocabulary
        fallback = vocabulary.calendars[self._fallback(cohort)]
        calendar = vocabulary.calendar_for(lead.species, fallback.name)
        own = {
            s: day for (word, s), day in self.collection.own_dates.items() if is_species(word, lead.species)
        }
        typical = typical_year(calendar, fallback, own)
        return Record(cohort.entries, typical, vocabulary, self.collection.place.hemisphere)

    def _schedule(self, cohort: Cohort, group: str) -> Schedule:
        """The tree's own schedule while it stands in its first group, else the group's."""
        lead = cohort.trees[0]
        if lead.schedule is not None and group == lead.group:
            return lead.schedule
        return self.collection.groups[group].schedule

    def _feed_on(self, cohort: Cohort) -> Callable[[date], Feed | None]:
        lead = cohort.trees[0]

        def uses(group: str) -> tuple[FeedUse, ...]:
            return lead.feeds if lead.feeds and group == lead.group else self.collection.groups[group].feeds

        return self._used_on(cohort, uses)

    def _used_on(
        self, cohort: Cohort, uses: Callable[[str], tuple[FeedUse, ...]]
    ) -> Callable[[date], Feed | None]:
        """A look-up of the product in use on a day, from the uses of each group."""
        uses_on = _by_stay(cohort.stays, uses)

        def feed_on(day: date) -> Feed | None:
            current = [use for use in uses_on(day) if use.start is None or use.start <= day]
            return self.collection.feeds[current[-1].feed] if current else None

        return feed_on


def _by_stay(stays: Sequence[Stay], of_group: Callable[[str], T]) -> Callable[[date], T]:
    """A look-up by day of something each group has."""
    found = [(stay.start, of_group(stay.group)) for stay in stays]

    def on(day: date) -> T:
        return next((value for start, value in reversed(found) if start <= day), found[0][1])

    return on
