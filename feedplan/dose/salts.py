"""Straight salts known by their formula: grade from atomic weights, forms of nitrogen, how much of them dissolves.

What is sold is purer or poorer than the formula: trust the label, and take the formula as a ceiling. Labels print
potassium nitrate 13-0-46, monoammonium phosphate 12-61-0 (soluble grade; a field grade is 11-52-0) and potassium
sulfate 0-0-50 to 0-0-52.

Solubilities are grams in 100 g of pure water, never per litre of solution; tables in circulation mix the two up.
Between two table points a straight line is taken, at most about 2 % above the curve for the steps used here.
A second salt that shares an ion lowers every figure, so these are ceilings, not recipes.

From them follows how strong a stock bottle may be where it is kept, and what must not share one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import exp, log

from feedplan.dose.arithmetic import Product, Stock
from feedplan.dose.grade import (
    ATOMIC_WEIGHTS,
    ELEMENTAL,
    FURTHER_NUTRIENTS,
    Atoms,
    Grade,
    mass_fraction,
    molar_mass,
)
from feedplan.dose.names import SOLD, spelled
from feedplan.errors import DoseError

NITRATE, AMMONIUM, UREA = "nitrate", "ammonium", "urea"

_WATER = 18.015  # g/mol

CRC_COMMON = (
    "CRC Handbook of Chemistry and Physics, 98th edition, solubility of common salts at ambient temperatures"
)
VOGEL = "IUPAC-NIST Solubility Database (SRD 106), record 66_22 (Vogel and others), smoothing equation"
BOCHKAREV = "IUPAC-NIST Solubility Database (SRD 106), record 66_141 (0 °C)"
POLOSIN = "IUPAC-NIST Solubility Database (SRD 106), record 66_150 (0 °C)"
PERRY = "Perry's Chemical Engineers' Handbook, table 2-122"
TEXTBOOK = "published textbook pages (10 and 20 °C)"
FERTIGATION = "fertigation table printed in several places, a trade table with errors in other rows"
MEMORY = "handbook value from memory"


@dataclass(frozen=True, slots=True)
class Solubility:
    """Saturation of one salt in pure water over a range of temperatures [°C].

    points: temperature and grams in 100 g of water, coldest first. source: where the figures are from.
    """

    points: tuple[tuple[float, float], ...]
    source: str

    def at(self, temp_c: float) -> float | None:
        """Grams in 100 g of water, or None below the coldest point; above the warmest its value, a safe one."""
        (cold_c, cold), *rest = self.points
        if temp_c < cold_c:
            return None
        for warm_c, warm in rest:
            if temp_c <= warm_c:
                return cold + (warm - cold) * (temp_c - cold_c) / (warm_c - cold_c)
            cold_c, cold = warm_c, warm
        return cold


def from_molality(molar_mass: float, molalities: tuple[tuple[float, float], ...], source: str) -> Solubility:
    """Solubility from temperatures [°C] and molalities [mol per kg of water] of a salt [g/mol]."""
    return Solubility(tuple((temp_c, molality * molar_mass / 10) for temp_c, molality in molalities), source)


def from_vogel(molar_mass: float, a: float, b: float, c: float) -> Solubility:
    """Solubility from ln x = a + b/T + c ln T, x the mole fraction at saturation and T in kelvin."""
    points = []
    for temp_c in range(0, 41, 5):
        kelvin = temp_c + 273.15
        x = exp(a + b / kelvin + c * log(kelvin))
        points.append((float(temp_c), 100 * x * molar_mass / ((1 - x) * _WATER)))
    return Solubility(tuple(points), VOGEL)


def as_hydrate(anhydrous: Solubility, anhydrous_share: float) -> Solubility:
    """The same saturation in grams of hydrate per 100 g of water added, its own water counted.

    anhydrous_share: mass of the salt without its water in one mass of hydrate.
    """
    water_share = 1 - anhydrous_share
    points = tuple(
        (temp_c, grams / (anhydrous_share - grams / 100 * water_share)) for temp_c, grams in anhydrous.points
    )
    return Solubility(points, anhydrous.source)


def grams_per_litre_of_solution(grams_per_100_g: float) -> float:
    """A safe low figure for what a litre of saturated solution holds [g/L].

    Salts shrink the water they dissolve in, so a solution takes up less room than its water plus crystals of
    1.3 kg/L, lighter than any salt here; the real figure is up to a tenth higher.
    """
    return 1000 * grams_per_100_g / (100 + grams_per_100_g / 1.3)


@dataclass(frozen=True, slots=True)
class Salt:
    """One compound.

    formula: as chemists write it. atoms: of one formula unit, hydrate water among them. n_atoms: how many of its
    N atoms are nitrate, ammonium and urea.
    solubility: of the compound as it is sold, hydrate water included; None where no figure was found.
    is_oxidiser: feeds a fire, and is kept accordingly. is_restricted: in many countries; no guidance in concentrating
    it is given.
    """

    name: str
    formula: str
    atoms: Atoms
    n_atoms: Mapping[str, int]
    solubility: Solubility | None
    is_oxidiser: bool = False
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
        Solubility(((0, 12.6), (10, 21.0), (20, 31.6)), f"{BOCHKAREV}; {TEXTBOOK}"),
        is_oxidiser=True,
    ),
    Salt(
        "monopotassium phosphate",
        "KH2PO4",
        {"K": 1, "H": 2, "P": 1, "O": 4},
        {},
        from_vogel(136.08, -4.810, -1510.549, 1.128),
    ),
    Salt(
        "dipotassium phosphate",
        "K2HPO4",
        {"K": 2, "H": 1, "P": 1, "O": 4},
        {},
        Solubility(((20, 150.0),), MEMORY),
    ),
    Salt(
        "monoammonium phosphate",
        "NH4H2PO4",
        {"N": 1, "H": 6, "P": 1, "O": 4},
        {AMMONIUM: 1},
        from_vogel(115.02, 36.422, -3370.284, -4.901),
    ),
    Salt(
        "diammonium phosphate",
        "(NH4)2HPO4",
        {"N": 2, "H": 9, "P": 1, "O": 4},
        {AMMONIUM: 2},
        from_vogel(132.06, -31.639, 697.129, 4.718),
    ),
    Salt(
        "calcium nitrate tetrahydrate",
        "Ca(NO3)2.4H2O",
        _CAN4,
        {NITRATE: 2},
        as_hydrate(_CALCIUM_NITRATE, _anhydrous_share(_CAN4, 4)),
        is_oxidiser=True,
    ),
    Salt(
        "calcium ammonium nitrate double salt",
        "5Ca(NO3)2.NH4NO3.10H2O",
        {"Ca": 5, "N": 12, "O": 43, "H": 24},
        {NITRATE: 11, AMMONIUM: 1},
        # Its own figure was not found. It brings water and the very soluble ammonium nitrate, so it dissolves at
        # least as well as calcium nitrate counted without water.
        _CALCIUM_NITRATE,
        is_oxidiser=True,
    ),
    Salt(
        "magnesium nitrate hexahydrate",
        "Mg(NO3)2.6H2O",
        _MGN6,
        {NITRATE: 2},
        as_hydrate(_MAGNESIUM_NITRATE, _anhydrous_share(_MGN6, 6)),
        is_oxidiser=True,
    ),
    Salt(
        "magnesium sulfate heptahydrate",
        "MgSO4.7H2O",
        _EPSOM,
        {},
        as_hydrate(_MAGNESIUM_SULFATE, _anhydrous_share(_EPSOM, 7)),
    ),
    Salt(
        "ammonium sulfate",
        "(NH4)2SO4",
        {"N": 2, "H": 8, "S": 1, "O": 4},
        {AMMONIUM: 2},
        Solubility(((0, 70.6), (10, 72.6), (20, 75.2), (30, 77.9)), f"{CRC_COMMON}; 0 °C: {PERRY}"),
    ),
    Salt(
        "ammonium nitrate",
        "NH4NO3",
        {"N": 2, "H": 4, "O": 3},
        {NITRATE: 1, AMMONIUM: 1},
        from_molality(80.04, ((10, 18.809), (15, 21.163), (20, 23.721), (25, 26.496)), CRC_COMMON),
        is_oxidiser=True,
        is_restricted=True,
    ),
    Salt(
        "urea",
        "CO(NH2)2",
        {"C": 1, "O": 1, "N": 2, "H": 4},
        {UREA: 2},
        Solubility(((5, 78.0), (10, 85.0), (20, 106.0)), FERTIGATION),
    ),
    Salt(
        "potassium sulfate",
        "K2SO4",
        {"K": 2, "S": 1, "O": 4},
        {},
        Solubility(((5, 8.0), (10, 9.0), (20, 11.1)), FERTIGATION),
    ),
    Salt(
        "potassium chloride",
        "KCl",
        {"K": 1, "Cl": 1},
        {},
        Solubility(((0, 27.6), (20, 34.0)), f"{POLOSIN}; 20 °C: {MEMORY}"),
    ),
)

SALTS: Mapping[str, Salt] = {salt.name: salt for salt in _SALTS}
"""Every salt by its name."""


def salt_called(name: str) -> str | None:
    """The straight salt of a name, pure or as it is sold; None where there is none."""
    sold = SOLD.get(spelled(name))
    return name if name in SALTS else None if sold is None else sold.salt


# An engineering margin, not published: a second salt with an ion in common, hard water and a cold night all lower
# what stays dissolved.
SAFE_SHARE = Decimal(2) / 3


def safe_stock_g_per_l(salt: Salt, coldest_c: Decimal) -> Decimal:
    """The most of a straight salt to put in a litre of stock kept no colder than a temperature [g/L].

    Two thirds of its solubility there. Raises DoseError for a restricted salt, and where nothing is known.
    """
    if salt.is_restricted:
        raise DoseError(f"{salt.name} is restricted in many countries; no stock is worked out for it")
    grams = salt.solubility.at(float(coldest_c)) if salt.solubility is not None else None
    if grams is None:
        warm_enough = "" if salt.solubility is None else f" below {salt.solubility.points[0][0]:g} °C"
        raise DoseError(
            f"how much {salt.name} dissolves{warm_enough} is not known here; keep the stock warmer, "
            f"or weigh into the can instead"
        )
    return SAFE_SHARE * Decimal(str(round(grams_per_litre_of_solution(grams), 3)))


def check_stock(stock: Stock, salt: Salt, coldest_c: Decimal) -> None:
    """Raises DoseError when a stock of a straight salt would crystallise, or nearly, at the coldest it is kept."""
    safe = safe_stock_g_per_l(salt, coldest_c)
    if stock.per_l > safe:
        raise DoseError(
            f"{float(stock.per_l):.3g} g of {salt.name} in a litre may crystallise at {coldest_c} °C; "
            f"make it {float(safe):.3g} g or weaker"
        )


def do_clash(one: Product, other: Product) -> bool:
    """Whether two products must not share a stock bottle, though the dilute feed may hold both.

    Calcium with sulfate makes gypsum, calcium with phosphate makes calcium phosphate, and iron that is not chelated
    goes with phosphate (pairs as extension sheets and makers of fertigation gear list them). Magnesium with
    ammonium phosphate clashes only in alkaline water and is not looked for.
    """
    return _spoils(one, other) or _spoils(other, one)


def _spoils(one: Product, other: Product) -> bool:
    holds, meets = one.grade.elements, other.grade.elements
    has_phosphate, has_sulfate = meets["P"] > 0, meets.get("S", Decimal(0)) > 0
    if holds.get("Ca", Decimal(0)) > 0 and (has_phosphate or has_sulfate):
        return True
    return holds.get("Fe", Decimal(0)) > 0 and holds["P"] == 0 and has_phosphate


def bottles_for(products: Sequence[Product]) -> list[tuple[Product, ...]]:
    """The products sorted into as few bottles as come out when each goes into the first it does not clash with."""
    bottles: list[list[Product]] = []
    for product in products:
        for bottle in bottles:
            if not any(do_clash(product, there) for there in bottle):
                bottle.append(product)
                break
        else:
            bottles.append([product])
    return [tuple(bottle) for bottle in bottles]
