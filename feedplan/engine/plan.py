"""The pass itself: collection, journal, today and horizon in; the whole season out. No clock, file or network."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import partial

from feedplan.engine.answers.prompts import note_events, reviews_of, sighting_alerts, stage_prompts
from feedplan.engine.cohorts import Cohort
from feedplan.engine.feeding.restrictions import reasons_in_trees
from feedplan.engine.feeding.rounds import round_items, solid_items
from feedplan.engine.feeding.settled import is_about_trees
from feedplan.engine.frame import Frame, SeenOnSpecies
from feedplan.engine.growing_year import month_end
from feedplan.engine.history import told_trees
from feedplan.engine.outdoors.alerts import alerts_of, frost_spells
from feedplan.engine.season import Season, Timeline, Watch
from feedplan.engine.sink.finishing import begun_when_used_up, never_begun, waits_for_another
from feedplan.engine.stages.stages import Record
from feedplan.engine.timelines import Pass, settle, timeline_of
from feedplan.engine.water.balance import Balance
from feedplan.engine.water.checks import Shown, check_stretches
from feedplan.engine.water.flushes import flushes
from feedplan.engine.water.watches import Watching, checks_basis, watched_days
from feedplan.model.climate import Climate
from feedplan.model.collection import Collection
from feedplan.model.history import NO_HISTORY, History, TreeHistory
from feedplan.model.journal import Entry, Fed, Journal, NotFed

LOOK_BACK_DAYS = 30
LOOK_AHEAD_DAYS = 400
LONGEST_AHEAD = timedelta(days=5 * 366)


@dataclass(frozen=True, slots=True)
class _Course:
    """What one cohort came to, with all that another plan under the same days and weather may differ in.

    seen_on_kind: what was seen on trees of its species. told: what it was told before today.
    """

    cohort: Cohort
    seen_on_kind: SeenOnSpecies
    told: TreeHistory
    record: Record
    timeline: Timeline
    watches: tuple[Watch, ...]


@dataclass(frozen=True, slots=True)
class _Workings:
    """What a plan was worked out with. shown: the days it shows. courses: by lineage."""

    frame: Frame
    shown: Shown
    balance: Balance | None
    watching: Watching
    courses: Mapping[str, _Course] = field(default_factory=dict)


def plan_season(
    collection: Collection,
    journal: Journal,
    today: date,
    start: date | None = None,
    end: date | None = None,
    *,
    climate: Climate | None = None,
    history: History = NO_HISTORY,
    earlier: Season | None = None,
) -> Season:
    """Every event from `start` (30 days back) to `end` (400 days ahead, at most 5 years), with its reasons.

    Where they are not told, both lie on the edge of a month, so that calendars do not change at their ends each day.

    Journal entries and weather not known by `today` are left out: the plan of a past day is what it was on that day.
    history: what was told on earlier days; where it says nothing the plan works out what it would have told. A product
    that waits until another is used up takes a second pass. earlier: any plan made before. The plan is the same without
    it; with it an entry costs what it is about: the courses of trees of which nothing new is known are taken from it.
    """
    start = start or (today - timedelta(days=LOOK_BACK_DAYS)).replace(day=1)
    end = min(end or month_end(today + timedelta(days=LOOK_AHEAD_DAYS)), today + LONGEST_AHEAD)
    hemisphere = collection.place.hemisphere
    while waits_for_another(collection):
        without = never_begun(collection)
        before = plan_season(without, journal, today, start, end, climate=climate, history=history)
        collection = begun_when_used_up(collection, before)

    # Each tree's own course: care, stages, holds, feeds, solids, budget (engine/timelines.py lists them); then how
    # often it is looked at.
    shown = Shown(start, end, hemisphere)
    frame = Frame.around(collection, journal, today, (start, end), climate)
    known = None if earlier is None else earlier.workings
    if not isinstance(known, _Workings) or (known.shown, known.frame) != (shown, frame):
        known = _begun(frame, shown)
    frame, collection = known.frame, known.frame.collection
    shared = Pass(frame, journal, history)
    balance = known.balance
    courses = _courses(shared, known)
    timelines = tuple(course.timeline for course in courses)
    records = [course.record for course in courses]
    watches = tuple(watch for course in courses for watch in course.watches)
    workings = replace(known, courses={c.cohort.lineage: c for c in courses})

    # What the trees' courses come to at the sink.
    kept = replace(
        history.with_can(today, collection.habits.can_litres),
        trees=told_trees(shared.cohorts, timelines, [course.told for course in courses], today, frame.last),
        told_on=today,
        fed_then=history.asked(_asked_on(timelines, today), today),
    )
    rounds = round_items(timelines, collection, (start, end))
    solids = tuple(item for item in solid_items(timelines) if start <= item.day <= end)

    frosts = () if balance is None else frost_spells(balance.daily_et, today)

    return Season(
        collection=collection,
        today=today,
        start=start,
        end=end,
        timelines=timelines,
        history=kept,
        rounds=rounds,
        watches=watches,
        reviews=reviews_of(timelines, (start, end), today, hemisphere),
        prompts=stage_prompts(timelines, today, end),
        notes=note_events(collection.notes, start, end),
        checks_by=checks_basis(collection, frame.climate),
        daily_et=frame.daily_et,
        solids=solids,
        frosts=tuple(frost for frost in frosts if frost.start <= end and frost.end >= start),
        flushes=tuple(f for f in flushes(timelines, collection, today) if start <= f.day <= end),
        alerts=(
            *sighting_alerts(timelines, records, today, end),
            *alerts_of(timelines, frame.outdoors, collection, end),
        ),
        find_checks=partial(check_stretches, watches, balance, shown),
        workings=workings,
    )


def _asked_on(timelines: Iterable[Timeline], day: date) -> Iterator[str]:
    """The trees that a plan asks to feed on a day."""
    for timeline in timelines:
        if any(feed.told == day and not feed.is_extra for feed in timeline.feeds):
            yield from timeline.names


def _begun(frame: Frame, shown: Shown) -> _Workings:
    """The workings of a plan that takes nothing from another."""
    by_weather, daily_et = checks_basis(frame.collection, frame.climate).is_weather, frame.daily_et
    balance = Balance(frame.collection, daily_et) if by_weather and daily_et is not None else None
    days = watched_days(frame.collection, frame.today, shown.start, shown.end)
    return _Workings(frame, shown, balance, Watching(balance, days))


def _courses(shared: Pass, known: _Workings) -> list[_Course]:
    """The courses of all cohorts.

    A record of a group means those asked to be fed on its day. Where none was, it means a feed near it, and a group fed
    when there is no such feed either was fed one of its own.
    """
    courses = [_course(cohort, shared, known) for cohort in shared.cohorts]
    while (entry := _unanswered(courses)) is not None:
        for place, cohort in enumerate(course.cohort for course in courses):
            if any(each.id == entry.id for each in cohort.entries):
                courses[place] = _course(cohort.meaning_more(entry), shared, known)
    return courses


def _unanswered(courses: Iterable[_Course]) -> Entry | None:
    """The first record of a group that answers no feed of its trees, though some were free, and may mean more."""
    answered: set[str] = set()
    found: dict[str, Entry] = {}
    for course in courses:
        timeline, cohort = course.timeline, course.cohort
        of_group = [e for e in timeline.entries if isinstance(e.fact, Fed | NotFed) and not is_about_trees(e)]
        if not of_group:
            continue
        counted = {(e.day, e.fact) for e in (feed.entry for feed in timeline.feeds) if e is not None}
        for entry in of_group:
            if not entry.is_about(timeline.names[0]):
                continue  # it was left out
            is_all_tried = entry.id in (cohort.unasked if isinstance(entry.fact, Fed) else cohort.off_day)
            if is_all_tried or (entry.day, entry.fact) in counted:
                answered.add(entry.id)
            elif not reasons_in_trees(timeline.restrictions, entry.day):
                found[entry.id] = entry
    left = (entry for entry in found.values() if entry.id not in answered)
    return min(left, key=lambda entry: (entry.known, entry.day, entry.id), default=None)


def _course(cohort: Cohort, shared: Pass, known: _Workings) -> _Course:
    """One cohort's course, as known where neither what was told of it nor its entries and sightings differ."""
    seen, before = shared.seen_on_kind(cohort), known.courses.get(cohort.lineage)
    if before is not None and (
        before.seen_on_kind != seen or replace(before.cohort, told=cohort.told) != cohort
    ):
        before = None
    if before is not None and before.cohort.told is cohort.told:
        return before
    told = settle(cohort, shared)
    if before is not None and before.told.says_the_same(told):
        return replace(before, cohort=cohort)
    record, frame = shared.record(cohort), shared.frame
    timeline = timeline_of(cohort, record, shared, told=told, today=frame.today, until=frame.last)
    return _Course(cohort, seen, told, record, timeline, tuple(known.watching.watches(timeline, record)))
