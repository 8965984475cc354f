"""What was told stays told: the feeds a plan has asked for, and what became of each.

A feed asked for on a day that is over is settled once. What was asked stays as it was; an entry of the journal about
that very feed may still say what became of it. Everything that comes after counts from here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import StrEnum

from feedplan.dose.grade import Ratio
from feedplan.model.reason import Reason


class Outcome(StrEnum):
    """What became of a feed that was asked for."""

    ASKED = "asked"
    GIVEN = "given"
    OTHERWISE = "given otherwise"
    NOT_GIVEN = "not given"
    TAKEN = "taken as given"
    MISSED = "missed"


@dataclass(frozen=True, slots=True)
class ToldFeed:
    """A liquid feed of one tree as it was asked for, or as it was recorded where none was asked for.

    told: the day it was asked for; due: when the interval asked for it; counts_from: the day the next interval counts
    from. ordinal: its number in the season. feed: the product, None when none was named; ratio: then what was to be
    mixed. ppm: strength asked for after every ramp, cap and trim, plan_ppm: before them [mg N/L]; share:
    ramp share [0-1]. unrecorded: what it counts as while no entry is about it; ASKED while its day is not over. extra:
    no plan asked for it; an entry alone says so. reasons: what moved or weakened it, as it was told.
    """

    told: date
    due: date
    counts_from: date
    season: int
    ordinal: int
    period: str
    group: str
    feed: str | None
    ratio: Ratio | None
    ppm: Decimal
    plan_ppm: Decimal
    share: Decimal
    unrecorded: Outcome
    extra: bool = False
    reasons: tuple[Reason, ...] = field(default=(), compare=False)


@dataclass(frozen=True, slots=True)
class TreeHistory:
    """The feeds of one tree in day order, settled or asked for as last told.

    asked_to: the last day for which the plan said what it asks for, None while nothing was ever told.
    """

    feeds: tuple[ToldFeed, ...] = ()
    asked_to: date | None = None


NOTHING_TOLD = TreeHistory()


@dataclass(frozen=True, slots=True)
class History:
    """What was told of every tree, by name. entry_ids: the journal's entries when it was last written."""

    trees: Mapping[str, TreeHistory] = field(default_factory=dict)
    entry_ids: tuple[str, ...] = ()

    def of(self, tree: str) -> TreeHistory:
        """What was told of one tree."""
        return self.trees.get(tree, NOTHING_TOLD)


NO_HISTORY = History()
"""Nothing was told yet, or nothing of it is on hand."""
