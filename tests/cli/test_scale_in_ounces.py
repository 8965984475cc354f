"""A scale that shows ounces: round and dose weigh on its steps and say grams and ounces; liquids have their own step.

An ounce is 28.349523125 g (NIST Handbook 44, Appendix C).
"""

from __future__ import annotations

import json
import re
from decimal import Decimal
from pathlib import Path

import pytest
from click.testing import CliRunner

from feedplan.cli.main import feedplan

OUNCE = 28.349523125


def garden(folder: Path, measures: str) -> str:
    (folder / "collection.yaml").write_text(f"""\
place: {{name: X, latitude: 44.6, time_zone: America/Los_Angeles}}
habits: {{feed_on: [Saturday]}}
measures: {{cans: [2 US gal], marks: 0.5 US gal, jug: 1 US quart, units: us, {measures}}}
feeds:
  powder: {{grade: 20-20-20, form: soluble, label_rate: 0.5 oz per US gal}}
  fish: {{grade: 6-1-1, form: liquid, label_rate: 2 tbsp per US gal, density: 9.5 lb per US gal}}
  bloom: {{grade: 0-10-10, form: soluble, label_rate: 0.5 oz per US gal}}
groups:
  a: {{schedule: vigorous, feed: powder}}
  b: {{schedule: vigorous, feed: fish}}
trees:
  - {{name: Quilt, species: Japanese maple, group: a, pot: 50 US gal}}
  - {{name: Ferry, species: Japanese maple, group: b, pot: 5 US gal}}
""")
    return str(folder)


def said(*words: str) -> str:
    result = CliRunner().invoke(feedplan, words)
    assert result.exit_code == 0, result.output
    return " ".join(result.output.split())


@pytest.mark.parametrize(("step", "places"), [("0.1 oz", 1), ("1/20 oz", 2), ("0.01 oz", 2)])
def test_the_round_weighs_on_steps_of_the_scale_in_grams_and_ounces(
    step: str, places: int, tmp_path: Path
) -> None:
    told = said("round", "-c", garden(tmp_path, f"scale: {step}"), "--today", "2027-06-05")
    grams, ounces = re.findall(r"Weigh ([0-9.]+) g \(([0-9.]+) oz\) powder", told)[0]
    assert len(ounces.partition(".")[2]) == places
    assert float(ounces) * OUNCE == pytest.approx(float(grams), abs=0.5)
    assert not re.search(r"[0-9]\.[0-9]{4}", told)


@pytest.mark.parametrize(
    ("syringe", "step"), [("", "0.1"), (", syringe: 0.5 ml", "0.5"), (", syringe: 5 ml", "5")]
)
def test_a_liquid_is_held_to_the_step_of_the_syringe(syringe: str, step: str, tmp_path: Path) -> None:
    told = said("round", "-c", garden(tmp_path, f"scale: 0.1 oz{syringe}"), "--today", "2027-06-05")
    ml = Decimal(re.findall(r"Measure ([0-9.]+) ml fish", told)[0])
    assert ml % Decimal(step) == 0
    assert ml >= 10 * Decimal(step)


def test_a_spoon_is_a_step_for_liquids_and_is_told_in_few_figures(tmp_path: Path) -> None:
    told = said("round", "-c", garden(tmp_path, "scale: 0.1 oz, syringe: 1/4 tsp"), "--today", "2027-06-05")
    assert (
        "Measure 12.3 ml fish" in told
    )  # ten quarters of a US teaspoon, 4.92892159375 ml each (NIST Handbook 44)


def test_dose_weighs_on_the_scale_of_the_collection(tmp_path: Path) -> None:
    folder = garden(tmp_path, "scale: 0.1 oz")
    assert "Weigh 37 g (1.3 oz) into 20 US gal" in said("dose", "-c", folder, "powder", "100 ppm", "20 gal")
    small = said("dose", "-c", folder, "powder", "100 ppm", "2", "gal")
    assert "is too little to weigh on a 0.1 oz scale" in small
    assert "Dissolve 51 g (1.8 oz) in water to make 1 L" in small
    facts = json.loads(said("dose", "-c", folder, "powder", "100 ppm", "2 gal", "--json"))
    assert facts["too_small_to_weigh"] is True
    fine = garden(tmp_path, "scale: 0.01 g")
    assert "Weigh 0.47 g (" not in said("dose", "-c", fine, "fish", "60 ppm", "2 gal")
    assert "Weigh 0.47 g into 1 US quart" in said("dose", "-c", fine, "powder", "100 ppm", "1", "quart")


@pytest.mark.parametrize("scale", ["0.1", "0 oz", "0.1 ml", "thin"])
def test_a_scale_that_is_none_is_refused(scale: str, tmp_path: Path) -> None:
    result = CliRunner().invoke(feedplan, ["check", "-c", garden(tmp_path, f"scale: {scale}")])
    assert result.exit_code == 1
    assert "scale of measures: " in result.output
