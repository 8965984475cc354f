"""Work that the grower plans: what its hold would stop and for how long, told without opening it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from feedplan.engine.growing_year import season_of
from feedplan.engine.holds.holds import rule_for
from feedplan.engine.season import Timeline
from feedplan.model.hold import HoldRule, SignLeft
from feedplan.model.journal import Caused, Entry, Planned
from feedplan.model.reason import PlannedWork

SHOWN_AFTER = timedelta(days=14)
"""So long after its day planned work is still told of; then nobody means to do it any more. Judgement."""


def planned_work(timeline: Timeline, day: date) -> Iterator[tuple[Entry, PlannedWork]]:
    """The work planned for trees, as known on a day, until it is written down as done or two weeks late."""
    for entry in timeline.entries:
        if isinstance(entry.fact, Planned) and entry.known <= day <= entry.fact.on + SHOWN_AFTER:
            since = (e.fact for e in timeline.entries if entry.day <= e.day <= day)
            if not any(isinstance(fact, Caused) and fact.cause == entry.fact.work.cause for fact in since):
                yield from _told(timeline, entry, entry.fact)


def _told(timeline: Timeline, entry: Entry, fact: Planned) -> Iterator[tuple[Entry, PlannedWork]]:
    schedule = timeline.care.schedule_on(fact.on)
    rule = rule_for(fact.work, schedule.holds, schedule.bands_up)
    if rule is not None:
        minimum = fact.on + timedelta(days=rule.min_days)
        signs = tuple(SignLeft(need.sign, need.times) for need in rule.needs)
        likely = _likely(timeline, rule, fact.on)
        about = None if likely is None else max(minimum, likely)
        yield entry, PlannedWork(fact.work.cause, rule.name, fact.on, rule.stops, minimum, signs, about)


def _likely(timeline: Timeline, rule: HoldRule, start: date) -> date | None:
    """When the first stage comes that shows all the signs a rule asks for; None where no stage of the year does."""
    vocabulary, wanted = timeline.care.collection.vocabulary, {need.sign for need in rule.needs}
    year = season_of(start, timeline.care.collection.place.hemisphere)
    for at in timeline.stage_dates(year):
        day = at.day or at.typical
        if wanted and day >= start and wanted <= vocabulary.shown_by(at.stage):
            return day
    return None
