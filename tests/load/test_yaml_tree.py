"""YAML into plain values: numbers as written, places of everything, anchors, no tricks."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from feedplan.errors import Problem
from feedplan.load import yaml_tree
from feedplan.load.folder import check_text
from feedplan.load.yaml_tree import read_yaml
from tests.properties import examples


def value_of(text: str) -> Any:
    value, _, problems = read_yaml(text, "x.yaml")
    assert problems == []
    return value


def problems_of(text: str) -> list[str]:
    return [str(problem) for problem in read_yaml(text, "x.yaml")[2]]


def test_numbers_keep_every_digit_as_written() -> None:
    assert value_of("[1.10, 0.1, -41.2, .5, 12, -3, +4]") == [
        Decimal("1.10"),
        Decimal("0.1"),
        Decimal("-41.2"),
        Decimal("0.5"),
        12,
        -3,
        4,
    ]
    assert str(value_of("[1.10]")[0]) == "1.10"


def test_days_true_false_and_nothing_are_told_from_words() -> None:
    assert value_of("{a: 2027-04-26, b: true, c: false, d: , e: null, f: ~}") == {
        "a": date(2027, 4, 26),
        "b": True,
        "c": False,
        "d": None,
        "e": None,
        "f": None,
    }


def test_quotes_make_words_of_anything() -> None:
    assert value_of("""['1:50', "no", '010', "2027-04-26", '~', "0x1F", '1_000', '.inf']""") == [
        "1:50", "no", "010", "2027-04-26", "~", "0x1F", "1_000", ".inf",
    ]  # fmt: skip


@pytest.mark.parametrize(
    "word", ["y", "n", "Norway", "nose", "online", "24-8-16", "30 %", "07:00", "9 L", "1e", "-"]
)
def test_ordinary_words_pass_without_quotes(word: str) -> None:
    assert value_of(f"[{word}]" if word != "-" else "['-']") == [word]


def test_the_words_on_and_off_are_fine_as_keys() -> None:
    assert value_of("{on: 29 February, no: x, yes: x}") == {"on": "29 February", "no": "x", "yes": "x"}


# What YAML 1.1 makes of these, by the reference implementation's own resolver.
SURPRISES = ["1:50", "3:1:2", "10:30", "15:00", "1:30.5", "NO", "no", "Yes", "on", "OFF", "010",
             "-017", "1_000", ".inf", "-.INF", ".NaN"]  # fmt: skip


@pytest.mark.parametrize("text", SURPRISES)
def test_what_yaml_1_1_reads_as_something_else_is_refused(text: str) -> None:
    surprising = yaml.safe_load(f"a: {text}")["a"]
    assert not isinstance(surprising, str)
    assert str(surprising) != text
    assert len(problems_of(f"a: {text}")) == 1


@pytest.mark.parametrize("text", ["1:50", "3:1:2", "10:30", "010"])
def test_the_message_names_the_number_that_yaml_1_1_makes_of_it(text: str) -> None:
    assert f"the number {yaml.safe_load(text)};" in problems_of(f"a: {text}")[0]


def test_places_of_keys_and_values_are_known() -> None:
    _, spot, _ = read_yaml("a:\n  - {b: 1,\n     c: [x, y]}\n", "x.yaml")
    assert str(spot.at(("a", 0, "c", 1)).problem("here")) == "x.yaml:3:13: here"
    assert str(spot.at(("a", 0)).key("c").problem("here")) == "x.yaml:3:6: here"
    assert str(spot.key_at(("a", 0, "b")).problem("here")) == "x.yaml:2:6: here"
    assert str(spot.at(("a", 0, "tag of a union", "b")).problem("here")) == "x.yaml:2:9: here"


def test_columns_count_characters_not_bytes() -> None:
    _, spot, _ = read_yaml("{ä: 🌲🌲, c: x}", "x.yaml")
    assert str(spot.at(("c",)).problem("here")) == "x.yaml:1:12: here"


def test_an_anchor_is_written_once_and_used_often() -> None:
    value, spot, problems = read_yaml("a: &pot {volume: 9 L}\nb: *pot\n", "x.yaml")
    assert problems == []
    assert value == {"a": {"volume": "9 L"}, "b": {"volume": "9 L"}}
    assert str(spot.at(("b", "volume")).problem("here")) == "x.yaml:1:18: here"


def test_merge_keys_are_refused_and_a_quoted_one_is_a_word() -> None:
    told = "<< is not used in these files; write out the keys it stands for"
    assert problems_of("a: &a {x: 1}\nb: {<<: *a, y: 2}\n") == [f"x.yaml:2:5: {told}"]
    assert value_of('{"<<": x}') == {"<<": "x"}


def test_deep_nesting_is_refused_without_exhausting_the_stack() -> None:
    for opening in ("[", "{a: ", "- "):
        found = problems_of(opening * 100_000)
        assert len(found) == 1
        assert "is nested more than 40 levels deep; is a bracket too many?" in found[0]


def test_nesting_hidden_in_aliases_is_refused() -> None:
    text = "a0: &a0 [x]\n" + "".join(f"a{n}: &a{n} [*a{n - 1}]\n" for n in range(1, 60))
    assert problems_of(text) == [
        "x.yaml:40:12: *a38 makes this more than 40 levels deep; write it out plainer"
    ]


def test_every_surprise_in_a_file_is_told_at_once() -> None:
    assert len(problems_of("a: no\nb: [1:50, 010]\na: yes\n1: x\n")) == 6


PLAIN = st.recursive(
    st.one_of(
        st.booleans(), st.integers(-(10**9), 10**9), st.text(st.characters(categories=["L", "N", "P"]))
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=4), st.dictionaries(st.text("abcxyz", min_size=1), inner, max_size=4)
    ),
    max_leaves=12,
)


@examples(60)
@given(PLAIN)
def test_plain_data_reads_as_the_reference_implementation_reads_it(data: object) -> None:
    text = yaml.safe_dump(data, allow_unicode=True)
    value, _, problems = read_yaml(text, "x.yaml")
    if not problems:
        assert value == yaml.safe_load(text)


@examples(150)
@given(st.text(st.sampled_from("ab:,-[]{}#&*!|>'\"%@` \n\t.?1<~0\\é\x00\ud800\u2028"), max_size=40))
def test_any_text_gives_a_value_or_problems_never_a_crash(text: str) -> None:
    checked = check_text(text, "x.yaml")
    if isinstance(checked, Problem):
        assert {"\x00", "\ud800"} & set(text)
        return
    value, _, problems = read_yaml(checked, "x.yaml")
    assert problems or value is None or isinstance(value, (dict, list, str, int, Decimal, date))


@pytest.mark.parametrize(
    "text", ["a: 'x", "a: [1", "a:\n\tb: 1", "a: b: c", "a: @x", "- a\nb: 1", "a: {b: x: y}"]
)
def test_syntax_messages_do_not_depend_on_which_parser_is_installed(
    text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    with_c = problems_of(text)
    monkeypatch.setattr(yaml_tree, "LOADER", yaml.SafeLoader)
    assert problems_of(text) == with_c
    assert len(with_c) == 1
