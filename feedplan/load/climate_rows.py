"""Rows of a weather table as days and months, each value held against what the weather can do."""

from __future__ import annotations

import calendar
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from feedplan.load.bounds import HOTTEST_MEAN_C, MONTH_RANGES, RANGES, Range
from feedplan.load.climate_table import Cell, Table, TableProblems, date_in, number_in
from feedplan.load.problems import cut
from feedplan.model.climate import MEAN_MONTH_DAYS, ClimateDay, MonthNormal, Standing
from feedplan.model.source import Source
from feedplan.weather.evapotranspiration import DayWeather

_MONTHS = {name.lower(): number for number, name in enumerate(calendar.month_name) if number} | {
    name.lower(): number for number, name in enumerate(calendar.month_abbr) if number
}


_WEATHER = frozenset(RANGES) - {"rain_mm"}


@dataclass(frozen=True, slots=True)
class DailyRecord:
    """Days read from one file.

    blank_days: lines without both temperatures, which count as gaps. failed_readings: values that failed a station's
    own quality check.
    """

    days: Mapping[date, ClimateDay]
    blank_days: int = 0
    failed_readings: int = 0


def days_of(table: Table, problems: TableProblems) -> DailyRecord:
    """The daily record in a table, in any order of lines; a day told twice alike counts once."""
    days: dict[date, ClimateDay] = {}
    blank = 0
    for row in table.rows:
        cell = row.get("date")
        day = date_in(cell, problems) if cell is not None else None
        if cell is None or day is None:
            continue
        values = _values(row, table, RANGES, problems)
        if "tmin_c" not in values or "tmax_c" not in values:
            blank += 1
            continue
        found = _day(day, cell, row, values, problems)
        if found is None:
            continue
        before = days.setdefault(day, found)
        if _facts(before) != _facts(found):
            text = f"{day} stands already in line {before.source.line} with other values; keep one of the two"
            problems.at(cell, text)
    if len(days) >= LEAST_DAYS_FOR_MEAN:
        _refuse_fahrenheit(table, [day.tmax_c for day in days.values()], problems)
    return DailyRecord(days, blank)


def _facts(day: ClimateDay) -> tuple[object, ...]:
    return (day.weather, day.rain_mm, day.standing, day.marked)


def _day(
    day: date, cell: Cell, row: Mapping[str, Cell], values: dict[str, float], problems: TableProblems
) -> ClimateDay | None:
    if _is_upside_down(cell, values, problems):
        return None
    standing, marked = _standing(row.get("standing"), problems)
    weather = DayWeather(**{name: value for name, value in values.items() if name in _WEATHER})
    return ClimateDay(day, standing, weather, values.get("rain_mm"), marked, Source(problems.file, cell.line))


def _standing(cell: Cell | None, problems: TableProblems) -> tuple[Standing, bool]:
    text = cell.text.strip().lower() if cell is not None else ""
    if cell is None or not text:
        return Standing.OBSERVED, False
    if text in ("observed", "forecast"):
        return Standing(text), True
    problems.at(cell, f"'{cut(cell.text)}' is no standing; write observed, forecast or nothing")
    return Standing.OBSERVED, False


def _is_upside_down(cell: Cell, values: Mapping[str, float], problems: TableProblems) -> bool:
    low, high = values["tmin_c"], values["tmax_c"]
    if low <= high:
        return False
    text = f"the minimum {low:g} °C is above the maximum {high:g} °C; are the two columns swapped?"
    problems.at(cell, text)
    return True


def _values(
    row: Mapping[str, Cell], table: Table, ranges: Mapping[str, Range], problems: TableProblems
) -> dict[str, float]:
    """The numbers of a row that are there and possible, in feedplan's units."""
    values: dict[str, float] = {}
    for name, column in table.columns.items():
        cell = row.get(name)
        if cell is None or name not in ranges:
            continue
        value = number_in(cell, column, problems)
        if value is None:
            continue
        limit = ranges[name]
        if not limit.least <= value <= limit.most:
            hint = limit.hint.format(measure=name.removesuffix("_c"))
            bounds = f"the weather keeps to {limit.least:g} to {limit.most:g} {limit.unit}"
            problems.at(
                cell,
                f"{column.measure.written} of {value:.4g} {limit.unit}: {bounds}{hint}",
            )
            continue
        if name == "wind_m_per_s" and column.wind_height_m is not None:
            values["wind_height_m"] = column.wind_height_m
        values[name] = value
    return values


def months_of(table: Table, problems: TableProblems) -> tuple[MonthNormal, ...] | None:
    """The twelve months of a table in order, None when any is missing; what is wrong is noted."""
    months: dict[int, MonthNormal] = {}
    as_sums = _sunshine_is_summed(table)
    for row in table.rows:
        cell = row.get("month")
        if cell is None:
            continue
        number = _month(cell, problems)
        values = _values(row, table, MONTH_RANGES, problems)
        if number is None:
            continue
        if number in months:
            line = months[number].source.line
            problems.at(cell, f"month '{cell.text}' stands already in line {line}; delete one")
            continue
        months[number] = _normal(number, cell, values, as_sums, problems)
    lacking = [calendar.month_name[number] for number in range(1, 13) if number not in months]
    if lacking:
        text = f"lacks {', '.join(lacking)}; normals need one line for each of the 12 months"
        problems.add(table.header_line, 1, text)
    if lacking or problems.problems:
        return None
    ordered = tuple(months[number] for number in range(1, 13))
    _refuse_fahrenheit(table, [month.weather.tmax_c for month in ordered], problems)
    return ordered


LEAST_DAYS_FOR_MEAN = 30
"""So many days tell Fahrenheit from heat (judgement)."""


def _refuse_fahrenheit(table: Table, highs_c: list[float], problems: TableProblems) -> None:
    """Notes a column of highest temperatures that no place has on the mean."""
    if highs_c and sum(highs_c) / len(highs_c) > HOTTEST_MEAN_C:
        mean = f"{sum(highs_c) / len(highs_c):.0f}"
        told = f"days of {mean} °C on the mean are hotter than any place; if it is in Fahrenheit, say so in the header:"
        problems.add(table.header_line, 1, f"{told} write tmax_f for tmax_c and tmin_f for tmin_c")


def _sunshine_is_summed(table: Table) -> bool:
    """Whether sunshine is told for the whole month: some value is longer than a day (published either way)."""
    column = table.columns.get("sunshine_hours")
    if column is None:
        return False
    quiet = TableProblems("")
    hours = (number_in(row["sunshine_hours"], column, quiet) for row in table.rows if "sunshine_hours" in row)
    return any(value is not None and value > 24 for value in hours)


def _month(cell: Cell, problems: TableProblems) -> int | None:
    text = cell.text.strip().lower().rstrip(".")
    number = int(text) if text.isascii() and text.isdigit() and len(text) < 3 else _MONTHS.get(text)
    if number is None or not 1 <= number <= 12:
        problems.at(cell, f"'{cut(cell.text)}' is no month; write 1 to 12")
        return None
    return number


def _normal(
    number: int, cell: Cell, values: dict[str, float], sunshine_summed: bool, problems: TableProblems
) -> MonthNormal:
    source = Source(problems.file, cell.line)
    missing = [name for name in ("tmin_c", "tmax_c") if name not in values]
    if missing:
        text = f"the month has no {' and no '.join(missing)}; normals need both temperatures"
        problems.at(cell, text)
        return MonthNormal(number, DayWeather(0, 0), None, source)
    if _is_upside_down(cell, values, problems):
        return MonthNormal(number, DayWeather(0, 0), None, source)
    if sunshine_summed and "sunshine_hours" in values:
        values["sunshine_hours"] /= MEAN_MONTH_DAYS[number]
    weather = DayWeather(**{name: value for name, value in values.items() if name in _WEATHER})
    return MonthNormal(number, weather, values.get("rain_mm"), source)


LEAST_DAYS_PER_MONTH = 20
"""A month of the record counts as known from so many days on (judgement)."""


def normals_from_days(days: Iterable[ClimateDay]) -> tuple[MonthNormal, ...] | None:
    """Months averaged over a record's observed days; None unless every month is well enough covered."""
    by_month: dict[int, list[ClimateDay]] = {number: [] for number in range(1, 13)}
    for day in days:
        if day.standing is Standing.OBSERVED:
            by_month[day.day.month].append(day)
    if any(len(found) < LEAST_DAYS_PER_MONTH for found in by_month.values()):
        return None
    return tuple(_averaged(number, found) for number, found in by_month.items())


def _averaged(number: int, days: list[ClimateDay]) -> MonthNormal:
    def mean(name: str) -> float | None:
        values = [v for day in days if (v := getattr(day.weather, name)) is not None]
        return sum(values) / len(values) if len(values) >= LEAST_DAYS_PER_MONTH else None

    names = _WEATHER - {"tmin_c", "tmax_c", "wind_height_m"}
    extra = {name: value for name in names if (value := mean(name)) is not None}
    tmin_c, tmax_c = mean("tmin_c"), mean("tmax_c")
    assert tmin_c is not None and tmax_c is not None
    rains = [day.rain_mm for day in days if day.rain_mm is not None]
    per_day = sum(rains) / len(rains) if len(rains) >= LEAST_DAYS_PER_MONTH else None
    rain_mm = None if per_day is None else per_day * MEAN_MONTH_DAYS[number]
    heights = {day.weather.wind_height_m for day in days if day.weather.wind_m_per_s is not None}
    weather = DayWeather(tmin_c, tmax_c, wind_height_m=min(heights, default=10.0), **extra)
    return MonthNormal(number, weather, rain_mm, days[0].source)
