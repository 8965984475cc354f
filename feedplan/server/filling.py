"""What goes into one can for a mix: the amounts, the cans, the spoons, for whichever can is at hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from feedplan.dose.arithmetic import Dose, cans_needed
from feedplan.words.dose import amount_words, one_decimal, three_figures
from feedplan.words.writing import litres_words

CANS_L = (Decimal("1.5"), Decimal(5), Decimal(9), Decimal(10))
"""Cans that many growers have [L]."""

_HALF = Decimal("0.5")
# What is left in the can is worth a word from so much on [L].
_LEFT_OVER_L = Decimal("0.5")


@dataclass(frozen=True, slots=True)
class Part:
    """One product of a mix, in one can.

    dose: of any volume. amount: "6.3 g". spoons: empty without a spoon weight. is_too_small: too little to weigh.
    """

    dose: Dose
    amount: str
    spoons: str
    is_too_small: bool


@dataclass(frozen=True, slots=True)
class Filling:
    """One can of a mix. vessel: what the amounts go into. cans: how many, what is poured and left over."""

    parts: tuple[Part, ...]
    vessel: str
    cans: str

    @property
    def is_too_small(self) -> bool:
        """Whether any product is too little to weigh."""
        return any(part.is_too_small for part in self.parts)


def filling(doses: Sequence[Dose], poured_litres: Decimal, can_litres: Decimal) -> Filling:
    """The words for one can. doses: of any volume; poured_litres: what the trees get in all [L]."""
    cans = cans_needed(poured_litres, can_litres)
    litres = can_litres * min(cans, Decimal(1))
    return Filling(
        parts=tuple(_part(dose, litres) for dose in doses),
        vessel=_vessel(cans, can_litres),
        cans=f"{_cans(doses, cans, can_litres)}{_poured(poured_litres, cans * can_litres)}.",
    )


def _part(dose: Dose, litres: Decimal) -> Part:
    one = dose.for_litres(litres)
    spoons = f"{one_decimal(one.spoons)} level spoons" if one.spoons is not None else ""
    return Part(dose, amount_words(one), spoons, one.is_too_small)


def _vessel(cans: Decimal, can_litres: Decimal) -> str:
    """What the amounts go into: "in half a can, 5 L"."""
    if cans <= _HALF:
        return f"in half a can, {three_figures(can_litres / 2)} L"
    return f"in {'a' if cans <= 1 else 'each'} can of {three_figures(can_litres)} L"


def _cans(doses: Sequence[Dose], cans: Decimal, can_litres: Decimal) -> str:
    """How many cans, where it is more than one: "4½ cans, 4.2 g in all. "."""
    if cans <= 1:
        return ""
    whole = " + ".join(amount_words(dose.for_litres(cans * can_litres)) for dose in doses)
    return f"{int(cans)}{'½' if cans % 1 else ''} cans, {whole} in all. "


def _poured(poured_litres: Decimal, mixed_litres: Decimal) -> str:
    """How much is poured, and what is left over where that is worth a word."""
    left = mixed_litres - poured_litres
    words = f"Pour about {litres_words(poured_litres)}"
    if left < _LEFT_OVER_L:
        return words
    return f"{words}; about {litres_words(left)} is left over: pour it on soil in growth, never into drains or ponds"


def can_choices(habit_litres: Decimal, chosen: Decimal) -> list[tuple[str, bool]]:
    """The cans to choose from, as numbers of litres, with the one chosen; the grower's own among them."""
    cans = sorted({*CANS_L, habit_litres, chosen})
    return [(three_figures(can), can == chosen) for can in cans]
