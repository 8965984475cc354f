"""Readers for what product is measured with: the scale, and the level spoon whose weight was told."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from feedplan.dose.arithmetic import HEAVY_POWDER, LIGHT_POWDER, Scale
from feedplan.dose.measures import parse_mass, plain, read_amount, tidy, unit_called
from feedplan.load.problems import refusal
from feedplan.words.language import say


def parse_scale(text: str) -> Scale:
    """The step of a scale such as "0.1 g" or "1/8 oz", which then shows ounces. Raises ValueError."""
    grams = parse_mass(text)
    if grams <= 0:
        raise refusal("{text} is nothing; write more than 0, such as {example}", text, example="0.1 g")
    number, unit = read_amount(text, "0.1 g")
    named = unit_called(unit)
    return Scale(grams, number if named is not None and named.name == "oz" else None)


@dataclass(frozen=True, slots=True)
class Spoon:
    """What a level spoon or cup of a product weighs [g], and holds [ml]; None where nobody knows which it is."""

    grams: Decimal
    ml: Decimal | None


def parse_spoon(written: str | Mapping[str, object]) -> Spoon:
    """A level spoon: "5 g", "15 g per tbsp" or a mapping such as {tbsp: 15 g}. Raises ValueError.

    Where nobody told which spoon it is, its weight does: only one of the two holds a powder that weighs so much.
    """
    if isinstance(written, Mapping):
        if len(written) != 1:
            raise ValueError(
                say("tells more than one spoon; write one, such as {example}", example="{tbsp: 15 g}")
            )
        ((name, weight),) = written.items()
        written = f"{weight} per {name}"
    of_spoon = re.fullmatch(r"(.*?[^0-9 ]) ?/ ?(.+)", tidy(written).replace(" per ", "/"))
    mass, name = of_spoon.groups() if of_spoon is not None else (written, "")
    grams = parse_mass(mass)
    if grams <= 0:
        raise refusal("{text} is nothing; write more than 0, such as {example}", written, example="5 g")
    if not name:
        return Spoon(grams, next((ml for ml in map(_spoon_ml, ("tsp", "tbsp")) if _holds(ml, grams)), None))
    unit = unit_called(name)
    if unit is None or unit.name.split(" ")[-1] not in ("tsp", "tbsp", "cup"):
        raise refusal(
            "{text} names no spoon; write for example {grams} g per tbsp", written, grams=plain(grams)
        )
    return Spoon(grams, unit.worth * 1000)


def _spoon_ml(name: str) -> Decimal:
    unit = unit_called(name)
    assert unit is not None
    return unit.worth * 1000


def _holds(ml: Decimal, grams: Decimal) -> bool:
    return LIGHT_POWDER <= grams / ml <= HEAVY_POWDER
