"""From thirst to how often to look: a ladder of rates, floors in leaf, and slowness in coming down.

Thirst is how many times a day a pot dries to its allowed depletion. A rate is the rarest at which the pot is looked at
before it gets there: every second day for one that lasts two days, twice a day for one that lasts half a day. Three
looks a day, in heat, are the most a grower makes. In winter shallow pots are looked at twice a week and deep ones once
(common practice, no source); the surer of the two is taken for all (judgement).
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from decimal import Decimal
from itertools import pairwise

from feedplan.model.schedule import CheckRate

LADDER = (
    CheckRate(Decimal(2), "twice a week"),
    CheckRate(Decimal(7) / 3, "every 3 days"),
    CheckRate(Decimal(7) / 2, "every 2 days"),
    CheckRate(Decimal(7), "once a day"),
    CheckRate(Decimal(14), "twice a day"),
    CheckRate(Decimal(21), "3 times a day"),
)
"""Rates from rarest to most frequent; a step is an index into it."""
TWICE_A_WEEK, EVERY_3_DAYS, EVERY_2_DAYS, DAILY, TWICE_A_DAY, MOST = range(6)

SLACK = 1.05
"""A twentieth more or less is within what the inputs can tell (judgement)."""
_THIRST_ABOVE = (SLACK / 4, SLACK / 3, SLACK / 2, SLACK, 2 * SLACK)

IN_LEAF = 0.6
IN_FULL_LEAF = 1.1
"""Shares of water use from which a tree counts as in leaf (leaves just open) and in full leaf (first flush hardened);
stages.yaml sets the shares."""

MARGIN = 1.15
CALM_DAYS = 7
"""A rate comes down only when thirst a seventh higher would allow it too, a week long (judgement): checks that stop
too early cost more than checks that go on."""


def step_for(thirst_per_day: float) -> int:
    """The step a thirst asks for."""
    return bisect_left(_THIRST_ABOVE, thirst_per_day)


def least_step(leaf: float, *, shallow: bool, weak: bool) -> int:
    """The step below which a tree is never looked at: in growth each shallow pot and each weak tree daily.

    In full leaf every pot daily and weak trees twice (common practice, no source): thirst ranks, it never skips.
    """
    if leaf >= IN_FULL_LEAF:
        return TWICE_A_DAY if weak else DAILY
    if leaf >= IN_LEAF:
        return DAILY if shallow or weak else EVERY_2_DAYS
    return TWICE_A_WEEK


def heat_step(usual: int, leaf: float, *, deep: bool) -> int:
    """The least step of a hot or windy day: one above the usual, in leaf two looks a day, one for a deep pot."""
    if leaf < IN_LEAF:
        return usual
    return min(MOST, max(usual + 1, DAILY if deep else TWICE_A_DAY))


def steady_steps(thirst: Sequence[float], floors: Sequence[int]) -> list[int]:
    """The step of each day: up at once, down only after a calm week each time, so that it does not flicker.

    A day is calm when even a thirst higher by the margin asks for less than the step in force.
    """
    steps: list[int] = []
    current = calm = highest = 0
    for each, floor in zip(thirst, floors, strict=True):
        asked = max(bisect_left(_THIRST_ABOVE, each), floor)
        if asked >= current or not steps:
            current, calm = asked, 0
        else:
            with_margin = max(step_for(each * MARGIN), floor)
            calm, highest = (calm + 1, max(with_margin, highest)) if with_margin < current else (0, 0)
            if calm == CALM_DAYS:
                current, calm, highest = highest, 0, 0
        steps.append(current)
    return steps


def changes_in(steps: Sequence[int]) -> Iterable[int]:
    """The places where a run of equal steps begins."""
    return [0, *(place for place, (a, b) in enumerate(pairwise(steps), start=1) if a != b)]
