"""What one timeline meets in its course: stages, holds, feeding windows, feeds liquid and solid."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from feedplan.dose.grade import Ratio
from feedplan.model.history import Outcome, ToldLaying
from feedplan.model.hold import CauseKind, Heavier, HoldRule, Need, SignLeft
from feedplan.model.journal import Entry
from feedplan.model.reason import Reason
from feedplan.model.schedule import FeedingPeriod, Schedule
from feedplan.model.source import BUILT_IN, Source
from feedplan.model.stage import Basis, GiveOrTake, Origin


@dataclass(frozen=True, slots=True)
class StageDate:
    """When a tree reaches a stage in one season.

    day: None while awaited (an earlier stage was seen after the typical date). known: first day on which the
    plan could use it. entry: the journal entry, when seen or when it made the stage awaited. typical: the prior.
    early, late: the 10 and 90 % points of a predicted date, None for the others. basis: what it rests on.
    proved: for one that was not seen, the day from which a later stage that was seen says that it had come.
    """

    stage: str
    day: date | None
    origin: Origin
    known: date
    typical: date
    entry: Entry | None = None
    source: Source = BUILT_IN
    early: date | None = None
    late: date | None = None
    basis: Basis | GiveOrTake | None = None
    proved: date | None = None


@dataclass(frozen=True, slots=True)
class NeedMet:
    """One sign a hold asks for, on how many days it was seen, and the entry that answered it, None while open."""

    need: Need
    seen: int
    entry: Entry | None

    @property
    def left(self) -> SignLeft:
        """What of it is still to be seen."""
        return SignLeft(self.need.sign, self.need.times, self.seen)


@dataclass(frozen=True, slots=True)
class Hold:
    """A hold on one timeline.

    start: first day held. minimum: earliest end. end: first day free, None while a sign is missing.
    reviews: days on which to look, while it is open. asks_from: from this day on they ask whether to put it off to
    next spring. put_off: the entry that did so; spring: the season whose signs count then.
    by_weather: the weather opened it, not the journal; its entry then only stands for the days on record.
    turned: the day a heavier rule takes it over, as no sign was seen by then; follows: the rule it took over itself.
    heavier: what made root work count in a heavier band than the share of roots says. out_of_season: it was.
    """

    rule: HoldRule
    entry: Entry
    start: date
    minimum: date
    needs: tuple[NeedMet, ...]
    end: date | None
    reviews: tuple[date, ...] = ()
    asks_from: date | None = None
    put_off: Entry | None = None
    spring: int | None = None
    by_weather: bool = False
    turned: date | None = None
    follows: HoldRule | None = None
    heavier: tuple[Heavier, ...] = ()
    out_of_season: bool = False

    @property
    def key(self) -> str:
        """Its identity: that of its entry, with the rule where one entry may open several holds."""
        is_only = self.follows is None and self.rule.kind is not CauseKind.SEEN
        return self.entry.id if is_only else f"{self.entry.id}/{self.rule.name}"

    @property
    def until(self) -> date | None:
        """The first day it does not cover any more, None while that is open."""
        return self.turned if self.end is None else self.end

    def covers(self, day: date) -> bool:
        """Whether the day lies inside the hold."""
        return self.start <= day and (self.until is None or day < self.until)

    @property
    def missing(self) -> tuple[NeedMet, ...]:
        """The signs still to be seen."""
        return tuple(met for met in self.needs if met.entry is None)


@dataclass(frozen=True, slots=True)
class Window:
    """A feeding period as it falls in one season: first and last day fed, both included."""

    period: FeedingPeriod
    schedule: Schedule
    season: int
    first: date
    last: date
    opened_by: tuple[StageDate, ...] = ()


@dataclass(frozen=True, slots=True)
class Waiting:
    """A period that cannot open in a season because a stage it starts from has no date yet, or was not seen.

    last: the last day it would be open.
    """

    period: FeedingPeriod
    schedule: Schedule
    season: int
    stages: tuple[str, ...]
    last: date


class Status(StrEnum):
    """What is known of one feed."""

    PLANNED = "planned"
    OVERDUE = "overdue"
    RECORDED = "recorded"
    ASSUMED = "assumed given"
    MISSED = "missed"
    NOT_GIVEN = "not given"

    @property
    def is_without_feed(self) -> bool:
        """Whether nothing reached the pot."""
        return self in (Status.MISSED, Status.NOT_GIVEN)


STATUS_OF = {
    Outcome.GIVEN: Status.RECORDED,
    Outcome.OTHERWISE: Status.RECORDED,
    Outcome.NOT_GIVEN: Status.NOT_GIVEN,
    Outcome.TAKEN: Status.ASSUMED,
    Outcome.MISSED: Status.MISSED,
}
"""What is known of a feed whose day is over, by what became of it."""


@dataclass(frozen=True, slots=True)
class FeedEvent:
    """One liquid feed of one timeline.

    day: when; due: when the interval asked for it. group, feed: names, feed None when the group names none; ratio:
    then what to mix from the shelf, if anything.
    ppm: strength after every ramp, cap and trim, as given where that is recorded [mg N/L]; plan_ppm: before them.
    share: ramp share [0-1]. ordinal: its number in the season, from 1. reasons: all that moved or weakened it.
    told: the day it was asked for; counts_from: the day the next interval counts from. asked_ppm, asked_feed: as asked
    for, whatever was given. part: of the usual pour [0-1]. offered_to: of an overdue feed, the last day it is offered.
    unrecorded: what it counts as while no entry is about it, ASKED while its day is not over.
    is_extra: no plan asked for it. lineage: of the timeline that told it first, empty while that is its own.
    """

    day: date
    due: date
    status: Status
    group: str
    feed: str | None
    ppm: Decimal
    plan_ppm: Decimal
    share: Decimal
    season: int
    ordinal: int
    period: str
    told: date
    counts_from: date
    asked_ppm: Decimal
    asked_feed: str | None
    reasons: tuple[Reason, ...] = ()
    entry: Entry | None = None
    ratio: Ratio | None = None
    part: Decimal = Decimal(1)
    offered_to: date | None = None
    unrecorded: Outcome = Outcome.ASKED
    is_extra: bool = False
    lineage: str = ""

    @property
    def product(self) -> str:
        """What was poured: the product by name, or else what was mixed; empty where neither is told."""
        return self.feed or (str(self.ratio) if self.ratio is not None else "")

    @property
    def asked_product(self) -> str:
        """The same of what was asked for."""
        return self.asked_feed or (str(self.ratio) if self.ratio is not None else "")

    @property
    def outcome(self) -> Outcome:
        """What became of it; as asked or otherwise where it was recorded."""
        if self.status is not Status.RECORDED:
            return next((each for each, status in STATUS_OF.items() if status is self.status), Outcome.ASKED)
        as_asked = self.ppm == self.asked_ppm and self.feed == self.asked_feed and self.part == 1
        return Outcome.GIVEN if as_asked else Outcome.OTHERWISE


@dataclass(frozen=True, slots=True)
class Dropped:
    """A feed that was due and is not given on that day. resumed: the day it moved to, None if it fell away."""

    due: date
    group: str
    resumed: date | None
    reasons: tuple[Reason, ...]

    @property
    def is_held_down(self) -> bool:
        """Whether it is too weak to be worth a can, since nothing at hand makes more of it."""
        return any(reason.holds_down for reason in self.reasons)


@dataclass(frozen=True, slots=True)
class Stay:
    """A stretch of time a timeline spends in one group. end: first day no longer there, None while it lasts."""

    group: str
    start: date
    end: date | None


@dataclass(frozen=True, slots=True)
class Solid:
    """Nitrogen from one solid feed on or in the pot, in one season.

    feed: its name, None for what a new tree is taken to bring along. status: planned, recorded or taken as given.
    laid, lifted: first day it lies there and first day it no longer does, None while it stays till it is spent.
    mg_n_per_l: for the season, as known today [mg per L of container]; counts: the same with each day from which it
    was known, oldest first. course: what it has given in the season by some days, straight lines between.
    spent: the earliest and the latest day on which nothing is left of it, None where its label gives no time.
    """

    entry: Entry | None
    feed: str | None
    mg_n_per_l: Decimal
    season: int
    status: Status
    laid: date
    lifted: date | None
    counts: tuple[tuple[date, Decimal], ...]
    course: tuple[tuple[date, Decimal], ...]
    spent: tuple[date, date] | None
    mixed_in: bool = False
    source: Source = BUILT_IN

    def given_by(self, day: date) -> Decimal:
        """What it has given in the season by a day, as known today [mg per L of container]."""
        before = [point for point in self.course if point[0] <= day]
        after = [point for point in self.course if point[0] > day]
        if not before or not after:
            return before[-1][1] if before else Decimal(0)
        (start, low), (end, high) = before[-1], after[0]
        return low + (high - low) * ((day - start).days) / (end - start).days


class Act(StrEnum):
    """What is done with a solid feed."""

    LAY = "lay"
    LIFT = "lift"


@dataclass(frozen=True, slots=True)
class SolidEvent:
    """One laying or lifting of solid feed on one timeline.

    key: its identity within the timeline. day, due: as of a FeedEvent. grams_per_l: product [g per L of container].
    mg_n_per_l: what it gives in all [mg N per L of container]. lift_on: for a laying, when the plan takes it off.
    asked: for a laying of a period, what is remembered of it.
    """

    key: str
    act: Act
    day: date
    due: date
    status: Status
    group: str
    feed: str
    grams_per_l: Decimal
    mg_n_per_l: Decimal
    season: int
    period: str
    lift_on: date | None = None
    reasons: tuple[Reason, ...] = ()
    entry: Entry | None = None
    asked: ToldLaying | None = None

    @property
    def outcome(self) -> Outcome:
        """What became of a laying."""
        return next((each for each, status in STATUS_OF.items() if status is self.status), Outcome.ASKED)
