"""Benches, waters and blends of a collection, each from its model to a frozen value, doubts noted."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from feedplan.load.findings import Findings, near_miss
from feedplan.load.models.water_models import BenchModel, BlendModel, WaterSourceModel
from feedplan.load.readers.water_measures import Sun
from feedplan.load.text.spots import Spot
from feedplan.model.water import Bench, WaterSource, WaterUse, Wind
from feedplan.weather.water_quality import hardness_from_ions, share_for_target

SOFTENED_SODIUM_MG_PER_L = 50
SOFTENED_HARDNESS_MG_PER_L = 50
"""More sodium than this in water softer than that looks softened (judgement; natural waters that are soft hold little
sodium away from the sea)."""


def bench_of(name: str, model: BenchModel, spot: Spot) -> Bench:
    """A bench."""
    sun: Sun = model.sun or Sun(Decimal(0))
    return Bench(
        name, sun.shade, Wind(model.wind), model.under_cover or sun.indoors, sun.indoors, spot.source
    )


def water_source_of(name: str, model: WaterSourceModel, spot: Spot, findings: Findings) -> WaterSource:
    """A water source; softened water is warned against."""
    hardness = model.hardness
    if hardness is None and model.calcium is not None and model.magnesium is not None:
        hardness = hardness_from_ions(model.calcium, model.magnesium)
    looks_softened = (
        model.sodium is not None
        and model.sodium > SOFTENED_SODIUM_MG_PER_L
        and hardness is not None
        and hardness < SOFTENED_HARDNESS_MG_PER_L
    )
    if model.softened or looks_softened:
        how = (
            "is softened"
            if model.softened
            else "holds much sodium and little hardness, as softened water does"
        )
        findings.warn(
            spot,
            f"water '{name}' {how}; its sodium harms trees and mix: draw it before the softener, or use rain",
        )
    return WaterSource(
        name,
        model.ec,
        model.alkalinity,
        hardness,
        model.calcium,
        model.magnesium,
        model.sodium,
        model.softened or looks_softened,
        spot.source,
    )


def water_use_of(
    model: BlendModel | str | None,
    waters: Mapping[str, WaterSource],
    group: str,
    spot: Spot,
    findings: Findings,
) -> WaterUse | None:
    """The water of a group: the one named, the blend that meets its target, or else the first; None without any.

    spot: the place of the group.
    """
    if model is None:
        first = next(iter(waters), None)
        return None if first is None else WaterUse(((first, 1.0),), source=spot.source)
    place = spot.at(("water",))
    names = model.blend if isinstance(model, BlendModel) else [model]
    unknown = [name for name in names if name not in waters]
    for name in unknown:
        findings.at(place, f"water of group '{group}': no water is called '{name}'{near_miss(name, waters)}")
    if unknown:
        return None
    if isinstance(model, str):
        return WaterUse(((model, 1.0),), source=place.source)
    return _blend(model, waters, f"water of group '{group}'", place, findings)


def _blend(
    model: BlendModel, waters: Mapping[str, WaterSource], owner: str, place: Spot, findings: Findings
) -> WaterUse | None:
    """A blend of two waters; one that cannot be had is noted and left without shares."""
    if (model.alkalinity is None) == (model.ec is None):
        findings.at(
            place, f"{owner}: a blend needs one target; write alkalinity: 60 mg/L CaCO3, or ec: 0.4 mS/cm"
        )
        return None
    key, unit = ("alkalinity", "mg/L CaCO3") if model.alkalinity is not None else ("ec", "mS/cm")
    field = "alkalinity_mg_per_l" if key == "alkalinity" else "ec_ms_per_cm"
    target = model.alkalinity if model.alkalinity is not None else model.ec
    held = [getattr(waters[name], field) for name in model.blend]
    for name, value in zip(model.blend, held, strict=True):
        if value is None:
            findings.at(place, f"{owner}: {key} of water '{name}' is not told; add {key}: to it under water:")
    if None in held or target is None:
        return None
    found = share_for_target(held[0], held[1], target, unit)
    if found.share_of_first is None:
        findings.at(place, f"{owner}: {found.why_not[0].lower()}{found.why_not[1:]}")
        return None
    first, second = model.blend
    shares = ((first, found.share_of_first), (second, 1 - found.share_of_first))
    return WaterUse(shares, f"{key} {target:g} {unit}", place.source)
