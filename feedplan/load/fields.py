"""The kinds of field the models are made of, each with its reader and what an editor is told about it."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from copy import deepcopy
from datetime import date, time
from decimal import Decimal
from functools import lru_cache
from typing import Annotated, Any, TypeVar
from zoneinfo import ZoneInfo, available_timezones

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field
from pydantic_core import core_schema

from feedplan.dose.grade import parse_npk_ratio
from feedplan.dose.measures import parse_days, parse_mass, parse_percent, parse_volume, place_told, tidy
from feedplan.dose.strength import LabelShare, parse_strength
from feedplan.load import globe, read_feeds, read_site, read_tools, read_words
from feedplan.load.bounds import checked_day, within
from feedplan.load.problems import cut, near_miss, shown
from feedplan.model.forms import FORMS
from feedplan.words.language import say

T = TypeVar("T")


class FileModel(BaseModel):
    """Part of a file: nothing unknown, nothing converted on the quiet, nothing changed later."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, strict=True, defer_build=True, arbitrary_types_allowed=True
    )


def needed(description: str, *examples: object) -> Any:
    """A key that must be there."""
    return Field(description=description, examples=list(examples) or None)


def optional(description: str, *examples: object, default: object = None) -> Any:
    """A key that may be left out."""
    return Field(default, description=description, examples=list(examples) or None)


def flag(description: str) -> Any:
    """A key that is true or left out."""
    return optional(description, default=False)


def several(description: str, *examples: object) -> Any:
    """A key that holds a list; an empty one if left out."""
    return Field(default_factory=list, description=description, examples=list(examples) or None)


def by_name(description: str | None = None, *examples: object) -> Any:
    """A key that holds named things; none if left out."""
    return Field(default_factory=dict, description=description, examples=list(examples) or None)


class Reads:
    """Marks a field that a function reads. schema: what an editor is told about it."""

    def __init__(self, read: Callable[[Any], object], schema: Mapping[str, object]) -> None:
        self._read = read
        self._schema = dict(schema)

    def __get_pydantic_core_schema__(self, source: object, handler: object) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(self._read)

    def __get_pydantic_json_schema__(self, schema: object, handler: object) -> dict[str, object]:
        return deepcopy(self._schema)  # pydantic writes defaults into what it is given


class OneOf:
    """Marks a field that takes one of a few words, where they are only known when feedplan runs."""

    def __init__(self, *words: str) -> None:
        self._words = words

    def __get_pydantic_core_schema__(self, source: object, handler: object) -> core_schema.CoreSchema:
        return core_schema.literal_schema(list(self._words))


def text(parse: Callable[[str], object], *examples: str, pattern: str | None = None) -> Reads:
    """A field whose text is read with `parse`, each text once for each place. pattern: what it looks like, where sure.

    Numbers are read as their text, so that a missing unit is what gets reported.
    """
    remembered = lru_cache(maxsize=4096)(lambda written, place: parse(written))
    schema = {"type": "string", "examples": list(examples)} | ({"pattern": pattern} if pattern else {})
    return Reads(
        lambda value: remembered(value if type(value) is str else as_text(value), place_told()), schema
    )


IN_QUOTES = (
    "Write words on one line, 80 letters at most for a name; put a number, a day, yes or no in quotes."
)


def word(
    parse: Callable[[str], str], *examples: str, pattern: str | None = None, sentence: str = IN_QUOTES
) -> Reads:
    """A field whose words are read with `parse`; a number or day is refused, since YAML may have changed it.

    pattern: what they look like, where sure; sentence: what an editor says where they do not.
    """
    remembered = lru_cache(maxsize=4096)(parse)

    def read(value: object) -> str:
        if type(value) is str:
            return remembered(value)
        written = as_text(value)
        kind = "day" if isinstance(value, date) else "number"
        raise ValueError(
            say('is read as a {kind}; write it in quotes: "{written}"', kind=kind, written=written)
        )

    schema = {"type": "string", "examples": list(examples), "errorMessage": sentence}
    return Reads(read, schema | ({"pattern": pattern} if pattern else {}))


def whole(least: int, most: int) -> Reads:
    """A field that holds a whole number within bounds."""

    def read(value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            raise ValueError(
                say(
                    "'{value}' is not a whole number; write {least} to {most}",
                    value=cut(shown(value)),
                    least=least,
                    most=most,
                )
            )
        if not least <= value <= most:
            raise ValueError(
                say(
                    "{value} is out of range; write {least} to {most}",
                    value=cut(shown(value)),
                    least=least,
                    most=most,
                )
            )
        return value

    return Reads(read, {"type": "integer", "minimum": least, "maximum": most})


def as_text(value: object) -> str:
    """A number or day as its text. Raises ValueError for nothing, a list, a mapping, true and false."""
    if value is None:
        raise ValueError(say("nothing is written"))
    if isinstance(value, bool):
        raise ValueError(say("is {value}; write words or a number instead", value=str(value).lower()))
    if isinstance(value, (list, dict)):
        is_list = isinstance(value, list)
        raise ValueError(
            say("is a list; write one value") if is_list else say("is a mapping; write one value")
        )
    return f"{value:f}" if isinstance(value, Decimal) else str(value)


def one_or_more(of: Any) -> BeforeValidator:
    """Marks a list field of which one item may stand alone."""
    return BeforeValidator(
        lambda value: [value] if isinstance(value, str) else value, json_schema_input_type=list[of] | of
    )


def mapping_or_text(value: object) -> str:
    """Which of two ways a value is written in, for a union tagged "mapping" and "text"."""
    return "mapping" if isinstance(value, dict) else "text"


def _latitude(value: object) -> Decimal:
    if isinstance(value, bool) or not isinstance(value, (int, Decimal)):
        meant = None if isinstance(value, bool) else globe.degrees_meant(shown(value))
        raise ValueError(
            say("'{value}' is not a latitude; write {meant}", value=cut(shown(value)), meant=meant)
            if meant is not None
            else say(
                "'{value}' is not a latitude; write degrees, south below zero, such as 55.6 or -41.2",
                value=cut(shown(value)),
            )
        )
    if not -90 <= value <= 90:
        raise ValueError(
            say("{value} is not on the globe; write -90 to 90, south below zero", value=cut(shown(value)))
        )
    return Decimal(value)


def _time_zone(name: str) -> str:
    try:
        ZoneInfo(name)
    except (ValueError, OSError, KeyError):
        raise ValueError(
            say("no time zone is called '{name}'{hint}", name=cut(name), hint=_zone_hint(name))
        ) from None
    return name


def _zone_hint(name: str) -> str:
    """What to write for a word that names no zone: that of its city or offset, else one that is spelled like it."""
    zones = available_timezones()
    city = name.casefold().replace(" ", "_")
    meant = globe.CITY_OF_ZONE.get(tidy(name).upper().replace(" ", "")) or next(
        (zone for zone in sorted(zones) if zone.rpartition("/")[2].casefold() == city and "/" in zone), None
    )
    if meant is not None:
        return say("; a zone is named by a city, for its summer time: write {zone}", zone=meant)
    return near_miss(name, zones) or say("; write for example Europe/London")


def _day(value: object) -> date:
    return checked_day(value if isinstance(value, date) else read_words.parse_date(as_text(value)))


def _day_or_date(value: object) -> date | Any:
    written = as_text(value)
    is_date = not re.search(r"[^\W\d_]", written) or re.search(r"\d{4}", written)
    return _day(value) if is_date else read_words.parse_day_of_year(written)


def _span(least_days: int, most_days: int = 3660) -> Callable[[str], int]:
    def read(written: str) -> int:
        days = parse_days(written)
        if days < least_days:
            raise ValueError(say("'{written}' is less than a day; write 1 day or more", written=written))
        if days > most_days:
            raise ValueError(
                say("'{written}' is too long; write at most {most} days", written=written, most=most_days)
            )
        return days

    return read


def _strength(written: str) -> object:
    strength = parse_strength(written)
    if not isinstance(strength, LabelShare):
        within("strength", strength.n_mg_per_l, written)
    return strength


def _share(written: str) -> Decimal:
    return parse_percent(written) / 100


def _bounded(parse: Callable[[str], Decimal], what: str) -> Callable[[str], Decimal]:
    """A reader that also holds what it reads against the table of bounds."""
    return lambda written: within(what, parse(written), written)


def _positive(parse: Callable[[str], Decimal], example: str) -> Callable[[str], Decimal]:
    def read(written: str) -> Decimal:
        value = parse(written)
        if value <= 0:
            raise ValueError(
                say(
                    "'{written}' is nothing; write more than 0, such as {example}",
                    written=written,
                    example=example,
                )
            )
        return value

    return read


def _three_rising(times: list[time]) -> list[time]:
    if len(times) != 3 or times != sorted(set(times)):
        raise ValueError(say('write three rising times, such as ["07:00", "15:00", "20:00"]'))
    return times


def _kept(value: object) -> object:
    """A mapping to be read later, the very same object, so that what is shared in the file stays shared."""
    if not isinstance(value, dict):
        raise ValueError(say("is not a mapping; write keys with values below it"))
    return value


_PERCENT = r"^\s*[0-9]*\.?[0-9]+\s*(%|per ?cent)\s*$"
# What editors check before feedplan does. Each lets pass whatever the reader beside it takes.
_TIME = r"(d|days?|w|wks?|weeks?)\.?\s*$"
_DAYS = rf"(?i)^\s*\d+\s*{_TIME}"
_SOME_DAYS = rf"(?i)^\s*0*[1-9]\d*\s*{_TIME}"
_LEAP_YEAR = r"(?:19(?:5[26]|[68][048]|[79][26])|2[01](?:[02468][048]|[13579][26]))"
_DATE = (
    r"(?:(?:19[5-9]\d|20\d\d|21[0-4]\d|2150)-(?:(?:0[13578]|1[02])-(?:0[1-9]|[12]\d|3[01])"
    rf"|(?:0[469]|11)-(?:0[1-9]|[12]\d|30)|02-(?:0[1-9]|1\d|2[0-8]))|{_LEAP_YEAR}-02-29)"
)
_DAY_MONTH = (
    r"(?:(?:(?:0?[1-9]|[12]\d|3[01])\.?\s+(?:jan|mar|may|jul|aug|oct|dec)"
    r"|(?:0?[1-9]|[12]\d|30)\.?\s+(?:apr|jun|sep|nov)|(?:0?[1-9]|[12]\d)\.?\s+feb)[a-z]*\.?"
    r"|(?:(?:jan|mar|may|jul|aug|oct|dec)[a-z]*\.?\s+(?:0?[1-9]|[12]\d|3[01])"
    r"|(?:apr|jun|sep|nov)[a-z]*\.?\s+(?:0?[1-9]|[12]\d|30)|feb[a-z]*\.?\s+(?:0?[1-9]|[12]\d)))"
)
_BREAKS_OUT = r"\u0000-\u001f\u007f-\u009f\u2028-\u202e\u2066-\u2069"
_NAME = rf"^\s*[^\s{_BREAKS_OUT}](?:[^{_BREAKS_OUT}]{{0,78}}[^\s{_BREAKS_OUT}])?\s*$"
_POT = r"^(?!\s*-)(?=\D*[0.]*[1-9½⅓⅔¼¾⅕⅛⅜⅝⅞])"
_GRADE = r"^[^:]+[^\d.:][^:]+[^\d.:][^:]+$|\("
_SOLID_RATE = r"(?i)^(?!.*\d\s*ml\b)(?=.*[1-9½⅓⅔¼¾⅕⅛⅜⅝⅞])"
_CLOCK = r"^([01]?\d|2[0-3]):[0-5]\d$"
_MOMENTS = ("leaves open", "15 August", "leaves open + 10 days", "30 September or leaves colouring",
            "first flush hardened once seen")  # fmt: skip
_POTS = ("9 L", "30 x 22 x 7 cm", "round 25 x 9 cm", "2 US gal")
_MIXES = ("mineral", "mineral and organic", "peaty", "2 akadama, 1 pumice, 1 lava",
          "mineral, weighed 28 % at 12 cm")  # fmt: skip

# Names, words and numbers.
Name = Annotated[str, word(read_words.parse_name, pattern=_NAME)]
Names = Annotated[list[Name], one_or_more(Name)]
Written = Annotated[str, text(read_words.parse_name)]
Words = Annotated[str, word(read_words.parse_words)]
WordsList = Annotated[list[Words], one_or_more(Words)]
Count = Annotated[int, whole(1, 10_000)]
SmallNumber = Annotated[int, whole(0, 99)]
Kept = Annotated[Any, Reads(_kept, {"type": "object"})]

# Days and times.
Day = Annotated[
    date, Reads(_day, {"type": "string", "pattern": rf"^\s*{_DATE}\s*$", "examples": ["2027-06-30"]})
]
_EITHER_DAY = {"pattern": rf"(?i)^\s*(?:{_DATE}|{_DAY_MONTH})\s*$", "examples": ["15 August", "2027-10-01"]}
DayOfYearOrDate = Annotated[Any, Reads(_day_or_date, {"type": "string", **_EITHER_DAY})]
DayInYear = Annotated[
    Any, text(read_words.parse_day_of_year, "15 August", "24 April", pattern=rf"(?i)^\s*{_DAY_MONTH}\s*$")
]
When = Annotated[Any, text(read_words.parse_moment, *_MOMENTS)]
TimeOfDay = Annotated[time, text(read_words.parse_time, "07:00", pattern=_CLOCK)]
ThreeTimes = Annotated[list[TimeOfDay], AfterValidator(_three_rising)]
Weekday = Annotated[int, text(read_words.parse_weekday, "Saturday")]
Weekdays = Annotated[list[Weekday], one_or_more(Weekday)]
Interval = Annotated[int, text(_span(1, 366), "10 days", "2 weeks", pattern=_SOME_DAYS)]
Years = Annotated[
    int, text(read_words.parse_years, "2 years", "3 years", pattern=r"^\s*\d+\s*(y|yrs?|years?)\s*$")
]
Span = Annotated[int, text(_span(0), "0 days", "8 weeks", pattern=_DAYS)]

# The place, benches, pots and waters.
TimeZone = Annotated[str, word(_time_zone, "Europe/London")]
Latitude = Annotated[Decimal, Reads(_latitude, {"type": "number", "minimum": -90, "maximum": 90})]
Elevation = Annotated[Decimal, text(read_site.parse_elevation, "35 m")]
Temperature = Annotated[Decimal, text(_bounded(read_site.parse_temperature, "temperature"), "8 °C")]
RootZone = Annotated[Decimal, text(_bounded(read_site.parse_temperature, "root zone"), "8 °C")]
WindSpeed = Annotated[Decimal, text(read_site.parse_wind, "8 m per s", "30 km per h")]
RainDepth = Annotated[Decimal, text(read_site.parse_rain, "10 mm", "0.4 inch")]
Sunlight = Annotated[Any, text(read_site.parse_sun, "full sun", "part shade 40 %", "full shade", "indoors")]
PotText = Annotated[Any, text(read_site.parse_pot, *_POTS, pattern=_POT)]
MixText = Annotated[Any, text(read_site.parse_substrate, *_MIXES)]
Canopy = Annotated[Any, text(read_site.parse_canopy, "40 x 40 cm", "40 cm")]
WaterEc = Annotated[float, text(read_site.parse_ec, "0.6 mS/cm", "600 µS/cm")]
Hardness = Annotated[float, text(read_site.parse_hardness, "250 mg/L CaCO3", "14 °dH")]
Alkalinity = Annotated[float, text(read_site.parse_alkalinity, "180 mg/L CaCO3", "3.6 meq/L")]
IonAmount = Annotated[float, text(read_site.parse_ion, "80 mg/L")]
Flush = Annotated[Any, text(read_site.parse_flush, "every 6 feeds", "every 5 weeks", "never")]
WaterShare = Annotated[Any, text(read_site.parse_use, "120 %", "30 %")]
CheckWords = Annotated[
    Any, text(read_words.parse_check_rate, "twice a day", "daily", "every 2 days", "once a week")
]

# Amounts, shares and strengths.
Litres = Annotated[Decimal, text(_bounded(_positive(parse_volume, "10 L"), "can"), "10 L", "2 US gal")]
StockLitres = Annotated[Decimal, text(_bounded(_positive(parse_volume, "1 L"), "stock"), "1 L", "20 L")]
InjectorSetting = Annotated[Decimal, text(_bounded(read_feeds.parse_injector, "injector"), "1:100", "0.8 %")]
PouredLitres = Annotated[
    Decimal, text(_bounded(_positive(parse_volume, "10 L"), "poured"), "10 L", "2 US gal")
]
Grams = Annotated[Decimal, text(_positive(parse_mass, "20 g"), "20 g", "5.5 g")]
ScaleStep = Annotated[Any, text(read_tools.parse_scale, "0.1 g", "0.1 oz")]
SyringeMl = Annotated[
    Decimal, text(_positive(lambda written: parse_volume(written) * 1000, "0.1 ml"), "0.1 ml")
]
LaidGrams = Annotated[Decimal, text(_bounded(_positive(parse_mass, "20 g"), "laid"), "20 g", "5.5 g")]
Percent = Annotated[Decimal, text(parse_percent, "12 %")]
Share = Annotated[Decimal, text(_share, "30 %", pattern=_PERCENT)]
SomeShare = Annotated[Decimal, text(_positive(_share, "10 %"), "10 %", pattern=_PERCENT)]
Budget = Annotated[Decimal, text(read_feeds.parse_budget, "360 mg N per L")]
NutrientAmount = Annotated[Decimal, text(read_feeds.parse_nutrient_amount, "90 mg per L")]
PpmN = Annotated[Decimal, text(read_feeds.parse_ppm_n, "50 ppm N")]
FedWords = Annotated[
    Any,
    Reads(
        lambda value: read_feeds.parse_fed(value if isinstance(value, bool) else as_text(value)),
        {"type": "string", "examples": [read_feeds.AS_PLANNED, "100 ppm N", "half label"]},
    ),
]
Strength = Annotated[Any, text(_strength, "150 ppm N", "half label rate", "25 % label")]
NpkRatio = Annotated[Any, text(parse_npk_ratio, "3-1-2 oxide", "100-13-65 elemental")]

# What a label says.
_THREE = "Write the three percentages of the label, such as 24-8-16."
GradeText = Annotated[str, word(read_words.parse_name, "24-8-16", pattern=_GRADE, sentence=_THREE)]
FormName = Annotated[str, OneOf(*FORMS)]
Density = Annotated[Decimal, text(read_feeds.parse_density, "1.15 kg per L")]
Spoon = Annotated[
    Any,
    Reads(
        lambda value: read_tools.parse_spoon(value if isinstance(value, dict) else as_text(value)),
        {"type": ["string", "object"], "examples": ["5 g", "15 g per tbsp", {"tbsp": "0.5 oz"}]},
    ),
]
Rate = Annotated[Any, text(read_feeds.parse_label_rate, "1 g per L", "5 ml per L", "1 tbsp per US gal")]
SolidRate = Annotated[
    Any, text(read_feeds.parse_solid_rate, "3 g per L", "150 mg N per L", pattern=_SOLID_RATE)
]
Longevity = Annotated[Any, text(read_feeds.parse_longevity, "150 days", "5 to 6 months")]
Keeping = Annotated[Any, text(read_feeds.parse_keeping, "24 months", "180 days")]
ProductAmount = Annotated[Any, text(read_feeds.parse_product_amount, "800 g", "750 ml")]
Price = Annotated[Any, text(read_feeds.parse_price, "14.50 for 1 kg")]
FeedEc = Annotated[Any, text(read_feeds.parse_feed_ec, "0.65 mS/cm per 100 ppm N", "1.3 mS/cm at 1 g per L")]
PenReading = Annotated[Decimal, text(read_feeds.parse_conductivity, "1.2 mS/cm", "850 uS/cm")]

# Holds and the clocks of stages.
NeedWords = Annotated[Any, text(read_words.parse_need, "hardened", "clean check twice")]
Needs = Annotated[list[NeedWords], one_or_more(NeedWords)]
ActionWords = Annotated[Any, text(read_words.parse_action, "all feed", "all work", "liquid feed", "full sun")]
DegreeDays = Annotated[float, text(read_site.parse_degree_days, "75 degree days")]
WarmthOrDays = Annotated[float, text(read_site.parse_amount, "25 degree days", "4 days", pattern=r"\d")]
ChillNeed = Annotated[tuple[int, str], text(read_site.parse_chill_need, "40 days", "800 hours")]
