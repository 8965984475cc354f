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
from feedplan.model.season import CheckStretch, FrostSpell, Timeline


@dataclass(frozen=True, slots=True)
class WaterPlan:
    """Checks and frozen days. checks_by: what the checks go by, one sentence."""

    checks: tuple[CheckStretch, ...]
    frosts: tuple[FrostSpell, ...]
    checks_by: str


def why_table(collection: Collection, climate: Climate | None) -> str | None:
    """Why checks go by each schedule's table; None when they go by the weather."""
    if collection.habits.checks_by is ChecksBy.SCHEDULE:
        return "the habits say checks_by: schedule"
    if climate is None:
        return "there is no climate folder"
    if climate.normals is None:
        return "the climate folder has no normals, and its record is too short to make them"
    return None


def checks_by_words(collection: Collection, climate: Climate | None) -> str:
    """What checks go by, one sentence."""
    why = why_table(collection, climate)
    if why is not None:
        return f"Checks go by each schedule's table: {why}."
    if climate is None or climate.forecast_to is None:
        return "Checks go by the weather: normals for the year; no forecast is at hand."
    return "Checks go by the weather: normals for the year, the forecast for the days ahead."


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
    if climate is not None and why_table(collection, climate) is None:
        skies = Skies(climate, collection.place)
        courses = WeatherCourses(Balance(collection, skies), table, today, _walked(collection, span))
    checks = check_stretches(timelines, courses, today, start, end)
    frosts: tuple[FrostSpell, ...] = ()
    if skies is not None and isinstance(courses, WeatherCourses):
        spells = rises(by_kind(timelines, today), courses, checks, today)
        checks += tuple(spell for spell in spells if spell.start <= end and spell.end >= start)
        frosts = tuple(f for f in frost_spells(skies, today) if f.start <= end and f.end >= start)
    return WaterPlan(checks, frosts, checks_by_words(collection, climate))


def _walked(collection: Collection, span: tuple[date, date, date]) -> tuple[date, date, date]:
    """The days walked: from the season before the first day, through the last one shown, to the season after that."""
    hemisphere = collection.place.hemisphere
    first, last = season_of(min(span), hemisphere), season_of(max(span), hemisphere)
    return season_start(first - 1, hemisphere), max(span), season_end(last + 1, hemisphere)
