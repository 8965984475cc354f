"""Whose gallons, spoons and cups are meant, told once in collection.yaml, holds in every file and for what is typed.

Sizes: NIST Handbook 44, Appendix C (US gallon 3.785411784 L, quart 0.946352946 L, fluid ounce 29.5735295625 ml, cup
236.5882365 ml, tablespoon 14.78676478125 ml); Weights and Measures Act 1985, Schedule 1 (imperial gallon 4.54609 L).
"""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from click.testing import CliRunner

from feedplan.cli.main import feedplan
from feedplan.dose.measures import measured_in, parse_rate, parse_volume, place_told
from feedplan.errors import FilesHaveProblems
from feedplan.load.collection import load_text
from feedplan.model.journal import Fed, SolidLaid
from tests.load.grading import TODAY, files_with

US_GALLON, IMPERIAL_GALLON = Decimal("3.785411784"), Decimal("4.54609")


def collection(units: str, *, pot: str = "5 gal") -> str:
    """Bare measures in every key that takes some; the units written last, so that their place does not matter."""
    text = files_with("oak", f"pot: {pot}")[0].replace("label_rate: 1 g per L", "label_rate: 0.25 oz per gal")
    return f"{text}measures: {{cans: [2 gal], marks: 1 qt, jug: 1 pt{units}}}\n"


JOURNAL = """\
- {date: 2027-06-10, id: a, tree: Oak, fed: 1/4 oz per gal, feed: powder, litres: 1/2 gal}
- {date: 2027-06-11, id: b, tree: Oak, laid: beads, rate: 1/2 oz per gal}
"""


@pytest.mark.parametrize(("units", "gallon"), [("us", US_GALLON), ("imperial", IMPERIAL_GALLON)])
def test_bare_measures_in_files_are_those_of_the_place(units: str, gallon: Decimal) -> None:
    loaded = load_text(collection(f", units: {units}"), JOURNAL)
    oak, measures = loaded.collection.trees[0], loaded.collection.habits.measures
    assert oak.pot.litres == 5 * gallon
    assert (measures.cans_l, measures.marks_l, measures.jug_l) == ((2 * gallon,), gallon / 4, gallon / 8)
    fed, laid = (entry.fact for entry in loaded.journal.entries)
    assert isinstance(fed, Fed)
    assert isinstance(laid, SolidLaid)
    assert fed.litres == gallon / 2
    grams = Decimal("28.349523125") / 4 / gallon
    assert loaded.collection.feeds["powder"].product.label_rate_per_l == grams
    assert float(fed.ppm or 0) == pytest.approx(float(grams * 240))
    assert float(laid.grams_per_l or 0) == pytest.approx(float(2 * grams))


@pytest.mark.parametrize("units", ["", ", units: metric"])
def test_where_nobody_told_a_gallon_is_asked_about_everywhere(units: str) -> None:
    with pytest.raises(FilesHaveProblems) as refused:
        load_text(collection(units), JOURNAL)
    told = [p.message for p in refused.value.problems]
    assert sum("US" in message and "imperial" in message for message in told) == len(told) == 8


def test_two_collections_do_not_take_each_others_gallons() -> None:
    sizes = [
        load_text(collection(f", units: {units}")).collection.trees[0].pot.litres
        for units in ("us", "imperial", "us")
    ]
    assert sizes == [5 * US_GALLON, 5 * IMPERIAL_GALLON, 5 * US_GALLON]
    assert place_told() is None


@pytest.mark.parametrize(
    ("place", "written", "litres"),
    [
        ("us", "1 cup", "0.2365882365"),
        ("us", "1 tbsp", "0.01478676478125"),
        ("us", "2 fl oz", "0.059147059125"),
        ("us", "1 imperial gal", "4.54609"),
        ("us", "5 ml", "0.005"),
        ("metric", "1 cup", "0.25"),
        ("imperial", "1 tbsp", "0.015"),
        (None, "1 tbsp", "0.015"),
        (None, "1 1/2 US gal", "5.678117676"),
        ("us", "½ gal", "1.892705892"),
    ],
)
def test_a_measure_is_that_of_the_place_unless_it_says_whose(
    place: str | None, written: str, litres: str
) -> None:
    with measured_in(place):
        assert parse_volume(written) == Decimal(litres)


@pytest.mark.parametrize(
    "written", ["1/4 tsp per gal", "¼ tsp/gal", "1/2 tsp per 2 gal", "1/8 tsp per 1/2 gal"]
)
def test_a_rate_may_have_a_fraction_on_either_side(written: str) -> None:
    with measured_in("us"):
        rate = parse_rate(written)
    # A quarter of 4.92892159375 ml in 3.785411784 L: a US gallon holds 768 teaspoons.
    assert float(rate.per_l) == pytest.approx(1000 / 768 / 4)
    assert rate.unit == "ml"


@pytest.mark.parametrize(
    ("typed", "entry"),
    [
        (["fed", "Oak", "--litres", "1/2 gal"], "fed: as planned, litres: 1/2 gal"),
        (
            ["fed", "Oak", "--feed", "powder", "--strength", "1/4 oz per gal"],
            "fed: 1/4 oz per gal, feed: powder",
        ),
        (["laid", "beads", "Oak", "--rate", "0.5 oz per gal"], "laid: beads, rate: 0.5 oz per gal"),
        (["laid", "beads", "Oak", "--rate", "0.5 oz per US gal"], "laid: beads, rate: 0.5 oz per US gal"),
        (["laid", "beads", "Oak", "--rate", "3"], "laid: beads, rate: 3 g per L"),
    ],
)
def test_what_is_recorded_is_read_as_the_journal_is(typed: list[str], entry: str, tmp_path: Path) -> None:
    (tmp_path / "collection.yaml").write_text(collection(", units: us"))
    more = ["-c", str(tmp_path), "--today", f"{TODAY}"]
    result = CliRunner().invoke(feedplan, ["record", *typed, *more])
    assert result.exit_code == 0, result.output
    assert entry in (tmp_path / "journal.yaml").read_text()


def test_options_at_the_sink_take_the_gallons_of_the_collection(tmp_path: Path) -> None:
    (tmp_path / "collection.yaml").write_text(collection(", units: us"))
    mix = ["--mix", "--ratio", "3-1-2 oxide", "--ppm", "100", "-c", str(tmp_path)]
    for typed in (["powder", "100 ppm", "-c", str(tmp_path)], mix):
        bare, whose = (
            CliRunner().invoke(feedplan, ["dose", *typed, "--litres", litres, "--json"])
            for litres in ("2 gal", "2 US gal")
        )
        assert (bare.exit_code, bare.output) == (0, whose.output)
