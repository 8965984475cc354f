"""What an unquoted word or number in YAML means here, and which ones are refused because YAML surprises."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal

MERGE = "<<"
"""The key with which YAML lays one mapping over another."""

# Only a text that starts with one of these, or is one of the words below, can be more than plain words.
_MAY_BE_SPECIAL = frozenset("0123456789+-.~")

_TRUE_OR_FALSE = {"true": True, "false": False}
_OTHER_BOOLEANS = {"yes": True, "on": True, "no": False, "off": False}
_NOTHING = {"", "~", "null"}

_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_WHOLE = re.compile(r"[-+]?(?:0|[1-9][0-9]*)")
_DECIMAL = re.compile(r"[-+]?[0-9]*\.[0-9]+|[-+]?[0-9]+\.")
_OCTAL = re.compile(r"[-+]?0[0-9]+")
_BASE_SIXTY = re.compile(r"[-+]?[0-9][0-9_]*(?::[0-5]?[0-9])+(?:\.[0-9_]*)?")
_OTHER_BASE = re.compile(r"[-+]?0(?:x[0-9a-f_]+|b[01_]+|o[0-7_]+)", re.IGNORECASE)
_UNDERSCORES = re.compile(r"[-+]?[0-9][0-9_]*(?:\.[0-9_]*)?")
_EXPONENT = re.compile(r"[-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)e[-+]?[0-9]+", re.IGNORECASE)
_NOT_A_NUMBER = re.compile(r"[-+]?\.(?:inf|nan)", re.IGNORECASE)

LONGEST_NUMBER = 20


class Surprise(ValueError):  # noqa: N818 - names what YAML does, not an error class of its own family
    """An unquoted text that YAML reads as something the writer hardly meant; the message says what to write."""


def plain_value(text: str) -> object:
    """The value of an unquoted text: words, a whole number, an exact decimal, true, false, a day or nothing.

    Raises Surprise for what YAML 1.1 would turn into something else: 1:50, no, 010, 0x1F, 1_000, .inf.
    """
    if text[:1] in _MAY_BE_SPECIAL:
        return _number_or_day(text)
    lower = text.lower() if len(text) <= 5 else text
    if lower in _TRUE_OR_FALSE:
        if text != lower:
            raise Surprise(f"{text} is read by YAML as {lower}; write {lower}")
        return _TRUE_OR_FALSE[lower]
    if lower in _OTHER_BOOLEANS:
        meant = "true" if _OTHER_BOOLEANS[lower] else "false"
        raise Surprise(
            f'{text} is read by YAML as {meant}; write {meant}, or "{text}" in quotes for the word'
        )
    return None if lower in _NOTHING else text


def _number_or_day(text: str) -> object:
    """The value of a text that starts like a number. Raises Surprise."""
    if _WHOLE.fullmatch(text) or _DECIMAL.fullmatch(text):
        if len(text) > LONGEST_NUMBER:
            raise Surprise(f"{text[:12]}... is too long for a number; put it in quotes if it is a word")
        return Decimal(text) if "." in text else int(text)
    if _DAY.fullmatch(text):
        return day_of(text)
    if text == "~":
        return None
    _refuse_odd_numbers(text)
    return text


def _refuse_odd_numbers(text: str) -> None:
    """Raises Surprise for a number in a notation that only YAML expects."""
    if _BASE_SIXTY.fullmatch(text):
        if _yaml_leaves_alone(text):
            return
        raise Surprise(
            f'{text} is read by YAML as the number {_base_sixty(text)}; write it in quotes: "{text}"'
        )
    if _OCTAL.fullmatch(text):
        digits = text.lstrip("+-").lstrip("0") or "0"
        value = f"the number {int(text, 8)}" if not set(text) & {"8", "9"} else "a word"
        raise Surprise(f'{text} is read by YAML as {value}; write {digits}, or "{text}" in quotes')
    if _OTHER_BASE.fullmatch(text):
        raise Surprise(
            f"{text} may be read by YAML as the number {int(text.replace('_', ''), 0)}; write that, or quotes"
        )
    if _NOT_A_NUMBER.fullmatch(text):
        raise Surprise(f"{text} is not a number that can be used; write digits")
    if _EXPONENT.fullmatch(text):
        raise Surprise(
            f'{text} may be read by YAML as a number with an exponent; write it out, or "{text}" in quotes'
        )
    if "_" in text and _UNDERSCORES.fullmatch(text):
        plain = text.replace("_", "")
        raise Surprise(f'{text} is read by YAML as the number {plain}; write {plain}, or "{text}" in quotes')


def _yaml_leaves_alone(text: str) -> bool:
    """Whether YAML 1.1 reads digits with colons as words: a leading zero and no decimal point, as in 07:00."""
    return text.lstrip("+-").startswith("0") and "." not in text


def _base_sixty(text: str) -> str:
    """The number YAML 1.1 makes of 1:50, counting in sixties."""
    sign = -1 if text.startswith("-") else 1
    value = Decimal(0)
    for part in text.lstrip("+-").replace("_", "").split(":"):
        value = value * 60 + Decimal(part.rstrip(".") or 0)
    return f"{sign * value:f}"


def day_of(text: str) -> date:
    """The day an ISO date names. Raises Surprise for one that no calendar has."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise Surprise(
            f"{text} is no day of the calendar; write year-month-day, such as 2027-06-30"
        ) from None
