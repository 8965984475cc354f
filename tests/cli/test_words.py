"""Reading typed words: names with and without quotes, capitals, commas and slips."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedplan.cli.words import Typed, choices, one_of
from feedplan.errors import UsageError
from tests.cli.conftest import TODAY, Run

TREES = ["Old", "Kelp", "Old Kelp", "Moth", "moth", "Big Old Fen", "Comma, the tree"]


@pytest.mark.parametrize(
    ("typed", "names"),
    [
        (["Old Kelp"], ["Old Kelp"]),
        (["Old", "Kelp"], ["Old", "Kelp"]),  # each is a tree by itself
        (["Big", "Old", "Fen"], ["Big Old Fen"]),
        (["big", "OLD", "fen", "old", "kelp"], ["Big Old Fen", "Old", "Kelp"]),
        (["Moth", "moth"], ["Moth", "moth"]),
        (["Old,", "Kelp,Moth"], ["Old", "Kelp", "Moth"]),
        (["Comma, the tree"], ["Comma, the tree"]),
        (["Old", "Old"], ["Old"]),
        ([], []),
    ],
)
def test_names_are_found_with_or_without_quotes(typed: list[str], names: list[str]) -> None:
    assert Typed(typed).names(TREES, "tree") == names


def test_capitals_that_would_be_a_guess_are_refused() -> None:
    with pytest.raises(UsageError, match="no tree is called 'MOTH'"):
        Typed(["MOTH"]).names(TREES, "tree")


def test_the_longest_known_word_is_taken() -> None:
    typed = Typed(["First", "flush", "hardened", "Moth"])
    known = {word: word for word in ("hardened", "first flush", "first flush hardened")}
    assert typed.take(known, "a sign") == "first flush hardened"
    assert typed.left == ["Moth"]


def test_a_tree_called_like_a_sign_stays_a_tree() -> None:
    typed = Typed(["limp", "limp"])
    assert typed.take({"limp": "limp"}, "a sign") == "limp"
    assert typed.take_more({"limp": "limp"}, ["limp"]) == []


WORDS = st.text("abcXY", min_size=1, max_size=4)


@given(
    st.lists(
        st.lists(WORDS, min_size=1, max_size=3).map(" ".join), min_size=1, max_size=6, unique_by=str.casefold
    )
)
def test_every_name_in_quotes_is_understood_as_itself(names: list[str]) -> None:
    assert Typed(names).names(names, "tree") == names


@given(
    st.lists(
        st.lists(WORDS, min_size=1, max_size=3).map(" ".join), min_size=1, max_size=6, unique_by=str.casefold
    )
)
def test_names_without_quotes_are_understood_as_trees_that_spell_the_same(names: list[str]) -> None:
    typed = " ".join(names).split(" ")
    assert " ".join(Typed(typed).names(names, "tree")).split() == _once(typed, names)


def _once(typed: list[str], names: list[str]) -> list[str]:
    """The words typed, those of a tree named a second time left out."""
    return " ".join(dict.fromkeys(Typed(typed).names(names, "tree"))).split() if typed else []


@given(st.lists(st.text(max_size=6), max_size=5), st.lists(st.text(max_size=6), max_size=5))
def test_whatever_is_typed_the_answer_is_names_or_one_sentence(typed: list[str], known: list[str]) -> None:
    try:
        assert set(Typed(typed).names(known, "tree")) <= set(known)
    except UsageError as refusal:
        assert str(refusal).startswith("no tree is called ")


def test_a_slip_is_answered_with_near_ones_and_anything_else_with_some_of_all() -> None:
    assert choices("brindel", ["Brindle", "Moth"]) == "did you mean Brindle?"
    assert choices("zzz", ["Brindle", "Moth"]) == "write one of Brindle, Moth"
    assert choices("zzz", [f"tree {n}" for n in range(40)]).endswith("tree 9 (40 in all)")
    assert choices("zzz", []) == "there is none to choose from"


def test_one_name_is_found_whatever_its_capitals() -> None:
    assert one_of("growing-ON", ["growing-on"], "group") == "growing-on"
    with pytest.raises(UsageError, match="no group is called 'x'"):
        one_of("x", ["growing-on"], "group")


@pytest.mark.parametrize(
    ("typed", "as_in_quotes"),
    [
        (["why", "Old", "Kelp"], ["why", "Old Kelp"]),
        (["why", "old", "kelp", "2027-06-20"], ["why", "Old Kelp", "2027-06-20"]),
        (["round", "--tree", "Old", "Kelp"], ["round", "--tree", "Old Kelp"]),
    ],
)
def test_a_name_of_two_words_needs_no_quotes(
    typed: list[str], as_in_quotes: list[str], run: Run, folder: Path
) -> None:
    said = run(*typed, today=TODAY)
    assert said.exit_code == 0
    assert said.stdout == run(*as_in_quotes, today=TODAY).stdout


def test_a_slip_in_a_name_of_two_words_is_told_with_the_name_and_a_day_behind_it_by_how_to_write_it(
    run: Run,
    folder: Path,
) -> None:
    assert "no tree 'Old Kelb'; did you mean Old Kelp?" in run("why", "Old", "Kelb", "2027-06-20").output
    assert "write year-month-day: 2027-06-14" in run("why", "Old", "Kelp", "14.6.2027").output
    assert "put the name in quotes: --but-not 'Old Kelp'" in run(
        "record", "fed", "--group", "shown", "--but-not", "Old", "Kelp"
    ).output.replace('"', "'")
