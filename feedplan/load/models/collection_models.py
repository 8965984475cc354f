"""The shape of collection.yaml: what a grower writes, before it becomes the frozen values feedplan reasons about."""

from __future__ import annotations

from datetime import time
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Discriminator, Field, PlainValidator, Tag

from feedplan.load.findings import either
from feedplan.load.models.clock_models import WindSpeed
from feedplan.load.models.fields import (
    Count,
    Day,
    DayInYear,
    DayOfYearOrDate,
    Density,
    Elevation,
    FeedEc,
    FileModel,
    Grams,
    Keeping,
    Kept,
    Latitude,
    Litres,
    Longevity,
    Name,
    NpkRatio,
    OneOf,
    Percent,
    Price,
    ProductAmount,
    Rate,
    Share,
    SomeShare,
    Temperature,
    TimeOfDay,
    TimeZone,
    Weekday,
    Words,
    one_or_more,
    reader,
    words_schema,
)
from feedplan.load.models.water_models import (
    BenchModel,
    Flush,
    MixText,
    RainDepth,
    WaterField,
    WaterSourceModel,
)
from feedplan.load.readers.care_measures import parse_canopy, parse_pot
from feedplan.model.forms import FORMS, SOLID


class PlaceModel(FileModel):
    """Where the trees stand."""

    name: Name = Field(description="What you call the place.", examples=["Skerry Court"])
    latitude: Latitude = Field(description="Degrees, south of the equator below zero.", examples=[55.6])
    time_zone: TimeZone = Field(description="The zone's IANA name.")
    elevation: Elevation | None = Field(None, description="Height above the sea; 0 m if left out.")


def _three_rising(times: list[time]) -> list[time]:
    if len(times) != 3 or times != sorted(set(times)):
        raise ValueError('write three rising times, such as ["07:00", "15:00", "20:00"]')
    return times


ChecksAt = Annotated[list[TimeOfDay], AfterValidator(_three_rising)]


class HabitsModel(FileModel):
    """How you work; every key has a default."""

    unlogged_feeds: Literal["given", "missed"] = Field(
        "given", description="What to make of a planned feed that nobody recorded."
    )
    feed_on: Annotated[
        list[Weekday], BeforeValidator(one_or_more, json_schema_input_type=list[Weekday] | Weekday)
    ] = Field(default_factory=list, description="The weekday or weekdays you feed on; any day if left out.")
    can: Litres | None = Field(None, description="The can you mix in; 10 L if left out.")
    feed_share: SomeShare | None = Field(
        None, description="Feed poured per tree, as a share of its pot's volume; 10 % if left out."
    )
    checks_at: ChecksAt | None = Field(
        None,
        description="Times of a day's first, second and third water check.",
        examples=[["07:00", "15:00", "20:00"]],
    )
    alarm: TimeOfDay | None = Field(None, description="Time of day for alarms; none if left out.")
    most_products: Literal[1, 2, 3] = Field(2, description="Products mixed in one can at the most.")
    checks_by: Literal["weather", "schedule"] = Field(
        "weather",
        description="What sets how often water is checked: the weather, where known, or the schedule's table.",
    )
    drain_through: SomeShare | None = Field(
        None, description="Share of the water poured that is to run out; 15 % if left out."
    )
    flush: Flush | None = Field(
        None, description="When salt is flushed out with plain water; by the waters' salt if left out."
    )
    heavy_rain: RainDepth | None = Field(
        None, description="Rain in a day that puts a liquid feed off; 10 mm if left out."
    )
    root_zone_air: Temperature | None = Field(
        None,
        description="How far above the root zone asked for the air must be to stand in for it; 2 °C if left out.",
        examples=["2 °C"],
    )
    warm_days: Count | None = Field(None, description="On so many days running; 3 if left out.")
    frost_alert: Temperature | None = Field(
        None,
        description="A night this cold is told while growth is soft; 2 °C if left out.",
        examples=["2 °C"],
    )
    wind_alert: WindSpeed | None = Field(
        None, description="A day this windy is told while growth is soft; 8 m per s if left out."
    )


class AwayModel(FileModel):
    """Days on which nobody feeds, both ends included."""

    start: Day = Field(alias="from", description="First day away.", examples=["2027-08-03"])
    end: Day = Field(alias="to", description="Last day away.", examples=["2027-08-16"])


class NitrogenModel(FileModel):
    """The forms of a product's nitrogen, as labels print them; they add up to the N of the grade."""

    nitrate: Percent | None = Field(None, description="Nitrate nitrogen.", examples=["12 %"])
    ammonium: Percent | None = Field(None, description="Ammonium (ammoniacal) nitrogen.", examples=["8 %"])
    urea: Percent | None = Field(None, description="Urea (ureic) nitrogen.", examples=["10 %"])


class FeedModel(FileModel):
    """A product on the shelf, as its label describes it."""

    grade: Name | None = Field(None, description="The label's N-P-K.", examples=["24-8-16"])
    salt: Name | None = Field(
        None, description="In place of a grade, the name of a straight salt.", examples=["potassium nitrate"]
    )
    basis: Literal["oxide", "elemental"] = Field(
        "oxide", description="Whether P and K on the label are oxides (most countries) or elements."
    )
    form: Annotated[str, OneOf(*FORMS)] = Field(description="How it comes.")
    measured: Literal["by volume", "by weight"] = Field(
        "by weight", description="What the percentages of a liquid refer to: w/v is by volume, w/w by weight."
    )
    density: Density | None = Field(None, description="Of a liquid measured by weight.")
    spoon: Grams | None = Field(None, description="What a level spoon of it weighs.")
    label_rate: Rate | None = Field(None, description="The rate the label gives.")
    label_maximum: Rate | None = Field(None, description="The most the label allows; never exceeded.")
    longevity: Longevity | None = Field(
        None, description="Nominal release time of a solid feed.", examples=["5 to 6 months"]
    )
    longevity_at: Temperature | None = Field(
        None, description="The temperature that time holds for; 21 °C if left out."
    )
    released: Share | None = Field(
        None, description="Share of an organic feed's N that comes free in a season; 66 % if left out."
    )
    contains: dict[Name, Percent] = Field(
        default_factory=dict,
        description="Further nutrients as the label names them.",
        examples=[{"MgO": "2 %", "Fe": "0.1 %"}],
    )
    nitrogen: NitrogenModel | None = Field(
        None, description="The forms of its N; they tell what a conductivity pen should read."
    )
    ec: FeedEc | None = Field(
        None, description="The conductivity it adds, by its label; better than the forms of its N."
    )
    stock: ProductAmount | None = Field(None, description="How much of it there was when it was counted.")
    counted: Day | None = Field(
        None, description="The day the stock was counted; the day it was opened, if left out."
    )
    opened: Day | None = Field(None, description="The day the tub or bottle was opened.")
    keeps: Keeping | None = Field(None, description="How long it keeps once opened.")
    price: Price | None = Field(None, description="What it costs, in your own currency.")


class FeedUseModel(FileModel):
    """A product used from a day on."""

    use: Name = Field(description="A feed of this collection.", examples=["spring-powder"])
    start: Day | None = Field(None, alias="from", description="First day; from the beginning if left out.")


def _feed_uses(value: object) -> object:
    """Every way to name feeds as a list of mappings."""
    items = [value] if isinstance(value, (str, dict)) else value
    return (
        [{"use": item} if isinstance(item, str) else item for item in items]
        if isinstance(items, list)
        else items
    )


FeedUses = Annotated[
    list[FeedUseModel],
    BeforeValidator(_feed_uses, json_schema_input_type=str | list[str | FeedUseModel]),
]


class GroupModel(FileModel):
    """Trees cared for alike."""

    schedule: Name = Field(
        description="A shipped schedule, one of your own schedules folder, or a path that ends in .yaml.",
        examples=["vigorous"],
    )
    feed: FeedUses = Field(
        default_factory=list, description="The feed used, or several with their first days."
    )
    solid_feed: FeedUses = Field(
        default_factory=list, description=f"The {either(SOLID)} feed laid on its pots, likewise."
    )
    ratio: NpkRatio | None = Field(
        None, description="In place of a feed, the N-P-K to mix from the shelf and how P and K are counted."
    )
    mix_of: list[Name] = Field(
        default_factory=list, description="The feeds it may be mixed of; all that dissolve, if left out."
    )
    bench: Name | None = Field(None, description="Where the group stands.")
    mix: MixText | None = Field(None, description="What its pots are filled with; mineral if left out.")
    water: WaterField | None = Field(
        None,
        description="One of your waters, or a blend; the first of them if left out.",
        examples=["butt", {"blend": ["tap", "butt"], "alkalinity": "60 mg/L CaCO3"}],
    )
    flush: Flush | None = Field(None, description="When salt is flushed out, when not as in habits.")
    changes: Kept | None = Field(None, description="Keys of the schedule that are different for this group.")


class PotModel(FileModel):
    """A pot in parts; a volume wins over one worked out from the size."""

    size: Name | None = Field(None, description="Length, width and depth.", examples=["28 x 28 x 20 cm"])
    shape: Literal["rectangle", "oval", "round"] | None = Field(
        None, description="Its outline; rectangle if left out."
    )
    volume: Name | None = Field(None, description="What it holds.", examples=["9 L"])
    depth: Name | None = Field(None, description="Depth inside.", examples=["20 cm"])
    open_sided: bool = Field(False, description="Whether air reaches the roots through the walls.")


def _text_or_parts(value: object) -> str:
    return "parts" if isinstance(value, dict) else "text"


PotText = Annotated[
    Any,
    PlainValidator(reader(parse_pot)),
    words_schema("9 L", "30 x 22 x 7 cm", "round 25 x 9 cm", "2 US gal"),
]
PotField = Annotated[
    Annotated[PotModel, Tag("parts")] | Annotated[PotText, Tag("text")], Discriminator(_text_or_parts)
]
Canopy = Annotated[Any, PlainValidator(reader(parse_canopy)), words_schema("40 x 40 cm", "40 cm")]


class TreeModel(FileModel):
    """One tree, or several alike under one name."""

    name: Name = Field(description="Its name, used in the journal; keep it for ever.", examples=["Brindle"])
    species: Name = Field(description="Its kind; decides its typical year.", examples=["larch"])
    group: Name = Field(description="One of your groups.", examples=["growing-on"])
    pot: PotField = Field(description="Its pot: a volume or a size.")
    count: Count = Field(1, description="How many stand behind this name.", examples=[24])
    bench: Name | None = Field(None, description="Where it stands, when not with its group.")
    weak: bool = Field(False, description="Whether it counts as weak for water checks.")
    since: Day | None = Field(None, description="The day it joined; always, if left out.")
    canopy: Canopy | None = Field(None, description="Width of the crown.")
    mix: MixText | None = Field(None, description="What its pot is filled with, when not as its group's.")
    about: Words | None = Field(None, description="Words for yourself.")
    feed: FeedUses = Field(default_factory=list, description="Its own feed, when not its group's.")
    solid_feed: FeedUses = Field(
        default_factory=list, description=f"Its own {either(SOLID)} feed, when not its group's."
    )
    changes: Kept | None = Field(None, description="Keys of the schedule that are different for this tree.")


class NoteModel(FileModel):
    """Words to be told on a day of every year, or on one date."""

    on: DayOfYearOrDate = Field(description="A day of the year, or one date.")
    say: Words = Field(description="What to be told.", examples=["Order akadama."])


class CollectionModel(FileModel):
    """Your trees: the place, your habits, the feeds on the shelf, the groups and the trees."""

    place: PlaceModel
    id: Name | None = Field(
        None,
        description="Keeps calendar entries the same when the place is renamed; made from its name if left out.",
    )
    since: Day | None = Field(None, description="First day the plan counts from.")
    habits: HabitsModel | None = None
    away: list[AwayModel] = Field(default_factory=list, description="Days on which nobody feeds.")
    feeds: dict[Name, FeedModel] = Field(
        default_factory=dict, description="The products on your shelf, by name."
    )
    water: dict[Name, WaterSourceModel] = Field(
        default_factory=dict, description="The waters you pour, by name; the first is the usual one."
    )
    benches: dict[Name, BenchModel] = Field(
        default_factory=dict,
        description="Places where trees stand, by name; others are open to sun, wind and rain.",
    )
    groups: dict[Name, GroupModel] = Field(description="Trees cared for alike, by name.")
    trees: list[TreeModel] = Field(description="Every tree.")
    notes: list[NoteModel] = Field(default_factory=list, description="Notes of your own for the calendar.")
    stages: dict[Name, dict[Name, DayInYear]] = Field(
        default_factory=dict,
        description="Typical dates of your own place: species word, then stage and day.",
        examples=[{"larch": {"leaves open": "24 April"}}],
    )
