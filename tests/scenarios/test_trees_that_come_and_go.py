"""Some of those under one name gone, a name divided, a tree that was sold and comes back."""

from __future__ import annotations

from datetime import date

from feedplan.engine.day import day_of
from feedplan.engine.season import Timeline
from tests.scenarios.planning import GROUPS, SINCE_24_APRIL, WRENMOOR, Plan, plan

SEEDLINGS = (
    WRENMOOR
    + SINCE_24_APRIL
    + GROUPS
    + """
trees:
  - {name: Seedlings, species: hornbeam, group: V, pot: 1 L, count: 24}
  - {name: Fennel, species: hornbeam, group: V, pot: 6 L}
"""
)


def timeline_of(year: Plan, name: str) -> Timeline:
    """What is planned and told for one tree."""
    return next(each for each in year.season.timelines if name in each.names)


OPEN = "- {date: 2027-04-24, group: V, seen: leaves open}\n"
THREE_DEAD = "- {id: d3, date: 2027-05-30, tree: Seedlings, gone: dead, count: 3}\n"


def test_three_of_twenty_four_dead_are_fed_and_looked_at_no_more_and_the_past_stays_as_it_was() -> None:
    """A tenth of each pot: 24 x 1 L and 6 L are 3.0 L, with 21 of them 2.7 L."""
    year = plan(SEEDLINGS, OPEN + THREE_DEAD, today="2027-05-30")
    before, after = year.item("2027-05-24", "Seedlings"), year.item("2027-06-03", "Seedlings")
    assert (before.head_count, f"{before.poured_litres:.1f}") == (25, "3.0")
    assert (after.head_count, f"{after.poured_litres:.1f}") == (22, "2.7")
    assert day_of(year.season, after.day).checked_count == 22
    untouched = plan(SEEDLINGS, OPEN, today="2027-05-30")
    assert year.feeds("Seedlings") == untouched.feeds("Seedlings")


def test_taken_back_all_of_them_are_there_again() -> None:
    year = plan(SEEDLINGS, OPEN + THREE_DEAD + "- {date: 2027-05-31, undo: d3}\n", today="2027-05-31")
    assert year.item("2027-06-03", "Seedlings").head_count == 25


def test_the_last_of_them_sold_the_name_is_gone() -> None:
    """Three dead and 21 sold on 10 June: the feed of 3 June has them, that of 13 June is for Fennel alone."""
    sold = "- {date: 2027-06-10, tree: Seedlings, gone: sold, count: 21}\n"
    year = plan(SEEDLINGS, OPEN + THREE_DEAD + sold, today="2027-06-10")
    assert year.item("2027-06-03", "Seedlings").head_count == 22
    assert [feed for feed in year.feeds("Seedlings") if feed > "2027-06-10"] == []
    assert year.item("2027-06-13", "Fennel").head_count == 1


def test_six_set_apart_and_repotted_are_held_and_the_others_are_fed() -> None:
    """Repotted in leaf on 30 May with 10 % off: a band heavier, so 35 days to 4 July. 18 x 1 L and 6 L are 2.4 L."""
    apart = "  - {name: Potted on, species: hornbeam, group: V, pot: 2 L, count: 6, since: 2027-05-30}\n"
    journal = """
- {date: 2027-05-30, tree: Seedlings, gone: set apart, count: 6}
- {date: 2027-05-30, tree: Potted on, work: repotted, roots: 10 %}
- {date: 2027-07-04, tree: Potted on, seen: hardened}
"""
    year = plan(SEEDLINGS + apart, OPEN + journal, today="2027-07-04")
    item = year.item("2027-06-03", "Seedlings")
    assert (item.head_count, f"{item.poured_litres:.1f}") == (19, "2.4")
    assert "Potted on" not in item.names
    assert year.feeds("Potted on")[:2] == ["2027-07-04 38", "2027-07-14 75"]


def test_a_tree_divided_into_two_pots_is_held_in_both() -> None:
    """Divided on 30 May with half the roots off: both wait 56 days, to 25 July, and for growth that has hardened."""
    half = "  - {name: Dill, species: hornbeam, group: V, pot: 3 L, since: 2027-05-30}\n"
    journal = "- {date: 2027-05-30, trees: [Fennel, Dill], work: repotted, roots: 50 %}\n"
    seen = "- {date: 2027-07-25, trees: [Fennel, Dill], seen: hardened}\n"
    year = plan(SEEDLINGS + half, OPEN + journal + seen, today="2027-07-25", days=100)
    later = [feed for feed in year.feeds("Fennel") if feed > "2027-05-30"]
    assert later == year.feeds("Dill") == ["2027-07-25 38", "2027-08-15 50"]
    assert year.item("2027-05-24", "Fennel").head_count == 25  # Dill was not there yet


def test_a_tree_sold_and_back_is_looked_at_and_fed_after_it_settled() -> None:
    """Sold 30 May, back as bought on 20 June: 28 days to 18 July, settled and checked twice; half, then full."""
    journal = """
- {date: 2027-05-30, tree: Fennel, gone: sold}
- {date: 2027-06-20, tree: Fennel, arrived: bought}
"""
    away = plan(SEEDLINGS, OPEN + journal.splitlines()[1] + "\n", today="2027-06-13")
    assert [each.tree.name for each in day_of(away.season, away.season.today).watched] == ["Seedlings"]
    back = plan(SEEDLINGS, OPEN + journal, today="2027-06-21")
    here = back.season.timelines[1].here
    assert [here(date(2027, month, day)) for month, day in ((5, 29), (5, 30), (6, 19), (6, 20))] == [
        True, False, False, True,
    ]  # fmt: skip
    assert day_of(back.season, back.season.today).checked_count == 25
    assert back.item("2027-06-23", "Seedlings").names == ("Seedlings",)
    signs = """
- {date: 2027-07-01, tree: Fennel, seen: [settled, clean check]}
- {date: 2027-07-18, tree: Fennel, seen: clean check}
"""
    fed = plan(SEEDLINGS, OPEN + journal + signs, today="2027-07-18").feeds("Fennel")
    assert [feed for feed in fed if feed < "2027-05-30"] == [
        "2027-04-24 150", "2027-05-04 150", "2027-05-14 150", "2027-05-24 150",
    ]  # fmt: skip
    assert [feed for feed in fed if feed > "2027-05-30"][:2] == ["2027-07-18 75", "2027-07-28 150"]
    # Sold once more, it is gone for good.
    gone = "- {date: 2027-07-20, tree: Fennel, gone: sold}\n"
    again = plan(SEEDLINGS, OPEN + journal + signs + gone, today="2027-07-20").feeds("Fennel")
    assert [feed for feed in again if feed > "2027-07-20"] == []


def test_what_a_group_got_counts_only_for_the_trees_that_stood_there_that_day() -> None:
    """Fennel is sold on 20 May and Sorrel comes on 10 June: the group's feeds of 14 June and 1 June."""
    sorrel = "  - {name: Sorrel, species: hornbeam, group: V, pot: 6 L, since: 2027-06-10}\n"
    journal = """
- {date: 2027-05-20, tree: Fennel, gone: sold}
- {date: 2027-06-01, id: june1, group: V, fed: 90 ppm N}
- {date: 2027-06-14, id: june14, group: V, fed: 90 ppm N}
- {date: 2027-06-14, everything: true, trouble: frost}
"""
    year = plan(SEEDLINGS + sorrel, OPEN + journal, today="2027-06-16")
    told = {
        name: [feed.entry.id for feed in timeline_of(year, name).feeds if feed.entry is not None]
        for name in ("Seedlings", "Fennel", "Sorrel")
    }
    assert told == {"Seedlings": ["june1", "june14"], "Fennel": [], "Sorrel": ["june14"]}
    assert [hold.rule.name for hold in timeline_of(year, "Fennel").holds] == []
    assert [hold.rule.name for hold in timeline_of(year, "Sorrel").holds] == ["frost"]
