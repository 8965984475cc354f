"""How feeding is expected to go on where holds wait for a sign: a guess, told apart from what is planned.

Each sign is supposed to be seen on the day its stage is expected, or at the next look at the tree; nothing is planned
from it, and a hold ends only when its signs are seen.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from feedplan.engine.growing_year import WEEK, day_in_season, season_of
from feedplan.engine.season import Timeline
from feedplan.model.course import Hold, NeedMet
from feedplan.model.hold import Action, SignLeft


@dataclass(frozen=True, slots=True)
class ExpectedFeeding:
    """What is expected of held trees if each sign is seen when it may be.

    end: the first day free of all holds. if_seen: the signs that must have been seen by then. spans: when feeding is
    open from then on, first and last days.
    """

    end: date
    if_seen: tuple[SignLeft, ...]
    spans: tuple[tuple[date, date], ...]

    def opens_in(self, first: date, last: date) -> date | None:
        """The first day between two on which feeding may be open, None where none is."""
        return next((max(start, first) for start, end in self.spans if start <= last and end >= first), None)


def expected_feeding(timeline: Timeline, today: date) -> ExpectedFeeding | None:
    """What is expected of trees whose liquid feed a hold stops today until signs are seen; None where none does.

    None, too, where nobody is asked to look and no stage tells of a sign.
    """
    holds = [h for h in timeline.holds if Action.LIQUID in h.rule.stops and h.covers(today)]
    waiting = [hold for hold in holds if hold.end is None and hold.missing]
    ends = [hold.end for hold in holds if hold.end is not None]
    for hold in waiting:
        if (end := _end_of(hold, timeline, today)) is None:
            return None
        ends.append(end)
    if not waiting or not timeline.here(today):
        return None
    signs = {met.left.sign: met.left for hold in waiting for met in hold.missing}
    spans = tuple(_spans(timeline, max(ends), waiting, set(signs)))
    return ExpectedFeeding(max(ends), tuple(signs.values()), spans)


def _end_of(hold: Hold, timeline: Timeline, today: date) -> date | None:
    """The day an open hold is expected to end; None where nothing tells of one of its signs."""
    days = [_seen_about(met, hold, timeline, today) for met in hold.missing]
    known = [day for day in days if day is not None]
    if len(known) < len(days):
        return None
    end = max([hold.minimum, *known])
    is_turned = hold.turned is not None and end >= hold.turned
    return max([end, *(after.minimum for after in _taking_over(hold, timeline))]) if is_turned else end


def _taking_over(hold: Hold, timeline: Timeline) -> Iterator[Hold]:
    """The heavier hold that takes over one where no sign is seen in time."""
    return (h for h in timeline.holds if h.entry.id == hold.entry.id and h.follows == hold.rule)


def _seen_about(met: NeedMet, hold: Hold, timeline: Timeline, today: date) -> date | None:
    """The day a sign is expected: that of the first stage that shows it, or of the look at which it may be seen."""
    shown_by = timeline.care.collection.vocabulary.shown_by
    hemisphere = timeline.care.collection.place.hemisphere
    earliest = season_of(hold.start, hemisphere) if hold.spring is None else hold.spring
    stages = [
        at.day or at.typical
        for season, course in timeline.stages
        for at in course
        if season >= earliest and met.need.sign in shown_by(at.stage)
    ]
    coming = sorted(day for day in stages if day > hold.start)
    if coming and coming[0] >= today:
        return coming[0]
    looks = sorted(day for h in (hold, *_taking_over(hold, timeline)) for day in h.reviews if day >= today)
    left = met.left.times - met.left.seen
    if looks:
        return looks[left - 1] if left <= len(looks) else looks[-1] + WEEK * (left - len(looks))
    return next((day for day in coming if day >= today), None)


def _spans(
    timeline: Timeline, end: date, holds: Sequence[Hold], signs: set[str]
) -> Iterator[tuple[date, date]]:
    """When feeding is open from a day on, also by a period that waits for what is then supposed to be seen."""
    collection = timeline.care.collection
    hemisphere, shown_by = collection.place.hemisphere, collection.vocabulary.shown_by
    year = season_of(end, hemisphere)
    bounds = [(window.season, window.first, window.last) for window in timeline.windows]
    bounds += [
        (wait.season, end, wait.last)
        for wait in timeline.waiting
        if wait.season == year and all(shown_by(s) & signs for s in wait.stages)
    ]
    latest = [h.rule.last_feed for h in holds if h.rule.last_feed is not None]
    stops = min((day_in_season(day, year, hemisphere) for day in latest), default=date.max)
    for season, first, last in sorted(bounds):
        until = min(last, stops) if season == year else last
        if max(first, end) <= until:
            yield max(first, end), until
