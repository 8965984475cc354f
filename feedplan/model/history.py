"""What was told stays told: the feeds a plan has asked for, and what became of each.

A feed asked for on a day that is over is settled once. What was asked stays as it was; an entry of the journal about
that very feed may still say what became of it. Everything that comes after counts from here.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum

from feedplan.dose.grade import Ratio
from feedplan.model.reason import Reason

_DAY = timedelta(days=1)


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
    no plan asked for it; an entry alone says so. reasons: what moved or weakened it, as it was told. lineage: of the
    timeline that told it, which its mix is named by for ever; empty where that is not known.
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
    lineage: str = field(default="", compare=False)
    reasons: tuple[Reason, ...] = field(default=(), compare=False)


@dataclass(frozen=True, slots=True)
class ToldLaying:
    """A laying of solid feed on one tree's pot as it was asked for, or as it was recorded where none was asked for.

    told, due, group, feed, unrecorded, extra, lineage, reasons: as of a feed. season, period, number: which laying of
    which solid period it is. grams_per_l: product [g per L of container]; gives: all its N [mg per L of container].
    lift_on: when what is left comes off.
    """

    told: date
    due: date
    season: int
    period: str
    number: int
    group: str
    feed: str
    grams_per_l: Decimal
    gives: Decimal
    lift_on: date
    unrecorded: Outcome
    extra: bool = False
    lineage: str = field(default="", compare=False)
    reasons: tuple[Reason, ...] = field(default=(), compare=False)


@dataclass(frozen=True, slots=True)
class TreeHistory:
    """The feeds and layings of one tree in day order, settled or asked for as last told.

    asked_to: the last day for which the plan said what it asks for, None while nothing was ever told; laid_to: the same
    of layings. in_step: for a tree that came to others, the day from which their intervals counted then, so that it is
    fed along with them.
    """

    feeds: tuple[ToldFeed, ...] = ()
    asked_to: date | None = None
    in_step: date | None = None
    layings: tuple[ToldLaying, ...] = ()
    laid_to: date | None = None

    def says_the_same(self, other: TreeHistory) -> bool:
        """Whether another is equal in every word: the reasons told and what each was named by too."""
        return self == other and self._unsaid == other._unsaid

    @property
    def _unsaid(self) -> list[tuple[str, tuple[Reason, ...]]]:
        """What makes no difference between two histories."""
        return [
            *((feed.lineage, feed.reasons) for feed in self.feeds),
            *((laying.lineage, laying.reasons) for laying in self.layings),
        ]

    def in_groups(self, known: Container[str], its_own: str) -> TreeHistory:
        """The same, what was told of a group that goes by another name now, or is no more, told of the tree's own."""
        if all(f.group in known for f in self.feeds) and all(each.group in known for each in self.layings):
            return self
        feeds = tuple(f if f.group in known else replace(f, group=its_own) for f in self.feeds)
        layings = tuple(
            each if each.group in known else replace(each, group=its_own) for each in self.layings
        )
        return replace(self, feeds=feeds, layings=layings)

    def before(self, day: date) -> TreeHistory:
        """What of it is known when all from a day on is lost."""
        if day == date.min:
            return TreeHistory(in_step=self.in_step)
        ends = [None if end is None else min(end, day - _DAY) for end in (self.asked_to, self.laid_to)]
        feeds = tuple(feed for feed in self.feeds if feed.told < day)
        layings = tuple(laying for laying in self.layings if laying.told < day)
        return TreeHistory(feeds, ends[0], self.in_step, layings, ends[1])


NOTHING_TOLD = TreeHistory()


@dataclass(frozen=True, slots=True)
class History:
    """What was told of every tree, by name, and what may not be known from the files of a later day.

    entry_ids: the journal's entries when it was last written. told_on: the day of the last plan that was remembered,
    None where none was; fed_then: the trees it, or an earlier one of that day, asked to feed then. cans: the can mixed
    in, each from a day on, in day order [L].
    """

    trees: Mapping[str, TreeHistory] = field(default_factory=dict)
    entry_ids: tuple[str, ...] = ()
    told_on: date | None = None
    fed_then: frozenset[str] = frozenset()
    cans: tuple[tuple[date, Decimal], ...] = ()

    def of(self, tree: str, today: date, beside: TreeHistory) -> TreeHistory:
        """What was told of one tree. One that is new in the files has no past: nobody was told to feed it.

        beside: what was told of the trees it stands with.
        """
        known = self.trees.get(tree)
        if known is not None or self.told_on is None:
            return known or NOTHING_TOLD
        counts_from = [feed.counts_from for feed in beside.feeds if feed.told < today]
        yesterday = today - _DAY
        in_step = counts_from[-1] if counts_from else beside.in_step
        return TreeHistory(asked_to=yesterday, in_step=in_step, laid_to=yesterday)

    def is_open(self, tree: str, today: date) -> bool:
        """Whether a tree may be asked to be fed today: a day that was told without it stays so, since nobody hears."""
        return self.told_on != today or tree in self.fed_then

    def asked(self, trees: Iterable[str], today: date) -> frozenset[str]:
        """Who was asked to be fed today by any plan so far. trees: by the last one."""
        return frozenset(trees) | (self.fed_then if self.told_on == today else frozenset())

    def can_on(self, day: date) -> Decimal:
        """The can mixed in on a day, the first that is known for the days before it [L]."""
        return next((can for first, can in reversed(self.cans) if first <= day), self.cans[0][1])

    def with_can(self, today: date, litres: Decimal) -> History:
        """The same with the can of today; what was mixed in another stays as it was."""
        if self.cans and self.cans[-1][1] == litres:
            return self
        before = tuple(pair for pair in self.cans if pair[0] < today)
        return replace(self, cans=(*before, (today, litres)))


NO_HISTORY = History()
"""Nothing was told yet, or nothing of it is on hand."""
