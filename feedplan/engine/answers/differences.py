"""What a difference between two plans is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from feedplan.model.reason import Reason, Rule


class Change(StrEnum):
    """What happened to an event from one plan to the other."""

    MOVED = "moved"
    WEAKENED = "weakened"
    STRENGTHENED = "strengthened"
    LESS_OFTEN = "less often"
    MORE_OFTEN = "more often"
    APPEARED = "appeared"
    WENT = "went"
    REWORDED = "reworded"


class EventKind(StrEnum):
    """Which kind of event differs, as it is told."""

    FEED = "feed"
    STAGE = "stage"
    HOLD = "hold"
    FIRST_CHECK = "first_check"
    SECOND_CHECK = "second_check"
    THIRD_CHECK = "third_check"
    LOOK_AFTER = "look_after"
    LOOK_FOR = "look_for"
    FROST = "frost"
    FROSTED = "frosted"
    HEAT = "heat"
    HOT_ROOTS = "hot_roots"
    WIND = "wind"
    STALE = "weather_record"
    SIGHTING = "sighting"
    BALLS_FROZEN = "balls_frozen"
    LAY = "lay"
    LIFT = "lift"
    FLUSH = "flush"
    TITLED = "titled"


@dataclass(frozen=True, slots=True)
class Event:
    """One event of a plan. name: its group, stage, rule or title. start: of a hold."""

    kind: EventKind
    name: str = ""
    start: date | None = None


@dataclass(frozen=True, slots=True)
class Difference:
    """One event that is not the same in both plans.

    what: "feed", "stage", "hold", or another kind of event. event: which one. group: empty when it belongs to none.
    trees: whom it is about, by name. before, after: its day in each plan, None where it is not there. ppm: its
    strength in each [mg N/L]. reasons: why, never empty.
    """

    change: Change
    what: str
    event: Event
    group: str
    trees: tuple[str, ...]
    before: date | None
    after: date | None
    ppm_before: Decimal | None = None
    ppm_after: Decimal | None = None
    reasons: tuple[Reason, ...] = ()

    @property
    def day(self) -> date:
        """The day to sort by: the earlier of the two."""
        return min(day for day in (self.before, self.after) if day is not None)


def told_in_short(found: Sequence[Difference]) -> list[tuple[Difference, int]]:
    """The differences without those that only follow one before them, each with how many follow it.

    One hold may move a whole summer's feeds, and one answer every later look at a tree: the first of them says it all.
    """
    leading: list[Difference] = []
    following: list[int] = []
    last: dict[tuple[object, ...], int] = {}
    for each in found:
        key = (each.what, each.trees, each.event)
        if key in last and _follows(each, leading[last[key]]):
            following[last[key]] += 1
            continue
        last[key] = len(leading)
        leading.append(each)
        following.append(0)
    return list(zip(leading, following, strict=True))


def _follows(each: Difference, leading: Difference) -> bool:
    """Whether a difference only follows another of the same trees: a later look, a feed moved for the same reasons.

    Of water checks, those that come or go for the reasons of the first.
    """
    said = {reason.fact for reason in leading.reasons}
    if each.what == "check":
        is_whole = each.change in (Change.WENT, Change.APPEARED)
        return is_whole and each.change is leading.change and {r.fact for r in each.reasons} == said
    if each.what != "feed":
        return each.what == "look"
    own = {reason.fact for reason in each.reasons if reason.rule is not Rule.INTERVAL}
    return own <= said and (each.change is leading.change or not own)
