"""Water checks: stretches of days with one rate for each group and kind of pot. Nothing removes a check."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date

from feedplan.engine.growing_year import DAY
from feedplan.engine.water.check_courses import Course, Courses, PotsAlike, Step
from feedplan.model.collection import PotClass, Tree
from feedplan.model.course import Hold
from feedplan.model.season import CheckStretch, Timeline

Kind = tuple[str, PotClass, bool]
"""Group, pot class and whether the trees are weak: what a stretch is told for."""


def check_stretches(
    timelines: Sequence[Timeline], courses: Courses, today: date, start: date, end: date
) -> tuple[CheckStretch, ...]:
    """Stretches of equal rate for each group and pot class, and the extra looks that held trees need.

    Given are those that touch the days from `start` to `end`, each whole, so that they do not change as the days
    looked at move on.
    """
    shared = [
        stretch
        for kind, members in sorted(by_kind(timelines, today).items())
        for stretch in _group_stretches(kind, members, courses, (start, end))
    ]
    extra = [s for timeline in timelines for s in _extra_looks(timeline, courses)]
    return tuple(s for s in (*shared, *extra) if s.start <= end and s.end >= start)


def by_kind(timelines: Iterable[Timeline], today: date) -> Mapping[Kind, list[PotsAlike]]:
    """The trees by group of today, pot class and weakness."""
    kinds: dict[Kind, list[PotsAlike]] = {}
    for timeline in timelines:
        for pots in alike(timeline):
            kinds.setdefault((timeline.group_on(today), pots.pot_class, pots.weak), []).append(pots)
    return kinds


def alike(timeline: Timeline) -> Iterable[PotsAlike]:
    """A timeline's trees, those with pots of one class together."""
    found: dict[tuple[PotClass, bool], list[Tree]] = {}
    for tree in timeline.trees:
        found.setdefault((tree.pot.pot_class, tree.weak), []).append(tree)
    return [PotsAlike(timeline, *kind, tuple(trees)) for kind, trees in found.items()]


def label_of(kind: Kind) -> str:
    """What the keys of a kind's stretches begin with."""
    group, pot_class, weak = kind
    return f"water/{group}/{pot_class}-weak" if weak else f"water/{group}/{pot_class}"


def _group_stretches(
    kind: Kind, members: Sequence[PotsAlike], courses: Courses, shown: tuple[date, date]
) -> Iterator[CheckStretch]:
    """The kind's days cut where its rate or its trees change; where trees differ, the thirstiest decides for all."""
    group, pot_class, weak = kind
    pieces = _pieces(members, courses)
    used: Counter[str] = Counter()
    for (first, step, here), last in zip(pieces, [p[0] - DAY for p in pieces[1:]], strict=False):
        if step is None or not here:
            continue
        key = f"{label_of(kind)}/{step.label}"
        used[key] += 1
        trees = tuple(tree for pots in here for tree in pots.trees)
        dry = tuple(tree.name for tree in trees) if weak else ()
        stretch = CheckStretch(f"{key}/{used[key]}", group, pot_class, step.rate, first, last, trees, dry)
        is_shown = first <= shown[1] and last >= shown[0]
        thirst = courses.thirst(here, first, last) if is_shown else None
        if thirst is not None:
            stretch = replace(stretch, litres_per_day=thirst.litres, dries_first=thirst.first)
        yield stretch


_Piece = tuple[date, Step | None, tuple[PotsAlike, ...]]


def _pieces(members: Sequence[PotsAlike], courses: Courses) -> list[_Piece]:
    """Every day on which the rate or the trees of a kind change, with what holds from then on."""
    laid = [courses.course(pots) for pots in members]
    cuts = {step.first for course in {id(c): c for c in laid}.values() for step in course}
    first_cut, last_cut = min(cuts), max(cuts)
    coming = (day for pots in members for day in (pots.timeline.arrives, pots.timeline.leaves) if day)
    cuts |= {day for day in coming if first_cut < day < last_cut}
    pieces: list[_Piece] = []
    for day in sorted(cuts):
        present = [index for index, pots in enumerate(members) if pots.timeline.here(day)]
        steps = (step_on(course, day) for course in {id(laid[i]): laid[i] for i in present}.values())
        step = max(filter(None, steps), key=lambda at: at.rate, default=None)
        here = tuple(members[index] for index in present)
        if not pieces or _begins_anew(pieces[-1][1], step, day) or not _same(pieces[-1][2], here):
            pieces.append((day, step, here))
    return pieces


def _begins_anew(before: Step | None, step: Step | None, day: date) -> bool:
    if before is None or step is None:
        return before is not step
    return before.rate != step.rate or (step.cuts and step.first == day)


def _same(before: Sequence[PotsAlike], here: Sequence[PotsAlike]) -> bool:
    return len(before) == len(here) and all(a is b for a, b in zip(before, here, strict=True))


def step_on(course: Course, day: date) -> Step | None:
    """The step in force on a day, None before the first."""
    place = bisect_right(course, day, key=lambda step: step.first)
    return course[place - 1] if place else None


def _extra_looks(timeline: Timeline, courses: Courses) -> Iterator[CheckStretch]:
    """Days on which a held tree needs more looks than its pot alone would ask."""
    for hold in timeline.holds:
        if hold.rule.water_surface_dry:
            for pots in alike(timeline):
                if not pots.weak:
                    yield from _looks_while_held(hold, pots, courses)


def _looks_while_held(hold: Hold, pots: PotsAlike, courses: Courses) -> Iterator[CheckStretch]:
    """The parts of a hold in which weak trees are looked at oftener than this pot; an open one ends with the course."""
    own, weak = courses.course(pots), courses.course(replace(pots, weak=True))
    names = tuple(tree.name for tree in pots.trees)
    last = hold.end - DAY if hold.end else max(weak[-1].first - DAY, hold.start)
    starts = [hold.start, *sorted({at.first for at in (*own, *weak) if hold.start < at.first <= last})]
    used: Counter[str] = Counter()
    for begin, until in zip(starts, [*(day - DAY for day in starts[1:]), last], strict=True):
        usual, asked = step_on(own, begin), step_on(weak, begin)
        if usual is not None and asked is not None and asked.rate > usual.rate and begin <= until:
            key = f"water/{pots.timeline.lineage}/{hold.entry.id}/{pots.pot_class}/{asked.label}"
            used[key] += 1
            key = key if used[key] == 1 else f"{key}/{used[key]}"
            group = pots.timeline.group_on(begin)
            yield CheckStretch(key, group, pots.pot_class, asked.rate, begin, until, pots.trees, names, hold)
