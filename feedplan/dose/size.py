"""The inside of a container from its measures: across, wide and deep."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from feedplan.dose.measures import NUMBER, parse_length, quoted, tidy

_PI = Decimal("3.141592653589793")


@dataclass(frozen=True, slots=True)
class Size:
    """The inside of a container: its shape, "rectangular", "oval" or "round", and its measures [cm]."""

    shape: str
    length_cm: Decimal
    width_cm: Decimal
    depth_cm: Decimal

    @property
    def area_cm2(self) -> Decimal:
        """Open surface [cm²]."""
        box = self.length_cm * self.width_cm
        return box if self.shape == "rectangular" else box * _PI / 4

    @property
    def litres(self) -> Decimal:
        """Content to the rim with upright walls [L]."""
        return self.area_cm2 * self.depth_cm / 1000


_SIZES = {"rectangular": "30 x 22 x 7 cm", "oval": "oval 30 x 22 x 7 cm", "round": "round 25 x 9 cm"}
_TIMES = re.compile(r" ?(?:\*|(?<=[0-9a-z\"]) by (?=[0-9])) ?")


def parse_size(text: str) -> Size:
    """A container's size: "30 x 22 x 7 cm", "oval 30 x 22 x 7 cm" or "round 25 x 9 cm" (across x deep).

    The unit stands after the last number or after each. Raises ValueError, also for a measure of zero.
    """
    clean = as_size(text).lower()
    shape = next((word for word in ("round", "oval") if clean.startswith(word)), "rectangular")
    parts = [part.strip() for part in clean.removeprefix(shape).split("x")]
    if len(parts) == 2 and shape != "round":
        raise ValueError(f"{quoted(text)} has two measures; if it is round, write round {' x '.join(parts)}")
    if len(parts) != (2 if shape == "round" else 3):
        raise ValueError(f"{quoted(text)} is not a size; write for example {_SIZES[shape]}")
    lengths = [parse_length(part) for part in _with_units(parts, text)]
    if not all(lengths):
        raise ValueError(f"{quoted(text)} has a measure of zero; write for example {_SIZES[shape]}")
    return Size(shape, lengths[0], lengths[0] if shape == "round" else lengths[1], lengths[-1])


def as_size(text: str) -> str:
    """A size with the sign x between its measures, also where * or "by" stands there, or slashes in all places."""
    clean = _TIMES.sub(" x ", tidy(text))
    return clean.replace("/", " x ") if re.match(rf"{NUMBER} ?/ ?{NUMBER} ?/ ?{NUMBER}", clean) else clean


def _with_units(parts: list[str], text: str) -> list[str]:
    """The measures of a size, each with its unit; a unit on the last alone goes for all."""
    bare = [re.fullmatch(NUMBER, part) is not None for part in parts]
    if all(bare):
        raise ValueError(f"{quoted(text)} has no unit; write the unit: {' x '.join(parts)} cm")
    if not any(bare):
        return parts
    if bare[-1] or not all(bare[:-1]):
        raise ValueError(f"{quoted(text)} has a unit on some measures only; write for example 30 x 22 x 7 cm")
    unit = parts[-1].lstrip("0123456789. ")
    return [f"{part} {unit}" for part in parts[:-1]] + [parts[-1]]
