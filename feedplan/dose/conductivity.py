"""Conductivity of ions in water, from what each ion carries at a temperature and an ionic strength.

Method: McCleskey, Nordstrom, Ryan and Ball, "A new method of calculating electrical conductivity with applications
to natural waters", Geochimica et Cosmochimica Acta 77 (2012) 369-382: the conductivity is the sum over free ions of
molality times lambda = lambda0(t) - A(t) sqrt(I) / (1 + B sqrt(I)). Ions that have paired up carry less, so the
pairs are taken out first. Meant for dilute feed (ionic strength below 0.1 mol/kg), 5 to 35 °C.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import sqrt

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
_PAIRS = {"Ca++": ("CaSO4", 10**2.25), "Mg++": ("MgSO4", 10**2.37)}


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
    cations = [name for name in _PAIRS if name in total]
    if "SO4--" not in total or not cations:
        return dict(total)
    free, sulfate = dict(total), total["SO4--"]
    for _ in range(50):  # settles within 1e-9 in about 20 rounds at feed strength
        bound = {}
        for cation in cations:
            association = _PAIRS[cation][1]
            pull = association * _activity_ratio(cation, ionic_strength(free)) * sulfate
            bound[cation] = total[cation] * pull / (1 + pull)
        sulfate = (sulfate + max(total["SO4--"] - sum(bound.values()), 0.0)) / 2
        free = {**total, "SO4--": sulfate}
        for cation, amount in bound.items():
            free[cation] = total[cation] - amount
            free[_PAIRS[cation][0]] = amount
    return free


def _activity_ratio(cation: str, strength: float) -> float:
    """Activity coefficients of cation times sulfate, their pair being neutral (Davies equation, 25 °C)."""
    root = sqrt(strength)
    squares = IONS[cation].charge ** 2 + IONS["SO4--"].charge ** 2
    return float(10 ** (-0.509 * squares * (root / (1 + root) - 0.3 * strength)))


# Linear temperature coefficient referred to 25 °C [1/°C]: KCl standards give 0.0189 to 0.0197 over 15 to 30 °C,
# natural waters 0.0175 to 0.0198 (Hayashi 2004, Environmental Monitoring and Assessment 96:119-128).
ALPHA = 0.019


def ec_at(ec25_ms_cm: float, temp_c: float) -> float:
    """What a meter without compensation shows at a water temperature [mS/cm], from the value at 25 °C."""
    return ec25_ms_cm * (1 + ALPHA * (temp_c - 25))


def ec_at_25(ec_ms_cm: float, temp_c: float) -> float:
    """The value at 25 °C of a reading taken without compensation at a water temperature [mS/cm]."""
    return ec_ms_cm / (1 + ALPHA * (temp_c - 25))


def ppm_n_from_ec(feed_ms_cm: float, water_ms_cm: float, ec_per_100_ppm_n: float) -> float:
    """Nitrogen in a feed [mg/L] from its conductivity, the water's, and this product's figure (Purdue HO-286).

    All at 25 °C [mS/cm]. Below zero when the feed reads less than the water: one of the readings is off.
    """
    return 100 * (feed_ms_cm - water_ms_cm) / ec_per_100_ppm_n
