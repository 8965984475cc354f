"""Straight salts known by their formula: grade from atomic weights, forms of nitrogen, ions, solubility.

What is sold is purer or poorer than the formula: trust the label, and take the formula as a ceiling. Labels print
potassium nitrate 13-0-46, monoammonium phosphate 12-61-0 (soluble grade; a field grade is 11-52-0) and potassium
sulfate 0-0-50 to 0-0-52.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from feedplan.dose.chemistry import ATOMIC_WEIGHTS, Atoms, mass_fraction, molar_mass
from feedplan.dose.grade import ELEMENTAL, FURTHER_NUTRIENTS, Grade
from feedplan.dose.solubility import (
    BOCHKAREV,
    CRC_COMMON,
    FERTIGATION,
    MEMORY,
    PERRY,
    POLOSIN,
    TEXTBOOK,
    Solubility,
    as_hydrate,
    from_molality,
    from_vogel,
)

NITRATE, AMMONIUM, UREA = "nitrate", "ammonium", "urea"

OXIDISER = "An oxidiser: keep from heat, fuel, sawdust and acids, in its own closed container."
RESTRICTED = "Restricted in many countries: shown for information, no stock is worked out for it."


@dataclass(frozen=True, slots=True)
class Salt:
    """One compound.

    formula: as chemists write it. atoms: of one formula unit, hydrate water among them. n_atoms: how many of its
    N atoms are nitrate, ammonium and urea. ions: what it falls into in water, none for urea.
    solubility: of the compound as it is sold, hydrate water included; None where no figure was found.
    caution: the usual one, empty for an ordinary salt. is_restricted: no guidance in concentrating it is given.
    """

    name: str
    formula: str
    atoms: Atoms
    n_atoms: Mapping[str, int]
    ions: Mapping[str, int]
    solubility: Solubility | None
    caution: str = ""
    is_restricted: bool = False

    @property
    def molar_mass(self) -> Decimal:
        """Mass of a mole [g/mol]."""
        return molar_mass(self.atoms)

    def percent(self, element: str) -> Decimal:
        """Content of an element [percent of mass]."""
        return 100 * mass_fraction(element, self.atoms)

    @property
    def grade(self) -> Grade:
        """The pure compound's grade, elemental, Ca, Mg, S and Cl among the further nutrients."""
        others = tuple(
            (element, self.percent(element)) for element in FURTHER_NUTRIENTS if element in self.atoms
        )
        return Grade(self.percent("N"), self.percent("P"), self.percent("K"), ELEMENTAL, others)

    @property
    def nitrogen_percents(self) -> dict[str, Decimal]:
        """Nitrogen by form [percent of mass]."""
        one_atom = 100 * ATOMIC_WEIGHTS["N"] / self.molar_mass
        return {form: count * one_atom for form, count in self.n_atoms.items()}


def _anhydrous_share(atoms: Atoms, waters: int) -> float:
    return float(1 - waters * molar_mass({"H": 2, "O": 1}) / molar_mass(atoms))


_CAN4 = {"Ca": 1, "N": 2, "O": 10, "H": 8}
_MGN6 = {"Mg": 1, "N": 2, "O": 12, "H": 12}
_EPSOM = {"Mg": 1, "S": 1, "O": 11, "H": 14}

_CALCIUM_NITRATE = from_molality(
    164.09, ((10, 6.896), (15, 7.398), (20, 7.986), (25, 8.675), (30, 9.480)), CRC_COMMON
)
_MAGNESIUM_NITRATE = from_molality(
    148.31, ((10, 4.403), (15, 4.523), (20, 4.656), (25, 4.800), (30, 4.958)), CRC_COMMON
)
_MAGNESIUM_SULFATE = Solubility(((0, 22.0), (10, 28.2), (20, 33.7)), MEMORY)

_SALTS = (
    Salt(
        "potassium nitrate",
        "KNO3",
        {"K": 1, "N": 1, "O": 3},
        {NITRATE: 1},
        {"K+": 1, "NO3-": 1},
        Solubility(((0, 12.6), (10, 21.0), (20, 31.6)), f"{BOCHKAREV}; {TEXTBOOK}"),
        OXIDISER,
    ),
    Salt(
        "monopotassium phosphate",
        "KH2PO4",
        {"K": 1, "H": 2, "P": 1, "O": 4},
        {},
        {"K+": 1, "H2PO4-": 1},
        from_vogel(136.08, -4.810, -1510.549, 1.128),
    ),
    Salt(
        "dipotassium phosphate",
        "K2HPO4",
        {"K": 2, "H": 1, "P": 1, "O": 4},
        {},
        {"K+": 2, "HPO4--": 1},
        Solubility(((20, 150.0),), MEMORY),
    ),
    Salt(
        "monoammonium phosphate",
        "NH4H2PO4",
        {"N": 1, "H": 6, "P": 1, "O": 4},
        {AMMONIUM: 1},
        {"NH4+": 1, "H2PO4-": 1},
        from_vogel(115.02, 36.422, -3370.284, -4.901),
    ),
    Salt(
        "diammonium phosphate",
        "(NH4)2HPO4",
        {"N": 2, "H": 9, "P": 1, "O": 4},
        {AMMONIUM: 2},
        {"NH4+": 2, "HPO4--": 1},
        from_vogel(132.06, -31.639, 697.129, 4.718),
    ),
    Salt(
        "calcium nitrate tetrahydrate",
        "Ca(NO3)2.4H2O",
        _CAN4,
        {NITRATE: 2},
        {"Ca++": 1, "NO3-": 2},
        as_hydrate(_CALCIUM_NITRATE, _anhydrous_share(_CAN4, 4)),
        OXIDISER,
    ),
    Salt(
        "calcium ammonium nitrate double salt",
        "5Ca(NO3)2.NH4NO3.10H2O",
        {"Ca": 5, "N": 12, "O": 43, "H": 24},
        {NITRATE: 11, AMMONIUM: 1},
        {"Ca++": 5, "NH4+": 1, "NO3-": 11},
        # Its own figure was not found. It brings water and the very soluble ammonium nitrate, so it dissolves at
        # least as well as calcium nitrate counted without water.
        _CALCIUM_NITRATE,
        OXIDISER,
    ),
    Salt(
        "magnesium nitrate hexahydrate",
        "Mg(NO3)2.6H2O",
        _MGN6,
        {NITRATE: 2},
        {"Mg++": 1, "NO3-": 2},
        as_hydrate(_MAGNESIUM_NITRATE, _anhydrous_share(_MGN6, 6)),
        OXIDISER,
    ),
    Salt(
        "magnesium sulfate heptahydrate",
        "MgSO4.7H2O",
        _EPSOM,
        {},
        {"Mg++": 1, "SO4--": 1},
        as_hydrate(_MAGNESIUM_SULFATE, _anhydrous_share(_EPSOM, 7)),
    ),
    Salt(
        "ammonium sulfate",
        "(NH4)2SO4",
        {"N": 2, "H": 8, "S": 1, "O": 4},
        {AMMONIUM: 2},
        {"NH4+": 2, "SO4--": 1},
        Solubility(((0, 70.6), (10, 72.6), (20, 75.2), (30, 77.9)), f"{CRC_COMMON}; 0 °C: {PERRY}"),
    ),
    Salt(
        "ammonium nitrate",
        "NH4NO3",
        {"N": 2, "H": 4, "O": 3},
        {NITRATE: 1, AMMONIUM: 1},
        {"NH4+": 1, "NO3-": 1},
        from_molality(80.04, ((10, 18.809), (15, 21.163), (20, 23.721), (25, 26.496)), CRC_COMMON),
        f"{OXIDISER} {RESTRICTED}",
        is_restricted=True,
    ),
    Salt(
        "urea",
        "CO(NH2)2",
        {"C": 1, "O": 1, "N": 2, "H": 4},
        {UREA: 2},
        {},
        Solubility(((5, 78.0), (10, 85.0), (20, 106.0)), FERTIGATION),
    ),
    Salt(
        "potassium sulfate",
        "K2SO4",
        {"K": 2, "S": 1, "O": 4},
        {},
        {"K+": 2, "SO4--": 1},
        Solubility(((5, 8.0), (10, 9.0), (20, 11.1)), FERTIGATION),
    ),
    Salt(
        "potassium chloride",
        "KCl",
        {"K": 1, "Cl": 1},
        {},
        {"K+": 1, "Cl-": 1},
        Solubility(((0, 27.6), (20, 34.0)), f"{POLOSIN}; 20 °C: {MEMORY}"),
    ),
)

SALTS: Mapping[str, Salt] = {salt.name: salt for salt in _SALTS}
"""Every salt by its name."""
