"""Rules for holds: what root work, damage or arrival stops, for how long, and what must be seen to end it."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from feedplan.model.moment import DayOfYear
from feedplan.model.source import BUILT_IN, Source


class Action(StrEnum):
    """What a hold can stop. A water check is not among them: nothing ever stops a check."""

    LIQUID = "liquid feed"
    SOLID = "solid feed"
    FOLIAR = "foliar feed"
    PRUNING = "pruning"
    WIRING = "wiring"
    REPOTTING = "repotting"
    FULL_SUN = "full sun"


class CauseKind(StrEnum):
    """The journal key a cause is written under; a sign seen of a tree that is not well is one too."""

    WORK = "work"
    TROUBLE = "trouble"
    ARRIVED = "arrived"
    SEEN = "seen"


class Heavier(StrEnum):
    """Why root work counts a band heavier than the share of roots alone says; each adds one band."""

    BARE_ROOTED = "bare_rooted"
    ITS_KIND = "its_kind"
    OUT_OF_SEASON = "out_of_season"


@dataclass(frozen=True, slots=True)
class Need:
    """A sign that must be seen, so many times on different days, before a hold can end."""

    sign: str
    times: int = 1


@dataclass(frozen=True, slots=True)
class SignLeft:
    """A sign still to be seen. times: on so many days in all; seen: on so many so far."""

    sign: str
    times: int = 1
    seen: int = 0

    @property
    def is_last(self) -> bool:
        """Whether it is to be seen but once."""
        return self.times - self.seen == 1


@dataclass(frozen=True, slots=True)
class HeatBounds:
    """When the weather itself is a heat wave.

    hot_from_c: two days running with a maximum from here on open it [°C]. over_below_c: it ends with as many days
    running below this as over_days says [°C, days].
    """

    hot_from_c: float = 32.0
    over_below_c: float = 28.0
    over_days: int = 2


@dataclass(frozen=True, slots=True)
class HoldRule:
    """What one cause of one severity holds back.

    name: the rule ("repotted, moderate"). cause: the journal word that opens it; roots_from and roots_below:
    share of roots removed [0-1] for which it applies, None where the share does not matter; band: order among
    the rules of one cause, gentlest 0. stops: actions held. min_days: shortest length [days]. needs: signs
    that must all be seen. instead: signs that, all seen, release the hold at next season's `release_stage`.
    ramp: shares of the plan for the feeds after it; ramp_step_days: least time between them [days].
    cap_share, cap_ppm: ceilings for the season of release. feed_every_days: least interval for that season.
    last_feed: no feed after this day in that season. reviews_days: days after the start on which to look;
    review_every_days: afterwards, until answered; carry_days: when looks ask whether to put it off to next spring.
    turns_into: the rule that takes over where no sign was seen `turns_days` after the start.
    heat: the weather opens and ends it too, by these bounds.
    water_surface_dry: let the surface dry between waterings. do: what else to do, one instruction each.
    carries_mg_n_per_l: N in coated feed such a tree is taken to bring along until told otherwise [mg per L].
    bands_up: how many bands root work counts heavier on a tree so held.
    water_use: what is left of its thirst on the first day held [share of the usual], None when that does not change.
    """

    name: str
    kind: CauseKind
    cause: str
    stops: frozenset[Action]
    min_days: int
    needs: tuple[Need, ...] = ()
    instead: tuple[Need, ...] = ()
    release_stage: str | None = None
    roots_from: Decimal | None = None
    roots_below: Decimal | None = None
    band: int = 0
    ramp: tuple[Decimal, ...] = (Decimal(1),)
    ramp_step_days: int = 10
    cap_share: Decimal | None = None
    cap_ppm: Decimal | None = None
    feed_every_days: int | None = None
    last_feed: DayOfYear | None = None
    reviews_days: tuple[int, ...] = ()
    review_every_days: int = 14
    carry_days: int | None = None
    turns_into: str | None = None
    turns_days: int | None = None
    water_surface_dry: bool = False
    do: tuple[str, ...] = ()
    source: Source = BUILT_IN
    heat: HeatBounds | None = None
    carries_mg_n_per_l: Decimal | None = None
    water_use: Decimal | None = None
    bands_up: int = 0
