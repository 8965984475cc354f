"""What taking an entry back would change, before it is done: a hold may be lifted, and a tree fed too soon."""

from __future__ import annotations

from dataclasses import replace

from feedplan.engine.answers.effects import Effects, effects_of
from feedplan.engine.plan import plan_season
from feedplan.engine.season import Season
from feedplan.model.climate import Climate
from feedplan.model.hold import CauseKind
from feedplan.model.journal import Caused, Journal


def lifts_a_hold(season: Season, journal: Journal, entry_id: str) -> bool:
    """Whether an entry that stands is work, or opened a hold that is not over: then taking it back wants a yes."""
    entry = journal.entry(entry_id)
    if entry is None:
        return False
    if isinstance(entry.fact, Caused) and entry.fact.kind is CauseKind.WORK:
        return True
    holds = (hold for timeline in season.timelines for hold in timeline.holds if hold.entry.id == entry_id)
    return any(hold.until is None or hold.until > season.today for hold in holds)


def effects_of_taking_back(
    season: Season, journal: Journal, entry_id: str, climate: Climate | None
) -> Effects:
    """What changes in a plan when an entry that stands is taken back on the day of the plan."""
    taken = [entry for entry in journal.entries if entry.id == entry_id]
    left = tuple(entry for entry in journal.entries if entry.id != entry_id)
    gone = tuple(replace(entry, undone=season.today) for entry in taken)
    after = plan_season(
        season.collection,
        Journal(left, (*journal.withdrawn, *gone)),
        season.today,
        climate=climate,
        history=season.history,
    )
    return effects_of(season, after, entry_id, season.collection)
