"""What the weather puts in the way of a liquid feed. A gate only defers: no ramp, and nothing is made up for.

Days on record count, observed and forecast alike, so that what the forecast put off stays put off once the day is
past. Normal days bring no shower and no heat: they are the mean of many years. A stale forecast counts for nothing, and
missing weather never adds a feed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

from feedplan.engine.care import Care
from feedplan.engine.feeding.windows import Windows
from feedplan.engine.growing_year import DAY, season_of
from feedplan.engine.outdoors.outdoors import HARMING_FROST_C, Outdoors
from feedplan.engine.stages.stages import Record, is_soft
from feedplan.model.climate import ClimateDay
from feedplan.model.journal import Entry
from feedplan.model.reason import ColdRootZone, FrostOnSoftGrowth, HeavyRain, HotAir, Reason, Rule, WarmAgain
from feedplan.model.schedule import FeedingPeriod


@dataclass(frozen=True, slots=True)
class Gates:
    """The weather's say in one timeline's feeds.

    outdoors: the weather of the pass. care: says what shelters the trees from rain and heat. record: how far they have
    grown. windows: the feeding periods, which say how warm the root zone and how cool the air must be. measured:
    root-zone temperatures from the journal, by day.
    """

    outdoors: Outdoors
    care: Care
    record: Record
    windows: Windows
    measured: Mapping[date, Entry] = field(default_factory=dict)

    def is_weather_felt(self, day: date) -> bool:
        """Whether any weather there is says something of their root zones on a day; none does indoors."""
        return self.outdoors.climate is not None and not self.care.shelter_on(day).indoors

    def on_record(self, day: date) -> ClimateDay | None:
        """A day's weather if it was observed or is forecast."""
        return self.outdoors.on_record(day)


def standing_gates(gates: Gates, day: date) -> tuple[Reason, ...]:
    """Every gate that is shut on a day; empty when the weather has nothing against a feed."""
    window = gates.windows.at(day)
    period = None if window is None else window.period
    found = [*_rain(gates, day), *_frost(gates, day)]
    if period is not None:
        found += [*_hot_air(gates, period, day), *_root_zone(gates, period, day)]
    return tuple(found)


def _hot_air(gates: Gates, period: FeedingPeriod, day: date) -> Iterator[Reason]:
    """On a hot day roots take up little, and salt burns them."""
    weather = gates.on_record(day)
    if weather is None or period.air_max_c is None or weather.tmax_c < period.air_max_c:
        return
    if gates.care.shelter_on(day).indoors:
        return
    hot = HotAir(round(weather.tmax_c), weather.standing, period.name, period.air_max_c)
    yield Reason(Rule.HEAT, hot, weather.source, until=day + DAY)


def _frost(gates: Gates, day: date) -> Iterator[Reason]:
    """After a hard night soft growth is likely hurt, and what is hurt takes up little: it is looked at first."""
    weather = gates.on_record(day)
    if weather is None or weather.tmin_c > HARMING_FROST_C or gates.care.shelter_on(day).indoors:
        return
    stages = gates.record.stages(season_of(day, gates.record.hemisphere))
    if is_soft(stages.values(), gates.record.vocabulary, day):
        frost = FrostOnSoftGrowth(round(weather.tmin_c), weather.standing)
        yield Reason(Rule.FROST, frost, weather.source, until=day + DAY)


def is_root_zone_cold(gates: Gates, period: FeedingPeriod, day: date) -> bool:
    """Whether the root zone is known, or expected, to be colder on a day than a period asks."""
    return any(True for _ in _root_zone(gates, period, day))


def _root_zone(gates: Gates, period: FeedingPeriod, day: date) -> Iterator[Reason]:
    """In a cold root zone feed is not taken up; it drains away."""
    if period.root_zone_min_c is None or not (gates.measured or gates.is_weather_felt(day)):
        return
    least = float(period.root_zone_min_c)
    course = gates.outdoors.root_zone(least, gates.measured, gates.care.shelters)
    state = course.on(day)
    if state is None or state.is_warm is not False:
        return
    cold = ColdRootZone(least)
    if state.measured_c is not None:
        cold = ColdRootZone(least, state.measured_c, state.start)
    habits = gates.outdoors.habits
    ends = WarmAgain(timedelta(days=habits.warm_days), least)
    yield Reason(Rule.ROOT_ZONE, cold, period.source, state.entry, course.not_cold_again(day), ends)


def _rain(gates: Gates, day: date) -> Iterator[Reason]:
    """Heavy rain washes a feed out of the pot and into the ground."""
    weather = gates.on_record(day)
    if weather is None or weather.rain_mm is None or gates.care.shelter_on(day).under_cover:
        return
    if weather.rain_mm >= gates.outdoors.habits.heavy_rain_mm:
        rain = HeavyRain(round(weather.rain_mm), weather.standing)
        yield Reason(Rule.RAIN, rain, weather.source, until=day + DAY)
