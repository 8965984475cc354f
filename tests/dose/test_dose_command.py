"""`feedplan dose`: the first line is what a wet hand needs; a refusal is one line with a remedy."""

from __future__ import annotations

import json
import subprocess
import sys
from decimal import Decimal
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from feedplan.cli.dose import dose
from feedplan.cli.dose_answer import answer_dose
from feedplan.cli.dose_options import DoseOptions, StockRequest
from feedplan.cli.dose_product import DoseRequest
from feedplan.cli.dose_request import read_dose
from feedplan.cli.main import feedplan
from feedplan.cli.mixing import read_mix
from feedplan.dose.arithmetic import Product
from feedplan.dose.grade import Ratio, parse_grade
from feedplan.dose.strength import NutrientTarget, PpmN


def run(*words: str) -> Result:
    return CliRunner().invoke(feedplan, ["dose", *words])


BASE = ("--grade", "20-10-20", "--ppm", "100")


def test_grams_come_first_then_what_comes_along() -> None:
    result = run(*BASE, "--litres", "10")
    assert result.exit_code == 0
    # 5.0 g by hand: 100 ppm x 10 L / (10 x 20 %); P and K: 50 and 100 mg/L oxide x 0.436 and 0.830.
    assert result.stdout.splitlines() == [
        "Weigh 5.0 g into 10 L.",
        "That is 0.5 g per litre.",
        "Gives 100 ppm N, 21.8 P, 83 K (mg per litre, as elements).",
    ]


def typed(*words: str) -> DoseOptions:
    return DoseOptions(
        **dose.make_context("dose", list(words), click.Context(feedplan, **feedplan.context_settings)).params
    )


def test_what_was_typed_becomes_a_request_of_plain_values() -> None:
    request = read_dose(typed(*BASE, "--gallons-us", "2", "--dilution", "1:100"))
    assert request == DoseRequest(
        Product(parse_grade("20-10-20")),
        PpmN(Decimal(100)),
        Decimal("7.570823568"),
        "2 US gal (7.57 L)",
        stock=StockRequest(Decimal(100), Decimal(10), None),
    )
    assert (
        "\n".join(answer_dose(request).lines) + "\n"
        == run(*BASE, "--gallons-us", "2", "--dilution", "1:100").stdout
    )
    iron = read_dose(typed("--grade", "0-0-0", "--nutrient", "2 mg Fe per L", "--litres", "1"))
    assert iron.strength == NutrientTarget("Fe", Decimal(2))
    mix = read_mix(
        typed("--mix", "--ratio", "3-1-2 oxide", "--ppm", "80", "--of", "20-10-20", "--litres", "5")
    )
    assert (mix.n_mg_per_l, mix.ratio) == (Decimal(80), Ratio(Decimal(3), Decimal(1), Decimal(2), "oxide"))
    assert [one.product.name for one in mix.candidates.known] == ["20-10-20"]


def test_a_mix_never_holds_more_nitrogen_than_was_asked() -> None:
    # Far too little P in it: the least miss would be bought with more N than asked.
    words = ("--mix", "--ratio", "1-5-1 oxide", "--ppm", "50", "--litres", "10", "--of", "20-20-20")
    facts = json.loads(run(*words, "--json").stdout)
    assert facts["n_mg_per_l"] == 50
    assert facts["misses_percent"]["P"] == pytest.approx(-80)


def test_json_says_the_same_with_units_in_the_keys() -> None:
    facts = json.loads(run(*BASE, "--litres", "10", "--json").stdout)
    assert list(facts)[:6] == ["grams", "grams_per_litre", "n_mg_per_l", "p_mg_per_l", "k_mg_per_l", "litres"]
    assert facts["grams"] == 5.0
    assert facts["p_mg_per_l"] == pytest.approx(21.82, abs=0.01)
    assert facts["k_mg_per_l"] == pytest.approx(83.02, abs=0.01)
    assert facts["cautions"] == []


def test_an_elemental_label_is_taken_at_its_word() -> None:
    facts = json.loads(run(*BASE, "--litres", "10", "--elemental", "--json").stdout)
    assert (facts["p_mg_per_l"], facts["k_mg_per_l"]) == (50.0, 100.0)


def test_a_liquid_is_measured_in_millilitres() -> None:
    words = ("--grade", "7-3-6", "--density", "1.15", "--ppm", "100", "--litres", "10")
    assert run(*words).stdout.splitlines()[0] == "Measure 12.4 ml into 10 L."
    facts = json.loads(run(*words, "--json").stdout)
    assert facts["millilitres_per_litre"] == pytest.approx(1.2422, abs=0.0001)
    assert "grams" not in facts


def test_a_label_by_volume_needs_no_density() -> None:
    words = ("--grade", "7-3-6", "--by-volume", "--ppm", "100", "--litres", "10")
    assert run(*words).stdout.splitlines()[0] == "Measure 14.3 ml into 10 L."


def test_gallons_are_said_as_gallons_and_litres() -> None:
    assert run(*BASE, "--gallons-us", "2").stdout.splitlines()[0] == "Weigh 3.8 g into 2 US gal (7.57 L)."
    imperial = run(*BASE, "--gallons-imperial", "2").stdout.splitlines()[0]
    assert imperial == "Weigh 4.5 g into 2 imperial gal (9.09 L)."


def test_spoons_are_said_with_their_weight() -> None:
    lines = run(*BASE, "--litres", "10", "--spoon", "5.5").stdout.splitlines()
    assert lines[1] == "That is 0.5 g per litre, about 0.9 level spoons of 5.5 g in all (weighing is surer)."


def test_a_share_of_the_label_rate() -> None:
    words = (
        "--grade",
        "24-8-16",
        "--label-rate",
        "10 g per 10 L",
        "--label-fraction",
        "1/2",
        "--litres",
        "9",
    )
    assert run(*words).stdout.splitlines()[0] == "Weigh 4.5 g into 9 L."


def test_too_little_to_weigh_becomes_a_stock() -> None:
    words = ("--grade", "20-10-20", "--ppm", "20", "--litres", "2")
    lines = run(*words).stdout.splitlines()
    assert lines[0] == "Dissolve 5.0 g in water to make 1 L, use 40 ml of it in 2 L."
    assert lines[1].startswith("(0.2 g is too little to weigh on a 0.1 g scale.")
    facts = json.loads(run(*words, "--json").stdout)
    assert facts["too_small_to_weigh"]
    assert (facts["grams"], facts["stock_grams_per_litre"], facts["stock_ml"]) == (0.2, 5.0, 40.0)


def test_a_dilution_gives_the_stock_and_what_to_use_of_it() -> None:
    lines = run(*BASE, "--litres", "10", "--dilution", "1:100").stdout.splitlines()
    assert lines[0] == "Measure 100.0 ml of 1:100 stock, fill to 10 L."
    assert lines[1].startswith(
        "Stock: 50.0 g made up to 1 L with water. 1:100 means 1 part of stock in 100 parts"
    )
    facts = json.loads(run(*BASE, "--litres", "10", "--dilution", "1:100", "--json").stdout)
    assert (facts["stock_grams_per_litre"], facts["stock_ml"]) == (50.0, 100.0)


def test_a_strong_feed_carries_a_caution_and_an_ordinary_one_does_not() -> None:
    strong = ("--grade", "20-10-20", "--litres", "10", "--ppm", "300")
    assert "above 250 ppm N salts can burn roots" in run(*strong).stdout
    assert "burn" not in run(*BASE, "--litres", "10").stdout


def test_a_strong_stock_carries_a_caution() -> None:
    words = (*BASE, "--litres", "10", "--dilution", "1:500")
    assert "Strong stock: it may not dissolve in cold water." in run(*words).stdout


def test_the_label_maximum_refuses_or_caps() -> None:
    words = ("--grade", "20-10-20", "--ppm", "400", "--litres", "3", "--label-maximum", "1 g/L")
    assert run(*words).stderr == (
        "Error: 20-10-20: 400 ppm N takes 2 g/L, above the label's 1 g/L; ask for less\n"
    )
    capped = run(*words, "--cap").stdout
    assert capped.splitlines()[0] == "Weigh 3.0 g into 3 L."
    assert "Cut from 2 to 1 g per litre: the label allows no more." in capped


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (
            ("--litres", "10"),
            "no product; say its label's three numbers, its name, or one of your collection, such as: "
            "feedplan dose 20-10-20 100 ppm 10 L",
        ),
        (
            ("--litres", "10", "--grade", "20-10-20", "--ppm", "3000"),
            "--ppm 3000 ppm N is outside 0 to 2000 ppm N; feeds for trees are 20 to 200 ppm N",
        ),
        (
            ("--litres", "10", "--grade", "0-52-34", "--ppm", "50"),
            "0-52-34 holds no nitrogen, so ppm N sets no dose; use a share of its label rate instead",
        ),
        (
            (*BASE, "--label-fraction", "1/2", "--litres", "10"),
            "--ppm and --label-fraction exclude each other; give one",
        ),
        (
            (*BASE, "--litres", "1", "--gallons-us", "1"),
            "--litres and --gallons-us exclude each other; give one",
        ),
        (
            (*BASE, "--litres", "1", "--by-volume", "--density", "1.2"),
            "--density and --by-volume exclude each other; a label by volume (w/v) needs no density",
        ),
        (
            (*BASE, "--litres", "1", "--label-rate", "1 ml/L"),
            "--label-rate is in ml, so this is a liquid; add --density 1.2 (your label's), or --by-volume",
        ),
        (
            (*BASE, "--litres", "1", "--by-volume", "--label-rate", "1 g/L"),
            "--label-rate is in grams, but a liquid is measured in ml; write it in ml/L",
        ),
        (
            (*BASE, "--litres", "2,5"),
            "--litres '2,5' has a comma; decimals have a point: write 2.5",
        ),
        ((*BASE, "--litres", "0"), "--litres 0 is nothing to mix; give a number above 0"),
        ((*BASE, "--gallons-us", "10 L"), "--gallons-us '10 L' is more than a number; leave out 'L'"),
        (
            ("--grade", "20-10", "--ppm", "100", "--litres", "10"),
            "--grade '20-10' is not a grade; write the label's three percentages, such as 24-8-16",
        ),
        (
            ("winter-powder", *BASE, "--litres", "10"),
            "'winter-powder' has its label in the collection; leave out --grade and its like",
        ),
    ],
)
def test_a_refusal_is_one_line_with_a_remedy(words: tuple[str, ...], message: str) -> None:
    result = run(*words)
    assert (result.exit_code, result.stdout, result.stderr) == (2, "", f"Error: {message}\n")


SHELF = """
place: {name: Skerry Court, latitude: 55.6, time_zone: Europe/London}
habits: {can: 9 L}
feeds:
  spring-powder: {grade: 24-8-16, form: soluble, spoon: 5.5 g, label_rate: 1 g per L}
  autumn-liquid: {grade: 6-10-12, form: liquid, density: 1.22 kg per L}
  coated: {grade: 16-8-12, form: coated, longevity: 150 days}
groups:
  growing-on: {schedule: vigorous, feed: spring-powder}
trees:
  - {name: Brindle, species: larch, group: growing-on, pot: 30 x 22 x 7 cm}
"""


@pytest.fixture
def shelf(tmp_path: Path) -> str:
    (tmp_path / "collection.yaml").write_text(SHELF, encoding="utf-8")
    return str(tmp_path)


def test_a_product_of_the_collection_is_mixed_in_its_own_can(shelf: str) -> None:
    # By hand: 120 ppm x 9 L / (10 x 24 %) = 4.5 g; 61 / (10 x 6 % x 1.22) = 0.833 ml/L.
    assert run("spring-powder", "-c", shelf, "--ppm", "120").stdout.splitlines()[0] == "Weigh 4.5 g into 9 L."
    half = run("spring-powder", "-c", shelf, "--label-fraction", "1/2", "--litres", "5")
    assert half.stdout.splitlines()[0] == "Weigh 2.5 g into 5 L."
    liquid = run("autumn-liquid", "-c", shelf, "--ppm", "61", "--litres", "12")
    assert liquid.stdout.splitlines()[0] == "Measure 10.0 ml into 12 L."


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("coated", "'coated' is laid on the pot, not mixed into water; name a soluble or liquid feed"),
        ("spring-power", "no feed 'spring-power' in the collection; did you mean spring-powder?"),
    ],
)
def test_a_product_that_cannot_be_mixed_is_refused(shelf: str, name: str, message: str) -> None:
    result = run(name, "-c", shelf, "--ppm", "100")
    assert (result.exit_code, result.stderr) == (2, f"Error: {message}\n")


def test_help_starts_with_one_line_and_an_example_to_paste() -> None:
    text = run("--help").stdout
    assert "Say how much feed to weigh or measure for a can of water." in text
    assert "feedplan dose 20-20-20 100ppm 10L" in text


def test_the_command_loads_nothing_that_an_ordinary_dose_does_not_need() -> None:
    code = (
        "import sys; from feedplan.cli.main import feedplan\n"
        "try: feedplan(['dose', '20-20-20', '100ppm', '10L'])\n"
        "except SystemExit: pass\n"
        "print(*sys.modules, file=sys.stderr)"
    )
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(result.stderr.split())
    assert "Weigh 5.0 g into 10 L." in result.stdout
    assert "click" in loaded
    assert not {"pydantic", "yaml", "icalendar", "fractions", "difflib"} & loaded
    assert not {f"feedplan.dose.{name}" for name in ("conductivity", "mix", "salts", "release")} & loaded
    assert not {
        name for name in loaded if name.startswith(("feedplan.engine", "feedplan.load", "feedplan.model"))
    }
