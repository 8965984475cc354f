"""What to say of a text that is not YAML, or that YAML reads as something its writer hardly meant."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

import yaml

from feedplan.errors import Problem
from feedplan.load.problems import Point, Position, Spot

_TAB_INDENT = re.compile(r" *\t")
_NO_SPACE_AFTER_COLON = re.compile(r"""\s*(?:- )?["']?[\w-]+["']?:[^\s:/]""")
_KEY_ALONE = re.compile(r"\s*(?:- )?[\w-]+(?: [\w-]+)*")

DEEPEST = 40
"""Levels of nesting; a schedule needs five."""

TOO_DEEP = f"is nested more than {DEEPEST} levels deep; is a bracket too many?"

_Found = tuple[Position, str] | None


@dataclass(frozen=True, slots=True)
class _Slip:
    """What the parser says and where: problem at `at`, in a context that began at `start`, inside `bracket`."""

    problem: str
    context: str
    start: Position
    at: Position
    bracket: Position | None
    lines: list[str]

    def line(self, mark: Position) -> str:
        return self.lines[mark.line] if mark.line < len(self.lines) else ""

    @property
    def line_above(self) -> Position:
        """The first word of the line above the problem."""
        line = max(self.at.line - 1, 0)
        text = self.lines[line] if self.lines else ""
        return Point(line, len(text) - len(text.lstrip()))

    @property
    def starts_a_key(self) -> bool:
        """Whether the problem is the colon of a key that begins a line below the open bracket."""
        below = self.bracket is not None and self.at.line > self.bracket.line
        return below and _KEY_ALONE.fullmatch(self.line(self.at)[: self.at.column]) is not None

    def sign(self, mark: Position) -> str:
        return self.line(mark)[mark.column : mark.column + 1]


def syntax_problem(error: yaml.MarkedYAMLError, text: str, file: str, bracket: Position | None) -> Problem:
    """The Problem behind a YAML error, at the place to mend. bracket: where the innermost open one stands."""
    at = error.problem_mark or error.context_mark
    if at is None:
        return Problem(file, 0, 0, "is not YAML; check quotes, brackets and indentation")
    slip = _Slip(
        error.problem or "", error.context or "", error.context_mark or at, at, bracket, text.splitlines()
    )
    for explain in (_nesting, _tab, _quote, _colon, _bracket, _first_character, _indentation):
        found = explain(slip)
        if found is not None:
            return Spot(file, found[0]).problem(found[1])
    return Spot(file, at).problem(
        f"YAML cannot read this ({slip.problem}); check quotes, brackets and indentation"
    )


def _tab(slip: _Slip) -> _Found:
    for mark in (slip.at, slip.start):
        if _TAB_INDENT.match(slip.line(mark)):
            return mark, "a tab stands at the start of this line; indent with spaces"
    return None


def _nesting(slip: _Slip) -> _Found:
    return (slip.at, TOO_DEEP) if "nesting depth" in slip.problem else None


def _quote(slip: _Slip) -> _Found:
    before = slip.line(slip.at)[: slip.at.column]
    if before.endswith("'") and slip.sign(slip.at).isalpha():
        return (
            slip.at,
            "the quote ends before this; write '' for an apostrophe inside quotes, or use double quotes",
        )
    if "quoted scalar" not in slip.context:
        return None
    if "escape" in slip.problem or "hexdecimal" in slip.problem or "Unicode" in slip.problem:
        return slip.at, "\\ has a meaning of its own inside double quotes; use single quotes"
    return slip.start, f"the quote {slip.sign(slip.start)} that opens here is never closed; close it"


def _colon(slip: _Slip) -> _Found:
    expects_colon = "expected ':'" in slip.problem
    no_mapping = "mapping values are not allowed" in slip.problem
    if slip.bracket is not None and slip.sign(slip.at) == ":" and not slip.starts_a_key:
        return (
            slip.at,
            "a comma is missing before this, or a value holds a colon; write the comma, or quote the value",
        )
    if expects_colon or no_mapping:
        for mark in (slip.start, slip.at, slip.line_above):
            if _NO_SPACE_AFTER_COLON.match(slip.line(mark)):
                return mark, "a space is missing after the colon; write key: value"
    if no_mapping:
        return (
            slip.at,
            "a value without quotes holds a colon, or the indentation is wrong; put the value in quotes",
        )
    if expects_colon:
        return slip.start, "a colon is missing after this key; write key: value"
    return None


def _bracket(slip: _Slip) -> _Found:
    if slip.sign(slip.at) in ("]", "}") and (slip.bracket is None or "node content" in slip.problem):
        return (
            slip.at,
            f"{slip.sign(slip.at)} closes nothing here; remove it, or write what is missing before it",
        )
    if slip.bracket is None or "start any token" in slip.problem:
        return None
    wanted = any(words in slip.problem for words in ("expected ','", "node content"))
    if wanted or slip.starts_a_key or slip.at.line >= len(slip.lines):
        rest = slip.line(slip.bracket)[slip.bracket.column :]
        if lost := re.search(r" (#[^\s#].*[}\]])\s*$", rest):
            words = lost[1].rstrip("}] ")
            return Point(slip.bracket.line, slip.bracket.column + lost.start(1)), (
                f"'{words}' is taken for a comment, with the bracket that closes; put the words round it in quotes"
            )
        sign = slip.sign(slip.bracket)
        closing = {"[": "]", "{": "}"}.get(sign, "a bracket")
        line = min(slip.at.line + 1, len(slip.lines))
        return slip.bracket, (
            f"the {sign} that opens here is not closed, or a comma is missing, by line {line}; "
            f"close it with {closing}"
        )
    return None


def _first_character(slip: _Slip) -> _Found:
    if "start any token" in slip.problem:
        return slip.at, f"a value cannot start with {slip.sign(slip.at)}; put it in quotes"
    if "alphabetic or numeric" in slip.problem:
        return slip.start, "a value cannot start with * or &; put it in quotes"
    if "tag" in slip.context or "tag" in slip.problem:
        return slip.start, "a value cannot start with !; put it in quotes"
    if "directive" in slip.context or "directive" in slip.problem:
        return slip.start, "a line cannot start with %; put the value in quotes"
    if "block scalar" in slip.context:
        return slip.start, "a value cannot start with | or >; put it in quotes"
    return None


def _indentation(slip: _Slip) -> _Found:
    if slip.sign(slip.at) == ":":
        return slip.at, "a key is missing before the colon; write key: value"
    if any(words in slip.problem for words in ("expected key", "<block end>", "'-' indicator")):
        return slip.at, "this line does not line up with the lines above it; indent it like its neighbours"
    if "block sequence entries" in slip.problem:
        return slip.at, "a list item cannot start here; put it on a line of its own"
    if "document start" in slip.problem:
        return slip.at, "this stands outside what was written above it; indent it, or remove it"
    return None


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


CHOICES = frozenset(
    {"fed", "gone", "check", "unlogged_feeds", "seen", "work", "trouble", "arrived", "watered"}
)
"""Keys that take words of their own, so that neither true nor false helps there; what to write, the key tells."""


class UnclearValue(ValueError):  # noqa: N818 - names what YAML does, not an error class of its own family
    """An unquoted text that YAML reads as something the writer hardly meant; the message says what to write.

    is_truth: YAML reads it as true or false.
    """

    def __init__(self, message: str, is_truth: bool = False) -> None:
        super().__init__(message)
        self.is_truth = is_truth


def plain_value(text: str) -> object:
    """The value of an unquoted text: words, a whole number, an exact decimal, true, false, a day or nothing.

    Raises UnclearValue for what YAML 1.1 would turn into something else: 1:50, no, 010, 0x1F, 1_000, .inf.
    """
    if text[:1] in _MAY_BE_SPECIAL:
        return _number_or_day(text)
    lower = text.lower() if len(text) <= 5 else text
    if lower in _TRUE_OR_FALSE:
        if text != lower:
            raise UnclearValue(f"{text} is read by YAML as {lower}; write {lower}")
        return _TRUE_OR_FALSE[lower]
    if lower in _OTHER_BOOLEANS:
        meant = "true" if _OTHER_BOOLEANS[lower] else "false"
        raise UnclearValue(
            f'{text} is read by YAML as {meant}; write {meant}, or "{text}" in quotes for the word',
            is_truth=True,
        )
    return None if lower in _NOTHING else text


def _number_or_day(text: str) -> object:
    """The value of a text that starts like a number. Raises UnclearValue."""
    if _WHOLE.fullmatch(text) or _DECIMAL.fullmatch(text):
        if len(text) > LONGEST_NUMBER:
            raise UnclearValue(f"{text[:12]}... is too long for a number; put it in quotes if it is a word")
        return Decimal(text) if "." in text else int(text)
    if _DAY.fullmatch(text):
        return day_of(text)
    if text == "~":
        return None
    _refuse_odd_numbers(text)
    return text


def _refuse_odd_numbers(text: str) -> None:
    """Raises UnclearValue for a number in a notation that only YAML expects."""
    if _BASE_SIXTY.fullmatch(text):
        if _yaml_leaves_alone(text):
            return
        raise UnclearValue(
            f'{text} is read by YAML as the number {_base_sixty(text)}; write it in quotes: "{text}"'
        )
    if _OCTAL.fullmatch(text):
        digits = text.lstrip("+-").lstrip("0") or "0"
        value = f"the number {int(text, 8)}" if not set(text) & {"8", "9"} else "a word"
        raise UnclearValue(f'{text} is read by YAML as {value}; write {digits}, or "{text}" in quotes')
    if _OTHER_BASE.fullmatch(text):
        raise UnclearValue(
            f"{text} may be read by YAML as the number {int(text.replace('_', ''), 0)}; write that, or quotes"
        )
    if _NOT_A_NUMBER.fullmatch(text):
        raise UnclearValue(f"{text} is not a number that can be used; write digits")
    if _EXPONENT.fullmatch(text):
        raise UnclearValue(
            f'{text} may be read by YAML as a number with an exponent; write it out, or "{text}" in quotes'
        )
    if "_" in text and _UNDERSCORES.fullmatch(text):
        plain = text.replace("_", "")
        raise UnclearValue(
            f'{text} is read by YAML as the number {plain}; write {plain}, or "{text}" in quotes'
        )


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
    """The day an ISO date names. Raises UnclearValue for one that no calendar has."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise UnclearValue(
            f"{text} is no day of the calendar; write year-month-day, such as 2027-06-30"
        ) from None
