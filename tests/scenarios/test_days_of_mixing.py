"""Days of mixing: a feed due near the first of the feeding days is given on it, so that more comes from one weighing.

Common practice, no source: growers feed all that is due about the weekend at the weekend. Dates are worked out by hand.
2 June 2027 is a Wednesday; every 14 days with a least gap of 10, seven tenths of it.
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from feedplan.engine.answers.explain import explain, timeline_of
from feedplan.engine.plan import plan_season
from feedplan.engine.sink.mixing import cans_of
from feedplan.load.collection import load_text
from feedplan.words.reasons import reason_words
from tests.scenarios.planning import SCHEDULES, WRENMOOR, Plan, plan

FORTNIGHTLY = {"V": SCHEDULES["V"].replace("every: 10 days", "every: 14 days")}
WEEKLY = {"V": SCHEDULES["V"].replace("every: 10 days", "every: 7 days")}
GARDEN = (
    WRENMOOR
    + "since: 2027-06-02\n"
    + "feeds: {powder: {grade: 20-10-20, form: soluble}}\n"
    + "groups: {front: {schedule: V, feed: powder}, back: {schedule: V, feed: powder}}\n"
    + "trees:\n"
    + "  - {name: Brindle, species: larch, group: front, pot: 10 L}\n"
    + "  - {name: Kettle, species: larch, group: back, pot: 10 L}\n"
)
FED = "- {date: 2027-06-02, tree: Brindle, fed: as planned}\n- {date: 2027-06-05, tree: Kettle, fed: as planned}\n"
NEAR = "feed_on: [Saturday, Wednesday], feed_together: 3 days"


def garden(habits: str, more: str = "", *, every: dict[str, str] = FORTNIGHTLY, journal: str = FED) -> Plan:
    """Both trees as planned on 6 June 2027."""
    files = GARDEN + f"habits: {{{habits}}}\n" + more
    return plan(files, journal, today="2027-06-06", days=60, schedules=every)


def days_fed(year: Plan, tree: str, count: int = 3) -> list[str]:
    return [feed.split()[0] for feed in year.feeds(tree)][:count]


def test_two_groups_out_of_step_meet_on_the_day_of_mixing() -> None:
    """Due Wednesdays 16 and 30 June: the Saturdays three days later are nearer than those four days before."""
    year = garden("feed_on: [Saturday, Wednesday]")
    assert days_fed(year, "Brindle") == ["2027-06-02", "2027-06-19", "2027-07-03"]
    assert days_fed(year, "Kettle") == ["2027-06-05", "2027-06-19", "2027-07-03"]
    items = [item for item in year.season.rounds if item.day == date(2027, 6, 19)]
    assert len(items) == 2
    assert len(cans_of(items, year.collection).batches) == 1


@pytest.mark.parametrize(
    ("habits", "brindle", "kettle"),
    [
        ("feed_on: [Saturday, Wednesday], feed_together: 0 days", "2027-06-16", "2027-06-19"),
        ("feed_on: [Saturday, Wednesday], feed_together: 2 days", "2027-06-16", "2027-06-19"),
        ("feed_on: [Wednesday, Saturday]", "2027-06-16", "2027-06-16"),
        ("can: 10 L", "2027-06-16", "2027-06-19"),
    ],
)
def test_the_habits_say_which_day_and_how_far(habits: str, brindle: str, kettle: str) -> None:
    year = garden(habits)
    assert days_fed(year, "Brindle", 2)[1] == brindle
    assert days_fed(year, "Kettle", 2)[1] == kettle


def test_the_interval_goes_on_counting_from_the_day_each_was_due() -> None:
    """Five feeds in ten weeks on either plan: the day of mixing takes no feed away."""
    for habits in ("feed_on: [Saturday, Wednesday]", "can: 10 L"):
        fed = [day for day in days_fed(garden(habits), "Brindle", 9) if day <= "2027-08-04"]
        assert len(fed) == 5


def test_a_feed_is_never_nearer_than_the_least_gap() -> None:
    """Every 7 days, gap 5: fed Saturday 5, due 12; Wednesday 9 is too near, so the next one is 16, then each week."""
    year = garden("feed_on: [Wednesday, Saturday]", every=WEEKLY)
    assert days_fed(year, "Kettle", 4) == ["2027-06-05", "2027-06-16", "2027-06-23", "2027-06-30"]
    shorter = garden("feed_on: [Wednesday, Saturday], feed_together: 3 days", every=WEEKLY)
    assert days_fed(shorter, "Kettle", 3) == ["2027-06-05", "2027-06-12", "2027-06-19"]


def test_a_held_day_of_mixing_is_passed_over() -> None:
    """Due Wednesday 16 June; away from 18 June, it stays on its own day."""
    year = garden(NEAR, "away: [{from: 2027-06-18, to: 2027-06-20}]\n")
    assert days_fed(year, "Brindle", 2) == ["2027-06-02", "2027-06-16"]


def test_a_feed_moves_half_a_week_to_a_feeding_day_and_no_further_forward() -> None:
    """Judgement, half a week. Due Wednesday 16 June: Saturday 19; away then, not Saturday 12, four days before."""
    habits = "feed_on: [Saturday], feed_together: 0 days"
    assert days_fed(garden(habits), "Brindle", 2) == ["2027-06-02", "2027-06-19"]
    away = garden(habits, "away: [{from: 2027-06-18, to: 2027-06-20}]\n")
    assert days_fed(away, "Brindle", 2) == ["2027-06-02", "2027-06-26"]
    # Due Tuesday 15 June, the Saturday three days before is nearer than the one after.
    by_13_days = {"V": SCHEDULES["V"].replace("every: 10 days", "every: 13 days")}
    assert days_fed(garden(habits, every=by_13_days), "Brindle", 2) == ["2027-06-02", "2027-06-12"]


def test_a_feed_is_not_put_off_where_that_costs_the_one_before_leaving() -> None:
    """Due 16 June and, while away, 30 June: the second comes early on Saturday 26 June, ten days after the first."""
    year = garden(NEAR, "away: [{from: 2027-06-27, to: 2027-07-10}]\n")
    assert days_fed(year, "Brindle") == ["2027-06-02", "2027-06-16", "2027-06-26"]


def test_no_feed_is_moved_beyond_its_period() -> None:
    """The period ends on 18 June, before the Saturday: the feed due on Wednesday 16 June stays."""
    short = {"V": FORTNIGHTLY["V"].replace("to: 15 August,", "to: 18 June,", 1)}
    year = garden(NEAR, every=short)
    assert days_fed(year, "Brindle", 2) == ["2027-06-02", "2027-06-16"]


def test_why_says_by_how_much_and_with_whom_it_is_mixed() -> None:
    year = garden("feed_on: [Saturday, Wednesday]")
    day = date(2027, 6, 19)
    timeline = timeline_of(year.season, "Brindle")
    assert timeline is not None
    why = explain(year.season, timeline.trees[0], day)
    assert [reason_words(r, day) for r in why.reasons] == ["due 16 Jun, put off 3 days to mix with back"]
    assert [reason_words(r, day) for f in timeline.feeds if f.day == day for r in f.reasons] == [
        "due 16 Jun, put off 3 days to the day of mixing"
    ]


def test_with_nothing_new_known_no_feed_moves_from_day_to_day() -> None:
    """Every morning of six weeks asks for what the morning before asked for from then on."""
    loaded = load_text(GARDEN + "habits: {feed_on: [Wednesday, Saturday]}\n", FED, FORTNIGHTLY)
    before: list[tuple[str, date, date]] = []
    for number in range(42):
        day = date(2027, 6, 6) + timedelta(days=number)
        season = plan_season(loaded.collection, loaded.journal, day, day, date(2027, 9, 30))
        found = [(t.names[0], f.day, f.due) for t in season.timelines for f in t.feeds if f.day >= day]
        if before:
            assert found == [feed for feed in before if feed[1] >= day]
        before = found
    assert before
