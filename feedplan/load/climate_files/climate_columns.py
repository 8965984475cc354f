"""What a column of a weather table holds, by its header: the measure, its unit, and the height of the wind."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

Convert = Callable[[float], float]


def _times(factor: float) -> Convert:
    return lambda value: value * factor


def _same(value: float) -> float:
    return value


def celsius_from_fahrenheit(value: float) -> float:
    """Degrees Celsius from degrees Fahrenheit [°C]."""
    return (value - 32) / 1.8


_TEMPERATURE: Mapping[str, Convert] = {"c": _same, "f": celsius_from_fahrenheit}
_DEPTH: Mapping[str, Convert] = {"mm": _same, "in": _times(25.4)}
_PERCENT: Mapping[str, Convert] = {"": _same, "percent": _same}
# A statute mile is 1609.344 m and a nautical one 1852 m.
_SPEED: Mapping[str, Convert] = {
    "m/s": _same,
    "km/h": _times(1 / 3.6),
    "mph": _times(0.44704),
    "kn": _times(1.852 / 3.6),
}
_HOURS: Mapping[str, Convert] = {"": _same, "h": _same, "min": _times(1 / 60), "s": _times(1 / 3600)}
# A watt through a day is 86,400 J; a kilowatt-hour is 3.6 MJ.
_RADIATION: Mapping[str, Convert] = {"mj/m2": _same, "w/m2": _times(0.0864), "kwh/m2": _times(3.6)}
_PRESSURE: Mapping[str, Convert] = {"kpa": _same, "hpa": _times(0.1), "mbar": _times(0.1)}
_PLAIN: Mapping[str, Convert] = {"": _same}


@dataclass(frozen=True, slots=True)
class Measure:
    """One thing a column can hold. name: as in the code; units: written unit to converter; written: to suggest."""

    name: str
    units: Mapping[str, Convert]
    written: str
    also: tuple[str, ...] = ()


MEASURES = (
    Measure("date", _PLAIN, "date", ("day", "time", "datum")),
    Measure("month", _PLAIN, "month", ("monat", "mois")),
    Measure(
        "tmin_c",
        _TEMPERATURE,
        "tmin_c",
        ("tmin", "t min", "min", "minimum", "low", "min temp", "temp min", "temperature min", "min temperature",
         "minimum temperature", "mean minimum", "mean daily minimum", "mean minimum temperature"),
    ),
    Measure(
        "tmax_c",
        _TEMPERATURE,
        "tmax_c",
        ("tmax", "t max", "max", "maximum", "high", "max temp", "temp max", "temperature max", "max temperature",
         "maximum temperature", "mean maximum", "mean daily maximum", "mean maximum temperature"),
    ),
    Measure(
        "rain_mm", _DEPTH, "rain_mm", ("rain", "rainfall", "precipitation", "precip", "prcp", "precipitation sum")
    ),
    Measure("dew_point_c", _TEMPERATURE, "dew_point_c", ("dew point", "dewpoint", "mean dew point", "dew point mean")),
    Measure(
        "rh_mean_percent",
        _PERCENT,
        "humidity_percent",
        ("humidity", "rh", "relative humidity", "rh mean", "mean humidity", "humidity mean", "relative humidity mean"),
    ),
    Measure("rh_max_percent", _PERCENT, "humidity_max_percent", ("humidity max", "rh max", "relative humidity max")),
    Measure("rh_min_percent", _PERCENT, "humidity_min_percent", ("humidity min", "rh min", "relative humidity min")),
    Measure("vapour_pressure_kpa", _PRESSURE, "vapour_pressure_kpa", ("vapour pressure", "vapor pressure")),
    Measure(
        "wind_m_per_s", _SPEED, "wind_m_per_s", ("wind", "wind speed", "windspeed", "mean wind", "wind speed mean")
    ),
    Measure("wind_height_m", {"m": _same}, "wind_height_m", ("wind height",)),
    Measure(
        "sunshine_hours", _HOURS, "sunshine_hours", ("sunshine", "sun", "sunshine duration", "bright sunshine")
    ),
    Measure(
        "solar_mj_per_m2",
        _RADIATION,
        "radiation_mj_per_m2",
        ("radiation", "solar", "solar radiation", "global radiation", "shortwave radiation",
         "shortwave radiation sum"),
    ),
    Measure("standing", _PLAIN, "standing", ("kind", "status")),
)  # fmt: skip
"""Every column that is read, with the ways to write it; a unit stands behind: tmin_c, "Tmin (°C)", "rain [in]"."""

_BY_WORDS = {words: measure for measure in MEASURES for words in measure.also} | {
    measure.name: measure for measure in MEASURES if measure.units is _PLAIN
}
_UNIT_WORDS = {
    "c": "c", "degc": "c", "celsius": "c", "deg c": "c", "f": "f", "degf": "f", "fahrenheit": "f", "deg f": "f",
    "mm": "mm", "in": "in", "inch": "in", "inches": "in", "percent": "percent", "%": "percent", "pct": "percent",
    "m s": "m/s", "m per s": "m/s", "mps": "m/s", "km h": "km/h", "km per h": "km/h", "kmh": "km/h", "kph": "km/h",
    "mph": "mph", "kn": "kn", "knots": "kn", "kt": "kn", "h": "h", "hours": "h", "hrs": "h", "min": "min",
    "minutes": "min", "s": "s", "mj m2": "mj/m2", "mj per m2": "mj/m2", "w m2": "w/m2", "w per m2": "w/m2",
    "kwh m2": "kwh/m2", "kwh per m2": "kwh/m2", "kpa": "kpa", "hpa": "hpa", "mbar": "mbar", "m": "m",
}  # fmt: skip
_PER_DAY = re.compile(r" (?:per )?(?:d|day|month)$")
_HEIGHT = re.compile(r" (?:at )?(\d+(?:\.\d+)?) ?m(?= |$)")


@dataclass(frozen=True, slots=True)
class Column:
    """A column that is read. index: from 0; wind_height_m: told by the header, else None."""

    index: int
    measure: Measure
    convert: Convert
    wind_height_m: float | None = None


def read_header(header: str, index: int) -> Column | str | None:
    """The column a header names; a sentence when its unit is missing or of another kind; None when it is not read."""
    words = _words(header)
    height = _HEIGHT.search(words)
    if height is not None:
        words = (words[: height.start()] + words[height.end() :]).strip()
    measure, unit = _measure_and_unit(_PER_DAY.sub("", words))
    if measure is None:
        return None
    if unit not in measure.units:
        told = f"'{header.strip()}' says no unit" if not unit else f"'{header.strip()}' is in no unit of it"
        known = " or ".join(name for name in measure.units if name)
        return f"the column {told}; write {measure.written} for example (known: {known})"
    is_wind = measure.name == "wind_m_per_s"
    return Column(index, measure, measure.units[unit], float(height[1]) if height and is_wind else None)


def _words(header: str) -> str:
    text = (
        header.strip().lower().replace("²", "2").replace("°", " ").replace("º", " ").replace("%", " percent ")
    )
    return " ".join(re.sub(r"[^a-z0-9.]+", " ", text).split())


def _measure_and_unit(words: str) -> tuple[Measure | None, str]:
    """The measure and its unit, the longest measure first, so that `min` alone is no minute."""
    parts = words.split()
    for count in range(len(parts), 0, -1):
        unit = " ".join(parts[count:])
        measure = _BY_WORDS.get(" ".join(parts[:count]))
        if measure is not None and (not unit or unit in _UNIT_WORDS):
            return measure, _UNIT_WORDS.get(unit, "")
    return None, ""
