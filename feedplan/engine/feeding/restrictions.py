"""What stands in the way of a liquid feed on a day, each thing with its own end."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from feedplan.engine.feeding.gates import Gates, standing_gates
from feedplan.engine.growing_year import DAY, day_in_season, season_of
from feedplan.engine.holds.holds import SeasonLimit, season_limits
from feedplan.model.collection import Away
from feedplan.model.course import Hold
from feedplan.model.hold import Action
from feedplan.model.journal import Allowed, Checked, Entry
from feedplan.model.moment import Hemisphere
from feedplan.model.reason import (
    Absence,
    DryBall,
    GoneSince,
    Held,
    HoldEnd,
    NotHereYet,
    Overridden,
    PastLastFeed,
    Reason,
    Rule,
)


@dataclass(frozen=True, slots=True)
class Restrictions:
    """All that can bar one timeline's feeds. overrides: the grower's own, by day; dry: days found dry."""

    holds: tuple[Hold, ...]
    limits: tuple[SeasonLimit, ...]
    away: tuple[Away, ...]
    overrides: Mapping[date, Entry]
    dry: tuple[Entry, ...]
    arrives: date | None
    leaves: date | None
    hemisphere: Hemisphere
    gates: Gates | None = None


def restrictions_of(
    entries: Sequence[Entry],
    holds: Sequence[Hold],
    away: Sequence[Away],
    here: tuple[date | None, date | None],
    hemisphere: Hemisphere,
    *,
    gates: Gates | None = None,
) -> Restrictions:
    """What can bar feeds, gathered from a timeline. here: the days the trees come and go, None for always."""
    return Restrictions(
        holds=tuple(hold for hold in holds if Action.LIQUID in hold.rule.stops),
        limits=season_limits(holds, hemisphere),
        away=tuple(away),
        overrides={e.day: e for e in entries if isinstance(e.fact, Allowed)},
        dry=tuple({e.day: e for e in entries if e.fact == Checked("dry")}.values()),
        arrives=here[0],
        leaves=here[1],
        hemisphere=hemisphere,
        gates=gates,
    )


def reasons_against(restrictions: Restrictions, day: date) -> tuple[Reason, ...]:
    """Everything that forbids a liquid feed on a day; empty when it may be given."""
    found: list[Reason] = []
    if restrictions.arrives is not None and day < restrictions.arrives:
        found.append(Reason(Rule.NOT_HERE, NotHereYet(restrictions.arrives), until=restrictions.arrives))
    if restrictions.leaves is not None and day >= restrictions.leaves:
        found.append(Reason(Rule.NOT_HERE, GoneSince(restrictions.leaves)))
    if day not in restrictions.overrides:
        found += _holding(restrictions, day)
        found += standing_gates(restrictions.gates, day) if restrictions.gates is not None else ()
    for away in restrictions.away:
        if away.start <= day <= away.end:
            absence = Absence(away.start, away.end)
            found.append(Reason(Rule.AWAY, absence, away.source, until=away.end + DAY))
    for entry in restrictions.dry:
        if entry.day == day:
            found.append(Reason(Rule.DRY, DryBall(), entry.source, entry, day + DAY))
    return tuple(found)


def reasons_in_trees(restrictions: Restrictions, day: date) -> tuple[Reason, ...]:
    """What forbids a feed because of the trees themselves; neither weather nor an absence does."""
    return reasons_against(replace(restrictions, gates=None, away=()), day)


def _holding(restrictions: Restrictions, day: date) -> list[Reason]:
    """The holds on a day, and the season's limits they left behind."""
    past_limits = (_past_last_feed(limit, day, restrictions.hemisphere) for limit in restrictions.limits)
    return [
        *(hold_reason(hold) for hold in restrictions.holds if hold.covers(day)),
        *filter(None, past_limits),
    ]


def overridden(restrictions: Restrictions, day: date) -> tuple[Reason, ...]:
    """That the grower allowed a feed in spite of what holds it back, with the reason given."""
    entry = restrictions.overrides.get(day)
    if entry is None or not isinstance(entry.fact, Allowed) or not _holding(restrictions, day):
        return ()
    held = tuple(reason.fact for reason in _holding(restrictions, day))
    return (Reason(Rule.OVERRIDE, Overridden(held, entry.fact.because), entry.source, entry),)


def hold_reason(hold: Hold) -> Reason:
    """A hold as a reason: what opened it, its earliest end, and the signs still to be seen."""
    rule = hold.rule
    worked = None if hold.follows is None else hold.entry.day
    held, ends = Held(rule.name, hold.start, timedelta(days=rule.min_days), worked), end_of(hold)
    return Reason(Rule.HOLD, held, rule.source, hold.entry, hold.until, ends)


def end_of(hold: Hold) -> HoldEnd:
    """When a hold ends, and on which signs it waits."""
    missing = tuple(met.left for met in hold.missing)
    return HoldEnd(hold.end, hold.minimum, missing, hold.turned, hold.rule.turns_into or "", hold.spring)


def _past_last_feed(limit: SeasonLimit, day: date, hemisphere: Hemisphere) -> Reason | None:
    rule = limit.hold.rule
    if rule.last_feed is None or not limit.first <= day <= limit.last:
        return None
    if day <= day_in_season(rule.last_feed, season_of(limit.first, hemisphere), hemisphere):
        return None
    past = PastLastFeed(rule.name, rule.last_feed)
    return Reason(Rule.SEASON_LIMIT, past, rule.source, limit.hold.entry, limit.last + DAY)
