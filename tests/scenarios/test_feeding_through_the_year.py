"""Series, seasons and interruptions, each with its YAML and its dates on one screen.

The scenarios are worked by hand from plain statements of practice: an interval counted from the last feed given, a
missed one offered until the next without moving it, inclusive dates, an autumn series whose first feed is the first
due date after the summer one ends.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from feedplan.engine.feeding.restrictions import reasons_against
from feedplan.engine.season import StagePrompt
from feedplan.engine.water.checks import sheet_of
from feedplan.export.entries import calendar_entries
from feedplan.export.entry import Kind
from feedplan.export.helper_sheet import helper_lines
from tests.scenarios.planning import GROUPS, KORORUA_BAY, SCHEDULES, SINCE_24_APRIL, WRENMOOR, plan


def test_a_vigorous_larch_gets_twelve_feeds_and_three_weak_ones_in_autumn() -> None:
    year = plan(
        WRENMOOR + SINCE_24_APRIL + GROUPS + "trees: [{name: Brindle, species: larch, group: V, pot: 10 L}]",
        "- {date: 2027-04-24, tree: Brindle, seen: leaves open}",
        today="2027-04-24",
    )
    assert year.feeds("Brindle")[:15] == [
        "2027-04-24 150", "2027-05-04 150", "2027-05-14 150", "2027-05-24 150", "2027-06-03 150", "2027-06-13 150",
        "2027-06-23 150", "2027-07-03 150", "2027-07-13 150", "2027-07-23 150", "2027-08-02 150", "2027-08-12 150",
        "2027-08-22 50", "2027-09-05 50", "2027-09-19 50",
    ]  # fmt: skip
    assert not any(feed.startswith(("2027-10", "2027-11", "2027-12")) for feed in year.feeds("Brindle"))


def test_in_the_south_the_season_crosses_new_year_and_a_leap_day() -> None:
    year = plan(
        KORORUA_BAY
        + "since: 2027-10-22\n"
        + GROUPS
        + "trees: [{name: Sable, species: elm, group: V, pot: 10 L}]",
        "- {date: 2027-10-22, tree: Sable, seen: leaves open}",
        today="2027-10-22",
        days=300,
    )
    feeds = year.feeds("Sable")
    assert feeds[0] == "2027-10-22 150"
    assert feeds[11] == "2028-02-09 150"
    assert feeds[12:] == ["2028-02-19 50", "2028-03-04 50", "2028-03-18 50"]


INDOOR = {
    "indoor": """
schedule: indoor
about: A fig on a warm sill.
written_for: north
stages: indoor tropical
budget: 400 mg N per L
feeding:
  all year: {from: 1 January, to: 31 December, every: 14 days, strength: 60 ppm N}
water:
  in growth: {shallow: daily, medium: daily, deep: every 2 days, weak: daily}
"""
}


def test_a_leap_day_is_a_day_like_any_other_and_a_yearly_note_on_it_moves_to_the_28th() -> None:
    collection = (
        WRENMOOR
        + """
feeds: {powder: {grade: 20-10-20, form: soluble}}
groups: {sill: {schedule: indoor, feed: powder}}
trees: [{name: Kettle, species: fig, group: sill, pot: 2 L}]
notes: [{on: 29 February, say: Turn the pot.}]
"""
    )
    year = plan(
        collection,
        "- {date: 2028-02-15, tree: Kettle, fed: as planned}",
        today="2028-02-16",
        days=400,
        schedules=INDOOR,
    )
    coming = [feed for feed in year.feeds("Kettle") if feed > "2028-02-15 60"]
    assert coming[:2] == ["2028-02-29 60", "2028-03-14 60"]
    assert [str(note.day) for note in year.season.notes] == ["2028-02-29", "2029-02-28"]


def test_a_late_spring_moves_the_start_and_not_the_stop() -> None:
    collection = WRENMOOR + GROUPS + "trees: [{name: Tallow, species: hornbeam, group: V, pot: 9 L}]"
    tight = "- {date: 2027-04-24, tree: Tallow, seen: buds tight}\n"
    assert plan(collection, tight, today="2027-04-30", days=100).feeds("Tallow") == []
    year = plan(
        collection, tight + "- {date: 2027-05-09, tree: Tallow, seen: leaves open}", today="2027-05-09"
    )
    feeds = year.feeds("Tallow")
    assert feeds[0] == "2027-05-09 150"
    assert feeds[9] == "2027-08-07 150"
    assert feeds[10] == "2027-08-17 50"


def test_a_tree_moved_to_another_group_follows_its_interval_from_the_last_feed() -> None:
    year = plan(
        WRENMOOR + GROUPS + "trees: [{name: Sexton, species: maple, group: V, pot: 6 L}]",
        """
- {date: 2027-06-12, tree: Sexton, seen: first flush hardened}
- {date: 2027-06-14, tree: Sexton, fed: as planned}
- {date: 2027-06-18, tree: Sexton, moved: F}
""",
        today="2027-06-18",
    )
    feeds = year.feeds("Sexton")
    assert "2027-06-14 150" in feeds
    assert [feed for feed in feeds if feed > "2027-06-15"][:2] == ["2027-07-05 60", "2027-07-26 60"]


def test_a_tree_moved_to_richer_feed_follows_the_interval_of_the_period_it_comes_into() -> None:
    """Every 10 days in summer, 14 in autumn: counted from its last feed before it came."""
    year = plan(
        WRENMOOR + GROUPS + "trees: [{name: Sexton, species: maple, group: F, pot: 6 L}]",
        """
- {date: 2027-06-08, tree: Sexton, seen: first flush hardened}
- {date: 2027-06-12, tree: Sexton, fed: as planned}
- {date: 2027-06-14, tree: Sexton, moved: V}
""",
        today="2027-06-14",
        days=60,
    )
    assert [feed for feed in year.feeds("Sexton") if feed > "2027-06-13"][:2] == [
        "2027-06-22 150",
        "2027-07-02 150",
    ]


def test_a_tree_moved_to_a_group_whose_feeding_is_over_is_fed_with_it_from_the_next_year_on() -> None:
    year = plan(
        WRENMOOR + GROUPS + "trees: [{name: Sexton, species: maple, group: V, pot: 6 L}]",
        "- {date: 2027-08-14, tree: Sexton, fed: as planned}\n- {date: 2027-08-20, tree: Sexton, moved: R}\n",
        today="2027-08-20",
    )
    first, *_ = (feed for feed in year.feeds("Sexton") if feed > "2027-08-15")
    flush = next(
        at for at in year.season.timelines[0].stage_dates(2028) if at.stage == "first flush hardened"
    )
    assert first == f"{flush.day} 30"


def test_missed_feeds_are_offered_once_at_the_planned_strength_and_never_added_up() -> None:
    collection = (
        WRENMOOR
        + SINCE_24_APRIL
        + GROUPS
        + ("habits: {unlogged_feeds: missed}\ntrees: [{name: Brindle, species: larch, group: V, pot: 10 L}]")
    )
    journal = """
- {date: 2027-04-24, tree: Brindle, seen: leaves open}
- {date: 2027-04-24, tree: Brindle, fed: as planned}
"""
    opened = plan(collection, journal, today="2027-05-17", days=30)
    assert opened.statuses("Brindle")[:4] == [
        "2027-04-24 recorded", "2027-05-04 missed", "2027-05-17 overdue", "2027-05-24 planned",
    ]  # fmt: skip
    # The feed told for 14 May is offered until the next, which keeps its day: 14 and 10 days are 24 May.
    assert opened.feeds("Brindle")[2] == "2027-05-17 150"
    done = plan(
        collection,
        journal + "- {date: 2027-05-17, tree: Brindle, fed: as planned}",
        today="2027-05-17",
        days=30,
    )
    assert done.statuses("Brindle")[:4] == [
        "2027-04-24 recorded", "2027-05-04 missed", "2027-05-17 recorded", "2027-05-27 planned",
    ]  # fmt: skip
    late = done.item("2027-05-17", "Brindle").events[0]
    assert (late.day - late.due).days == 3


def test_a_missed_feed_stands_in_the_calendar_from_its_day_to_the_last_on_which_it_is_offered() -> None:
    """Asked for on 24 April; the next is due ten days later (judgement: one entry, the same from day to day)."""
    year = plan(
        "habits: {unlogged_feeds: missed}\n"
        + WRENMOOR
        + SINCE_24_APRIL
        + GROUPS
        + "trees: [{name: Quill, species: elm, group: V, pot: 6 L}]\n",
        "- {date: 2027-04-24, tree: Quill, seen: leaves open}\n",
        today="2027-04-26",
        days=30,
    )
    feeds = [entry for entry in calendar_entries(year.season, year.collection) if entry.kind is Kind.FEEDING]
    assert [(str(entry.start), entry.days) for entry in feeds[:2]] == [("2027-04-24", 10), ("2027-05-04", 1)]


def test_colour_ends_the_feeding_of_the_tree_that_shows_it_and_of_no_other() -> None:
    year = plan(
        WRENMOOR
        + SINCE_24_APRIL
        + GROUPS
        + """
trees:
  - {name: Brindle, species: larch, group: V, pot: 10 L}
  - {name: Fennel, species: larch, group: V, pot: 10 L}
""",
        """
- {date: 2027-04-24, species: larch, seen: leaves open}
- {date: 2027-09-11, tree: Brindle, seen: leaves colouring}
""",
        today="2027-09-11",
        days=60,
    )
    autumn = ["2027-08-22 50", "2027-09-05 50"]
    assert [feed for feed in year.feeds("Brindle") if feed > "2027-08-13"] == autumn
    assert [feed for feed in year.feeds("Fennel") if feed > "2027-08-13"] == [*autumn, "2027-09-19 50"]


def test_days_away_hold_no_feed_and_the_next_one_comes_after_them() -> None:
    year = plan(
        WRENMOOR
        + SINCE_24_APRIL
        + GROUPS
        + """
away: [{from: 2027-08-03, to: 2027-08-16}]
trees: [{name: Brindle, species: larch, group: V, pot: 10 L}]
""",
        "- {date: 2027-04-24, tree: Brindle, seen: leaves open}",
        today="2027-07-30",
    )
    assert [feed for feed in year.feeds("Brindle") if "2027-08-01" < feed < "2027-12-01"] == [
        "2027-08-02 150", "2027-08-17 50", "2027-08-31 50", "2027-09-14 50", "2027-09-28 50",
    ]  # fmt: skip
    assert any(stretch.start <= stretch.end for stretch in year.season.checks)


def test_a_tree_may_be_fed_on_the_day_it_comes_and_on_no_day_it_is_gone_or_nobody_is_there() -> None:
    """Judgement: the first and the last day away count as away."""
    away = "away: [{from: 2027-06-03, to: 2027-06-05}]\n"
    tree = "trees: [{name: Quill, species: elm, group: V, pot: 6 L}]\n"
    here = plan(WRENMOOR + away + GROUPS + tree, today="2027-06-01", days=30).season.timelines[0]
    stay = replace(here.restrictions, arrives=date(2027, 6, 2), leaves=date(2027, 6, 7))
    free = [day for day in range(1, 9) if not reasons_against(stay, date(2027, 6, day))]
    assert free == [2, 6]


def test_the_helpers_sheet_goes_by_bench_marks_weak_trees_and_never_asks_for_feed() -> None:
    """Trade practice: a helper waters and never mixes feed; weak trees and cut roots dry at the surface first."""
    year = plan(
        WRENMOOR
        + SINCE_24_APRIL
        + GROUPS
        + """
away: [{from: 2027-08-03, to: 2027-08-16}]
trees:
  - {name: Brindle, species: larch, group: V, pot: 10 L, bench: wall}
  - {name: Frail, species: larch, group: V, pot: 10 L, bench: wall, weak: true}
  - {name: Cut, species: larch, group: V, pot: 10 L, bench: shade}
""",
        "- {date: 2027-07-20, tree: Cut, work: repotted, roots: 30 %}",
        today="2027-07-30",
    )
    sheet = sheet_of(year.season, year.collection.away[0])
    assert [bench for bench, _ in sheet.benches] == ["shade", "wall"]
    assert sheet.must_dry == ("Frail", "Cut")
    text = "\n".join(helper_lines(sheet))
    assert "mix no feed" in text
    assert "Cut*" in text and "Frail*" in text and "Brindle*" not in text
    assert "ppm" not in text


@pytest.mark.parametrize(
    ("away", "fed"),
    [
        # Due 11 August; 4 August is 7 days after the last feed, the least gap: given before leaving.
        ("{from: 2027-08-05, to: 2027-08-20}", ["2027-07-28", "2027-08-04", "2027-08-21"]),
        # One day sooner the gap is too short: nothing before leaving.
        ("{from: 2027-08-04, to: 2027-08-20}", ["2027-07-28", "2027-08-21"]),
        # Due before leaving: it keeps its day.
        ("{from: 2027-08-12, to: 2027-08-20}", ["2027-07-28", "2027-08-11", "2027-08-25"]),
    ],
)
def test_a_feed_due_while_away_is_given_before_leaving_where_the_least_gap_allows(
    away: str, fed: list[str]
) -> None:
    """Every 14 days, never closer than 7; practice, no source. Nothing is made up for on return."""
    slow = {"V": SCHEDULES["V"].replace("every: 10 days", "every: 14 days, min_gap: 7 days")}
    slow["V"] = slow["V"].replace(
        "every: 14 days, strength: 50", "every: 14 days, min_gap: 7 days, strength: 50"
    )
    garden = (
        WRENMOOR
        + "since: 2027-07-28\n"
        + "feeds: {powder: {grade: 20-10-20, form: soluble}}\ngroups: {V: {schedule: V, feed: powder}}\n"
        + f"away: [{away}]\ntrees: [{{name: Brindle, species: larch, group: V, pot: 10 L}}]\n"
    )
    journal = "- {date: 2027-07-28, tree: Brindle, fed: as planned}\n"
    year = plan(garden, journal, today="2027-07-28", days=60, schedules=slow)
    assert [feed.split()[0] for feed in year.feeds("Brindle")][: len(fed)] == fed


def test_a_sign_reports_the_stage_it_belongs_to() -> None:
    collection = WRENMOOR + GROUPS + "trees: [{name: Sexton, species: maple, group: F, pot: 6 L}]"
    early = plan(
        collection, "- {date: 2027-05-30, tree: Sexton, seen: hardened}", today="2027-05-30", days=60
    )
    assert early.feeds("Sexton")[0] == "2027-05-30 60"


@pytest.mark.parametrize(
    ("given", "statuses"),
    [
        ("2027-05-01", ["2027-04-24 recorded", "2027-05-01 recorded", "2027-05-11 planned"]),
        ("2027-04-30", ["2027-04-24 recorded", "2027-04-30 recorded", "2027-05-04 assumed given"]),
    ],
)
def test_a_feed_written_down_late_is_the_one_asked_for_within_half_a_week(
    given: str, statuses: list[str]
) -> None:
    """Asked for on 4 May: given three days before, it is that one; four days before, one more. Judgement."""
    brindle = "trees: [{name: Brindle, species: larch, group: V, pot: 10 L}]\n"
    journal = f"""
- {{date: 2027-04-24, tree: Brindle, seen: leaves open}}
- {{date: 2027-04-24, tree: Brindle, fed: as planned}}
- {{date: {given}, recorded: 2027-05-06, tree: Brindle, fed: as planned}}
"""
    year = plan(WRENMOOR + SINCE_24_APRIL + GROUPS + brindle, journal, today="2027-05-06", days=30)
    assert year.statuses("Brindle")[:3] == statuses


def test_leaves_found_not_open_yet_hold_the_feed_until_they_are_asked_after_a_week_later() -> None:
    """Asked after for four weeks from 10 April; on the 30th Brindle's are not. No feed before that: common practice."""
    larches = (
        WRENMOOR
        + SINCE_24_APRIL
        + GROUPS
        + """
trees:
  - {name: Brindle, species: larch, group: V, pot: 10 L}
  - {name: Fennel, species: larch, group: V, pot: 6 L}
"""
    )
    not_yet = "- {date: 2027-04-30, tree: Brindle, seen: not yet}\n"
    year = plan(larches, not_yet, today="2027-04-30", days=60)
    assert year.feeds("Fennel")[:3] == ["2027-04-24 150", "2027-05-04 150", "2027-05-14 150"]
    assert year.feeds("Brindle")[:3] == ["2027-04-24 150", "2027-05-07 150", "2027-05-17 150"]
    days = [date(2027, 4, 30) + timedelta(days=n) for n in range(16)]
    asked = {
        name: [str(d) for d in days for p in year.season.prompts if p.falls_on(d) and name in names_of(p)]
        for name in ("Brindle", "Fennel")
    }
    assert asked == {
        "Brindle": ["2027-05-07", "2027-05-14"],
        "Fennel": ["2027-05-01", "2027-05-08"],
    }
    assert len({prompt.key for prompt in year.season.prompts}) == len(year.season.prompts)
    again = plan(
        larches,
        f"{not_yet}- {{date: 2027-05-07, tree: Brindle, seen: not yet}}\n",
        today="2027-05-07",
        days=60,
    )
    assert next(feed for feed in again.feeds("Brindle") if feed > "2027-05") == "2027-05-14 150"


def names_of(prompt: StagePrompt) -> set[str]:
    """The trees a question is about."""
    return {name for timeline in prompt.timelines for name in timeline.names}
