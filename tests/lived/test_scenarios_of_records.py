"""What is written of feeds is about feeds that were asked for: on their day, a day late, for a tree or a whole group.

Vigorous trees get 150 ppm every 10 days from leaves open, as in the shipped schedule; larches in the north are fed on
10, 20 and 30 April. What a record may mean is judgement, as told in the guide's page on history.
"""

from __future__ import annotations

from datetime import date

import pytest

from tests.lived.garden import DAY
from tests.lived.story import NORTH, SHELF, Story, ahead, garden, given, today
from tests.lived.told import Told

# A feed not given.


@pytest.mark.parametrize("says", [{"tree": "Quill"}, {"group": "growing-on"}, {"everything": True}])
@pytest.mark.parametrize("day", ["2027-04-15", "2027-04-18", "2027-04-19"])
def test_not_fed_on_a_day_without_a_feed_takes_none_away(day: str, says: dict[str, object]) -> None:
    story = garden("larch", "growing-on", "2027-04-05")
    story.writes_on(day, **says, not_fed="tub empty")
    assert ahead(story.now, "Quill", 1) == ["2027-04-20 150"]
    morning = story.until("2027-04-21")
    assert given(morning, "Quill") == ["2027-04-10 150", "2027-04-20 150"]
    assert ahead(morning, "Quill", 1) == ["2027-04-30 150"]


@pytest.mark.parametrize("says", [{"tree": "Quill"}, {"group": "growing-on"}])
@pytest.mark.parametrize(
    ("happened", "written"),
    [("2027-04-20", "2027-04-20"), ("2027-04-20", "2027-04-22"), ("2027-04-21", "2027-04-21")],
)
def test_not_fed_written_on_the_day_or_late_is_about_the_feed_of_that_day(
    happened: str, written: str, says: dict[str, object]
) -> None:
    story = garden("larch", "growing-on", "2027-04-05")
    story.until(written)
    story.writes(happened, **says, not_fed="tub empty")
    morning = story.until("2027-04-23")
    assert given(morning, "Quill") == ["2027-04-10 150"]
    assert ahead(morning, "Quill", 1) == ["2027-04-30 150"]


def test_not_fed_declines_a_missed_feed_that_is_offered_again() -> None:
    head = f"{NORTH}habits: {{unlogged_feeds: missed}}\n"
    story = garden("larch", "growing-on", "2027-04-05", head=head)
    assert ahead(story.until("2027-04-14"), "Quill", 1) == ["2027-04-14 150"]
    story.writes("2027-04-14", tree="Quill", not_fed="rain all week")
    assert ahead(story.now, "Quill", 1) == ["2027-04-20 150"]
    assert ahead(story.until("2027-04-15"), "Quill", 1) == ["2027-04-20 150"]


# A feed made possible by what is written after the day was told.


@pytest.mark.parametrize(("habits", "day"), [("", "2027-06-06"), ("feed_on: [Saturday]", "2027-06-12")])
def test_a_feed_nobody_was_told_of_this_morning_is_due_on_the_next_day_of_feeding(
    habits: str, day: str
) -> None:
    """Frosted on 20 May, seen well on the evening of Saturday 5 June: half of 150 ppm then, and full the next time."""
    story = garden("larch", "growing-on", "2027-05-10", head=f"{NORTH}habits: {{{habits}}}\n")
    story.writes_on("2027-05-20", tree="Quill", trouble="frost")
    assert today(story.until("2027-06-05"), "Quill") == ""
    story.writes("2027-06-05", tree="Quill", seen="clean new leaves")
    evening = ahead(story.now, "Quill", 3)
    assert evening[0] == f"{day} 75"
    morning = story.until("2027-06-06")
    assert ahead(morning, "Quill", 3) == evening
    assert [feed for feed in given(morning, "Quill") if feed > "2027-06"] == []


def test_a_feed_told_this_morning_is_back_when_what_took_it_away_is_taken_back() -> None:
    story = garden("larch", "growing-on", "2027-04-05")
    assert today(story.until("2027-04-20"), "Quill") == "2027-04-20 150"
    frost = story.writes("2027-04-20", tree="Quill", trouble="frost")
    assert today(story.now, "Quill") == ""
    story.writes("2027-04-20", undo=frost)
    assert today(story.now, "Quill") == "2027-04-20 150"


def test_what_is_written_before_the_day_is_told_can_still_be_fed_on_it() -> None:
    """Written into the journal at dawn of 5 June, before any plan of that day."""
    story = garden("larch", "growing-on", "2027-05-10")
    story.writes_on("2027-05-20", tree="Quill", trouble="frost")
    story.until("2027-06-04")
    story.day = date(2027, 6, 5)
    story.writes("2027-06-05", tree="Quill", seen="clean new leaves")
    assert today(story.now, "Quill") == "2027-06-05 75"


# A record of a group, of which some trees were asked to be fed that day and some were not.


def _two(day: str, **says: object) -> Told:
    """Two larches: Sorrel was fed on 13 April, so that it is due on the 23rd and Quill on the 20th; then a record."""
    trees = "trees:\n" + "".join(
        f"  - {{name: {name}, species: larch, group: growing-on, pot: 9 L}}\n" for name in ("Quill", "Sorrel")
    )
    story = Story(NORTH + SHELF + trees, "2027-04-05")
    story.writes_on("2027-04-13", tree="Sorrel", fed="as planned")
    story.writes_on(day, group="growing-on", **says)
    at_once = {name: ahead(story.now, name, 2) for name in ("Quill", "Sorrel")}
    morning = story.until((date.fromisoformat(day) + DAY).isoformat())
    assert {name: ahead(morning, name, 2) for name in at_once} == at_once
    return morning


def test_a_group_fed_means_the_trees_asked_that_day_not_those_due_soon() -> None:
    told = _two("2027-04-20", fed="as planned")
    assert (given(told, "Quill")[-1], ahead(told, "Quill", 1)) == ("2027-04-20 150", ["2027-04-30 150"])
    assert (given(told, "Sorrel"), ahead(told, "Sorrel", 1)) == (["2027-04-13 150"], ["2027-04-23 150"])


@pytest.mark.parametrize("says", [{"fed": "as planned"}, {"not_fed": "rain"}])
def test_a_record_of_a_group_moves_no_feed_told_to_others_of_it_days_ago(says: dict[str, str]) -> None:
    told = _two("2027-04-23", **says)
    assert (given(told, "Quill")[-1], ahead(told, "Quill", 1)) == ("2027-04-20 150", ["2027-04-30 150"])
    assert given(told, "Sorrel")[-1] == ("2027-04-23 150" if "fed" in says else "2027-04-13 150")
    assert ahead(told, "Sorrel", 1) == ["2027-05-03 150"]


def test_a_group_fed_a_day_late_when_none_of_it_was_asked_means_the_feed_of_the_day_before() -> None:
    told = _two("2027-04-24", fed="as planned")
    assert (given(told, "Sorrel")[-1], ahead(told, "Sorrel", 1)) == ("2027-04-24 150", ["2027-05-04 150"])
    assert (given(told, "Quill")[-1], ahead(told, "Quill", 1)) == ("2027-04-20 150", ["2027-04-30 150"])
