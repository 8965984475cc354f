"""The shape of what a collection says of benches, substrates and waters."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, PlainValidator, Tag

from feedplan.load.models.fields import FileModel, Name, reader, words_schema
from feedplan.load.readers.water_measures import (
    parse_alkalinity,
    parse_ec,
    parse_flush,
    parse_hardness,
    parse_ion,
    parse_rain,
    parse_substrate,
    parse_sun,
    parse_use,
)

Sunlight = Annotated[
    Any,
    PlainValidator(reader(parse_sun)),
    words_schema("full sun", "part shade 40 %", "full shade", "indoors"),
]
MixText = Annotated[
    Any,
    PlainValidator(reader(parse_substrate)),
    words_schema("mineral", "mineral and organic", "peaty", "2 akadama, 1 pumice, 1 lava"),
]
Conductivity = Annotated[float, PlainValidator(reader(parse_ec)), words_schema("0.6 mS/cm", "600 µS/cm")]
Hardness = Annotated[float, PlainValidator(reader(parse_hardness)), words_schema("250 mg/L CaCO3", "14 °dH")]
Alkalinity = Annotated[
    float, PlainValidator(reader(parse_alkalinity)), words_schema("180 mg/L CaCO3", "3.6 meq/L")
]
IonAmount = Annotated[float, PlainValidator(reader(parse_ion)), words_schema("80 mg/L")]
Flush = Annotated[
    Any, PlainValidator(reader(parse_flush)), words_schema("every 6 feeds", "every 5 weeks", "never")
]
RainDepth = Annotated[Decimal, PlainValidator(reader(parse_rain)), words_schema("10 mm", "0.4 inch")]
WaterShare = Annotated[Any, PlainValidator(reader(parse_use)), words_schema("120 %", "30 %")]


class BenchModel(FileModel):
    """A place where trees stand."""

    sun: Sunlight | None = Field(None, description="How much sun it gets; full sun if left out.")
    wind: Literal["sheltered", "open", "exposed"] = Field(
        "open", description="How it stands to the wind, against open ground."
    )
    under_cover: bool = Field(False, description="Whether no rain reaches it.")


class WaterSourceModel(FileModel):
    """A water to pour, as its report or your own meter says; leave out what is not known."""

    ec: Conductivity | None = Field(None, description="Conductivity at 25 °C.")
    alkalinity: Alkalinity | None = Field(None, description="What holds its pH up; not the same as hardness.")
    hardness: Hardness | None = Field(None, description="Calcium and magnesium together.")
    calcium: IonAmount | None = Field(None, description="Calcium.")
    magnesium: IonAmount | None = Field(None, description="Magnesium.")
    sodium: IonAmount | None = Field(None, description="Sodium.")
    softened: bool = Field(False, description="Whether a salt-fed softener has treated it.")


class BlendModel(FileModel):
    """Two waters blended to a target; give one target."""

    blend: list[Name] = Field(
        min_length=2, max_length=2, description="Two of your waters.", examples=[["tap", "butt"]]
    )
    alkalinity: Alkalinity | None = Field(None, description="Alkalinity wanted.")
    ec: Conductivity | None = Field(None, description="Conductivity wanted.")


def _name_or_blend(value: object) -> str:
    return "blend" if isinstance(value, dict) else "name"


WaterField = Annotated[
    Annotated[BlendModel, Tag("blend")] | Annotated[Name, Tag("name")], Discriminator(_name_or_blend)
]
