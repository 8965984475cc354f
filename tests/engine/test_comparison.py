"""What changed between two plans: every event that moved, was weakened, appeared or went names its reason."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import example, given
from hypothesis import strategies as st

from feedplan.cli.main import feedplan
from feedplan.engine.answers.comparison import Side, compare
from feedplan.engine.answers.differences import Change, Difference, Event, EventKind, told_in_short
from feedplan.export.calendars import entries_of
from feedplan.export.comparison_text import compare_with_ledger, comparison_facts, comparison_lines
from feedplan.export.entry import CalendarName
from feedplan.export.ics import CalendarSettings
from feedplan.export.ledger import Scope
from feedplan.export.publish import calendar_bytes
from feedplan.model.alert import HeatWave
from feedplan.model.journal import Entry, Fed, Journal, NotFed, Subject
from feedplan.model.reason import Held, InJournal, RampStep
from feedplan.words.reasons import fact_words, reason_words
from tests.engine.test_invariants import DAYS, NORTH, journals, season_of
from tests.properties import examples
from tests.scenarios.planning import GROUPS, WRENMOOR
from tests.scenarios.weather import WeatherPlan, daily, normals, weather_plan

TWO = WRENMOOR + GROUPS + (
    "trees: [{name: Brindle, species: larch, group: V, pot: 10 L}, "
    "{name: Fennel, species: larch, group: V, pot: 6 L}]\n"
)  # fmt: skip
OPENED = "- {date: 2027-04-20, species: larch, seen: leaves open}\n"
REPOTTED = OPENED + "- {date: 2027-04-26, tree: Brindle, work: repotted, roots: 30 %}\n"
WHEN = (date(2027, 4, 26), date(2027, 12, 31))


def between(before: WeatherPlan, after: WeatherPlan) -> tuple[Difference, ...]:
    return compare(Side(before.season, before.collection), Side(after.season, after.collection), *WHEN)


def test_root_work_takes_the_next_feeds_of_that_tree_away_and_says_so() -> None:
    before, after = (weather_plan(TWO, journal, today="2027-04-26") for journal in (OPENED, REPOTTED))
    found = between(before, after)
    feeds = [each for each in found if each.what == "feed"]
    assert {each.trees for each in found} == {("Brindle",)}
    assert feeds[0].change is Change.WENT
    assert feeds[0].before == date(2027, 4, 30)
    assert [reason.fact for reason in feeds[0].reasons] == [
        Held("repotted, moderate", WHEN[0], timedelta(days=35))
    ]
    (hold,) = [each for each in found if each.what == "hold"]
    assert (hold.change, hold.after) == (Change.APPEARED, date(2027, 5, 31))
    assert fact_words(hold.reasons[0].fact, WHEN[0]) == "Brindle repotted, 30 % of roots off"


@pytest.mark.parametrize(
    "gone", ["gone: given away", "gone: dead", "moved: F", "work: repotted, roots: 30 %, bare_rooted: true"]
)
@pytest.mark.parametrize("climate", [None, {"normals.csv": normals()}])
def test_what_becomes_of_one_tree_changes_no_look_at_the_others(
    gone: str, climate: dict[str, str] | None
) -> None:
    """Each pot is looked at for its own sake, with whomever else (common practice, no source)."""
    told = OPENED + f"- {{date: 2027-04-26, tree: Brindle, {gone}}}\n"
    before, after = (weather_plan(TWO, j, climate, today="2027-04-26") for j in (OPENED, told))
    checks = [each for each in between(before, after) if each.what == "check"]
    assert all(each.trees == ("Brindle",) for each in checks)
    assert not any("time went on" in reason_words(r, WHEN[0]) for each in checks for r in each.reasons)
    assert not {each.change for each in checks} & {Change.WEAKENED, Change.STRENGTHENED}
    if gone.startswith("gone"):
        assert {each.change for each in checks} == {Change.WENT}
        text = "\n".join(comparison_lines(checks, WHEN[0]))
        assert text.count("First water check, Brindle: no longer on ") == 1
        assert "new in the journal: Brindle: " in text


def test_a_look_made_at_another_pace_is_told_as_more_or_less_often() -> None:
    slow = TWO.replace(
        "V: {schedule: V, feed: powder}",
        "V: {schedule: V, feed: powder, changes: {water: {leaves open: {deep: twice a week, medium: twice a week}}}}",
    )
    plans = [weather_plan(text, OPENED, today="2027-04-26") for text in (TWO, slow)]
    window = (date(2027, 4, 1), WHEN[1])
    sides = [Side(plan.season, plan.collection) for plan in plans]
    slower, faster = (compare(one, other, *window) for one, other in (sides, sides[::-1]))
    assert Change.LESS_OFTEN in {each.change for each in slower if each.what == "check"}
    assert Change.MORE_OFTEN in {each.change for each in faster if each.what == "check"}
    assert "less often from Tue 20 Apr" in "\n".join(comparison_lines(slower, WHEN[0]))


def test_a_seen_stage_moves_its_feeds_and_the_first_says_it_for_all() -> None:
    early = "- {date: 2027-04-05, tree: Fennel, seen: leaves open}\n"
    before, after = (weather_plan(TWO, journal, today="2027-04-05") for journal in ("", early))
    window = (date(2027, 4, 5), date(2027, 12, 31))
    found = compare(Side(before.season, before.collection), Side(after.season, after.collection), *window)
    stage = next(each for each in found if each.what == "stage")
    assert (stage.event, stage.before, stage.after) == (
        Event(EventKind.STAGE, "leaves open"),
        date(2027, 4, 10),
        date(2027, 4, 5),
    )
    feeds = [(each, more) for each, more in told_in_short(found) if each.what == "feed"]
    assert len(feeds) == 1
    assert feeds[0][1] >= 5
    assert fact_words(feeds[0][0].reasons[0].fact, WHEN[0]) == "leaves open: seen 5 Apr, before 10 Apr"


def test_a_ramp_is_told_as_weaker_feed() -> None:
    seen = REPOTTED + "- {date: 2027-06-06, tree: Brindle, seen: hardened}\n"
    fed = OPENED + "- {date: 2027-06-01, tree: Brindle, note: nothing}\n"
    before, after = (weather_plan(TWO, journal, today="2027-06-06") for journal in (fed, seen))
    found = compare(
        Side(before.season, before.collection),
        Side(after.season, after.collection),
        date(2027, 6, 6),
        WHEN[1],
    )
    weaker = [
        each
        for each in found
        if each.ppm_after is not None and each.ppm_before and each.ppm_after < each.ppm_before
    ]
    assert weaker
    assert any(isinstance(reason.fact, RampStep) for reason in weaker[0].reasons)


def test_a_calendar_written_before_tells_a_feed_that_a_smaller_budget_weakens() -> None:
    today, days = date(2027, 4, 26), (date(2027, 5, 1), date(2027, 8, 1))
    small = TWO.replace("feed: powder}", "feed: powder, changes: {budget: 100 mg N per L}}", 1)
    before, after = (weather_plan(text, OPENED, today=str(today)) for text in (TWO, small))
    name, identity = CalendarName.FEEDING, before.collection.identity
    written = calendar_bytes(
        entries_of(name, before.season, before.collection),
        CalendarSettings(identity=identity, name=name, time_zone="Europe/London"),
        Scope(before.season.start, before.season.end),
        today,
    )
    found = compare_with_ledger(written.ledger, name, Side(after.season, after.collection), days)
    changes = {each.change for each in found if each.before == each.after}
    assert changes == {Change.WEAKENED}


def test_a_forecast_of_heat_moves_a_feed_and_brings_an_alert() -> None:
    mild = daily(("2027-07-01", [(12, 22)] * 14))
    hot = daily(("2027-07-01", [(12, 22)] * 7 + [(19, 34)] * 4 + [(14, 25)] * 3))
    journal = OPENED + "- {date: 2027-06-29, group: V, fed: as planned}\n"
    before, after = (
        weather_plan(TWO, journal, {"daily.csv": rows, "normals.csv": normals()}, today="2027-07-07")
        for rows in (mild, hot)
    )
    found = compare(
        Side(before.season, before.collection),
        Side(after.season, after.collection),
        date(2027, 7, 7),
        WHEN[1],
    )
    feed = next(each for each in found if each.what == "feed")
    assert (str(feed.before), str(feed.after), feed.trees) == (
        "2027-07-09",
        "2027-07-13",
        ("Brindle", "Fennel"),
    )
    assert feed.reasons[0].fact == Held("heat", date(2027, 7, 8), timedelta(days=5))
    alert = next(each for each in found if each.what == "alert")
    assert alert.change is Change.APPEARED
    assert isinstance(alert.reasons[0].fact, HeatWave)


def test_a_plan_against_itself_differs_in_nothing() -> None:
    plan = weather_plan(TWO, REPOTTED, today="2027-04-26")
    assert between(plan, plan) == ()
    assert list(comparison_lines((), WHEN[0])) == ["Nothing differs."]


@given(journals(), journals(), DAYS)
@examples(20)
def test_every_difference_has_a_reason_and_only_days_asked_for(
    one: Journal, other: Journal, today: date
) -> None:
    sides = [Side(season_of(NORTH, journal, today), NORTH) for journal in (one, other)]
    first, last = today, today + timedelta(days=200)
    found = compare(sides[0], sides[1], first, last)
    for each in found:
        assert each.reasons
        assert all(reason_words(reason, today) for reason in each.reasons)
        assert any(day is not None and first <= day <= last for day in (each.before, each.after))
    assert len(comparison_facts(found, today)) == len(found)
    assert compare(sides[0], sides[0], first, last) == ()


FED_LATE = Entry(
    "late", date(2027, 1, 1), date(2027, 1, 10), Subject(trees=("Moth", "Quill")), Fed()
)  # when nothing was asked for


@given(journals(), DAYS, st.integers(1, 30))
@example(Journal((FED_LATE,)), date(2027, 7, 4), 19)
@examples(15)
def test_days_that_go_by_without_news_change_no_feed(journal: Journal, today: date, later: int) -> None:
    known = Journal(tuple(e for e in journal.entries if e.known <= today))
    then = today + timedelta(days=later)
    sides = [Side(season_of(NORTH, known, day), NORTH) for day in (today, then)]
    found = compare(sides[0], sides[1], today, today + timedelta(days=300))
    assert [each for each in found if each.what in ("feed", "hold", "stage")] == []


DEMO = Path(__file__).parents[2] / "demo" / "northern"


def run(*words: str, folder: Path = DEMO) -> str:
    answer = CliRunner().invoke(feedplan, ["compare", "-c", str(folder), *words])
    assert answer.exit_code == 0, answer.output
    return answer.output


@pytest.fixture
def nearest(tmp_path: Path) -> Path:
    """The demo with each feed on the feeding day nearest to it, by which Drover is to be fed on 5 June."""
    copy = tmp_path / "nearest"
    shutil.copytree(DEMO, copy)
    own = (copy / "collection.yaml").read_text("utf-8")
    told = own.replace("  can: 10 L\n", "  can: 10 L\n  feed_together: 0 days\n", 1)
    (copy / "collection.yaml").write_text(told, "utf-8")
    return copy


def test_the_command_compares_yesterday_with_today(nearest: Path) -> None:
    text = run("--today", "2027-06-05", folder=nearest)
    facts = json.loads(run("--today", "2027-06-05", "--json", folder=nearest))
    assert "Drover: moved from" in text
    assert (facts["from"], facts["to"]) == ("2027-06-04", "2027-06-05")
    assert all(each["reasons"] for each in facts["differences"])


def test_the_command_compares_two_collections(tmp_path: Path) -> None:
    for path in DEMO.rglob("*"):
        if path.is_file():
            target = tmp_path / path.relative_to(DEMO)
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(path.read_bytes())
    assert run("--today", "2027-06-05", "--with", str(tmp_path)) == "Nothing differs.\n"
    own = (tmp_path / "collection.yaml").read_text()
    (tmp_path / "collection.yaml").write_text(
        own.replace("every: 21 days, strength: 80 ppm N", "every: 14 days, strength: 80 ppm N")
    )
    text = run("--today", "2027-06-05", "--with", str(tmp_path))
    assert "Feed of conifers" in text
    assert "the collection or its schedules differ" in text


def test_the_command_compares_a_calendar_written_before_with_the_plan(nearest: Path, tmp_path: Path) -> None:
    written = tmp_path / "trees.ics"
    answer = CliRunner().invoke(
        feedplan,
        ["calendar", "-c", str(nearest), "-o", str(written), "--show", "detail", "--today", "2027-06-04"],
    )
    assert answer.exit_code == 0, answer.output
    text = run("--today", "2027-06-05", "--calendar", str(written), folder=nearest)
    # Drover was recorded as dry on the 5th, so its feed of that day moves.
    assert "Feed growing-on: 114 ppm N of spring-24-8-16, 1 tree: moved from Sat 5 Jun to Sat 12 Jun." in text
    assert "dry root ball: water first, feed once evenly moist" in text
    lost = CliRunner().invoke(
        feedplan, ["compare", "-c", str(DEMO), "--calendar", str(tmp_path / "none.ics")]
    )
    assert (lost.exit_code, "write the calendar first" in lost.output) == (2, True)


@pytest.mark.parametrize(
    "words", [("--from", "2027-06-10", "--to", "2027-06-01"), ("--calendar", "x.ics", "--with", ".")]
)
def test_days_the_wrong_way_round_and_two_earlier_plans_are_refused(words: tuple[str, ...]) -> None:
    answer = CliRunner().invoke(feedplan, ["compare", "-c", str(DEMO), *words])
    assert answer.exit_code == 2


def test_a_feed_nobody_asked_for_that_was_recorded_is_the_same_feed_whatever_number_it_has() -> None:
    """It takes the next free number, which is a later one the later the day the plan is seen from."""
    journal = OPENED + "- {date: 2027-04-02, species: larch, fed: 100 ppm N}\n"
    before = weather_plan(TWO, journal, today="2027-06-01")
    (timeline,) = before.season.timelines
    extra = next(feed for feed in timeline.feeds if feed.is_extra)
    later = {feed.ordinal for feed in timeline.feeds if feed.season == extra.season}
    places = sorted(later - {extra.ordinal})
    numbers = {ordinal: place for place, ordinal in enumerate(places, 1)}

    def numbered_with_extra_at(number: int) -> WeatherPlan:
        feeds = tuple(
            feed
            if feed.season != extra.season
            else replace(feed, ordinal=number)
            if feed.is_extra
            else replace(feed, ordinal=numbers[feed.ordinal] + (numbers[feed.ordinal] >= number))
            for feed in timeline.feeds
        )
        return replace(before, season=replace(before.season, timelines=(replace(timeline, feeds=feeds),)))

    found = between(numbered_with_extra_at(3), numbered_with_extra_at(5))
    assert [each for each in found if each.what == "feed"] == []


def test_a_feed_asked_for_and_recorded_on_another_day_is_not_told_as_moved() -> None:
    before = weather_plan(TWO, OPENED, today="2027-05-08")
    planned = next(f for f in before.season.timelines[0].feeds if f.day >= date(2027, 5, 8))
    day_after = planned.day + timedelta(days=1)
    after = weather_plan(
        TWO, OPENED + f"- {{date: {day_after}, species: larch, fed: as planned}}\n", today=f"{day_after}"
    )
    feeds = [each for each in between(before, after) if each.what == "feed"]
    assert all(each.before != planned.day for each in feeds), feeds


def test_what_is_written_of_feeds_is_no_cause_of_another_water_check() -> None:
    """Nor is what happened later than the check."""
    before = weather_plan(TWO, OPENED, today="2027-06-01")
    entries = (
        "- {date: 2027-06-01, species: larch, not_fed: too hot}\n"
        "- {date: 2027-06-01, tree: Brindle, work: repotted, roots: 30 %}\n"
        "- {date: 2027-06-20, tree: Brindle, moved: F}\n"
    )
    after = weather_plan(TWO, OPENED + entries, today="2027-06-25")
    checks = [each for each in between(before, after) if each.what == "check"]
    assert checks
    for each in checks:
        for fact in (reason.fact for reason in each.reasons):
            if isinstance(fact, InJournal):
                told = list(fact.entries)
                assert not any(isinstance(entry.fact, NotFed) for entry in told)
                assert all(entry.day <= max(filter(None, (each.before, each.after))) for entry in told)
