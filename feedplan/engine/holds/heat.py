"""Heat waves: opened by hot days on record, closed by cooler ones, and the hold they put on every tree out of doors."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from feedplan.engine.care import Care
from feedplan.engine.growing_year import DAY
from feedplan.model.climate import ClimateDay
from feedplan.model.course import Hold
from feedplan.model.hold import CauseKind, HeatBounds, HoldRule
from feedplan.model.journal import Caused, Entry, Subject
from feedplan.model.schedule import Schedule

HEAT = "heat"
"""The cause, under trouble, whose hold rule a heat wave follows."""


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
