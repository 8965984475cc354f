"""`feedplan water`: which water goes where, how it suits the trees, how much must drain, when to flush."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import click

from feedplan.cli.options import Asked, print_json, shared_options
from feedplan.engine.water.flushes import flush_pace
from feedplan.engine.water.waters import (
    BEST_ALKALINITY_MG_PER_L,
    Drainage,
    GroupWater,
    dislikes_lime,
    drainage_of,
    group_water,
)
from feedplan.export.water_text import blend_words
from feedplan.model.collection import Collection, WaterSource
from feedplan.words.language import say
from feedplan.words.outdoors import pace_words
from feedplan.words.writing import places

NO_WATERS = "No water is told. Add to collection.yaml what your water report says, such as:"
EXAMPLE_OF_WATERS = (
    "  water: {tap: {ec: 0.6 mS/cm, alkalinity: 180 mg/L CaCO3}, "
    "butt: {ec: 0.03 mS/cm, alkalinity: 5 mg/L CaCO3}}"
)
ACID_CAUTION = (
    "Acid needs are information, not a dose: acids burn, and too much kills roots. Rain needs none. Dosing acid takes "
    "a titration and someone trained to handle it; acid goes into water, never water into acid."
)
RAIN_CAUTION = (
    "Cover butts against mosquitoes; do not make a fine spray of stale, warm water (Legionella); flush a hose that lay "
    "in the sun."
)


@click.command(short_help="Say which water goes where, how salty it is, and when to flush.")
@shared_options
def water(asked: Asked) -> None:
    """Say which water goes where, how salty it is, and when to flush.

    \b
    feedplan water
    feedplan water --json
    """
    collection = asked.open().collection
    if asked.as_json:
        print_json(waters_facts(collection))
    else:
        click.echo("\n".join(waters_lines(collection)))


def waters_lines(collection: Collection) -> Iterator[str]:
    """The waters, then each group's, then cautions."""
    if not collection.waters:
        yield say(NO_WATERS)
        yield EXAMPLE_OF_WATERS
        return
    for source in collection.waters.values():
        yield f"{source.name}: {source_words(source)}"
    told = [water for group in collection.groups.values() if (water := group_water(group, collection.waters))]
    alike: dict[tuple[str, ...], list[str]] = {}
    for water in told:
        alike.setdefault(tuple(_group_lines(water, collection)), []).append(water.group)
    for (first, *rest), groups in alike.items():
        yield ""
        yield f"{', '.join(groups)}: {first}"
        yield from rest
    yield ""
    if any(water.acid_need_meq_per_l for water in told):
        yield say(ACID_CAUTION)
    yield say(RAIN_CAUTION)


def source_words(source: WaterSource) -> str:
    """What is known of one water."""
    words = [
        *_salt_and_lime(source.ec_ms_per_cm, source.alkalinity_mg_per_l),
        *_told("hardness {value} mg/L CaCO3", source.hardness_mg_per_l),
        *_told("{value} mg/L Ca", source.calcium_mg_per_l),
        *_told("{value} mg/L Mg", source.magnesium_mg_per_l),
        *_told("{value} mg/L Na", source.sodium_mg_per_l),
    ]
    words += [say("softened: not for trees")] if source.softened else []
    return ", ".join(words) or say("nothing told")


def _salt_and_lime(ec_ms_per_cm: float | None, alkalinity_mg_per_l: float | None) -> list[str]:
    """What matters most of a water or a blend."""
    alkalinity = _told("alkalinity {value} mg/L CaCO3", alkalinity_mg_per_l)
    return [*_told("{value} mS/cm", ec_ms_per_cm, 2), *alkalinity]


def _told(words: str, value: float | None, digits: int = 0) -> list[str]:
    return [] if value is None else [say(words, value=places(value, digits))]


def _group_lines(water: GroupWater, collection: Collection) -> Iterator[str]:
    group = collection.groups[water.group]
    can = collection.habits.can_litres
    blend, target = blend_words(water, can), water.use.target
    yield say("{blend} for {target}", blend=blend, target=target) if target else blend
    if len(water.use.shares) > 1:
        known = ", ".join(_salt_and_lime(water.ec_ms_per_cm, water.alkalinity_mg_per_l))
        yield "  " + (say("together {known}", known=known) if known else say("nothing is known of the blend"))
    if water.acid_need_meq_per_l and dislikes_lime(group):
        yield "  " + say(
            "its alkalinity is {need} meq/L above the {best} mg/L CaCO3 that suits lime-haters",
            need=places(water.acid_need_meq_per_l, 1),
            best=places(BEST_ALKALINITY_MG_PER_L),
        )
    drainage = drainage_of(group, collection)
    if drainage is not None:
        yield f"  {_drainage_words(drainage)}"
    yield "  " + say("flush with plain water: {pace}", pace=pace_words(flush_pace(group, collection)))


def _drainage_words(drainage: Drainage) -> str:
    ec = places(drainage.ec_ms_per_cm, 1)
    if drainage.needed is None:
        return say("with feed {ec} mS/cm on average: no drain-through is enough; use less salty water", ec=ec)
    return say(
        "with feed {ec} mS/cm on average: {needed} % must drain (FAO-29), {usual} % does: enough"
        if drainage.is_enough
        else "with feed {ec} mS/cm on average: {needed} % must drain (FAO-29), {usual} % does: "
        "too little, so flush oftener",
        ec=ec,
        needed=drainage.needed_percent,
        usual=places(drainage.usual * 100),
    )


def waters_facts(collection: Collection) -> dict[str, Any]:
    """The same facts for `--json`."""
    groups = []
    for group in collection.groups.values():
        water = group_water(group, collection.waters)
        if water is None:
            continue
        drainage = drainage_of(group, collection)
        groups.append(
            {
                "group": group.name,
                "shares": {name: round(share, 4) for name, share in water.use.shares},
                "target": water.use.target,
                "ec_ms_per_cm": _rounded(water.ec_ms_per_cm, 3),
                "alkalinity_mg_per_l_caco3": _rounded(water.alkalinity_mg_per_l, 1),
                "acid_need_meq_per_l": _rounded(water.acid_need_meq_per_l, 2),
                "drain_needed_share": None if drainage is None else _rounded(drainage.needed, 3),
                "drain_usual_share": float(collection.habits.drain_share),
                "flush": pace_words(flush_pace(group, collection)),
            }
        )
    sources = {source.name: source_words(source) for source in collection.waters.values()}
    return {"waters": sources, "groups": groups}


def _rounded(value: float | None, places: int) -> float | None:
    return None if value is None else round(value, places)
