"""Atomic weights, masses of formulas, and the oxide factors that fertiliser labels need."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

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
