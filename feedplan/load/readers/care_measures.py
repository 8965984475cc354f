"""Readers for the few measures that only a collection or schedule has: budgets, densities, temperatures, pots."""

from __future__ import annotations

import re
from decimal import Decimal

from feedplan.dose.measures import (
    parse_length,
    parse_mass,
    parse_size,
    parse_volume,
    quoted,
    read_number,
    tidy,
)
from feedplan.model.collection import Pot

_PI = Decimal("3.141592653589793")

TAPER = Decimal("0.9")
"""What a pot holds as a share of its outer box, oval or cylinder.

Walls lean and have thickness, feet take height, and mix ends below the rim. Common practice, no source; a volume
the grower measures and writes always wins.
"""


def parse_temperature(text: str) -> Decimal:
    """A temperature such as "8 °C" [°C]; below zero is allowed. Raises ValueError."""
    clean = tidy(text)
    sign = -1 if clean.startswith("-") else 1
    number, unit = read_number(clean.lstrip("-"), "8 °C")
    if unit.lower() in ("°f", "f", "fahrenheit", "ºf"):
        raise ValueError(f"{quoted(text)} is in Fahrenheit; write {round((sign * number - 32) * 5 / 9)} °C")
    if unit.lower() not in ("°c", "c", "celsius", "ºc", "° c", "degrees c"):
        raise ValueError(f"{quoted(text)} is not a temperature; write for example {number} °C")
    return sign * number


def parse_elevation(text: str) -> Decimal:
    """Height above the sea such as "35 m" or "115 ft" [m]; below zero is allowed. Raises ValueError."""
    clean = tidy(text)
    below = clean.startswith("-")
    if re.fullmatch(r"-? ?[0-9.]+", clean):
        raise ValueError(f"{quoted(text)} has no unit; write the unit: {clean} m")
    metres = parse_length(clean.lstrip("- ")) / 100
    if metres > (500 if below else 6000):
        raise ValueError(f"{quoted(text)} is no height trees are kept at; write -500 m to 6000 m")
    return -metres if below else metres


def parse_density(text: str) -> Decimal:
    """The density of a liquid such as "1.15 kg per L" [kg/L]. Raises ValueError."""
    mass, slash, volume = tidy(text).replace(" per ", "/").partition("/")
    if not slash or not volume.strip():
        raise ValueError(f"{quoted(text)} is not a density; write for example 1.15 kg per L")
    volume = volume.strip()
    litres = parse_volume(volume if volume[0].isdigit() else f"1 {volume}")
    grams = parse_mass(mass)
    if not litres or not Decimal("0.8") <= (density := grams / litres / 1000) <= 2:
        raise ValueError(f"{quoted(text)} is no density of a liquid feed; write 0.8 kg per L to 2 kg per L")
    return density


def parse_budget(text: str) -> Decimal:
    """Nitrogen for a season such as "360 mg N per L" of container [mg/L]. Raises ValueError."""
    number, unit = read_number(text, "360 mg N per L")
    if not re.fullmatch(r"mg n ?(?:/|per) ?l(?:itre)?", unit.lower()):
        raise ValueError(f"{quoted(text)} is not a budget; write for example 360 mg N per L")
    if number > 5000:
        raise ValueError(f"{quoted(text)} is far beyond any tree's need; write 5000 mg N per L at the most")
    return number


def parse_ppm_n(text: str) -> Decimal:
    """Nitrogen in the can such as "50 ppm N" [mg/L]; zero is allowed. Raises ValueError."""
    number, unit = read_number(text, "50 ppm N")
    if unit.lower() not in ("ppm n", "mg n per l", "mg n/l", "mg/l n"):
        raise ValueError(f"{quoted(text)} is not a strength; write for example {number} ppm N")
    if number > 2000:
        raise ValueError(f"{quoted(text)} is above 2000 ppm N; feeds for trees are 20 to 200 ppm N")
    return number


def parse_canopy(text: str) -> Decimal:
    """Ground covered by a crown of the size written, "40 x 40 cm" or "40 cm", taken as an oval [cm2].

    Raises ValueError.
    """
    across = [part.strip() for part in tidy(text).lower().split("x")]
    if len(across) > 2:
        raise ValueError(f"{quoted(text)} is not the width of a crown; write for example 40 x 40 cm")
    unit = across[-1].lstrip("0123456789. ")
    sides = [parse_length(part if part.lstrip("0123456789. ") else f"{part} {unit}") for part in across]
    if not all(sides):
        raise ValueError(f"{quoted(text)} has a measure of zero; write for example 40 x 40 cm")
    return sides[0] * sides[-1] * _PI / 4


LARGEST_LITRES = Decimal(5000)


def parse_pot(text: str) -> Pot:
    """A container from its volume ("9 L") or its size ("30 x 22 x 7 cm", "round 25 x 9 cm"). Raises ValueError."""
    if "x" in tidy(text).lower() or text.lower().startswith(("round", "oval")):
        return _sized(text)
    litres = parse_volume(text)
    return Pot(check_litres(litres, text), tidy(text))


def _sized(text: str) -> Pot:
    size = parse_size(text)
    litres = check_litres(size.litres * TAPER, text)
    return Pot(litres, tidy(text), size.depth_cm, size.area_cm2)


def check_litres(litres: Decimal, text: str) -> Decimal:
    """The volume, if a tree can stand in it [L]. Raises ValueError."""
    if litres < Decimal("0.005"):
        raise ValueError(f"{quoted(text)} holds nothing; write the pot's volume, such as 0.5 L")
    if litres > LARGEST_LITRES:
        raise ValueError(f"{quoted(text)} holds {litres:.0f} L; write at most {LARGEST_LITRES} L")
    return litres


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
    litres = check_litres(parse_volume(volume), volume) if volume is not None else pot.litres if pot else None
    if litres is None:
        raise ValueError("says neither volume nor size; write for example {volume: 9 L}")
    depth_cm = parse_length(depth) if depth is not None else pot.depth_cm if pot else None
    if depth_cm is not None and depth_cm <= 0:
        raise ValueError(f"{quoted(depth or '')} is no depth; write for example 20 cm")
    top_cm2 = pot.top_cm2 if pot else litres * 1000 / depth_cm if depth_cm else None
    words = tidy(volume or written)
    return Pot(litres, words, depth_cm, top_cm2, open_sided)
