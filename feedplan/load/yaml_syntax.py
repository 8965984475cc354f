"""One sentence, with a remedy, for each way a text can fail to be YAML."""

from __future__ import annotations

import re
from collections.abc import Callable

import yaml

from feedplan.errors import Problem
from feedplan.load.spots import Mark, Spot

_TAB_INDENT = re.compile(r" *\t")
_NO_SPACE_AFTER_COLON = re.compile(r"""\s*(?:- )?["']?[\w-]+["']?:[^\s:/]""")


def syntax_problem(error: yaml.MarkedYAMLError, text: str, file: str) -> Problem:
    """The Problem behind a YAML error, at the place to mend."""
    lines = text.splitlines()
    problem, context = error.problem or "", error.context or ""
    at: Mark | None = error.problem_mark or error.context_mark
    if at is None:
        return Problem(file, 0, 0, "is not YAML; check quotes, brackets and indentation")
    start: Mark = error.context_mark or at
    for explain in (_tab, _quote, _bracket, _colon, _first_character, _indentation):
        found = explain(problem, context, start, at, lines)
        if found is not None:
            mark, message = found
            return Spot(file, mark).problem(message)
    return Spot(file, at).problem(
        f"YAML cannot read this ({problem}); check quotes, brackets and indentation"
    )


_Found = tuple[Mark, str] | None
_Explain = Callable[[str, str, Mark, Mark, list[str]], _Found]


def _line(lines: list[str], mark: Mark) -> str:
    return lines[mark.line] if mark.line < len(lines) else ""


def _tab(problem: str, context: str, start: Mark, at: Mark, lines: list[str]) -> _Found:
    for mark in (at, start):
        if _TAB_INDENT.match(_line(lines, mark)):
            return mark, "a tab stands at the start of this line; indent with spaces"
    return None


def _quote(problem: str, context: str, start: Mark, at: Mark, lines: list[str]) -> _Found:
    if "quoted scalar" not in context:
        return None
    if "escape" in problem:
        return at, "\\ has a meaning inside double quotes; use single quotes"
    if "end of stream" in problem or "document indicator" in problem or "document separator" in problem:
        sign = _line(lines, start)[start.column : start.column + 1]
        return (
            start,
            f"the quote {sign} that opens here is never closed; close it, or write it twice if it belongs",
        )
    return None


def _bracket(problem: str, context: str, start: Mark, at: Mark, lines: list[str]) -> _Found:
    for kind, opening, closing in (("sequence", "[", "]"), ("mapping", "{", "}")):
        if f"flow {kind}" in context:
            return start, (
                f"the {opening} that opens here is not closed, or a comma is missing, before line {at.line + 1}; "
                f"close it with {closing}"
            )
    if "node content" in problem and _line(lines, at)[at.column : at.column + 1] in ("]", "}", ","):
        sign = _line(lines, at)[at.column]
        return at, f"{sign} stands where a value is expected; a bracket or a value is missing before it"
    return None


def _colon(problem: str, context: str, start: Mark, at: Mark, lines: list[str]) -> _Found:
    for mark in (start, at):
        if _NO_SPACE_AFTER_COLON.match(_line(lines, mark)) and (
            "expected ':'" in problem or "mapping values" in problem
        ):
            return mark, "a space is missing after the colon; write key: value"
    if "mapping values are not allowed" in problem:
        return (
            at,
            "a colon stands inside an unquoted value, or the indentation is wrong; put the value in quotes",
        )
    if "expected ':'" in problem:
        return start, "a colon is missing after this key; write key: value"
    return None


def _first_character(problem: str, context: str, start: Mark, at: Mark, lines: list[str]) -> _Found:
    sign = _line(lines, at)[at.column : at.column + 1]
    if "cannot start any token" in problem:
        return at, f"a value cannot start with {sign}; put it in quotes"
    if "alphabetic or numeric" in problem:
        return start, "a value cannot start with * or &; put it in quotes"
    if "tag" in context:
        return start, "a value cannot start with !; put it in quotes"
    if "directive" in context:
        return start, "a line cannot start with %; put the value in quotes"
    return None


def _indentation(problem: str, context: str, start: Mark, at: Mark, lines: list[str]) -> _Found:
    if "expected key" in problem or "expected <block end>" in problem or "'-' indicator" in problem:
        return at, "this line does not line up with the lines above it; indent it like its neighbours"
    if "block sequence entries" in problem:
        return at, "a list item cannot start here; put it on a line of its own"
    if "document start" in problem:
        return at, "this stands outside the mapping above it; indent it, or remove it"
    return None
