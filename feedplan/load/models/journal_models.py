"""The shape of journal.yaml: a list of entries, one thing that happened in each."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, PlainValidator

from feedplan.dose.measures import tidy
from feedplan.load.findings import either
from feedplan.load.models.fields import (
    Conductivity,
    Day,
    FileModel,
    Grams,
    Litres,
    Name,
    Share,
    SolidRate,
    Temperature,
    Words,
    one_or_more,
    reader,
    words_schema,
)
from feedplan.load.readers.care_measures import parse_ppm_n
from feedplan.model.forms import SOLID

AS_PLANNED = "as planned"
NO_REASON = "no reason"
NONE_THERE = "none there"


def _parse_fed(text: str) -> Any:
    """None for "as planned", else nitrogen in the can [mg/L]. Raises ValueError."""
    return AS_PLANNED if tidy(text).lower() == AS_PLANNED else parse_ppm_n(text)


FedWords = Annotated[Any, PlainValidator(reader(_parse_fed)), words_schema(AS_PLANNED, "100 ppm N")]
Names = Annotated[list[Name], BeforeValidator(one_or_more, json_schema_input_type=list[Name] | Name)]

SUBJECTS = ("tree", "trees", "group", "species", "everything")
FACTS = (
    "seen",
    "work",
    "trouble",
    "arrived",
    "fed",
    "not_fed",
    "check",
    "ec",
    "root_zone",
    "laid",
    "lifted",
    "moved",
    "bench",
    "gone",
    "allow",
)


class EntryModel(FileModel):
    """One thing that happened, to which trees, and when."""

    date: Day = Field(description="The day it happened.", examples=["2027-04-26"])
    recorded: Day | None = Field(None, description="The day it was written down, when later.")
    id: Name | None = Field(None, description="Its identity, for undoing.", examples=["k7f3q"])
    tree: Name | None = Field(None, description="The tree it speaks of.", examples=["Brindle"])
    trees: list[Name] | None = Field(None, description="The trees it speaks of.")
    group: Name | None = Field(None, description="Every tree of a group.")
    species: Name | None = Field(None, description="Every tree of a species.")
    everything: Literal[True] | None = Field(None, description="Every tree.")
    but_not: Names | None = Field(None, description="Trees left out.")
    seen: Names | None = Field(None, description="Stages or signs seen.", examples=["first flush hardened"])
    work: Name | None = Field(
        None, description="Work done that holds other things back.", examples=["repotted"]
    )
    roots: Share | None = Field(None, description="Share of the roots removed.")
    bare_rooted: bool = Field(False, description="Whether all soil was removed.")
    trouble: Name | None = Field(None, description="Damage met.", examples=["frost"])
    arrived: Name | None = Field(None, description="How the tree came.", examples=["bought"])
    fed: FedWords | None = Field(None, description="A liquid feed given: as planned, or its strength.")
    feed: Name | None = Field(None, description="The product fed, when not the planned one.")
    litres: Litres | None = Field(None, description="How much was poured in all.", examples=["6 L"])
    part: Share | None = Field(
        None, description="How much of the usual pour each tree got.", examples=["50 %"]
    )
    not_fed: Words | None = Field(
        None, description="A feed asked for was not given, and why.", examples=["too wet", "no reason"]
    )
    check: Literal["dry", "moist", "watered"] | None = Field(None, description="The answer to a water check.")
    ec: Conductivity | None = Field(None, description="What the conductivity pen read.")
    of: Literal["can", "drain"] | None = Field(
        None, description="What was read: the mixed can, if left out, or what drained from the pots."
    )
    read_at: Temperature | None = Field(
        None, description="How warm that was, when the pen does not correct for it."
    )
    root_zone: Temperature | None = Field(
        None,
        description="The temperature measured in the root zone; it counts before what the air lets expect.",
    )
    laid: Name | None = Field(None, description=f"A {either(SOLID)} feed laid on the pot.")
    grams: Grams | None = Field(None, description="How much of it, for each tree.")
    rate: SolidRate | None = Field(None, description="In place of grams, how much for each litre of pot.")
    mixed_in: bool = Field(False, description="Whether it was mixed in and cannot be lifted.")
    lifted: Name | None = Field(None, description="Solid feed taken off: its name, all, or none there.")
    moved: Name | None = Field(None, description="The group it moved to.")
    bench: Name | None = Field(None, description="The bench it moved to.")
    gone: Literal["dead", "sold", "given away"] | None = Field(None, description="How the tree left.")
    allow: Literal["feed"] | None = Field(None, description="Feed on this day in spite of holds.")
    because: Words | None = Field(None, description="Why that is allowed.")
    note: Words | None = Field(None, description="Free words.")
    undo: Name | None = Field(None, description="The id of an entry that was wrong.")
