"""A strength told by another nutrient than nitrogen: chelated iron, magnesium and others with a target of their own."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from feedplan.dose.arithmetic import MOST_PER_L, Dose, Product
from feedplan.dose.grade import FURTHER_NUTRIENTS
from feedplan.dose.measures import NUMBER, quoted, read_number, tidy
from feedplan.errors import DoseError

_TARGET = rf"({NUMBER}) ?(?:mg|ppm) ?([A-Za-z]{{1,2}})(?: ?(?:/|per) ?l(?:itre)?)?"
_NUTRIENTS = ("N", "P", "K", *FURTHER_NUTRIENTS)


@dataclass(frozen=True, slots=True)
class NutrientTarget:
    """So much of one nutrient, as element, in a litre of feed [mg]."""

    element: str
    mg_per_l: Decimal

    def __str__(self) -> str:
        return f"{self.mg_per_l.normalize():f} mg {self.element} per litre"


def parse_nutrient_target(text: str) -> NutrientTarget:
    """A target such as "2 mg Fe per L". Raises ValueError."""
    match = re.fullmatch(_TARGET, tidy(text), re.IGNORECASE)
    element = match[2].capitalize() if match is not None else ""
    if match is None or element not in _NUTRIENTS or Decimal(match[1]) == 0:
        known = ", ".join(_NUTRIENTS)
        raise ValueError(
            f"{quoted(text)} is no target; write for example '2 mg Fe per L', with one of {known}"
        )
    return NutrientTarget(element, Decimal(match[1]))


def parse_content(text: str) -> tuple[str, Decimal]:
    """A further nutrient of a label such as "Fe 6 %" or "MgO 16 %": its name and percent. Raises ValueError."""
    name, _, percent = tidy(text).partition(" ")
    number, unit = read_number(percent or "0", "Fe 6 %")
    if unit not in ("", "%") or not percent:
        raise ValueError(f"{quoted(text)} is no content; write for example 'Fe 6 %'")
    return name, number


def dose_for_nutrient(product: Product, target: NutrientTarget, litres: Decimal, cap: bool = False) -> Dose:
    """The mix that holds so much of a nutrient; above the label maximum cut when cap is set, and refused otherwise.

    Raises DoseError for that, and for a product without the nutrient.
    """
    mg = product.mg_per_unit.get(target.element, Decimal(0))
    if not mg:
        raise DoseError(
            f"{product.title} holds no {target.element} as far as is told; add --contains '{target.element} 6 %'"
        )
    asked = target.mg_per_l / mg
    highest = product.highest_per_l if product.highest_per_l is not None else MOST_PER_L
    if asked > highest and not cap:
        raise DoseError(
            f"{product.title}: {target} takes {asked:.3g} {product.unit}/L, above {highest:.3g}; ask for less"
        )
    return Dose(product, litres, min(asked, highest), asked)
