"""Moments of a tree's year: a calendar day, a growth stage with an offset, or the first or last of several."""

from __future__ import annotations

import calendar
from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class Hemisphere(StrEnum):
    """Which half of the globe a date was written for."""

    NORTH = "north"
    SOUTH = "south"


@dataclass(frozen=True, slots=True)
class DayOfYear:
    """A day and month without a year, such as 15 August. month: 1-12; day: 1-31 (29 February is allowed)."""

    month: int
    day: int

    def in_year(self, year: int) -> date:
        """That day in a year; 29 February becomes 28 February in a common year, by stated policy."""
        if self.day <= 28:
            return date(year, self.month, self.day)
        last = calendar.monthrange(year, self.month)[1]
        return date(year, self.month, min(self.day, last))

    def turned(self) -> DayOfYear:
        """The same point of the other hemisphere's year: six months on, a month's last day staying the last.

        15 August becomes 15 February and 30 September becomes 31 March: half-years, never 182 days.
        """
        month = (self.month + 5) % 12 + 1
        was_last = self.day >= calendar.monthrange(2023, self.month)[1]
        last_there = calendar.monthrange(2024, month)[1]
        return DayOfYear(month, last_there if was_last else min(self.day, last_there))


@dataclass(frozen=True, slots=True)
class DaysOfYear:
    """The days from one day of the year to another, both among them, every year; over New Year if that comes first."""

    first: DayOfYear
    last: DayOfYear

    def begun_in(self, year: int) -> tuple[date, date]:
        """Their first and last day, where the first lies in a year."""
        first, last = self.first.in_year(year), self.last.in_year(year)
        return first, last if first <= last else self.last.in_year(year + 1)

    def holds(self, day: date) -> bool:
        """Whether a day is one of them."""
        begun = (self.begun_in(year) for year in (day.year - 1, day.year))
        return any(first <= day <= last for first, last in begun)


@dataclass(frozen=True, slots=True)
class AtStage:
    """The day a growth stage is reached, plus an offset.

    offset_days: may be negative [days]. seen_only: a typical or predicted date does not count; it must be seen.
    """

    stage: str
    offset_days: int = 0
    seen_only: bool = False


@dataclass(frozen=True, slots=True)
class FirstOf:
    """Whichever of the moments comes first ("30 September or leaves colouring")."""

    moments: tuple[Moment, ...]


@dataclass(frozen=True, slots=True)
class LastOf:
    """When all of the moments have come ("needles hardened and 20 August")."""

    moments: tuple[Moment, ...]


Moment = DayOfYear | AtStage | FirstOf | LastOf


def turn_moment(moment: Moment) -> Moment:
    """The moment with every calendar day in it turned to the other hemisphere; stages stay as they are."""
    match moment:
        case DayOfYear():
            return moment.turned()
        case AtStage():
            return moment
        case FirstOf(moments):
            return FirstOf(tuple(map(turn_moment, moments)))
        case LastOf(moments):
            return LastOf(tuple(map(turn_moment, moments)))


def stages_named(moment: Moment) -> tuple[str, ...]:
    """The stage words that a moment speaks of, in order of writing."""
    match moment:
        case DayOfYear():
            return ()
        case AtStage(stage):
            return (stage,)
        case FirstOf(moments) | LastOf(moments):
            return tuple(word for inner in moments for word in stages_named(inner))
