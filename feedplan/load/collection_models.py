"""The shape of collection.yaml and journal.yaml: what a grower writes, before it becomes frozen values."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Discriminator, Field, Tag

from feedplan.load import fields as f
from feedplan.load.problems import either
from feedplan.model.forms import SOLID


class PlaceModel(f.FileModel):
    """Where the trees stand."""

    name: f.Name = f.needed("What you call the place.", "Skerry Court")
    latitude: f.Latitude = f.needed("Degrees, south of the equator below zero.", 55.6)
    time_zone: f.TimeZone = f.needed("The zone's IANA name.")
    elevation: f.Elevation | None = f.optional("Height above the sea; 0 m if left out.")


class HabitsModel(f.FileModel):
    """How you work; every key has a default."""

    unlogged_feeds: Literal["given", "missed"] = f.optional(
        "What to make of a planned feed that nobody recorded.", default="given"
    )
    feed_on: f.Weekdays = f.several(
        "The weekday or weekdays you feed on, the one you mix on most first; any day if left out."
    )
    feed_together: f.Span | None = f.optional(
        "A feed due so near to the first day of `feed_on` is given on that day, early or late, so that more is mixed "
        "at once; never nearer than the least gap. 4 days if left out, 0 days for each on the day nearest to it.",
        "4 days",
    )
    can: f.Litres | None = f.optional("The can you mix in; 10 L if left out.")
    feed_share: f.SomeShare | None = f.optional(
        "Feed poured per tree, as a share of its pot's volume; 10 % if left out."
    )
    checks_at: f.ThreeTimes | None = f.optional(
        "Times of a day's first, second and third water check.", ["07:00", "15:00", "20:00"]
    )
    alarm: f.TimeOfDay | None = f.optional("Time of day for alarms; none if left out.")
    most_products: Literal[1, 2, 3] = f.optional("Products mixed in one can at the most.", default=2)
    checks_by: Literal["weather", "schedule"] = f.optional(
        "What sets how often water is checked: the weather, where known, or the schedule's table.",
        default="weather",
    )
    drain_through: f.SomeShare | None = f.optional(
        "Share of the water poured that is to run out; 15 % if left out."
    )
    flush: f.Flush | None = f.optional(
        "When salt is flushed out with plain water; by the waters' salt if left out."
    )
    heavy_rain: f.RainDepth | None = f.optional(
        "Rain in a day that puts a liquid feed off; 10 mm if left out."
    )
    root_zone_air: f.Temperature | None = f.optional(
        "Margin by which air, sun and place must bring the root zone above what is asked; 0 °C if left out. Growers "
        "who go by the air alone want it 2 °C warmer than the roots.",
        "2 °C",
    )
    warm_days: f.Count | None = f.optional("On so many days running; 3 if left out.")
    reading_days: f.Count | None = f.optional(
        "So many days the last reading of air or root zone counts where there are no normals; 3 if left out."
    )
    frost_alert: f.Temperature | None = f.optional(
        "A night this cold is told while growth is soft; 2 °C if left out.", "2 °C"
    )
    root_heat_alert: f.Temperature | None = f.optional(
        "Root zones that may get this hot are told; 42 °C if left out.", "42 °C"
    )
    wind_alert: f.WindSpeed | None = f.optional(
        "A day this windy is told while growth is soft; 8 m per s if left out."
    )
    work_prompts: bool = f.flag(
        "Whether pruning, wiring and repotting are told of too, each once in its season and never while a hold stops "
        "it; `work` of a schedule says when."
    )


class MeasuresModel(f.FileModel):
    """What you measure with at the sink; every key has a default."""

    scale: f.ScaleStep | None = f.optional(
        "The step of your scale; 0.1 g if left out. One in ounces is told in grams and ounces.", "0.1 g"
    )
    syringe: f.SyringeMl | None = f.optional(
        "The step of the syringe or spoon you measure liquids with; 0.1 ml if left out.", "0.1 ml"
    )
    marks: f.Litres | None = f.optional("How far apart the marks of the can are; 0.5 L if left out.", "0.5 L")
    jug: f.Litres | None = f.optional("The jug you pour feed with; 1 L if left out.", "1 L")
    cans: list[f.Litres] = f.several("Your cans; if left out the one of habits.", ["10 L", "5 L"])
    units: Literal["metric", "us", "imperial"] | None = f.optional(
        "Whose gallons, spoons and cups you mean, here, in the journal and at the sink, which answers in them, too.",
        "us",
    )
    injector: f.InjectorSetting | None = f.optional(
        "The injector (proportioner) in your hose: 1 part of stock in so many parts of mixed feed, or the share of "
        "stock in percent. What is more than a can then goes out through the hose, where one product makes it.",
        "1:100",
    )
    stock: f.StockLitres | None = f.optional(
        "The bottle the injector draws its stock from; 1 L if left out.", "1 L"
    )


class AwayModel(f.FileModel):
    """Days on which nobody feeds, both ends included."""

    start: f.Day = Field(alias="from", description="First day away.", examples=["2027-08-03"])
    end: f.Day = Field(alias="to", description="Last day away.", examples=["2027-08-16"])
    ask: f.Name | None = f.optional(
        "Whom the helper asks in doubt, as the sheet shows it.", "Joan at number 9"
    )


class NitrogenModel(f.FileModel):
    """The forms of a product's nitrogen, as labels print them; they add up to the N of the grade."""

    nitrate: f.Percent | None = f.optional("Nitrate nitrogen.", "12 %")
    ammonium: f.Percent | None = f.optional("Ammonium (ammoniacal) nitrogen.", "8 %")
    urea: f.Percent | None = f.optional("Urea (ureic) nitrogen.", "10 %")


class FeedModel(f.FileModel):
    """A product on the shelf, as its label describes it."""

    grade: f.GradeText | None = f.optional("The label's N-P-K.", "24-8-16")
    salt: f.Name | None = f.optional("In place of a grade, the name of a straight salt.", "potassium nitrate")
    basis: Literal["oxide", "elemental"] = f.optional(
        "Whether P and K on the label are oxides (most countries) or elements.", default="oxide"
    )
    form: f.FormName = f.needed("How it comes.")
    measured: Literal["by volume", "by weight"] = f.optional(
        "What the percentages of a liquid refer to: w/v is by volume, w/w by weight.", default="by weight"
    )
    density: f.Density | None = f.optional("Of a liquid measured by weight.")
    spoon: f.Spoon | None = f.optional("What a level spoon of it weighs, and which spoon.")
    label_rate: f.Rate | None = f.optional("The rate the label gives.")
    label_maximum: f.Rate | None = f.optional("The most the label allows; never exceeded.")
    longevity: f.Longevity | None = f.optional("Nominal release time of a solid feed.", "5 to 6 months")
    longevity_at: f.Temperature | None = f.optional("The temperature that time holds for; 21 °C if left out.")
    released: f.Share | None = f.optional(
        "Share of an organic feed's N that comes free in a season; by its form if left out."
    )
    lag: f.Span | None = f.optional(
        "Time before an organic feed on the surface begins to give, at 15 °C; by its form if left out.",
        "4 weeks",
    )
    contains: dict[f.Name, f.Percent] = f.by_name(
        "Further nutrients as the label names them.", {"MgO": "2 %", "Fe": "0.1 %"}
    )
    nitrogen: NitrogenModel | None = f.optional(
        "The forms of its N; they tell what a conductivity pen should read."
    )
    ec: f.FeedEc | None = f.optional(
        "The conductivity it adds, by its label; better than the forms of its N."
    )
    stock: f.ProductAmount | None = f.optional("How much of it there was when it was counted.")
    counted: f.Day | None = f.optional("The day the stock was counted; the day it was opened, if left out.")
    opened: f.Day | None = f.optional("The day the tub or bottle was opened.")
    keeps: f.Keeping | None = f.optional("How long it keeps once opened.")
    price: f.Price | None = f.optional("What it costs, in your own currency.")


class BenchModel(f.FileModel):
    """A place where trees stand."""

    sun: f.Sunlight | None = f.optional("How much sun it gets; full sun if left out.")
    wind: Literal["sheltered", "open", "exposed"] = f.optional(
        "How it stands to the wind, against open ground.", default="open"
    )
    under_cover: bool = f.flag("Whether no rain reaches it.")
    kind: Literal["open", "wall", "frame", "glass"] = f.optional(
        "What keeps its root zones warmer: a sunny wall, a cold frame, glass without heat.", default="open"
    )
    warmer_by: f.Temperature | None = f.optional(
        "By how much, on the mean of a day; if left out 1 °C at a wall or under a roof, 3 °C in a frame, 4 °C under "
        "glass (judgement: measure yours).",
        "3 °C",
    )


class WaterSourceModel(f.FileModel):
    """A water to pour, as its report or your own meter says; leave out what is not known."""

    ec: f.WaterEc | None = f.optional("Conductivity at 25 °C.")
    alkalinity: f.Alkalinity | None = f.optional("What holds its pH up; not the same as hardness.")
    hardness: f.Hardness | None = f.optional("Calcium and magnesium together.")
    calcium: f.IonAmount | None = f.optional("Calcium.")
    magnesium: f.IonAmount | None = f.optional("Magnesium.")
    sodium: f.IonAmount | None = f.optional("Sodium.")
    softened: bool = f.flag("Whether a salt-fed softener has treated it.")


class BlendModel(f.FileModel):
    """Two waters blended to a target; give one target."""

    blend: list[f.Name] = Field(
        min_length=2, max_length=2, description="Two of your waters.", examples=[["tap", "butt"]]
    )
    alkalinity: f.Alkalinity | None = f.optional("Alkalinity wanted.")
    ec: f.WaterEc | None = f.optional("Conductivity wanted.")


WaterField = Annotated[
    Annotated[BlendModel, Tag("mapping")] | Annotated[f.Name, Tag("text")], Discriminator(f.mapping_or_text)
]


class FeedUseModel(f.FileModel):
    """A product used from a day on."""

    use: f.Name = f.needed("A feed of this collection.", "spring-powder")
    start: f.DayOfYearOrDate | None = Field(
        None, alias="from", description="First day, of one year or of each; from the beginning if left out."
    )
    to: f.DayInYear | None = f.optional(
        "Last day where `from` is a day of each year; until the next such entry begins, if left out.",
        "15 November",
    )
    when_used_up: bool = f.flag(
        "Whether it also waits until the feed before it, if its stock was counted, no longer fills the can."
    )


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


class GroupModel(f.FileModel):
    """Trees cared for alike."""

    schedule: f.Name = f.needed(
        "A shipped schedule, one of your own schedules folder, or a path that ends in .yaml.", "vigorous"
    )
    feed: FeedUses = f.several("The feed used, or several with their first days.")
    solid_feed: FeedUses = f.several(f"The {either(SOLID)} feed laid on its pots, likewise.")
    ratio: f.NpkRatio | None = f.optional(
        "In place of a feed, the N-P-K to mix from the shelf and how P and K are counted."
    )
    mix_of: list[f.Name] = f.several("The feeds it may be mixed of; all that dissolve, if left out.")
    bench: f.Name | None = f.optional("Where the group stands.")
    mix: f.MixText | None = f.optional("What its pots are filled with; mineral if left out.")
    water: WaterField | None = f.optional(
        "One of your waters, or a blend; the first of them if left out.",
        "butt",
        {"blend": ["tap", "butt"], "alkalinity": "60 mg/L CaCO3"},
    )
    flush: f.Flush | None = f.optional("When salt is flushed out, when not as in habits.")
    changes: f.Kept | None = f.optional("Keys of the schedule that are different for this group.")


class PotModel(f.FileModel):
    """A pot in parts; a volume wins over one worked out from the size."""

    size: f.Written | None = f.optional("Length, width and depth.", "28 x 28 x 20 cm")
    shape: Literal["rectangle", "oval", "round"] | None = f.optional("Its outline; rectangle if left out.")
    volume: f.Written | None = f.optional("What it holds.", "9 L")
    depth: f.Written | None = f.optional("Depth inside.", "20 cm")
    shared: bool | None = f.optional("Whether all that `count` counts stand in it, as in a tray.", True)
    open_sided: bool = f.flag("Whether air reaches the roots through the walls.")
    colour: Literal["dark", "brown", "white"] = f.optional(
        "How pale it is: white pots stay up to 7 °C cooler in the sun than black ones.", default="brown"
    )


PotField = Annotated[
    Annotated[PotModel, Tag("mapping")] | Annotated[f.PotText, Tag("text")], Discriminator(f.mapping_or_text)
]


class TreeModel(f.FileModel):
    """One tree, or several alike under one name."""

    name: f.Name = f.needed("Its name, used in the journal; keep it for ever.", "Brindle")
    species: f.Name = f.needed("Its kind; decides its typical year.", "larch")
    group: f.Name = f.needed("The group it stood in at first.", "growing-on")
    pot: PotField = f.needed("Its pot: a volume or a size.")
    count: f.Count = f.optional("How many stand behind this name.", 24, default=1)
    bench: f.Name | None = f.optional("Where it stands, when not with its group.")
    weak: bool = f.flag("Whether it counts as weak: for water checks, and root work counts one band heavier.")
    old: bool = f.flag("Whether it is very old: root work counts one band heavier.")
    since: f.Day | None = f.optional("The day it joined; always, if left out.")
    canopy: f.Canopy | None = f.optional("Width of the crown.")
    mix: f.MixText | None = f.optional("What its pot is filled with, when not as its group's.")
    repot_every: f.Years | None = f.optional("How often it is repotted, when not as its schedule says.")
    about: f.Words | None = f.optional("Words for yourself.")
    feed: FeedUses = f.several("Its own feed, when not its group's.")
    solid_feed: FeedUses = f.several(f"Its own {either(SOLID)} feed, when not its group's.")
    changes: f.Kept | None = f.optional("Keys of the schedule that are different for this tree.")


class NoteModel(f.FileModel):
    """Words to be told on a day of every year, or on one date."""

    on: f.DayOfYearOrDate = f.needed("A day of the year, or one date.")
    say: f.Words = f.needed("What to be told.", "Order akadama.")


class CollectionModel(f.FileModel):
    """Your trees: the place, your habits, the feeds on the shelf, the groups and the trees."""

    place: PlaceModel
    id: f.Name | None = f.optional(
        "Keeps calendar entries the same when the place is renamed; made from its name if left out."
    )
    since: f.Day | None = f.optional("First day the plan counts from.")
    habits: HabitsModel | None = None
    measures: MeasuresModel | None = None
    away: list[AwayModel] = f.several("Days on which nobody feeds.")
    feeds: dict[f.Name, FeedModel] = f.by_name("The products on your shelf, by name.")
    water: dict[f.Name, WaterSourceModel] = f.by_name(
        "The waters you pour, by name; the first is the usual one."
    )
    benches: dict[f.Name, BenchModel] = f.by_name(
        "Places where trees stand, by name; others are open to sun, wind and rain."
    )
    groups: dict[f.Name, GroupModel] = f.needed("Trees cared for alike, by name.")
    trees: list[TreeModel] = f.needed("Every tree.")
    notes: list[NoteModel] = f.several("Notes of your own for the calendar.")
    stages: dict[f.Name, dict[f.Name, f.DayInYear]] = f.by_name(
        "Typical dates of your own place: species word, then stage and day.",
        {"larch": {"leaves open": "24 April"}},
    )


class EntryModel(f.FileModel):
    """One thing that happened, to which trees, and when."""

    date: f.Day = f.needed("The day it happened.", "2027-04-26")
    recorded: f.Day | None = f.optional("The day it was written down, when later.")
    id: f.Name | None = f.optional("Its identity, for undoing.", "k7f3q")
    tree: f.Name | None = f.optional("The tree it speaks of.", "Brindle")
    trees: list[f.Name] | None = f.optional("The trees it speaks of.")
    group: f.Name | None = f.optional("Every tree of a group.")
    species: f.Name | None = f.optional("Every tree of a species.")
    everything: Literal[True] | None = f.optional("Every tree.")
    but_not: f.Names | None = f.optional("Trees left out.")
    seen: f.Names | None = f.optional("Stages or signs seen.", "first flush hardened")
    instead: bool = f.flag(
        "Whether it stands in place of what was written before, of the same in that season."
    )
    work: f.Name | None = f.optional("Work done that holds other things back.", "repotted")
    roots: f.Share | None = f.optional("Share of the roots removed.")
    bare_rooted: bool = f.flag("Whether all soil was removed.")
    planned: f.Name | None = f.optional("Work meant to be done; it holds nothing yet.", "repotted")
    on: f.Day | None = f.optional("The day it is planned for.", "2028-03-10")
    trouble: f.Name | None = f.optional("Damage met.", "frost")
    arrived: f.Name | None = f.optional("How the tree came.", "bought")
    fed: f.FedWords | None = f.optional("A liquid feed given: as planned, or its strength.")
    feed: f.Name | None = f.optional("The product fed, when not the planned one.")
    litres: f.PouredLitres | None = f.optional("How much was poured in all.", "6 L")
    part: f.Share | None = f.optional("How much of the usual pour each tree got.", "50 %")
    not_fed: f.Words | None = f.optional("A feed asked for was not given, and why.", "too wet", "no reason")
    check: Literal["dry", "moist", "watered"] | None = f.optional("The answer to a water check.")
    ec: f.PenReading | None = f.optional("What the conductivity pen read.")
    of: Literal["can", "drain"] | None = f.optional(
        "What was read: the mixed can, if left out, or what drained from the pots."
    )
    read_at: f.Temperature | None = f.optional("How warm that was, when the pen does not correct for it.")
    root_zone: f.RootZone | None = f.optional(
        "The temperature measured in the root zone; it counts before what the air lets expect."
    )
    laid: f.Name | None = f.optional(f"A {either(SOLID)} feed laid on the pot.")
    not_laid: f.Words | None = f.optional(
        "Solid feed asked for was not laid, and why.", "still wet", "no reason"
    )
    grams: f.LaidGrams | None = f.optional("How much of it, for each tree.")
    rate: f.SolidRate | None = f.optional("In place of grams, how much for each litre of pot.")
    mixed_in: bool = f.flag("Whether it was mixed in and cannot be lifted.")
    lifted: f.Name | None = f.optional("Solid feed taken off: its name, all, or none there.")
    moved: f.Name | None = f.optional("The group it moved to; `group` in collection.yaml stays.")
    bench: f.Name | None = f.optional("The bench it moved to.")
    gone: Literal["dead", "sold", "given away", "set apart"] | None = f.optional("How the tree left.")
    count: f.Count | None = f.optional("How many of those under one name; all, if left out.", 1)
    put_off: Literal["next spring"] | None = f.optional("Its holds wait for the signs of next spring.")
    allow: Literal["feed"] | None = f.optional("Feed on this day in spite of holds.")
    because: f.Words | None = f.optional("Why that is allowed.")
    note: f.Words | None = f.optional("Free words.")
    undo: f.Name | None = f.optional("The id of an entry that was wrong.")
