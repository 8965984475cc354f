"""The numbers on a label, such as 24-8-16, a ratio such as 3-1-2, and what they mean in elements.

Atomic weights give the masses of formulas, and with them the oxide factors that labels need.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from feedplan.dose.measures import NUMBER, quoted, read_number, tidy

# Standard atomic weights, abridged to what a label can use; where the standard is an interval, the
# conventional value. Source: IUPAC Commission on Isotopic Abundances and Atomic Weights (CIAAW), 2021.
ATOMIC_WEIGHTS: Mapping[str, Decimal] = {
    "H": Decimal("1.008"),
    "B": Decimal("10.81"),
    "C": Decimal("12.011"),
    "N": Decimal("14.007"),
    "O": Decimal("15.999"),
    "Na": Decimal("22.990"),
    "Mg": Decimal("24.305"),
    "P": Decimal("30.974"),
    "S": Decimal("32.06"),
    "Cl": Decimal("35.45"),
    "K": Decimal("39.098"),
    "Ca": Decimal("40.078"),
    "Mn": Decimal("54.938"),
    "Fe": Decimal("55.845"),
    "Cu": Decimal("63.546"),
    "Zn": Decimal("65.38"),
    "Mo": Decimal("95.95"),
}

Atoms = Mapping[str, int]
"""How many atoms of each element one formula unit holds, such as {"K": 1, "N": 1, "O": 3}."""


def molar_mass(atoms: Atoms) -> Decimal:
    """Mass of one mole [g/mol]. Raises KeyError for an element that is not in ATOMIC_WEIGHTS."""
    return sum((ATOMIC_WEIGHTS[element] * count for element, count in atoms.items()), Decimal(0))


def mass_fraction(element: str, atoms: Atoms) -> Decimal:
    """Share of one element in a compound by mass [0 to 1]."""
    return ATOMIC_WEIGHTS[element] * atoms.get(element, 0) / molar_mass(atoms)


# Labels print these oxides although no feed holds them; each row: oxide, its element, its atoms.
_OXIDES: tuple[tuple[str, str, Atoms], ...] = (
    ("P2O5", "P", {"P": 2, "O": 5}),
    ("K2O", "K", {"K": 2, "O": 1}),
    ("CaO", "Ca", {"Ca": 1, "O": 1}),
    ("MgO", "Mg", {"Mg": 1, "O": 1}),
    ("SO3", "S", {"S": 1, "O": 3}),
    ("Na2O", "Na", {"Na": 2, "O": 1}),
)

ELEMENT_OF_OXIDE: Mapping[str, str] = {oxide: element for oxide, element, _ in _OXIDES}

OXIDE_FACTORS: Mapping[str, Decimal] = {
    element: mass_fraction(element, atoms).quantize(Decimal("0.00001")) for _, element, atoms in _OXIDES
}
"""Mass of element in one mass of its oxide, to five decimals: P 0.43643, K 0.83015, and so on.

Sources differ by rounding only. Chosen here: the value from atomic weights. The International Fertilizer
Association prints four decimals (P 0.4364, K 0.8302); fertiliser law rounds to three (Regulation (EC)
2003/2003, Art. 6(4), and the UK rules: P 0.436, K 0.830, Ca 0.715, Mg 0.603, S 0.400, Na 0.742).
At label precision the three agree within 0.1 %.
"""


OXIDE = "oxide"
ELEMENTAL = "elemental"

# Nutrients a label may add to N, P and K, always kept as elements: labels print some as oxides (CaO, MgO, SO3) and some
# not, and only elements can be added up.
FURTHER_NUTRIENTS = ("Ca", "Mg", "S", "Na", "Cl", "Fe", "Mn", "Zn", "Cu", "B", "Mo")

_PERCENT = r"([0-9]{1,3}(?:\.[0-9]{1,4})?)"
_GRADE = rf"{_PERCENT} ?- ?{_PERCENT} ?- ?{_PERCENT}"
_RATIO = rf"{_PERCENT} ?: ?{_PERCENT} ?: ?{_PERCENT}"
_RATIO_WITH_TOTAL = rf"{_RATIO} ?\( ?{_PERCENT} ?\)"


@dataclass(frozen=True, slots=True)
class Grade:
    """The three numbers of a label, as printed [percent], and the basis they are printed on.

    n is total nitrogen. p and k are P2O5 and K2O on the oxide basis (the label law of the EU, the UK, the US and
    most of Asia), P and K on the elemental one (Australia, South Africa; common practice in New Zealand and the
    Nordic countries). Which it is cannot be seen from the numbers: read an elemental label as oxide and the real P
    is 2.3 times what was worked out. others: further nutrients as elements [percent].
    Raises ValueError for a number below 0 or a sum above 100.
    """

    n: Decimal
    p: Decimal
    k: Decimal
    basis: str = OXIDE
    others: tuple[tuple[str, Decimal], ...] = ()

    def __post_init__(self) -> None:
        if self.basis not in (OXIDE, ELEMENTAL):
            raise ValueError(f"{self.basis!r} is not a basis for a grade; write {OXIDE} or {ELEMENTAL}")
        if min(self.n, self.p, self.k) < 0 or self.n + self.p + self.k > 100:
            raise ValueError(
                f"grade {self} must be three percentages that sum to 100 at most, such as 24-8-16"
            )

    def __str__(self) -> str:
        return "-".join(f"{number.normalize():f}" for number in (self.n, self.p, self.k))

    @property
    def elements(self) -> dict[str, Decimal]:
        """Every nutrient as element [percent], N, P and K first."""
        p, k = self.p, self.k
        if self.basis == OXIDE:
            p, k = p * OXIDE_FACTORS["P"], k * OXIDE_FACTORS["K"]
        return {"N": self.n, "P": p, "K": k, **dict(self.others)}


def parse_grade(text: str, basis: str = OXIDE) -> Grade:
    """The grade a label prints, such as "24-8-16", on the basis said.

    The South African form "4:3:4(33)", a ratio and a total, is elemental by its law (Act 36 of 1947), whatever
    basis says. Raises ValueError for anything else, a bare ratio such as 3:1:2 among it.
    """
    clean = tidy(text)
    if match := re.fullmatch(_GRADE, clean):
        n, p, k = (Decimal(number) for number in match.groups())
        return Grade(n, p, k, basis)
    if match := re.fullmatch(_RATIO_WITH_TOTAL, clean):
        return _from_ratio_with_total([Decimal(number) for number in match.groups()], text)
    if re.fullmatch(_RATIO, clean):
        raise ValueError(f"{quoted(text)} is a ratio, not a grade; write the percentages, such as 24-8-16")
    raise ValueError(f"{quoted(text)} is not a grade; write the label's three percentages, such as 24-8-16")


def _from_ratio_with_total(numbers: list[Decimal], text: str) -> Grade:
    """The grade of a ratio and the total of all three [percent]."""
    *parts, total = numbers
    if not sum(parts):
        raise ValueError(f"{quoted(text)} is a ratio of nothing; write for example 4:3:4(33)")
    n, p, k = (total * part / sum(parts) for part in parts)
    return Grade(n, p, k, ELEMENTAL)


def with_nutrients(grade: Grade, percents: Mapping[str, Decimal]) -> Grade:
    """The grade with further nutrients, named as the label does, such as {"MgO": 2, "Fe": 0.1} [percent].

    Oxides are turned into elements. Raises ValueError for a nutrient not known, named twice (as oxide and as
    element), or outside 0 to 100.
    """
    elements: dict[str, Decimal] = {}
    for name, percent in percents.items():
        element = ELEMENT_OF_OXIDE.get(name, name)
        if element not in FURTHER_NUTRIENTS:
            raise ValueError(f"{quoted(name)} is not a nutrient; write one of {', '.join(FURTHER_NUTRIENTS)}")
        if element in elements:
            raise ValueError(f"{element} is given twice; write it once, as element or as oxide")
        if not 0 <= percent <= 100:
            raise ValueError(f"{name} {percent} is not a percentage; write 0 to 100")
        elements[element] = percent * (OXIDE_FACTORS[element] if name != element else 1)
    return replace(grade, others=tuple(elements.items()))


def parse_content(text: str) -> tuple[str, Decimal]:
    """A further nutrient of a label such as "Fe 6 %" or "MgO 16 %": its name and percent. Raises ValueError."""
    name, _, percent = tidy(text).partition(" ")
    number, unit = read_number(percent or "0", "Fe 6 %")
    if unit not in ("", "%") or not percent:
        raise ValueError(f"{quoted(text)} is no content; write for example 'Fe 6 %'")
    return name, number


_NPK_RATIO = rf"({NUMBER}) ?[-:] ?({NUMBER}) ?[-:] ?({NUMBER})(?: (?:as )?(\w+))?"
_RATIO_EXAMPLE = "'3-1-2 oxide' (as labels print it) or '100-13-65 elemental'"
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
    match = re.fullmatch(_NPK_RATIO, tidy(text).lower())
    if match is None:
        raise ValueError(f"{quoted(text)} is not a ratio of N, P and K; write {_RATIO_EXAMPLE}")
    n, p, k = (Decimal(number) for number in match.groups()[:3])
    if match[4] is None:
        raise ValueError(f"{quoted(text)} does not say what P and K are counted as; write {_RATIO_EXAMPLE}")
    if match[4] not in _BASES:
        raise ValueError(f"{quoted(match[4])} is not a way to count P and K; write oxide or elemental")
    if n == 0:
        raise ValueError(f"{quoted(text)} has no nitrogen, which sets the strength; write {_RATIO_EXAMPLE}")
    return Ratio(n, p, k, _BASES[match[4]])
