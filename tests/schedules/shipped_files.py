"""Readers for the shipped schedules as they stand in the files, before any loader fills in or turns anything."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from feedplan.load.folder import shipped_kinds
from feedplan.load.read_words import parse_check_rate, parse_day_of_year, parse_moment
from feedplan.model.moment import AtStage, DayOfYear, FirstOf, LastOf, Moment
from feedplan.model.stage import StageCalendar, Vocabulary, Word

FOLDER = Path(__file__).parents[2] / "schedules"
SHARED_FILES = ("stages", "holds", "genera")
SCHEDULES = tuple(sorted(f.stem for f in FOLDER.glob("*.yaml") if f.stem not in SHARED_FILES))
POTS = ("shallow", "medium", "deep", "weak")
YEAR = 2027
DAY = timedelta(days=1)


@cache
def read(name: str) -> dict[str, Any]:
    """One file's mapping, numbers with units still as text."""
    mapping = yaml.safe_load(text(name))
    assert isinstance(mapping, dict)
    return mapping


def liquid_periods(name: str) -> dict[str, dict[str, str]]:
    """The periods in which one is fed from the can."""
    return {key: period for key, period in read(name)["feeding"].items() if "solid" not in period}


def solid_periods(name: str) -> dict[str, dict[str, Any]]:
    """The periods in which solid feed is laid."""
    return {key: period for key, period in read(name)["feeding"].items() if "solid" in period}


def text(name: str) -> str:
    return (FOLDER / f"{name}.yaml").read_text(encoding="utf-8")


@cache
def vocabulary() -> Vocabulary:
    shared = read("stages")
    words = {
        name: Word(
            name,
            also=tuple(told.get("also", ())),
            shows=frozenset(told.get("shows", ())),
            adverse=told.get("adverse", False),
            is_stage=section == "stages",
        )
        for section in ("stages", "signs")
        for name, told in shared[section].items()
    }
    calendars = {
        name: StageCalendar(
            name,
            tuple(told.get("species", ())),
            tuple((stage, parse_day_of_year(day)) for stage, day in told["dates"].items()),
            spread_days=days(told["spread"]),
            spring=frozenset(told["spring"]),
        )
        for name, told in shared["calendars"].items()
    }
    return Vocabulary(words, calendars, kinds=shipped_kinds())


def days(span: str) -> int:
    """Days of "3 weeks" or "10 days"."""
    number, unit = span.split()
    return int(number) * (7 if unit.startswith("week") else 1)


def number(measure: str) -> Decimal:
    """The leading number of "150 ppm N", "8 °C" or "25 %"."""
    return Decimal(measure.split(maxsplit=1)[0])


def merged_dates(schedule: str, calendar: str) -> dict[str, date]:
    """A northern year's typical dates for a tree of one calendar standing under a schedule."""
    calendars = vocabulary().calendars
    own, fallback = calendars[calendar], calendars[read(schedule)["stages"]]
    known = dict(fallback.dates) | dict(own.dates)
    return {stage: day.in_year(YEAR) for stage, day in known.items()}


def first_day(moment: str, dates: dict[str, date]) -> date:
    return _on(parse_moment(moment), dates, stopping=False)


def last_day(moment: str, dates: dict[str, date]) -> date:
    """The last day fed: a calendar day is fed, the day of a stage is not."""
    return _on(parse_moment(moment), dates, stopping=True)


def _on(moment: Moment, dates: dict[str, date], *, stopping: bool) -> date:
    match moment:
        case DayOfYear():
            return moment.in_year(YEAR)
        case AtStage(stage, offset):
            return dates[stage] + offset * DAY - (DAY if stopping else 0 * DAY)
        case FirstOf(moments):
            return min(_on(m, dates, stopping=stopping) for m in moments)
        case LastOf(moments):
            return max(_on(m, dates, stopping=stopping) for m in moments)


def checks_per_week(schedule: str, on: date, dates: dict[str, date]) -> dict[str, Decimal]:
    """The water table's row in force on a day, as checks a week by pot."""
    rows = sorted((dates[stage], stage) for stage in read(schedule)["water"])
    stage = max((row for row in rows if row[0] <= on), default=rows[-1])[1]
    return {pot: parse_check_rate(read(schedule)["water"][stage][pot]).per_week for pot in POTS}
