"""Growth that stops and starts again within a year, as indoors: what was seen counts until the next usual date."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from feedplan.engine.growing_year import day_in_season, season_start
from feedplan.model.course import StageDate
from feedplan.model.journal import Entry
from feedplan.model.moment import DayOfYear, Hemisphere
from feedplan.model.source import Source
from feedplan.model.stage import GiveOrTake, Origin, StageCalendar

# Growth seen so long after its usual first day began only then; seen later it only goes on. Judgement.
LATE_START = timedelta(days=120)

Round = Mapping[str, StageDate]
"""One growth of a season, by stage: when it starts and when it stops."""


@dataclass(frozen=True, slots=True)
class UsualGrowth:
    """The usual dates of growth in one season. begins: its first day; ends: the first day without.

    growth, stopped: the stages' names. start: first day of the season. ended: as ends, a season before. spread: how far
    off the dates often are. source: where they stand.
    """

    growth: str
    stopped: str
    begins: date
    ends: date
    start: date
    ended: date
    spread: timedelta
    source: Source


def usual_growth(
    calendar: StageCalendar, dates: Mapping[str, DayOfYear], season: int, hemisphere: Hemisphere
) -> UsualGrowth:
    """The usual dates of a calendar that repeats. dates: of its stages, the grower's own among them."""
    growth, stopped = (stage for stage, _ in calendar.dates)
    return UsualGrowth(
        growth,
        stopped,
        day_in_season(dates[growth], season, hemisphere),
        day_in_season(dates[stopped], season, hemisphere),
        season_start(season, hemisphere),
        day_in_season(dates[stopped], season - 1, hemisphere),
        timedelta(days=calendar.spread_days),
        calendar.source,
    )


@dataclass(frozen=True, slots=True)
class _Change:
    """From a day on there is growth, or none. entry: who saw it; None for a usual date."""

    day: date
    grows: bool
    entry: Entry | None = None


def rounds_of(
    usual: UsualGrowth, before: Sequence[tuple[Entry, str]], seen: Sequence[tuple[Entry, str]]
) -> tuple[Round, ...]:
    """Every growth of a season in day order; the last waits to be seen where the last thing seen was its stop.

    before, seen: the sightings of the two stages in the season before and in this one, in day order. Growth seen last
    after its usual end goes on into the next season.
    """
    sightings = [_Change(entry.day, stage == usual.growth, entry) for entry, stage in seen]
    if before and before[-1][1] == usual.growth and before[-1][0].day >= usual.ended:
        sightings.insert(0, _Change(usual.start, True, before[-1][0]))
    changes = sightings if _is_put_off(usual, sightings) else [_Change(usual.begins, True), *sightings]
    found: list[dict[str, StageDate]] = []
    grows = False
    for change in sorted(changes, key=lambda change: change.day):
        if change.grows and not grows:
            found.append(
                {usual.growth: _dated(usual, change), usual.stopped: _awaited(usual, change, growth=False)}
            )
        elif change.grows:
            found[-1][usual.stopped] = _awaited(usual, change, growth=False)
        elif grows:
            found[-1][usual.stopped] = _dated(usual, change)
        grows = change.grows
    last, end = sightings[-1] if sightings else None, _dated(usual, _Change(usual.ends, False))
    if last is None or last.day < usual.ends:
        if grows:
            found[-1][usual.stopped] = end
        elif last is not None:
            found.append({usual.growth: _awaited(usual, last, growth=True), usual.stopped: end})
    return tuple(map(_proved, found))


def _is_put_off(usual: UsualGrowth, sightings: Sequence[_Change]) -> bool:
    """Whether what was seen soon after the usual first day says that growth had not begun before."""
    following = next((each for each in sightings if each.day >= usual.begins), None)
    if following is None:
        return False
    return following.day - usual.begins <= (LATE_START if following.grows else usual.spread)


def _dated(usual: UsualGrowth, change: _Change) -> StageDate:
    stage, prior = (usual.growth, usual.begins) if change.grows else (usual.stopped, usual.ends)
    entry = change.entry
    if entry is None:
        return StageDate(
            stage, prior, Origin.TYPICAL, prior, prior, None, usual.source, basis=GiveOrTake(usual.spread)
        )
    return StageDate(stage, entry.day, Origin.SEEN, max(entry.known, change.day), prior, entry, entry.source)


def _awaited(usual: UsualGrowth, since: _Change, *, growth: bool) -> StageDate:
    """The stage that was not seen yet when the other was."""
    stage, prior = (usual.growth, usual.begins) if growth else (usual.stopped, usual.ends)
    known = since.day if since.entry is None else max(since.entry.known, since.day)
    return StageDate(stage, None, Origin.AWAITED, known, prior, since.entry, usual.source)


def _proved(found: Round) -> Round:
    """A growth that was not seen itself, but whose stop was: nobody needs to look for it any more."""
    first, last = found.values()
    if first.origin is Origin.TYPICAL and last.origin is Origin.SEEN:
        return {**found, first.stage: replace(first, proved=last.known)}
    return found


def as_one(rounds: Sequence[Mapping[str, StageDate]], repeated: Sequence[str]) -> Mapping[str, StageDate]:
    """The stages of a season as if growth had not stopped in between; it ends as the growth begun last does.

    repeated: the stages of growth and its stop; none where there is one round only.
    """
    first = rounds[0]
    if len(rounds) == 1:
        return first
    growth, stopped = repeated
    begun = [each for each in rounds if each[growth].day is not None]
    return {**first, stopped: begun[-1][stopped]}


def begun_by(
    day: date, rounds: Sequence[Mapping[str, StageDate]], repeated: Sequence[str]
) -> Mapping[str, StageDate]:
    """The stages of the round whose growth began last by a day; those of the first before any has. Else as `as_one`."""
    for each in reversed(rounds[1:]):
        began = each[repeated[0]].day
        if began is not None and began <= day:
            return each
    return rounds[0]


def in_order(rounds: Sequence[Mapping[str, StageDate]], repeated: Sequence[str]) -> tuple[StageDate, ...]:
    """Every stage date of a season, the rounds of growth one after another. Else as `as_one`."""
    first, *more = rounds
    if not more:
        return tuple(first.values())
    again = (each[stage] for each in more for stage in repeated)
    return tuple(sorted((*first.values(), *again), key=lambda at: at.day or at.known))


def numbered(stages: Iterable[StageDate]) -> Iterator[tuple[int, StageDate]]:
    """Stage dates with which time of its stage in the season each is, from 1."""
    times: Counter[str] = Counter()
    for at in stages:
        times[at.stage] += 1
        yield times[at.stage], at
