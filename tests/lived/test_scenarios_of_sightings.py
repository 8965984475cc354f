"""Signs, sightings and losses: days on which a plan must take what was written for what it is, and for no more.

Told as in test_scenarios_of_history.py.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from feedplan.errors import FilesHaveProblems
from feedplan.load.collection import load_collection
from feedplan.memory import plan
from tests.lived.story import NORTH, SHELF, SOUTH, Story, ahead, events, garden, given, rules, today
from tests.lived.told import Told

# 9. Signs apart from stages.


def test_new_buds_end_the_hold_after_hard_pruning_and_leave_the_season_as_it_is() -> None:
    """Pruned 26 April, held for 28 days at least; buds are seen on 25 May. From then on half strength, then all."""
    story = garden("hornbeam", "growing-on", "2027-04-20")
    story.until("2027-04-26")
    story.writes("2027-04-26", tree="Quill", work="hard pruned")
    story.until("2027-05-25")
    story.writes("2027-05-25", tree="Quill", seen="new buds")
    assert ahead(story.now, "Quill", 3) == ["2027-05-26 75", "2027-06-05 150", "2027-06-15 150"]


@pytest.mark.parametrize("day", ["2027-04-26", "2027-05-10", "2027-05-20"])
def test_back_budding_on_a_healthy_tree_moves_nothing(day: str) -> None:
    """Leaves are due on 24 April: new buds after that are no spring, and no word that the leaves are not out."""
    story = garden("hornbeam", "growing-on", "2027-04-23")
    before = ahead(story.until(day), "Quill")
    story.writes(day, tree="Quill", seen="new buds")
    assert ahead(story.now, "Quill") == before


def test_new_buds_soon_after_the_leaves_end_the_hold_and_stop_no_feed() -> None:
    """Pruned 5 April: 28 days are over on 3 May, and the buds are seen on 8 May. Half strength, then all of it."""
    story = garden("hornbeam", "growing-on", "2027-04-01")
    story.until("2027-04-05")
    story.writes("2027-04-05", tree="Quill", work="hard pruned")
    story.until("2027-05-08")
    story.writes("2027-05-08", tree="Quill", seen="new buds")
    assert ahead(story.now, "Quill", 3) == ["2027-05-09 75", "2027-05-19 150", "2027-05-29 150"]


# 10. Health as a hold.


@pytest.mark.parametrize(("ill", "well"), [("limp", "firm at dawn"), ("scorched", "clean new leaves")])
def test_a_tree_seen_ill_is_not_fed_until_it_is_seen_well(ill: str, well: str) -> None:
    story = garden("hornbeam", "growing-on", "2027-04-20")
    story.until("2027-05-03")
    story.writes("2027-05-03", tree="Quill", seen=ill)
    morning = story.until("2027-05-04")
    assert today(morning, "Quill") == ""
    assert rules(morning, "Quill") == {"hold"}
    assert today(story.until("2027-06-15"), "Quill") == ""
    story.writes("2027-06-15", tree="Quill", seen=well)
    assert ahead(story.until("2027-06-16"), "Quill", 1) != []


def test_a_tree_that_drops_leaves_is_not_fed() -> None:
    story = garden("hornbeam", "growing-on", "2027-04-20")
    story.until("2027-05-03")
    story.writes("2027-05-03", tree="Quill", seen="dropping leaves")
    morning = story.until("2027-05-04")
    assert today(morning, "Quill") == ""
    assert rules(morning, "Quill") == {"hold"}


@pytest.mark.parametrize(
    ("trouble", "well", "first"),
    [
        ("waterlogged", ["white root tips"], "2027-05-31"),  # four weeks at least
        ("drought", ["turgid for a week", "new buds"], "2027-05-24"),  # three
    ],
)
def test_a_tree_too_wet_or_too_dry_is_not_fed_until_its_days_are_over_and_it_is_seen_well(
    trouble: str, well: list[str], first: str
) -> None:
    story = garden("hornbeam", "growing-on", "2027-04-20")
    story.until("2027-05-03")
    story.writes("2027-05-03", tree="Quill", trouble=trouble)
    morning = story.until("2027-05-04")
    assert today(morning, "Quill") == ""
    assert rules(morning, "Quill") == {"hold"}
    assert [feed for feed in ahead(morning, "Quill") if feed < first] == []
    story.until("2027-05-10")
    story.writes("2027-05-10", tree="Quill", seen=well)
    [next_feed] = ahead(story.until("2027-05-11"), "Quill", 1)
    assert next_feed.split()[0] == first


# 11. Looks at leafless trees, and what is put off to next spring.


def test_a_tree_dug_in_november_is_not_put_off_past_the_next_spring() -> None:
    """14 weeks from 10 November are 16 February: no leaf can be out. They count from open leaves."""
    story = garden("hornbeam", "ward", "2027-11-08", ends=600)
    story.until("2027-11-10")
    story.writes("2027-11-10", tree="Quill", work="collected")
    morning = story.until("2028-02-16")
    assert all(carry_to is None for _, carry_to in events(morning, "look").values())
    looks = _looks(morning)
    assert looks
    assert looks[0] >= "2028-04-10"


def test_a_tree_dug_in_a_southern_may_is_not_put_off_past_the_spring_that_comes() -> None:
    """Cut 20 May 2027: the next spring is that of September 2027, in the growing year named by it."""
    story = garden("hornbeam", "ward", "2027-05-18", head=SOUTH, ends=600)
    story.until("2027-05-20")
    story.writes("2027-05-20", tree="Quill", work="collected")
    morning = story.until("2027-06-20")
    looks = _looks(morning)
    assert looks
    assert looks[0] >= "2027-10-01"
    assert all(carry_to in (None, 2027) for _, carry_to in events(morning, "look").values())


def test_a_tree_whose_shoots_were_seen_to_extend_is_not_put_off() -> None:
    """A March cut, extension seen on 20 May: 14 weeks are over on 19 June, days before the flush hardens."""
    story = garden("hornbeam", "ward", "2027-03-10")
    story.until("2027-03-13")
    story.writes("2027-03-13", tree="Quill", work="repotted", roots="50 %")
    story.until("2027-05-20")
    story.writes("2027-05-20", tree="Quill", seen="extension")
    morning = story.until("2027-06-07")
    assert all(carry_to is None for _, carry_to in events(morning, "look").values())


def test_a_leafless_tree_is_not_looked_at_for_growth_in_december() -> None:
    story = garden("hornbeam", "growing-on", "2027-11-01")
    story.until("2027-11-05")
    story.writes("2027-11-05", tree="Quill", work="repotted", roots="30 %")
    looks = _looks(story.until("2027-11-20"))
    assert looks
    assert looks[0] >= "2028-04-01"


# 12. Sightings that cannot be.


@pytest.mark.parametrize("word", ["dormant", "leaves open"])
def test_a_stage_that_was_passed_is_asked_about_and_moves_nothing(word: str) -> None:
    """Leaves open on 19 April; on 2 May someone writes tight buds, or open leaves once more."""
    story = garden("hornbeam", "growing-on", "2027-04-15")
    story.writes_on("2027-04-19", tree="Quill", seen="leaves open")
    before = story.until("2027-05-02")
    story.writes("2027-05-02", tree="Quill", seen=word)
    morning = story.until("2027-05-03")
    assert given(morning, "Quill") == ["2027-04-20 150", "2027-04-30 150"]
    assert ahead(morning, "Quill") == ahead(before, "Quill")
    assert len(events(morning, "question")) > len(events(before, "question"))


def test_leaves_open_in_january_are_asked_about_and_start_no_feed() -> None:
    """Meant was 1 May, written as 5 January."""
    story = garden("hornbeam", "growing-on", "2027-01-02")
    before = story.until("2027-01-06")
    story.writes("2027-01-05", tree="Quill", seen="leaves open")
    morning = story.until("2027-01-07")
    assert ahead(morning, "Quill", 1) == ["2027-04-24 150"]
    assert len(events(morning, "question")) > len(events(before, "question"))


def opened(told: Told) -> date | None:
    """The day on which the leaves of Quill opened."""
    return told.stages["Quill"]["leaves open"]


@pytest.mark.parametrize("right", ["2027-04-28", "2027-04-12"])
def test_the_day_of_a_stage_is_corrected_by_one_entry(right: str) -> None:
    """Leaves open, written 19 April: fed 20 and 30 April. Corrected on 2 May, for a day later or earlier."""
    story = garden("hornbeam", "growing-on", "2027-04-15")
    story.writes_on("2027-04-19", tree="Quill", seen="leaves open")
    before = story.until("2027-05-02")
    story.writes(right, tree="Quill", seen="leaves open", instead=True)
    morning = story.until("2027-05-03")
    assert opened(morning) == date.fromisoformat(right)
    assert len(events(morning, "question")) <= len(events(before, "question"))
    assert given(morning, "Quill") == ["2027-04-20 150", "2027-04-30 150"]
    assert ahead(morning, "Quill", 1) == ["2027-05-10 150"]


def test_leaves_open_in_january_are_corrected_to_the_day_that_was_meant() -> None:
    story = garden("hornbeam", "growing-on", "2027-01-02")
    story.writes_on("2027-01-05", tree="Quill", seen="leaves open")
    story.until("2027-05-01")
    story.writes("2027-05-01", tree="Quill", seen="leaves open", instead=True)
    assert opened(story.now) == date(2027, 5, 1)


def test_a_correction_taken_back_leaves_the_day_written_first() -> None:
    story = garden("hornbeam", "growing-on", "2027-04-15")
    story.writes_on("2027-04-20", tree="Quill", seen="leaves open")
    story.until("2027-04-29")
    slip = story.writes("2027-04-28", tree="Quill", seen="leaves open", instead=True)
    story.until("2027-05-02")
    story.writes("2027-05-02", undo=slip)
    assert opened(story.now) == date(2027, 4, 20)


def test_an_earlier_day_is_planned_by_what_was_known_before_the_correction() -> None:
    story = garden("hornbeam", "growing-on", "2027-04-15")
    story.writes_on("2027-04-20", tree="Quill", seen="leaves open")
    told = story.until("2027-04-27")
    story.until("2027-04-29")
    story.writes("2027-04-28", tree="Quill", seen="leaves open", instead=True)
    assert opened(story.asks_of("2027-04-27")[0]) == opened(told) == date(2027, 4, 20)


def test_one_of_a_group_is_corrected_by_itself() -> None:
    trees = """trees:
  - {name: Quill, species: hornbeam, group: growing-on, pot: 9 L}
  - {name: Sedge, species: hornbeam, group: growing-on, pot: 9 L}
"""
    story = Story(NORTH + SHELF + trees, "2027-04-15")
    story.writes_on("2027-04-20", trees=["Quill", "Sedge"], seen=["leaves open", "limp"])
    story.until("2027-04-29")
    story.writes("2027-04-28", tree="Quill", seen="leaves open", instead=True)
    assert opened(story.now) == date(2027, 4, 28)
    assert story.now.stages["Sedge"]["leaves open"] == date(2027, 4, 20)
    assert rules(story.until("2027-05-05"), "Quill") == {"hold"}  # limp stands as it was


def test_a_sign_that_ended_a_hold_is_corrected_with_what_it_ended() -> None:
    """Pruned 5 April and new buds written for 25 April: half strength on 3 May. They were seen on 8 May, in truth:
    the feed of 3 May fell into the hold, and half strength comes after it.
    """
    story = garden("hornbeam", "growing-on", "2027-04-01")
    story.writes_on("2027-04-05", tree="Quill", work="hard pruned")
    story.writes_on("2027-04-25", tree="Quill", seen="new buds")
    story.until("2027-05-09")
    story.writes("2027-05-08", tree="Quill", seen="new buds", instead=True)
    morning = story.until("2027-05-10")
    assert given(morning, "Quill") == ["2027-05-03 75"]
    assert ahead(morning, "Quill", 1) == ["2027-05-13 75"]


# 13. A tree that comes back.


def test_a_tree_sold_and_taken_back_is_here_and_its_water_is_checked() -> None:
    story = garden("hornbeam", "growing-on", "2027-04-28")
    story.until("2027-05-01")
    story.writes("2027-05-01", tree="Quill", gone="sold")
    assert story.until("2027-05-10").trees == ()
    story.until("2027-06-01")
    story.writes("2027-06-01", tree="Quill", arrived="gift")
    morning = story.until("2027-06-02")
    assert morning.trees == ("Quill",)
    assert any(
        "Quill" in names for *_, names in events(morning, "check").values() if isinstance(names, tuple)
    )
    assert today(morning, "Quill") == ""  # settling in, for four weeks at least
    assert all(feed >= "2027-06-29" for feed in ahead(morning, "Quill"))


# 15. Small things that were told wrongly.


def test_two_records_of_one_day_name_their_tree_once() -> None:
    story = garden("hornbeam", "growing-on", "2027-04-20")
    story.until("2027-04-24")
    story.writes("2027-04-24", tree="Quill", fed="as planned")
    story.writes("2027-04-24", tree="Quill", fed="as planned")
    names = [names for *_, names in story.until("2027-04-25").mixed.values()]
    assert names == [("Quill",)]


def test_an_answer_to_a_water_check_renames_nothing_in_the_calendar() -> None:
    story = garden("hornbeam", "growing-on", "2027-05-10")
    before = story.until("2027-05-20")
    story.writes("2027-05-20", tree="Quill", check="moist")
    after = story.until("2027-05-21")
    assert set(after.mixed) == set(before.mixed)
    assert set(events(after, "feed")) == set(events(before, "feed"))
    assert set(events(after, "check")) == set(events(before, "check"))


def test_allowing_a_feed_inside_a_severe_hold_keeps_its_ceiling() -> None:
    """After a severe root cut no feed passes 50 ppm in that season, allowed by the grower or not."""
    story = garden("hornbeam", "growing-on", "2027-04-20")
    story.writes_on("2027-04-20", tree="Quill", work="repotted", roots="50 %")
    story.until("2027-05-13")
    story.writes("2027-05-14", tree="Quill", allow="feed", because="pale")
    feed = story.until("2027-05-14").fed_today("Quill")
    assert feed is not None
    assert feed.ppm <= 50


# 16. A journal that shrank.


@pytest.mark.parametrize(
    ("kept", "is_gone"), [(0, False), (1, False), (0, True)], ids=["emptied", "cut short", "gone"]
)
def test_a_journal_that_shrank_lifts_no_hold(kept: int, is_gone: bool, tmp_path: Path) -> None:
    """The files are refused with a sentence; whoever shows plans goes on showing the last good one."""
    trees = "trees:\n  - {name: Quill, species: hornbeam, group: growing-on, pot: 9 L}\n"
    lines = [
        '- {date: 2027-04-25, id: scale, tree: Quill, note: "Scale on one branch, picked off."}\n',
        "- {date: 2027-04-28, id: roots, tree: Quill, work: repotted, roots: 30 %}\n",
    ]
    file, journal = tmp_path / "collection.yaml", tmp_path / "journal.yaml"
    file.write_text(NORTH + SHELF + trees)
    journal.write_text("".join(lines))
    day = date(2027, 5, 4)
    held = plan(load_collection(file), day, file=file, keep=True).season
    assert [hold.start for hold in held.timelines[0].holds if hold.covers(day)] == [date(2027, 4, 28)]
    journal.write_text("".join(lines[:kept]))
    if is_gone:
        journal.unlink()
    with pytest.raises(FilesHaveProblems) as refusal:
        load_collection(file)
    [problem] = refusal.value.problems
    assert problem.file.endswith("journal.yaml")
    assert problem.message.startswith(
        f"2 entries were known, {kept} {'is' if kept == 1 else 'are'} left; put back what is missing ("
    )


def test_an_old_copy_of_the_journal_saved_over_what_was_recorded_is_noticed(tmp_path: Path) -> None:
    """Even where as many were typed meanwhile; an entry typed without an id may be edited as before."""
    trees = "trees:\n  - {name: Quill, species: hornbeam, group: growing-on, pot: 9 L}\n"
    typed = "- {date: 2027-04-28, tree: Quill, work: repotted, roots: 30 %}\n"
    recorded = "- {date: 2027-05-03, tree: Quill, check: moist, id: k7wq2mzab}\n"
    file, journal = tmp_path / "collection.yaml", tmp_path / "journal.yaml"
    file.write_text(NORTH + SHELF + trees)
    journal.write_text(typed + recorded)
    plan(load_collection(file), date(2027, 5, 4), file=file, keep=True)
    journal.write_text(typed.replace("30 %", "25 %") + recorded)
    load_collection(file)
    journal.write_text(typed + "- {date: 2027-05-04, tree: Quill, note: Typed meanwhile.}\n")
    with pytest.raises(FilesHaveProblems) as refusal:
        load_collection(file)
    [problem] = refusal.value.problems
    told = tmp_path / "told.json"
    assert problem.message == (
        "1 entry recorded before is gone, as when an editor saves an old copy; put back what is missing (k7wq2mzab) "
        f"from a copy, or, if they are to go, type: rm {told}"
    )


def test_signs_of_a_season_before_leave_no_limit_behind_in_the_season_they_are_written_in() -> None:
    """Seen in August 2027 and written in March 2028: recovered from in 2027, so 2028 is capped by the ramp alone."""
    story = garden("hornbeam", "growing-on", "2027-04-20", ends=600)
    story.writes_on("2027-04-26", tree="Quill", work="repotted", roots="40 %")
    story.until("2028-03-20")
    story.writes("2027-08-01", tree="Quill", seen="extension")
    story.writes("2027-08-01", tree="Quill", seen="hardened")
    told = ahead(story.until("2028-03-21"), "Quill")
    assert "2028-06-30" < max(feed for feed in told if feed.endswith(" 150")) < "2028-08-16"
    assert any("2028-08-15" < feed < "2028-10-01" for feed in told)
    assert given(story.now, "Quill") == ["2027-04-24 150"]


def _looks(morning: Told) -> list[str]:
    """The days of all looks from today on."""
    return sorted(str(event[0]) for event in events(morning, "look").values())
