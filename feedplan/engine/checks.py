"""Water checks: how often to look, by stage and pot, from the schedule's own table. Nothing removes a check."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from feedplan.engine.growing_year import DAY
from feedplan.engine.stages import Record
from feedplan.model.collection import PotClass, Tree
from feedplan.model.schedule import CheckRate, Schedule, WaterRow
from feedplan.model.season import CheckStretch, Hold, Timeline


@dataclass(frozen=True, slots=True)
class DatedRow:
    """A row of the water table as it falls in one season."""

    first: date
    season: int
    row: WaterRow


Rows = Sequence[DatedRow]


def dated_rows(record: Record, schedule: Schedule, first_season: int, last_season: int) -> Rows:
    """The table's rows laid over some seasons, in day order.

    A stage still awaited counts from its typical date here, so that waiting for it never means fewer checks.
    """
    found = [
        DatedRow(stages[row.stage].day or stages[row.stage].typical, season, row)
        for season in range(first_season, last_season + 1)
        for stages in (record.stages(season),)
        for row in schedule.water
        if row.stage in stages
    ]
    return sorted(found, key=lambda dated: dated.first)


def rate_for(row: WaterRow, pot_class: PotClass, *, weak: bool) -> CheckRate:
    """The rate of one row for a pot; a weak or root-cut tree is looked at as often as the weak column asks too."""
    own: CheckRate = {PotClass.SHALLOW: row.shallow, PotClass.MEDIUM: row.medium, PotClass.DEEP: row.deep}[
        pot_class
    ]
    return max(own, row.weak) if weak else own


def check_stretches(
    timelines: Sequence[Timeline], rows_of: Callable[[Timeline], Rows], today: date, start: date, end: date
) -> tuple[CheckStretch, ...]:
    """Stretches of equal rate for each group and pot class, and the extra looks that held trees need.

    Given are those that touch the days from `start` to `end`, each whole, so that they do not change as the days
    looked at move on.
    """
    classes: dict[tuple[str, PotClass, bool], list[tuple[Timeline, tuple[Tree, ...]]]] = {}
    for timeline in timelines:
        for (pot_class, weak), trees in _by_pot(timeline.trees).items():
            classes.setdefault((timeline.group_on(today), pot_class, weak), []).append((timeline, trees))
    shared = [
        stretch
        for (group, pot_class, weak), members in sorted(classes.items())
        for stretch in _group_stretches(group, pot_class, weak, members, rows_of)
    ]
    extra = [s for timeline in timelines for s in _extra_looks(timeline, rows_of(timeline))]
    return tuple(s for s in (*shared, *extra) if s.start <= end and s.end >= start)


def _by_pot(trees: Iterable[Tree]) -> Mapping[tuple[PotClass, bool], tuple[Tree, ...]]:
    found: dict[tuple[PotClass, bool], list[Tree]] = {}
    for tree in trees:
        found.setdefault((tree.pot.pot_class, tree.weak), []).append(tree)
    return {key: tuple(members) for key, members in found.items()}


def _group_stretches(
    group: str,
    pot_class: PotClass,
    weak: bool,
    members: Sequence[tuple[Timeline, tuple[Tree, ...]]],
    rows_of: Callable[[Timeline], Rows],
) -> Iterator[CheckStretch]:
    """The class's days cut where its rate or its trees change; where trees differ, the thirstiest decides for all."""
    courses = [(timeline, rows_of(timeline)) for timeline, _ in members]
    cuts = {dated.first for _, rows in courses for dated in rows}
    first_cut, last_cut = min(cuts), max(cuts)
    coming = (day for timeline, _ in members for day in (timeline.arrives, timeline.leaves) if day)
    cuts |= {day for day in coming if first_cut < day < last_cut}
    pieces: list[tuple[date, DatedRow | None, tuple[Timeline, ...]]] = []
    for day in sorted(cuts):
        here = tuple(t for t, _ in members if t.here(day))
        rows = [row for t, course in courses if t in here and (row := _row_on(course, day)) is not None]
        row = max(rows, key=lambda dated: rate_for(dated.row, pot_class, weak=weak), default=None)
        same_rate = bool(pieces) and _rate(pieces[-1][1], pot_class, weak) == _rate(row, pot_class, weak)
        if not same_rate or pieces[-1][2] != here:
            pieces.append((day, row, here))
    label = f"{pot_class}-weak" if weak else str(pot_class)
    used: Counter[str] = Counter()
    for (first, row, here), last in zip(pieces, [p[0] - DAY for p in pieces[1:]], strict=False):
        if row is None or not here:
            continue
        key = f"water/{group}/{label}/{row.season}/{row.row.stage}"
        used[key] += 1
        trees = tuple(tree for timeline, found in members if timeline in here for tree in found)
        dry = tuple(tree.name for tree in trees if weak)
        rate = rate_for(row.row, pot_class, weak=weak)
        yield CheckStretch(f"{key}/{used[key]}", group, pot_class, rate, first, last, trees, dry)


def _rate(row: DatedRow | None, pot_class: PotClass, weak: bool) -> CheckRate | None:
    return None if row is None else rate_for(row.row, pot_class, weak=weak)


def _row_on(rows: Rows, day: date) -> DatedRow | None:
    return next((dated for dated in reversed(rows) if dated.first <= day), None)


def _extra_looks(timeline: Timeline, rows: Rows) -> Iterator[CheckStretch]:
    """Days on which a held tree needs more looks than its pot alone would ask."""
    for hold in timeline.holds:
        if hold.rule.water_surface_dry:
            for (pot_class, weak), trees in _by_pot(timeline.trees).items():
                if not weak:
                    yield from _looks_while_held(timeline, hold, pot_class, trees, _rows_within(hold, rows))


def _rows_within(hold: Hold, rows: Rows) -> Iterator[tuple[date, date, DatedRow]]:
    """First day, last day and row of each part of a hold, an open one cut where the rows end."""
    last = hold.end - DAY if hold.end else max(rows[-1].first - DAY, hold.start)
    starts = [hold.start, *(dated.first for dated in rows if hold.start < dated.first <= last)]
    for begin, until in zip(starts, [*(day - DAY for day in starts[1:]), last], strict=True):
        dated = _row_on(rows, begin)
        if dated is not None and begin <= until:
            yield begin, until, dated


def _looks_while_held(
    timeline: Timeline,
    hold: Hold,
    pot_class: PotClass,
    trees: tuple[Tree, ...],
    parts: Iterable[tuple[date, date, DatedRow]],
) -> Iterator[CheckStretch]:
    names = tuple(tree.name for tree in trees)
    for begin, until, dated in parts:
        if dated.row.weak > rate_for(dated.row, pot_class, weak=False):
            key = f"water/{timeline.lineage}/{hold.entry.id}/{pot_class}/{dated.season}/{dated.row.stage}"
            group = timeline.group_on(begin)
            yield CheckStretch(key, group, pot_class, dated.row.weak, begin, until, trees, names, hold)
