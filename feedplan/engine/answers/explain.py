"""Why a tree is or is not fed on a day: everything the plan knows about that day, gathered from the season."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from feedplan.engine.answers.work import WorkOfTree, work_of
from feedplan.engine.feeding.budget import nitrogen_mg_per_l
from feedplan.engine.feeding.restrictions import reasons_against
from feedplan.engine.feeding.windows import Windows
from feedplan.engine.growing_year import season_of
from feedplan.engine.season import ChecksBasis, Season, Timeline, Watch
from feedplan.engine.sink.mixing import cans_of
from feedplan.engine.water.balance import Depletion, PotDay, balance_of
from feedplan.model.collection import Tree
from feedplan.model.course import FeedEvent, StageDate
from feedplan.model.reason import (
    NoPeriodAhead,
    NotDue,
    PeriodAhead,
    Reason,
    Rule,
    ToMixingDay,
    WaitsForStage,
)
from feedplan.model.schedule import Schedule
from feedplan.model.source import BUILT_IN


@dataclass(frozen=True, slots=True)
class Explanation:
    """One tree on one day.

    bench: where it stands, empty where no bench is told. feed: the feed given or planned that day, None when there is
    none; told: the one told for that day, whatever became of it. reasons: what weakened or moved it, or what stands in
    its way. last, next: the feeds around the day.
    n_mg_per_l: nitrogen of the season up to and with that day [mg per L of container], of a budget. stages: the
    season's, in order. watch: how often it is looked at. water: its pot that day, depletion: what that lacks since it
    was last watered; None where the weather or the last watering is not known. work: whose time the day lies in.
    """

    tree: Tree
    day: date
    timeline: Timeline
    group: str
    bench: str
    schedule: Schedule
    feed: FeedEvent | None
    told: FeedEvent | None
    reasons: tuple[Reason, ...]
    last: FeedEvent | None
    next: FeedEvent | None
    n_mg_per_l: Decimal
    stages: tuple[StageDate, ...]
    checks_by: ChecksBasis
    watch: Watch | None = None
    water: PotDay | None = None
    depletion: Depletion | None = None
    work: tuple[WorkOfTree, ...] = ()


def timeline_of(season: Season, name: str) -> Timeline | None:
    """The timeline a tree follows, None when there is no tree of that name."""
    return next((t for t in season.timelines if any(tree.name == name for tree in t.trees)), None)


def _with_others(feed: FeedEvent, season: Season) -> Iterator[Reason]:
    """The reasons of a feed; one moved to the day of mixing with the groups that share its can."""
    for reason in feed.reasons:
        fact = reason.fact
        if isinstance(fact, ToMixingDay):
            fact = replace(fact, others=tuple(sorted(_sharing_its_can(feed, season))))
        yield replace(reason, fact=fact)


def _sharing_its_can(feed: FeedEvent, season: Season) -> set[str]:
    """The other groups that are fed from what is weighed out for a feed."""
    items = {item.key: item for item in season.rounds if item.day == feed.day}
    found: set[str] = set()
    for batch in cans_of(items.values(), season.collection, season.can_on(feed.day)).batches:
        mixes = [items[key] for key in batch.keys]
        if any(event is feed for mix in mixes for event in mix.events):
            found |= {mix.group for mix in mixes}
    return found - {feed.group}


def nitrogen_by(timeline: Timeline, day: date) -> Decimal:
    """Nitrogen of the season up to and with a day, solid and liquid [mg per L of container]."""
    collection = timeline.care.collection
    year = season_of(day, collection.place.hemisphere)
    solids = (solid.given_by(day) for solid in timeline.solids if solid.season == year)
    liquids = (
        nitrogen_mg_per_l(feed, collection.habits.feed_share)
        for feed in timeline.feeds
        if feed.season == year and feed.day <= day
    )
    return sum([*solids, *liquids], Decimal(0))


def explain(season: Season, tree: Tree, day: date) -> Explanation:
    """What is planned for a tree on a day, and every reason behind it. Raises KeyError for a tree not planned."""
    timeline = timeline_of(season, tree.name)
    if timeline is None:
        raise KeyError(tree.name)
    year = season_of(day, season.collection.place.hemisphere)
    given = [feed for feed in timeline.feeds if not feed.status.is_without_feed]
    feed = next((f for f in timeline.feeds if f.day == day), None)
    told = next((f for f in timeline.feeds if f.told == day), None)
    shown = feed or told
    watch = next((w for w in season.watches if any(each.name == tree.name for each in w.trees)), None)
    balance = balance_of(season)
    return Explanation(
        tree=tree,
        day=day,
        timeline=timeline,
        group=timeline.group_on(day),
        bench=timeline.care.bench_name(tree, day),
        schedule=timeline.care.schedule_on(day),
        feed=feed,
        told=told,
        reasons=why_not(timeline, day) if shown is None else tuple(_with_others(shown, season)),
        last=max((f for f in given if f.day < day), key=lambda f: f.day, default=None),
        next=min((f for f in given if f.day > day), key=lambda f: f.day, default=None),
        n_mg_per_l=nitrogen_by(timeline, day),
        stages=timeline.stage_dates(year),
        checks_by=season.checks_by,
        watch=watch,
        water=balance.pot_day(timeline, tree, day) if balance is not None else None,
        depletion=balance.depletion_on(timeline, tree, day) if balance is not None else None,
        work=tuple(work_of(timeline, tree, day)),
    )


def left_out(season: Season, group: str, day: date) -> tuple[tuple[Timeline, tuple[Reason, ...]], ...]:
    """The trees of a group that get no feed on a day, each with what stands in the way."""
    fed = {timeline.lineage for item in season.rounds if item.day == day for timeline in item.timelines}
    return tuple(
        (timeline, why_not(timeline, day))
        for timeline in season.timelines
        if timeline.lineage not in fed and timeline.group_on(day) == group and timeline.here(day)
    )


def why_not(timeline: Timeline, day: date) -> tuple[Reason, ...]:
    """What keeps a timeline from being fed on a day without a feed; never empty."""
    found = reasons_against(timeline.restrictions, day)
    if found:
        return found
    windows = Windows(timeline.windows, timeline.waiting)
    if windows.at(day) is None:
        return (_between_periods(timeline, windows, day),)
    return _put_off(timeline, day) or (_not_due(timeline, windows, day),)


def _put_off(timeline: Timeline, day: date) -> tuple[Reason, ...]:
    """Why a feed that was due by a day, and not before the last one given, falls away or comes later."""
    last = max((f.day for f in timeline.feeds if f.day < day), default=date.min)
    due = [d for d in timeline.dropped if last < d.due <= day and (d.resumed is None or d.resumed > day)]
    return due[-1].reasons if due else ()


def _between_periods(timeline: Timeline, windows: Windows, day: date) -> Reason:
    """That no feeding period is open, and which one opens next and on what."""
    year = season_of(day, timeline.care.collection.place.hemisphere)
    waiting = next((w for w in timeline.waiting if w.season == year), None)
    if waiting is not None:
        stage = waiting.stages[0]
        return Reason(Rule.STAGE, WaitsForStage(waiting.period.name, stage), waiting.period.source)
    opening = windows.next_after(day)
    source = timeline.care.schedule_on(day).source
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
    is_given = last is None or not last.status.is_without_feed
    return Reason(Rule.INTERVAL, NotDue(last_day, next_day, is_given), source, until=next_day)
