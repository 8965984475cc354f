"""Solid feed and the shelf in words: calendar, round and why; each sentence where it applies and only there."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

from feedplan.engine.answers.effects import effects_of
from feedplan.engine.answers.explain import explain
from feedplan.engine.day import day_of
from feedplan.engine.plan import plan_season
from feedplan.export.entries import calendar_entries
from feedplan.export.entry import CalendarEntry, Kind
from feedplan.export.round_facts import round_facts
from feedplan.export.round_text import round_lines
from feedplan.export.why_text import why_facts, why_lines
from feedplan.load import load_text
from feedplan.load.collection import Loaded
from feedplan.words.effects import change_sentences, flag_sentences
from tests.scenarios.planning import SCHEDULES, WRENMOOR

OWN = {
    "V": SCHEDULES["V"].replace(
        "feeding:", "feeding:\n  pellets: {from: 1 April, to: 15 August, every: 5 weeks, solid: 2 g per L}"
    )
}
SHELF = """
feeds:
  powder: {grade: 20-10-20, form: soluble, stock: 7 g, counted: 2027-03-01}
  pellets: {grade: 5-3-2, form: organic, released: 60 %, longevity: 50 days}
  coated: {grade: 16-8-12, form: coated, longevity: 150 days}
groups: {V: {schedule: V, feed: powder, solid_feed: pellets}}
trees:
  - {name: Brindle, species: elm, group: V, pot: 10 L}
  - {name: Old Kelp, species: elm, group: V, pot: 2.5 L, count: 3}
"""


def loaded(journal: str = "", shelf: str = SHELF) -> Loaded:
    return load_text(WRENMOOR + shelf, journal, OWN)


def entries(of: Loaded, today: date) -> list[CalendarEntry]:
    season = plan_season(of.collection, of.journal, today)
    return calendar_entries(season, of.collection)


def test_a_laying_says_grams_for_each_pot_and_how_to_write_it_down() -> None:
    found = next(e for e in entries(loaded(), date(2027, 3, 20)) if e.start == date(2027, 4, 1))
    assert found.title == "Lay pellets on V: 2 g per litre of pot, 4 trees"
    assert found.kind is Kind.FEEDING
    lines = found.text.splitlines()
    assert lines[0] == "Brindle 20.0 g, Old Kelp (3) each 5.0 g."
    assert lines[1] == "Gives 60 mg N per litre of pot; what is left comes off Mon 16 Aug."
    assert "Meal draws dogs, foxes and mice" in found.text
    assert "feedplan record laid pellets --group V --rate 2" in found.text


def test_dogs_are_named_for_meal_and_not_for_coated_feed() -> None:
    coated = loaded(shelf=SHELF.replace("solid_feed: pellets", "solid_feed: coated"))
    laid = [e for e in entries(coated, date(2027, 3, 20)) if e.title.startswith("Lay coated")]
    assert laid
    assert not any("dogs" in entry.text for entry in laid)


def test_many_trees_are_told_by_the_size_of_their_pots() -> None:
    trees = "".join(f"  - {{name: Tree {n}, species: elm, group: V, pot: {2 + n % 2} L}}\n" for n in range(8))
    many = loaded(shelf=SHELF[: SHELF.index("  - {name: Brindle")] + trees)
    found = next(e for e in entries(many, date(2027, 3, 20)) if e.start == date(2027, 4, 1))
    assert found.text.startswith("4.0 g on 2 L (4 trees), 6.0 g on 3 L (4 trees).")


def test_the_lifting_says_why_once_for_all() -> None:
    found = next(e for e in entries(loaded(), date(2027, 3, 20)) if e.title.startswith("Lift"))
    assert (found.start, found.title) == (date(2027, 8, 16), "Lift pellets from V: 4 trees")
    assert found.text.count("'pellets' is over: 15 August") == 1


def test_the_round_and_its_json_hold_the_laying_of_the_day() -> None:
    of = loaded()
    season = plan_season(of.collection, of.journal, date(2027, 4, 1))
    day = day_of(season, date(2027, 4, 1))
    assert "  Lay pellets on V: 2 g per litre of pot, 4 trees" in list(round_lines(day, of.collection))
    (facts,) = round_facts(day, of.collection)["solids"]
    assert (facts["act"], facts["grams_per_l_of_pot"], facts["lift_on"]) == ("lay", 2.0, "2027-08-16")
    assert [tree["grams"] for tree in facts["trees"]] == [20.0, 5.0]


def test_a_held_tree_that_gets_solid_feed_that_day_is_told_as_without_liquid_feed_only() -> None:
    of = loaded("- {date: 2027-04-25, tree: Brindle, trouble: mites}\n")
    season = plan_season(of.collection, of.journal, date(2027, 5, 6))
    day = day_of(season, date(2027, 5, 6))
    assert any("Lay pellets on V" in line for line in round_lines(day, of.collection))
    lines = [line.strip() for line in round_lines(day, of.collection)]
    assert any(line.startswith("Brindle: no liquid feed: pests") for line in lines)
    bare = day_of(season, date(2027, 5, 7))
    assert not any("no liquid feed" in line for line in round_lines(bare, of.collection))


def test_why_tells_what_lies_there_what_it_gave_and_when_it_is_spent() -> None:
    of = loaded()
    season = plan_season(of.collection, of.journal, date(2027, 4, 20))
    why = explain(season, of.collection.trees[0], date(2027, 4, 26))
    text = "\n".join(why_lines(why))
    # 25 of 50 days: half of 60 mg. A fifth either way of 50 days: 40 to 60 from 1 April.
    assert (
        "Solid feed: pellets, laid Thu 1 Apr, as far as the plan knows: 30 of 60 mg N per litre of pot given; "
        "spent between Tue 11 May and Mon 31 May; can be lifted" in text
    )
    assert "Next: lay pellets, 6 May 2027" in text
    (facts,) = why_facts(why)["solid_feed"]
    assert (facts["given_n_mg_per_l_of_pot"], facts["season_n_mg_per_l_of_pot"]) == (30.0, 60.0)
    laying = explain(season, of.collection.trees[0], date(2027, 5, 6))
    told = "\n".join(why_lines(laying))
    assert "On that day: lay pellets, 2 g per litre of pot (planned)" in told
    assert "Solid feed: pellets, to lay Thu 6 May: 0 of 60 mg N per litre of pot given by then; spent" in told
    assert "Solid feed: pellets, laid Thu 6 May" not in told and "2 Jul; can be lifted" not in told


def test_why_tells_what_a_new_tree_is_taken_to_carry_and_how_to_say_otherwise() -> None:
    of = loaded("- {date: 2027-06-06, tree: Old Kelp, arrived: bought}\n")
    season = plan_season(of.collection, of.journal, date(2027, 6, 10))
    why = explain(season, of.collection.trees[1], date(2027, 6, 21))
    text = "\n".join(why_lines(why))
    # 15 of 150 days of 175 mg.
    assert (
        "Coated feed it is taken to have come with: 175 mg N per litre of pot this season, 18 so far." in text
    )
    assert 'feedplan record lifted none there "Old Kelp"' in text


def test_recording_solid_feed_inside_a_hold_or_above_the_budget_is_flagged() -> None:
    held = "- {date: 2027-04-20, tree: Brindle, work: repotted, roots: 30 %}\n"
    laid = "- {id: x1, date: 2027-04-26, tree: Brindle, laid: coated, grams: 30 g, mixed_in: true}\n"
    before, after = loaded(held), loaded(held + laid)
    plans = [plan_season(of.collection, of.journal, date(2027, 4, 26)) for of in (before, after)]
    flags = flag_sentences(effects_of(plans[0], plans[1], "x1", after.collection))
    assert any(flag.startswith("Laid although held: repotted, moderate on 20 Apr") for flag in flags)
    assert any(
        "above the budget of 360" in flag for flag in flags
    )  # 480 mg of the coated feed and 60 of the pellets


def test_a_strength_that_reads_the_same_as_before_is_no_change_to_tell() -> None:
    laid = "- {id: x1, date: 2027-04-26, tree: Brindle, laid: pellets, grams: 5 g}\n"
    of = loaded(laid)
    after = plan_season(of.collection, of.journal, date(2027, 4, 26))

    def told(less: str) -> str:
        timelines = tuple(
            replace(
                t, feeds=tuple(replace(f, ppm=f.ppm.quantize(Decimal(1)) + Decimal(less)) for f in t.feeds)
            )
            for t in after.timelines
        )
        whole = tuple(
            replace(t, feeds=tuple(replace(f, ppm=f.ppm.quantize(Decimal(1))) for f in t.feeds))
            for t in after.timelines
        )
        before, now = replace(after, timelines=timelines), replace(after, timelines=whole)
        return " ".join(change_sentences(effects_of(before, now, "x1", of.collection)))

    assert "Next feed" not in told("0.4")
    assert "Next feed" in told("1.0")


def test_a_run_out_keeps_its_words_from_day_to_day_while_all_goes_as_planned() -> None:
    of = loaded()
    days = [date(2027, 6, 1) + timedelta(days=n) for n in range(4)]
    told = [[e for e in entries(of, day) if e.key.startswith("shelf/")] for day in days]
    assert told[0]
    assert all(found == told[0] for found in told)
