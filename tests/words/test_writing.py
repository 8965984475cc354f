"""One style for days, lists, numbers and plurals, wherever they are written."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from feedplan.engine.answers.effects import Effects, HoldOpened, OfTrees
from feedplan.load.read_words import parse_check_rate, parse_moment
from feedplan.model.collection import FlushPace
from feedplan.model.hold import Action, SignLeft
from feedplan.model.journal import Noted, NotFed
from feedplan.model.reason import Held, HoldEnd, Reason, Rule
from feedplan.words.effects import change_sentences
from feedplan.words.entries import happened_words
from feedplan.words.outdoors import pace_words, rate_words
from feedplan.words.reasons import none_of_words, reason_words, sign_words, stops_words
from feedplan.words.stages import moment_words
from feedplan.words.writing import (
    day_month,
    day_words,
    days_words,
    full_day,
    listed,
    litres_words,
    number,
    percent,
    places,
    ppm_words,
    trees_words,
    typed_trees,
    typed_words,
)

JUNE = date(2027, 6, 5)
SIGNS = (SignLeft("extension"), SignLeft("firm"), SignLeft("hardened"))


def test_a_day_has_its_year_only_when_it_is_read_in_another() -> None:
    this_year, next_year = date(2027, 4, 24), date(2028, 4, 24)
    assert [day_month(day, JUNE) for day in (this_year, next_year)] == ["24 Apr", "24 Apr 2028"]
    assert [day_words(day, JUNE) for day in (this_year, next_year)] == ["Sat 24 Apr", "Mon 24 Apr 2028"]
    assert day_words(next_year) == "Mon 24 Apr"
    assert full_day(this_year) == "24 April 2027"


def test_every_month_and_weekday_is_named_as_the_calendar_does() -> None:
    for month in range(1, 13):
        day = date(2027, month, month)
        assert day_words(day, day) == f"{day:%a} {day.day} {day:%b}"
        assert full_day(day) == f"{day.day} {day:%B} {day.year}"


@pytest.mark.parametrize(
    ("words", "written"),
    [([], ""), (["a"], "a"), (["a", "b"], "a and b"), (["a", "b", "c"], "a, b and c")],
)
def test_a_list_inside_a_sentence(words: list[str], written: str) -> None:
    assert listed(words) == written
    assert listed(words, "or") == written.replace(" and ", " or ")


def test_signs_still_to_be_seen_are_one_list_in_reasons_and_effects_alike() -> None:
    seen = "not before 31 May, and once seen: extension, firm and hardened"
    end = HoldEnd(None, date(2027, 5, 31), SIGNS)
    held = Held("repotted", date(2027, 4, 26), date(2027, 5, 31) - date(2027, 4, 26))
    assert reason_words(Reason(Rule.HOLD, held, ends=end), JUNE) == f"repotted on 26 Apr: {seen}"
    opened = HoldOpened(frozenset({Action.PRUNING}), date(2027, 5, 31), SIGNS)
    effects = Effects(JUNE, ("Brindle",), (OfTrees(opened),), (), ())
    assert change_sentences(effects) == (
        "No pruning before 31 May, and once seen: extension, firm and hardened.",
    )


def test_a_reason_of_a_year_ago_says_which() -> None:
    held = Held("repotted", date(2026, 4, 26), date(2026, 5, 31) - date(2026, 4, 26))
    end = HoldEnd(date(2026, 5, 31), date(2026, 5, 31))
    assert (
        reason_words(Reason(Rule.HOLD, held, ends=end), JUNE) == "repotted on 26 Apr 2026: ends 31 May 2026"
    )


def test_what_is_true_of_some_trees_names_them() -> None:
    opened = HoldOpened(frozenset({Action.LIQUID}), date(2028, 1, 2), ())
    effects = Effects(JUNE, ("a", "b", "c"), (OfTrees(opened, ("a", "b")),), (), ())
    assert change_sentences(effects) == ("a and b: no liquid feed before 2 Jan 2028.",)


def test_one_and_many() -> None:
    assert [trees_words(n) for n in (0, 1, 12)] == ["0 trees", "1 tree", "12 trees"]
    assert [days_words(n) for n in (1, 2)] == ["1 day", "2 days"]
    signs = [SignLeft("firm"), SignLeft("firm", 3), SignLeft("firm", 3, 1), SignLeft("firm", 3, 2)]
    assert [sign_words(s) for s in signs] == ["firm", "firm, 3 times", "firm, 3 times", "firm once more"]


def test_numbers_and_amounts() -> None:
    assert [number(Decimal(text)) for text in ("1E+2", "7.50", "0.10")] == ["100", "7.5", "0.1"]
    assert [number(value) for value in (8.0, 8.25)] == ["8", "8.25"]
    assert [number(Decimal(1) * 10 / 11), number(1 / 30), number(Decimal(100) / 3)] == [
        "0.909",
        "0.0333",
        "33.33",
    ]
    assert [number(0), number(Decimal("-0.5")), number(123456)] == ["0", "-0.5", "123456"]
    assert percent(Decimal("0.25")) == "25 %"
    assert [ppm_words(Decimal(text)) for text in ("37.5", "150")] == ["38 ppm N", "150 ppm N"]
    assert [litres_words(Decimal(text)) for text in ("13.24", "0.132")] == ["13.2 L", "130 ml"]


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("daily", "once a day"),
        ("twice a day", "twice a day"),
        ("4 times a day", "4 times a day"),
        ("every 2 days", "every 2 days"),
        ("every 3 days", "every 3 days"),
        ("every 7 days", "once a week"),
        ("every 2 weeks", "every 2 weeks"),
        ("once a week", "once a week"),
        ("twice a week", "twice a week"),
        ("5 times a week", "5 times a week"),
    ],
)
def test_how_often_to_check_is_said_one_way_however_it_was_written(written: str, said: str) -> None:
    assert rate_words(parse_check_rate(written)) == said


def test_every_rate_that_can_be_written_is_said_so_that_it_reads_as_the_same_rate() -> None:
    for text in [f"{n} times a {unit}" for n in range(1, 7) for unit in ("day", "week")]:
        rate = parse_check_rate(text)
        assert parse_check_rate(rate_words(rate)).per_week == rate.per_week
    for days in range(2, 15):
        rate = parse_check_rate(f"every {days} days")
        assert parse_check_rate(rate_words(rate)).per_week == rate.per_week


def test_how_often_to_flush() -> None:
    paces = (FlushPace(every_feeds=6), FlushPace(every_feeds=1), FlushPace(every_days=42), FlushPace())
    assert [pace_words(pace) for pace in paces] == [
        "every 6 feeds",
        "every feed",
        "every 42 days of feeding",
        "never",
    ]


@pytest.mark.parametrize(
    "text",
    [
        "15 August",
        "leaves open + 10 days",
        "leaves open - 1 day once seen",
        "30 September or leaves colouring",
        "needles hardened and 20 August",
    ],
)
def test_a_moment_is_said_as_it_is_written(text: str) -> None:
    assert moment_words(parse_moment(text)) == text


def test_what_a_hold_stops_is_said_in_one_order() -> None:
    feeds = {Action.LIQUID, Action.SOLID, Action.FOLIAR}
    assert stops_words(feeds | {Action.WIRING, Action.PRUNING}) == "all feed, pruning and wiring"
    assert none_of_words(feeds | {Action.WIRING, Action.PRUNING}) == "feed, pruning or wiring"
    assert stops_words({Action.FULL_SUN, Action.SOLID}) == "solid feed and full sun"


def test_trees_are_typed_as_their_group_less_a_few_or_by_name_where_that_is_no_longer() -> None:
    assert typed_trees(["A", "Old B", "C"], "window figs", []) == '--group "window figs"'
    assert typed_trees(["A", "Old B", "C"], "window figs", ["D"]) == '--group "window figs" --but-not D'
    assert typed_trees(["A", "Old B"], "window figs", ["C", "D"]) == 'A "Old B"'
    assert typed_words(['say "x"', "plain"]) == "'say \"x\"' plain"


def test_no_cold_so_small_that_it_is_none_has_a_sign() -> None:
    assert [places(value) for value in (-0.3, -0.0, Decimal("-0.2"), -0.6)] == ["0", "0", "0", "-1"]
    assert [number(value) for value in (-0.0, Decimal("-0"), -0.5)] == ["0", "0", "-0.5"]


def test_words_of_the_growers_own_end_as_the_sentence_around_them_does() -> None:
    assert happened_words(NotFed("tub empty.")) == "not fed: tub empty"
    assert happened_words(Noted("Open garden: 62 visitors.")) == "Open garden: 62 visitors"


def test_what_is_true_of_most_trees_names_those_it_is_not_true_of() -> None:
    names = tuple("abcdefghi")
    ends = HoldOpened(frozenset({Action.LIQUID}), date(2028, 1, 2), ())
    found = Effects(JUNE, names, (OfTrees(ends, names[:-1]), OfTrees(ends, names[:7])), (), ())
    assert change_sentences(found) == (
        "All but i: no liquid feed before 2 Jan 2028.",
        "a, b, c, d, e, f and g: no liquid feed before 2 Jan 2028.",
    )
