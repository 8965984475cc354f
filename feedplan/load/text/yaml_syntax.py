"""One sentence, with a remedy, for each way a text can fail to be YAML."""

from __future__ import annotations

import re
from dataclasses import dataclass

import yaml

from feedplan.errors import Problem
from feedplan.load.text.spots import Mark, Point, Spot

_TAB_INDENT = re.compile(r" *\t")
_NO_SPACE_AFTER_COLON = re.compile(r"""\s*(?:- )?["']?[\w-]+["']?:[^\s:/]""")
_KEY_ALONE = re.compile(r"\s*(?:- )?[\w-]+(?: [\w-]+)*")

DEEPEST = 40
"""Levels of nesting; a schedule needs five."""

TOO_DEEP = f"is nested more than {DEEPEST} levels deep; is a bracket too many?"

_Found = tuple[Mark, str] | None


@dataclass(frozen=True, slots=True)
class _Slip:
    """What the parser says and where: problem at `at`, in a context that began at `start`, inside `bracket`."""

    problem: str
    context: str
    start: Mark
    at: Mark
    bracket: Mark | None
    lines: list[str]

    def line(self, mark: Mark) -> str:
        return self.lines[mark.line] if mark.line < len(self.lines) else ""

    @property
    def line_above(self) -> Mark:
        """The first word of the line above the problem."""
        line = max(self.at.line - 1, 0)
        text = self.lines[line] if self.lines else ""
        return Point(line, len(text) - len(text.lstrip()))

    @property
    def starts_a_key(self) -> bool:
        """Whether the problem is the colon of a key that begins a line below the open bracket."""
        below = self.bracket is not None and self.at.line > self.bracket.line
        return below and _KEY_ALONE.fullmatch(self.line(self.at)[: self.at.column]) is not None

    def sign(self, mark: Mark) -> str:
        return self.line(mark)[mark.column : mark.column + 1]


def syntax_problem(error: yaml.MarkedYAMLError, text: str, file: str, bracket: Mark | None) -> Problem:
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
