"""The shelf and the pen from the command line: shelf, record ec, record laid, dose --mix, stocks."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.conftest import COLLECTION, TODAY, Run

STOCKED = COLLECTION.replace(
    "label_maximum: 2 g per L}",
    "label_maximum: 2 g per L, nitrogen: {nitrate: 12 %, ammonium: 8 %}, stock: 5 g, counted: 2027-06-01}",
).replace("feeds:\n", "water: {tap: {ec: 0.5 mS/cm}}\nfeeds:\n")


@pytest.fixture
def stocked(folder: Path) -> Path:
    (folder / "collection.yaml").write_text(STOCKED)
    return folder


def test_shelf_says_what_is_left_what_is_needed_and_what_to_buy(stocked: Path, run: Run) -> None:
    result = run("shelf", today=TODAY)
    assert result.exit_code == 0
    lines = result.stdout.splitlines()
    assert lines[0] == "The shelf on 14 June 2027, planned to 31 December 2027"
    assert any(line.startswith("powder: ") and "left of 5 g on Tue 1 Jun." in line for line in lines)
    assert "No plan uses: coated-16." in lines
    facts = json.loads(run("shelf", "--json", today=TODAY).stdout)
    powder, coated = facts["products"]
    assert powder["needed_with_spare_g"] == pytest.approx(powder["needed_g"] * 1.15, abs=0.1)
    assert powder["buy_g"] >= powder["needed_with_spare_g"] - powder["left_g"]
    assert (coated["planned"], coated["left_g"], coated["buy_g"]) == (False, None, None)


def test_without_a_stock_the_shelf_says_what_to_write(folder: Path, run: Run) -> None:
    assert "powder: no stock told. Write stock: and counted:" in run("shelf", today=TODAY).stdout


def test_a_readings_words_come_with_the_record_and_in_the_days_round(stocked: Path, run: Run) -> None:
    day = json.loads(run("why", "Moth", "--json", today=TODAY).stdout)["last_feed"]["date"]
    result = run("record", "ec", "4.1", "Moth", "--date", day, today=TODAY)
    assert result.exit_code == 0, result.stderr
    assert "Take care: Read 4.10, expected" in result.stdout
    assert "ec: 4.1 mS/cm" in (stocked / "journal.yaml").read_text()
    assert "too strong; check the product" in run("round", "--all", "--date", day, today=TODAY).stdout


def test_a_reading_may_come_with_its_unit_and_temperature(stocked: Path, run: Run) -> None:
    assert run("record", "ec", "850", "uS/cm", "Moth", "--at", "12", "--drain", today=TODAY).exit_code == 0
    last = (stocked / "journal.yaml").read_text().splitlines()[-1]
    assert "ec: 850 uS/cm, of: drain, read_at: 12 °C" in last


def test_a_meters_ppm_is_refused_with_what_to_do(stocked: Path, run: Run) -> None:
    result = run("record", "ec", "700 ppm", "Moth", today=TODAY)
    assert result.exit_code == 2
    assert "switch it to mS/cm" in result.stderr


def test_solid_feed_is_recorded_by_weight_or_by_rate_and_never_by_both(folder: Path, run: Run) -> None:
    assert (
        "2 g of coated-16 per litre of pot"
        in run("record", "laid", "coated-16", "Moth", "--rate", "2", today=TODAY).stdout
    )
    for words in ((), ("--grams", "5", "--rate", "2")):
        result = run("record", "laid", "coated-16", "Moth", *words, today=TODAY)
        assert result.exit_code == 2
        assert "--grams for each tree, or --rate for each litre of pot" in result.stderr


MIX = ("dose", "--mix", "--ratio", "3-1-2 oxide", "--ppm", "100")
PRODUCTS = ("--of", "20-10-20", "--of", "15.5-0-0", "--of", "0-0-50")


def test_three_products_give_grams_for_two_of_them_without_a_collection(tmp_path: Path, run: Run) -> None:
    lines = run(*MIX, "--litres", "10", *PRODUCTS).stdout.splitlines()
    # By hand: 0.333 g/L brings P 14.5 and K 55.3; 33.3 N from 15.5-0-0 take 0.215 g/L.
    assert lines[0] == "Weigh 3.3 g 20-10-20 + 2.2 g 15.5-0-0 into 10 L."
    assert lines[1] == "Asked 3-1-2 oxide: 100 N, 14.5 P, 55.3 K mg per litre, as elements."
    assert lines[2] == "Holds 100 N, 14.5 P, 55.3 K: as asked."


def test_the_mix_as_json_says_the_same(run: Run) -> None:
    facts = json.loads(run(*MIX, "--litres", "10", *PRODUCTS, "--json").stdout)
    assert [(p["product"], round(p["grams"], 1)) for p in facts["products"]] == [
        ("20-10-20", 3.3),
        ("15.5-0-0", 2.2),
    ]
    assert facts["misses_percent"] == {"N": 0.0, "P": 0.0, "K": 0.0}
    assert facts["with_water"] is False


def test_the_mix_of_a_collection_knows_its_water_and_its_can(stocked: Path, run: Run) -> None:
    text = run(*MIX).stdout
    assert text.startswith("Weigh 5.0 g powder into 10 L.")
    assert "It takes a feed without" in text
    assert "A conductivity pen shows about 1.1" in text  # 0.5 of the water and about 0.65 of the feed


def test_what_must_not_meet_as_a_concentrate_is_said(run: Run) -> None:
    text = run(*MIX, "--litres", "10", "--of", "20-10-20", "--of", "calcium nitrate tetrahydrate").stdout
    assert "dissolve each apart in half the water" in text
    assert "As stocks keep them apart: bottle A: 20-10-20; bottle B: calcium nitrate tetrahydrate." in text
    assert "An oxidiser" in text


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("--ratio", "3-1-2 oxide", "--ppm", "100"), "a mix takes --mix, --ratio and --ppm"),
        (("--mix", "--ppm", "100"), "a mix takes --mix, --ratio and --ppm"),
        (
            (*MIX[1:3], "3-1-2", "--ppm", "100", "--of", "20-10-20"),
            "does not say what P and K are counted as",
        ),
        ((*MIX[1:], "--of", "ammonium nitrate", "--litres", "1"), "restricted in many countries"),
        ((*MIX[1:4], "--label-fraction", "1/2", "--of", "20-10-20"), "give its strength with --ppm"),
        ((*MIX[1:], "--of", "20-10-20"), "no amount of feed; add how much to mix"),
    ],
)
def test_a_mix_that_cannot_be_is_refused_with_what_to_type(
    words: tuple[str, ...], message: str, run: Run
) -> None:
    result = run("dose", *words)
    assert result.exit_code == 2
    assert message in result.stderr


def test_a_stock_names_gloves_and_backflow_and_a_feed_in_the_can_does_not(run: Run) -> None:
    plain = ("dose", "--grade", "20-10-20", "--ppm", "100", "--litres", "10")
    assert "gloves" not in run(*plain).stdout
    text = run(*plain, "--dilution", "1:100").stdout
    assert "gloves and eye protection" in text
    assert "backflow protection your local code asks for" in text
    assert "oxidiser" not in text


def test_a_salt_keeps_to_what_dissolves_in_the_cold_and_gets_a_label(run: Run) -> None:
    words = ("dose", "--salt", "potassium nitrate", "--ppm", "100", "--litres", "10", "--dilution")
    text = run(*words, "1:100", "--bottle", "2").stdout
    assert "An oxidiser" in text
    assert "potassium nitrate stock. NOT FOR DRINKING." in text
    assert "144.4 g made up to 2 L with water." in text  # 72.2 g in a litre: 10 / 0.13854
    refused = run(*words, "1:200", "--coldest", "5")
    assert refused.exit_code == 2
    assert "may crystallise at 5 °C" in refused.stderr
    assert run(*words, "1:200", "--coldest", "20").exit_code == 0


def test_a_restricted_salt_gets_no_stock_and_no_label(run: Run) -> None:
    result = run(
        "dose", "--salt", "ammonium nitrate", "--ppm", "100", "--litres", "10", "--dilution", "1:100"
    )
    assert result.exit_code == 2
    assert "no stock is worked out for it" in result.stderr


def test_a_feed_of_the_shelf_tells_what_a_pen_shows_warm_and_cold(stocked: Path, run: Run) -> None:
    words = ("dose", "powder", "--ppm", "100", "--litres", "10")
    text = run(*words, "--at", "10").stdout
    # 0.5 of the water and about 0.65 per 100 ppm N; at 10 °C 28 % less (2 % per degree).
    assert "A conductivity pen shows about 1.1" in text
    assert "Without temperature correction it shows 0.8" in text
    facts = json.loads(run(*words, "--json").stdout)
    assert facts["ec_at_25_c_ms_per_cm"]["likely"] == pytest.approx(1.15, abs=0.05)
    assert facts["with_water"] is True


def test_chelated_iron_is_dosed_by_its_iron(run: Run) -> None:
    words = (
        "dose",
        "--grade",
        "0-0-0",
        "--contains",
        "Fe 6 %",
        "--nutrient",
        "1 mg Fe per L",
        "--litres",
        "100",
    )
    lines = run(*words).stdout.splitlines()
    assert lines[0] == "Weigh 1.7 g into 100 L."  # 100 mg of iron at 6 %
    assert "1 Fe" in lines[2]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("--nutrient", "1 mg Fe per L"), "holds no Fe as far as is told; add --contains 'Fe 6 %'"),
        (("--nutrient", "much iron"), "is no target; write for example '2 mg Fe per L'"),
        (("--nutrient", "1 mg N per L", "--ppm", "50"), "--nutrient stands in place of --ppm"),
        (("--ppm", "50", "--contains", "iron"), "is no content; write for example 'Fe 6 %'"),
    ],
)
def test_targets_that_cannot_be_are_refused(words: tuple[str, ...], message: str, run: Run) -> None:
    result = run("dose", "--grade", "20-10-20", "--litres", "10", *words)
    assert result.exit_code == 2
    assert message in result.stderr
