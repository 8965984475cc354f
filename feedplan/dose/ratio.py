"""The ratio of nitrogen, phosphorus and potassium that a feed is meant to have, as a grower writes it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from feedplan.dose.grade import ELEMENTAL, OXIDE
from feedplan.dose.measures import NUMBER, quoted, tidy

_RATIO = rf"({NUMBER}) ?[-:] ?({NUMBER}) ?[-:] ?({NUMBER})(?: (?:as )?(\w+))?"
_EXAMPLE = "'3-1-2 oxide' (as labels print it) or '100-13-65 elemental'"
_BASES = {
    "oxide": OXIDE,
    "oxides": OXIDE,
    "elemental": ELEMENTAL,
    "element": ELEMENTAL,
    "elements": ELEMENTAL,
}


@dataclass(frozen=True, slots=True)
class Ratio:
    """Parts of N, P and K by weight, P and K as P2O5 and K2O on the oxide basis. n is above 0."""

    n: Decimal
    p: Decimal
    k: Decimal
    basis: str

    @property
    def parts(self) -> tuple[Decimal, Decimal, Decimal]:
        """The three parts in order."""
        return (self.n, self.p, self.k)

    def __str__(self) -> str:
        numbers = "-".join(f"{part.normalize():f}" for part in self.parts)
        return f"{numbers} {self.basis}"


def parse_npk_ratio(text: str) -> Ratio:
    """A ratio such as "3-1-2 oxide" or "100-13-65 elemental". Raises ValueError, also without the basis.

    The basis is never guessed: 3-1-2 as oxides holds less than half the P of 3-1-2 as elements.
    """
    match = re.fullmatch(_RATIO, tidy(text).lower())
    if match is None:
        raise ValueError(f"{quoted(text)} is not a ratio of N, P and K; write {_EXAMPLE}")
    n, p, k = (Decimal(number) for number in match.groups()[:3])
    if match[4] is None:
        raise ValueError(f"{quoted(text)} does not say what P and K are counted as; write {_EXAMPLE}")
    if match[4] not in _BASES:
        raise ValueError(f"{quoted(match[4])} is not a way to count P and K; write oxide or elemental")
    if n == 0:
        raise ValueError(f"{quoted(text)} has no nitrogen, which sets the strength; write {_EXAMPLE}")
    return Ratio(n, p, k, _BASES[match[4]])
