"""The shape of the files in schedules: schedules, standing holds, and the words for stages and signs."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Discriminator, Field, Tag

from feedplan.load.models.clock_models import ClockModel
from feedplan.load.models.fields import (
    ActionWords,
    Budget,
    CheckWords,
    DayInYear,
    FileModel,
    Interval,
    Kept,
    Name,
    NeedWords,
    NpkRatio,
    PpmN,
    Share,
    SmallNumber,
    SolidRate,
    Span,
    Strength,
    Temperature,
    When,
    Words,
    one_or_more,
)
from feedplan.load.models.water_models import WaterShare


class PeriodModel(FileModel):
    """A stretch of the year fed in one way."""

    start: When = Field(
        alias="from", description="Where it begins: a stage, a day, or several with or / and."
    )
    stop: When = Field(
        alias="to",
        description="Where it ends: a day is still fed, the day of a stage is not.",
        examples=["15 August", "30 September or leaves colouring"],
    )
    every: Interval = Field(description="From one feed to the next.")
    min_gap: Interval | None = Field(
        None, description="Never closer than this; 7 tenths of `every` if left out."
    )
    strength: Strength | None = Field(
        None, description="Nitrogen in the can, or a share of the label's rate."
    )
    ratio: NpkRatio | None = Field(
        None, description="What to mix from the shelf for groups that name no feed."
    )
    solid: SolidRate | None = Field(
        None, description="In place of a strength, solid feed to lay, for each litre of pot."
    )
    lift: When | None = Field(
        None, description="When what still lies is taken off; the day after `to`, if left out."
    )
    root_zone_above: Temperature | None = Field(
        None, description="Feeds wait until the mix is warmer than this."
    )
    air_below: Temperature | None = Field(None, description="Feeds wait while days are hotter than this.")


def _none_or_periods(value: object) -> str:
    return "periods" if isinstance(value, dict) else "none"


Feeding = Annotated[
    Annotated[dict[Name, PeriodModel], Tag("periods")] | Annotated[Literal["none"], Tag("none")],
    Discriminator(_none_or_periods),
]


class WaterModel(FileModel):
    """How often to check water from one stage on, by pot."""

    shallow: CheckWords = Field(description="Pots to 6 cm deep.")
    medium: CheckWords = Field(description="Pots between.")
    deep: CheckWords = Field(description="Pots from 12 cm, from 8 L, or open-sided.")
    weak: CheckWords = Field(description="Root-cut or weak trees, when it asks for more looks than the pot.")


class HoldModel(FileModel):
    """What one cause of one severity holds back, and what must be seen to end it."""

    work: Name | None = Field(
        None, description="The journal word under work that opens it.", examples=["repotted"]
    )
    trouble: Name | None = Field(
        None, description="The journal word under trouble that opens it.", examples=["frost"]
    )
    arrived: Name | None = Field(
        None, description="The journal word under arrived that opens it.", examples=["bought"]
    )
    roots_from: Share | None = Field(None, description="Share of roots removed from which it applies.")
    roots_below: Share | None = Field(None, description="Share of roots removed below which it applies.")
    band: SmallNumber = Field(0, description="Order among the rules of one cause, gentlest 0.")
    when_unknown: bool = Field(False, description="Applies when the share of roots is not told.")
    stops: list[ActionWords] = Field(
        description="What is left undone.", examples=[["liquid feed", "solid feed"]]
    )
    at_least: Span = Field(description="Shortest length.")
    until_seen: Annotated[
        list[NeedWords], BeforeValidator(one_or_more, json_schema_input_type=list[NeedWords] | NeedWords)
    ] = Field(default_factory=list, description="Signs that must all be recorded before it ends.")
    instead_seen: Annotated[
        list[NeedWords], BeforeValidator(one_or_more, json_schema_input_type=list[NeedWords] | NeedWords)
    ] = Field(
        default_factory=list,
        description="Signs that, all recorded, release it at next season's `release_at`.",
    )
    release_at: Name | None = Field(None, description="The stage at which `instead_seen` releases it.")
    ramp: list[Share] = Field(
        default_factory=list, description="Share of the plan's strength for the first feeds after it."
    )
    ramp_step: Interval | None = Field(
        None, description="Least time between those feeds; 10 days if left out."
    )
    cap: PpmN | None = Field(None, description="Strongest feed in the season of release.")
    cap_share: Share | None = Field(None, description="Largest share of the plan in the season of release.")
    feed_every: Interval | None = Field(
        None, description="Least time between feeds in the season of release."
    )
    last_feed: DayInYear | None = Field(None, description="No feed after this day in the season of release.")
    reviews: list[Interval] = Field(
        default_factory=list, description="When to look, counted from the first day."
    )
    review_every: Interval | None = Field(
        None, description="How often to look afterwards; 2 weeks if left out."
    )
    carry_over_after: Interval | None = Field(None, description="When to put it off to next spring.")
    hot_from: Temperature | None = Field(
        None, description="Two days running with a maximum from here on open it, by the daily weather."
    )
    over_below: Temperature | None = Field(None, description="Days with a maximum below this end it again.")
    over_days: SmallNumber | None = Field(None, description="So many of them running; 2 if left out.")
    let_surface_dry: bool = Field(False, description="Let the surface dry between waterings meanwhile.")
    water_use: WaterShare | None = Field(
        None, description="Share of its usual thirst left on the first day; it comes back evenly."
    )
    carries: Budget | None = Field(
        None,
        description="N in coated feed that a new tree is taken to bring along, until you say otherwise.",
        examples=["175 mg N per L"],
    )
    do: Annotated[list[Words], BeforeValidator(one_or_more, json_schema_input_type=list[Words] | Words)] = (
        Field(default_factory=list, description="What else to do.")
    )


class ScheduleModel(FileModel):
    """How a group is fed, checked and held through the year."""

    schedule: Name = Field(description="Its name, the same as the file's.", examples=["vigorous"])
    about: Words = Field(description="What it is for.", examples=["Trees in development."])
    written_for: Literal["north", "south"] | None = Field(
        None, description="The hemisphere its days are meant for; your own if left out."
    )
    stages: Name = Field(
        description="The typical year used for species that no calendar lists.", examples=["middle leafing"]
    )
    budget: Budget = Field(description="Nitrogen per litre of pot in one season.")
    allow_over: bool = Field(
        False, description="Whether a plan above 900 mg N per L is meant; it is refused otherwise."
    )
    weakest: PpmN | None = Field(
        None, description="A feed trimmed below this is left out; 10 ppm N if left out."
    )
    root_work_counts: Literal["as written", "one band up"] = Field(
        "as written", description="Whether root work counts one band heavier here."
    )
    feeding: Feeding = Field(description="Feeding periods by name, or none.")
    water: dict[Name, WaterModel] = Field(description="Water checks, from each stage on.")
    look_for: dict[Name, Words] = Field(
        default_factory=dict, description="What to look for, from each stage on."
    )
    indoors: bool = Field(
        False, description="Whether it is for trees in a room, where the weather does not count."
    )
    holds: Kept | None = Field(None, description="Rules that differ from the standing ones, or new ones.")


class HoldsModel(FileModel):
    """The standing holds: they are in force in every schedule that does not change them."""

    holds: dict[Name, HoldModel]


class WordModel(FileModel):
    """A stage or sign that may be recorded as seen."""

    looks_like: Words | None = Field(None, description="How to recognise it.")
    also: list[Name] = Field(default_factory=list, description="Other ways to write it.")
    bbch: SmallNumber | None = Field(None, description="Its code on the BBCH scale.")
    shows: list[Name] = Field(default_factory=list, description="Signs that seeing it also proves.")
    adverse: bool = Field(False, description="Whether it says that the tree is not coping.")
    soft: bool = Field(False, description="Whether frost and wind harm what has grown by then.")
    water_use: WaterShare | None = Field(
        None, description="At this stage, what the tree drinks against reference evapotranspiration."
    )


class CalendarModel(FileModel):
    """The typical year of one kind of species."""

    written_for: Literal["north", "south"] | None = Field(
        None, description="The hemisphere its days are meant for; your own if left out."
    )
    species: list[Name] = Field(
        description="Words that mark a species as belonging here.", examples=[["larch"]]
    )
    spread: Interval = Field(description="How far off such a date often is.", examples=["3 weeks"])
    spring: list[Name] = Field(
        default_factory=list, description="Stages that a late season pushes back together."
    )
    water_use: dict[Name, WaterShare] = Field(
        default_factory=dict,
        description="Stages at which this kind drinks otherwise than the stage's own share.",
    )
    dates: dict[Name, DayInYear] = Field(
        description="Stages with their days, in the order of the growing year."
    )
    clock: ClockModel | None = Field(None, description="What brings the stages, where there is weather.")


class VocabularyModel(FileModel):
    """The words for stages and signs, and the typical years."""

    stages: dict[Name, WordModel] = Field(default_factory=dict)
    signs: dict[Name, WordModel] = Field(default_factory=dict)
    calendars: dict[Name, CalendarModel] = Field(default_factory=dict)
