"""The forms in which feeds come: one row each, and every rule that goes by the form reads its row."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from feedplan.dose.release import (
    CAKE,
    COMPOST,
    MANURE,
    MEAL,
    PELLETS,
    CurveOfLabel,
    Organic,
    coated_curve,
)


@dataclass(frozen=True, slots=True)
class Form:
    """How a feed comes, which decides how it is measured, where it goes and how long it lasts.

    name: as `form:` has it. unit: what it is measured in, "g" or "ml". curve: how one that is laid on pots gives off
    its nitrogen, by its label's shortest and longest time [days] and their temperature [°C]; None for one that
    dissolves in a can. usual_days: its release time where no label tells one [days]. released: share of its N that
    comes free in a season where no label tells it, None for one that gives all [0 to 1]. lag_days: before it begins to
    give where it lies on the surface, at 15 °C [days]. once_spent: laid anew only when the last is spent.
    draws_animals: it has to be covered.
    """

    name: str
    unit: str = "g"
    curve: CurveOfLabel | None = None
    usual_days: int | None = None
    released: Decimal | None = None
    lag_days: int = 0
    once_spent: bool = False
    draws_animals: bool = False

    @property
    def is_solid(self) -> bool:
        """Whether it is laid on the pot or mixed in, not dissolved in a can."""
        return self.curve is not None

    def __str__(self) -> str:
        return self.name


def _organic(name: str, kind: Organic, *, draws_animals: bool = False) -> Form:
    """The row of an organic feed as trials found it."""
    return Form(
        name,
        curve=kind.curve,
        usual_days=kind.days,
        released=kind.released,
        lag_days=kind.lag_days,
        draws_animals=draws_animals,
    )


_ROWS = (
    Form("soluble"),
    Form("liquid", unit="ml"),
    Form("coated", curve=coated_curve, once_spent=True),
    _organic("organic", MEAL, draws_animals=True),
    _organic("pellets", PELLETS, draws_animals=True),
    _organic("cake", CAKE, draws_animals=True),
    _organic("manure", MANURE),
    _organic("compost", COMPOST),
)

FORMS: Mapping[str, Form] = {form.name: form for form in _ROWS}
"""Every form by its name, in the order they are told in. A new kind of feed is one more row above."""

SOLID = tuple(form for form in _ROWS if form.is_solid)
DISSOLVING = tuple(form for form in _ROWS if not form.is_solid)
