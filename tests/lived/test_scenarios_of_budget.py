"""The season's nitrogen, day by day: feeds offered again or written down at once leave the others as they were.

Told as in test_scenarios_of_history.py.
"""

from __future__ import annotations

from datetime import date

from tests.lived.garden import DAY
from tests.lived.story import Story, ahead, today

HEDGE = """
place: {name: Long Frames, latitude: 48.1, elevation: 240 m, time_zone: Europe/Paris}
since: 2027-04-20
habits: {feed_share: 15 %, can: 5 L, unlogged_feeds: missed}
feeds:
  powder: {grade: 20-10-20, form: soluble}
groups:
  hedge: {schedule: broadleaf-evergreen, feed: powder, changes: {budget: 100 mg N per L}}
trees:
  - {name: Parson, species: box, group: hedge, pot: 7 L}
"""


def test_a_feed_offered_again_at_half_strength_makes_no_later_feed_stronger() -> None:
    """From 16 August the schedule feeds at half strength: what was asked for on 15 August and is offered again then
    needs less of what is left of the budget, and the feeds after it stay as they were all the same.
    """
    story = Story(HEDGE, "2027-04-20")
    while story.day < date(2027, 8, 10):
        fed = today(story.until(str(story.day + DAY)), "Parson")[:10]
        if fed:  # written down on the next morning
            story.until(str(story.day + DAY))
            story.writes(fed, tree="Parson", fed="as planned")
    assert ahead(story.now, "Parson", 3) == ["2027-08-15 67", "2027-08-29 33", "2027-09-12 33"]
    assert today(story.until("2027-08-15"), "Parson") == "2027-08-15 67"
    assert ahead(story.until("2027-08-16"), "Parson", 3) == [
        "2027-08-16 50",
        "2027-08-29 33",
        "2027-09-12 33",
    ]


def test_a_feed_written_down_on_its_own_day_counts_as_told_and_weakens_no_later_one() -> None:
    """67 ppm are told, given as planned and written down the same day: the feeds after it stay at 67 ppm."""
    story = Story(HEDGE, "2027-04-20")
    told = today(story.until("2027-04-25"), "Parson")
    coming = ahead(story.now, "Parson", 4)
    assert told == "2027-04-25 67"
    for _ in range(4):
        day = today(story.now, "Parson")[:10]
        later = ahead(story.now, "Parson", 4)[1:]
        story.writes(day, tree="Parson", fed="as planned")
        assert ahead(story.now, "Parson", 3) == later
        story.until(later[0][:10])
    assert coming[1:] == ["2027-05-09 67", "2027-05-23 67", "2027-06-06 67"]
