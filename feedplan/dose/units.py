"""Units a grower may write, what each is worth, and the ones refused because they mean two things."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
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
    yield Unit("volume", "L", Decimal(1), SI, PLAIN, ("l", "litre", "litres", "liter", "liters"))
    yield Unit("volume", "dl", Decimal("0.1"), SI, PLAIN, ("dl", "decilitre", "decilitres"))
    yield Unit("volume", "cl", Decimal("0.01"), SI, PLAIN, ("cl", "centilitre", "centilitres"))
    yield Unit(
        "volume", "ml", Decimal("0.001"), SI, PLAIN, ("ml", "millilitre", "millilitres", "milliliters")
    )
    yield Unit("volume", "US gal", Decimal("3.785411784"), NIST, US, GALLON)
    yield Unit("volume", "US quart", Decimal("0.946352946"), NIST, US, QUART)
    yield Unit("volume", "US pint", Decimal("0.473176473"), NIST, US, PINT)
    yield Unit("volume", "US fl oz", Decimal("0.0295735295625"), NIST, US, FLUID_OUNCE)
    yield Unit("volume", "US tbsp", Decimal("0.01478676478125"), NIST, US, TABLESPOON)
    yield Unit("volume", "US tsp", Decimal("0.00492892159375"), NIST, US, TEASPOON)
    yield Unit("volume", "imperial gal", Decimal("4.54609"), UK_ACT, IMPERIAL, GALLON)
    yield Unit("volume", "imperial quart", Decimal("1.1365225"), UK_ACT, IMPERIAL, QUART)
    yield Unit("volume", "imperial pint", Decimal("0.56826125"), UK_ACT, IMPERIAL, PINT)
    yield Unit("volume", "imperial fl oz", Decimal("0.0284130625"), UK_ACT, IMPERIAL, FLUID_OUNCE)
    yield Unit("volume", "metric tsp", Decimal("0.005"), USP, METRIC + AUSTRALIAN, TEASPOON)
    yield Unit("volume", "metric tbsp", Decimal("0.015"), CUSTOM, METRIC, TABLESPOON)
    yield Unit("volume", "Australian tbsp", Decimal("0.020"), CUSTOM, AUSTRALIAN, TABLESPOON)
    yield Unit("mass", "g", Decimal(1), SI, PLAIN, ("g", "gram", "grams", "gramme", "grammes"))
    yield Unit("mass", "kg", Decimal(1000), SI, PLAIN, ("kg", "kilo", "kilos", "kilogram", "kilograms"))
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

_TWO_GALLONS = "a gallon is 3.785 L (US) or 4.546 L (imperial); write 'US gal' or 'imperial gal'"
_TWO_QUARTS = "a quart is 0.946 L (US) or 1.137 L (imperial); write 'US quart' or 'imperial quart'"
_TWO_PINTS = "a pint is 473 ml (US) or 568 ml (imperial); write 'US pint' or 'imperial pint'"
_TWO_OUNCES = "a fluid ounce is 29.57 ml (US) or 28.41 ml (imperial); write 'US fl oz' or 'imperial fl oz'"
_DROPS = "a drop is anything from 0.05 to 0.08 ml; measure with a syringe and write ml"
_CUPS = "cups differ from country to country; measure and write ml"
_MONTHS = "a month is not a number of days; write days or weeks, such as 30 days"
_YEARS = "a year is not a fixed number of days; write days or weeks, such as 52 weeks"

REFUSED: Mapping[str, str] = {
    **dict.fromkeys(GALLON, _TWO_GALLONS),
    **dict.fromkeys(QUART, _TWO_QUARTS),
    **dict.fromkeys(PINT, _TWO_PINTS),
    **dict.fromkeys(FLUID_OUNCE, _TWO_OUNCES),
    **dict.fromkeys(("drop", "drops"), _DROPS),
    **dict.fromkeys(("cup", "cups"), _CUPS),
    **dict.fromkeys(("month", "months", "mo"), _MONTHS),
    **dict.fromkeys(("year", "years", "yr"), _YEARS),
}
"""Units that are not taken, each with the sentence that says what to write instead."""

WANTED: Mapping[str, str] = {
    "volume": "L, ml, US gal or imperial gal",
    "mass": "g, kg, oz or lb",
    "length": "cm, mm, m or inch",
    "time": "days or weeks",
}
"""The units to offer when one is not known, by kind."""
