"""The shape of a stage clock in stages.yaml and of learned.yaml."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated

from pydantic import Field, PlainValidator

from feedplan.load.models.fields import (
    DayInYear,
    FileModel,
    Interval,
    Name,
    Share,
    Span,
    Temperature,
    Words,
    reader,
    words_schema,
)
from feedplan.load.readers.clock_words import parse_amount, parse_chill_need, parse_degree_days, parse_wind

DegreeDays = Annotated[float, PlainValidator(reader(parse_degree_days)), words_schema("75 degree days")]
Amount = Annotated[
    float, PlainValidator(reader(parse_amount)), words_schema("25 degree days", "4 days", pattern=r"\d")
]
ChillNeed = Annotated[
    tuple[int, str], PlainValidator(reader(parse_chill_need)), words_schema("40 days", "800 hours")
]


WindSpeed = Annotated[Decimal, PlainValidator(reader(parse_wind)), words_schema("8 m per s", "30 km per h")]


class ChillModel(FileModel):
    """The winter cold that buds need before warmth counts in full."""

    below: Temperature = Field(description="A day with a mean at or below it, or an hour, counts as cold.")
    count_from: DayInYear = Field(description="First day counted.", examples=["1 November"])
    need: ChillNeed = Field(description="Days or hours of cold needed.")
    each_day_short: Share = Field(
        description="How much more warmth each missing day of cold asks for.", examples=["1 %"]
    )


class StageRuleModel(FileModel):
    """What brings one stage: exactly one of warmth, cold, days and day_shortened."""

    after: Name | None = Field(None, description="The stage counted from; the clock's first day if left out.")
    warmth: DegreeDays | None = Field(None, description="Degree days above the base.")
    cold: DegreeDays | None = Field(None, description="Degree days of cold, counted below `below`.")
    below: Temperature | None = Field(None, description="Below it a day's mean counts as cold.")
    days: Span | None = Field(None, description="Days after that stage.")
    day_shortened: Share | None = Field(
        None, description="How far days have gone from the longest to the shortest."
    )
    give_or_take: Amount = Field(description="Half the range: degree days, or days.")
    at_least: Interval | None = Field(None, description="Never sooner after that stage.")
    at_most: Interval | None = Field(None, description="Never later after that stage.")


class ClockModel(FileModel):
    """What brings the stages of one kind of species, where the collection has weather."""

    base: Temperature = Field(description="Warmth counts above it.")
    upper: Temperature | None = Field(
        None, description="Warmth above it counts no further; no limit if left out."
    )
    count_from: DayInYear = Field(description="First day warmth counts.", examples=["1 February"])
    chill: ChillModel | None = Field(None, description="Winter cold needed; none if left out.")
    stages: dict[Name, StageRuleModel] = Field(description="Stages with what brings them.")


class LearnedStageModel(FileModel):
    """What your own sightings say about one stage of one species."""

    base: Temperature = Field(description="Warmth counts above it.")
    count_from: DayInYear = Field(description="First day warmth counts.", examples=["1 February"])
    warmth: DegreeDays = Field(description="Degree days above the base until the stage is seen.")
    give_or_take: Amount = Field(description="Half the range it may be off by.")
    how: Words | None = Field(None, description="From how many sightings, and how far off it was.")


class LearnedModel(FileModel):
    """What feedplan learn found, by species and stage; it wins over the shipped clocks."""

    learned: dict[Name, dict[Name, LearnedStageModel]]
