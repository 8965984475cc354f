"""What a conductivity pen should show in the mixed feed, how sure that is, and when it cannot be said.

Ions first: what each carries at a temperature and an ionic strength, added up. Method: McCleskey, Nordstrom, Ryan and
Ball, "A new method of calculating electrical conductivity with applications to natural waters", Geochimica et
Cosmochimica Acta 77 (2012) 369-382: the conductivity is the sum over free ions of molality times
lambda = lambda0(t) - A(t) sqrt(I) / (1 + B sqrt(I)). Ions that have paired up carry less, so the pairs are taken out
first. Meant for dilute feed (ionic strength below 0.1 mol/kg), 5 to 35 °C.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from functools import lru_cache
from math import sqrt

from feedplan.dose.arithmetic import Dose, Product
from feedplan.dose.grade import ATOMIC_WEIGHTS
from feedplan.dose.salts import AMMONIUM, NITRATE, UREA

Quadratic = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Ion:
    """One ion: charge, and lambda0 and A as quadratics in the temperature [°C], per mole
    [S cm²/mol and S cm²/mol per sqrt(mol/kg)], and B."""

    charge: int
    lambda0: Quadratic
    a: Quadratic
    b: float

    def conductivity(self, temp_c: float, ionic_strength: float) -> float:
        """What a mole of it carries [S cm²/mol] at a temperature [°C] and ionic strength [mol/kg]."""
        root = sqrt(ionic_strength)
        return _at(self.lambda0, temp_c) - _at(self.a, temp_c) * root / (1 + self.b * root)

    def times(self, factor: float) -> Ion:
        """An ion like this one that carries a fixed share as much."""
        scaled = [tuple(factor * number for number in numbers) for numbers in (self.lambda0, self.a)]
        (x2, x1, x0), (y2, y1, y0) = scaled
        return Ion(self.charge, (x2, x1, x0), (y2, y1, y0), self.b)


def _at(numbers: Quadratic, temp_c: float) -> float:
    squared, linear, constant = numbers
    return squared * temp_c**2 + linear * temp_c + constant


# McCleskey and others (2012), table of ionic molal conductivities.
_MEASURED = {
    "K+": Ion(1, (0.003046, 1.261, 40.70), (0.00535, 0.9316, 22.59), 1.5),
    "Na+": Ion(1, (0.003763, 0.8770, 26.23), (0.00027, 1.141, 32.07), 1.7),
    "NH4+": Ion(1, (0.003341, 1.285, 39.04), (0.00132, 0.6070, 11.19), 0.3),
    "Ca++": Ion(2, (0.009645, 1.984, 62.28), (0.03174, 2.334, 132.3), 2.8),
    "Mg++": Ion(2, (0.01068, 1.695, 57.16), (0.02453, 1.915, 80.50), 2.1),
    "Cl-": Ion(-1, (0.003817, 1.337, 40.99), (0.00613, 0.9469, 22.01), 1.5),
    "SO4--": Ion(-2, (0.01037, 2.838, 82.37), (0.03324, 5.889, 193.5), 2.6),
    "NO3-": Ion(-1, (0.001925, 1.214, 39.90), (0.00118, 0.5045, 23.31), 0.1),
    "HCO3-": Ion(-1, (0.000614, 0.9048, 21.14), (-0.00503, 0.8957, 10.97), 0.1),
}

# The 2012 table has no phosphate. Limiting values at 25 °C from the CRC Handbook (36.0 for H2PO4-, 57 for half of
# HPO4--); temperature and ionic strength as for the ion of the same charge and like size. Diffusion coefficients in
# the USGS PHREEQC database give 31.8 and 51.8, a tenth less: under 2 % in a complete feed, 5 % in a pure phosphate.
IONS: Mapping[str, Ion] = {
    **_MEASURED,
    "H2PO4-": _MEASURED["HCO3-"].times(36.0 / 44.5),
    "HPO4--": _MEASURED["SO4--"].times(57.0 / 80.0),
    "CaSO4": Ion(0, (0, 0, 0), (0, 0, 0), 0),
    "MgSO4": Ion(0, (0, 0, 0), (0, 0, 0), 0),
}

# Pairs with sulfate and their association constants at 25 °C (USGS PHREEQC database, phreeqc.dat, log K). Those of
# potassium and ammonium are left out: the table's sulfate was measured with them in, and comes out right without.
PAIRS = {"Ca++": ("CaSO4", 10**2.25), "Mg++": ("MgSO4", 10**2.37)}


def ionic_strength(ions: Mapping[str, float]) -> float:
    """Ionic strength of a solution of ions [mol/kg each] by charge [mol/kg]."""
    return 0.5 * sum(amount * IONS[name].charge ** 2 for name, amount in ions.items())


def conductivity_ms_cm(ions_mmol_per_l: Mapping[str, float], temp_c: float = 25.0) -> float:
    """Conductivity of a dilute solution of ions [mmol/L each] at a temperature [°C], not corrected to 25 [mS/cm].

    Raises KeyError for an ion that is not in IONS.
    """
    free = _paired_off({name: amount / 1000 for name, amount in ions_mmol_per_l.items() if amount})
    strength = ionic_strength(free)
    return sum(amount * IONS[name].conductivity(temp_c, strength) for name, amount in free.items())


def _paired_off(total: Mapping[str, float]) -> dict[str, float]:
    """The same solution with cations and sulfate paired up as far as they do [mol/kg]."""
    cations = [name for name in PAIRS if name in total]
    if "SO4--" not in total or not cations:
        return dict(total)
    free, sulfate = dict(total), total["SO4--"]
    for _ in range(50):  # settles within 1e-9 in about 20 rounds at feed strength
        bound = {}
        for cation in cations:
            association = PAIRS[cation][1]
            pull = association * _activity_ratio(cation, ionic_strength(free)) * sulfate
            bound[cation] = total[cation] * pull / (1 + pull)
        sulfate = (sulfate + max(total["SO4--"] - sum(bound.values()), 0.0)) / 2
        free = {**total, "SO4--": sulfate}
        for cation, amount in bound.items():
            free[cation] = total[cation] - amount
            free[PAIRS[cation][0]] = amount
    return free


def _activity_ratio(cation: str, strength: float) -> float:
    """Activity coefficients of cation times sulfate, their pair being neutral (Davies equation, 25 °C)."""
    root = sqrt(strength)
    squares = IONS[cation].charge ** 2 + IONS["SO4--"].charge ** 2
    return float(10 ** (-0.509 * squares * (root / (1 + root) - 0.3 * strength)))


# Linear temperature coefficient referred to 25 °C [1/°C]: KCl standards give 0.0189 to 0.0197 over 15 to 30 °C,
# natural waters 0.0175 to 0.0198 (Hayashi 2004, Environmental Monitoring and Assessment 96:119-128).
ALPHA = 0.0191


def ec_at(ec25_ms_cm: float, temp_c: float) -> float:
    """What a meter without compensation shows at a water temperature [mS/cm], from the value at 25 °C."""
    return ec25_ms_cm * (1 + ALPHA * (temp_c - 25))


def ec_at_25(ec_ms_cm: float, temp_c: float) -> float:
    """The value at 25 °C of a reading taken without compensation at a water temperature [mS/cm]."""
    return ec_ms_cm / (1 + ALPHA * (temp_c - 25))


# How far the value may be off [share]. Own figure: labels print two digits, for one strength. Ions: the method is
# within 3 % of published single salts at feed strength; technical purity, phosphate and magnesium sulfate add to it.
OWN_FIGURE_SHARE = 0.05
IONS_SHARE = 0.10

STRONGEST_MOL_PER_L = 0.1
"""Ionic strength up to which the method was compared with measured salts."""

# A feed that adds less than this cannot be told from water with a cheap pen [mS/cm], and one whose highest expected
# addition is more than so many times its lowest cannot be told from a wrong dose. Judgement.
LEAST_SEEN_MS_CM, WIDEST = 0.05, 1.5


class EcMethod(StrEnum):
    """How an expected conductivity was found."""

    OWN_FIGURE = "own figure"
    BY_IONS = "ions"
    BY_RANGE = "range"


class EcLimit(StrEnum):
    """What limits the use of an expected conductivity."""

    FORMS_UNKNOWN = "forms of nitrogen unknown"
    TOO_WIDE = "too wide"
    UREA = "urea"
    STRONG = "stronger than the method reaches"


@dataclass(frozen=True, slots=True)
class ExpectedEc:
    """Conductivity at 25 °C [mS/cm]: most likely, lowest, highest, how it was found and what limits its use.

    water_ms_cm: the water's own part in it, 0 for what a feed adds alone. limits: empty when it is good enough to catch
    a doubled dose.
    """

    likely: float
    low: float
    high: float
    methods: tuple[EcMethod, ...]
    limits: tuple[EcLimit, ...] = ()
    water_ms_cm: float = 0.0

    @property
    def is_telling(self) -> bool:
        """Whether a pen that shows it tells the right dose from a wrong one, and from plain water."""
        low, high = self.low - self.water_ms_cm, self.high - self.water_ms_cm
        return low >= LEAST_SEEN_MS_CM and high <= WIDEST * low

    def uncorrected_at(self, temp_c: float) -> float:
        """What a meter without compensation shows at a water temperature [mS/cm], most likely."""
        return ec_at(self.likely, temp_c)


ION_OF_ELEMENT = {
    "P": "H2PO4-",
    "K": "K+",
    "Ca": "Ca++",
    "Mg": "Mg++",
    "S": "SO4--",
    "Cl": "Cl-",
    "Na": "Na+",
}
_ION_OF_FORM = {NITRATE: "NO3-", AMMONIUM: "NH4+"}


def expected_ec(
    dose: Dose,
    ec_per_100_ppm_n: float | None = None,
    nitrogen_percents: Mapping[str, Decimal] | None = None,
) -> ExpectedEc:
    """What one product adds to the water's conductivity at 25 °C [mS/cm].

    ec_per_100_ppm_n: the label's figure [mS/cm per 100 mg N/L]; used before anything else.
    nitrogen_percents: nitrate, ammonium and urea N of the product [percent of it]; None where not known.
    Raises ValueError for forms of nitrogen that do not sum to the grade within half a percent.
    """
    if ec_per_100_ppm_n is not None:
        added = ec_per_100_ppm_n * float(dose.n_mg_per_l) / 100
        return _around(added, OWN_FIGURE_SHARE, EcMethod.OWN_FIGURE)
    if nitrogen_percents is None:
        return _between(dose)
    _check_forms(dose, nitrogen_percents)
    ions = feed_ions(dose, nitrogen_percents)
    added = conductivity_ms_cm(ions)
    limits: tuple[EcLimit, ...] = (EcLimit.UREA,) if nitrogen_percents.get(UREA, Decimal(0)) > 0 else ()
    if ionic_strength({ion: amount / 1000 for ion, amount in ions.items()}) > STRONGEST_MOL_PER_L:
        limits += (EcLimit.STRONG,)
    return _around(added, IONS_SHARE, EcMethod.BY_IONS, limits)


def together(parts: Iterable[ExpectedEc], water_ms_cm: float) -> ExpectedEc:
    """What some products and the water add up to. parts: what each adds; water_ms_cm: of the water alone [mS/cm].

    Each part is found on its own, which counts a feed of several salts a little too high: ions in company carry less.
    """
    found = list(parts)
    return ExpectedEc(
        water_ms_cm + sum(part.likely for part in found),
        water_ms_cm + sum(part.low for part in found),
        water_ms_cm + sum(part.high for part in found),
        tuple(dict.fromkeys(method for part in found for method in part.methods)),
        tuple(dict.fromkeys(limit for part in found for limit in part.limits)),
        water_ms_cm,
    )


def feed_ions(dose: Dose, nitrogen_percents: Mapping[str, Decimal]) -> dict[str, float]:
    """The ions of a mixed feed [mmol/L], from its elements and the forms of its nitrogen.

    P counts as H2PO4- (feeds are slightly acid). Charge that the label leaves open is filled up with sulfate or
    sodium, the commonest carriers; urea gives none.
    """
    ions: dict[str, float] = {}
    for element, mg in dose.nutrients_mg_per_l.items():
        if element in ION_OF_ELEMENT and mg:
            ions[ION_OF_ELEMENT[element]] = float(mg / ATOMIC_WEIGHTS[element])
    for form, ion in _ION_OF_FORM.items():
        percent = nitrogen_percents.get(form, Decimal(0))
        if percent:
            ions[ion] = float(dose.n_mg_per_l * percent / dose.product.grade.n / ATOMIC_WEIGHTS["N"])
    open_charge = sum(amount * IONS[ion].charge for ion, amount in ions.items())
    filler = "SO4--" if open_charge > 0 else "Na+"
    ions[filler] = ions.get(filler, 0.0) + abs(open_charge / IONS[filler].charge)
    return ions


def _between(dose: Dose) -> ExpectedEc:
    """The estimate when the forms of nitrogen are not known: from all urea to whichever salts conduct best."""
    low, high = _lowest_and_highest(dose.product, dose.per_l)
    limits = [EcLimit.FORMS_UNKNOWN] if dose.product.grade.n else []
    if high > 2 * low:
        limits.append(EcLimit.TOO_WIDE)
    return ExpectedEc((low + high) / 2, low, high, (EcMethod.BY_RANGE,), tuple(limits))


@lru_cache(maxsize=1024)
def _lowest_and_highest(product: Product, per_l: Decimal) -> tuple[float, float]:
    """Both ends for so much product in a litre [mS/cm], worked out once for all cans of it. per_l: [g or ml]."""
    dose, n = Dose(product, Decimal(1), per_l, per_l), product.grade.n
    salts = ({NITRATE: n}, {AMMONIUM: n}, {NITRATE: n / 2, AMMONIUM: n / 2})
    low = conductivity_ms_cm(feed_ions(dose, {UREA: n})) * (1 - IONS_SHARE)
    high = max(conductivity_ms_cm(feed_ions(dose, forms)) for forms in salts) * (1 + IONS_SHARE)
    return low, high


def _around(added: float, share: float, method: EcMethod, limits: tuple[EcLimit, ...] = ()) -> ExpectedEc:
    return ExpectedEc(added, added * (1 - share), added * (1 + share), (method,), limits)


def _check_forms(dose: Dose, nitrogen_percents: Mapping[str, Decimal]) -> None:
    for form in nitrogen_percents:
        if form not in (NITRATE, AMMONIUM, UREA):
            raise ValueError(f"{form!r} is not a form of nitrogen; write {NITRATE}, {AMMONIUM} or {UREA}")
    total = sum(nitrogen_percents.values(), Decimal(0))
    if abs(total - dose.product.grade.n) > Decimal("0.5"):
        raise ValueError(
            f"the forms of nitrogen sum to {total} %, the grade says {dose.product.grade.n} %; copy all of them"
        )
