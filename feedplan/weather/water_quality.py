"""Hardness, alkalinity, salt and blends of the water a grower pours, and what leaching leaves in the pot.

Hardness (calcium and magnesium) and alkalinity (mostly hydrogencarbonate) are both told in mg/L of CaCO3 and are not
the same thing: softened water is soft, still alkaline, and salty. Electrical conductivity (EC) is in dS/m, which is
mS/cm. Blending rules hold for EC, ions, hardness and alkalinity; never for pH.

[1] Ayers and Westcot, "Water quality for agriculture", FAO Irrigation and Drainage Paper 29 Rev. 1, Rome 1985.
[2] IUPAC Commission on Isotopic Abundances and Atomic Weights, standard atomic weights 2021.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import sqrt

CACO3_MG_PER_MMOL = 100.086
CACO3_MG_PER_MEQ = CACO3_MG_PER_MMOL / 2
NITROGEN_MG_PER_MMOL = 14.007
SULFUR_MG_PER_MMOL = 32.06
TDS_MG_PER_L_PER_DS_PER_M = 640.0
"""Dissolved salt per EC up to about 5 dS/m, a rule of thumb ([1], and US Salinity Laboratory Handbook 60); meters for
hobby use assume 500 or 700 instead, so ask for EC."""


@dataclass(frozen=True, slots=True)
class Ion:
    """A dissolved ion. mg_per_mmol: molar mass from [2] [mg/mmol]; charge: number of charges, without sign."""

    mg_per_mmol: float
    charge: int

    @property
    def mg_per_meq(self) -> float:
        """Equivalent mass [mg/meq]."""
        return self.mg_per_mmol / self.charge


IONS: Mapping[str, Ion] = {
    "calcium": Ion(40.078, 2),
    "magnesium": Ion(24.305, 2),
    "sodium": Ion(22.990, 1),
    "potassium": Ion(39.098, 1),
    "chloride": Ion(35.45, 1),
    "hydrogencarbonate": Ion(61.016, 1),
    "carbonate": Ion(60.008, 2),
    "sulfate": Ion(96.056, 2),
    "nitrate": Ion(62.004, 1),
}

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


def meq_per_l(ion: str, mg_per_l: float) -> float:
    """Equivalents of an ion [meq/L] from its mass [mg/L]. Raises KeyError for an ion that is not in IONS."""
    return mg_per_l / IONS[ion].mg_per_meq


def mg_per_l(ion: str, equivalents_meq_per_l: float) -> float:
    """Mass of an ion [mg/L] from its equivalents [meq/L]. Raises KeyError for an ion that is not in IONS."""
    return equivalents_meq_per_l * IONS[ion].mg_per_meq


def nitrate_nitrogen(nitrate_mg_per_l: float) -> float:
    """Nitrogen in nitrate [mg/L N] from nitrate as a water report prints it [mg/L NO3]."""
    return nitrate_mg_per_l * NITROGEN_MG_PER_MMOL / IONS["nitrate"].mg_per_mmol


def sulfate_sulfur(sulfate_mg_per_l: float) -> float:
    """Sulfur in sulfate [mg/L S] from sulfate as a water report prints it [mg/L SO4]."""
    return sulfate_mg_per_l * SULFUR_MG_PER_MMOL / IONS["sulfate"].mg_per_mmol


def hardness_from_ions(calcium_mg_per_l: float, magnesium_mg_per_l: float) -> float:
    """Hardness [mg/L CaCO3] from calcium and magnesium [mg/L]."""
    moles = (
        calcium_mg_per_l / IONS["calcium"].mg_per_mmol + magnesium_mg_per_l / IONS["magnesium"].mg_per_mmol
    )
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
    return alkalinity_from_meq(meq_per_l("hydrogencarbonate", hydrogencarbonate_mg_per_l))


def dissolved_salt_mg_per_l(ec_ds_per_m: float) -> float:
    """Dissolved salt, roughly [mg/L], from EC [dS/m] up to about 5 dS/m; the rule of 640."""
    return ec_ds_per_m * TDS_MG_PER_L_PER_DS_PER_M


def sodium_adsorption_ratio(sodium_meq: float, calcium_meq: float, magnesium_meq: float) -> float:
    """Sodium against calcium and magnesium ([1]) [(meq/L)^0.5]; each ion in [meq/L].

    Raises ValueError when there is neither calcium nor magnesium.
    """
    if calcium_meq + magnesium_meq <= 0:
        raise ValueError("sodium adsorption ratio needs calcium or magnesium; give their meq/L")
    return sodium_meq / sqrt((calcium_meq + magnesium_meq) / 2)


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

    def litres_of_first(self, total_l: float) -> float | None:
        """Litres of the first water in so many litres of blend [L]; None when there is no blend."""
        return None if self.share_of_first is None else self.share_of_first * total_l


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


def leaching_fraction(entered_ml: float, drained_ml: float) -> float:
    """Share of the water entering the pot that drains from it [0 to 1]; both volumes in one unit [mL].

    Source: Million and Yeager, UF/IFAS EDIS ENH1268, who aim below 0.15; growers in pots aim at 0.1 to 0.2.
    Raises ValueError when more drains than entered or nothing entered.
    """
    if not 0 <= drained_ml <= entered_ml or entered_ml == 0:
        raise ValueError(f"{drained_ml} mL cannot drain from {entered_ml} mL; check which is which")
    return drained_ml / entered_ml


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


def drainage_ec(water_ec: float, leaching_share: float) -> float:
    """EC of the water that drains once salt in equals salt out ([1]) [dS/m]; plants taken to keep no salt.

    Raises ValueError for a share outside 0 (not included) to 1.
    """
    if not 0 < leaching_share <= 1:
        raise ValueError(
            f"leaching share {leaching_share} must be above 0 and at most 1; salt builds up without end"
        )
    return water_ec / leaching_share


UPTAKE_BY_QUARTER = (0.4, 0.3, 0.2, 0.1)
"""Share of the water taken up in each quarter of the root zone from the top ([1], section 2.4.2)."""


def root_zone_concentration(leaching_share: float) -> float:
    """How many times saltier than the water the root zone's saturated extract becomes ([1], Table 3) [-].

    The mean of the soil water's salinity at the surface and below each quarter, halved for the saturated extract.
    Raises ValueError for a share outside 0 (not included) to 1.
    """
    drainage_ec(1.0, leaching_share)
    remaining, salinities = 1.0, [1.0]
    for uptake in UPTAKE_BY_QUARTER:
        remaining -= uptake * (1 - leaching_share)
        salinities.append(1 / remaining)
    return sum(salinities) / len(salinities) / 2


def salt_left_mg(entered_l: float, water_ec: float, drained_l: float, drained_ec: float) -> float:
    """Salt that one watering leaves in the pot, below 0 when it washes some out [mg].

    entered_l, drained_l: [L]; water_ec, drained_ec: [dS/m]; by the rule of 640, so to within a fifth.
    """
    return dissolved_salt_mg_per_l(entered_l * water_ec - drained_l * drained_ec)
