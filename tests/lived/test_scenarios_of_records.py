"""What is written of feeds is about feeds that were asked for: on their day, a day late, for a tree or a whole group.

Vigorous trees get 150 ppm every 10 days from leaves open, as in the shipped schedule; larches in the north are fed on
10, 20 and 30 April. What a record may mean is judgement, as told in the guide's page on history.
"""

from __future__ import annotations

import pytest

from tests.lived.story import NORTH, ahead, garden, given

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
