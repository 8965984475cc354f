"""Readers for what a place and its pots have: heights, temperatures, wind, sun, pots, mixes, waters, time zones."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal
from typing import NamedTuple

from feedplan.dose.measures import (
    parse_days,
    parse_length,
    parse_volume,
    read_number,
    tidy,
)
from feedplan.dose.size import as_size, measures_and_shape, parse_size
from feedplan.errors import FeedplanError
from feedplan.load.bounds import within
from feedplan.load.problems import refusal
from feedplan.model.collection import FlushPace, Pot, Substrate
from feedplan.weather.substrate import read_mix
from feedplan.weather.water_quality import (
    alkalinity_from_hydrogencarbonate,
    alkalinity_from_meq,
    hardness_from_degrees,
)
from feedplan.words.language import say


class Sun(NamedTuple):
    """How much sun a bench gets. shade: kept off [0-1]."""

    shade: Decimal
    indoors: bool = False


USUAL_SHADE = Decimal("0.4")
"""Part shade without a number: the middle of the 30 to 50 % of shade nets (common practice, no source)."""
DEEP_SHADE = Decimal("0.8")
"""Full shade without a number (judgement)."""


def parse_sun(text: str) -> Sun:
    """The sun on a bench: "full sun", "part shade 40 %", "full shade", "indoors". Raises ValueError."""
    clean = tidy(text).lower()
    plain = {
        "full sun": Sun(Decimal(0)),
        "part shade": Sun(USUAL_SHADE),
        "full shade": Sun(DEEP_SHADE),
        "indoors": Sun(Decimal(0), indoors=True),
    }
    if clean in plain:
        return plain[clean]
    match = re.fullmatch(r"(?:part )?shade ([0-9.]+) ?%", clean)
    if match is None or not 0 <= Decimal(match[1]) <= 95:
        known = "full sun, part shade 40 %, full shade or indoors"
        raise refusal("{text} does not say how much sun; write {known}", text, known=known)
    return Sun(Decimal(match[1]) / 100)


_NAME_FIRST = re.compile(r"([a-z][a-z -]*?) ([0-9]{1,3})", re.IGNORECASE)


def parse_substrate(text: str) -> Substrate:
    """A substrate by name or parts: "mineral", "2 akadama, 1 pumice, 1 lava". Raises ValueError."""
    words = tidy(text)
    parts = [_NAME_FIRST.fullmatch(part.strip()) for part in words.split(",")]
    if all(parts):
        meant = ", ".join(f"{part[2]} {part[1]}" for part in parts if part)
        raise refusal('{text} has its numbers last; write "{meant}"', text, meant=meant)
    try:
        return Substrate(words, read_mix(words))
    except FeedplanError as wrong:
        raise ValueError(str(wrong)) from None


_EC_UNITS = {"ms/cm": 1.0, "ds/m": 1.0, "us/cm": 0.001, "µs/cm": 0.001, "μs/cm": 0.001, "ms/m": 0.01}


def parse_ec(text: str) -> float:
    """A conductivity such as "0.6 mS/cm" or "600 µS/cm" [mS/cm]; zero is allowed. Raises ValueError."""
    number, unit = read_number(text, "0.6 mS/cm")
    spelled = unit.lower().replace(" per ", "/").replace(" ", "")
    if not unit:
        raise refusal("{text} has no unit; write the unit: {meant}", text, meant=ec_meant(number))
    if spelled in ("ppm", "mg/l", "tds"):
        raise refusal(
            "{text} is a meter's guess from conductivity; read the mS/cm or µS/cm it measures instead", text
        )
    if spelled not in _EC_UNITS:
        raise refusal("{text} is not a conductivity; write for example 0.6 mS/cm", text)
    value = float(number) * _EC_UNITS[spelled]
    if value > 10:
        raise refusal("{text} is too salty for any tree; write mS/cm up to 10, or µS/cm", text)
    return value


_DEGREES = {
    "°dh": "german", "dh": "german", "°d": "german", "dkh": "german", "dgh": "german", "german degrees": "german",
    "°f": "french", "°fh": "french", "french degrees": "french", "°e": "english", "°clark": "english",
    "english degrees": "english", "mmol/l": "mmol/L", "gpg": "us",
}  # fmt: skip
_AS_CARBONATE = ("mg/l caco3", "mg/l", "ppm caco3", "ppm", "mg caco3/l", "mg/l as caco3")


def _as_caco3(text: str, example: str) -> tuple[float, str, bool]:
    """A number with its unit, in mg/L CaCO3 where the unit is one of hardness."""
    number, unit = read_number(text, example)
    spelled = unit.lower().replace(" per ", "/").replace("litre", "l")
    if spelled in _AS_CARBONATE:
        return float(number), spelled, True
    if spelled in _DEGREES:
        return hardness_from_degrees(float(number), _DEGREES[spelled]), spelled, True
    return float(number), spelled, False


def parse_hardness(text: str) -> float:
    """A hardness such as "250 mg/L CaCO3" or "14 °dH" [mg/L CaCO3]; zero is allowed. Raises ValueError."""
    value, _, is_known = _as_caco3(text, "250 mg/L CaCO3")
    if not is_known:
        raise refusal("{text} is not a hardness; write for example 250 mg/L CaCO3 or 14 °dH", text)
    return _within(value, text)


def parse_alkalinity(text: str) -> float:
    """An alkalinity: "180 mg/L CaCO3", "3.6 meq/L", "10 °dH", "220 mg/L HCO3" [mg/L CaCO3]. Raises ValueError."""
    value, unit, is_known = _as_caco3(text, "180 mg/L CaCO3")
    if is_known:
        return _within(value, text)
    if unit in ("meq/l", "mmol/l h+", "mval/l"):
        return _within(alkalinity_from_meq(value), text)
    if unit in ("mg/l hco3", "mg/l hydrogencarbonate", "mg/l bicarbonate"):
        return _within(alkalinity_from_hydrogencarbonate(value), text)
    raise refusal("{text} is not an alkalinity; write for example 180 mg/L CaCO3 or 3.6 meq/L", text)


def _within(value: float, text: str) -> float:
    if value > 2000:
        raise refusal("{text} is beyond any water for trees; write at most 2000 mg/L CaCO3", text)
    return value


def parse_ion(text: str) -> float:
    """A dissolved ion such as "80 mg/L" [mg/L]; zero is allowed. Raises ValueError."""
    number, unit = read_number(text, "80 mg/L")
    if unit.lower().replace(" per ", "/") not in ("mg/l", "ppm"):
        raise refusal(
            "{text} is not what a water report gives; write for example {number} mg/L", text, number=number
        )
    if number > 5000:
        raise refusal("{text} is sea water; write at most 5000 mg/L", text)
    return float(number)


def parse_flush(text: str) -> FlushPace:
    """How often pots are flushed: "every 6 feeds", "every 5 weeks" or "never". Raises ValueError."""
    clean = tidy(text).lower()
    if clean == "never":
        return FlushPace()
    match = re.fullmatch(r"every (\d+) (?:feeds|feedings)", clean)
    if match is not None and 1 <= int(match[1]) <= 50:
        return FlushPace(every_feeds=int(match[1]))
    span = clean.removeprefix("every ")
    if match is not None or span == clean:
        raise refusal("{text} is no pace; write for example every 5 weeks or every 6 feeds, or never", text)
    days = parse_days(span)
    if not 7 <= days <= 366:
        raise refusal("{text} is out of range; write every 1 week to every 52 weeks", text)
    return FlushPace(every_days=days)


def parse_rain(text: str) -> Decimal:
    """A depth of rain such as "10 mm" [mm]. Raises ValueError."""
    clean = tidy(text)
    if re.fullmatch(r"[0-9]*\.?[0-9]+", clean) and Decimal(clean) < 3:
        raise refusal("{text} has no unit; write the unit: {clean} inch", text, clean=clean)
    return within("rain", parse_length(text, "10 mm") * 10, text)


def parse_use(text: str) -> Decimal:
    """A share of full water use such as "120 %" [1 is all]; above the whole is allowed. Raises ValueError."""
    number, unit = read_number(text, "120 %")
    if unit.lower() not in ("%", "percent", "per cent"):
        raise refusal("{text} is not a share; write for example {number} %", text, number=number)
    if number > 470:
        raise refusal("{text} is more than any tree on record drinks; write at most 470 %", text)
    return number / 100


_PI = Decimal("3.141592653589793")

TAPER = Decimal("0.9")
"""What a pot holds as a share of its outer box, oval or cylinder.

Walls lean and have thickness, feet take height, and mix ends below the rim. Common practice, no source; a volume
the grower measures and writes always wins.
"""


def parse_temperature(text: str) -> Decimal:
    """A temperature such as "8 °C" or "46 °F" [°C]; below zero is allowed, and °F are taken to a tenth of a °C.

    Raises ValueError.
    """
    clean = tidy(text)
    sign = -1 if clean.startswith("-") else 1
    number, unit = read_number(clean.lstrip("-"), "8 °C")
    if unit.lower() in ("°f", "f", "fahrenheit", "ºf", "degrees f"):
        return round((sign * number - 32) * 5 / 9, 1)
    if unit.lower() not in ("°c", "c", "celsius", "ºc", "° c", "degrees c"):
        if number > 60:
            raise refusal("{text} is not a temperature; write {number} °F", text, number=sign * number)
        raise refusal("{text} is not a temperature; write {number} °C", text, number=sign * number)
    return sign * number


def parse_elevation(text: str) -> Decimal:
    """Height above the sea such as "35 m" or "115 ft" [m]; below zero is allowed. Raises ValueError."""
    clean = tidy(text)
    below = clean.startswith("-")
    if re.fullmatch(r"-? ?[0-9.]+", clean):
        raise refusal("{text} has no unit; write the unit: {clean} m", text, clean=clean)
    metres = parse_length(clean.lstrip("- "), "35 m") / 100
    return within("elevation", -metres if below else metres, text)


def parse_canopy(text: str) -> Decimal:
    """Ground covered by a crown of the size written, "40 x 40 cm" or "40 cm", taken as an oval [cm2].

    Raises ValueError.
    """
    across = [part.strip() for part in as_size(text).lower().split("x")]
    if len(across) > 2:
        raise refusal("{text} is not the width of a crown; write for example 40 x 40 cm", text)
    unit = across[-1].lstrip("0123456789. ")
    sides = [parse_length(part if part.lstrip("0123456789. ") else f"{part} {unit}") for part in across]
    if not all(sides):
        raise refusal("{text} has a measure of zero; write for example 40 x 40 cm", text)
    for side in sides:
        within("crown", side, text)
    return sides[0] * sides[-1] * _PI / 4


def parse_pot(text: str) -> Pot:
    """A container from its volume ("9 L") or its size ("30 x 22 x 7 cm", "round 25 x 9 cm").

    "shared" or "each" says whether all of a name stand in it. Raises ValueError.
    """
    if found := _WHOSE.search(text):
        pot, whose = parse_pot(_WHOSE.sub(" ", text)), found[0].lower()
        return replace(pot, words=f"{pot.words} {whose}", shared=whose == "shared")
    measure, shape = measures_and_shape(text)
    if _A_LENGTH.fullmatch(measure.lower()):
        raise refusal(
            "{text} is one side of a pot; write for example 30 x 22 x 7 cm or round 25 x 9 cm", text
        )
    is_size = measure[:1].isdigit() and "x" in as_size(measure).lower()
    if is_size or shape in ("round", "oval"):
        return _sized(text)
    litres = parse_volume(measure)
    return Pot(within("pot", litres, measure), measure)


_WHOSE = re.compile(r"\b(?:shared|each)\b", re.IGNORECASE)
_A_LENGTH = re.compile(
    r"[0-9.]+[ -]?(?:mm|cm|m|in|inch|inches|ft|\"|″|'')(?: (?:in )?(?:diameter|across|wide|round|square|deep|high))?"
)


def _sized(text: str) -> Pot:
    size = parse_size(text)
    sides = (size.length_cm, size.width_cm, size.depth_cm)
    try:
        for side, what in zip(sides, ("pot side", "pot side", "depth"), strict=True):
            within(what, side, text)
        litres = within("pot", size.litres * TAPER, text)
    except ValueError:
        millimetres = re.sub(r" ?cm\b", " mm", tidy(text))
        if min(sides) >= 10 and max(sides) <= 2000 and millimetres != tidy(text):
            raise refusal(
                "{text} is larger than any pot; did you mean '{meant}'?", text, meant=millimetres
            ) from None
        raise
    measures, shape = measures_and_shape(text)
    return Pot(litres, f"{shape} {as_size(measures)}".strip(), size.depth_cm, size.area_cm2)


def shaped_pot(
    size: str | None, shape: str | None, volume: str | None, depth: str | None, open_sided: bool
) -> Pot:
    """A container from all that is told of it; a volume that is written wins over one worked out from the size.

    Three measures of a round pot count as an oval's. Raises ValueError.
    """
    written = tidy(size or "")
    if shape is not None and not written.lower().startswith(("round", "oval")) and written:
        word = "oval" if shape == "round" and written.lower().count("x") == 2 else shape
        written = written if word == "rectangle" else f"{word} {written}"
    pot = _sized(written) if written else None
    litres = (
        within("pot", parse_volume(volume), volume) if volume is not None else pot.litres if pot else None
    )
    if litres is None:
        raise ValueError(say("says neither volume nor size; write for example {volume: 9 L}"))
    told_cm = within("depth", parse_length(depth, "20 cm"), depth) if depth is not None else None
    depth_cm = told_cm if told_cm is not None else pot.depth_cm if pot else None
    top_cm2 = pot.top_cm2 if pot else litres * 1000 / depth_cm if depth_cm else None
    words = tidy(volume or written)
    return Pot(litres, words, depth_cm, top_cm2, open_sided)


MOST_DEGREE_DAYS = 6000
MOST_CHILL_HOURS = 4000


def parse_degree_days(text: str) -> float:
    """Degree days such as "75 degree days" [° day]. Raises ValueError."""
    number, unit = read_number(text, "75 degree days")
    if unit.lower().replace("-", " ") not in ("degree days", "degree day", "°c days", "dd"):
        raise refusal(
            "{text} is not a sum of warmth; write for example {number} degree days", text, number=number
        )
    if number > MOST_DEGREE_DAYS:
        raise refusal("{text} is more than a year brings; write at most {most}", text, most=MOST_DEGREE_DAYS)
    return float(number)


def parse_amount(text: str) -> float:
    """Degree days or days, as a number alone [° day or days]. Raises ValueError."""
    number, unit = read_number(text, "25 degree days")
    if unit.lower() in ("days", "day", "d", "weeks", "week", "w"):
        return float(parse_days(text))
    if not unit:
        raise refusal("{text} has no unit; write {number} degree days or {number} days", text, number=number)
    return parse_degree_days(text)


def parse_wind(text: str) -> Decimal:
    """A wind speed such as "8 m per s" or "30 km per h" [m/s]. Raises ValueError."""
    number, unit = read_number(text, "8 m per s")
    name = unit.lower().replace(" per ", "/").replace(" ", "")
    per_unit = {"m/s": Decimal(1), "km/h": 1 / Decimal("3.6"), "mph": Decimal("0.44704")}.get(name)
    if per_unit is None:
        raise refusal("{text} is not a wind speed; write for example {number} m per s", text, number=number)
    return within("wind", round(number * per_unit, 2), text)


def parse_chill_need(text: str) -> tuple[int, str]:
    """Winter cold needed, such as "40 days" or "800 hours", as a number and "days" or "hours". Raises ValueError."""
    number, unit = read_number(text, "40 days")
    if unit.lower() not in ("hours", "hour", "h"):
        return parse_days(text), "days"
    if number > MOST_CHILL_HOURS or number != int(number):
        raise refusal("{text} is no count of hours; write 0 to {most} hours", text, most=MOST_CHILL_HOURS)
    return int(number), "hours"


def ec_meant(number: Decimal) -> str:
    """A conductivity of which only the number is told: one from 20 on is in the smaller unit."""
    return f"{number} µS/cm" if number >= 20 else f"{number} mS/cm"
