"""What is seen on one tree moves that tree at once and tells of the others of its species; nothing else moves."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from feedplan.engine.stages.questions import asked_from
from feedplan.export.entries import calendar_entries
from feedplan.model.course import StageDate
from feedplan.model.stage import Origin
from feedplan.words.reasons import basis_words
from tests.scenarios.planning import GROUPS, WRENMOOR
from tests.scenarios.weather import WeatherPlan, normals, weather_plan

TREES = (
    WRENMOOR
    + GROUPS
    + """
trees:
  - {name: Brindle, species: larch, group: V, pot: 10 L}
  - {name: Fennel, species: larch, group: V, pot: 6 L}
  - {name: Tansy, species: larch, group: V, pot: 6 L}
  - {name: Drover, species: elm, group: V, pot: 6 L}
  - {name: Ember, species: maple, group: V, pot: 6 L}
"""
)
WEATHER = {"normals.csv": normals()}


def seen(day: str, *names: str) -> str:
    return "".join(f"- {{date: {day}, tree: {name}, seen: leaves open}}\n" for name in names)


def plan(journal: str, today: str = "2027-04-06") -> WeatherPlan:
    return weather_plan(TREES, journal, WEATHER, today=today)


def day(found: WeatherPlan, tree: str, stage: str = "leaves open") -> date:
    at = found.stage(tree, stage, 2027)
    assert at.day is not None
    return at.day


def test_a_stage_seen_replaces_the_prediction_of_that_tree_and_shifts_its_later_ones() -> None:
    before, after = (plan(log, today="2027-03-25") for log in ("", seen("2027-03-25", "Brindle")))
    assert before.stage("Brindle", "leaves open", 2027).origin is Origin.PREDICTED
    assert after.stage("Brindle", "leaves open", 2027).origin is Origin.SEEN
    assert day(after, "Brindle") == date(2027, 3, 25) < day(before, "Brindle")
    shift = day(before, "Brindle", "first flush hardened") - day(after, "Brindle", "first flush hardened")
    assert shift.days > 0
    assert after.feeds("Brindle")[0] == "2027-03-25 150"


def test_other_trees_of_the_species_are_drawn_towards_it_the_more_the_more_trees_and_say_so() -> None:
    none, one, two = (
        plan(log, today="2027-04-02")
        for log in ("", seen("2027-04-01", "Brindle"), seen("2027-04-01", "Brindle", "Fennel"))
    )
    assert day(none, "Tansy") > day(one, "Tansy") >= day(two, "Tansy") >= date(2027, 4, 1)
    at = one.stage("Tansy", "leaves open", 2027)
    assert at.origin is Origin.INFORMED
    assert "1 tree of its species" in basis_words(at.basis, at.typical)
    again = two.stage("Tansy", "leaves open", 2027)
    assert "2 trees of its species" in basis_words(again.basis, again.typical)


def test_another_species_of_the_same_calendar_is_left_as_it_was() -> None:
    before, after = plan(""), plan(seen("2027-04-05", "Brindle"))
    for tree in ("Drover", "Ember"):
        assert day(after, tree) == day(before, tree)
        assert after.feeds(tree) == before.feeds(tree)


def test_nothing_is_opened_before_the_day_it_was_written_down() -> None:
    late = "- {date: 2027-04-02, recorded: 2027-04-09, tree: Brindle, seen: leaves open}\n"
    found = plan(late, today="2027-04-09")
    assert all(feed >= "2027-04-09" for tree in ("Brindle", "Fennel") for feed in found.feeds(tree))


def test_seen_on_the_whole_species_is_seen_on_each_tree() -> None:
    found = plan("- {date: 2027-04-05, species: larch, seen: leaves open}\n")
    assert {found.stage(t, "leaves open", 2027).origin for t in ("Brindle", "Fennel", "Tansy")} == {
        Origin.SEEN
    }


def test_an_earlier_stage_seen_late_says_not_yet_whatever_the_weather_says() -> None:
    told = plan("", today="2027-04-20").stage("Brindle", "leaves open", 2027)
    assert told.day is not None
    assert told.day <= date(2027, 4, 20)
    tight = "- {date: 2027-04-20, tree: Brindle, seen: buds tight}\n"
    found = plan(tight, today="2027-04-20")
    at = found.stage("Brindle", "leaves open", 2027)
    assert (at.origin, at.day) == (Origin.AWAITED, None)
    # What was told before the buds were seen tight stays told; nothing more comes until the leaves are seen.
    assert [feed for feed in found.feeds("Brindle") if "2027-04-20" <= feed < "2027-08-16"] == []


def test_a_stage_passed_over_has_come_by_the_day_a_later_one_was_seen() -> None:
    found = plan("- {date: 2027-04-01, tree: Brindle, seen: first flush extending}\n")
    assert day(found, "Brindle") <= date(2027, 4, 1)


def test_questions_start_early_and_come_each_week_until_answered() -> None:
    found = plan("", today="2027-03-01")
    prompt = next(
        p
        for p in found.season.prompts
        if p.stage == "leaves open" and "Brindle" in {n for t in p.timelines for n in t.names}
    )
    assert prompt.early is not None
    assert prompt.late is not None
    assert 0 <= (prompt.early - prompt.day).days < 7
    assert prompt.early < prompt.expected < prompt.late
    assert prompt.asked_until == prompt.late + timedelta(weeks=4)  # the same from the first day on
    entry = next(e for e in calendar_entries(found.season, found.collection) if e.key == prompt.key)
    assert entry.repeat is not None
    assert (entry.start, entry.repeat.every_days, entry.repeat.until) == (prompt.day, 7, prompt.asked_until)
    assert "10 to 90 %" in entry.text
    answered = plan(seen("2027-04-05", "Brindle", "Fennel", "Tansy", "Drover"), today="2027-04-06")
    asked = [p for p in answered.season.prompts if p.stage == "leaves open" and p.day.year == 2027]
    assert {name for p in asked for t in p.timelines for name in t.names} == {"Ember"}


@pytest.mark.parametrize("sooner", range(-7, 15))
def test_a_predicted_stage_is_asked_after_on_the_weekday_of_its_typical_date(sooner: int) -> None:
    """Judgement: a question that moved with the weather of each day would never stand still in a calendar."""
    typical = date(2027, 4, 24)
    early = typical - timedelta(days=sooner)
    at = StageDate("leaves open", typical, Origin.PREDICTED, date(2027, 1, 1), typical, early=early)
    asked = asked_from(at)
    assert asked.weekday() == typical.weekday()
    assert 0 <= (early - asked).days < 7


def test_an_unanswered_question_goes_on_after_the_late_end_for_some_weeks() -> None:
    late = plan("", today="2027-05-12")
    asked = [p for p in late.season.prompts if p.stage == "leaves open" and p.day.year == 2027]
    assert asked
    assert all(p.asked_until is not None and p.asked_until >= date(2027, 5, 12) for p in asked)
    over = plan("", today="2027-07-12")
    past = [p for p in over.season.prompts if p.stage == "leaves open" and p.day.year == 2027]
    assert all(p.asked_until is not None and p.asked_until < date(2027, 7, 12) for p in past)


def test_a_question_nobody_answered_stays_where_it_was_asked_for_sixty_days_and_then_goes() -> None:
    """Judgement: calendars reach back 30 days, and what is past stays as it was told."""
    one = TREES.partition("  - {name: Fennel")[0]
    prompts = weather_plan(one, "", WEATHER, today="2027-03-01").season.prompts
    asked = next(p for p in prompts if p.stage == "leaves open")
    assert asked.asked_until is not None
    for days, is_kept in ((60, True), (61, False)):
        later = weather_plan(one, "", WEATHER, today=str(asked.asked_until + timedelta(days=days)))
        assert (asked.key in {p.key for p in later.season.prompts}) == is_kept


def test_the_growers_own_date_sets_the_sum_and_the_weather_moves_it() -> None:
    own = TREES + "stages:\n  larch: {leaves open: 1 May}\n"
    found = weather_plan(own, "", WEATHER, today="2027-01-10")
    assert abs((day(found, "Brindle") - date(2027, 5, 1)).days) <= 1
    at = found.stage("Brindle", "leaves open", 2027)
    assert "your own date" in basis_words(at.basis, at.typical)
    warm = {"normals.csv": normals(), "daily.csv": "date,tmin_c,tmax_c\n" + "".join(
        f"2027-{3 + n // 31:02},8,16\n".replace(",8,16", f"-{n % 31 + 1:02},8,16") for n in range(31)
    )}  # fmt: skip
    earlier = weather_plan(own, "", warm, today="2027-04-01")
    assert day(earlier, "Brindle") < date(2027, 4, 25)
