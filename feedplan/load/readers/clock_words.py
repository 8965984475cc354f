"""Readers for the measures of weather: degree days, days, winter cold in days or hours, wind."""

from __future__ import annotations

from decimal import Decimal

from feedplan.dose.measures import parse_days, quoted, read_number

MOST_DEGREE_DAYS = 6000
MOST_CHILL_HOURS = 4000


def parse_degree_days(text: str) -> float:
    """Degree days such as "75 degree days" [° day]. Raises ValueError."""
    number, unit = read_number(text, "75 degree days")
    if unit.lower().replace("-", " ") not in ("degree days", "degree day", "°c days", "dd"):
        raise ValueError(f"{quoted(text)} is not a sum of warmth; write for example {number} degree days")
    if number > MOST_DEGREE_DAYS:
        raise ValueError(f"{quoted(text)} is more than a year brings; write at most {MOST_DEGREE_DAYS}")
    return float(number)


def parse_amount(text: str) -> float:
    """Degree days or days, as a number alone [° day or days]. Raises ValueError."""
    number, unit = read_number(text, "25 degree days")
    if unit.lower() in ("days", "day", "d", "weeks", "week", "w"):
        return float(parse_days(text))
    if not unit:
        raise ValueError(f"{quoted(text)} has no unit; write {number} degree days, or {number} days")
    return parse_degree_days(text)


def parse_wind(text: str) -> Decimal:
    """A wind speed such as "8 m per s" or "30 km per h" [m/s]. Raises ValueError."""
    number, unit = read_number(text, "8 m per s")
    name = unit.lower().replace(" per ", "/").replace(" ", "")
    per_unit = {"m/s": Decimal(1), "km/h": 1 / Decimal("3.6"), "mph": Decimal("0.44704")}.get(name)
    if per_unit is None:
        raise ValueError(f"{quoted(text)} is not a wind speed; write for example {number} m per s")
    return round(number * per_unit, 2)


def parse_chill_need(text: str) -> tuple[int, str]:
    """Winter cold needed, such as "40 days" or "800 hours", as a number and "days" or "hours". Raises ValueError."""
    number, unit = read_number(text, "40 days")
    if unit.lower() not in ("hours", "hour", "h"):
        return parse_days(text), "days"
    if number > MOST_CHILL_HOURS or number != int(number):
        raise ValueError(f"{quoted(text)} is no count of hours; write 0 to {MOST_CHILL_HOURS} hours")
    return int(number), "hours"
