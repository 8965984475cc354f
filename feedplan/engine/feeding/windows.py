"""When a timeline may be fed at all: the schedule's periods laid over its seasons, group by group."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from feedplan.engine.care import Care
from feedplan.engine.growing_year import DAY, season_end, season_of
from feedplan.engine.stages.questions import as_answered
from feedplan.engine.stages.stages import Record
from feedplan.model.course import Hold, StageDate, Waiting, Window
from feedplan.model.moment import AtStage, FirstOf, LastOf, Moment, stages_named
from feedplan.model.schedule import FeedingPeriod, Schedule


@dataclass(frozen=True, slots=True)
class Windows:
    """Every window of a timeline in day order, and the periods still waiting for a stage."""

    windows: tuple[Window, ...]
    waiting: tuple[Waiting, ...]

    def at(self, day: date) -> Window | None:
        """The window a day lies in; where two overlap, the one that opened last."""
        found = None
        for window in self.windows:
            if window.first > day:
                break
            if day <= window.last:
                found = window
        return found

    def next_after(self, day: date) -> Window | None:
        """The first window that opens after a day."""
        return next((window for window in self.windows if window.first > day), None)


def lay_windows(record: Record, care: Care, holds: Sequence[Hold], start: date, end: date) -> Windows:
    """The windows between two days, following the moves from group to group. holds: some open a period by their end."""
    windows: list[Window] = []
    waiting: list[Waiting] = []
    first_season, last_season = (season_of(day, record.hemisphere) for day in (start, end))
    for stay in care.stays:
        schedule = care.schedule_of(stay)
        for season in range(first_season - 1, last_season + 1):
            for period in schedule.periods:
                freed = _freed(record, period, holds, season)
                for bounds, stages in _times_open(record, period, season):
                    window = _window(record, stages, period, bounds, schedule, season=season, freed=freed)
                    if isinstance(window, Waiting):
                        waiting.append(window)
                    else:
                        windows.extend(_clipped(window, max(stay.start, start), stay.end, end))
    return Windows(tuple(sorted(windows, key=lambda w: (w.first, w.last, w.period.name))), tuple(waiting))


def _freed(record: Record, period: FeedingPeriod, holds: Sequence[Hold], season: int) -> date | None:
    """The first day of a season on which a hold that can open a period has ended."""
    ends = (hold.end for hold in holds if hold.rule.name in period.or_after and hold.end is not None)
    return min((day for day in ends if season_of(day, record.hemisphere) == season), default=None)


Bounds = tuple[Moment, Moment]
"""From when to when a period is open."""


def _times_open(
    record: Record, period: FeedingPeriod, season: int
) -> Iterator[tuple[Bounds, Mapping[str, StageDate]]]:
    """When a period is open in a season, and the stages it is told by: once for each time growth starts and stops.

    A growth seen to stop cuts every period that names one of the two stages; a period of dates alone is left as it is.
    """
    repeated = record.typical.repeated
    if not repeated or set(repeated).isdisjoint({*stages_named(period.start), *stages_named(period.stop)}):
        yield (period.start, period.stop), record.stages(season)
        return
    rounds = record.rounds(season)
    growth, stopped = repeated
    until = FirstOf((period.stop, AtStage(stopped, seen_only=True)))
    yield (period.start, until), rounds[0]
    for stages in rounds[1:]:
        yield (LastOf((period.start, AtStage(growth))), until), stages


def _window(
    record: Record,
    stages: Mapping[str, StageDate],
    period: FeedingPeriod,
    bounds: Bounds,
    schedule: Schedule,
    *,
    season: int,
    freed: date | None,
) -> Window | Waiting:
    """A period in a season, open from one moment to another. freed: the end of a hold that may open it."""
    start, stop = bounds
    names = tuple(dict.fromkeys(stages_named(start)))
    awaited = {**stages, **{s: as_answered(stages[s], record.entries) for s in names if s in stages}}
    first = record.resolve(start, season, freed, awaited)
    opened_by = tuple(awaited[s] for s in names if s in awaited)
    if first is None:
        closes = record.last_day(stop, season, stages) or season_end(season, record.hemisphere)
        return Waiting(period, schedule, season, names, closes)
    last = record.last_day(stop, season, stages)
    if last is None:
        last = season_end(season, record.hemisphere)
    return Window(period, schedule, season, first, last, opened_by)


def _clipped(window: Window, start: date, stay_end: date | None, end: date) -> Iterator[Window]:
    """The part of a window inside a stay and the planned days, if any is left."""
    first = max(window.first, start)
    last = min(window.last, end, stay_end - DAY if stay_end else end)
    if first <= last:
        yield Window(window.period, window.schedule, window.season, first, last, window.opened_by)
