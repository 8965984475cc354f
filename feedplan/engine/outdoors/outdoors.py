"""The weather of one pass, as gates, holds and alerts ask for it: each thing worked out once.

Whether root zones are warm enough to feed goes by the air, which stands in for them, or by what was measured. A run of
warm days opens, a run of cold ones closes again; a single odd day changes nothing. A measurement decides at once, and
runs of days count from it anew. Days of which nothing is known open nothing and close nothing.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

from feedplan.engine.growing_year import DAY
from feedplan.engine.holds.heat import Wave, heat_waves
from feedplan.engine.stages.courses import current
from feedplan.model.climate import Climate, ClimateDay
from feedplan.model.collection import Habits
from feedplan.model.hold import HeatBounds
from feedplan.model.journal import Entry, RootZone
from feedplan.model.source import BUILT_IN, Source


class Outdoors:
    """What the weather was, is and will be, as of today. climate: None without any. days: first and last."""

    def __init__(self, climate: Climate | None, habits: Habits, today: date, days: tuple[date, date]) -> None:
        self.climate = climate
        self.habits = habits
        self.today = today
        self._days = days
        self._root_zones: dict[tuple[float, tuple[str, ...]], RootZoneCourse] = {}
        self._waves: dict[HeatBounds, tuple[Wave, ...]] = {}

    @cached_property
    def is_stale(self) -> bool:
        """Whether the record's last observation is too old for its forecast to count."""
        return self.climate is not None and self.climate.is_stale

    @cached_property
    def on_record(self) -> Callable[[date], ClimateDay | None]:
        """A look-up of days observed or forecast; a stale forecast is left out."""
        return (lambda day: None) if self.climate is None else current(self.climate)

    @cached_property
    def record(self) -> tuple[ClimateDay, ...]:
        """Every day on record, in order."""
        days = () if self.climate is None else sorted(self.climate.days)
        return tuple(found for day in days if (found := self.on_record(day)) is not None)

    def expected(self, day: date) -> ClimateDay | None:
        """A day on record, else the normal one: what is not known of a day falls back to what is usual."""
        found = self.on_record(day)
        if found is None and self.climate is not None and self.climate.normals is not None:
            return self.climate.normals.on(day)
        return found

    def root_zone(self, least_c: float, measured: Mapping[date, Entry]) -> RootZoneCourse:
        """The states of a root zone that is to have at least a temperature [°C]. measured: entries by day."""
        key = (least_c, tuple(entry.id for entry in measured.values()))
        if key not in self._root_zones:
            proxy = Proxy(float(self.habits.root_zone_air_c), self.habits.warm_days)
            weather_on = None if self.climate is None else self.expected
            self._root_zones[key] = root_zone_course(least_c, measured, weather_on, self._days, proxy)
        return self._root_zones[key]

    def waves(self, bounds: HeatBounds) -> tuple[Wave, ...]:
        """The heat waves on record by some bounds."""
        if bounds not in self._waves:
            self._waves[bounds] = heat_waves(self.record, bounds)
        return self._waves[bounds]


MEASURED_COUNTS_FOR = timedelta(days=7)
"""Without any weather a measurement says nothing after this long; it is time to measure again. Judgement."""


@dataclass(frozen=True, slots=True)
class Proxy:
    """How the air stands in for the root zone.

    over_root_zone_c: the mean of a day must lie so much above what the root zone is asked for [°C]. days: so many
    days running. 10 °C on three days for a root zone of 8 °C is common practice, no source.
    """

    over_root_zone_c: float = 2.0
    days: int = 3


@dataclass(frozen=True, slots=True)
class State:
    """From a day on: whether the root zone is warm enough. entry: the measurement that says so, None for the air."""

    start: date
    is_warm: bool
    entry: Entry | None = None
    measured_c: float | None = None
    source: Source = BUILT_IN


@dataclass(frozen=True, slots=True)
class RootZoneCourse:
    """The states of a root zone in day order; before the first nothing is known, and nothing is held back."""

    states: tuple[State, ...]
    starts: tuple[date, ...]

    def on(self, day: date) -> State | None:
        """The state on a day, None while nothing is known."""
        at = bisect_right(self.starts, day)
        return self.states[at - 1] if at else None

    def warm_again(self, day: date) -> date | None:
        """The first day after a day on which it is warm enough; None when that is not in sight."""
        return next((state.start for state in self.states if state.start > day and state.is_warm), None)


def root_zone_course(
    least_c: float,
    measured: Mapping[date, Entry],
    weather_on: Callable[[date], ClimateDay | None] | None,
    days: tuple[date, date],
    proxy: Proxy,
) -> RootZoneCourse:
    """The states of a root zone that is to have at least a temperature, between two days.

    least_c: asked of the root zone [°C]. measured: entries by day. weather_on: None without any weather.
    """
    states: list[State] = []
    run = 0  # days running that speak against the state
    day, last = min([days[0], *measured]), days[1]
    while day <= last:
        weather = None if weather_on is None else weather_on(day)
        if day in measured:
            states.append(_measured(day, measured[day], least_c))
            run = 0
        elif weather is None:
            run = 0
            if weather_on is None and states and day == states[-1].start + MEASURED_COUNTS_FOR:
                states.append(State(day, is_warm=True))
        else:
            is_warm = weather.tmean_c >= least_c + proxy.over_root_zone_c
            run = run + 1 if states and states[-1].is_warm != is_warm else 0
            if not states or run >= proxy.days:
                states.append(State(day, is_warm, source=weather.source))
                run = 0
        day += DAY
    return RootZoneCourse(tuple(states), tuple(state.start for state in states))


def measured_in(entries: Iterable[Entry]) -> dict[date, Entry]:
    """The root-zone measurements among some entries, by day; the last of a day counts."""
    return {entry.day: entry for entry in entries if isinstance(entry.fact, RootZone)}


def _measured(day: date, entry: Entry, least_c: float) -> State:
    assert isinstance(entry.fact, RootZone)
    measured_c = float(entry.fact.temp_c)
    return State(day, measured_c >= least_c, entry, measured_c, entry.source)
