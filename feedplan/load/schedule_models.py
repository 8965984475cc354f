"""The shape of the files in schedules: schedules, standing holds, words for stages and signs, typical years, clocks."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Discriminator, Field, Tag

from feedplan.load import fields as f

FIXED = ("schedule", "written_for")
"""Keys of a schedule that say what the file is, so changes cannot hold them."""


class PeriodModel(f.FileModel):
    """A stretch of the year fed in one way."""

    start: f.When = Field(
        alias="from", description="Where it begins: a stage, a day, or several with or / and."
    )
    stop: f.When = Field(
        alias="to",
        description="Where it ends: a day is still fed, the day of a stage is not.",
        examples=["15 August", "30 September or leaves colouring"],
    )
    or_after: list[f.Name] = f.several(
        "Holds whose end stands in for a stage that `from` waits to see.", ["repotted, light"]
    )
    every: f.Interval = f.needed("From one feed to the next.")
    min_gap: f.Interval | None = f.optional("Never closer than this; 7 tenths of `every` if left out.")
    strength: f.Strength | None = f.optional("Nitrogen in the can, or a share of the label's rate.")
    ratio: f.NpkRatio | None = f.optional("What to mix from the shelf for groups that name no feed.")
    solid: f.SolidRate | None = f.optional(
        "In place of a strength, solid feed to lay, for each litre of pot."
    )
    kinds: list[f.FormName] = f.several("The forms of solid feed it is for; all if left out.")
    placement: f.Words | None = f.optional("How solid feed is laid.", "in small heaps at the rim")
    lift: f.When | None = f.optional(
        "When what still lies is taken off; the day after `to` or after `every`, whichever is later, if left out."
    )
    root_zone_above: f.Temperature | None = f.optional("Feeds wait until the mix is warmer than this.")
    air_below: f.Temperature | None = f.optional("Feeds wait while days are hotter than this.")


Feeding = Annotated[
    Annotated[dict[f.Name, PeriodModel], Tag("mapping")] | Annotated[Literal["none"], Tag("text")],
    Discriminator(f.mapping_or_text),
]


class WaterModel(f.FileModel):
    """How often to check water from one stage on, by pot."""

    shallow: f.CheckWords = f.needed("Pots to 6 cm deep.")
    medium: f.CheckWords = f.needed("Pots between.")
    deep: f.CheckWords = f.needed("Pots from 12 cm, from 8 L, or open-sided.")
    weak: f.CheckWords = f.needed("Root-cut or weak trees, when it asks for more looks than the pot.")


class HoldModel(f.FileModel):
    """What one cause of one severity holds back, and what must be seen to end it."""

    work: f.Name | None = f.optional("The journal word under work that opens it.", "repotted")
    trouble: f.Name | None = f.optional("The journal word under trouble that opens it.", "frost")
    arrived: f.Name | None = f.optional("The journal word under arrived that opens it.", "bought")
    seen: f.Name | None = f.optional("The sign that opens it when it is seen.", "limp")
    roots_from: f.Share | None = f.optional("Share of roots removed from which it applies.")
    roots_below: f.Share | None = f.optional("Share of roots removed below which it applies.")
    band: f.SmallNumber = f.optional("Order among the rules of one cause, gentlest 0.", default=0)
    when_unknown: bool = f.flag("Applies when the share of roots is not told.")
    stops: list[f.ActionWords] = f.needed("What is left undone.", ["liquid feed", "solid feed"])
    at_least: f.Span = f.needed("Shortest length.")
    until_seen: f.Needs = f.several("Signs that must all be recorded before it ends.")
    instead_seen: f.Needs = f.several("Signs that, all recorded, release it at next season's `release_at`.")
    release_at: f.Name | None = f.optional("The stage at which `instead_seen` releases it.")
    ramp: list[f.Share] = f.several("Share of the plan's strength for the first feeds after it.")
    ramp_step: f.Interval | None = f.optional("Least time between those feeds; 10 days if left out.")
    cap: f.PpmN | None = f.optional("Strongest feed in the season of release.")
    cap_share: f.Share | None = f.optional("Largest share of the plan in the season of release.")
    feed_every: f.Interval | None = f.optional("Least time between feeds in the season of release.")
    last_feed: f.DayInYear | None = f.optional("No feed after this day in the season of release.")
    reviews: list[f.Interval] = f.several("When to look, counted from the first day.")
    review_every: f.Interval | None = f.optional("How often to look afterwards; 2 weeks if left out.")
    carry_over_after: f.Interval | None = f.optional("When looks ask whether to put it off to next spring.")
    turns_into: f.Name | None = f.optional(
        "The rule that takes over when none of its signs was seen by `turns_after`.", "repotted, severe"
    )
    turns_after: f.Interval | None = f.optional("When that is, counted from the first day.")
    root_work_counts: Literal["as written", "one band up"] = f.optional(
        "Whether root work on a tree so held counts one band heavier.", default="as written"
    )
    hot_from: f.Temperature | None = f.optional(
        "Two days running with a maximum from here on open it, by the daily weather."
    )
    over_below: f.Temperature | None = f.optional("Days with a maximum below this end it again.")
    over_days: f.SmallNumber | None = f.optional("So many of them running; 2 if left out.")
    let_surface_dry: bool = f.flag("Let the surface dry between waterings meanwhile.")
    water_use: f.WaterShare | None = f.optional(
        "Share of its usual thirst left on the first day; it comes back evenly."
    )
    carries: f.Budget | None = f.optional(
        "N in coated feed that a new tree is taken to bring along, until you say otherwise.", "175 mg N per L"
    )
    do: f.WordsList = f.several("What else to do.")


class CeilingsModel(f.FileModel):
    """The most a liquid feed may add to the water; a feed that would bring more is weakened, and says so."""

    ec: f.PenReading | None = f.optional("Conductivity at 25 °C, over the water's own; 2 mS/cm if left out.")
    phosphorus: f.NutrientAmount | None = f.optional("P, as element; 90 mg per L if left out.")
    potassium: f.NutrientAmount | None = f.optional("K, as element; 300 mg per L if left out.")


class UsualModel(f.FileModel):
    """What trees of this kind usually get in a season, to set beside what a plan gives."""

    least: f.Budget = f.needed("Lower end.", "250 mg N per L")
    most: f.Budget = f.needed("Upper end.", "450 mg N per L")
    source: f.Words = f.needed("Where the range comes from.", "common practice, no source")


class LookForModel(f.FileModel):
    """What to look for from a stage on, where it is not meant for every tree or all the while."""

    say: f.Words = f.needed("What to look for.", "Time to prune or defoliate.")
    to: f.DayInYear | None = f.optional("The last day it is said; while the stage lasts, if left out.")
    not_for: list[f.Name] = f.several("Species it is not meant for.", ["larch", "birch"])
    otherwise: f.Words | None = f.optional("What those are told in its place.")
    sound_only: bool = f.flag("Whether it is kept from weak trees and from those held.")
    until_seen: list[f.Name] = f.several(
        "Stages or signs; one of them recorded, it is said no more.", ["rooted"]
    )
    until_fed: bool = f.flag("Whether it is said no more of trees fed that season.")


LookForField = Annotated[
    Annotated[LookForModel, Tag("mapping")] | Annotated[f.Words, Tag("text")],
    Discriminator(f.mapping_or_text),
]


class WorkTimeModel(f.FileModel):
    """When one kind of work is told, for growers whose habits say `work_prompts: true`."""

    work: Literal["pruning", "wiring", "repotting"] = f.needed(
        "What it counts as, pruning, wiring or repotting: while a hold stops that, nothing is told.",
        "pruning",
    )
    start: f.When = Field(
        alias="from", description="From when it may be done.", examples=["first flush hardened"]
    )
    stop: f.When = Field(
        alias="to",
        description="Until when; a day is still in time, the day of a stage is not.",
        examples=["31 July", "leaves open"],
    )
    say: f.Words = f.needed("What is told, on the first day it may be done.", "Prune strong trees back.")
    if_unknown: f.Words | None = f.optional(
        "What is told in its place where nobody knows when it was done last, or how often it is.",
        "Look whether roots fill the pot.",
    )
    done: list[f.Name] = f.several(
        "Journal words under work; once one is recorded, nothing is told for the rest of that season.",
        ["repotted"],
    )
    again_after: f.Years | None = f.optional(
        "Never told sooner after it was done; 1 year if left out. For repotting `repot_every` counts before it."
    )
    not_for: list[f.Name] = f.several("Species it is not meant for.", ["larch", "birch"])
    weak_too: bool = f.flag("Whether it is told of weak trees too.")


class ScheduleModel(f.FileModel):
    """How a group is fed, checked and held through the year."""

    schedule: f.Name = f.needed("Its name, the same as the file's.", "vigorous")
    about: f.Words = f.needed("What it is for.", "Trees in development.")
    written_for: Literal["north", "south"] | None = f.optional(
        "The hemisphere its days are meant for; your own if left out."
    )
    stages: f.Name = f.needed("The typical year used for species that no calendar lists.", "middle leafing")
    budget: f.Budget = f.needed("Nitrogen per litre of pot in one season.")
    usual: UsualModel | None = f.optional("What trees of this kind usually get in a season.")
    allow_over: bool = f.flag("Whether a plan above 900 mg N per L is meant; a strong warning otherwise.")
    weakest: f.PpmN | None = f.optional("A feed trimmed below this is left out; 10 ppm N if left out.")
    ceilings: CeilingsModel | None = f.optional("The most that a feed may add to the water.")
    beside_solids: f.Share | None = f.optional(
        "Share of the liquid feeds that solid feed leaves room for; 50 % if left out."
    )
    least_laying: f.Share | None = f.optional(
        "A laying cut to fit the budget is left out below this share; 25 % if left out."
    )
    root_work_counts: Literal["as written", "one band up"] = f.optional(
        "Whether root work counts one band heavier here.", default="as written"
    )
    feeding: Feeding = f.needed("Feeding periods by name, or none.")
    water: dict[f.Name, WaterModel] = f.needed("Water checks, from each stage on.")
    look_for: dict[f.Name, LookForField] = f.by_name("What to look for, from each stage on.")
    work: dict[f.Name, WorkTimeModel] = f.by_name(
        "When to prune, wire and repot, told only where habits say `work_prompts: true`."
    )
    repot_every: f.Years | None = f.optional(
        "How often its trees are repotted; the year book says what is due."
    )
    weather_only_adds: bool = f.flag(
        "Whether its checks are the least, also where the weather is known: for cells that dry in hours."
    )
    indoors: bool = f.flag("Whether it is for trees in a room, where the weather does not count.")
    holds: f.Kept | None = f.optional("Rules that differ from the standing ones, or new ones.")


class HoldsModel(f.FileModel):
    """The standing holds: they are in force in every schedule that does not change them."""

    holds: dict[f.Name, HoldModel]


class WordModel(f.FileModel):
    """A stage or sign that may be recorded as seen."""

    looks_like: f.Words | None = f.optional("How to recognise it.")
    also: list[f.Name] = f.several("Other ways to write it.")
    bbch: f.SmallNumber | None = f.optional("Its code on the BBCH scale.")
    shows: list[f.Name] = f.several("Signs that seeing it also proves.")
    adverse: bool = f.flag("Whether it says that the tree is not coping.")
    soft: bool = f.flag("Whether frost and wind harm what has grown by then.")
    on_leaves: bool = f.flag("Whether only leaves show it, so that nobody is asked after it on a bare tree.")
    follows: list[f.Name] = f.several("Stages that must have come before it.")
    do: f.WordsList = f.several("What to do when it is seen.")
    lasts_until: f.Name | None = f.optional(
        "Seen once, it counts in the years after too, from open leaves on, until this work is done."
    )
    water_use: f.WaterShare | None = f.optional(
        "At this stage, what the tree drinks against reference evapotranspiration."
    )


class ChillModel(f.FileModel):
    """The winter cold that buds need before warmth counts in full."""

    below: f.Temperature = f.needed("A day with a mean at or below it, or an hour, counts as cold.")
    count_from: f.DayInYear = f.needed("First day counted.", "1 November")
    need: f.ChillNeed = f.needed("Days or hours of cold needed.")
    each_day_short: f.Share = f.needed("How much more warmth each missing day of cold asks for.", "1 %")


class StageRuleModel(f.FileModel):
    """What brings one stage: exactly one of warmth, cold, days and day_shortened."""

    after: f.Name | None = f.optional("The stage counted from; the clock's first day if left out.")
    warmth: f.DegreeDays | None = f.optional("Degree days above the base.")
    cold: f.DegreeDays | None = f.optional("Degree days of cold, counted below `below`.")
    below: f.Temperature | None = f.optional("Below it a day's mean counts as cold.")
    days: f.Span | None = f.optional("Days after that stage.")
    day_shortened: f.Share | None = f.optional("How far days have gone from the longest to the shortest.")
    give_or_take: f.WarmthOrDays = f.needed("Half the range: degree days, or days.")
    at_least: f.Interval | None = f.optional("Never sooner after that stage.")
    at_most: f.Interval | None = f.optional("Never later after that stage.")


class ClockModel(f.FileModel):
    """What brings the stages of one kind of species, where the collection has weather."""

    base: f.Temperature = f.needed("Warmth counts above it.")
    upper: f.Temperature | None = f.optional("Warmth above it counts no further; no limit if left out.")
    count_from: f.DayInYear = f.needed("First day warmth counts.", "1 February")
    chill: ChillModel | None = f.optional("Winter cold needed; none if left out.")
    stages: dict[f.Name, StageRuleModel] = f.needed("Stages with what brings them.")


class RootWorkModel(f.FileModel):
    """When roots may be worked on."""

    start: f.When = Field(
        alias="from", description="From when roots may be worked on.", examples=["leaves fallen"]
    )
    stop: f.When = Field(
        alias="to", description="Until when, the day of a stage left out.", examples=["first flush extending"]
    )


class CalendarModel(f.FileModel):
    """The typical year of one kind of species."""

    written_for: Literal["north", "south"] | None = f.optional(
        "The hemisphere its days are meant for; your own if left out."
    )
    species: list[f.Name] = f.several("Words that place a species here, whatever the table of species says.")
    spread: f.Interval = f.needed("How far off such a date often is.", "3 weeks")
    spring: list[f.Name] = f.several("Stages that a late season pushes back together.")
    repeats: bool = f.flag(
        "Whether its two stages, growth and its stop, come as often in a year as they are seen."
    )
    water_use: dict[f.Name, f.WaterShare] = f.by_name(
        "Stages at which this kind drinks otherwise than the stage's own share."
    )
    dates: dict[f.Name, f.DayInYear] = f.needed("Stages with their days, in the order of the growing year.")
    clock: ClockModel | None = f.optional("What brings the stages, where there is weather.")
    root_work: RootWorkModel | None = f.optional(
        "Outside these days root work counts one band heavier; all year will do if left out.",
        {"from": "leaves fallen", "to": "first flush extending"},
    )


class HarmModel(f.FileModel):
    """Genera that feed harms in one way."""

    most_phosphorus: f.NutrientAmount | None = f.optional("The most P their feed should bring, as element.")
    words: dict[f.Name, f.Words] = f.by_name(
        "Genera, or everyday words for them, with what each is known from."
    )


class GeneraModel(f.FileModel):
    """Genera that ordinary feed harms."""

    genera: dict[Literal["phosphorus sensitive", "never feed"], HarmModel]


class VocabularyModel(f.FileModel):
    """The words for stages and signs, and the typical years."""

    stages: dict[f.Name, WordModel] = f.by_name()
    signs: dict[f.Name, WordModel] = f.by_name()
    calendars: dict[f.Name, CalendarModel] = f.by_name()
