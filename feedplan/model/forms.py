"""The forms in which feeds come: one row each, and every rule that goes by the form reads its row."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from feedplan.dose.release import Curve, coated_curve, meal_curve


@dataclass(frozen=True, slots=True)
class Form:
    """How a feed comes, which decides how it is measured, where it goes and how long it lasts.

    name: as `form:` has it. unit: what it is measured in, "g" or "ml". curve: how one that is laid on pots gives off
    its nitrogen, by its label's shortest and longest time [days] and their temperature [°C]; None for one that
    dissolves in a can. usual_days: its release time where no label tells one [days]. released: share of its N that
    comes free in a season where no label tells it, None for one that gives all [0 to 1]. once_spent: laid anew only
    when the last is spent. draws_animals: it has to be covered.
    """

    name: str
    unit: str = "g"
    curve: Callable[[float, float, float], Curve] | None = None
    usual_days: int | None = None
    released: Decimal | None = None
    once_spent: bool = False
    draws_animals: bool = False

    @property
    def is_solid(self) -> bool:
        """Whether it is laid on the pot or mixed in, not dissolved in a can."""
        return self.curve is not None

    def __str__(self) -> str:
        return self.name


_ROWS = (
    Form("soluble"),
    Form("liquid", unit="ml"),
    Form("coated", curve=coated_curve, once_spent=True),
    # 8-week means of four high-nitrogen meals were 60 to 66 % of their organic N (Hartz and Johnstone 2006,
    # HortTechnology 16, abstract read). The highest is taken, so that the season's N is counted high rather than low;
    # the days are the length of those trials.
    Form("organic", curve=meal_curve, usual_days=56, released=Decimal("0.66"), draws_animals=True),
)

FORMS: Mapping[str, Form] = {form.name: form for form in _ROWS}
"""Every form by its name, in the order they are told in. A new kind of feed is one more row above."""

SOLID = tuple(form for form in _ROWS if form.is_solid)
DISSOLVING = tuple(form for form in _ROWS if not form.is_solid)
