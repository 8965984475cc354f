"""How much a tree drinks against reference evapotranspiration through its year, and after root work.

Stages carry shares in stages.yaml; between two of them use changes evenly, as FAO-56 joins its stages (Eq. 66).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal
from functools import lru_cache
from itertools import pairwise

from feedplan.engine.growing_year import DAY
from feedplan.engine.season import Timeline
from feedplan.model.course import Hold, StageDate
from feedplan.model.stage import Vocabulary

UNKNOWN_USE = 1.0
"""For a kind whose stages carry no share at all (judgement)."""

Knots = tuple[tuple[date, float], ...]


def knots_of(timeline: Timeline, vocabulary: Vocabulary) -> Knots:
    """The stages with a share, in day order. One still awaited counts from its typical date, as checks do.

    Stages that only a group's schedule lends to the kind are left out: a move to that group would change how the tree
    drank before it.
    """
    calendar = vocabulary.calendars.get(timeline.calendar)
    own: Mapping[str, Decimal] = {} if calendar is None else calendar.water_use
    stages = None if calendar is None else {*dict(calendar.dates), *calendar.clock, *own}
    found: dict[date, float] = {}
    for at in _all_stages(timeline):
        if stages is not None and at.stage not in stages:
            continue
        word = vocabulary.words.get(at.stage)
        share = own.get(at.stage, word.water_use if word is not None else None)
        if share is not None:
            day = at.day or at.typical
            found[day] = max(found.get(day, 0.0), float(share))
    return tuple(sorted(found.items()))


def _all_stages(timeline: Timeline) -> Iterable[StageDate]:
    return (at for _, stages in timeline.stages for at in stages)


def leaf_on(knots: Knots, day: date) -> float:
    """The share on one day."""
    return leaf_course(knots, day, 1)[0]


@lru_cache(maxsize=512)
def leaf_course(knots: Knots, first: date, count: int) -> tuple[float, ...]:
    """The share on so many days from `first` on."""
    if not knots:
        return (UNKNOWN_USE,) * count
    end = first + DAY * count
    before = (min(first, knots[0][0]) - DAY, knots[0][1])
    after = (max(end, knots[-1][0]) + DAY, knots[-1][1])
    course: list[float] = []
    for (start, share), (stop, next_share) in pairwise([before, *knots, after]):
        span = (stop - start).days
        steps = range(max(0, (first - start).days), min(span, (end - start).days))
        course += [share + (next_share - share) * step / span for step in steps]
    return tuple(course)


def roots_on(holds: Iterable[Hold], day: date) -> float:
    """What root work and damage leave of a tree's thirst on a day; the strictest hold counts.

    It comes back evenly over the hold. While a hold waits for a sign, half of what was lost is still missing.
    """
    return min((_left_by(hold, day) for hold in holds if hold.covers(day)), default=1.0)


def _left_by(hold: Hold, day: date) -> float:
    if hold.rule.water_use is None:
        return 1.0
    lost = 1.0 - float(hold.rule.water_use)
    start = hold.entry.day  # what was done or met, also where another rule has taken the hold over since
    if hold.end is not None:
        length = max(1, (hold.end - start).days)
        return 1.0 - lost * (1 - (day - start).days / length)
    length = max(1, (hold.minimum - start).days)
    return 1.0 - lost * (1 - 0.5 * min(1.0, (day - start).days / length))
