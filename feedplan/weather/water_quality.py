"""Hardness, alkalinity and blends of the water a grower pours, and how much of it must drain to keep salt down.

Hardness (calcium and magnesium) and alkalinity (mostly hydrogencarbonate) are both told in mg/L of CaCO3 and are not
the same thing: softened water is soft, still alkaline, and salty. Electrical conductivity (EC) is in dS/m, which is
mS/cm. Blending rules hold for EC, ions, hardness and alkalinity; never for pH.

[1] Ayers and Westcot, "Water quality for agriculture", FAO Irrigation and Drainage Paper 29 Rev. 1, Rome 1985.
[2] IUPAC Commission on Isotopic Abundances and Atomic Weights, standard atomic weights 2021.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

# Molar masses from [2] [mg/mmol].
CACO3_MG_PER_MMOL = 100.086
CALCIUM_MG_PER_MMOL = 40.078
MAGNESIUM_MG_PER_MMOL = 24.305
HYDROGENCARBONATE_MG_PER_MMOL = 61.016

CACO3_MG_PER_MEQ = CACO3_MG_PER_MMOL / 2
"""Lime counts for two charges: the same share of alkalinity as two of hydrogencarbonate."""

CACO3_MG_PER_DEGREE: Mapping[str, float] = {
    # One German degree is 10 mg/L of CaO, molar mass 56.077.
    "german": 10 * CACO3_MG_PER_MMOL / 56.077,
    "french": 10.0,
    # One grain, 64.79891 mg, in an imperial gallon, 4.54609 L; 14.28 in some tables is a rounding of 1/70000.
    "english": 64.79891 / 4.54609,
    # One grain in a US gallon, 3.785412 L.
    "us": 64.79891 / 3.785412,
    "mmol/L": CACO3_MG_PER_MMOL,
}
"""mg/L of CaCO3 in one degree of hardness; German degrees are also used for alkalinity ("carbonate hardness")."""


def hardness_from_ions(calcium_mg_per_l: float, magnesium_mg_per_l: float) -> float:
    """Hardness [mg/L CaCO3] from calcium and magnesium [mg/L]."""
    moles = calcium_mg_per_l / CALCIUM_MG_PER_MMOL + magnesium_mg_per_l / MAGNESIUM_MG_PER_MMOL
    return moles * CACO3_MG_PER_MMOL


def hardness_from_degrees(degrees: float, kind: str) -> float:
    """Hardness or alkalinity [mg/L CaCO3] from degrees. kind: german, french, english, us or mmol/L.

    Raises KeyError for another kind.
    """
    return degrees * CACO3_MG_PER_DEGREE[kind]


def alkalinity_from_meq(alkalinity_meq_per_l: float) -> float:
    """Alkalinity [mg/L CaCO3] from acid used in its titration [meq/L]."""
    return alkalinity_meq_per_l * CACO3_MG_PER_MEQ


def alkalinity_from_hydrogencarbonate(hydrogencarbonate_mg_per_l: float) -> float:
    """Alkalinity [mg/L CaCO3] from hydrogencarbonate [mg/L HCO3], which makes nearly all of it below pH 8.3."""
    return alkalinity_from_meq(hydrogencarbonate_mg_per_l / HYDROGENCARBONATE_MG_PER_MMOL)


def blend(values: Sequence[float], shares: Sequence[float]) -> float:
    """What a blend of waters holds, in the unit of `values`. shares: of the volume, adding up to 1.

    Raises ValueError when the shares do not add up or do not pair with the values.
    """
    if len(values) != len(shares) or min(shares) < 0 or abs(sum(shares) - 1) > 1e-9:
        raise ValueError(f"shares {list(shares)} must be one per water and add up to 1")
    return sum(value * share for value, share in zip(values, shares, strict=True))


@dataclass(frozen=True, slots=True)
class TwoWaterBlend:
    """How to reach a target with two waters, or why it cannot be reached.

    share_of_first: of the volume [0 to 1], None when there is no such blend. why_not: then one sentence, else empty.
    """

    share_of_first: float | None
    why_not: str = ""


def share_for_target(first: float, second: float, target: float, unit: str = "mg/L") -> TwoWaterBlend:
    """Share of the first of two waters that brings their blend to a target.

    first, second, target: one quantity in one unit. A target outside the two is reported as impossible, never moved
    to the nearer water.
    """
    if first == target:
        return TwoWaterBlend(1.0)
    if first == second or not min(first, second) <= target <= max(first, second):
        held = f"both hold {first:g}" if first == second else f"hold {first:g} and {second:g}"
        return TwoWaterBlend(None, f"No blend gives {target:g} {unit}: the waters {held} {unit}")
    return TwoWaterBlend((target - second) / (first - second))


def leaching_requirement(water_ec: float, tolerated_ec: float) -> float | None:
    """Share of the water that must drain to hold the root zone at a salinity ([1], section 2.4.2) [0 to 1].

    water_ec: of the water poured; tolerated_ec: of the saturated extract the plant bears [dS/m]. None when the water is
    so salty that no leaching is enough.
    """
    if 5 * tolerated_ec <= water_ec:
        return None
    share = water_ec / (5 * tolerated_ec - water_ec)
    return share if share < 1 else None


def gross_from_net(net_l: float, leaching_share: float) -> float:
    """Water to pour so that `net_l` stays in the pot and the leaching share drains [L].

    Raises ValueError for a share outside 0 up to (not including) 1.
    """
    if not 0 <= leaching_share < 1:
        raise ValueError(f"leaching share {leaching_share} must be from 0 to less than 1")
    return net_l / (1 - leaching_share)
