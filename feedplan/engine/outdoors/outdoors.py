"""The weather of one pass, as gates, holds and alerts ask for it: each thing worked out once.

Whether root zones are warm enough to feed goes by air, sun and place, or by what was measured. A run of
warm days opens, a run of cold ones closes again; a single odd day changes nothing. A measurement decides at once, and
runs of days count from it anew. For a day not on record the normal one counts. Without normals the last reading holds
for some days, and then nothing is known: an old reading holds no feed back.

Heat waves are opened by hot days on record and closed by cooler ones; they put a hold on every tree out of doors.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property, partial
from typing import NamedTuple

from feedplan.engine.care import Care, Shelter
from feedplan.engine.growing_year import DAY
from feedplan.engine.stages.courses import current
from feedplan.model.climate import Climate, ClimateDay
from feedplan.model.collection import Habits
from feedplan.model.course import Hold
from feedplan.model.hold import CauseKind, HeatBounds, HoldRule
from feedplan.model.journal import Caused, Entry, RootZone, Subject
from feedplan.model.schedule import Schedule
from feedplan.model.source import BUILT_IN, Source
from feedplan.weather.evapotranspiration import Site, solar_radiation
from feedplan.weather.root_zone import root_zone_mean_c

FREEZING_C = 0.0
"""From here down a night harms soft growth: exposed leaves get 1 to 3 °C colder than the air beside them
(Leuning and Cremer 1988, Agricultural and Forest Meteorology 42, 121-133, abstract read), and half the leaves of seven
trees died at -3.5 to -8.3 (Journal of Ecology 2014, doi 10.1111/1365-2745.12251, abstract read)."""

HARMING_FROST_C = -2.0
"""From here down a night likely hurt soft growth: so measured, leaves were at the first of those deaths. Judgement."""

HEAT = "heat"
"""The cause, under trouble, whose hold rule a heat wave follows."""


class Outdoors:
    """What the weather was, is and will be, as of today. climate: None without any. days: first and last."""

    def __init__(
        self, climate: Climate | None, habits: Habits, today: date, days: tuple[date, date], site: Site
    ) -> None:
        self.climate = climate
        self.habits = habits
        self.today = today
        self._days = days
        self._site = site
        self._root_zones: dict[tuple[object, ...], RootZoneCourse] = {}
        self._expected: dict[date, ClimateDay | None] = {}
        self._solar: dict[date, float] = {}
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
        if day not in self._expected:
            found = self.on_record(day)
            if found is None and self.climate is not None and self.climate.normals is not None:
                found = self.climate.normals.on(day)
            self._expected[day] = found
        return self._expected[day]

    def solar_mj_per_m2(self, weather: ClimateDay) -> float:
        """The radiation of a day best known as this [MJ/m2 per day]."""
        day = weather.day
        if day not in self._solar:
            self._solar[day] = solar_radiation(weather.weather, self._site, day.timetuple().tm_yday)
        return self._solar[day]

    def root_zone(
        self, least_c: float, measured: Mapping[date, Entry], shelters: tuple[Shelter, ...]
    ) -> RootZoneCourse:
        """The states of a root zone that is to have at least a temperature [°C].

        measured: entries by day. shelters: of its trees, in day order.
        """
        key = (least_c, tuple(entry.id for entry in measured.values()), shelters)
        if key not in self._root_zones:
            habits = self.habits
            proxy = Proxy(float(habits.root_zone_air_c), habits.warm_days, habits.reading_days)
            warmth_on = partial(self._warmth_on, shelters)
            self._root_zones[key] = root_zone_course(least_c, measured, warmth_on, self._days, proxy)
        return self._root_zones[key]

    def _warmth_on(self, shelters: Sequence[Shelter], day: date) -> Warmth | None:
        """How warm the root zone of trees sheltered so was or is expected to be on a day; None where nobody knows."""
        weather = self.expected(day)
        if weather is None:
            return None
        shelter = next((each for each in reversed(shelters) if each.start <= day), shelters[0])
        solar = self.solar_mj_per_m2(weather) * (1 - shelter.shade)
        mean_c = root_zone_mean_c(weather.tmin_c, weather.tmax_c, solar, shelter.albedo, shelter.warmer_by_c)
        return Warmth(mean_c, weather.source)

    def waves(self, bounds: HeatBounds) -> tuple[Wave, ...]:
        """The heat waves on record by some bounds."""
        if bounds not in self._waves:
            self._waves[bounds] = heat_waves(self.record, bounds)
        return self._waves[bounds]


@dataclass(frozen=True, slots=True)
class Proxy:
    """How the weather stands in for the root zone.

    margin_c: the root zone worked out from it must lie so much above what is asked for [°C]. days: so many days
    running; three are common practice, no source. reading_days: so many days a reading, of the air or of the root zone
    itself, says something of days of which nothing is known.
    """

    margin_c: float = 0.0
    days: int = 3
    reading_days: int = 3


class Warmth(NamedTuple):
    """A root zone's mean of one day, worked out from the weather [°C], and where that is written."""

    mean_c: float
    source: Source


@dataclass(frozen=True, slots=True)
class State:
    """From a day on: whether the root zone is warm enough, None where nothing is known any more.

    entry: the measurement that says so, None for the air.
    """

    start: date
    is_warm: bool | None
    entry: Entry | None = None
    measured_c: float | None = None
    source: Source = BUILT_IN


@dataclass(frozen=True, slots=True)
class RootZoneCourse:
    """The states of a root zone in day order; where nothing is known, nothing is held back."""

    states: tuple[State, ...]
    starts: tuple[date, ...]

    def on(self, day: date) -> State | None:
        """The state on a day, None while nothing is known."""
        at = bisect_right(self.starts, day)
        return self.states[at - 1] if at else None

    def not_cold_again(self, day: date) -> date | None:
        """The first day after a day on which it is not known to be too cold; None when that is not in sight."""
        return next(
            (state.start for state in self.states if state.start > day and state.is_warm is not False), None
        )


def root_zone_course(
    least_c: float,
    measured: Mapping[date, Entry],
    warmth_on: Callable[[date], Warmth | None],
    days: tuple[date, date],
    proxy: Proxy,
) -> RootZoneCourse:
    """The states of a root zone that is to have at least a temperature, between two days.

    least_c: asked of the root zone [°C]. measured: entries by day. warmth_on: what is best known of a day, None for
    nothing.
    """
    states: list[State] = []
    run, read = 0, 0  # days running that speak against the state; days since anything was known
    day, last = min([days[0], *measured]), days[1]
    while day <= last:
        warmth, known = warmth_on(day), states[-1].is_warm if states else None
        read = read + 1 if warmth is None and day not in measured else 0
        if day in measured:
            states.append(_measured(day, measured[day], least_c))
            run = 0
        elif warmth is None:
            run = 0
            if known is not None and read > proxy.reading_days:
                states.append(State(day, None))
        else:
            is_warm = warmth.mean_c >= least_c + proxy.margin_c
            run = run + 1 if known is not None and known != is_warm else 0
            if known is None or run >= proxy.days:
                states.append(State(day, is_warm, source=warmth.source))
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


@dataclass(frozen=True, slots=True)
class Wave:
    """Hot days on end. start, last_hot: first and last hot day; end: first day after. peak_c: the hottest [°C]."""

    start: date
    last_hot: date
    end: date
    peak_c: float
    days: tuple[ClimateDay, ...]


def heat_waves(record: Sequence[ClimateDay], bounds: HeatBounds) -> tuple[Wave, ...]:
    """Every heat wave in a record of days in order, observed or forecast.

    It begins with the first of two hot days running and ends with the second day running (`over_days`) below
    `over_below_c`. Days past the record count as cooler; days missing inside it do not.
    """
    by_day = {weather.day: weather for weather in record}
    found: list[Wave] = []
    for weather in record:
        is_new = not found or weather.day >= found[-1].end
        after = by_day.get(weather.day + DAY)
        if is_new and _is_hot(weather, bounds) and after is not None and _is_hot(after, bounds):
            found.append(_wave(weather.day, by_day, record[-1].day, bounds))
    return tuple(found)


def _is_hot(weather: ClimateDay, bounds: HeatBounds) -> bool:
    return weather.tmax_c >= bounds.hot_from_c


def _wave(start: date, by_day: Mapping[date, ClimateDay], last: date, bounds: HeatBounds) -> Wave:
    day, cool, hot = start, 0, []
    while cool < bounds.over_days:
        weather = by_day.get(day)
        if weather is not None and _is_hot(weather, bounds):
            hot.append(weather)
        is_cool = day > last if weather is None else weather.tmax_c < bounds.over_below_c
        cool = cool + 1 if is_cool else 0
        day += DAY
    return Wave(start, hot[-1].day, day - DAY, max(each.tmax_c for each in hot), tuple(hot))


def heat_rule(schedule: Schedule) -> HoldRule | None:
    """The rule a heat wave follows in a schedule; None indoors, and when no rule says how hot is hot."""
    if schedule.indoors:
        return None
    rules = schedule.holds.values()
    return next(
        (r for r in rules if (r.kind, r.cause) == (CauseKind.TROUBLE, HEAT) and r.heat is not None), None
    )


def heat_holds(care: Care, waves_of: Callable[[HeatBounds], Sequence[Wave]]) -> tuple[Hold, ...]:
    """The holds that heat waves put on trees out of doors, by the schedule in force when each began.

    They end by the weather alone and ask for no sign: what the heat did to a tree is for the grower to record.
    """
    schedules = map(care.schedule_of, care.stays)
    bounds = {rule.heat for schedule in schedules if (rule := heat_rule(schedule)) and rule.heat}
    found = []
    for each in bounds:
        for wave in waves_of(each):
            rule = heat_rule(care.schedule_on(wave.start))
            if rule is not None and rule.heat == each and not care.shelter_on(wave.start).indoors:
                found.append(_hold(rule, wave))
    return tuple(sorted(found, key=lambda hold: hold.start))


def _hold(rule: HoldRule, wave: Wave) -> Hold:
    entry = Entry(
        id=f"weather/heat/{wave.start.isoformat()}",
        day=wave.start,
        recorded=wave.start,
        subject=Subject(everything=True),
        fact=Caused(CauseKind.TROUBLE, HEAT),
        source=wave.days[0].source,
    )
    ends_by_itself = replace(rule, needs=(), min_days=(wave.end - wave.start).days, reviews_days=())
    return Hold(ends_by_itself, entry, wave.start, wave.end, (), wave.end, by_weather=True)
