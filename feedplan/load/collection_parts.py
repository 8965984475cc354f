"""The parts of a collection, each from its model to the frozen value feedplan reasons about."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import time
from decimal import Decimal

from feedplan.dose.measures import quoted
from feedplan.dose.strength import LabelShare
from feedplan.load.collection_models import (
    AwayModel,
    BenchModel,
    BlendModel,
    GroupModel,
    HabitsModel,
    MeasuresModel,
    NoteModel,
    PlaceModel,
    PotModel,
    WaterSourceModel,
)
from feedplan.load.globe import is_far_from_zone, latitude_meant, lies_in_other_hemisphere
from feedplan.load.problems import Passage
from feedplan.load.read_site import Sun, shaped_pot
from feedplan.model.collection import (
    Away,
    Bench,
    BenchKind,
    ChecksBy,
    Feed,
    Habits,
    Place,
    Pot,
    PotColour,
    Unlogged,
    WaterSource,
    WaterUse,
    Wind,
    YearlyNote,
)
from feedplan.model.measures import Injector, Measures
from feedplan.model.schedule import Schedule
from feedplan.weather.water_quality import hardness_from_ions, share_for_target

SOFTENED_SODIUM_MG_PER_L = 50
SOFTENED_HARDNESS_MG_PER_L = 50
"""More sodium than this in water softer than that looks softened (judgement; natural waters that are soft hold little
sodium away from the sea)."""

Feeds = Mapping[str, Feed | None]
"""Feeds by name; None for one that is there and has problems of its own."""


def place_of(model: PlaceModel, part: Passage) -> Place:
    """The place; a latitude that looks as if its sign were forgotten is doubtful."""
    latitude, zone = model.latitude, model.time_zone
    moved = latitude_meant(latitude, zone)
    if moved is not None:
        told = f"latitude of place: {latitude} is far from {zone}; did you mean '{moved.normalize():f}'?"
        part.ask(told, "latitude")
    elif lies_in_other_hemisphere(latitude, zone):
        side = "south" if latitude < 0 else "north"
        part.warn(
            f"latitude of place: {latitude} is {side} of the equator and {zone} is not; "
            f"every date may be half a year off: did you mean '{-latitude}'?",
            "latitude",
        )
    elif is_far_from_zone(latitude, zone):
        part.ask(f"latitude of place: {latitude} is far from {zone}; are both right?", "latitude")
    return Place(model.name, latitude, zone, model.elevation or Decimal(0))


def units_told(collection: object) -> str | None:
    """Whose gallons, spoons and cups are meant by what stands in collection.yaml, not yet checked; None if not told."""
    measures = collection.get("measures") if isinstance(collection, dict) else None
    units = measures.get("units") if isinstance(measures, dict) else None
    return units if isinstance(units, str) else None


def measures_of(model: MeasuresModel | None, habits: HabitsModel | None, part: Passage) -> Measures:
    """The measures, defaults filled in. The can stands in habits or with the measures, not in both."""
    default = Measures()
    of_habits = None if habits is None else habits.can
    cans = (of_habits,) if of_habits is not None else default.cans_l
    if model is None:
        return replace(default, cans_l=cans)
    if model.cans and of_habits is not None:
        part.at("measures").wrong("cans of measures: habits tell the can, too; keep one of both", "cans")
    measures = Measures(
        default.scale_g if model.scale is None else model.scale.step,
        model.marks or default.marks_l,
        model.jug or default.jug_l,
        tuple(sorted(set(model.cans), reverse=True)) or cans,
        model.units,
        _injector_of(model),
        None if model.scale is None else model.scale.ounces,
        model.syringe or default.syringe_ml,
    )
    if model.stock is not None and model.injector is None:
        part.at("measures").wrong(
            'stock of measures: no injector draws from it; write one, such as injector: "1:100", or leave it out',
            "stock",
        )
    if measures.marks_l > measures.largest_can_l:
        part.at("measures").wrong(
            f"marks of measures: {measures.marks_l} L is more than the can of {measures.largest_can_l} L",
            "marks",
        )
        return replace(measures, marks_l=measures.largest_can_l)
    return measures


def _injector_of(model: MeasuresModel) -> Injector | None:
    if model.injector is None:
        return None
    return Injector(model.injector) if model.stock is None else Injector(model.injector, model.stock)


def habits_of(model: HabitsModel | None, measures: Measures, part: Passage) -> Habits:
    """The habits, defaults filled in."""
    default = Habits(measures=measures)
    if model is None:
        return default
    return Habits(
        Unlogged(model.unlogged_feeds),
        tuple(dict.fromkeys(model.feed_on)),
        measures,
        model.feed_share or default.feed_share,
        _three(model.checks_at) if model.checks_at else default.checks_at,
        model.alarm,
        model.most_products,
        ChecksBy(model.checks_by),
        model.drain_through or default.drain_share,
        model.flush,
        model.heavy_rain or default.heavy_rain_mm,
        default.root_zone_air_c if model.root_zone_air is None else model.root_zone_air,
        model.warm_days or default.warm_days,
        model.reading_days or default.reading_days,
        default.frost_alert_c if model.frost_alert is None else model.frost_alert,
        model.root_heat_alert or default.root_heat_alert_c,
        model.wind_alert or default.wind_alert_m_per_s,
        model.work_prompts,
        _together_days(model, part),
    )


def _together_days(model: HabitsModel, part: Passage) -> int:
    """So many days a feed is moved to the first feeding day; none where the grower feeds on any day."""
    if model.feed_together and not model.feed_on:
        part.at("habits").wrong(
            "feed_together of habits: name the days you feed on with feed_on", "feed_together"
        )
    usual = 4 if model.feed_on else 0
    return usual if model.feed_together is None else model.feed_together


def _three(times: Sequence[time]) -> tuple[time, time, time]:
    return times[0], times[1], times[2]


def pot_of(model: Pot | PotModel, owner: str, part: Passage) -> Pot | None:
    """A pot, or None with its problem noted."""
    if isinstance(model, Pot):
        return model
    try:
        pot = shaped_pot(model.size, model.shape, model.volume, model.depth, model.open_sided)
        return replace(pot, colour=PotColour(model.colour), shared=model.shared)
    except ValueError as error:
        wrong = next(
            (key for key in ("size", "volume", "depth") if _is_told(getattr(model, key), error)), None
        )
        part.wrong(f"pot of {owner}: {error}", *([wrong] if wrong else []))
        return None


def _is_told(written: str | None, error: ValueError) -> bool:
    """Whether a refusal is about what is written there."""
    return written is not None and quoted(written) in str(error)


def away_of(model: AwayModel, part: Passage) -> Away:
    """A stretch of days away."""
    if model.end < model.start:
        part.wrong(
            f"away ends on {model.end}, before it begins on {model.start}; "
            f"write {{from: {model.end}, to: {model.start}}}"
        )
    return Away(model.start, model.end, model.ask, part.source)


def note_of(model: NoteModel, part: Passage) -> YearlyNote:
    """A note of the grower's own."""
    return YearlyNote(model.on, model.say, part.source)


def check_mix(owner: str, model: GroupModel, schedule: Schedule | None, feeds: Feeds, part: Passage) -> None:
    """Notes a ratio beside a feed, products that cannot be mixed, and strengths that need a product's label."""
    if model.ratio is not None and model.feed:
        part.key("ratio").wrong(
            f"{owner} names a feed and a ratio; remove one: a ratio is mixed from the shelf"
        )
    for index, name in enumerate(model.mix_of):
        place, feed = part.at("mix_of", index), feeds.get(name)
        if name not in feeds:
            place.unknown("feed", name, feeds, f"mix_of of {owner}")
        if feed is not None and feed.is_solid:
            place.wrong(f"mix_of of {owner}: '{name}' is {feed.form}; name feeds that dissolve")
    if schedule is None or model.feed:
        return
    if model.mix_of and model.ratio is None and all(period.ratio is None for period in schedule.periods):
        part.key("mix_of").wrong(f"mix_of of {owner} goes with a ratio; add ratio: 3-1-2 oxide")
    for period in schedule.periods:
        if isinstance(period.strength, LabelShare) and (model.ratio or period.ratio):
            part.key("ratio").wrong(
                f"{owner}: {period.strength} in '{period.name}' has no one label in a mix; "
                f"change its strength to ppm N"
            )


def bench_of(name: str, model: BenchModel, part: Passage) -> Bench:
    """A bench."""
    sun: Sun = model.sun or Sun(Decimal(0))
    under_cover = model.under_cover or sun.indoors
    kind = BenchKind(model.kind)
    return Bench(
        name, sun.shade, Wind(model.wind), under_cover, sun.indoors, part.source, kind, model.warmer_by
    )


def water_source_of(name: str, model: WaterSourceModel, part: Passage) -> WaterSource:
    """A water source; softened water is warned against."""
    hardness = model.hardness
    if hardness is None and model.calcium is not None and model.magnesium is not None:
        hardness = hardness_from_ions(model.calcium, model.magnesium)
    much_sodium = model.sodium is not None and model.sodium > SOFTENED_SODIUM_MG_PER_L
    looks_softened = much_sodium and hardness is not None and hardness < SOFTENED_HARDNESS_MG_PER_L
    if model.softened or looks_softened:
        looks = "holds much sodium and little hardness, as softened water does"
        part.warn(
            f"water '{name}' {'is softened' if model.softened else looks}; "
            "its sodium harms trees and mix: draw it before the softener, or use rain"
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
        part.source,
    )


def water_use_of(
    model: BlendModel | str | None, waters: Mapping[str, WaterSource], owner: str, part: Passage
) -> WaterUse | None:
    """The water of a group: the one named, the blend that meets its target, or else the first; None without any."""
    if model is None:
        first = next(iter(waters), None)
        return None if first is None else WaterUse(((first, 1.0),), source=part.source)
    place, of = part.at("water"), f"water of {owner}"
    unknown = [
        name for name in (model.blend if isinstance(model, BlendModel) else [model]) if name not in waters
    ]
    for name in unknown:
        place.unknown("water", name, waters, of)
    if unknown:
        return None
    if isinstance(model, str):
        return WaterUse(((model, 1.0),), source=place.source)
    return _blend(model, waters, of, place)


def _blend(model: BlendModel, waters: Mapping[str, WaterSource], of: str, place: Passage) -> WaterUse | None:
    """A blend of two waters; one that cannot be had is noted and left without shares."""
    if (model.alkalinity is None) == (model.ec is None):
        place.wrong(f"{of}: a blend needs one target; write alkalinity: 60 mg/L CaCO3, or ec: 0.4 mS/cm")
        return None
    key, unit = ("alkalinity", "mg/L CaCO3") if model.alkalinity is not None else ("ec", "mS/cm")
    field = "alkalinity_mg_per_l" if key == "alkalinity" else "ec_ms_per_cm"
    target = model.alkalinity if model.alkalinity is not None else model.ec
    held = [getattr(waters[name], field) for name in model.blend]
    for name, value in zip(model.blend, held, strict=True):
        if value is None:
            place.wrong(f"{of}: {key} of water '{name}' is not told; add {key}: to it under water:")
    if None in held or target is None:
        return None
    found = share_for_target(held[0], held[1], target, unit)
    if found.share_of_first is None:
        place.wrong(f"{of}: {found.why_not[0].lower()}{found.why_not[1:]}")
        return None
    first, second = model.blend
    shares = ((first, found.share_of_first), (second, 1 - found.share_of_first))
    return WaterUse(shares, f"{key} {target:g} {unit}", place.source)
