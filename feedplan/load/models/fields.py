"""The kinds of field the models are made of, each with its reader and what an editor is told about it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, time
from decimal import Decimal
from functools import lru_cache
from typing import Annotated, Any, TypeVar
from zoneinfo import ZoneInfo, available_timezones

from pydantic import BaseModel, ConfigDict, PlainValidator, WithJsonSchema
from pydantic_core import core_schema

from feedplan.dose.grade import parse_npk_ratio
from feedplan.dose.measures import (
    parse_days,
    parse_length,
    parse_mass,
    parse_percent,
    parse_rate,
    parse_volume,
)
from feedplan.dose.strength import parse_strength
from feedplan.load.findings import near_miss, shown
from feedplan.load.readers.care_measures import (
    parse_budget,
    parse_density,
    parse_elevation,
    parse_ppm_n,
    parse_temperature,
)
from feedplan.load.readers.shelf_measures import (
    parse_conductivity,
    parse_feed_ec,
    parse_keeping,
    parse_longevity,
    parse_price,
    parse_product_amount,
    parse_solid_rate,
)
from feedplan.load.readers.words import (
    parse_action,
    parse_check_rate,
    parse_date,
    parse_day_of_year,
    parse_moment,
    parse_name,
    parse_need,
    parse_time,
    parse_weekday,
    parse_words,
)

T = TypeVar("T")

EARLIEST_YEAR, LATEST_YEAR = 1950, 2150
"""Years that a record or plan of living trees may speak of; anything else is a slip of the keyboard."""


class FileModel(BaseModel):
    """Part of a file: nothing unknown, nothing converted on the quiet, nothing changed later."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, strict=True, defer_build=True, arbitrary_types_allowed=True
    )


class OneOf:
    """Marks a field that takes one of a few words, where they are only known when feedplan runs."""

    def __init__(self, *words: str) -> None:
        self._words = words

    def __get_pydantic_core_schema__(self, source: object, handler: object) -> core_schema.CoreSchema:
        return core_schema.literal_schema(list(self._words))


def reader(parse: Callable[[str], T]) -> Callable[[object], T]:
    """A validator that reads texts with `parse`, each different text once.

    Numbers are read as their text, so that a missing unit is what gets reported.
    """
    remembered = lru_cache(maxsize=4096)(parse)

    def read(value: object) -> T:
        return remembered(value if type(value) is str else as_text(value))

    return read


def word_reader(parse: Callable[[str], str]) -> Callable[[object], str]:
    """A validator that reads words with `parse`; a number or day is refused, since YAML may have changed it."""
    remembered = lru_cache(maxsize=4096)(parse)

    def read(value: object) -> str:
        if type(value) is str:
            return remembered(value)
        text = as_text(value)
        raise ValueError(
            f'is read as a {"day" if isinstance(value, date) else "number"}; write it in quotes: "{text}"'
        )

    return read


def as_text(value: object) -> str:
    """A number or day as its text. Raises ValueError for nothing, a list, a mapping, true and false."""
    if value is None:
        raise ValueError("nothing is written")
    if isinstance(value, bool):
        raise ValueError(f"is {str(value).lower()}; write words or a number instead")
    if isinstance(value, (list, dict)):
        raise ValueError(f"is a {'list' if isinstance(value, list) else 'mapping'}; write one value")
    return f"{value:f}" if isinstance(value, Decimal) else str(value)


def one_or_more(value: object) -> object:
    """A single value as a list of one; anything else as it is."""
    return [value] if isinstance(value, str) else value


def words_schema(*examples: str, pattern: str | None = None) -> WithJsonSchema:
    """What an editor is told about a text field: good examples, and a pattern where one is sure."""
    schema: dict[str, Any] = {"type": "string", "examples": list(examples)}
    if pattern:
        schema["pattern"] = pattern
    return WithJsonSchema(schema)


def _latitude(value: object) -> Decimal:
    if isinstance(value, bool) or not isinstance(value, (int, Decimal)):
        raise ValueError(
            f"'{shown(value)}' is not a latitude; write degrees, south below zero, such as 55.6 or -41.2"
        )
    if not -90 <= value <= 90:
        raise ValueError(f"{value} is not on the globe; write -90 to 90 degrees, south below zero")
    return Decimal(value)


def _whole(value: object, least: int, most: int) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise ValueError(f"'{shown(value)}' is not a whole number; write {least} to {most}")
    if not least <= value <= most:
        raise ValueError(f"{value} is out of range; write {least} to {most}")
    return value


def _time_zone(text: str) -> str:
    try:
        ZoneInfo(text)
    except (ValueError, OSError, KeyError):
        hint = near_miss(text, available_timezones()) or "; write for example Europe/London"
        raise ValueError(f"no time zone is called '{text}'{hint}") from None
    return text


def _day(value: object) -> date:
    day = value if isinstance(value, date) else parse_date(as_text(value))
    if not EARLIEST_YEAR <= day.year <= LATEST_YEAR:
        raise ValueError(f"{day} lies outside {EARLIEST_YEAR} to {LATEST_YEAR}; check the year")
    return day


def _day_or_date(value: object) -> date | Any:
    text = as_text(value)
    return _day(value) if text[:4].isdigit() else parse_day_of_year(text)


def _positive_span(text: str) -> int:
    days = parse_days(text)
    if days < 1:
        raise ValueError(f"'{text}' is less than a day; write 1 day or more")
    if days > 3660:
        raise ValueError(f"'{text}' is longer than ten years; write fewer days")
    return days


def _any_span(text: str) -> int:
    days = parse_days(text)
    if days > 3660:
        raise ValueError(f"'{text}' is longer than ten years; write fewer days")
    return days


def _share(text: str) -> Decimal:
    return parse_percent(text) / 100


def _positive(parse: Callable[[str], Decimal], example: str) -> Callable[[str], Decimal]:
    def read(text: str) -> Decimal:
        value = parse(text)
        if value <= 0:
            raise ValueError(f"'{text}' is nothing; write more than 0, such as {example}")
        return value

    return read


def _kept(value: object) -> object:
    """A mapping to be read later, the very same object, so that what is shared in the file stays shared."""
    if not isinstance(value, dict):
        raise ValueError("is not a mapping; write keys with values below it")
    return value


_NUMBER = r"^\s*[0-9]*\.?[0-9]+\s*"

Name = Annotated[str, PlainValidator(word_reader(parse_name)), words_schema()]
Words = Annotated[str, PlainValidator(word_reader(parse_words)), words_schema()]
TimeZone = Annotated[str, PlainValidator(word_reader(_time_zone)), words_schema("Europe/London")]
Latitude = Annotated[
    Decimal, PlainValidator(_latitude), WithJsonSchema({"type": "number", "minimum": -90, "maximum": 90})
]
Elevation = Annotated[Decimal, PlainValidator(reader(parse_elevation)), words_schema("35 m")]
Day = Annotated[
    date, PlainValidator(_day), WithJsonSchema({"type": "string", "pattern": r"^\d{4}-\d\d-\d\d$"})
]
DayOfYearOrDate = Annotated[Any, PlainValidator(_day_or_date), words_schema("15 August", "2027-10-01")]
DayInYear = Annotated[Any, PlainValidator(reader(parse_day_of_year)), words_schema("15 August", "24 April")]
When = Annotated[
    Any,
    PlainValidator(reader(parse_moment)),
    words_schema(
        "leaves open",
        "15 August",
        "leaves open + 10 days",
        "30 September or leaves colouring",
        "first flush hardened once seen",
    ),
]
TimeOfDay = Annotated[
    time, PlainValidator(reader(parse_time)), words_schema("07:00", pattern=r"^([01]?\d|2[0-3]):[0-5]\d$")
]
Weekday = Annotated[int, PlainValidator(reader(parse_weekday)), words_schema("Saturday")]
Interval = Annotated[
    int,
    PlainValidator(reader(_positive_span)),
    words_schema("10 days", "2 weeks", pattern=r"^\s*\d+\s*(d|days?|w|wks?|weeks?)\s*$"),
]
Span = Annotated[
    int,
    PlainValidator(reader(_any_span)),
    words_schema("0 days", "8 weeks", pattern=r"^\s*\d+\s*(d|days?|w|wks?|weeks?)\s*$"),
]
Share = Annotated[
    Decimal, PlainValidator(reader(_share)), words_schema("30 %", pattern=_NUMBER + r"(%|per ?cent)\s*$")
]
SomeShare = Annotated[
    Decimal,
    PlainValidator(reader(_positive(_share, "10 %"))),
    words_schema("10 %", pattern=_NUMBER + r"(%|per ?cent)\s*$"),
]
Litres = Annotated[
    Decimal, PlainValidator(reader(_positive(parse_volume, "10 L"))), words_schema("10 L", "2 US gal")
]
Grams = Annotated[
    Decimal, PlainValidator(reader(_positive(parse_mass, "20 g"))), words_schema("20 g", "5.5 g")
]
Density = Annotated[Decimal, PlainValidator(reader(parse_density)), words_schema("1.15 kg per L")]
Rate = Annotated[
    Any, PlainValidator(reader(parse_rate)), words_schema("1 g per L", "5 ml per L", "2 g per US gal")
]
Temperature = Annotated[Decimal, PlainValidator(reader(parse_temperature)), words_schema("8 °C")]
Budget = Annotated[Decimal, PlainValidator(reader(parse_budget)), words_schema("360 mg N per L")]
PpmN = Annotated[Decimal, PlainValidator(reader(parse_ppm_n)), words_schema("50 ppm N")]
Strength = Annotated[
    Any, PlainValidator(reader(parse_strength)), words_schema("150 ppm N", "half label rate", "25 % label")
]
Percent = Annotated[Decimal, PlainValidator(reader(parse_percent)), words_schema("12 %")]
NpkRatio = Annotated[
    Any, PlainValidator(reader(parse_npk_ratio)), words_schema("3-1-2 oxide", "100-13-65 elemental")
]
SolidRate = Annotated[
    Any, PlainValidator(reader(parse_solid_rate)), words_schema("3 g per L", "150 mg N per L")
]
Longevity = Annotated[Any, PlainValidator(reader(parse_longevity)), words_schema("150 days", "5 to 6 months")]
ProductAmount = Annotated[Any, PlainValidator(reader(parse_product_amount)), words_schema("800 g", "750 ml")]
Keeping = Annotated[Any, PlainValidator(reader(parse_keeping)), words_schema("24 months", "180 days")]
Price = Annotated[Any, PlainValidator(reader(parse_price)), words_schema("14.50 for 1 kg")]
FeedEc = Annotated[
    Any,
    PlainValidator(reader(parse_feed_ec)),
    words_schema("0.65 mS/cm per 100 ppm N", "1.3 mS/cm at 1 g per L"),
]
Conductivity = Annotated[
    Decimal, PlainValidator(reader(parse_conductivity)), words_schema("1.2 mS/cm", "850 uS/cm")
]
CheckWords = Annotated[
    Any,
    PlainValidator(reader(parse_check_rate)),
    words_schema("twice a day", "daily", "every 2 days", "once a week"),
]
NeedWords = Annotated[Any, PlainValidator(reader(parse_need)), words_schema("hardened", "clean check twice")]
ActionWords = Annotated[
    Any, PlainValidator(reader(parse_action)), words_schema("all feed", "all work", "liquid feed", "full sun")
]
LengthText = Annotated[Decimal, PlainValidator(reader(parse_length)), words_schema("20 cm")]
Count = Annotated[
    int,
    PlainValidator(lambda v: _whole(v, 1, 10_000)),
    WithJsonSchema({"type": "integer", "minimum": 1, "maximum": 10_000}),
]
SmallNumber = Annotated[
    int,
    PlainValidator(lambda v: _whole(v, 0, 99)),
    WithJsonSchema({"type": "integer", "minimum": 0, "maximum": 99}),
]
Kept = Annotated[Any, PlainValidator(_kept), WithJsonSchema({"type": "object"})]
