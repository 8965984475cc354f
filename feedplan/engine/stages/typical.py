"""The typical year of some trees: their kind's dates, with the grower's own over them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from feedplan.model.moment import DayOfYear
from feedplan.model.stage import Clock, StageCalendar


@dataclass(frozen=True, slots=True)
class TypicalYear:
    """The typical dates that apply to some trees, in the order of the year, and which of them move together.

    clock: what brings the stages where the weather is known. own: stages whose date is the grower's own. repeating: the
    calendar whose growth stops and starts again within a year, None where none does.
    """

    dates: tuple[tuple[str, DayOfYear], ...]
    spring: frozenset[str]
    calendar: StageCalendar
    clock: Clock = field(default_factory=dict)
    own: Mapping[str, DayOfYear] = field(default_factory=dict)
    repeating: StageCalendar | None = None

    @property
    def repeated(self) -> tuple[str, ...]:
        """The stages of that calendar: growth, then its stop."""
        return () if self.repeating is None else tuple(stage for stage, _ in self.repeating.dates)


def typical_year(
    calendar: StageCalendar, fallbacks: Sequence[StageCalendar], own_dates: Mapping[str, DayOfYear]
) -> TypicalYear:
    """A species' calendar with the grower's own dates over it, and for stages it lacks those of the first fallback
    that has them.
    """
    first, *others = fallbacks
    dates = {**dict(first.dates), **dict(calendar.dates)}  # in the order of the year, as the fallback has it
    clock = {stage: rule for stage, rule in first.clock.items() if stage not in dict(calendar.dates)}
    clock.update(calendar.clock)
    for each in others:
        clock.update({stage: rule for stage, rule in each.clock.items() if stage not in dates})
        dates.update({stage: day for stage, day in each.dates if stage not in dates})
    spring = calendar.spring.union(*(each.spring for each in fallbacks))
    repeating = next((each for each in (calendar, *fallbacks) if each.repeats), None)
    typical = tuple({**dates, **own_dates}.items())
    return TypicalYear(typical, spring, calendar, clock, dict(own_dates), repeating)
