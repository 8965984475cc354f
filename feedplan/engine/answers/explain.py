"""Why a tree is or is not fed on a day: everything the plan knows about that day, gathered from the season."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from feedplan.engine.feeding.barriers import barriers, barring_of
from feedplan.engine.feeding.budget import nitrogen_mg_per_l
from feedplan.engine.feeding.gates import gates_of
from feedplan.engine.feeding.windows import Windows
from feedplan.engine.growing_year import season_of
from feedplan.engine.outdoors.outdoors import outdoors_of
from feedplan.engine.water.balance import Depletion, PotDay
from feedplan.engine.water.bench_thirst import balance_of
from feedplan.model.collection import Collection, Tree
from feedplan.model.course import FeedEvent, StageDate, Status
from feedplan.model.reason import NoPeriodAhead, NotDue, PeriodAhead, Reason, Rule, StageSeen, WaitsForStage
from feedplan.model.schedule import Schedule
from feedplan.model.season import ChecksGoBy, RoundItem, Season, Timeline
from feedplan.model.source import BUILT_IN


@dataclass(frozen=True, slots=True)
class Explanation:
    """One tree on one day.

    feed: the feed given or planned that day, None when there is none; reasons: what weakened or moved it, or what
    stands in its way. last, next: the feeds around the day. n_mg_per_l: nitrogen of the season up to and with
    that day [mg per L of container], of a budget. stages: the season's, in order. water: its pot that day, depletion:
    what that lacks since it was last watered; None where the weather or the last watering is not known.
    """

    tree: Tree
    day: date
    timeline: Timeline
    group: str
    schedule: Schedule
    feed: FeedEvent | None
    reasons: tuple[Reason, ...]
    last: FeedEvent | None
    next: FeedEvent | None
    n_mg_per_l: Decimal
    stages: tuple[StageDate, ...]
    water: PotDay | None = None
    depletion: Depletion | None = None
    checks_by: ChecksGoBy | None = None


def schedule_of(timeline: Timeline, collection: Collection, day: date) -> Schedule:
    """The schedule in force for a timeline on a day."""
    lead, group = timeline.trees[0], timeline.group_on(day)
    if lead.schedule is not None and group == lead.group:
        return lead.schedule
    return collection.groups[group].schedule


def timeline_of(season: Season, name: str) -> Timeline | None:
    """The timeline a tree follows, None when there is no tree of that name."""
    return next((t for t in season.timelines if any(tree.name == name for tree in t.trees)), None)


def nitrogen_by(timeline: Timeline, day: date, collection: Collection) -> Decimal:
    """Nitrogen of the season up to and with a day, solid and liquid [mg per L of container]."""
    year = season_of(day, collection.place.hemisphere)
    solids = (solid.given_by(day) for solid in timeline.solids if solid.season == year)
    liquids = (
        nitrogen_mg_per_l(feed, collection.habits.feed_share)
        for feed in timeline.feeds
        if feed.season == year and feed.day <= day
    )
    return sum([*solids, *liquids], Decimal(0))


def explain(season: Season, collection: Collection, tree: Tree, day: date) -> Explanation:
    """What is planned for a tree on a day, and every reason behind it. Raises KeyError for a tree not planned."""
    timeline = timeline_of(season, tree.name)
    if timeline is None:
        raise KeyError(tree.name)
    year = season_of(day, collection.place.hemisphere)
    given = [feed for feed in timeline.feeds if feed.status is not Status.MISSED]
    feed = next((f for f in timeline.feeds if f.day == day), None)
    balance = balance_of(season, collection)
    return Explanation(
        tree=tree,
        day=day,
        timeline=timeline,
        group=timeline.group_on(day),
        schedule=schedule_of(timeline, collection, day),
        feed=feed,
        reasons=feed.reasons if feed is not None else why_not(timeline, collection, day, season),
        last=max((f for f in given if f.day < day), key=lambda f: f.day, default=None),
        next=min((f for f in given if f.day > day), key=lambda f: f.day, default=None),
        n_mg_per_l=nitrogen_by(timeline, day, collection),
        stages=timeline.stage_dates(year),
        water=balance.pot_day(timeline, tree, day) if balance is not None else None,
        depletion=balance.depletion_on(timeline, tree, day) if balance is not None else None,
        checks_by=season.checks_by if balance is None else ChecksGoBy.INDOORS,
    )


def why_not(timeline: Timeline, collection: Collection, day: date, season: Season) -> tuple[Reason, ...]:
    """What keeps a timeline from being fed on a day without a feed; never empty."""
    place, here = collection.place, (timeline.arrives, timeline.leaves)
    windows = Windows(timeline.windows, timeline.waiting)
    gates = gates_of(
        timeline.trees,
        timeline.entries,
        timeline.group_on(day),
        collection,
        outdoors_of(season.climate, collection.habits, season.today, season.end),
        period_on=windows.period_on,
    )
    barring = barring_of(
        timeline.entries, timeline.holds, collection.away, here, place.hemisphere, gates=gates
    )
    found = barriers(barring, day)
    if found:
        return found
    trimmed = next((d for d in timeline.dropped if d.due == day and d.reasons), None)
    if trimmed is not None:
        return trimmed.reasons
    if windows.at(day) is None:
        return (_between_periods(timeline, windows, collection, day),)
    return (_not_due(timeline, windows, day),)


def _between_periods(timeline: Timeline, windows: Windows, collection: Collection, day: date) -> Reason:
    """That no feeding period is open, and which one opens next and on what."""
    year = season_of(day, collection.place.hemisphere)
    waiting = next((w for w in timeline.waiting if w.season == year), None)
    if waiting is not None:
        stage = waiting.stages[0]
        waits = WaitsForStage(waiting.period.name, stage)
        return Reason(Rule.STAGE, waits, waiting.period.source, ends=StageSeen(stage))
    opening = windows.next_after(day)
    source = schedule_of(timeline, collection, day).source
    if opening is None:
        return Reason(Rule.PERIOD, NoPeriodAhead(), source)
    period = opening.period
    origin = next((at.origin for at in opening.opened_by), None)
    ahead = PeriodAhead(period.name, opening.first, period.start, origin)
    return Reason(Rule.PERIOD, ahead, period.source, until=opening.first)


def _not_due(timeline: Timeline, windows: Windows, day: date) -> Reason:
    """That the interval since the last feed is not over."""
    last = max((f for f in timeline.feeds if f.day < day), key=lambda f: f.day, default=None)
    coming = min((f for f in timeline.feeds if f.day > day), key=lambda f: f.day, default=None)
    window = windows.at(day)
    source = BUILT_IN if window is None else window.period.source
    last_day, next_day = (None if feed is None else feed.day for feed in (last, coming))
    return Reason(Rule.INTERVAL, NotDue(last_day, next_day), source, until=next_day)


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Trees of a group that a mix of the day is not for, and why."""

    timeline: Timeline
    reasons: tuple[Reason, ...]


def left_out(season: Season, collection: Collection, item: RoundItem) -> tuple[LeftOut, ...]:
    """The group's trees that get nothing on the day of a mix, each with what stands in the way."""
    fed = {t.lineage for other in season.rounds if other.day == item.day for t in other.timelines}
    return tuple(
        LeftOut(timeline, why_not(timeline, collection, item.day, season))
        for timeline in season.timelines
        if timeline.lineage not in fed
        and timeline.group_on(item.day) == item.group
        and timeline.here(item.day)
    )


def held_today(season: Season, day: date) -> tuple[Timeline, ...]:
    """The timelines under a hold on a day; what the weather holds back is told by its alert."""
    return tuple(
        t
        for t in season.timelines
        if t.here(day) and any(h.covers(day) and not h.by_weather for h in t.holds)
    )
