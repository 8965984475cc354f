"""What is mixed: a product that changes on a day, and solid feed that leaves room for little liquid."""

from __future__ import annotations

from decimal import Decimal

from feedplan.model.reason import OverBudget, Rule
from feedplan.words.dose import one_decimal
from tests.scenarios.planning import GROUPS, SCHEDULES, SINCE_24_APRIL, WRENMOOR, plan

# 100 ppm N for a whole season, so that the arithmetic stays in the head: 10 L take 1 g N.
STEADY = {
    "steady": SCHEDULES["V"].replace("schedule: V", "schedule: steady").replace("150 ppm N", "100 ppm N")
}


def test_a_new_product_changes_the_grams_from_its_day_on_and_leaves_the_past_alone() -> None:
    collection = (
        WRENMOOR
        + SINCE_24_APRIL
        + """
feeds:
  twenty: {grade: 20-20-20, form: soluble}
  twelve: {grade: 12-12-12, form: soluble}
groups: {steady: {schedule: steady, feed: [twenty, {use: twelve, from: 2027-07-01}]}}
trees: [{name: Marl, species: elm, group: steady, pot: 100 L}]
"""
    )
    year = plan(
        collection,
        "- {date: 2027-04-24, tree: Marl, seen: leaves open}",
        today="2027-06-20",
        schedules=STEADY,
    )
    grams = {
        str(item.day): one_decimal(item.can.doses[0].for_litres(item.poured_litres).amount)
        for item in year.season.rounds
        if item.can is not None and item.poured_litres == 10
    }
    assert grams["2027-06-23"] == "5.0"
    assert grams["2027-07-03"] == "8.3"
    assert all(amount == "5.0" for day, amount in grams.items() if day < "2027-07-01")


def test_coated_feed_mixed_in_at_repotting_leaves_little_room_for_liquid() -> None:
    collection = (
        WRENMOOR
        + GROUPS.replace("feeds:", "feeds:\n  coated: {grade: 16-8-12, form: coated, longevity: 150 days}")
        + "trees: [{name: Anvil, species: elm, group: V, pot: 10 L}]"
    )
    journal = """
- {date: 2027-04-01, tree: Anvil, laid: coated, grams: 20 g, mixed_in: true}
- {date: 2027-04-24, tree: Anvil, seen: leaves open}
"""
    year = plan(collection, journal, today="2027-04-24")
    timeline = year.season.timelines[0]
    assert timeline.solids[0].mg_n_per_l == 320  # 20 g of 16 % N in 10 L: 3.2 g N
    litres_each = Decimal("0.1") * 10
    liquid_mg = sum(feed.ppm * litres_each for feed in timeline.feeds if feed.season == 2027)
    assert 0 < liquid_mg <= 400  # the season's 360 mg/L is 3.6 g, so 0.4 g is left
    reasons = [reason for feed in timeline.feeds if feed.season == 2027 for reason in feed.reasons]
    assert all(isinstance(reason.fact, OverBudget) for reason in reasons)
    later = plan(collection, journal, today="2027-07-20")
    same = [feed for feed in later.feeds("Anvil") if feed < "2027-07-20"]
    assert same == [feed for feed in year.feeds("Anvil") if feed < "2027-07-20"]


def test_lifting_coated_feed_early_gives_the_liquid_its_room_back() -> None:
    collection = (
        WRENMOOR
        + GROUPS.replace("feeds:", "feeds:\n  coated: {grade: 16-8-12, form: coated, longevity: 150 days}")
        + "trees: [{name: Anvil, species: elm, group: V, pot: 10 L}]\nstages: {elm: {leaves open: 24 April}}"
    )
    journal = """
- {date: 2027-04-01, tree: Anvil, laid: coated, grams: 20 g}
- {date: 2027-04-24, tree: Anvil, seen: leaves open}
- {date: 2027-05-01, tree: Anvil, lifted: coated}
"""
    year = plan(collection, journal, today="2027-05-01")
    assert year.season.timelines[0].solids[0].mg_n_per_l == 64  # 30 of 150 days
    assert "2027-05-14 150" in year.feeds("Anvil")


def test_what_is_laid_in_place_of_feed_lifted_on_that_day_lies_there() -> None:
    """20 g lifted on 1 May, 20 g laid: 30 of 150 days of 320 mg N per litre of pot, and all of 320."""
    collection = (
        WRENMOOR
        + GROUPS.replace("feeds:", "feeds:\n  coated: {grade: 16-8-12, form: coated, longevity: 150 days}")
        + "trees: [{name: Anvil, species: elm, group: V, pot: 10 L}]"
    )
    first = "- {date: 2027-04-01, tree: Anvil, laid: coated, grams: 20 g}\n"
    lifted = "- {date: 2027-05-01, tree: Anvil, lifted: coated}\n"
    again = "- {date: 2027-05-01, tree: Anvil, laid: coated, grams: 20 g}\n"
    replaced, taken_off = (
        plan(collection, journal, today="2027-05-01").season.timelines[0].solids
        for journal in (first + lifted + again, first + again + lifted)
    )
    assert [solid.mg_n_per_l for solid in replaced] == [64, 320]
    assert [solid.mg_n_per_l for solid in taken_off] == [64]


def test_a_feed_left_out_for_the_budget_gives_that_as_its_first_reason() -> None:
    """A screen has room for one reason; that the feed was moved to a Saturday before is none (judgement)."""
    small = GROUPS.replace("feed: powder}", "feed: powder, changes: {budget: 0.2 mg N per L}}", 1)
    tree = "trees: [{name: Brindle, species: larch, group: V, pot: 10 L}]\n"
    saturdays = WRENMOOR + SINCE_24_APRIL + "habits: {feed_on: [Saturday]}\n" + small + tree
    year = plan(saturdays, "- {date: 2027-04-24, tree: Brindle, seen: leaves open}\n", today="2027-06-02")
    left_out = [out for out in year.season.timelines[0].dropped if out.resumed is None]
    assert {out.reasons[0].rule for out in left_out} == {Rule.BUDGET}
    assert any(len(out.reasons) > 1 for out in left_out)
