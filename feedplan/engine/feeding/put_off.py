"""The feeds that the weather puts off on a day, by group and cause."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from feedplan.engine.growing_year import DAY, season_of
from feedplan.engine.season import AlertKind, Season, Timeline
from feedplan.model.course import Dropped
from feedplan.model.reason import Reason, Rule

BY_WEATHER = (Rule.RAIN, Rule.HEAT, Rule.FROST, Rule.ROOT_ZONE)


@dataclass(frozen=True, slots=True)
class DeferredFeed:
    """A feed that the weather keeps from the day. resumed: the day it moves to, None where none is in sight.

    asks: it was put off before, by what the air says of root zones, so that the grower is to look. is_of_all: no tree
    of the group is fed otherwise. is_told: an alert of that day tells the same of the same trees.
    """

    resumed: date | None
    group: str
    reason: Reason
    timelines: tuple[Timeline, ...]
    asks: bool
    is_of_all: bool
    is_told: bool


def is_whole(season: Season, group: str, timelines: Sequence[Timeline], day: date) -> bool:
    """Whether no tree of a group that is here on a day is left out."""
    meant = {timeline.lineage for timeline in timelines}
    return all(t.lineage in meant for t in season.timelines if t.here(day) and t.group_on(day) == group)


def put_off_on(season: Season, day: date) -> Iterator[DeferredFeed]:
    """The feeds the weather keeps from a day, those alike together, by the day of this season they move to.

    None are asked for while the grower is away, so that none are kept by the weather then.
    """
    found: dict[tuple[date, str, Reason, bool], list[Timeline]] = {}
    for timeline in season.timelines:
        for dropped in timeline.dropped:
            resumed = dropped.resumed or date.max
            if not dropped.due <= day < resumed:
                continue
            if not _is_this_year(season, timeline, dropped, day):
                continue  # it falls away: next spring's first feed does not stand in for this autumn's last
            frost = [reason for reason in dropped.reasons if reason.rule is Rule.FROST]
            for reason in frost or dropped.reasons:
                by_air = reason.rule is Rule.ROOT_ZONE and reason.entry is None
                is_today = reason.rule is Rule.ROOT_ZONE or reason.until == day + DAY
                if reason.rule in BY_WEATHER and is_today:
                    asks = by_air and (dropped.due < day or dropped.resumed is None)
                    found.setdefault((resumed, dropped.group, reason, asks), []).append(timeline)
    heat = [a for a in season.alerts if a.kind is AlertKind.HEAT and a.start <= day <= a.end]
    hot = {timeline.lineage for alert in heat for timeline in alert.timelines}
    for (resumed, group, reason, asks), timelines in sorted(found.items(), key=lambda item: item[0][:2]):
        lineages = {timeline.lineage for timeline in timelines}
        yield DeferredFeed(
            None if resumed == date.max else resumed,
            group,
            reason,
            tuple(timelines),
            asks=asks,
            is_of_all=is_whole(season, group, timelines, day),
            is_told=reason.rule is Rule.HEAT and lineages <= hot,
        )


def _is_this_year(season: Season, timeline: Timeline, dropped: Dropped, day: date) -> bool:
    """Whether a feed put off is still to come this season; or, if cold alone leaves none in sight, none came yet."""
    hemisphere = season.collection.place.hemisphere
    year = season_of(day, hemisphere)
    if dropped.resumed is not None:
        return season_of(dropped.resumed, hemisphere) == year
    if any(reason.rule not in BY_WEATHER for reason in dropped.reasons):
        return False
    is_open = any(w.first <= day <= w.last and w.season == year for w in timeline.windows)
    return is_open and all(feed.season != year for feed in timeline.feeds)
