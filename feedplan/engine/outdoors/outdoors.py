"""The weather of one pass, as gates, holds and alerts ask for it: each thing worked out once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from functools import cached_property

from feedplan.engine.holds.heat import Wave, heat_waves
from feedplan.engine.outdoors.root_zone import Proxy, RootZoneCourse, root_zone_course
from feedplan.engine.stages.courses import current
from feedplan.model.climate import Climate, ClimateDay
from feedplan.model.collection import Habits
from feedplan.model.hold import HeatBounds
from feedplan.model.journal import Entry


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
