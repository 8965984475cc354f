"""A spoon of powder, weighed once, turns what labels and growers say in spoons into grams.

By hand, with the volumes of NIST Handbook 44, Appendix C: half an ounce is 14.1747615625 g, a US gallon 3.785411784 L,
so 3.7446 g per L; a US tablespoon is three teaspoons, a cup sixteen tablespoons.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from feedplan.cli.main import feedplan
from feedplan.load.collection import load_text
from feedplan.model.journal import Fed, SolidLaid

HALF_OUNCE_PER_GALLON = 14.1747615625 / 3.785411784


def collection(feed: str, units: str = "us") -> str:
    return (
        "place: {name: X, latitude: 44.6, time_zone: America/Los_Angeles}\n"
        f"measures: {{cans: [2 US gal], units: {units}}}\n"
        f"feeds:\n  powder: {{grade: 20-20-20, form: soluble, {feed}}}\n"
        "  beads: {grade: 10-10-10, form: coated, spoon: {tbsp: 0.5 oz}}\n"
        "groups: {g: {schedule: vigorous, feed: powder}}\n"
        "trees: [{name: Oak, species: Japanese maple, group: g, pot: 5 US gal}]\n"
    )


@pytest.mark.parametrize(
    "spoon",
    ["{tbsp: 0.5 oz}", "0.5 oz per tbsp", "0.5 oz", "{tablespoon: 1/2 oz}", "{cup: 8 oz}", "8 oz per US cup"],
)
@pytest.mark.parametrize("rate", ["1 tbsp per gal", "3 tsp per gal", "1/16 cup per gal", "1 US tbsp/US gal"])
def test_a_label_in_spoons_is_read_by_a_weighed_one(spoon: str, rate: str) -> None:
    loaded = load_text(collection(f"label_rate: {rate}, spoon: {spoon}"))
    per_l = loaded.collection.feeds["powder"].product.label_rate_per_l
    assert float(per_l or 0) == pytest.approx(HALF_OUNCE_PER_GALLON)


def test_the_journal_takes_what_is_told_in_spoons() -> None:
    journal = (
        "- {date: 2027-06-10, id: a, tree: Oak, fed: 1 tbsp per gal}\n"
        "- {date: 2027-06-11, id: b, tree: Oak, laid: beads, rate: 1 tbsp per gal}\n"
    )
    loaded = load_text(collection("spoon: {tbsp: 0.5 oz}"), journal)
    fed, laid = (entry.fact for entry in loaded.journal.entries)
    assert isinstance(fed, Fed)
    assert isinstance(laid, SolidLaid)
    assert float(fed.ppm or 0) == pytest.approx(HALF_OUNCE_PER_GALLON * 200)
    assert float(laid.grams_per_l or 0) == pytest.approx(HALF_OUNCE_PER_GALLON)


def dosed(folder: Path, text: str, *words: str) -> str:
    (folder / "collection.yaml").write_text(text)
    result = CliRunner().invoke(feedplan, ["dose", "-c", str(folder), *words])
    assert result.exit_code == 0, result.output
    return result.output


@pytest.mark.parametrize(
    "told", ["label_rate: 0.5 oz per gal, spoon: 0.5 oz", "label_rate: 1 tbsp per gal, spoon: {tbsp: 0.5 oz}"]
)
def test_the_sink_takes_the_spoon_of_the_collection(told: str, tmp_path: Path) -> None:
    said = dosed(tmp_path, collection(told), "powder", "1", "tbsp", "per", "gal")
    assert "1 US tbsp (14.2 g) powder in 1 US gal (3.79 L) holds 749 ppm N" in said
    assert "Rough" not in said
    assert "Above the label" not in said
    assert "Above the label" in dosed(tmp_path, collection(told), "powder", "1.01", "tbsp", "per", "gal")


def test_a_spoon_typed_counts_before_that_of_the_collection(tmp_path: Path) -> None:
    said = dosed(tmp_path, collection("spoon: {tbsp: 0.5 oz}"), "powder", "1 tbsp", "per gal", "spoon 12 g")
    assert "1 US tbsp (12 g) powder" in said


def test_a_watering_can_is_the_one_of_the_collection(tmp_path: Path) -> None:
    text = collection("spoon: {tbsp: 0.5 oz}")
    said = dosed(tmp_path, text, "powder", "1", "scoop", "per", "watering", "can")
    assert "1 spoon (14.2 g) powder in 7.57 L (2 US gal)" in said


@pytest.mark.parametrize(
    ("units", "cup"),
    [("us", "1 US cup (237 ml)"), ("metric", "1 metric cup (250 ml)"), ("imperial", "1 metric cup (250 ml)")],
)
def test_a_cup_is_that_of_the_place_and_which_one_is_said(units: str, cup: str, tmp_path: Path) -> None:
    said = dosed(tmp_path, collection("spoon: {tbsp: 0.5 oz}", units), "powder", "100 ppm", "1", "cup")
    assert cup in said
    plain = CliRunner().invoke(feedplan, ["dose", "20-20-20", "100", "ppm", "1", "cup", "--measures", units])
    assert cup in plain.output
