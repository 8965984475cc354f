"""Measures as a grower writes them: volumes, masses, lengths, shares, days, dilutions, rates and sizes of pots.

Every reader takes text and gives exact decimals in one unit per kind; every refusal is a ValueError with one
sentence that says what is wrong and what to write. Nothing is guessed: a number without its unit, a decimal comma
and, where nobody told whose (`measured_in`), a bare "gallon" are refused. The table of units comes first, with what
each is worth, and the units that are refused because they mean two things.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from decimal import Decimal
from typing import NamedTuple

NIST = "NIST Handbook 44, Appendix C (General Tables of Units of Measurement)"
UK_ACT = "Weights and Measures Act 1985 (UK), Schedule 1"
USP = "United States Pharmacopeia, chapter 1221 (a teaspoon is taken as 5 mL)"
CUSTOM = "kitchen custom, common practice, no source"
SI = "SI Brochure (BIPM), litre, gram and metre with their prefixes"

US = ("us ",)
IMPERIAL = ("imperial ", "imp ", "uk ")
METRIC = ("", "metric ")
AUSTRALIAN = ("australian ", "au ")
PLAIN = ("",)

GALLON = ("gal", "gals", "gallon", "gallons")
QUART = ("qt", "quart", "quarts")
PINT = ("pt", "pint", "pints")
FLUID_OUNCE = ("fl oz", "floz", "fluid ounce", "fluid ounces")
TEASPOON = ("tsp", "teaspoon", "teaspoons")
TABLESPOON = ("tbsp", "tablespoon", "tablespoons")
CUP = ("cup", "cups")


class Unit(NamedTuple):  # a plain tuple: this table is built each time the program starts
    """One unit: what it measures, how it is printed, and its worth.

    kind: "volume", "mass", "length" or "time". worth: in the unit that kind is kept in [L, g, cm, days].
    prefixes, words: every prefix with every word is a spelling, in small letters.
    """

    kind: str
    name: str
    worth: Decimal
    source: str
    prefixes: tuple[str, ...]
    words: tuple[str, ...]


def _rows() -> Iterator[Unit]:
    """Every unit, one row each; exact by definition unless its source says otherwise."""
    yield Unit(
        "volume", "L", Decimal(1), SI, PLAIN, ("l", "litre", "litres", "liter", "liters", "ltr", "ltrs")
    )
    yield Unit("volume", "dl", Decimal("0.1"), SI, PLAIN, ("dl", "decilitre", "decilitres"))
    yield Unit("volume", "cl", Decimal("0.01"), SI, PLAIN, ("cl", "centilitre", "centilitres"))
    words: tuple[str, ...] = ("ml", "mls", "cc", "millilitre", "millilitres", "milliliter", "milliliters")
    yield Unit("volume", "ml", Decimal("0.001"), SI, PLAIN, words)
    yield Unit("volume", "US gal", Decimal("3.785411784"), NIST, US, GALLON)
    yield Unit("volume", "US quart", Decimal("0.946352946"), NIST, US, QUART)
    yield Unit("volume", "US pint", Decimal("0.473176473"), NIST, US, PINT)
    yield Unit("volume", "US fl oz", Decimal("0.0295735295625"), NIST, US, FLUID_OUNCE)
    yield Unit("volume", "US cup", Decimal("0.2365882365"), NIST, US, CUP)
    yield Unit("volume", "US tbsp", Decimal("0.01478676478125"), NIST, US, TABLESPOON)
    yield Unit("volume", "US tsp", Decimal("0.00492892159375"), NIST, US, TEASPOON)
    yield Unit("volume", "imperial gal", Decimal("4.54609"), UK_ACT, IMPERIAL, GALLON)
    yield Unit("volume", "imperial quart", Decimal("1.1365225"), UK_ACT, IMPERIAL, QUART)
    yield Unit("volume", "imperial pint", Decimal("0.56826125"), UK_ACT, IMPERIAL, PINT)
    yield Unit("volume", "imperial fl oz", Decimal("0.0284130625"), UK_ACT, IMPERIAL, FLUID_OUNCE)
    yield Unit("volume", "metric tsp", Decimal("0.005"), USP, METRIC + AUSTRALIAN, TEASPOON)
    yield Unit("volume", "metric tbsp", Decimal("0.015"), CUSTOM, METRIC, TABLESPOON)
    yield Unit("volume", "metric cup", Decimal("0.250"), CUSTOM, ("metric ",), CUP)
    yield Unit("volume", "Australian tbsp", Decimal("0.020"), CUSTOM, AUSTRALIAN, TABLESPOON)
    yield Unit("mass", "g", Decimal(1), SI, PLAIN, ("g", "gm", "gms", "gram", "grams", "gramme", "grammes"))
    words = ("kg", "kgs", "kilo", "kilos", "kilogram", "kilograms")
    yield Unit("mass", "kg", Decimal(1000), SI, PLAIN, words)
    yield Unit("mass", "mg", Decimal("0.001"), SI, PLAIN, ("mg", "milligram", "milligrams"))
    yield Unit("mass", "oz", Decimal("28.349523125"), NIST, PLAIN, ("oz", "ounce", "ounces"))
    yield Unit("mass", "lb", Decimal("453.59237"), NIST, PLAIN, ("lb", "lbs", "pound", "pounds"))
    yield Unit("length", "cm", Decimal(1), SI, PLAIN, ("cm", "centimetre", "centimetres", "centimeters"))
    yield Unit("length", "mm", Decimal("0.1"), SI, PLAIN, ("mm", "millimetre", "millimetres", "millimeters"))
    yield Unit("length", "m", Decimal(100), SI, PLAIN, ("m", "metre", "metres", "meter", "meters"))
    yield Unit("length", "inch", Decimal("2.54"), NIST, PLAIN, ("in", "inch", "inches", '"', "″"))
    yield Unit("length", "ft", Decimal("30.48"), NIST, PLAIN, ("ft", "foot", "feet"))
    yield Unit("time", "days", Decimal(1), SI, PLAIN, ("d", "day", "days"))
    yield Unit("time", "weeks", Decimal(7), SI, PLAIN, ("w", "wk", "wks", "week", "weeks"))


UNITS: Mapping[str, Unit] = {
    prefix + word: unit for unit in _rows() for prefix in unit.prefixes for word in unit.words
}
"""Every spelling in small letters and its unit."""

_place: ContextVar[str | None] = ContextVar("place", default=None)


@contextmanager
def measured_in(place: str | None) -> Iterator[None]:
    """Read gallons, spoons and cups as those of a place, "us", "imperial" or "metric", for as long as the block runs.

    None: nobody told.
    """
    token = _place.set(place)
    try:
        yield
    finally:
        _place.reset(token)


def place_told() -> str | None:
    """Whose gallons, spoons and cups are meant; None where nobody told."""
    return _place.get()


def unit_called(word: str, place: str | None = None) -> Unit | None:
    """The unit of a spelling, that of a place where it differs; None for one not known or that means two things."""
    spelled = word.lower().replace(".", "").strip()
    return UNITS.get(f"{place or _place.get()} {spelled}") or UNITS.get(spelled)


_TWO_GALLONS = "a gallon is 3.785 L (US) or 4.546 L (imperial); write {n} US gal or {n} imperial gal"
_TWO_QUARTS = "a quart is 0.946 L (US) or 1.137 L (imperial); write {n} US quart or {n} imperial quart"
_TWO_PINTS = "a pint is 473 ml (US) or 568 ml (imperial); write {n} US pint or {n} imperial pint"
_TWO_OUNCES = (
    "a fluid ounce is 29.57 ml (US) or 28.41 ml (imperial); write {n} US fl oz or {n} imperial fl oz"
)
_DROPS = "a drop is anything from 0.05 to 0.08 ml; measure with a syringe and write ml, such as 1 ml"
_CUPS = "a cup is 237 ml (US) or 250 ml (metric); write {n} US cup or {n} metric cup"
_MONTHS = "a month is not a number of days; write days or weeks, such as {days} days"
_YEARS = "a year is not a fixed number of days; write days or weeks, such as {weeks} weeks"

REFUSED: Mapping[str, str] = {
    **dict.fromkeys(GALLON, _TWO_GALLONS),
    **dict.fromkeys(QUART, _TWO_QUARTS),
    **dict.fromkeys(PINT, _TWO_PINTS),
    **dict.fromkeys(FLUID_OUNCE, _TWO_OUNCES),
    **dict.fromkeys(("drop", "drops"), _DROPS),
    **dict.fromkeys(CUP, _CUPS),
    **dict.fromkeys(("month", "months", "mo"), _MONTHS),
    **dict.fromkeys(("year", "years", "yr"), _YEARS),
}
"""Units that are not taken, each with the sentence that says what to write instead, given the number before it."""


def refused_unit(unit: str, number: Decimal) -> str:
    """Why one of the units REFUSED is not taken, and what to write instead for so many of it."""
    days, weeks = max(1, round(number * 30)), max(1, round(number * 52))
    return REFUSED[unit].format(n=plain(number), days=days, weeks=weeks)


def plain(number: Decimal) -> str:
    """A number as a person writes it, without zeros at its end, a third and its like to three places."""
    is_long = len(number.as_tuple().digits) > _LONGEST_NUMBER
    return f"{(round(number, 3) if is_long else number).normalize():f}"


WANTED: Mapping[str, str] = {
    "volume": "L, ml, US gal, imperial gal",
    "mass": "g, kg, oz, lb",
    "length": "cm, mm, m, inch",
    "time": "days, weeks",
}
"""The units to offer when one is not known, by kind."""

NUMBER = r"(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)"
AMOUNT = rf"(?:(?:[0-9]{{1,3}} )?[0-9]{{1,3}} ?/ ?[0-9]{{1,3}}|{NUMBER})"
"""A number, or a fraction such as "1/4" or "1 1/2"."""
_LONGEST_NUMBER = 12  # characters; anything longer is a slip of the keyboard, not a measure
_FRACTION_SIGNS = {"½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5",
                   "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}  # fmt: skip
_PERCENT = r"([0-9]{1,3}(?:\.[0-9]{1,3})?) ?(?:%|per ?cent)?"
_RANGE = re.compile(rf"(?:between )?{_PERCENT} ?(?:-|–|—|to|or|and) ?{_PERCENT}", re.IGNORECASE)
_FRACTION = re.compile(r"(?:([0-9]{1,3}) )?([0-9]{1,3}) ?/ ?([0-9]{1,3})(?![0-9 ]*/)")
SHARES: Mapping[str, Decimal] = {
    "full": Decimal(1),
    "half": Decimal(1) / 2,
    "third": Decimal(1) / 3,
    "quarter": Decimal(1) / 4,
    "three quarters": Decimal(3) / 4,
    "two thirds": Decimal(2) / 3,
}
"""Shares of a whole as people say them."""
# Signs that phones, word processors and web pages put where a keyboard has another.
_SAME_SIGNS = str.maketrans(
    dict.fromkeys("\u00a0\u2007\u2009\u202f\t", " ")
    | {"×": "x", "✕": "x"}
    | dict.fromkeys("‐‑‒–−", "-")
    | {"∶": ":", "％": "%"}
)


def tidy(text: str) -> str:
    """The text with look-alike signs made plain and spaces made single."""
    return " ".join(text.translate(_SAME_SIGNS).split())


def quoted(text: str) -> str:
    """The text as an error message shows it: in quotes, cut when long."""
    return repr(text if len(text) <= 40 else text[:37] + "...")


def in_figures(text: str) -> str:
    """The text tidied, with signs of fractions as figures: "1 1/2 gal" for "1½ gal"."""
    for sign, fraction in _FRACTION_SIGNS.items():
        text = text.replace(sign, f" {fraction}")
    return tidy(text)


def read_amount(text: str, example: str) -> tuple[Decimal, str]:
    """The number or fraction a text starts with and what follows it, both tidied. Raises ValueError."""
    return _fraction(text) or read_number(text, example)


def read_number(text: str, example: str) -> tuple[Decimal, str]:
    """The number a text starts with and what follows it, both tidied.

    example: a good value, for the message. Raises ValueError with what to write instead.
    """
    clean = tidy(text)
    if not clean:
        raise ValueError(f"nothing is written; write for example {example}")
    _refuse_common_slips(text, clean, example)
    match = re.fullmatch(rf"({NUMBER})(.*)", clean)
    if match is None:
        raise ValueError(f"{quoted(text)} does not start with a number; write for example {example}")
    if len(match[1]) > _LONGEST_NUMBER:
        raise ValueError(f"{quoted(text)} has too long a number; write for example {example}")
    return Decimal(match[1]), match[2].strip()


def _refuse_common_slips(text: str, clean: str, example: str) -> None:
    """Raises ValueError for the ways people write numbers that could be taken two ways, with that number mended."""
    if fraction := _fraction(clean):
        decimal = f"{plain(round(fraction[0], 2))} {fraction[1]}".strip()
        raise ValueError(f"{quoted(text)} has a fraction; write a decimal: {decimal}")
    if re.match(r"- ?[0-9.]", clean):
        raise ValueError(f"{quoted(text)} is below zero; write for example {example}")
    if comma := re.match(r"([0-9]+),([0-9]+)(.*)", clean):
        whole, part, rest = comma.groups()
        point, mark = f"{whole}.{part}{rest}", f"{whole}{part}{rest}"
        both = f"{point} or {mark}, as is meant" if len(part) == 3 and whole != "0" else point
        raise ValueError(f"{quoted(text)} has a comma; decimals have a point: write {both}")
    if re.match(r"[0-9.]*,[0-9]", clean):
        raise ValueError(f"{quoted(text)} has a comma; write for example {example}")
    if re.match(r"[0-9.]+e[+-]?[0-9]", clean, re.IGNORECASE):
        raise ValueError(f"{quoted(text)} has an exponent; write the number out, such as {example}")


def _fraction(text: str) -> tuple[Decimal, str] | None:
    """The fraction a text starts with and what follows it; None where there is none."""
    clean = in_figures(text)
    found = _FRACTION.match(clean)
    if found is None or not int(found[3]):
        return None
    return int(found[1] or 0) + Decimal(int(found[2])) / int(found[3]), clean[found.end() :].strip()


def _worth(number: Decimal, unit_text: str, kind: str, text: str, example: str) -> Decimal:
    """What one of the named unit is worth. Raises ValueError for one not known, unclear or of another kind."""
    spelled, unit = unit_text.lower().replace(".", "").strip(), unit_called(unit_text)
    if unit is not None and unit.kind == kind:
        return unit.worth
    if unit is None and spelled in REFUSED:
        raise ValueError(f"{quoted(text)}: {refused_unit(spelled, number)}")
    if kind == "volume" and unit is not None and unit.name == "oz":
        n = plain(number)
        raise ValueError(f"{quoted(text)}: an ounce is a weight; write {n} US fl oz or {n} imperial fl oz")
    if kind == "mass" and unit is not None and unit.kind == "volume":
        raise ValueError(
            f"{quoted(text)} is a volume, not a weight; weigh it and write grams, such as {example}"
        )
    if unit is not None:
        raise ValueError(f"{quoted(text)} is a {unit.kind}; expected a {kind} such as {example}")
    unit_of = example.split(" ")[1]
    raise ValueError(
        f"{quoted(text)} has an unknown unit {unit_text[:12]!r} (known: {WANTED[kind]}); "
        f"write for example {plain(number)} {unit_of}"
    )


def _parse(text: str, kind: str, example: str) -> Decimal:
    """A number and a unit of one kind, in the unit that kind is kept in; a fraction of what can be cut."""
    number, unit_text = (read_number if kind == "time" else read_amount)(text, example)
    if not unit_text:
        unit = example.split(" ")[1]
        raise ValueError(f"{quoted(text)} has no unit; write the unit: {plain(number)} {unit}")
    return number * _worth(number, unit_text, kind, text, example)


def parse_volume(text: str) -> Decimal:
    """A volume such as "9 L", "250 ml" or "1/2 US gal" [L]; zero is allowed.

    A bare spoon is that of the place, the metric one (tsp 5 ml, tbsp 15 ml) where nobody told. Raises ValueError.
    """
    return _parse(text, "volume", "9 L")


def parse_mass(text: str) -> Decimal:
    """A mass such as "5.5 g", "1 kg" or "2 oz" [g]; zero is allowed. Raises ValueError."""
    return _parse(text, "mass", "5.5 g")


def parse_length(text: str, example: str = "30 cm") -> Decimal:
    """A length such as "30 cm", "35 m" or "12 inch" [cm]; zero is allowed. Raises ValueError, which tells `example`."""
    return _parse(text, "length", example)


def parse_days(text: str) -> int:
    """A span such as "10 days" or "2 weeks" [days]; zero is allowed.

    Raises ValueError, also for part days and for months, which are not a number of days.
    """
    days = _parse(text, "time", "10 days")
    if days != int(days):
        raise ValueError(
            f"{quoted(text)} is not a whole number of days; write for example {round(days)} days"
        )
    return int(days)


def parse_percent(text: str) -> Decimal:
    """A share of the whole such as "30 %" [percent, 0 to 100]. Raises ValueError."""
    share = _share_in_words(text)
    if share is not None:
        raise ValueError(f"{quoted(text)} is not a percentage; write {plain(round(share * 100, 0))} %")
    ends = _RANGE.fullmatch(tidy(text))
    if ends is not None and (most := max(Decimal(ends[1]), Decimal(ends[2]))) <= 100:
        # The careful end: of roots cut, the higher share is the longer hold.
        raise ValueError(f"{quoted(text)} is a range; write its higher end, {plain(most)} %")
    number, unit = read_number(text, "30 %")
    if unit.lower() not in ("%", "percent", "per cent"):
        percent = number * 100 if 0 < number < 1 and not unit else number
        raise ValueError(f"{quoted(text)} is not a percentage; write {plain(percent)} %")
    if number > 100:
        raise ValueError(f"{quoted(text)} is more than the whole; write 0 % to 100 %")
    return number


def _share_in_words(text: str) -> Decimal | None:
    """The share that words such as "half", "a third" or "1/3" tell [1 is all]; None for any other text."""
    clean = tidy(text).lower().removeprefix("a ").removeprefix("one ")
    for sign, fraction in _FRACTION_SIGNS.items():
        clean = clean.replace(sign, fraction)
    found = _FRACTION.fullmatch(clean)
    if found and not found[1] and 0 < int(found[2]) <= int(found[3]):
        return Decimal(int(found[2])) / int(found[3])
    return SHARES.get(clean)


def parse_ratio(text: str) -> Decimal:
    """R of a stock dilution "1:R": 1 part of stock in R parts of the mixed feed.

    The words mean different things to different people (1 in 100, or 1 to 100 of water); here the second number
    is always the whole, so 1:100 is 10 ml made up to 1 L. Raises ValueError.
    """
    example = '"1:100", meaning 1 part in 100 of the mixed feed'
    match = re.fullmatch(rf"1 ?(?::|in) ?({NUMBER})", tidy(text), re.IGNORECASE)
    if match is None or len(match[1]) > _LONGEST_NUMBER:
        raise ValueError(f"{quoted(text)} is not a dilution; write {example}")
    if Decimal(match[1]) <= 1:
        raise ValueError(f"{quoted(text)} does not dilute anything; write {example}")
    return Decimal(match[1])


_RATE_EXAMPLE = "1 g per L or 5 ml per 10 L"


class Rate(NamedTuple):
    """Product in a litre of feed, in "g" or "ml". spoon: the spoon or cup it was told in, else empty."""

    per_l: Decimal
    unit: str
    spoon: str = ""


def parse_rate(text: str) -> Rate:
    """A label rate such as "1 g/L", "5 ml per 10 L" or "1/4 tsp per US gal". Raises ValueError; zero is refused."""
    parts = re.fullmatch(r"(.*?[^0-9 ]) ?/ ?(.+)", in_figures(text).replace(" per ", "/"))
    if parts is None:
        raise ValueError(f"{quoted(text)} is not a rate; write for example {_as_rate(tidy(text))}")
    number, unit_text = read_amount(parts[1], "1 g per L")
    count, water = read_amount(parts[2], "10 L") if re.match(AMOUNT, parts[2]) else (None, parts[2])
    _refuse_unclear(text, (number, unit_text), (count, water))
    litres = parse_volume(f"{1 if count is None else count} {water}")
    unit = unit_called(unit_text)
    if unit is None or unit.kind not in ("volume", "mass") or not litres or not number:
        raise ValueError(f"{quoted(text)} is not a rate; write for example {_RATE_EXAMPLE}")
    if unit.kind == "mass":
        return Rate(number * unit.worth / litres, "g")
    spoon = unit.name if unit.name.split(" ")[-1] in ("tsp", "tbsp", "cup") else ""
    return Rate(number * unit.worth * 1000 / litres, "ml", spoon)


def _refuse_unclear(text: str, *parts: tuple[Decimal | None, str]) -> None:
    """Raises ValueError for a rate with units that mean two things, with both rates it may be."""
    unclear = [unit.lower() for _, unit in parts if unit.lower() in REFUSED and unit_called(unit) is None]
    if not unclear:
        return
    told, _, write = refused_unit(unclear[-1], parts[0][0] or Decimal(1)).partition("; write ")
    if " or " in write:
        write = " or ".join(
            " per ".join(_as_of(place, number, unit) for number, unit in parts)
            for place in ("US", "imperial")
        )
    raise ValueError(f"{quoted(text)}: {told}; write {write}")


def _as_of(place: str, number: Decimal | None, unit: str) -> str:
    """An amount with its unit said to be that of a place, where it needs that."""
    whose = place if f"{place.lower()} {unit.lower()}" in UNITS else "metric"
    told = UNITS[f"{whose} {unit}".lower()].name if unit_called(unit) is None else unit
    return told if number is None else f"{plain(number)} {told}"


def _as_rate(clean: str) -> str:
    """A number, or an amount, made a rate; the usual example for anything else."""
    found = re.fullmatch(rf"({AMOUNT}) ?(g|ml|oz|tsp|tbsp)?", clean, re.IGNORECASE)
    if found is None:
        return _RATE_EXAMPLE
    unit = (found[2] or "g").lower()
    return f"{found[1]} {unit} per {'L' if unit in ('g', 'ml') else 'US gal'}"
