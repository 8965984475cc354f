"""The options of `feedplan dose` as typed, and how the text of each is read; a refusal names its option."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import NamedTuple, TypeVar

from feedplan.dose.arithmetic import COLDEST_C, LIQUID, SOLID
from feedplan.dose.measures import parse_rate, parse_ratio, parse_volume, read_amount, read_number
from feedplan.dose.strength import (
    LabelShare,
    NutrientTarget,
    PpmN,
    Strength,
    parse_nutrient_target,
    parse_share,
)
from feedplan.errors import DoseError
from feedplan.words.language import say
from feedplan.words.sink import feed_words

Read = TypeVar("Read")

_EXCLUDE = "{one} and {other} exclude each other; give one"


class DoseOptions(NamedTuple):  # plain tuples here, since the command at the sink must start at once
    """What was typed after `feedplan dose`, option by option, not yet understood; None where not given.

    words: what stands outside any option. typed: the options as they may be typed again.
    """

    words: tuple[str, ...]
    collection: str | None
    grade: str | None
    salt: str | None
    elemental: bool
    contains: tuple[str, ...]
    ppm: str | None
    nutrient: str | None
    label_fraction: str | None
    label_rate: str | None
    label_maximum: str | None
    litres: str | None
    gallons_us: str | None
    gallons_imperial: str | None
    can: str | None
    grams: str | None
    ml: str | None
    measures: str | None
    density: str | None
    by_volume: bool
    spoon: str | None
    dilution: str | None
    coldest: str | None
    bottle: str | None
    at_c: str | None
    mix: bool
    ratio: str | None
    mix_of: tuple[str, ...]
    products: int | None
    cap: bool
    as_json: bool
    typed: str = ""

    @property
    def is_for_mix(self) -> bool:
        """Whether products are to be chosen, not a dose of one worked out."""
        return bool(self.mix or self.ratio or self.mix_of or self.products)

    @property
    def describes_label(self) -> bool:
        """Whether any option says what a label says, which salts and products of the collection have already."""
        return bool(
            self.grade
            or self.elemental
            or self.label_rate
            or self.label_maximum
            or self.density
            or self.by_volume
            or self.spoon
        )


class StockRequest(NamedTuple):
    """A dose that goes through a stock.

    ratio: 1 part in so many of mixed feed. coldest_c: it is kept no colder [°C]. bottle_litres: to print a label for.
    """

    ratio: Decimal
    coldest_c: Decimal
    bottle_litres: Decimal | None


def strength_of(options: DoseOptions) -> Strength | NutrientTarget | None:
    """The strength from the one option given for it, None when none is."""
    if options.nutrient is not None:
        if options.ppm is not None or options.label_fraction is not None:
            raise DoseError(say("--nutrient stands in place of --ppm and --label-fraction; give one"))
        return read_option("--nutrient", parse_nutrient_target, options.nutrient)
    if options.ppm is not None and options.label_fraction is not None:
        raise DoseError(say(_EXCLUDE, one="--ppm", other="--label-fraction"))
    if options.ppm is not None:
        return read_option("--ppm", lambda text: PpmN(above_zero(text)), options.ppm)
    if options.label_fraction is not None:
        return LabelShare(read_option("--label-fraction", parse_share, options.label_fraction))
    return None


def volume_of(options: DoseOptions) -> tuple[Decimal, str] | None:
    """The feed to mix [L] and how to write it, from the one option given for it, None when none is."""
    choices = (
        ("--litres", options.litres, "L"),
        ("--gallons-us", options.gallons_us, "US gal"),
        ("--gallons-imperial", options.gallons_imperial, "imperial gal"),
    )
    given = [(option, text, unit) for option, text, unit in choices if text is not None]
    if not given:
        return None
    if len(given) > 1:
        raise DoseError(say(_EXCLUDE, one=given[0][0], other=given[1][0]))
    option, text, unit = given[0]
    if unit == "L" and not text.strip().replace(".", "", 1).isdecimal():
        litres = read_option(option, as_litres, text)
        return litres, feed_words(litres, measures=options.measures or "metric")
    number = read_option(option, above_zero, text)
    litres = parse_volume(f"{number} {unit}")
    return litres, feed_words(litres, number, unit, options.measures or "metric")


def stock_of(options: DoseOptions, ratio: Decimal | None) -> StockRequest | None:
    """The stock that the dose goes through, if it does. ratio: as told in words."""
    if options.dilution is not None:
        if ratio is not None:
            raise DoseError(say(_EXCLUDE, one="--dilution", other=f"1:{ratio.normalize():f}"))
        ratio = read_option("--dilution", parse_ratio, options.dilution)
    if ratio is None:
        return None
    coldest = read_if("--coldest", as_celsius, options.coldest)
    bottle = read_if("--bottle", above_zero, options.bottle)
    return StockRequest(ratio, COLDEST_C if coldest is None else coldest, bottle)


def as_rate(option: str, text: str | None, form: str) -> Decimal | None:
    """A label's rate [g/L or ml/L], refused when it is in the unit of the other form."""
    if text is None:
        return None
    per_l, unit, _ = read_option(option, parse_rate, text)
    if unit == "ml" and form == SOLID:
        raise DoseError(
            say(
                "{option} is in ml, so this is a liquid; add --density 1.2 (your label's), or --by-volume",
                option=option,
            )
        )
    if unit == "g" and form == LIQUID:
        raise DoseError(
            say("{option} is in grams, but a liquid is measured in ml; write it in ml/L", option=option)
        )
    return per_l


# --- Texts of options ------------------------------------------------------------------------------------------


def is_fahrenheit(text: str | None) -> bool:
    """Whether a temperature is written in °F."""
    return text is not None and text.strip().lower().endswith("f")


def as_celsius(text: str) -> Decimal:
    """A temperature [°C]: a bare number, or one in C or F; below zero allowed."""
    clean = text.strip().lower().rstrip("cf").rstrip("°º ")
    degrees = -as_number(clean[1:]) if clean.startswith("-") else as_number(clean)
    return (degrees - 32) * 5 / 9 if is_fahrenheit(text) else degrees


def as_number(text: str) -> Decimal:
    """A bare number. Raises ValueError for anything after it."""
    number, rest = read_number(text, "10")
    if rest:
        raise ValueError(
            say("{text} is more than a number; leave out {rest}", text=repr(text), rest=repr(rest))
        )
    return number


def as_litres(text: str) -> Decimal:
    """Litres, from a bare number or a volume with its unit. Raises ValueError."""
    return parse_volume(text) if read_amount(text, "10")[1] else above_zero(text)


def above_zero(text: str) -> Decimal:
    """A bare number above zero."""
    number = as_number(text)
    if number == 0:
        raise ValueError(say("0 is nothing to mix; give a number above 0"))
    return number


def read_option(option: str, reader: Callable[[str], Read], text: str) -> Read:
    """What the reader makes of an option's text; a refusal names the option."""
    try:
        return reader(text)
    except ValueError as refusal:
        raise DoseError(f"{option} {refusal}") from None


def read_if(option: str, reader: Callable[[str], Read], text: str | None) -> Read | None:
    """The same for an option that may be left out."""
    return None if text is None else read_option(option, reader, text)
