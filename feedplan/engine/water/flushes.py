"""When the salt of water and feeds is flushed out with plain water.

Practice flushes salt out with plain water every four to six weeks of feeding, until 30 to 50 % of the water has run
through (from memory). Where the usual drain-through keeps up with the salt of water and feeds, six weeks; where it does
not, four; where twice as much would not do either, two (judgement). Held trees are left out: their mix must dry, or
their roots rest.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from decimal import Decimal

from feedplan.engine.growing_year import DAY
from feedplan.engine.season import Flush, Timeline
from feedplan.engine.water.balance import two_figures
from feedplan.engine.water.thirst import vessel_of
from feedplan.engine.water.waters import drainage_of
from feedplan.model.collection import Away, Collection, FlushPace, Group, Tree
from feedplan.model.course import FeedEvent
from feedplan.model.hold import Action
from feedplan.weather.water_quality import gross_from_net

CALM_WEEKS, SALTY_WEEKS, VERY_SALTY_WEEKS = 6, 4, 2
RUN_THROUGH = 0.4
"""The middle of 30 to 50 %."""
AFTER_LAST_FEED = timedelta(days=7)


def flush_pace(group: Group, collection: Collection) -> FlushPace:
    """A group's pace: its own, that of the habits, or by the salt of its water; never where no water is told."""
    told = group.flush or collection.habits.flush
    if told is not None:
        return told
    if group.water is None:
        return FlushPace()
    drainage = drainage_of(group, collection)
    if drainage is None or drainage.is_enough:
        weeks = CALM_WEEKS
    elif drainage.needed is not None and drainage.needed <= 2 * drainage.usual:
        weeks = SALTY_WEEKS
    else:
        weeks = VERY_SALTY_WEEKS
    return FlushPace(every_days=7 * weeks)


def flushes(timelines: Sequence[Timeline], collection: Collection, today: date) -> tuple[Flush, ...]:
    """Every flush of every group, past and planned, in day order. The course most of its trees follow sets the days."""
    groups: dict[str, list[Timeline]] = {}
    for timeline in timelines:
        for stay in timeline.care.stays:
            members = groups.setdefault(stay.group, [])
            if timeline not in members[-1:]:
                members.append(timeline)
    found = [
        flush
        for name, members in sorted(groups.items())
        for flush in _of_group(collection.groups[name], members, collection, today)
    ]
    return tuple(sorted(found, key=lambda flush: (flush.day, flush.key)))


def _of_group(
    group: Group, members: Sequence[Timeline], collection: Collection, today: date
) -> Iterator[Flush]:
    pace = flush_pace(group, collection)
    lead = max(members, key=lambda t: (t.group_on(today) == group.name, t.head_count, not t.own))
    for season in sorted({feed.season for feed in lead.feeds}):
        fed = [f for f in lead.feeds if f.season == season and f.group == group.name]
        given = [feed for feed in fed if not feed.status.is_without_feed]
        for number, day in enumerate(_days(pace, given, collection.away), start=1):
            here = [
                t for t in members if t.here(day) and t.group_on(day) == group.name and not _is_held(t, day)
            ]
            trees = tuple(tree for timeline in here for tree in timeline.trees)
            if trees:
                key = f"flush/{group.name}/{season}/{number}"
                yield Flush(key, day, group.name, trees, _litres(here, day), pace)


def _days(pace: FlushPace, given: Sequence[FeedEvent], away: Sequence[Away]) -> Iterator[date]:
    """The days of one season: the day before the next feed, so that no fresh feed is washed out."""
    if not given:
        return
    fed_since, since = 0, given[0].day
    for feed, following in zip(given, [*given[1:], None], strict=True):
        fed_since += 1
        due_by_feeds = pace.every_feeds is not None and fed_since >= pace.every_feeds
        next_day = following.day - DAY if following is not None else feed.day + AFTER_LAST_FEED
        due_by_days = pace.every_days is not None and (next_day - since).days >= pace.every_days
        if (due_by_feeds or due_by_days) and next_day > feed.day:
            next_day = _at_home(next_day, feed.day, following, away)
            yield next_day
            fed_since, since = 0, next_day


def _at_home(day: date, fed: date, following: FeedEvent | None, away: Sequence[Away]) -> date:
    """A day of flushing while somebody is there to do it: the first day back, or else the last before leaving."""
    absence = next((each for each in away if each.start <= day <= each.end), None)
    if absence is None:
        return day
    back, before = absence.end + DAY, absence.start - DAY
    if following is None or back < following.day:
        return back
    return before if before > fed else day


def _is_held(timeline: Timeline, day: date) -> bool:
    return any(
        h.covers(day) and (h.rule.water_surface_dry or Action.LIQUID in h.rule.stops) for h in timeline.holds
    )


def _litres(timelines: Sequence[Timeline], day: date) -> Decimal:
    """Plain water to pour so that the middle share of it runs through pots that have dried to what is allowed [L]."""
    total = 0.0
    for timeline in timelines:
        for tree in timeline.trees_on(day):
            total += _allowed_l(tree, timeline, day) * tree.count
    return two_figures(gross_from_net(total, RUN_THROUGH))


def _allowed_l(tree: Tree, timeline: Timeline, day: date) -> float:
    care = timeline.care
    return vessel_of(tree, care.substrate_of(tree, day), care.bench_on(tree, day)).allowed_l(dormant=False)
