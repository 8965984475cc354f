"""What the weather puts in the way of a liquid feed. A gate only defers: no ramp, and nothing is made up for.

Days on record count, observed and forecast alike, so that what the forecast put off stays put off once the day is
past. Normal days bring no shower and no heat: they are the mean of many years. A stale forecast counts for nothing, and
missing weather never adds a feed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

from feedplan.engine.growing_year import DAY
from feedplan.engine.outdoors.benches import bench_on
from feedplan.engine.outdoors.outdoors import Outdoors
from feedplan.engine.outdoors.root_zone import measured_in
from feedplan.model.climate import ClimateDay
from feedplan.model.collection import Collection, Tree
from feedplan.model.journal import Entry
from feedplan.model.reason import ColdRootZone, HeavyRain, HotAir, Reason, Rule, WarmAgain
from feedplan.model.schedule import FeedingPeriod


@dataclass(frozen=True, slots=True)
class Gates:
    """The weather's say in one timeline's feeds.

    outdoors: the weather of the pass, None when nothing is to be asked of it. under_cover: no rain reaches the trees.
    indoors: nor does heat. heavy_rain_mm: a day with so much rain puts a liquid feed off [mm]. measured: root-zone
    temperatures from the journal, by day. period_on: the feeding period open on a day, which says how warm the root
    zone and how cool the air must be.
    """

    outdoors: Outdoors | None = None
    under_cover: bool = False
    indoors: bool = False
    heavy_rain_mm: Decimal = Decimal(10)
    measured: Mapping[date, Entry] = field(default_factory=dict)
    period_on: Callable[[date], FeedingPeriod | None] = lambda day: None

    def on_record(self, day: date) -> ClimateDay | None:
        """A day's weather if it was observed or is forecast."""
        return None if self.outdoors is None else self.outdoors.on_record(day)


NO_WEATHER = Gates()
"""Nothing is known of the weather, so nothing is put off."""


def gates_of(
    trees: Sequence[Tree],
    entries: Sequence[Entry],
    group: str,
    collection: Collection,
    outdoors: Outdoors | None,
    *,
    period_on: Callable[[date], FeedingPeriod | None] = NO_WEATHER.period_on,
) -> Gates:
    """The gates of trees that share a course and stand in a group; rain counts as long as it reaches one of them."""
    if outdoors is None:
        return NO_WEATHER
    benches = [bench_on(tree, group, entries, collection, outdoors.today) for tree in trees]
    return Gates(
        outdoors,
        all(bench.under_cover for bench in benches),
        all(bench.indoors for bench in benches),
        collection.habits.heavy_rain_mm,
        measured_in(entries),
        period_on,
    )


def standing_gates(gates: Gates, day: date) -> tuple[Reason, ...]:
    """Every gate that is shut on a day; empty when the weather has nothing against a feed."""
    period = gates.period_on(day)
    found = [*_rain(gates, day)]
    if period is not None:
        found += [*_hot_air(gates, period, day), *_root_zone(gates, period, day)]
    return tuple(found)


def _hot_air(gates: Gates, period: FeedingPeriod, day: date) -> Iterator[Reason]:
    """On a hot day roots take up little, and salt burns them."""
    weather = gates.on_record(day)
    if weather is None or gates.indoors or period.air_max_c is None or weather.tmax_c < period.air_max_c:
        return
    hot = HotAir(round(weather.tmax_c), weather.standing, period.name, period.air_max_c)
    yield Reason(Rule.HEAT, hot, weather.source, until=day + DAY)


def _root_zone(gates: Gates, period: FeedingPeriod, day: date) -> Iterator[Reason]:
    """In a cold root zone feed is not taken up; it drains away."""
    if gates.outdoors is None or period.root_zone_min_c is None or (gates.indoors and not gates.measured):
        return
    least = float(period.root_zone_min_c)
    course = gates.outdoors.root_zone(least, gates.measured)
    state = course.on(day)
    if state is None or state.is_warm:
        return
    cold = ColdRootZone(least)
    if state.measured_c is not None:
        cold = ColdRootZone(least, state.measured_c, state.start)
    habits = gates.outdoors.habits
    ends = WarmAgain(timedelta(days=habits.warm_days), least + float(habits.root_zone_air_c), least)
    yield Reason(Rule.ROOT_ZONE, cold, period.source, state.entry, course.warm_again(day), ends)


def _rain(gates: Gates, day: date) -> Iterator[Reason]:
    """Heavy rain washes a feed out of the pot and into the ground."""
    weather = gates.on_record(day)
    if weather is None or gates.under_cover or weather.rain_mm is None:
        return
    if weather.rain_mm >= gates.heavy_rain_mm:
        rain = HeavyRain(round(weather.rain_mm), weather.standing)
        yield Reason(Rule.RAIN, rain, weather.source, until=day + DAY)
