"""What measures and days can be at all: one table for files, columns and what is typed.

Each row is what a careful grower would call a slip of the keyboard outside; what is merely unwise is a warning of
`feedplan check`. The numbers are bounds of sense (judgement) unless a source stands beside them.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from feedplan.dose.measures import quoted
from feedplan.words.language import say

EARLIEST_YEAR, LATEST_YEAR = 1950, 2150
"""Years that a record or plan of living trees may speak of; anything else is a slip of the keyboard."""

EARLIEST_WEATHER = 1750
"""No station measured before (Hohenpeissenberg began in 1781, from memory)."""


class Bounds(NamedTuple):
    """The least and most of a measure in its unit. refusal: of a value outside, with {text}, {least} and {most}."""

    least: Decimal
    most: Decimal
    unit: str
    refusal: str = "{text} is out of range; write {least} to {most}"


def _bounds(least: str, most: str, unit: str, *refusal: str) -> Bounds:
    return Bounds(Decimal(least), Decimal(most), unit, *refusal)


BOUNDS: Mapping[str, Bounds] = {
    "pot": _bounds("0.01", "2000", "L", "{text} is no pot a tree is kept in; write {least} to {most}"),
    "pot side": _bounds("1", "200", "cm", "{text} is no side of a pot; write {least} to {most}"),
    "depth": _bounds("1", "150", "cm", "{text} is no depth; write {least} to {most}"),
    "crown": _bounds("1", "1000", "cm", "{text} is no width of a crown; write {least} to {most}"),
    "can": _bounds("0.1", "1000", "L", "{text} is no can or jug; write {least} to {most}"),
    "stock": _bounds("0.1", "200", "L", "{text} is no bottle of stock; write {least} to {most}"),
    "injector": _bounds(
        "5", "1000", "parts", "{text} is no injector's setting; write 1 in {least} to 1 in {most}"
    ),
    "poured": _bounds(
        "0.001", "10000", "L", "{text} is more than anybody pours in a day; write at most {most}"
    ),
    "elevation": _bounds(
        "-500", "6000", "m", "{text} is no height trees are kept at; write {least} to {most}"
    ),
    "temperature": _bounds(
        "-60", "60", "°C", "{text} is no temperature trees live at; write {least} to {most}"
    ),
    "root zone": _bounds("-30", "60", "°C", "{text} is no root zone of a living tree; write at most {most}"),
    "rain": _bounds("1", "200", "mm", "{text} is no day's heavy rain; write {least} to {most}"),
    "wind": _bounds("0.5", "60", "m per s", "{text} is no wind to be told of; write {least} to {most}"),
    "label rate g": _bounds(
        "0.01", "50", "g per L", "{text} is no label's rate for watering; write {least} to {most}"
    ),
    "label rate ml": _bounds(
        "0.01", "100", "ml per L", "{text} is no label's rate for watering; write {least} to {most}"
    ),
    "strength": _bounds("1", "2000", "ppm N", "{text} is no strength of a feed; write {least} to {most}"),
    "spoon": _bounds("0.1", "100", "g", "{text} is no spoon; write {least} to {most}"),
    "laid": _bounds("0.1", "5000", "g", "{text} is more than anybody lays on a pot; write at most {most}"),
    "every": _bounds("1", "366", "days", "{text} is no pace within a year; write {least} to {most}"),
}
"""The measures of files and commands, by what they measure."""


def number_words(number: Decimal, unit: str) -> str:
    """A number with its unit, as one writes it."""
    return f"{number.normalize():f} {unit}"


def within(what: str, value: Decimal, text: str) -> Decimal:
    """The value, if that measure can be so much. text: as written. Raises ValueError."""
    bounds = BOUNDS[what]
    if not bounds.least <= value <= bounds.most:
        ends = {end: number_words(getattr(bounds, end), bounds.unit) for end in ("least", "most")}
        raise ValueError(say(bounds.refusal, text=quoted(text), **ends))
    return value


def checked_day(day: date) -> date:
    """The day, if a record or plan of living trees may speak of it. Raises ValueError."""
    if not EARLIEST_YEAR <= day.year <= LATEST_YEAR:
        raise ValueError(
            say(
                "{day} lies outside {first} to {last}; check the year",
                day=day,
                first=EARLIEST_YEAR,
                last=LATEST_YEAR,
            )
        )
    return day


class Range(NamedTuple):
    """The least and most a column of weather can hold in feedplan's unit, and what to say of a value outside."""

    least: float
    most: float
    unit: str
    hint: str = ""


_TEMPERATURE = Range(-90, 56.7, "°C", "; if it is in Fahrenheit, say so in the header: {measure}_f")
# Records by the World Meteorological Organization's archive of extremes: 56.7 °C (Death Valley 1913), -89.2 °C (Vostok
# 1983), 1825 mm in a day and 9300 mm in a month (both from memory). The others are bounds of sense.
RANGES: Mapping[str, Range] = {
    "tmin_c": _TEMPERATURE,
    "tmax_c": _TEMPERATURE,
    "rain_mm": Range(0, 1900, "mm"),
    "dew_point_c": Range(-100, 40, "°C"),
    "rh_mean_percent": Range(0, 100, "%"),
    "rh_max_percent": Range(0, 100, "%"),
    "rh_min_percent": Range(0, 100, "%"),
    "vapour_pressure_kpa": Range(0, 8, "kPa"),
    "wind_m_per_s": Range(0, 60, "m/s", "; is the unit in the header right?"),
    "wind_height_m": Range(0.5, 200, "m"),
    "sunshine_hours": Range(0, 24, "h"),
    "solar_mj_per_m2": Range(0, 50, "MJ/m2 per day", "; is the unit in the header right?"),
}
MONTH_RANGES: Mapping[str, Range] = {
    **RANGES,
    "rain_mm": Range(0, 10_000, "mm"),
    "sunshine_hours": Range(0, 744, "h"),
}
HOTTEST_MEAN_C = 42.0
"""No place has warmer days on the mean of its year: Dallol had 41 °C (from memory). A Fahrenheit column has."""
