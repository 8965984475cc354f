"""Water checks of all groups together: one recurring row for each time of day and stretch of equal membership."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from itertools import pairwise
from operator import attrgetter

from feedplan.engine.growing_year import DAY, season_end, season_of, season_start
from feedplan.engine.season import CheckStretch, Season
from feedplan.engine.water.checks import EVERY_DAY, MOST_LOOKS, Shown, check_stretches
from feedplan.export.entries import HOW_TO_WATER
from feedplan.export.entry import CalendarEntry, Kind, Repeat
from feedplan.model.collection import Tree
from feedplan.model.statement import Statement
from feedplan.words.language import say
from feedplan.words.reasons import fact_words
from feedplan.words.writing import names_in_short, tree_words, trees_line

_NAMED = 6
"""With more names than these a row says how many there are."""

_Looked = tuple[tuple[str, ...], tuple[str, ...], Statement | None]
"""Who is looked at together, by name: the trees, those whose surface is to dry, and the weather that asks for more."""


def water_rows(season: Season) -> Iterator[CalendarEntry]:
    """The rows of each time of day, those that touch the days shown, each whole: they do not move with the day."""
    hemisphere = season.collection.place.hemisphere
    first = season_start(season_of(season.start, hemisphere), hemisphere)
    last = season_end(season_of(season.end, hemisphere), hemisphere)
    stretches = check_stretches(season.watches, None, Shown(first, last, hemisphere))
    for look in range(MOST_LOOKS):
        mine = [stretch for stretch in stretches if stretch.look == look]
        for row in _rows(mine):
            if row.start <= season.end and row.end >= season.start:
                yield _entry(row, look, season)


class _Row:
    """One stretch of days on which the same trees are looked at, on some weekdays."""

    def __init__(self, looked: _Looked, start: date, end: date) -> None:
        self.looked, self.start, self.end = looked, start, end
        self.weekdays: list[int] = []


def _rows(stretches: Sequence[CheckStretch]) -> Iterator[_Row]:
    """The stretches of all groups brought together, weekday by weekday, alike days in one row."""
    days = sorted({each.start for each in stretches} | {each.end + DAY for each in stretches})
    together: dict[tuple[_Looked, date, date], _Row] = {}
    for weekday in EVERY_DAY:
        mine = [each for each in stretches if weekday in each.weekdays]
        for looked, start, end in _runs(mine, days):
            # From the first such weekday to the last, so that rows of other weekdays may begin and end elsewhere.
            row = together.setdefault((looked, start, end), _Row(looked, start, end))
            row.weekdays.append(weekday)
    for row in together.values():
        if any((weekday - row.start.weekday()) % 7 <= (row.end - row.start).days for weekday in row.weekdays):
            yield row


def _runs(stretches: Sequence[CheckStretch], days: Sequence[date]) -> Iterator[tuple[_Looked, date, date]]:
    """The runs of days with the same trees on one weekday."""
    run: tuple[_Looked, date, date] | None = None
    for start, after in pairwise(days):
        here = [each for each in stretches if each.start <= start <= each.end]
        looked = _looked(here) if here else None
        if run is not None and (looked != run[0]):
            yield run
            run = None
        if looked is not None:
            run = (looked, start if run is None else run[1], after - DAY)
    if run is not None:
        yield run


def _looked(stretches: Sequence[CheckStretch]) -> _Looked:
    trees = {tree.name: tree.source for each in stretches for tree in each.trees}
    dry = {name for each in stretches for name in each.surface_dry}
    causes = [each.rise.cause for each in stretches if each.rise is not None]
    ordered = tuple(sorted(trees, key=trees.__getitem__))
    return ordered, tuple(name for name in ordered if name in dry), causes[0] if causes else None


def _entry(row: _Row, look: int, season: Season) -> CalendarEntry:
    names, dry, cause = row.looked
    here = _trees_on(season, row.start)
    trees, absent = ([t for t in here if (t.name in names) is is_looked_at] for is_looked_at in (True, False))
    lines = [say(HOW_TO_WATER)]
    if cause is not None:
        told = fact_words(cause, row.start)
        lines.append(
            say("More often than usual: {cause}. Shade helps first; damp the floor in heat.", cause=told)
        )
    if 0 < len(absent) < len(trees):
        lines.append(say("All but {names}.", names=_names(absent)))
    elif absent:
        lines.append(trees_line(_names(trees)))
    if dry:
        lines.append(say("Let the surface dry between waterings: {names}.", names=", ".join(dry)))
    weekdays = tuple(sorted(row.weekdays))
    return CalendarEntry(
        key=f"checks/{look + 1}/{row.start}/{weekdays[0]}",
        kind=Kind.WATER,
        start=row.start,
        title=_title(trees, here, look),
        text="\n".join(lines),
        at=season.collection.habits.checks_at[look],
        repeat=Repeat(until=row.end, weekdays=() if weekdays == EVERY_DAY else weekdays),
    )


def _trees_on(season: Season, day: date) -> list[Tree]:
    """The trees that are here on a day, in the collection's order."""
    trees = (t for timeline in season.timelines if timeline.here(day) for t in timeline.trees_on(day))
    return sorted(trees, key=attrgetter("source"))


def _title(trees: Sequence[Tree], here: Sequence[Tree], look: int) -> str:
    """A row's line: "Check water: all 41", "Check again: Lantern, Quill +3"; of many the number first."""
    if len(trees) > _NAMED and len(here) - len(trees) > 1:
        many = "Again {count} of {all}" if look else "Check {count} of {all}"
        return say(many, count=_count(trees), all=_count(here))
    return say("Check again: {who}" if look else "Check water: {who}", who=_who(trees, here))


def _who(trees: Sequence[Tree], here: Sequence[Tree]) -> str:
    """Who is looked at, in a few words."""
    if len(trees) == len(here) > 1:
        return say("all {count}", count=_count(trees))
    names = [tree.name for tree in trees]
    if len(names) > 3 and len(here) - len(trees) <= 1:
        return say("all but {names}", names=_names(t for t in here if t.name not in names))
    return names_in_short(names)


def _count(trees: Iterable[Tree]) -> int:
    return sum(tree.count for tree in trees)


def _names(trees: Iterable[Tree]) -> str:
    return ", ".join(map(tree_words, trees))
