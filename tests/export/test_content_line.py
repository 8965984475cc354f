"""Escaping and folding, against RFC 5545 and against icalendar, which writes lines by its own code."""

from __future__ import annotations

import doctest
from types import ModuleType
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from icalendar import vText
from icalendar.parser import Contentline

from feedplan.export import ics, zone_file
from feedplan.export.ics import content_line, escaped, one_line, plain_text
from tests.properties import examples

from .readers import read_lines
from .samples import HOSTILE_TEXTS, NASTY_TEXTS

TEXTS = st.text(st.characters(exclude_categories=["Cs", "Cc"]) | st.sampled_from("\\,;🌳é "), max_size=400)


def test_a_folded_line_is_that_of_rfc_5545_section_3_1() -> None:
    """The RFC's own example of a long line; where to fold is free, so only the unfolded line is compared."""
    text = "This is a long description that exists on a long line."
    folded = "DESCRIPTION:This is a lo\r\n ng description\r\n  that exists on a long line.\r\n"
    assert folded.replace("\r\n ", "") == content_line("DESCRIPTION", text).replace("\r\n ", "")


def test_text_is_escaped_as_in_the_example_of_rfc_5545_section_3_3_11() -> None:
    text = "Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
    assert escaped(text) == r"Project XYZ Final Review\nConference Room - 3B\nCome Prepared."


@given(TEXTS)
@examples(150)
def test_lines_unfold_to_what_was_written_and_stay_within_75_octets(text: str) -> None:
    assert read_lines(content_line("SUMMARY", text).encode()) == [f"SUMMARY:{text}"]


@given(TEXTS.filter(lambda text: r"\N" not in text))
@examples(150)
def test_escaping_is_that_of_icalendar_but_for_a_backslash_before_a_capital_n(text: str) -> None:
    """icalendar 7.3 takes a backslash and "N" for a line break; they are left out here and tested elsewhere."""
    assert escaped(text) == vText(text).to_ical().decode()


@given(st.text("abc ,;:=n", max_size=400))
@examples(150)
def test_plain_lines_are_folded_as_by_icalendar(text: str) -> None:
    """Only where each character is one octet: before others, icalendar leaves a line an octet short at times."""
    folded: Any = Contentline(f"SUMMARY:{text}")  # type: ignore[no-untyped-call]
    assert content_line("SUMMARY", text) == folded.to_ical().decode() + "\r\n"


@pytest.mark.parametrize("pad", range(80))
def test_no_fold_parts_a_backslash_from_what_it_escapes(pad: int) -> None:
    folded = content_line("SUMMARY", escaped("x" * pad + "\\,;\\\\,," * 20))
    for line in folded.removesuffix("\r\n").split("\r\n "):
        assert (len(line) - len(line.rstrip("\\"))) % 2 == 0


@pytest.mark.parametrize("text", [*NASTY_TEXTS, *HOSTILE_TEXTS])
def test_a_cleaned_title_is_one_line_for_every_program(text: str) -> None:
    assert len(one_line(text).splitlines()) == 1


@pytest.mark.parametrize("text", NASTY_TEXTS)
def test_nothing_is_cleaned_out_of_a_name_that_is_merely_odd(text: str) -> None:
    assert one_line(text) == text
    assert plain_text(text) == text


@given(st.text(max_size=100))
def test_cleaning_twice_is_cleaning_once(text: str) -> None:
    assert plain_text(plain_text(text)) == plain_text(text)
    assert one_line(one_line(text)) == one_line(text)


def test_line_breaks_of_every_system_become_one_kind() -> None:
    assert plain_text("one\r\ntwo\rthree\x0bfour\x85five\u2028six") == "one\ntwo\nthree\nfour\nfive\nsix"


def test_control_characters_go_and_half_a_pair_is_marked() -> None:
    assert plain_text("a\x00b\x1b[31mc\x7f\x9f\ud83c") == "ab[31mc\ufffd"


@pytest.mark.parametrize("module", [ics, zone_file])
def test_the_examples_in_the_docstrings_hold(module: ModuleType) -> None:
    result = doctest.testmod(module)
    assert result.attempted > 0
    assert result.failed == 0
