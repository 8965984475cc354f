"""A tree with changes of its own that moves to another group is cared for as that group is, from that day on."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from itertools import pairwise

import pytest

from feedplan.engine.answers.explain import timeline_of
from feedplan.engine.season import Season
from tests.looks import looks_of, rate_of, watch_of
from tests.scenarios.planning import GROUPS, WRENMOOR, plan
from tests.scenarios.weather import normals, weather_plan

# Twin stands in R from the first, in the same pot. Rover has a table of its own, and a bench of its own.
TREES = """
trees:
  - name: Rover
    species: oak
    group: V
    pot: 30 x 22 x 9 cm
    changes:
      water:
        leaves open: {medium: every 3 days, weak: every 3 days}
        first flush hardened: {medium: every 3 days, weak: every 3 days}
        dormant: {medium: weekly, weak: weekly}
  - {name: Twin, species: oak, group: R, pot: 30 x 22 x 9 cm}
  - {name: Stay, species: oak, group: V, pot: 30 x 22 x 9 cm}
"""
MOVED = date(2027, 7, 7)  # a Wednesday
JOURNAL = f"- {{date: {MOVED}, tree: Rover, moved: R}}\n"
BACK = f"{JOURNAL}- {{date: 2027-08-20, tree: Rover, moved: V}}\n"
TODAY = "2027-09-01"
DAY = timedelta(days=1)


def season(journal: str) -> Season:
    return plan(WRENMOOR + GROUPS + TREES, journal, today=TODAY).season


def test_its_own_table_counts_until_it_moves_and_the_groups_from_that_day_on() -> None:
    """The fault this keeps out: "every 3 days" went on in a group whose table says daily."""
    moved = season(JOURNAL)
    assert rate_of(moved, "Rover", MOVED - DAY) == Decimal(7) / 3
    for offset in range(300):
        day = MOVED + DAY * offset
        assert watch_of(moved, "Rover").rate_on(day) == watch_of(moved, "Twin").rate_on(day)
        assert set(looks_of(moved, "Rover", day)) >= set(looks_of(moved, "Twin", day))
    assert rate_of(moved, "Rover", MOVED) == 7


def test_back_in_its_own_group_its_own_table_counts_again() -> None:
    back = season(BACK)
    assert [rate_of(back, "Rover", date(2027, 8, day)) for day in (19, 20)] == [Decimal(7), Decimal(7) / 3]


def test_one_schedule_answers_for_feeds_checks_and_reasons_alike() -> None:
    moved = season(BACK)
    timeline = timeline_of(moved, "Rover")
    assert timeline is not None
    days = [MOVED - DAY, MOVED, date(2027, 8, 19), date(2027, 8, 20)]
    assert [timeline.care.group_on(day) for day in days] == ["V", "R", "R", "V"]
    own = timeline.trees[0].schedule
    assert [timeline.care.schedule_on(day) is own for day in days] == [True, False, False, True]
    assert all(
        window.schedule is timeline.care.schedule_on(day)
        for window in timeline.windows
        for day in (window.first, window.last)
    )


def test_the_calendar_names_it_under_the_group_it_stands_in() -> None:
    moved = season(JOURNAL)
    for offset in range(-30, 60):
        day = MOVED + DAY * offset
        groups = {c.group for c in moved.checks if c.falls_on(day) for t in c.trees if t.name == "Rover"}
        assert groups <= {"V" if day < MOVED else "R"}


@pytest.mark.parametrize("with_weather", [False, True])
def test_a_move_changes_nothing_of_the_days_before_it(with_weather: bool) -> None:
    """Also where it comes to stand on a bench on which the weather counts otherwise, or not at all."""
    climate = {"normals.csv": normals()} if with_weather else None
    benches = "benches: {frame: {wind: sheltered, sun: part shade 40 %}, sill: {sun: indoors}}\n"
    text = WRENMOOR + benches + GROUPS + TREES
    for bench in ("frame", "sill"):
        gone = f"- {{date: {MOVED}, tree: Rover, moved: R, bench: {bench}}}\n"
        stays, goes = (weather_plan(text, journal, climate, today=TODAY).season for journal in ("", gone))
        for offset in range(-100, 0):
            day = MOVED + DAY * offset
            assert rate_of(goes, "Rover", day) == rate_of(stays, "Rover", day)
            assert looks_of(goes, "Rover", day) == looks_of(stays, "Rover", day)


def test_a_move_takes_no_look_from_any_other_tree() -> None:
    stays, goes = season(""), season(JOURNAL)
    for name in ("Twin", "Stay"):
        for offset in range(-60, 200):
            day = MOVED + DAY * offset
            assert looks_of(goes, name, day) == looks_of(stays, name, day)


def test_runs_of_looks_follow_one_another_without_a_gap_or_an_overlap() -> None:
    moved = season(BACK)
    for group in ("V", "R"):
        daily = [c for c in moved.checks if c.group == group and c.look == 0 and len(c.weekdays) == 7]
        spans = sorted({(c.start, c.end) for c in daily})
        assert all(before[1] < after[0] for before, after in pairwise(spans))


def test_a_tree_of_no_known_kind_keeps_the_stages_it_had_before_a_move() -> None:
    """The fault this keeps out: the year of the group it is in now was taken for the past too."""
    garden = """
feeds: {powder: {grade: 20-10-20, form: soluble}}
groups: {leafy: {schedule: vigorous, feed: powder}, needles: {schedule: conifer, feed: powder}}
trees: [{name: Riddle, species: whimsywood, group: leafy, pot: 9 L}]
"""
    moved = f"- {{date: {MOVED}, tree: Riddle, moved: needles}}\n"
    before, after = (
        plan(WRENMOOR + garden, each, today=str(MOVED)).season.timelines[0] for each in ("", moved)
    )
    stages_before, stages_after = dict(before.stages), dict(after.stages)
    for season, stages in stages_before.items():
        dates_after = {at.stage: at for at in stages_after[season]}
        assert [dates_after[at.stage] for at in stages] == list(stages)
        assert "candles extending" in dates_after.keys() - {at.stage for at in stages}
