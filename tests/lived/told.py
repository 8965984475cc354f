"""What a grower is told on one morning, as plain values that know nothing of how it was worked out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class ToldFeed:
    """One feed of one tree, for today or for a day to come.

    due: the day the interval asked for it, the same however often it is told again. ppm: [mg N/L].
    """

    tree: str
    day: date
    due: date
    ppm: Decimal
    product: str | None


@dataclass(frozen=True, slots=True)
class PastFeed:
    """What the plan says became of a feed on a day that is over. ppm: [mg N/L]; given: it counts as poured."""

    day: date
    ppm: Decimal
    product: str | None
    given: bool


@dataclass(frozen=True, slots=True)
class Care:
    """What holds for a tree's liquid feed this morning.

    every_days, least_gap_days: None while no feeding period is open. budget: [mg N per L of pot] for the season.
    solids: nitrogen that solid feed is counted to give in the season, used: what was given so far, liquid and solid
    [mg N per L of pot].
    """

    group: str
    every_days: int | None
    least_gap_days: int | None
    budget: Decimal
    solids: Decimal
    used: Decimal


@dataclass(frozen=True, slots=True)
class Awaited:
    """A sign that a hold still waits for. opened: the hold's first day."""

    tree: str
    opened: date
    sign: str


@dataclass(frozen=True, slots=True)
class Why:
    """One reason why a tree is not fed today. rule: a short stable word; text: the sentence."""

    rule: str
    text: str


Event = tuple[object, ...]
"""All that a calendar shows of one event, its day first."""


@dataclass(frozen=True, slots=True)
class Told:
    """The plan as of one morning.

    today: the feeds to pour. past, ahead: those before and after today, by tree, in order of day.
    events: what the calendar holds from today on, by an identity that begins with its kind ("feed/..."); mixed: the
    mixes given on days before today likewise.
    withheld: for every tree that stands beside one that is fed, and every tree asked about, why it gets nothing.
    stages: the stages of this season by tree, each with its day, None while awaited. share: poured, of a pot's volume.
    """

    day: date
    today: tuple[ToldFeed, ...]
    past: Mapping[str, tuple[PastFeed, ...]]
    ahead: Mapping[str, tuple[ToldFeed, ...]]
    events: Mapping[str, Event]
    mixed: Mapping[str, Event]
    care: Mapping[str, Care]
    withheld: Mapping[str, tuple[Why, ...]]
    awaited: tuple[Awaited, ...]
    stages: Mapping[str, Mapping[str, date | None]]
    share: Decimal

    @property
    def trees(self) -> tuple[str, ...]:
        """The trees that are here today."""
        return tuple(self.care)

    def fed_today(self, tree: str) -> ToldFeed | None:
        """What a tree gets today."""
        return next((feed for feed in self.today if feed.tree == tree), None)
