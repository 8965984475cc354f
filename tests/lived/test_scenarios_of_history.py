"""What was told stays told: days on which a plan must keep faith with what it said before, and with what was written.

Each asks the plan every morning, as a grower does, and shows the dates.
A feed is "2027-06-10 60": its day and whole ppm N. Numbers are those of the shipped schedules: vigorous 150 ppm every
10 days from leaves open, 50 ppm every 14 days from 16 August, never closer than 7 days; refined 60 ppm every 21 days
from the hardened flush; 360 and 120 mg N per L. A tenth of the pot is poured, so that 150 ppm are 15 mg N per L.
"""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from tests.lived.asking import asks
from tests.lived.checks import TOO_SOON
from tests.lived.gardens import AS_WRITTEN
from tests.lived.growers import GROWERS
from tests.lived.life import live
from tests.lived.story import NORTH, Story, ahead, garden, given, rules, today

MISSED = "habits: {unlogged_feeds: missed}\n"


# 1. A stage seen after the feed that stood for it.


def test_a_flush_seen_to_harden_after_the_feed_was_told_asks_for_no_second_one() -> None:
    story = garden("Japanese maple", "shown", "2027-06-05")
    assert today(story.until("2027-06-10"), "Quill") == "2027-06-10 40"
    story.until("2027-06-12")
    story.writes("2027-06-12", tree="Quill", seen="first flush hardened")
    assert today(story.now, "Quill") == ""
    morning = story.until("2027-06-13")
    assert given(morning, "Quill") == ["2027-06-10 40"]
    # Refined trees get 40 ppm every 28 days until mid August.
    assert ahead(morning, "Quill", 2) == ["2027-07-08 40", "2027-08-05 40"]


def test_leaves_seen_open_after_two_feeds_keep_the_interval_from_the_last_of_them() -> None:
    story = garden("larch", "growing-on", "2027-04-05")
    story.until("2027-04-22")
    story.writes("2027-04-22", tree="Quill", seen="leaves open")
    morning = story.until("2027-04-23")
    assert given(morning, "Quill") == ["2027-04-10 150", "2027-04-20 150"]
    assert ahead(morning, "Quill", 2) == ["2027-04-30 150", "2027-05-10 150"]


def test_an_obedient_grower_of_the_northern_demo_never_feeds_under_the_least_gap() -> None:
    """The whole demo, its own journal and weather; Quill was told 26 May, 2 and 9 June on an interval of 21 days."""
    plot = AS_WRITTEN["northern as written"]()
    spring = plot.garden.from_to(date(2027, 5, 20), date(2027, 6, 12))
    life = live(spring, GROWERS["obedient"], 0, coming=plot.coming)
    assert [(v.tree, v.text) for v in life.violations if v.kind == TOO_SOON] == []


# 2. Edits of the files between two feeds.


def test_a_longer_interval_counts_from_the_feed_given_last() -> None:
    story = garden("hornbeam", "growing-on", "2027-06-20")
    assert today(story.until("2027-07-03"), "Quill") == "2027-07-03 150"
    story.until("2027-07-04")
    story.edits(lambda files: _every(files, "growing-on", "spring and summer", "12 days"))
    morning = story.until("2027-07-05")
    assert given(morning, "Quill")[-1] == "2027-07-03 150"
    assert ahead(morning, "Quill", 2) == ["2027-07-15 150", "2027-07-27 150"]


def test_another_feeding_day_keeps_the_least_gap() -> None:
    """Saturday 3 July, then Sundays: due 13 July, so that the nearest Sunday is 11 July."""
    story = garden("hornbeam", "growing-on", "2027-06-20", head=f"{NORTH}habits: {{feed_on: [Saturday]}}\n")
    assert today(story.until("2027-07-03"), "Quill") == "2027-07-03 150"
    story.until("2027-07-04")
    story.edits(lambda files: files["habits"].update(feed_on=["Sunday"]))
    assert ahead(story.now, "Quill", 1) == ["2027-07-11 150"]


# 3. A move between groups.


def test_a_move_to_a_faster_group_invents_no_feed_in_the_past() -> None:
    """Fed 5 June, moved 22 June: 5 June and 10 days are over, so that the first feed there is on the next."""
    story = garden("Japanese maple", "shown", "2027-05-30")
    story.writes_on("2027-06-04", tree="Quill", seen="first flush hardened")
    story.until("2027-06-05")
    assert today(story.now, "Quill") == "2027-06-05 40"
    story.until("2027-06-22")
    story.writes("2027-06-22", tree="Quill", moved="growing-on")
    assert given(story.now, "Quill") == ["2027-06-05 40"]
    assert ahead(story.now, "Quill", 2) == ["2027-06-23 150", "2027-07-03 150"]


def test_a_move_to_a_faster_group_leaves_nothing_overdue_from_before_it() -> None:
    story = garden("Japanese maple", "shown", "2027-05-30", head=NORTH + MISSED)
    story.writes_on("2027-06-04", tree="Quill", seen="first flush hardened")
    story.until("2027-06-05")
    story.writes("2027-06-05", tree="Quill", fed="as planned")
    story.until("2027-06-22")
    story.writes("2027-06-22", tree="Quill", moved="growing-on")
    feed = story.until("2027-06-23").fed_today("Quill")
    assert feed is not None
    assert feed.due >= date(2027, 6, 22)


# 4. Root work written down late, and taken back.


def test_root_work_written_three_weeks_late_leaves_feeds_told_in_between_as_they_were() -> None:
    story = _repotted_late()
    morning = story.until("2027-05-20")
    assert given(morning, "Quill") == ["2027-04-24 150", "2027-05-04 150", "2027-05-14 150"]
    assert all(feed >= "2027-06-02" for feed in ahead(morning, "Quill"))  # five weeks after 28 April
    assert rules(morning, "Quill") == {"hold"}


def test_taking_late_root_work_back_invents_no_feed() -> None:
    """Known from 19 to 30 May, the hold withheld the feed of 24 May; that is due the day after the hold is gone."""
    story = _repotted_late()
    story.until("2027-05-30")
    story.writes("2027-05-30", undo="n1")
    assert given(story.now, "Quill") == ["2027-04-24 150", "2027-05-04 150", "2027-05-14 150"]
    assert ahead(story.now, "Quill", 2) == ["2027-05-31 150", "2027-06-10 150"]


def test_an_entry_taken_back_still_stands_in_the_plan_of_the_days_before() -> None:
    story = _repotted_late()
    before = story.until("2027-05-25")
    story.until("2027-05-30")
    story.writes("2027-05-30", undo="n1")
    told, _ = story.asks_of("2027-05-25")
    assert rules(before, "Quill") == rules(told, "Quill") == {"hold"}


def _repotted_late() -> Story:
    """Repotted on 28 April, a third of its roots gone, and written on 19 May."""
    story = garden("hornbeam", "growing-on", "2027-04-20")
    story.until("2027-05-19")
    story.writes("2027-04-28", tree="Quill", work="repotted", roots="30 %")
    return story


# 5. Solids, cans and one more tree.


@pytest.mark.parametrize(
    "says", [{"laid": "coated", "grams": "12 g"}, {"lifted": "all"}], ids=["laid", "lifted"]
)
def test_solid_feed_laid_or_lifted_changes_no_feed_of_the_past(says: dict[str, str]) -> None:
    story = garden("hornbeam", "growing-on", "2027-03-25")
    story.until("2027-03-28")
    story.writes("2027-03-28", tree="Quill", laid="coated", grams="10 g")
    before = story.until("2027-06-12")
    story.writes("2027-06-12", tree="Quill", **says)
    after = story.until("2027-06-14")
    assert [feed for feed in given(after, "Quill") if feed < "2027-06-12"] == given(before, "Quill")
    assert story.told_days("Quill")[: len(given(before, "Quill"))] == given(before, "Quill")


def test_solid_feed_lifted_from_a_pine_of_the_demo_changes_no_feed_of_the_past() -> None:
    """Laid on 31 March and lifted on 12 June, with the weather that lets it give off its nitrogen."""
    plot = AS_WRITTEN["northern as written"]()
    whole = plot.garden.with_notes(plot.coming)
    before, history = asks(whole, date(2027, 6, 11))
    after, _ = asks(whole, date(2027, 6, 13), history)
    assert (
        len(given(before, "Bosun")) == 6
    )  # due each fortnight from 21 March: 4 and 18 April, 2, 16 and 30 May
    assert given(after, "Bosun") == given(before, "Bosun")


def test_a_smaller_can_changes_no_mix_of_the_past() -> None:
    story = garden("hornbeam", "growing-on", "2027-04-20", pot="60 L")
    before = story.until("2027-05-20")
    story.edits(lambda files: files.setdefault("habits", {}).update(can="9 L"))
    after = story.until("2027-05-21")
    assert len(before.mixed) == 3
    assert after.mixed == before.mixed


def test_one_more_tree_changes_no_mix_of_the_past() -> None:
    story = garden("hornbeam", "growing-on", "2027-04-20")
    before = story.until("2027-05-20")
    newcomer = {"name": "Newcomer", "species": "hornbeam", "group": "growing-on", "pot": "6 L"}
    story.edits(lambda files: files["trees"].append(newcomer))
    after = story.until("2027-05-21")
    assert len(before.mixed) == 3
    assert after.mixed == before.mixed


def test_a_tree_new_in_the_files_is_fed_along_with_its_group() -> None:
    """The others were fed on 24 April, 4 and 14 May, every ten days: it joins them on 24 May and stays with them."""
    story = garden("hornbeam", "growing-on", "2027-04-20")
    story.until("2027-05-20")
    newcomer = {"name": "Newcomer", "species": "hornbeam", "group": "growing-on", "pot": "6 L"}
    story.edits(lambda files: files["trees"].append(newcomer))
    told = story.until("2027-06-14")
    assert given(told, "Newcomer") == ["2027-05-24 150", "2027-06-03 150", "2027-06-13 150"]
    assert given(told, "Quill")[-3:] == given(told, "Newcomer")


def test_a_feed_beside_the_plan_is_gone_when_it_is_taken_back() -> None:
    """One that nobody asked for on 9 May puts the next off to the 19th; taken back, it is the 14th again."""
    story = garden("hornbeam", "growing-on", "2027-04-20")
    story.until("2027-05-09")
    entry = story.writes("2027-05-09", tree="Quill", fed="150 ppm N")
    assert given(story.until("2027-05-12"), "Quill")[-1] == "2027-05-09 150"
    story.writes("2027-05-12", undo=entry)
    told = story.until("2027-05-20")
    assert given(told, "Quill") == ["2027-04-24 150", "2027-05-04 150", "2027-05-14 150"]


# 6. Feeds that nobody answers.


def test_an_overdue_feed_nobody_answers_moves_no_other_feed() -> None:
    """Due 24 April and not written down: offered from the 25th on, while 4 May and all that follow stay."""
    story = garden("hornbeam", "growing-on", "2027-04-20", head=NORTH + MISSED)
    later = ahead(story.until("2027-04-23"), "Quill")[1:]
    for day in range(25, 31):
        morning = story.until(f"2027-04-{day}")
        overdue = morning.fed_today("Quill")
        assert overdue is not None
        assert (overdue.due, f"{overdue.ppm:f}") == (date(2027, 4, 24), "150")
        assert ahead(morning, "Quill")[1:] == later


def test_feeds_missed_for_weeks_are_offered_once_and_never_doubled() -> None:
    """Due 24 April and 4 May, and neither given: on 7 May one feed of 150 ppm, and ten days from then the next."""
    story = garden("hornbeam", "growing-on", "2027-04-20", head=NORTH + MISSED)
    assert today(story.until("2027-05-07"), "Quill") == "2027-05-07 150"
    story.writes("2027-05-07", tree="Quill", fed="as planned")
    morning = story.until("2027-05-08")
    assert given(morning, "Quill") == ["2027-05-07 150"]
    assert ahead(morning, "Quill", 1) == ["2027-05-17 150"]


def test_a_feed_of_the_next_spring_is_of_that_spring_whatever_was_missed_before() -> None:
    """Missed on 15 August, held from 20 August on and never cleared: 70 ppm in June are 7 mg N of the new season."""
    story = garden("hornbeam", "growing-on", "2027-08-10", head=NORTH + MISSED)
    story.writes_on("2027-08-20", tree="Quill", trouble="mites")
    story.writes_on("2028-06-05", tree="Quill", fed="70 ppm N")
    morning = story.until("2028-06-06")
    assert given(morning, "Quill") == ["2028-06-05 70"]
    assert morning.care["Quill"].used == 7


# 7. Feeds that were recorded.


def test_a_feed_recorded_before_any_period_counts() -> None:
    story = garden("Japanese maple", "shown", "2027-03-20", more="since: 2027-01-01\n")
    story.until("2027-03-25")
    story.writes("2027-03-25", tree="Quill", fed="100 ppm N")
    morning = story.until("2027-03-26")
    assert given(morning, "Quill") == ["2027-03-25 100"]
    assert morning.care["Quill"].used == 10


def test_a_feed_recorded_on_a_tree_that_waits_counts() -> None:
    story = garden("Japanese maple", "ward", "2027-05-20")
    story.until("2027-05-25")
    story.writes("2027-05-25", tree="Quill", fed="100 ppm N")
    morning = story.until("2027-05-26")
    assert given(morning, "Quill") == ["2027-05-25 100"]
    assert morning.care["Quill"].used == 10


def test_a_feed_of_november_counts_in_its_own_year() -> None:
    story = garden("Japanese maple", "shown", "2027-11-15", head=f"{NORTH}since: 2027-11-01\n")
    story.until("2027-11-20")
    story.writes("2027-11-20", tree="Quill", fed="100 ppm N")
    assert story.until("2027-11-21").care["Quill"].used == 10
    assert story.until("2028-01-02").care["Quill"].used == 0


def test_a_feed_recorded_between_two_told_ones_takes_the_place_of_neither() -> None:
    """Told 4 May and taken as given; a neighbour fed on 12 May. The next counts from then: 22 May."""
    story = garden("hornbeam", "growing-on", "2027-04-20")
    story.until("2027-05-12")
    story.writes("2027-05-12", tree="Quill", fed="100 ppm N")
    morning = story.until("2027-05-13")
    assert given(morning, "Quill") == ["2027-04-24 150", "2027-05-04 150", "2027-05-12 100"]
    assert ahead(morning, "Quill", 1) == ["2027-05-22 150"]


# 8. A group fed but for one tree; a feed nobody asked for.


def test_a_tree_left_out_when_its_group_was_fed_was_not_fed() -> None:
    more = "  - {name: Moth, species: hornbeam, group: growing-on, pot: 6 L}\n"
    story = garden("hornbeam", "growing-on", "2027-04-20", more=more)
    story.until("2027-04-24")
    story.writes("2027-04-24", group="growing-on", fed="as planned", but_not="Moth")
    assert today(story.now, "Moth") == ""
    morning = story.until("2027-04-25")
    assert given(morning, "Quill") == ["2027-04-24 150"]
    assert given(morning, "Moth") == []


def test_fed_as_planned_with_nothing_planned_still_counts() -> None:
    """Between two feeds there is a strength to go by, the period's own."""
    story = garden("hornbeam", "growing-on", "2027-04-20")
    story.until("2027-05-08")
    story.writes("2027-05-08", tree="Quill", fed="as planned")
    morning = story.until("2027-05-09")
    assert given(morning, "Quill") == ["2027-04-24 150", "2027-05-04 150", "2027-05-08 150"]
    assert ahead(morning, "Quill", 1)[0] >= "2027-05-15"


def test_a_group_fed_when_none_of_it_was_due_was_fed_one_more_all_but_what_is_held() -> None:
    more = "  - {name: Moth, species: hornbeam, group: growing-on, pot: 6 L}\n"
    story = garden("hornbeam", "growing-on", "2027-04-20", more=more)
    story.writes_on("2027-05-06", tree="Moth", trouble="mites")
    story.writes_on("2027-05-08", group="growing-on", fed="as planned")
    morning = story.until("2027-05-20")
    assert given(morning, "Quill") == [f"2027-{day} 150" for day in ("04-24", "05-04", "05-08", "05-18")]
    assert given(morning, "Moth") == ["2027-04-24 150", "2027-05-04 150"]


def test_a_group_fed_when_some_of_it_were_due_was_those() -> None:
    """Moth, fed by name on 8 May, is due on 18 May; Quill on 14 May."""
    more = "  - {name: Moth, species: hornbeam, group: growing-on, pot: 6 L}\n"
    story = garden("hornbeam", "growing-on", "2027-04-20", more=more)
    story.writes_on("2027-05-08", tree="Moth", fed="as planned")
    story.writes_on("2027-05-14", group="growing-on", fed="as planned")
    morning = story.until("2027-05-16")
    assert given(morning, "Quill") == ["2027-04-24 150", "2027-05-04 150", "2027-05-14 150"]
    assert given(morning, "Moth") == ["2027-04-24 150", "2027-05-04 150", "2027-05-08 150"]


# 14. From group to group and back.


def test_the_budget_of_the_group_come_back_to_is_kept() -> None:
    """Eight feeds of 15 mg N per L in vigorous are the whole of refined's 120."""
    story = garden("hornbeam", "shown", "2027-04-15")
    story.until("2027-04-20")
    story.writes("2027-04-20", tree="Quill", moved="growing-on")
    story.until("2027-07-04")
    story.writes("2027-07-04", tree="Quill", moved="shown")
    morning = story.until("2027-07-05")
    assert given(morning, "Quill") == [f"{day} 150" for day in _EIGHT_DAYS]
    assert morning.care["Quill"].used == 120
    assert [feed for feed in ahead(morning, "Quill") if feed < "2027-12-31"] == []


_EIGHT_DAYS = (
    "2027-04-24",
    "2027-05-04",
    "2027-05-14",
    "2027-05-24",
    "2027-06-03",
    "2027-06-13",
    "2027-06-23",
    "2027-07-03",
)


def test_after_a_move_to_a_faster_group_its_interval_counts_from_the_last_feed() -> None:
    """Fed 5 June at 60 ppm, moved 8 June: 15 June, 25 June, as practice has it, not the old group's gap or grid."""
    story = garden("Japanese maple", "shown", "2027-05-30")
    story.writes_on("2027-06-04", tree="Quill", seen="first flush hardened")
    story.until("2027-06-05")
    story.until("2027-06-08")
    story.writes("2027-06-08", tree="Quill", moved="growing-on")
    assert ahead(story.until("2027-06-09"), "Quill", 3) == [
        "2027-06-15 150",
        "2027-06-25 150",
        "2027-07-05 150",
    ]


def test_after_a_move_to_a_slower_group_its_interval_counts_from_the_last_feed() -> None:
    """Fed 13 June at 150 ppm, moved 17 June to refined, hardened 10 June: 13 June and 28 days are 11 July."""
    story = garden("hornbeam", "growing-on", "2027-04-20")
    story.until("2027-06-17")
    story.writes("2027-06-17", tree="Quill", moved="shown")
    morning = story.until("2027-06-18")
    assert given(morning, "Quill")[-1] == "2027-06-13 150"
    assert ahead(morning, "Quill", 2) == ["2027-07-11 40", "2027-08-08 40"]


def _every(files: dict[str, Any], group: str, period: str, days: str) -> None:
    files["groups"][group]["changes"] = {"feeding": {period: {"every": days}}}
