"""The shipped holds against the trade's own table of hold lengths, signs and ramps, and against each other.

The table is common practice, no source; where the shipped length is the end or the middle of a range, the file says so.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from itertools import pairwise
from typing import Any

import pytest

from feedplan.load.read_words import parse_action, parse_need
from feedplan.model.hold import Action
from tests.schedules.shipped_files import SCHEDULES, days, liquid_periods, number, read, vocabulary

HOLDS: dict[str, dict[str, Any]] = read("holds")["holds"]
WORDS = vocabulary().words
ALL_FEED = {Action.LIQUID, Action.SOLID, Action.FOLIAR}

# Common practice, no source: fewest and most days, signs that end it, shares of the first feeds [%].
TABLE: dict[str, tuple[int, int, set[str], list[int]]] = {
    "slip-potted": (0, 14, {"settled"}, [100]),
    "repotted, light": (14, 28, {"new growth"}, [50, 100]),
    "repotted, moderate": (28, 42, {"extension", "hardened"}, [25, 50, 100]),
    "repotted, severe": (42, 84, {"extension", "hardened"}, [25, 50]),
    "collected": (42, 84, {"extension", "hardened"}, [25, 50]),
    "defoliated": (14, 21, {"new leaves open"}, [50, 100]),
    "part defoliated": (0, 7, set(), [100]),
    "hard pruned": (14, 28, {"new buds"}, [50, 100]),
    "bent": (14, 42, {"turgid at dawn", "no die-back"}, [50, 100]),
    "treated": (7, 14, set(), [100]),  # a routine one; what pests and root rot hold is theirs
    "pests": (7, 14, {"clean check"}, [50, 100]),
    "drought": (10, 21, {"turgid for a week", "new buds"}, [25, 50, 100]),
    "waterlogged": (21, 42, {"white root tips"}, [25, 50]),
    "heat": (2, 2, {"turgid at dawn"}, [75, 100]),
    "frost": (10, 14, {"clean new leaves"}, [50, 100]),
    "scorch": (14, 14, {"no new scorch"}, [50, 100]),
    "salt": (21, 28, {"drain EC normal", "clean new leaves"}, [25, 50, 100]),
    "bought": (14, 42, {"settled", "clean check"}, [50, 100]),
    "imported": (14, 42, {"settled", "clean check"}, [50, 100]),
    "gift": (14, 42, {"settled", "clean check"}, [50, 100]),
}


def signs(rule: dict[str, Any], key: str = "until_seen") -> set[str]:
    return {parse_need(need).sign for need in rule.get(key, ())}


def stopped(rule: dict[str, Any]) -> set[Action]:
    return {action for word in rule["stops"] for action in parse_action(word)}


def shares(rule: dict[str, Any]) -> list[Decimal]:
    return [number(share) for share in rule.get("ramp", ["100 %"])]


def band_for(roots: int) -> list[str]:
    """The bands of repotting that claim a share of removed roots [%]."""
    return [
        name
        for name, rule in HOLDS.items()
        if rule.get("work") == "repotted"
        and number(rule.get("roots_from", "0 %")) <= roots < number(rule.get("roots_below", "101 %"))
    ]


@pytest.mark.parametrize("name", TABLE)
def test_length_signs_and_ramp_are_those_of_common_practice(name: str) -> None:
    shortest, longest, ends_by, ramp = TABLE[name]
    assert shortest <= days(HOLDS[name]["at_least"]) <= longest
    assert signs(HOLDS[name]) == ends_by
    assert shares(HOLDS[name]) == ramp


def test_the_rules_outside_the_table_are_root_rot_weakness_and_signs_of_illness_which_are_judgement() -> None:
    signs_of_illness = {name for name, rule in HOLDS.items() if "seen" in rule}
    assert signs_of_illness == {"limp", "scorched", "dropping leaves"}
    assert set(HOLDS) - set(TABLE) == {"root rot", "weakened"} | signs_of_illness
    assert days(HOLDS["root rot"]["at_least"]) >= 42  # common practice, no source
    assert signs(HOLDS["weakened"]) == {"extension", "hardened"}  # common practice, no source


def test_a_tree_seen_ill_is_fed_again_once_it_is_seen_well() -> None:
    """Common practice, no source: the sign that ends each is the opposite of the one that opened it."""
    assert signs(HOLDS["limp"]) == {"turgid at dawn"}
    assert signs(HOLDS["dropping leaves"]) == {"new growth"}
    scorch_was_recorded, scorch_was_seen = HOLDS["scorch"], HOLDS["scorched"]
    for key in ("stops", "at_least", "until_seen", "ramp", "ramp_step", "reviews"):
        assert scorch_was_recorded[key] == scorch_was_seen[key]


@pytest.mark.parametrize("name", [n for n, r in HOLDS.items() if "seen" in r])
def test_what_opens_a_hold_when_seen_is_an_adverse_sign(name: str) -> None:
    assert WORDS[HOLDS[name]["seen"]].adverse


def test_pests_and_an_arrival_are_checked_twice() -> None:
    for name in ("pests", "root rot", "bought", "imported", "gift"):
        assert parse_need("clean check twice") in [parse_need(need) for need in HOLDS[name]["until_seen"]]


@pytest.mark.parametrize(
    ("roots", "band"),
    [(0, "light"), (19, "light"), (20, "moderate"), (39, "moderate"), (40, "severe"), (100, "severe")],
)
def test_exactly_20_percent_is_moderate_and_exactly_40_percent_severe(roots: int, band: str) -> None:
    assert band_for(roots) == [f"repotted, {band}"]


def test_every_share_of_roots_falls_in_exactly_one_band() -> None:
    assert all(len(band_for(roots)) == 1 for roots in range(101))


def test_unknown_root_loss_counts_as_moderate_and_nothing_else_claims_it() -> None:
    assert [name for name, rule in HOLDS.items() if rule.get("when_unknown")] == ["repotted, moderate"]


def test_a_heavier_band_is_never_easier_on_the_tree_than_a_lighter_one() -> None:
    bands = [HOLDS[f"repotted, {band}"] for band in ("light", "moderate", "severe")]
    assert [rule["band"] for rule in bands] == [0, 1, 2]
    for light, heavy in pairwise(bands):
        assert days(light["at_least"]) < days(heavy["at_least"])
        assert stopped(light) <= stopped(heavy)
        assert shares(heavy)[0] <= shares(light)[0]
        assert days(light["ramp_step"]) <= days(heavy["ramp_step"])


@pytest.mark.parametrize("name", HOLDS)
def test_every_hold_but_that_of_a_routine_treatment_stops_liquid_feed_and_has_one_cause(name: str) -> None:
    assert (Action.LIQUID in stopped(HOLDS[name])) is (name != "treated")
    assert len({"work", "trouble", "arrived", "seen"} & set(HOLDS[name])) == 1


@pytest.mark.parametrize(
    "name", [n for n, r in HOLDS.items() if r.get("work") in ("repotted", "collected", "slip-potted")]
)
def test_root_work_stops_every_way_of_feeding(name: str) -> None:
    assert stopped(HOLDS[name]) >= ALL_FEED


@pytest.mark.parametrize("name", HOLDS)
def test_signs_are_words_of_the_vocabulary_and_none_of_them_is_adverse(name: str) -> None:
    for sign in signs(HOLDS[name]) | signs(HOLDS[name], "instead_seen"):
        assert sign in WORDS
        assert not WORDS[sign].adverse


@pytest.mark.parametrize("name", [n for n, r in HOLDS.items() if r.get("until_seen") and n != "heat"])
def test_a_hold_that_waits_for_signs_says_when_to_look(name: str) -> None:
    first = days(HOLDS[name]["reviews"][0])
    assert first >= days(HOLDS[name]["at_least"]) or first >= 28
    assert HOLDS[name]["do"]


@pytest.mark.parametrize(
    "word", ["leaves open", "buds breaking", "buds swelling", "in flower", "needles emerging"]
)
def test_buds_and_leaves_that_open_on_reserves_never_end_a_hold_after_root_work(word: str) -> None:
    proved = vocabulary().shown_by(word)
    for name in ("repotted, light", "repotted, moderate", "repotted, severe", "collected", "weakened"):
        assert not proved & signs(HOLDS[name])


@pytest.mark.parametrize("word", ["first flush hardened", "needles hardened", "flush firm", "hardened"])
def test_ripe_growth_of_any_kind_of_tree_answers_extension_hardened_and_new_growth(word: str) -> None:
    assert vocabulary().shown_by(word) >= {"hardened", "extension", "new growth"}


def test_growth_that_is_long_but_soft_is_not_taken_for_hardened() -> None:
    for word in ("first flush extending", "second flush", "candles extending", "flush soft", "extension"):
        assert "hardened" not in vocabulary().shown_by(word)


def test_an_adverse_sign_proves_nothing_good() -> None:
    for name, word in WORDS.items():
        if word.adverse:
            assert all(WORDS[shown].adverse for shown in vocabulary().shown_by(name))


def test_limp_and_no_extension_are_adverse_and_growth_is_not() -> None:
    assert all(WORDS[word].adverse for word in ("limp", "no extension", "scorched", "yellowing", "leaf drop"))
    assert not any(WORDS[word].adverse for word in ("extension", "hardened", "settled", "clean check"))


# Dates worked out by hand from the rules of practice, not by this program.
@pytest.mark.parametrize(
    ("name", "start", "free"),
    [
        ("repotted, moderate", date(2027, 4, 26), date(2027, 5, 31)),
        ("repotted, moderate", date(2027, 3, 20), date(2027, 4, 24)),
        ("frost", date(2027, 4, 22), date(2027, 5, 6)),
        ("bought", date(2027, 6, 6), date(2027, 7, 4)),
        ("repotted, severe", date(2027, 3, 14), date(2027, 5, 9)),
    ],
)
def test_the_first_day_a_hold_could_end(name: str, start: date, free: date) -> None:
    assert start + timedelta(days=days(HOLDS[name]["at_least"])) == free


def test_a_severe_root_cut_is_looked_at_in_weeks_8_10_12_and_14_and_then_put_off() -> None:
    rule, start = HOLDS["repotted, severe"], date(2027, 3, 14)
    looks = [start + timedelta(days=days(review)) for review in rule["reviews"]]
    assert looks == [date(2027, 5, 9), date(2027, 5, 23), date(2027, 6, 6), date(2027, 6, 20)]
    assert start + timedelta(days=days(rule["carry_over_after"])) == date(2027, 6, 20)


@pytest.mark.parametrize("name", ["repotted, severe", "collected"])
def test_the_season_after_a_severe_cut_is_capped_in_strength_share_interval_and_end(name: str) -> None:
    rule = HOLDS[name]
    assert number(rule["cap"]) <= 50
    assert number(rule["cap_share"]) == 50
    assert days(rule["feed_every"]) == days(rule["ramp_step"]) >= 21
    assert rule["last_feed"] == "15 August"
    assert rule["let_surface_dry"] is True


@pytest.mark.parametrize("schedule", SCHEDULES)
def test_a_schedule_changes_only_rules_that_exist_or_adds_whole_ones(schedule: str) -> None:
    for name, rule in read(schedule).get("holds", {}).items():
        whole = {"work", "trouble", "arrived"} & set(rule) and {"stops", "at_least"} <= set(rule)
        assert name in HOLDS or whole, name
        assert signs(rule) <= set(WORDS)


@pytest.mark.parametrize("schedule", SCHEDULES)
def test_no_schedule_lets_a_severe_cut_be_fed_above_50_ppm(schedule: str) -> None:
    strongest = max(number(period["strength"]) for period in liquid_periods(schedule).values())
    rule = HOLDS["repotted, severe"] | read(schedule).get("holds", {}).get("repotted, severe", {})
    fed = min(strongest * number(rule["cap_share"]) / 100, number(rule["cap"]))
    assert fed <= 50


@pytest.mark.parametrize("schedule", ["conifer", "conifer-decandled", "recovering"])
def test_root_work_on_conifers_and_weak_trees_counts_one_band_heavier(schedule: str) -> None:
    assert read(schedule)["root_work_counts"] == "one band up"
