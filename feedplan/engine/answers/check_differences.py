"""What differs in the water checks of two plans, tree by tree: who else is looked at on the same walk is no matter."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import zip_longest

from feedplan.engine.answers.differences import Change, Difference, Event, EventKind
from feedplan.engine.growing_year import DAY
from feedplan.engine.season import CheckStretch, Season
from feedplan.model.reason import Reason

_LOOKS_OF_A_DAY = (EventKind.FIRST_CHECK, EventKind.SECOND_CHECK, EventKind.THIRD_CHECK)


@dataclass(frozen=True, slots=True)
class _Pace:
    """From when on one tree is looked at so often at one time of day.

    times: in a week. is_rise: it is what the weather adds to the usual looks for some days.
    """

    group: str
    start: date
    times: int
    is_rise: bool

    @property
    def starts(self) -> tuple[date, bool]:
        """What makes it the same pace in two plans, made faster or slower."""
        return self.start, self.is_rise


def check_differences(
    before: Season, after: Season, cause_of: Callable[[Sequence[str], str, date], Reason]
) -> Iterator[Difference]:
    """The looks at each tree that come sooner or later, more or less often, anew or no longer."""
    was, now = _paces(before), _paces(after)
    for key in dict.fromkeys((*now, *was)):
        name, look, _ = key
        for one, other in _paired(was.get(key, []), now.get(key, [])):
            change, it = _change(one, other), other or one
            if change is not None and it is not None:
                first, second = (None if each is None else each.start for each in (one, other))
                by = max(day for day in (first, second) if day is not None)
                event, cause = Event(_LOOKS_OF_A_DAY[look]), cause_of((name,), "check", by)
                yield Difference(change, "check", event, it.group, (name,), first, second, reasons=(cause,))


_Key = tuple[str, int, bool]
"""A tree, the look of the day, and whether it is one that the weather adds."""


def _paces(season: Season) -> Mapping[_Key, list[_Pace]]:
    """The paces of each look at each tree in day order, a change from one to the next each.

    A look made daily stands in several stretches where other trees are looked at on some of its days alone.
    """
    stretches: dict[_Key, list[CheckStretch]] = {}
    for check in season.checks:
        for tree in check.trees:
            stretches.setdefault((tree.name, check.look, check.rise is not None), []).append(check)
    return {key: list(_joined(found, is_rise=key[2])) for key, found in stretches.items()}


def _joined(stretches: Sequence[CheckStretch], *, is_rise: bool) -> Iterator[_Pace]:
    """The paces that some stretches come to together; a day from which there is no look ends one and tells nothing."""
    times = 0
    for day in sorted({s.start for s in stretches} | {s.end + DAY for s in stretches}):
        here = [s for s in stretches if s.start <= day <= s.end]
        on = {weekday for stretch in here for weekday in stretch.weekdays}
        if on and len(on) != times:
            yield _Pace(here[0].group, day, len(on), is_rise)
        times = len(on)


def _paired(was: Sequence[_Pace], now: Sequence[_Pace]) -> Iterator[tuple[_Pace | None, _Pace | None]]:
    """Each pace and that of the other plan: the one from the same day, else one as fast in the same year."""
    by_start = {pace.starts: pace for pace in now}
    both = {pace.starts for pace in was} & by_start.keys()
    yield from ((pace, by_start[pace.starts]) for pace in was if pace.starts in both)
    left: dict[tuple[int, int], tuple[list[_Pace], list[_Pace]]] = {}
    for side, paces in enumerate((was, now)):
        for pace in paces:
            if pace.starts not in both:
                left.setdefault((pace.start.year, pace.times), ([], []))[side].append(pace)
    for ones, others in left.values():
        yield from zip_longest(ones, others)


def _change(one: _Pace | None, other: _Pace | None) -> Change | None:
    if one is None or other is None:
        return Change.APPEARED if one is None else Change.WENT
    if one.start != other.start:
        return Change.MOVED
    if one.times == other.times:
        return None
    return Change.LESS_OFTEN if other.times < one.times else Change.MORE_OFTEN
