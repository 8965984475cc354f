"""How much of a salt dissolves: solubility in pure water against temperature, with where each figure is from.

All figures are grams in 100 g of water, never per litre of solution; tables in circulation mix the two up.
Between two table points a straight line is taken, at most about 2 % above the curve for the steps used here.
A second salt that shares an ion lowers every figure, so these are ceilings, not recipes.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log

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
