"""The shelf: grams from planned rounds, what was used, when it runs out, what to buy; each sum worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedplan.engine.answers.warnings import warnings_of
from feedplan.engine.day import day_of
from feedplan.engine.plan import plan_season
from feedplan.engine.sink.shelf import ShelfLine, shelf_of
from feedplan.export.entries import calendar_entries
from feedplan.export.glance_text import glance_lines
from feedplan.export.round_text import round_lines
from feedplan.export.sink_text import amount, shelf_facts, shelf_lines, to_buy
from feedplan.load import load_text
from feedplan.words.warnings import problem_of
from tests.properties import examples
from tests.scenarios.planning import WRENMOOR

# 100 ppm N into a 100 L pot: 10 L are poured, one can, 5 g of the 20 % powder. Every 10 days from 1 May to 10 June: 5.
STEADY = {
    "steady": """
schedule: steady
about: Five feeds.
written_for: north
stages: middle leafing
budget: 300 mg N per L
feeding:
  spring: {from: 1 May, to: 10 June, every: 10 days, strength: 100 ppm N}
  pellets: {from: 1 May, to: 10 June, every: 5 weeks, solid: 1 g per L}
water:
  leaves open: {shallow: daily, medium: daily, deep: every 2 days, weak: daily}
  dormant: {shallow: twice a week, medium: twice a week, deep: once a week, weak: once a week}
"""
}
SHELF = """
feeds:
  powder: {grade: 20-10-20, form: soluble, stock: 18 g, counted: 2027-04-20, price: 20.00 EUR for 1 kg}
  pellets: {grade: 5-3-2, form: organic, stock: 500 g, counted: 2027-04-20, opened: 2026-05-20, keeps: 12 months}
  spare: {grade: 10-10-10, form: soluble, stock: 1 kg}
groups: {steady: {schedule: steady, feed: powder, solid_feed: pellets}}
trees: [{name: Marl, species: elm, group: steady, pot: 100 L}]
"""


def lines_on(day: str, journal: str = "", shelf: str = SHELF) -> dict[str, ShelfLine]:
    loaded = load_text(WRENMOOR + shelf, journal, STEADY)
    season = plan_season(loaded.collection, loaded.journal, date.fromisoformat(day))
    return {line.feed.name: line for line in shelf_of(season, loaded.collection)}


@pytest.mark.parametrize(
    ("grams", "words"),
    [
        ("3.24", "3.2 g"),
        ("9.9", "9.9 g"),
        ("10.4", "10 g"),
        ("999", "999 g"),
        ("1000", "1 kg"),
        ("1254", "1.25 kg"),
    ],
)
def test_an_amount_is_told_as_a_shop_does(grams: str, words: str) -> None:
    assert amount(Decimal(grams), lines_on("2027-04-25")["powder"]) == words


@pytest.mark.parametrize(
    ("needed", "bought"), [("12", 15), ("99", 100), ("121", 130), ("999", 1000), ("1001", 1050)]
)
def test_what_to_buy_is_rounded_up_to_a_step_that_a_shop_can_follow(needed: str, bought: int) -> None:
    """Judgement: 5 g below 100 g, 10 g below a kilogram, 50 g from there on."""
    assert to_buy(replace(lines_on("2027-04-25")["powder"], buy=Decimal(needed))) == bought


def test_what_is_needed_is_the_sum_of_the_planned_mixes() -> None:
    powder = lines_on("2027-04-25")["powder"]
    assert powder.needed == 25
    assert powder.with_spare == Decimal("28.75")
    assert powder.left == 18
    assert to_buy(powder) == 15  # 28.75 - 18, to the next 5 g


def test_it_runs_out_on_the_first_day_that_needs_more_than_is_left() -> None:
    # 5 g on 1, 11, 21 May make 15; the fourth, on 31 May, needs the 20th gram.
    assert str(lines_on("2027-04-25")["powder"].runs_out) == "2027-05-31"
    enough = SHELF.replace("stock: 18 g", "stock: 1 kg")
    assert lines_on("2027-04-25", shelf=enough)["powder"].runs_out is None


def test_feeds_given_since_the_count_are_used_up_and_what_was_only_planned_is_told_apart() -> None:
    journal = "- {date: 2027-05-01, tree: Marl, fed: as planned}\n"
    powder = lines_on("2027-05-15", journal)["powder"]
    assert [powder.recorded, powder.assumed, powder.left or Decimal(0)] == list(map(Decimal, [5, 5, 8]))
    assert powder.needed == 15
    assert powder.season_use == 25
    assert powder.cost == Decimal("0.5")  # 25 g at 20 EUR a kilogram


def test_a_recorded_volume_counts_in_place_of_the_planned_one() -> None:
    journal = "- {date: 2027-05-01, tree: Marl, fed: 200 ppm N, litres: 4 L}\n"
    powder = lines_on("2027-05-02", journal)["powder"]
    assert powder.recorded == 4  # 200 ppm x 4 L / (10 x 20 %)


def test_feeds_before_the_count_are_not_taken_off_again() -> None:
    counted = SHELF.replace("counted: 2027-04-20, price", "counted: 2027-05-15, price")
    powder = lines_on("2027-05-16", shelf=counted)["powder"]
    assert [powder.assumed, powder.left or Decimal(0)] == list(map(Decimal, [0, 18]))


def test_a_missed_feed_uses_nothing() -> None:
    missed = "habits: {unlogged_feeds: missed}\n" + SHELF
    powder = lines_on("2027-05-15", shelf=missed)["powder"]
    assert [powder.recorded, powder.assumed, powder.left or Decimal(0)] == list(map(Decimal, [0, 0, 18]))


def test_solid_feed_is_counted_by_the_litres_of_the_pots() -> None:
    pellets = lines_on("2027-04-25")["pellets"]
    assert pellets.needed == 100  # 1 g a litre on 100 L, on 1 May; 5 weeks on the period is nearly over
    journal = "- {date: 2027-05-01, tree: Marl, laid: pellets, grams: 120 g}\n"
    assert lines_on("2027-05-02", journal)["pellets"].recorded == 120


def test_what_is_past_its_keeping_time_is_no_stock() -> None:
    # Opened 20 May 2026, keeps 12 months: the laying on 1 May may use it, one in June may not.
    late = {
        "steady": STEADY["steady"].replace(
            "pellets: {from: 1 May, to: 10 June", "pellets: {from: 1 June, to: 30 June"
        )
    }
    loaded = load_text(WRENMOOR + SHELF, "", late)
    season = plan_season(loaded.collection, loaded.journal, date(2027, 4, 25))
    pellets = {line.feed.name: line for line in shelf_of(season, loaded.collection)}["pellets"]
    assert str(pellets.runs_out) == "2027-06-01"
    assert pellets.buy == Decimal(115)


def test_the_other_products_are_named_as_used_by_no_plan() -> None:
    loaded = load_text(WRENMOOR + SHELF, "", STEADY)
    season = plan_season(loaded.collection, loaded.journal, date(2027, 4, 25))
    lines = shelf_of(season, loaded.collection)
    text = "\n".join(shelf_lines(lines, date(2027, 4, 25), date(2027, 12, 31)))
    assert "No plan uses: spare." in text
    assert "powder: 18 g left of 18 g on Tue 20 Apr." in text
    assert "Runs out 31 May 2027." in text
    assert "Buy 15 g by Mon 31 May." in text
    assert "The season's feed costs 0.50 EUR." in text
    facts = shelf_facts(lines, date(2027, 4, 25), date(2027, 12, 31))
    powder = next(f for f in facts["products"] if f["feed"] == "powder")
    assert (powder["needed_g"], powder["needed_with_spare_g"], powder["buy_g"]) == (25.0, 28.8, 15.0)
    assert powder["runs_out"] == "2027-05-31"


def test_a_mix_takes_from_every_product_in_it() -> None:
    mixed = SHELF.replace(
        "feed: powder, solid", "ratio: 3-1-2 oxide, mix_of: [powder, calcium], solid"
    ).replace("  spare:", "  calcium: {grade: 15.5-0-0, form: soluble}\n  spare:")
    lines = lines_on("2027-04-25", shelf=mixed)
    # By hand, per 10 L: 3.33 g of 20-10-20 and 2.15 g of 15.5-0-0, five times.
    assert float(lines["powder"].needed) == pytest.approx(5 * 10 / 3, abs=0.01)
    assert float(lines["calcium"].needed) == pytest.approx(5 * 100 / 46.5, abs=0.01)


def test_a_run_out_within_four_weeks_stands_in_the_round_and_the_calendar_and_a_later_one_does_not() -> None:
    loaded = load_text(WRENMOOR + SHELF, "", STEADY)

    def told(today: date) -> tuple[bool, list[str]]:
        season = plan_season(loaded.collection, loaded.journal, today)
        text = "\n".join(round_lines(day_of(season, today), loaded.collection))
        keys = [e.key for e in calendar_entries(season, loaded.collection) if e.key.startswith("shelf/")]
        return "powder: runs out Mon 31 May; buy" in text, keys

    assert told(date(2027, 5, 2)) == (False, [])
    assert told(date(2027, 5, 3)) == (True, ["shelf/powder/2027"])  # 28 days before
    assert told(date(2027, 5, 29)) == (True, ["shelf/powder/2027"])


def test_the_screen_says_a_run_out_once_a_week_and_in_the_last_days_and_the_mix_of_its_day_says_it() -> None:
    """Judgement: a line read on forty days is read on none, and a shop takes some days."""
    loaded = load_text(WRENMOOR + SHELF, "", STEADY)

    def told(today: date) -> str:
        season = plan_season(loaded.collection, loaded.journal, today)
        return "\n".join(glance_lines(day_of(season, today), loaded.collection, 200))

    days = [date(2027, 5, 1) + timedelta(days=n) for n in range(31)]
    assert [day.day for day in days if "powder: runs out Mon 31 May; buy 10 g" in told(day)] == [
        *(3, 10, 17, 24),
        *(28, 30),
    ]
    # 18 g less three feeds of 5 g, of which the fourth needs 5.
    assert "Of powder 3 g is left by the plan, too little: buy 10 g first" in told(date(2027, 5, 31))
    assert "is left by the plan" not in told(date(2027, 5, 17))


def test_a_run_out_stays_on_its_day_in_the_calendar_whatever_is_fed_after_it() -> None:
    """The last grams are gone by mid May: asked on each day of a month, the entry stands where it first did."""
    loaded = load_text(WRENMOOR + SHELF.replace("stock: 18 g", "stock: 5 g"), "", STEADY)

    def told(today: date) -> set[date]:
        season = plan_season(loaded.collection, loaded.journal, today)
        entries = calendar_entries(season, loaded.collection)
        return {e.start for e in entries if e.key.startswith("shelf/")}

    found = [told(date(2027, 5, 10) + timedelta(days=n)) for n in range(28)]
    assert len(found[0]) == 1
    assert found == [found[0]] * 28


def test_an_empty_tub_is_called_empty() -> None:
    """The last grams are gone by mid May; the next feed is on 31 May."""
    shelf = SHELF.replace("stock: 18 g", "stock: 5 g")
    loaded = load_text(WRENMOOR + shelf, "", STEADY)
    today = date(2027, 5, 29)
    text = "\n".join(
        round_lines(day_of(plan_season(loaded.collection, loaded.journal, today), today), loaded.collection)
    )
    assert "powder: has run out; buy " in text
    assert "by Mon 31 May." in text


def test_a_tub_past_its_keeping_time_is_called_too_old_and_not_run_out() -> None:
    """A grower with a tub half full looks for another reason to buy (common practice, no source)."""
    old = {
        "steady": STEADY["steady"].replace("pellets: {from: 1 May, to: 10", "pellets: {from: 1 June, to: 30")
    }
    loaded = load_text(WRENMOOR + SHELF, "", old)
    today = date(2027, 5, 10)
    season = plan_season(loaded.collection, loaded.journal, today)
    text = " ".join("\n".join(round_lines(day_of(season, today), loaded.collection)).split())
    assert (
        "pellets: keeps to Thu 20 May, too old after that though some is left; buy 120 g by Tue 1 Jun."
        in text
    )
    text = "\n".join(shelf_lines(shelf_of(season, loaded.collection), today, date(2027, 12, 31)))
    assert "Keeps to 20 May 2027: too old for the feed of 1 June 2027, though some is left." in text
    (entry,) = [e for e in calendar_entries(season, loaded.collection) if e.key.startswith("shelf/pellets")]
    assert entry.title == "Buy pellets: what is left is too old today"


@given(st.integers(0, 60), st.integers(0, 120))
@examples(25)
def test_what_is_left_and_what_is_bought_cover_the_season(stock: int, later: int) -> None:
    today = date(2027, 4, 21) + timedelta(days=later)
    powder = lines_on(str(today), shelf=SHELF.replace("stock: 18 g", f"stock: {stock} g"))["powder"]
    assert powder.left is not None
    assert powder.left + powder.buy >= powder.needed
    assert (powder.runs_out is None) or powder.runs_out >= today
    if powder.left >= powder.with_spare:
        assert powder.buy == 0


@pytest.mark.parametrize(("scale", "needed"), [("0.5 g", "25"), ("0.1 g", "5"), ("0.01 g", "2.5")])
def test_what_is_weighed_and_left_over_is_gone_from_the_shelf(scale: str, needed: str) -> None:
    """A 10 L pot takes 1 L of 100 ppm N, 0.5 g: a scale of 0.5 g weighs 5 g to within 5 % at the least."""
    small = SHELF.replace("pot: 100 L", "pot: 10 L") + f"measures: {{scale: {scale}}}\n"
    powder = lines_on("2027-04-25", shelf=small)["powder"]
    assert powder.needed == Decimal(needed)
    assert (powder.runs_out is not None) == (powder.needed > 18)


@pytest.mark.parametrize(
    ("scale", "pot", "takes"),
    [
        ("0.5 g", "10 L", "0.5 g"),
        ("0.5 g", "48 L", "2.4 g"),
        ("0.5 g", "50 L", ""),
        ("0.1 g", "10 L", ""),
        ("0.5 g", "100 L", ""),
    ],
)
def test_a_scale_that_leaves_most_of_a_weighing_over_is_asked_about_once(
    scale: str, pot: str, takes: str
) -> None:
    """0.5 g for a 10 L pot, of the 5 g that a scale of 0.5 g weighs to within 5 % at the least; half is enough."""
    loaded = load_text(
        WRENMOOR + SHELF.replace("pot: 100 L", f"pot: {pot}") + f"measures: {{scale: {scale}}}\n", "", STEADY
    )
    season = plan_season(loaded.collection, loaded.journal, date(2027, 4, 25))
    found = [str(problem_of(w, season.today)) for w in warnings_of(season, loaded.collection, loaded.journal)]
    asked = [each for each in found if "a scale of 0.5 g weighs at least 5.0 g" in each]
    assert len(asked) == bool(takes)
    assert not asked or (f"take {takes} at the most" in asked[0] and "would weigh 1.0 g" in asked[0])
