"""What the weather of a day puts in the way of a liquid feed. A gate only defers: no ramp, and nothing is made up for.

Days on record count, observed and forecast alike, so that what the forecast put off stays put off once the day is
past. Normal days gate nothing: the mean of many years has no showers. Missing weather never adds a feed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from feedplan.engine.benches import bench_on
from feedplan.engine.growing_year import DAY
from feedplan.model.climate import Climate, ClimateDay, Standing
from feedplan.model.collection import Collection, Tree
from feedplan.model.journal import Entry
from feedplan.model.season import Reason, Rule


@dataclass(frozen=True, slots=True)
class Gates:
    """The weather's say in one timeline's feeds.

    climate: as of today, None without any. under_cover: no rain reaches the trees. heavy_rain_mm: a day with so much
    rain puts a liquid feed off [mm].
    """

    climate: Climate | None = None
    under_cover: bool = False
    heavy_rain_mm: Decimal = Decimal(10)

    def on_record(self, day: date) -> ClimateDay | None:
        """A day's weather if it was observed or is forecast."""
        found = self.climate.weather_on(day) if self.climate is not None else None
        return None if found is None or found.standing is Standing.NORMAL else found


NO_WEATHER = Gates()
"""Nothing is known of the weather, so nothing is put off."""


def gates_of(
    trees: Sequence[Tree],
    entries: Sequence[Entry],
    group: str,
    collection: Collection,
    climate: Climate | None,
) -> Gates:
    """The gates of trees that share a course and stand in a group; rain counts as long as it reaches one of them."""
    if climate is None:
        return NO_WEATHER
    today = climate.today or date.max
    sheltered = all(bench_on(tree, group, entries, collection, today).under_cover for tree in trees)
    return Gates(climate, sheltered, collection.habits.heavy_rain_mm)


def standing_gates(gates: Gates, day: date) -> tuple[Reason, ...]:
    """Every gate that is shut on a day; empty when the weather has nothing against a feed."""
    return tuple(_rain(gates, day))


def _rain(gates: Gates, day: date) -> Iterator[Reason]:
    """Heavy rain washes a feed out of the pot and into the ground."""
    weather = gates.on_record(day)
    if weather is None or gates.under_cover or weather.rain_mm is None:
        return
    if weather.rain_mm >= gates.heavy_rain_mm:
        word = "forecast" if weather.standing is Standing.FORECAST else "fell"
        text = f"{weather.rain_mm:.0f} mm of rain {word}: it would wash the feed out; checks go on"
        yield Reason(Rule.RAIN, text, weather.source, value=f"{weather.rain_mm:g} mm", until=day + DAY)
