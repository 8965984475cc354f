"""Growth indoors stops and starts again within a year: each sighting counts until the next, or the next usual date.

The trade's table for tropical trees indoors: start while growing and light is adequate, stop when growth stops, every
14 days while growing, 28 to 42 days or none in low light; growth and light count there, not the month. Common practice,
no source. That a sighting counts until the next usual date of its calendar, and the days of low light, are judgement.
"""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import pytest

from feedplan.model.stage import Origin
from tests.lived.story import NORTH, SOUTH, Story, ahead, given
from tests.looks import rate_of
from tests.scenarios.planning import plan

SILL = """
feeds: {powder: {grade: 20-10-20, form: soluble}}
groups: {sill: {schedule: indoor-tropical, feed: powder}}
trees: [{name: Quill, species: ficus retusa, group: sill, pot: 2 L}]
"""
SILL_NORTH = NORTH + SILL
STOPPED, GROWING = "growth stopped", "in growth"


def sill(first: str, head: str = NORTH, **more: Any) -> Story:
    """One fig on a windowsill, and its plan asked every morning from a day on."""
    return Story(head + SILL, first, **more)


def journal(*seen: tuple[str, str]) -> str:
    return "".join(f"- {{date: {day}, tree: Quill, seen: {word}}}\n" for day, word in seen)


def feeds(*seen: tuple[str, str], asked: str, days: int = 400, head: str = NORTH) -> list[str]:
    """Every feed from a day on, with what was seen by then."""
    coming = plan(head + SILL, journal(*seen), today=asked, days=days).feeds("Quill")
    return [feed for feed in coming if feed[:10] >= asked]


def test_with_nothing_seen_the_usual_dates_hold() -> None:
    coming = feeds(asked="2027-02-01")
    year = [feed for feed in coming if feed < "2028"]
    assert (year[0], year[-1], len(year)) == ("2027-03-01 75", "2027-10-25 75", 18)
    assert next(feed for feed in coming if feed >= "2028") == "2028-03-01 75"


def test_growth_seen_to_stop_ends_the_feeds_and_growth_seen_again_opens_them_as_often_as_it_happens() -> None:
    story = sill("2027-06-01")
    story.writes_on("2027-07-05", tree="Quill", seen=STOPPED)
    told = given(story.now, "Quill")
    assert told[-1] == "2027-06-21 75"
    assert [day for day in ahead(story.now, "Quill") if day < "2028"] == []
    story.writes_on("2027-08-19", tree="Quill", seen=GROWING)
    assert ahead(story.now, "Quill", 2) == ["2027-08-20 75", "2027-09-03 75"]
    story.writes_on("2027-09-10", tree="Quill", seen=STOPPED)
    assert [day for day in ahead(story.now, "Quill") if day < "2028"] == []
    story.writes_on("2027-09-30", tree="Quill", seen=GROWING)
    assert ahead(story.now, "Quill", 3) == ["2027-10-01 75", "2027-10-15 75", "2027-10-29 75"]
    assert [day for day in given(story.now, "Quill") if day < "2027-07-05"] == told


def test_a_stop_told_by_mistake_is_put_right_by_the_opposite() -> None:
    story = sill("2027-06-01")
    before = ahead(story.until("2027-06-25"), "Quill", 4)
    story.writes("2027-06-25", tree="Quill", seen=STOPPED)
    assert ahead(story.until("2027-06-26"), "Quill", 1) == ["2028-03-01 75"]
    story.writes("2027-06-26", tree="Quill", seen=GROWING)
    assert ahead(story.now, "Quill", 4) == before


def test_a_stop_holds_until_the_usual_start_of_the_next_year() -> None:
    assert feeds(("2027-07-05", STOPPED), asked="2027-07-06")[0] == "2028-03-01 75"


def test_growth_is_asked_after_while_it_is_stopped_and_not_once_it_is_back() -> None:
    story = sill("2027-06-20")
    story.writes_on("2027-07-05", tree="Quill", seen=STOPPED)
    asked = "question/stage/sill/indoor tropical/in growth/2027/2"
    assert story.now.events[asked] == (date(2027, 7, 12), GROWING)
    story.writes_on("2027-08-19", tree="Quill", seen=GROWING)
    assert asked not in story.now.events


def test_a_tree_seen_to_grow_on_is_fed_every_28_days_while_days_are_short_over_the_turn_of_the_year() -> None:
    """The last feed of the bright months was on 25 October; the least gap of the slow ones is 20 days."""
    coming = feeds(("2027-11-05", GROWING), asked="2027-11-05")
    assert coming[:6] == [
        "2027-11-14 50",
        "2027-12-12 50",
        "2028-01-09 50",
        "2028-02-06 50",
        "2028-03-05 75",
        "2028-03-19 75",
    ]


def test_growth_seen_to_stop_in_the_short_days_ends_them_to_the_usual_start() -> None:
    coming = feeds(("2027-11-05", GROWING), ("2028-01-10", STOPPED), asked="2028-01-10")
    assert coming[0] == "2028-03-01 75"


def test_growth_seen_anew_in_the_short_days_is_fed_slowly_at_once() -> None:
    coming = feeds(("2027-11-02", STOPPED), ("2027-12-20", "new growth"), asked="2027-12-20")
    assert coming[:3] == ["2027-12-20 50", "2028-01-17 50", "2028-02-14 50"]


def test_south_of_the_equator_days_are_short_from_may_to_august() -> None:
    """Half-years: 1 November is 1 May there, and 29 February, the last of its month, 31 August."""
    coming = feeds(("2028-05-05", GROWING), asked="2028-05-05", head=SOUTH)
    assert coming[:6] == [
        "2028-05-16 50",
        "2028-06-13 50",
        "2028-07-11 50",
        "2028-08-08 50",
        "2028-09-05 75",
        "2028-09-19 75",
    ]


@pytest.mark.parametrize("gap", range(0, 60, 7))
def test_no_two_feeds_come_closer_than_the_least_gap_whenever_growth_stops_and_starts(gap: int) -> None:
    """Ten days: seven tenths of the interval, rounded up."""
    story = sill("2027-06-01", ends=200)
    stop = date(2027, 6, 20) + timedelta(days=gap // 7)
    story.writes_on(str(stop), tree="Quill", seen=STOPPED)
    story.writes_on(str(stop + timedelta(days=gap)), tree="Quill", seen=GROWING)
    all_feeds = [*given(story.now, "Quill"), *ahead(story.now, "Quill")]
    days = [date.fromisoformat(feed[:10]) for feed in all_feeds]
    assert len(days) > 6
    assert all((later - day).days >= 10 for day, later in pairwise(days))


def test_what_the_year_shows_of_growth_is_what_was_seen_each_time() -> None:
    seen = (("2027-07-05", STOPPED), ("2027-08-20", GROWING))
    season = plan(SILL_NORTH, journal(*seen), today="2027-08-21").season
    found = [(at.stage, str(at.day), at.origin) for at in season.timelines[0].stage_dates(2027)]
    assert found == [
        (GROWING, "2027-03-01", Origin.TYPICAL),
        (STOPPED, "2027-07-05", Origin.SEEN),
        (GROWING, "2027-08-20", Origin.SEEN),
        (STOPPED, "2027-10-31", Origin.TYPICAL),
    ]


def test_looks_follow_growth_each_time_it_stops_and_starts() -> None:
    """The schedule's table for a pot of two litres: every two days while growing, every three days at rest."""
    seen = (("2027-07-05", STOPPED), ("2027-08-20", GROWING))
    season = plan(SILL_NORTH, journal(*seen), today="2027-08-21").season
    days = [date(2027, 6, 30), date(2027, 7, 10), date(2027, 8, 25), date(2027, 11, 5)]
    rates = [rate_of(season, "Quill", day) for day in days]
    assert rates[0] == rates[2] > rates[1] == rates[3]


def test_roots_may_be_worked_on_in_growth_that_came_back() -> None:
    """Root work out of its time counts a band heavier (common practice, no source); growth that came back is in it."""
    seen = journal(("2027-07-05", STOPPED), ("2027-08-20", GROWING))
    bands = {}
    for day in ("2027-07-20", "2027-08-25"):
        work = f"- {{date: {day}, tree: Quill, work: repotted, roots: 10 %}}\n"
        season = plan(SILL_NORTH, "".join(sorted([*seen.splitlines(True), work])), today="2027-08-26").season
        bands[day] = [
            hold.rule.name
            for each in season.timelines
            for hold in each.holds
            if hold.start.isoformat() == day
        ]
    assert bands == {"2027-07-20": ["repotted, moderate"], "2027-08-25": ["repotted, light"]}


def test_a_period_of_dates_alone_is_not_cut() -> None:
    """The other school: every tree is fed through the winter, whatever grows."""
    slowly = "every: 42 days, strength: 50 ppm N"
    before, after = (
        f"{{from: 1 November, to: 31 December, {slowly}}}",
        f"{{from: 1 January, to: 29 February, {slowly}}}",
    )
    changes = f"feeding: {{low light to midwinter: {before}, low light from midwinter: {after}}}"
    text = SILL_NORTH.replace("feed: powder}}", f"feed: powder, changes: {{{changes}}}}}}}")
    coming = plan(text, journal(("2027-10-01", STOPPED)), today="2027-10-20", days=200).feeds("Quill")
    assert [feed for feed in coming if feed >= "2027-10-20"][:4] == [
        "2027-11-01 50",
        "2027-12-13 50",
        "2028-01-24 50",
        "2028-03-06 75",
    ]
