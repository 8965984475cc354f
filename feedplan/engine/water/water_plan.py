"""All that a season says of water checks, and what they go by: the weather, or the table where it is not known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from feedplan.engine.growing_year import season_end, season_of, season_start
from feedplan.engine.outdoors.skies import Skies
from feedplan.engine.water.balance import Balance
from feedplan.engine.water.check_courses import Courses, WeatherCourses
from feedplan.engine.water.check_table import TableCourses
from feedplan.engine.water.checks import by_kind, check_stretches
from feedplan.engine.water.rises import frost_spells, rises
from feedplan.model.climate import Climate
from feedplan.model.collection import ChecksBy, Collection
from feedplan.model.season import ChecksGoBy, CheckStretch, FrostSpell, Timeline


@dataclass(frozen=True, slots=True)
class WaterPlan:
    """Checks and frozen days. checks_by: what the checks go by."""

    checks: tuple[CheckStretch, ...]
    frosts: tuple[FrostSpell, ...]
    checks_by: ChecksGoBy


def checks_go_by(collection: Collection, climate: Climate | None) -> ChecksGoBy:
    """What checks go by: the weather, or each schedule's table and why."""
    if collection.habits.checks_by is ChecksBy.SCHEDULE:
        return ChecksGoBy.HABITS
    if climate is None:
        return ChecksGoBy.NO_CLIMATE
    if climate.normals is None:
        return ChecksGoBy.NO_NORMALS
    return ChecksGoBy.NORMALS if climate.forecast_to is None else ChecksGoBy.FORECAST


def plan_water(
    timelines: Sequence[Timeline],
    collection: Collection,
    climate: Climate | None,
    table: TableCourses,
    span: tuple[date, date, date],
) -> WaterPlan:
    """The checks of a season. span: today, and the first and last day shown."""
    today, start, end = span
    courses: Courses = table
    skies = None
    checks_by = checks_go_by(collection, climate)
    if climate is not None and checks_by.is_weather:
        skies = Skies(climate, collection.place)
        courses = WeatherCourses(Balance(collection, skies), table, today, _walked(collection, span))
    checks = check_stretches(timelines, courses, today, start, end)
    frosts: tuple[FrostSpell, ...] = ()
    if skies is not None and isinstance(courses, WeatherCourses):
        spells = rises(by_kind(timelines, today), courses, checks, today)
        checks += tuple(spell for spell in spells if spell.start <= end and spell.end >= start)
        frosts = tuple(f for f in frost_spells(skies, today) if f.start <= end and f.end >= start)
    return WaterPlan(checks, frosts, checks_by)


def _walked(collection: Collection, span: tuple[date, date, date]) -> tuple[date, date, date]:
    """The days walked: from the season before the first day, through the last one shown, to the season after that."""
    hemisphere = collection.place.hemisphere
    first, last = season_of(min(span), hemisphere), season_of(max(span), hemisphere)
    return season_start(first - 1, hemisphere), max(span), season_end(last + 1, hemisphere)
