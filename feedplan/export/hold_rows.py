"""Holds of all trees together: one span for each stretch of days on which the same trees are held."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from itertools import pairwise

from feedplan.engine.growing_year import DAY, season_end, season_of, season_start
from feedplan.engine.season import Season, Timeline
from feedplan.export.entry import CalendarEntry, Kind
from feedplan.model.course import Hold
from feedplan.model.hold import Action
from feedplan.words.language import say
from feedplan.words.reasons import hold_end_words, hold_words
from feedplan.words.writing import names_in_short, names_words

_Held = tuple[tuple[Timeline, Hold], ...]


def hold_rows(season: Season) -> Iterator[CalendarEntry]:
    """At most one row a day. A hold that is still open runs on to the end of the last growing year shown.

    That end, and the cut at the start of the first year, stand still while the days shown move on.
    """
    hemisphere = season.collection.place.hemisphere
    first = season_start(season_of(season.start, hemisphere), hemisphere)
    after = season_end(season_of(season.end, hemisphere), hemisphere) + DAY
    spans = [
        (max(hold.start, first), min(hold.end or after, timeline.leaves or after, after), timeline, hold)
        for timeline in season.timelines
        for hold in timeline.holds
        if not hold.by_weather
    ]
    spans = [span for span in spans if span[0] < span[1]]
    cuts = sorted({day for start, end, *_ in spans for day in (start, end)})
    for start, end in pairwise(cuts):
        held = tuple((timeline, hold) for a, b, timeline, hold in spans if a <= start < b)
        if held and start <= season.end and end > season.start:
            yield _row(held, start, end)


def _row(held: _Held, start: date, end: date) -> CalendarEntry:
    stopped = [timeline for timeline, hold in held if Action.LIQUID in hold.rule.stops]
    timelines = list({t.lineage: t for t in stopped or [timeline for timeline, _ in held]}.values())
    names = [tree.name for timeline in timelines for tree in timeline.trees]
    return CalendarEntry(
        key=f"holds/{start}",
        kind=Kind.HOLD,
        start=start,
        title=say("No feed: {names}" if stopped else "Go easy: {names}", names=names_in_short(names)),
        text="\n".join(_lines(held, start)),
        days=(end - start).days,
    )


def _lines(held: _Held, start: date) -> Iterator[str]:
    """Each tree with what holds it, and until when."""
    for timeline, hold in held:
        yield say(
            "{names}: {hold}; {end}.",
            names=names_words([timeline]),
            hold=hold_words(hold, start),
            end=hold_end_words(hold, start),
        )
