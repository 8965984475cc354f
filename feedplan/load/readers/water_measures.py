"""Readers for what only water and benches have: sun, mixes, conductivity, hardness, ions, shares above the whole.

Each takes a text and gives a value, or raises ValueError with one sentence that says what to write.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import NamedTuple

from feedplan.dose.measures import parse_days, parse_length, quoted, read_number, tidy
from feedplan.errors import FeedplanError
from feedplan.model.water import FlushPace, Substrate
from feedplan.weather.substrate import read_mix
from feedplan.weather.water_quality import (
    alkalinity_from_hydrogencarbonate,
    alkalinity_from_meq,
    hardness_from_degrees,
)


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
        raise ValueError(f"{quoted(text)} does not say how much sun; write {known}")
    return Sun(Decimal(match[1]) / 100)


def parse_substrate(text: str) -> Substrate:
    """A substrate by name or parts: "mineral", "2 akadama, 1 pumice, 1 lava". Raises ValueError."""
    words = tidy(text)
    try:
        return Substrate(words, read_mix(words))
    except FeedplanError as refusal:
        raise ValueError(str(refusal)) from None


_EC_UNITS = {"ms/cm": 1.0, "ds/m": 1.0, "us/cm": 0.001, "µs/cm": 0.001, "μs/cm": 0.001, "ms/m": 0.01}


def parse_ec(text: str) -> float:
    """A conductivity such as "0.6 mS/cm" or "600 µS/cm" [mS/cm]; zero is allowed. Raises ValueError."""
    number, unit = read_number(text, "0.6 mS/cm")
    spelled = unit.lower().replace(" per ", "/").replace(" ", "")
    if spelled in ("ppm", "mg/l", "tds"):
        raise ValueError(
            f"{quoted(text)} is a meter's guess from conductivity; read the mS/cm or µS/cm it measures instead"
        )
    if spelled not in _EC_UNITS:
        raise ValueError(f"{quoted(text)} is not a conductivity; write for example 0.6 mS/cm")
    value = float(number) * _EC_UNITS[spelled]
    if value > 10:
        raise ValueError(f"{quoted(text)} is too salty for any tree; write mS/cm up to 10, or µS/cm")
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
        raise ValueError(f"{quoted(text)} is not a hardness; write for example 250 mg/L CaCO3 or 14 °dH")
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
    raise ValueError(f"{quoted(text)} is not an alkalinity; write for example 180 mg/L CaCO3 or 3.6 meq/L")


def _within(value: float, text: str) -> float:
    if value > 2000:
        raise ValueError(f"{quoted(text)} is beyond any water for trees; write at most 2000 mg/L CaCO3")
    return value


def parse_ion(text: str) -> float:
    """A dissolved ion such as "80 mg/L" [mg/L]; zero is allowed. Raises ValueError."""
    number, unit = read_number(text, "80 mg/L")
    if unit.lower().replace(" per ", "/") not in ("mg/l", "ppm"):
        raise ValueError(f"{quoted(text)} is not what a water report gives; write for example {number} mg/L")
    if number > 5000:
        raise ValueError(f"{quoted(text)} is sea water; write at most 5000 mg/L")
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
        raise ValueError(
            f"{quoted(text)} is no pace; write for example every 6 feeds, every 5 weeks or never"
        )
    days = parse_days(span)
    if not 7 <= days <= 366:
        raise ValueError(f"{quoted(text)} is out of range; write every 1 week to every 52 weeks")
    return FlushPace(every_days=days)


def parse_rain(text: str) -> Decimal:
    """A depth of rain such as "10 mm" [mm]. Raises ValueError."""
    millimetres = parse_length(text) * 10
    if not 1 <= millimetres <= 200:
        raise ValueError(f"{quoted(text)} is no day's heavy rain; write 1 mm to 200 mm")
    return millimetres


def parse_use(text: str) -> Decimal:
    """A share of full water use such as "120 %" [1 is all]; above the whole is allowed. Raises ValueError."""
    number, unit = read_number(text, "120 %")
    if unit.lower() not in ("%", "percent", "per cent"):
        raise ValueError(f"{quoted(text)} is not a share; write for example {number} %")
    if number > 470:
        raise ValueError(f"{quoted(text)} is more than any tree on record drinks; write at most 470 %")
    return number / 100
