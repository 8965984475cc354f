"""Readers for what a grower writes: volumes, masses, lengths, shares, days and ratios.

Every reader takes text and gives exact decimals in one unit per kind; every refusal is a ValueError with one
sentence that says what is wrong and what to write. Nothing is guessed: a number without its unit, a bare
"gallon", a decimal comma and a fraction sign are refused.
"""

from __future__ import annotations

import re
from decimal import Decimal

from feedplan.dose.units import REFUSED, UNITS, WANTED

NUMBER = r"(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)"
_LONGEST_NUMBER = 12  # characters; anything longer is a slip of the keyboard, not a measure
_FRACTION_SIGNS = "½⅓⅔¼¾⅕⅛⅜⅝⅞"
# Signs that phones, word processors and web pages put where a keyboard has another.
_SAME_SIGNS = str.maketrans(
    {"\u00a0": " ", "\u202f": " ", "\u2009": " ", "\t": " ", "×": "x", "✕": "x"}
    | dict.fromkeys("‐‑‒–−", "-")
    | {"∶": ":", "％": "%"}
)


def tidy(text: str) -> str:
    """The text with look-alike signs made plain and spaces made single."""
    return " ".join(text.translate(_SAME_SIGNS).split())


def quoted(text: str) -> str:
    """The text as an error message shows it: in quotes, cut when long."""
    return repr(text if len(text) <= 40 else text[:37] + "...")


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
    """Raises ValueError for the ways people write numbers that could be taken two ways."""
    if any(sign in clean for sign in _FRACTION_SIGNS) or re.match(r"[0-9 ]*[0-9] ?/ ?[0-9]", clean):
        raise ValueError(f"{quoted(text)} has a fraction; write a decimal such as 0.5, as in {example}")
    if re.match(r"- ?[0-9.]", clean):
        raise ValueError(f"{quoted(text)} is below zero; write for example {example}")
    if re.match(r"[0-9.]*,[0-9]", clean):
        raise ValueError(
            f"{quoted(text)} has a comma; write decimals with a point (2.5) and thousands without a mark (2500)"
        )
    if re.match(r"[0-9.]+e[+-]?[0-9]", clean, re.IGNORECASE):
        raise ValueError(f"{quoted(text)} has an exponent; write the number out, as in {example}")


def _worth(unit_text: str, kind: str, text: str, example: str) -> Decimal:
    """What one of the named unit is worth. Raises ValueError for one not known, unclear or of another kind."""
    spelled = unit_text.lower().replace(".", "").strip()
    unit = UNITS.get(spelled)
    if unit is not None and unit.kind == kind:
        return unit.worth
    if spelled in REFUSED:
        raise ValueError(f"{quoted(text)}: {REFUSED[spelled]}")
    if kind == "volume" and unit is not None and unit.name == "oz":
        raise ValueError(f"{quoted(text)}: an ounce is a weight; write 'US fl oz' or 'imperial fl oz'")
    if kind == "mass" and unit is not None and unit.kind == "volume":
        raise ValueError(
            f"{quoted(text)} is a volume, not a weight; weigh it and write grams, such as {example}"
        )
    if unit is not None:
        raise ValueError(f"{quoted(text)} is a {unit.kind}; expected a {kind} such as {example}")
    raise ValueError(f"{quoted(text)} has an unknown unit {quoted(unit_text)}; write {WANTED[kind]}")


def _parse(text: str, kind: str, example: str) -> Decimal:
    """A number and a unit of one kind, in the unit that kind is kept in."""
    number, unit_text = read_number(text, example)
    if not unit_text:
        unit = example.split(" ")[1]
        raise ValueError(f"{quoted(text)} has no unit; write the unit: {number} {unit}")
    return number * _worth(unit_text, kind, text, example)


def parse_volume(text: str) -> Decimal:
    """A volume such as "9 L", "250 ml" or "2 US gal" [L]; zero is allowed.

    A bare spoon is the metric one (tsp 5 ml, tbsp 15 ml). Raises ValueError.
    """
    return _parse(text, "volume", "9 L")


def parse_mass(text: str) -> Decimal:
    """A mass such as "5.5 g", "1 kg" or "2 oz" [g]; zero is allowed. Raises ValueError."""
    return _parse(text, "mass", "5.5 g")


def parse_length(text: str) -> Decimal:
    """A length such as "30 cm", "35 m" or "12 inch" [cm]; zero is allowed. Raises ValueError."""
    return _parse(text, "length", "30 cm")


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
    number, unit = read_number(text, "30 %")
    if unit.lower() not in ("%", "percent", "per cent"):
        raise ValueError(f"{quoted(text)} is not a percentage; write for example {number} %")
    if number > 100:
        raise ValueError(f"{quoted(text)} is more than the whole; write 0 % to 100 %")
    return number


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


_RATE_EXAMPLE = "'1 g/L' or '5 ml per 10 L'"


def parse_rate(text: str) -> tuple[Decimal, str]:
    """A label rate such as "1 g/L", "5 ml per 10 L" or "2 g per US gal": product per litre and "g" or "ml".

    Raises ValueError, also for a spoon of a powder said as such: a spoon is a volume. Zero is refused.
    """
    amount, slash, water = tidy(text).replace(" per ", "/").partition("/")
    if not slash or not water:
        raise ValueError(f"{quoted(text)} is not a rate; write {_RATE_EXAMPLE}")
    number, unit_text = read_number(amount, "1 g/L")
    litres = parse_volume(water.strip() if water.strip()[0] in "0123456789." else f"1 {water}")
    unit = UNITS.get(unit_text.lower().replace(".", ""))
    if unit is None or unit.kind not in ("volume", "mass") or not litres or not number:
        raise ValueError(f"{quoted(text)} is not a rate; write {_RATE_EXAMPLE}")
    if unit.kind == "mass":
        return number * unit.worth / litres, "g"
    return number * unit.worth * 1000 / litres, "ml"
