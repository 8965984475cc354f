"""A product finished before the next is begun: the change waits until what is left no longer fills the can.

Growers finish an opened tub before they begin the next (common practice, no source). Sums are worked out by hand.
"""

from __future__ import annotations

from datetime import date

import pytest

from feedplan.engine.plan import plan_season
from feedplan.load import load_text
from tests.engine.test_shelf import STEADY
from tests.lived.story import NORTH, Story
from tests.scenarios.planning import WRENMOOR, whole

# 5 g of the powder each on 1, 11, 21 and 31 May and 10 June.
BENCH = """
feeds:
  powder: {grade: 20-10-20, form: soluble, stock: 18 g, counted: 2027-04-20}
  crystals: {grade: 20-20-20, form: soluble}
groups: {steady: {schedule: steady, feed: [powder, {use: crystals, from: 2027-05-05, when_used_up: true}]}}
trees: [{name: Marl, species: elm, group: steady, pot: 100 L}]
"""


def products(text: str, today: str = "2027-04-25", journal: str = "") -> list[str]:
    """What is fed on each day of the spring."""
    loaded = load_text(WRENMOOR + text, journal, STEADY)
    season = plan_season(loaded.collection, loaded.journal, date.fromisoformat(today))
    feeds = [feed for feed in season.timelines[0].feeds if feed.day.year == 2027]
    return [f"{feed.day:%m-%d} {feed.feed}" for feed in feeds]


def test_the_next_product_begins_on_the_day_the_one_before_no_longer_fills_the_can() -> None:
    """18 g give three cans of 5 g; the fourth would need 20 g."""
    assert products(BENCH) == [
        "05-01 powder",
        "05-11 powder",
        "05-21 powder",
        "05-31 crystals",
        "06-10 crystals",
    ]


@pytest.mark.parametrize(
    ("was", "now", "first"),
    [
        ("stock: 18 g", "stock: 20 g", "06-10"),  # four cans to the last gram
        ("stock: 18 g", "stock: 0.5 g", "05-11"),  # not before its own first day
        (", when_used_up: true", "", "05-11"),  # by its date alone
        (", stock: 18 g, counted: 2027-04-20", "", "05-11"),  # how much is left is unknown: by its date
        (", counted: 2027-04-20", "", "05-11"),
    ],
)
def test_it_begins_by_what_is_known_of_the_stock(was: str, now: str, first: str) -> None:
    assert was in BENCH
    begun = [feed for feed in products(BENCH.replace(was, now)) if feed.endswith("crystals")]
    assert begun[0] == f"{first} crystals"


def test_one_whose_turn_never_comes_is_not_begun() -> None:
    assert {feed.split()[1] for feed in products(BENCH.replace("18 g", "10 kg"))} == {"powder"}


def test_another_group_on_the_same_tub_brings_the_change_forward() -> None:
    """10 g a day for the two of them: 18 g last for one day only."""
    other = "  other: {schedule: steady, feed: powder}\ntrees:\n"
    other += "  - {name: Loam, species: elm, group: other, pot: 100 L}\n"
    two = BENCH.replace("groups: {steady:", "groups:\n  steady:").replace("true}]}}", "true}]}")
    two = two.replace("trees: [{name", other + "  - {name").replace("100 L}]", "100 L}")
    loaded = load_text(WRENMOOR + two, "", STEADY)
    season = plan_season(loaded.collection, loaded.journal, date(2027, 4, 25))
    begun = [
        feed.day
        for each in season.timelines
        for feed in each.feeds
        if each.names == ("Marl",) and feed.feed == "crystals"
    ]
    assert min(begun) == date(2027, 5, 11)


def test_one_whose_turn_has_not_come_when_another_begins_by_its_date_is_passed_over() -> None:
    three = BENCH.replace("groups:", "  flakes: {grade: 20-5-10, form: soluble}\ngroups:")
    three = three.replace("true}]", "true}, {use: flakes, from: 2027-05-20}]")
    assert products(three)[1:] == ["05-11 powder", "05-21 flakes", "05-31 flakes", "06-10 flakes"]


def test_three_products_follow_one_another() -> None:
    three = BENCH.replace(
        "20-20-20, form: soluble", "20-20-20, form: soluble, stock: 5 g, counted: 2027-04-20"
    )
    three = three.replace("groups:", "  flakes: {grade: 20-5-10, form: soluble}\ngroups:")
    three = three.replace("true}]", "true}, {use: flakes, from: 2027-05-06, when_used_up: true}]")
    assert products(three)[2:] == ["05-21 powder", "05-31 crystals", "06-10 flakes"]


def test_day_by_day_what_was_told_stays_and_what_was_begun_goes_on() -> None:
    """Of 6.5 g one can takes 3.75 g. The rest would do for the 2.5 g of a winter can, and is not gone back to."""
    sill = (
        NORTH
        + """
feeds:
  powder: {grade: 20-10-20, form: soluble, stock: 6.5 g, counted: 2027-10-01}
  crystals: {grade: 20-20-20, form: soluble}
groups: {sill: {schedule: indoor-tropical, feed: [powder, {use: crystals, from: 2027-09-01, when_used_up: true}]}}
trees: [{name: Quill, species: ficus retusa, group: sill, pot: 100 L}]
"""
    )
    story = Story(sill, "2027-09-29", ends=120)
    assert [feed.product for feed in story.until("2027-10-11").today] == ["powder"]
    assert [feed.product for feed in story.until("2027-10-25").today] == ["crystals"]
    story.writes_on("2027-11-05", tree="Quill", seen="in growth")
    past = [(str(feed.day), feed.product) for feed in story.now.past["Quill"]]
    assert past == [("2027-10-11", "powder"), ("2027-10-25", "crystals")]
    coming = [(str(feed.day), whole(feed.ppm), feed.product) for feed in story.now.ahead["Quill"]]
    assert coming[:2] == [("2027-11-14", "50", "crystals"), ("2027-12-12", "50", "crystals")]
