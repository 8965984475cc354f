"""The words for stages and signs, and the typical years, against published dates and common practice."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import pytest

from feedplan.engine.growing_year import day_in_season
from feedplan.model.moment import Hemisphere
from tests.schedules.shipped_files import YEAR, read, vocabulary

CALENDARS = vocabulary().calendars
LEAFY = ("early leafing", "middle leafing", "late leafing")


def days_of(calendar: str) -> dict[str, date]:
    return {stage: day.in_year(YEAR) for stage, day in CALENDARS[calendar].dates}


def test_no_word_has_two_meanings() -> None:
    spelled = [word.casefold() for name, told in vocabulary().words.items() for word in (name, *told.also)]
    assert sorted(spelled) == sorted(set(spelled))


def test_no_calendar_that_ships_lists_a_kind_which_the_table_of_species_places() -> None:
    words = [word for calendar in CALENDARS.values() for word in calendar.species]
    assert sorted(words) == ["cutting", "cuttings", "seedling", "seedlings"]
    assert not any(vocabulary().kinds.kind_of(word) for word in words)


@pytest.mark.parametrize("name", vocabulary().words)
def test_every_word_says_what_to_look_for(name: str) -> None:
    section = "stages" if vocabulary().words[name].is_stage else "signs"
    assert read("stages")[section][name]["looks_like"].endswith(".")


def test_every_sign_a_word_shows_is_a_sign_of_the_vocabulary() -> None:
    shown = {sign for word in vocabulary().words.values() for sign in word.shows}
    assert shown <= set(read("stages")["signs"])


# BBCH principal growth stages: 0 sprouting and bud development, 1 leaf development, 3 shoot development, 6 flowering,
# 9 senescence and beginning of dormancy (general scale of Meier 2001, as listed in Wikipedia, "BBCH-scale").
@pytest.mark.parametrize(
    ("stage", "principal"),
    [
        ("dormant", 0), ("buds swelling", 0), ("buds breaking", 0), ("leaves open", 1), ("first flush extending", 3),
        ("in flower", 6), ("petals fallen", 6), ("leaves colouring", 9), ("leaves fallen", 9), ("first true leaves", 1),
    ],
)  # fmt: skip
def test_bbch_codes_lie_in_the_right_principal_growth_stage(stage: str, principal: int) -> None:
    assert read("stages")["stages"][stage]["bbch"] // 10 == principal


@pytest.mark.parametrize("calendar", CALENDARS)
def test_bbch_codes_of_growth_never_run_backwards_along_the_year(calendar: str) -> None:
    """Flowers and the resting stage apart, which stand outside the course of leaves and shoots."""
    told = read("stages")["stages"]
    course = [
        stage
        for stage, _ in CALENDARS[calendar].dates
        if stage not in ("dormant", "in flower", "petals fallen")
    ]
    codes = [told[stage]["bbch"] for stage in course if "bbch" in told[stage]]
    if "needles emerging" in course:  # conifer shoots lengthen before their needles spread
        codes.remove(told["needles emerging"]["bbch"])
    assert codes == sorted(codes)


@pytest.mark.parametrize("calendar", CALENDARS)
def test_stages_follow_each_other_in_both_hemispheres(calendar: str) -> None:
    dates = CALENDARS[calendar].dates
    north = [day_in_season(day, YEAR, Hemisphere.NORTH) for _, day in dates]
    south = [day_in_season(day.turned(), YEAR, Hemisphere.SOUTH) for _, day in dates]
    assert north == sorted(north)
    assert south == sorted(south)


@pytest.mark.parametrize("calendar", [c for c in CALENDARS if c != "indoor tropical"])
def test_every_outdoor_year_ends_in_dormancy_and_has_a_hardened_flush(calendar: str) -> None:
    assert list(days_of(calendar))[-1] == "dormant"
    assert "first flush hardened" in days_of(calendar)


@pytest.mark.parametrize("calendar", CALENDARS)
def test_the_stages_a_late_spring_moves_come_in_the_first_part_of_the_year(calendar: str) -> None:
    dates = days_of(calendar)
    assert CALENDARS[calendar].spring <= set(dates)
    assert all(dates[stage] <= date(YEAR, 8, 1) for stage in CALENDARS[calendar].spring)


@pytest.mark.parametrize("calendar", LEAFY)
def test_the_first_flush_hardens_5_to_8_weeks_after_the_leaves_open(calendar: str) -> None:
    """Common practice, no source."""
    dates = days_of(calendar)
    assert timedelta(weeks=5) <= dates["first flush hardened"] - dates["leaves open"] <= timedelta(weeks=8)


# Common practice, no source: when each stage is seen in lowland gardens near the sea, 50 to 55 degrees north.
@pytest.mark.parametrize(
    ("stage", "earliest", "latest"),
    [
        ("buds swelling", (2, 20), (4, 10)),
        ("leaves open", (3, 20), (5, 10)),
        ("first flush extending", (4, 10), (6, 10)),
        ("first flush hardened", (5, 20), (6, 30)),
        ("midsummer pause", (7, 1), (8, 15)),
        ("second flush", (6, 20), (8, 31)),
        ("hardening off", (8, 10), (9, 30)),
        ("leaves colouring", (9, 20), (11, 30)),
        ("dormant", (11, 10), (11, 25)),
    ],
)
@pytest.mark.parametrize("calendar", LEAFY)
def test_leafy_trees_reach_each_stage_when_growers_expect_it(
    calendar: str, stage: str, earliest: tuple[int, int], latest: tuple[int, int]
) -> None:
    assert date(YEAR, *earliest) <= days_of(calendar)[stage] <= date(YEAR, *latest)


def test_early_kinds_open_before_middle_ones_and_those_before_late_ones() -> None:
    assert all(
        days_of(first)[stage] < days_of(then)[stage]
        for first, then in pairwise(LEAFY)
        for stage in (
            "buds swelling",
            "buds breaking",
            "leaves open",
            "first flush extending",
            "first flush hardened",
        )
    )


def test_conifer_buds_move_within_the_71_year_range_of_spruce_bud_burst() -> None:
    """23 April to 30 May at one British upland site: Cannell and Smith 1984, J. Appl. Ecol. (abstract)."""
    assert date(YEAR, 4, 23) <= days_of("needle conifer")["candles extending"] <= date(YEAR, 5, 30)


@pytest.mark.parametrize(
    ("species", "calendar"),
    [
        ("Japanese larch", "early leafing"), ("larch", "early leafing"), ("Chinese elm", "early leafing"),
        ("trident maple", "middle leafing"), ("Korean hornbeam", "middle leafing"), ("Acer palmatum", "middle leafing"),
        ("oak", "late leafing"), ("holm oak", "broadleaf evergreen"), ("Quercus ilex", "broadleaf evergreen"),
        ("mountain ash", "middle leafing"), ("ash", "late leafing"), ("horse chestnut", "early leafing"),
        ("sweet chestnut", "late leafing"), ("bird cherry", "early leafing"), ("cherry", "flowering"),
        ("swamp cypress", "late leafing"), ("Hinoki cypress", "scale conifer"), ("western red cedar", "scale conifer"),
        ("cedar", "needle conifer"), ("Scots pine", "needle conifer"), ("juniper", "scale conifer"),
        ("Satsuki azalea", "ericaceous"), ("Ficus carica", "late leafing"), ("Ficus retusa", "indoor tropical"),
        ("larch seedlings", "seedlings"), ("juniper cuttings", "cuttings"), ("crab-apple", "flowering"),
        ("a tree nobody lists", "middle leafing"),
    ],
)  # fmt: skip
def test_a_species_finds_the_year_it_keeps(species: str, calendar: str) -> None:
    assert vocabulary().calendar_for(species, "middle leafing").name == calendar


MIDDLES = {"early leafing": (50, 100), "middle leafing": (100, 180), "late leafing": (180, 300)}
"""Degree days above 5 °C from 1 February to bud burst: judgement, and the ranges by which the kinds are told apart."""


def sums_of(calendar: str) -> dict[str, dict[str, int]]:
    """The sums of warmth and cold of a shipped clock, with what they may be off by [° day]."""
    stages = read("stages")["calendars"][calendar].get("clock", {}).get("stages", {})
    return {
        stage: {key: int(text.split()[0]) for key, text in rule.items() if str(text).endswith("degree days")}
        for stage, rule in stages.items()
    }


@pytest.mark.parametrize("calendar", MIDDLES)
def test_warmth_to_bud_burst_is_the_middle_of_the_range_of_its_kind(calendar: str) -> None:
    low, high = MIDDLES[calendar]
    assert sums_of(calendar)["buds breaking"]["warmth"] == (low + high) / 2


@pytest.mark.parametrize("calendar", [name for name in CALENDARS if sums_of(name)])
def test_no_sum_of_a_clock_looks_more_precise_than_judgement_is(calendar: str) -> None:
    """To the nearest 10 degree days, from 200 on to the nearest 50; only the middles above are as they come out."""
    for stage, sums in sums_of(calendar).items():
        is_middle = calendar in MIDDLES and stage == "buds breaking"
        for key, amount in sums.items() if not is_middle else ():
            step = 5 if key == "give_or_take" else 10 if amount < 200 else 50
            assert amount % step == 0, (stage, key)
