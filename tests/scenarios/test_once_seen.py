"""Weak trees are fed only once their growth was seen: no typical or predicted date stands in for the grower's eyes."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from feedplan.engine.answers.explain import explain
from feedplan.engine.day import day_of
from feedplan.load.read_words import parse_moment
from feedplan.model.moment import AtStage, FirstOf, LastOf, Moment
from feedplan.words.reasons import fact_words
from feedplan.words.stages import moment_words
from tests.scenarios.planning import WRENMOOR
from tests.scenarios.weather import daily, normals, weather_plan

WEAK = ("recovering", "newly-repotted", "collected", "cuttings")
NEEDED = {"cuttings": "rooted"}
# The day after the last feed they could still get.
TOO_LATE = {"newly-repotted": "2027-10-01"}


def collection(schedule: str) -> str:
    return (
        WRENMOOR
        + "feeds: {powder: {grade: 20-10-20, form: soluble, label_rate: 1 g per L}}\n"
        + f"groups: {{ward: {{schedule: {schedule}, feed: powder}}}}\n"
        + "trees: [{name: Moth, species: hornbeam, group: ward, pot: 5 L}]\n"
    )


@pytest.mark.parametrize("schedule", WEAK)
def test_a_weak_tree_is_never_fed_by_a_date_alone(schedule: str) -> None:
    warm = {"normals.csv": normals(), "daily.csv": daily(("2027-06-28", [(14, 24)] * 10))}
    for climate in (None, warm):
        year = weather_plan(collection(schedule), "", climate, today="2027-07-05", schedules={})
        assert year.feeds("Moth") == []


@pytest.mark.parametrize("schedule", WEAK)
def test_what_was_seen_starts_the_feed(schedule: str) -> None:
    stage = NEEDED.get(schedule, "first flush hardened")
    journal = f"- {{date: 2027-06-20, tree: Moth, seen: {stage}}}\n"
    year = weather_plan(collection(schedule), journal, today="2027-06-20", schedules={})
    assert year.feeds("Moth")[0].startswith("2027-06-20")


@pytest.mark.parametrize("schedule", WEAK)
def test_the_question_comes_each_week_until_it_is_answered_or_too_late(schedule: str) -> None:
    stage = NEEDED.get(schedule, "first flush hardened")
    summer = weather_plan(collection(schedule), "", today="2027-07-20", schedules={})
    asked = [p for p in summer.season.prompts if p.stage == stage and p.day.year == 2027]
    week = [date(2027, 7, day) for day in range(20, 27)]
    assert [(p.awaited, sum(map(p.falls_on, week))) for p in asked] == [(True, 1)]
    autumn = weather_plan(collection(schedule), "", today=TOO_LATE.get(schedule, "2027-09-20"), schedules={})
    asked = [p for p in autumn.season.prompts if p.stage == stage and p.day.year == 2027]
    days = [autumn.season.today + timedelta(days=n) for n in range(100)]
    assert not any(p.falls_on(day) for p in asked for day in days)


def test_the_reason_names_the_stage_waited_for() -> None:
    year = weather_plan(collection("recovering"), "", today="2027-07-05", schedules={})
    why = explain(year.season, year.collection.trees[0], date(2027, 7, 5))
    assert [fact_words(reason.fact, why.day) for reason in why.reasons] == [
        "'summer' waits for first flush hardened to be seen"
    ]


@pytest.mark.parametrize(
    ("text", "moment"),
    [
        ("leaves open once seen", AtStage("leaves open", seen_only=True)),
        ("leaves open + 2 weeks once seen", AtStage("leaves open", 14, seen_only=True)),
        ("15 August", parse_moment("15 August")),
        ("rooted once seen and 1 June", LastOf((AtStage("rooted", seen_only=True), parse_moment("1 June")))),
        (
            "leaves open or rooted once seen",
            FirstOf((AtStage("leaves open"), AtStage("rooted", seen_only=True))),
        ),
    ],
)
def test_once_seen_is_read_and_written_alike(text: str, moment: Moment) -> None:
    assert parse_moment(text) == moment
    assert parse_moment(moment_words(moment)) == moment


def test_a_stage_is_not_asked_after_once_the_end_of_a_hold_lets_feed_begin() -> None:
    """Growth hardened in August after root work: in winter nobody is asked after the flush of spring."""
    journal = (
        "- {date: 2027-03-27, tree: Moth, work: repotted, roots: 30 %}\n"
        "- {date: 2027-06-05, tree: Moth, seen: no extension}\n"
        "- {date: 2027-07-10, tree: Moth, seen: extension}\n"
        "- {date: 2027-08-21, tree: Moth, seen: hardened}\n"
    )
    asked = [
        (today, prompt.stage)
        for today in ("2027-08-28", "2027-10-02", "2027-11-20", "2028-01-08")
        for prompt in weather_plan(
            collection("newly-repotted").replace("hornbeam", "English oak"),
            journal,
            today=today,
            schedules={},
        ).season.prompts
        if prompt.day.year == int(today[:4]) and prompt.day <= date.fromisoformat(today) + timedelta(days=14)
    ]
    assert asked == []


@pytest.mark.parametrize("struck_again", [False, True])
def test_cuttings_that_rooted_are_fed_from_open_leaves_of_the_next_spring(struck_again: bool) -> None:
    """Roots stay: common practice, no source. New cuttings under the same name have none yet."""
    journal = "- {date: 2026-08-01, tree: Moth, seen: rooted}\n"
    journal += "- {date: 2026-09-01, tree: Moth, work: struck}\n" if struck_again else ""
    year = weather_plan(collection("cuttings"), journal, today="2027-06-12", schedules={})
    opened = year.season.timelines[0].stage_dates(2027)
    leaves = next(at.day for at in opened if at.stage == "leaves open")
    fed = [line[:10] for line in year.feeds("Moth") if line.startswith("2027")]
    assert fed[:1] == ([] if struck_again else [str(leaves)])
    assert any(p.stage == "rooted" for p in year.season.prompts) == struck_again


PINE = (
    WRENMOOR
    + "since: 2026-03-01\nfeeds: {powder: {grade: 20-20-20, form: soluble}}\n"
    + "groups: {pines: {schedule: conifer-decandled, feed: powder}}\n"
    + "trees: [{name: Skerry, species: Japanese black pine, group: pines, pot: 12 L}]\n"
)
CANDLES_CUT = "- {date: 2026-06-08, tree: Skerry, work: candles cut}\n"


@pytest.mark.parametrize(
    ("today", "is_asked"),
    [
        ("2026-08-05", True),
        ("2026-09-19", True),  # growth has stopped, and needles firm still: feed may go on to November
        ("2026-11-10", True),
        ("2026-12-10", False),  # dormant
        ("2027-04-03", True),  # needles kept through winter show it as the tree wakes
    ],
)
def test_a_pine_with_cut_candles_is_asked_about_as_long_as_its_needles_can_tell(
    today: str, is_asked: bool
) -> None:
    """Feed comes back as the second needles firm, from late August to November: common practice, no source."""
    year = weather_plan(PINE, CANDLES_CUT, today=today, schedules={})
    assert bool(day_of(year.season, date.fromisoformat(today)).looks) == is_asked
    seen = CANDLES_CUT + f"- {{date: {today}, tree: Skerry, seen: hardened}}\n"
    freed = weather_plan(PINE, seen, today=today, schedules={})
    assert not any(hold.covers(date.fromisoformat(today)) for hold in freed.season.timelines[0].holds)


@pytest.mark.parametrize(("today", "is_asked"), [("2026-11-01", True), ("2027-06-13", False)])
def test_nobody_is_asked_to_put_a_tree_off_to_a_spring_that_has_come(today: str, is_asked: bool) -> None:
    """An offer that `record put-off` would refuse is none (judgement)."""
    cut = "- {date: 2026-03-29, tree: Skerry, work: repotted, roots: 15 %}\n"
    refined = PINE.replace("conifer-decandled", "conifer-refined").replace("black pine", "white pine")
    year = weather_plan(refined, cut, today=today, schedules={})
    looks = day_of(year.season, date.fromisoformat(today)).looks
    assert any(look.carry_to is not None for look in looks) == is_asked


@pytest.mark.parametrize(("first", "is_asked"), [("hardened", False), ("first flush hardened", True)])
def test_a_stage_of_a_group_after_a_sign_of_one_of_its_trees_is_no_contradiction(
    first: str, is_asked: bool
) -> None:
    """The sign was seen to end a hold, and so first (judgement); the same stage written twice is asked about."""
    seen = f"- {{date: 2027-05-24, tree: Moth, seen: {first}}}\n"
    seen += "- {date: 2027-06-15, group: ward, seen: first flush hardened}\n"
    year = weather_plan(collection("refined"), seen, today="2027-06-16", schedules={})
    assert any(alert.key.startswith("alert/sighting/") for alert in year.season.alerts) == is_asked
    (at,) = [at for at in year.season.timelines[0].stage_dates(2027) if at.stage == "first flush hardened"]
    assert at.day == date(2027, 5, 24)
