"""The pass itself: collection, journal, today and horizon in; the whole season out. No clock, file or network."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from feedplan.engine.answers.prompts import note_events, reviews_of, sighting_alerts, stage_prompts
from feedplan.engine.feeding.rounds import round_items, solid_items
from feedplan.engine.growing_year import month_end
from feedplan.engine.history import told_trees
from feedplan.engine.outdoors.alerts import alerts_of, frost_spells
from feedplan.engine.outdoors.daily_et import DailyEt
from feedplan.engine.season import Season
from feedplan.engine.sink.finishing import begun_when_used_up, never_begun, waits_for_another
from feedplan.engine.timelines import Pass, settle, timeline_of
from feedplan.engine.water.balance import Balance
from feedplan.engine.water.checks import Shown, check_stretches
from feedplan.engine.water.watches import Watching, checks_basis, watched_days
from feedplan.engine.water.waters import flushes
from feedplan.model.climate import Climate
from feedplan.model.collection import Collection
from feedplan.model.history import NO_HISTORY, History
from feedplan.model.journal import Journal

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
    history: History = NO_HISTORY,
) -> Season:
    """Every event from `start` (30 days back) to `end` (400 days ahead, at most 5 years), with its reasons.

    Where they are not told, both lie on the edge of a month, so that calendars do not change at their ends each day.

    Journal entries and weather not known by `today` are left out: the plan of a past day is what it was on that day.
    history: what was told on earlier days; where it says nothing the plan works out what it would have told. A product
    that waits until another is used up takes a second pass.
    """
    start = start or (today - timedelta(days=LOOK_BACK_DAYS)).replace(day=1)
    end = min(end or month_end(today + timedelta(days=LOOK_AHEAD_DAYS)), today + LONGEST_AHEAD)
    hemisphere = collection.place.hemisphere
    while waits_for_another(collection):
        without = never_begun(collection)
        before = plan_season(without, journal, today, start, end, climate=climate, history=history)
        collection = begun_when_used_up(collection, before)

    # Each tree's own course: care, stages, holds, feeds, solids, budget (engine/timelines.py lists them).
    shared = Pass(collection, journal, today, (start, end), climate=climate, history=history)
    told = [settle(cohort, shared) for cohort in shared.cohorts]
    records = [shared.record(cohort) for cohort in shared.cohorts]
    timelines = tuple(
        timeline_of(cohort, record, shared, told=before, today=today, until=shared.last)
        for cohort, record, before in zip(shared.cohorts, records, told, strict=True)
    )

    # What the trees' courses come to at the sink.
    kept = replace(
        history.with_can(today, collection.habits.can_litres),
        trees=told_trees(shared.cohorts, timelines, told, today, shared.last),
        told_on=today,
    )
    rounds = round_items(timelines, collection, (start, end))
    solids = tuple(item for item in solid_items(timelines) if start <= item.day <= end)

    # How often each tree is looked at, and the looks that makes.
    daily_et = None if shared.climate is None else DailyEt(shared.climate, collection.place)
    basis = checks_basis(collection, shared.climate)
    balance = Balance(collection, daily_et) if daily_et is not None and basis.is_weather else None
    watching = Watching(balance, watched_days(collection, today, start, end))
    watches = tuple(
        watch
        for timeline, record in zip(timelines, records, strict=True)
        for watch in watching.watches(timeline, record)
    )
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
        checks=check_stretches(watches, balance, Shown(start, end, hemisphere)),
        reviews=reviews_of(timelines, (start, end), today, hemisphere),
        prompts=stage_prompts(timelines, today, end),
        notes=note_events(collection.notes, start, end),
        checks_by=basis,
        daily_et=daily_et,
        solids=solids,
        frosts=tuple(frost for frost in frosts if frost.start <= end and frost.end >= start),
        flushes=tuple(f for f in flushes(timelines, collection, today) if start <= f.day <= end),
        alerts=(
            *sighting_alerts(timelines, records, today, end),
            *alerts_of(timelines, shared.outdoors, collection, end),
        ),
    )
