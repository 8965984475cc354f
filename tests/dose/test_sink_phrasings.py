"""However it is asked at the sink, the answer is the one worked out by hand; a refusal says what to type instead."""

from __future__ import annotations

import json
import os
import shlex
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from hypothesis import example, given
from hypothesis import strategies as st

from feedplan.cli.main import feedplan
from tests.dose.published import rows

SHELF = """
place: {name: Skerry Court, latitude: 55.6, time_zone: Europe/London}
habits: {can: 9 L}
water: {tap: {ec: 0.5 mS/cm}}
feeds:
  spring-24-8-16: {grade: 24-8-16, form: soluble, spoon: 5.5 g, label_rate: 1 g per L, label_maximum: 2 g per L,
                   ec: 0.45 mS/cm per 100 ppm N}
  Late bottle: {grade: 6-10-12, form: liquid, density: 1.22 kg per L, label_rate: 4 ml per L}
  15-15-15: {grade: 15-15-15, form: soluble, label_rate: 0.5 g per L}
  coated: {grade: 16-8-12, form: coated, longevity: 150 days}
groups:
  growing-on: {schedule: vigorous, feed: spring-24-8-16}
trees:
  - {name: Brindle, species: larch, group: growing-on, pot: 30 x 22 x 7 cm}
"""


def run(*words: str) -> Result:
    return CliRunner().invoke(feedplan, ["dose", *words])


def asked(phrase: str) -> Any:
    """The facts of an answer. Each word of the phrase is one of the command line, as a shell splits it."""
    result = run(*shlex.split(phrase), "--json")
    assert result.exit_code == 0, result.stderr
    return json.loads(result.stdout)


@pytest.fixture(autouse=True)
def nowhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder without a collection to stand in."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


# Worked out by hand: g/L = ppm / (10 x %); P = 0.43643 P2O5, K = 0.83015 K2O; US gal 3.785412 L, imperial 4.54609 L, US
# tsp 4.928922 ml, US fl oz 29.57353 ml, oz 28.34952 g.
PHRASINGS = [
    # Any order, any signs, quoted or not.
    ("20-20-20 100ppm 10L", "grams", 5.0),  # 100 x 10 / (10 x 20)
    ("20-20-20 100 ppm 10 L", "grams", 5.0),
    ("20/20/20 100 ppm 10 litres", "grams", 5.0),
    ("'20 - 20 - 20' 100ppm 10L", "grams", 5.0),
    ("10L 20-20-20 100ppm", "grams", 5.0),
    ("100ppm 10 L of NPK 20-20-20", "grams", 5.0),
    ("'100 ppm of 20-20-20 in 10 L please'", "grams", 5.0),
    ("20 20 20 100ppm 10L", "grams", 5.0),
    ("20-20-20 100ppm 10L every week", "grams", 5.0),
    ("20–20–20, 100 ppm N, 10 L", "grams", 5.0),  # dashes of a word processor
    ("20-20-20 100 ppm can 10", "grams", 5.0),
    ("20-20-20 100ppm --can 10", "grams", 5.0),
    ("20-20-20 --ppm 100 10L", "grams", 5.0),  # an option beside words
    ("--grade 20-20-20 100ppm 10L", "grams", 5.0),
    # Strengths.
    ("20-20-20 100 mg/L 10 L", "grams", 5.0),
    ("20-20-20 100 mg N per litre 10 L", "grams", 5.0),
    ("20-20-20 100 ppm nitrogen 10 L", "grams", 5.0),
    ("20-20-20 50 ppm P 10 L", "grams", 5.72830),  # 50 x 10 / (200 x 0.43643)
    ("20-20-20 50 ppm P 10 L", "n_mg_per_l", 114.566),  # 0.572830 g/L x 200
    ("20-20-20 50 ppm P2O5 10 L", "grams", 2.5),  # 50 x 10 / 200, and 0.25 g/L x 200 is 50 N
    ("20-20-20 100 ppm of K2O 10 L", "n_mg_per_l", 100.0),
    ("0-0-0 --contains 'Fe 6 %' 2 mg Fe per L 10 L", "grams", 0.333333),  # 2 x 10 / 60
    ("24-8-16 half label 1 g/L 10 L", "grams", 5.0),  # 0.5 x 1 x 10
    ("24-8-16 1/2 label 1g/L 10 L", "grams", 5.0),
    ("24-8-16 half-strength 1 g per L 10 L", "grams", 5.0),
    ("24-8-16 25 % of the label rate 10 g per 10 L 8 L", "grams", 2.0),  # 0.25 x 1 x 8
    ("24-8-16 three quarters label 1 g/L 10 L", "grams", 7.5),
    ("24-8-16 label 1 g/L 10 L", "grams", 10.0),
    # Volumes: 100 ppm of 24 % N takes 0.416667 g/L, 200 ppm of 20 % 1 g/L.
    ("24-8-16 100ppm 2 gal", "grams", 3.154510),  # 0.416667 x 7.570824
    ("24-8-16 100ppm '2 gal'", "grams", 3.154510),
    ("24-8-16 100ppm 2 gallons --measures imperial", "grams", 3.788408),  # 0.416667 x 9.09218
    ("24-8-16 100ppm 2 UK gal", "grams", 3.788408),
    ("24-8-16 100ppm two gallons us", "grams", 3.154510),
    ("24-8-16 100ppm --can '2 gal'", "grams", 3.154510),
    ("20-20-20 200ppm 1 quart", "grams", 0.946353),
    ("20-20-20 200ppm 2 pints --measures imperial", "grams", 1.136523),
    ("20-20-20 200ppm 32 fl oz", "grams", 0.946353),
    ("20-20-20 200ppm 500 ml", "grams", 0.5),
    # Through a stock or an injector: 0.5 g/L x 200.
    ("20-20-20 100ppm 10L 1:200", "stock_grams_per_litre", 100.0),
    ("20-20-20 100ppm 10L 1:200", "stock_ml", 50.0),  # 10 L / 200
    ("20-20-20 100ppm 0.5% 10L", "stock_ml", 50.0),
    ("20-20-20 100ppm 0.5 % injector 10L", "stock_grams_per_litre", 100.0),
    ("20-20-20 100ppm 10L 1 in 200", "stock_grams_per_litre", 100.0),
    # And back: what is in it.
    ("20-20-20 --grams 5 --litres 10", "n_mg_per_l", 100.0),  # 5 x 200 / 10
    ("20-20-20 5 g in 10 L", "k_mg_per_l", 83.015),  # 100 x 0.83015
    ("24-8-16 1 g/L", "n_mg_per_l", 240.0),
    ("20-20-20 1 lb 100 gal", "n_mg_per_l", 239.652),  # 453.59237 x 200 / 378.5412
    ("20-20-20 1 tsp 1 gal spoon 5.67 g", "n_mg_per_l", 299.571),  # 5.67 x 200 / 3.785412
    ("20-20-20 1 level tsp per gallon spoon 5.67 g", "n_mg_per_l", 299.571),
    ("20-20-20 1 tsp (5.67 g) per gallon", "n_mg_per_l", 299.571),
    ("20-20-20 half a teaspoon per gallon --spoon 5", "n_mg_per_l", 132.086),  # 2.5 x 200 / 3.785412
    ("20-20-20 ½ tsp per gallon spoon 5 g", "n_mg_per_l", 132.086),
    ("20-20-20 1 1/2 tsp per gallon spoon 5 g", "n_mg_per_l", 396.258),
    ("7-3-6 density 1.15 1 tbsp 2 gal", "n_mg_per_l", 157.226),  # 14.786765 x 80.5 / 7.570824
    ("7-3-6 1.15 kg/L 1 fl oz 2 gal", "n_mg_per_l", 314.452),  # 29.57353 x 80.5 / 7.570824
    ("7-3-6 by volume 5 ml per 10 L", "n_mg_per_l", 35.0),  # 5 x 70 / 10
    ("7-3-6 w/v 2 tsp 10 L", "n_mg_per_l", 70.0),  # 10 ml x 70 / 10: a metric spoon
    ("7-3-6 w/v 2 capfuls of 7 ml 10 L", "n_mg_per_l", 98.0),  # 14 x 70 / 10
    ("7-3-6 w/v --ml 5 --litres 1", "n_mg_per_l", 350.0),
    ("7-3-6 density 1.15 10 g 10 L", "n_mg_per_l", 70.0),  # 7 % of 10 g in 10 L, whatever it weighs
    ("7-3-6 w/v 1:200 10 L", "n_mg_per_l", 350.0),  # 5 ml/L x 70
    ("20-20-20 200 g 2 L stock 1:100", "n_mg_per_l", 200.0),  # 100 g/L x 200 / 100
    ("20-20-20 5 g 100 ppm", "litres", 10.0),  # 5 x 200 / 100
    # A rate and a can, in any order and in other measures: 0.5 g/L x 5 L, 5 g/can x 2 cans of 10 L, and so on.
    ("20-20-20 0.5 g/L 5 L", "grams", 2.5),
    ("20-20-20 0.5 g/L 5 L", "n_mg_per_l", 100.0),
    ("20-20-20 5 L 0.5 g/L", "grams", 2.5),
    ("20-20-20 0.5 g/l in 5l", "grams", 2.5),
    ("20-20-20 0.5 g per litre --can 5", "grams", 2.5),
    ("20-20-20 0.5 g/L --litres 5", "grams", 2.5),
    ("20-20-20 5 g per 10 L 5 L", "grams", 2.5),
    ("20-20-20 0.5 g to the litre 5 L", "grams", 2.5),
    ("20-20-20 0.5 g in each litre 5 L", "grams", 2.5),
    ("20-20-20 0.5 g/L 500 ml", "grams", 0.25),
    ("20-20-20 5 g per can 2 cans", "grams", 10.0),
    ("20-20-20 5 g per can 30 L", "grams", 15.0),
    ("20-20-20 0.5 g/L 2 cans", "grams", 10.0),
    ("20-20-20 1 tsp per gal 5 gal spoon 5.67 g", "grams", 28.35),  # 5 x 5.67
    ("epsom salt 1 g per L 5 L", "grams", 5.0),
    ("0-10-10 w/v 5 ml per L 10 L", "millilitres", 50.0),
    ("7-3-6 w/v 5 ml/L 500 ml", "millilitres", 2.5),
    ("20-20-20 1 g 500 ml", "n_mg_per_l", 400.0),
    (
        "24-8-16 half label 10 L 1 g/L",
        "grams",
        5.0,
    ),  # the label's rate is the one with "per", wherever it stands
    ("24-8-16 label 50 % 1 g/L 10 L", "grams", 5.0),
    ("24-8-16 recommended rate 1 g/L 10 L", "grams", 10.0),
    # Labels of other kinds.
    ("20-20-20 elemental 100ppm 10L", "p_mg_per_l", 100.0),
    ("'4:3:4(33)' 100ppm 10L", "grams", 8.33333),  # 33 x 4 / 11 is 12 % N
    # Names as people say them, as they are sold.
    ("epsom salt 20 ppm Mg 10 L", "grams", 2.07283),  # 20 x 10 / (10 x 16 x 0.60304)
    ("20 ppm magnesium from Epsom Salts, 10 L".replace("from ", ""), "grams", 2.07283),
    ("calcium nitrate 100 ppm 10 L", "grams", 6.45161),  # 100 x 10 / 155
    ("K2SO4 100 ppm K 10 L", "grams", 2.40920),
    ("potash 100 ppm K 10 L", "grams", 2.40920),  # 100 x 10 / (500 x 0.83015)
    ("muriate of potash 100 ppm K 10 L", "grams", 2.00767),  # 100 x 10 / (600 x 0.83015)
    ("sulphate of ammonia 100ppm 10L", "grams", 4.76190),  # 100 x 10 / 210
    ("saltpetre 60ppm 10L", "grams", 4.61538),  # 60 x 10 / 130
    ("mkp 30 ppm P 10 L", "grams", 1.32190),  # 30 x 10 / (520 x 0.43643)
    ("urea 46 ppm 10L", "grams", 1.0),
    ("fish emulsion 5-1-1 w/v 1 tbsp 1 gal", "n_mg_per_l", 195.313),  # 14.786765 x 50 / 3.785412
    ("5-1-1 fish emulsion density 1.15 50 ppm 10 L", "millilitres", 8.69565),  # 50 x 10 / 57.5
]


@pytest.mark.parametrize(("phrase", "key", "value"), PHRASINGS, ids=[f"{p} {k}" for p, k, _ in PHRASINGS])
def test_it_is_answered_however_it_is_asked(phrase: str, key: str, value: float) -> None:
    assert asked(phrase)[key] == pytest.approx(value, rel=2e-5)


def test_there_are_sixty_ways_and_more() -> None:
    assert len({phrase for phrase, _, _ in PHRASINGS}) >= 60


IN_THE_COLLECTION = [
    ("spring-24-8-16 100ppm 10L", "grams", 4.16667),  # 100 x 10 / 240
    ("spring-24-8-16 100ppm", "grams", 3.75),  # one can of 9 L
    ("Spring-24-8-16 100ppm 2 cans", "grams", 7.5),
    ("spring-24-8-16 half label 10 L", "grams", 5.0),  # the label's own 1 g/L
    ("spring-24-8-16 label rate 10 L", "grams", 10.0),
    ('spring-24-8-16 10 L "at the label\'s rate"', "grams", 10.0),
    ("spring-24-8-16 label half 10 L", "grams", 5.0),
    ("spring-24-8-16 recommended strength 10 L", "grams", 10.0),
    ("spring-24-8-16 0.5 g/L 2 cans", "grams", 9.0),  # cans of 9 L
    ("late bottle 61 ppm 12 L", "millilitres", 10.0),  # 61 x 12 / (10 x 6 x 1.22)
    ("'Late bottle' 61 ppm 12 L", "millilitres", 10.0),
    ("spring-24-8-16 1 tsp 5 L", "n_mg_per_l", 264.0),  # 5.5 x 240 / 5
    ("spring-24-8-16 2 spoons 10 L", "n_mg_per_l", 264.0),
    ("spring-24-8-16 1 tbsp 10 L spoon 16 g", "n_mg_per_l", 384.0),  # 16 x 240 / 10
    ("spring-24-8-16 EC 1.4 10 L", "n_mg_per_l", 200.0),  # (1.4 - 0.5) / 0.45 x 100
    (
        "15-15-15 full label 10 L",
        "grams",
        5.0,
    ),  # the feed of that name, with its label, not just any 15-15-15
]


@pytest.mark.parametrize(
    ("phrase", "key", "value"), IN_THE_COLLECTION, ids=[p for p, _, _ in IN_THE_COLLECTION]
)
def test_a_product_of_the_collection_one_stands_in(
    nowhere: Path, phrase: str, key: str, value: float
) -> None:
    (nowhere / "collection.yaml").write_text(SHELF, encoding="utf-8")
    assert asked(phrase)[key] == pytest.approx(value, rel=2e-5)


PIECES = ("20-20-20", "100 ppm", "10 L", "1:100", "at", "into the can")


@given(st.permutations(PIECES))
def test_the_order_says_nothing(pieces: list[str]) -> None:
    words = " ".join(pieces)
    assert run(*words.split()).stdout == run(*" ".join(PIECES).split()).stdout
    assert run(words).stdout == run(*words.split()).stdout  # one quoted word, or many


ANY_WORD = st.sampled_from(
    """20-20-20 7-3-6 0-0-50 24/8/16 100 ppm 100ppm 2 gal 10 L 10L 1/2 half label 1 g/L tsp tbsp 5 g 5 ml per a gallon
    1:100 0.5 % EC 1.2 mS/cm P K Mg of in can cans capful spoon 5.5 g liquid powder w/v density 1.15 epsom salt potash
    fish emulsion calcium nitrate us uk imperial 50 F °C ppm mg / ( ) - + 1e9 ½ , . 0 -1 99999999999999 oz fl quart
    level double two thirds three NPK 4:3:4(33) 3:1:2 K2O nitrate month drops""".split()  # noqa: SIM905 - easier to read
)


@given(st.lists(ANY_WORD, max_size=8))
@example(["label", "tsp", "tsp", "gallon"])
def test_whatever_is_typed_there_is_an_answer_or_one_sentence(words: list[str]) -> None:
    result = run("--", *words)
    assert result.exit_code in (0, 2), result.output
    if result.exit_code == 2:
        assert result.stderr.startswith("Error: ")
        assert result.stderr.count("\n") == 1
        assert "{" not in result.stderr


# --- Published ------------------------------------------------------------------------------------------------

OUNCE_G, US_GAL_L = 28.349523125, 3.785411784


@pytest.mark.parametrize("row", rows("ppm_from_amount")[1:2], ids=lambda row: row["source"])
def test_published_strengths_of_an_amount_in_a_volume(row: dict[str, Any]) -> None:
    found = asked(f"{row['percent_n']}-0-0 {row['oz']} oz {row['us_gal']} gal")["n_mg_per_l"]
    assert found == pytest.approx(row["ppm"], abs=row["tolerance"])


@pytest.mark.parametrize("row", rows("ounces_in_feed"), ids=lambda row: row["source"])
def test_published_ounces_in_a_hundred_gallons(row: dict[str, Any]) -> None:
    grams = asked(f"{row['percent_n']}-0-0 {row['ppm']} ppm 100 gallons")["grams"]
    assert grams / OUNCE_G == pytest.approx(row["oz"], abs=row["tolerance"])


@pytest.mark.parametrize(
    "row", rows("ounces_in_stock"), ids=lambda row: f"{row['ppm']} 1:{row['ratio']} {row['source']}"
)
def test_published_stocks_for_an_injector(row: dict[str, Any]) -> None:
    per_litre = asked(f"{row['percent_n']}-0-0 {row['ppm']}ppm 1:{row['ratio']}")["stock_grams_per_litre"]
    assert per_litre * US_GAL_L / OUNCE_G == pytest.approx(row["oz"], abs=row["tolerance"])


@pytest.mark.parametrize("row", rows("liquids"), ids=lambda row: row["grade"])
def test_published_liquids_by_weight_and_by_volume(row: dict[str, Any]) -> None:
    words = f"{row['grade']} {row['ppm']}ppm 1L"
    by_weight = asked(f"{words} density {row['density']}")["millilitres"]
    assert by_weight == pytest.approx(row["ml_per_l"], abs=row["tolerance"])
    assert asked(f"{words} w/v")["millilitres"] == pytest.approx(
        row["by_volume_ml_per_l"], abs=row["tolerance"]
    )


# --- With less said: a table; with nothing: questions or the usage --------------------------------------------


def table(phrase: str) -> dict[str, float]:
    return {row["for"]: row.get("grams", row.get("millilitres")) for row in asked(phrase)["rows"]}


def test_without_a_strength_one_can_over_usual_strengths() -> None:
    by_hand = {
        "25 ppm N": 1.25,
        "50 ppm N": 2.5,
        "75 ppm N": 3.75,
        "100 ppm N": 5.0,
        "150 ppm N": 7.5,
        "200 ppm N": 10.0,
    }
    assert table("20-20-20") == table("20-20-20 --can 10") == table("20-20-20 10 L") == by_hand
    assert run("20-20-20").stdout.splitlines()[4] == "  100 ppm N   5.0 g  100 N  43.6 P    83 K"


def test_without_a_volume_usual_cans() -> None:
    assert table("20-20-20 100ppm") == {
        "1 L": 0.5,
        "2 L": 1.0,
        "5 L": 2.5,
        "10 L": 5.0,
        "15 L": 7.5,
        "20 L": 10.0,
    }
    gallons = table("20-20-20 100ppm --measures us")
    assert gallons["1 US gal (3.79 L)"] == pytest.approx(1.892706)  # 0.5 x 3.785412


def test_an_amount_alone_says_how_much_feed_it_makes() -> None:
    litres = {row["for"]: row["litres"] for row in asked("20-20-20 5 g")["rows"]}
    assert litres["100 ppm N"] == 10.0  # 5 x 200 / 100
    assert litres["25 ppm N"] == 40.0


def test_a_product_without_nitrogen_goes_by_what_it_holds() -> None:
    assert list(table("epsom salt")) == ["10 ppm Mg", "20 ppm Mg", "30 ppm Mg", "50 ppm Mg"]
    assert table("potash")["100 ppm K"] == pytest.approx(2.40920, rel=2e-5)


def test_rows_that_nobody_should_pour_say_so(nowhere: Path) -> None:
    (nowhere / "collection.yaml").write_text(SHELF, encoding="utf-8")
    lines = run("15-15-15").stdout.splitlines()
    # 100 ppm takes 0.667 g/L, above 0.5; 75 takes 0.5.
    assert [line.endswith("above the label") for line in lines[1:7]] == [
        False,
        False,
        False,
        True,
        True,
        True,
    ]
    rich = run("10-52-10").stdout.splitlines()
    # 50 ppm N brings 50 x 52 / 10 x 0.43643 = 113 mg P, above 90.
    assert [line.endswith("too rich for pots") for line in rich[1:7]] == [False, *[True] * 5]


def test_nothing_at_all_shows_the_usage() -> None:
    result = run()
    assert (result.exit_code, result.stdout) == (0, run("--help").stdout)


@pytest.mark.skipif(sys.platform == "win32", reason="needs a terminal of its own")
def test_in_a_terminal_nothing_at_all_asks() -> None:
    import pty

    terminal, its_end = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-m", "feedplan", "dose"], stdin=its_end, stdout=its_end, stderr=its_end
    )
    os.close(its_end)
    os.write(terminal, b"20-20-20\n100 ppm\n10 L\n")
    said = b""
    while True:
        try:
            part = os.read(terminal, 4096)
        except OSError:  # the other end is closed
            break
        if not part:
            break
        said += part
    assert process.wait(timeout=60) == 0
    os.close(terminal)
    assert b"Which feed?" in said
    assert b"Weigh 5.0 g into 10 L." in said


# --- What is said beside the figures --------------------------------------------------------------------------


def test_a_spoonful_of_unweighed_powder_is_rough_and_asks_to_weigh_one() -> None:
    facts = asked("20-20-20 1 tsp 1 gal")
    # 4.928922 ml at 0.86 to 1.44 g/ml, x 200 / 3.785412.
    assert facts["n_mg_per_l"] == pytest.approx(223.957, rel=1e-4)
    assert facts["highest_n_mg_per_l"] == pytest.approx(374.997, rel=1e-4)
    lines = run("20-20-20", "1", "tsp", "1", "gal").stdout.splitlines()
    assert "roughly 224 to 375 ppm N" in lines[0]
    assert lines[-2:] == [
        "Rough: a level US tsp of powder weighs 4.2 to 7.1 g, each powder its own. Weigh one of yours, and type its "
        "grams: feedplan dose 20-20-20 1 tsp 1 gal spoon 5 g",
        "Taken: US gal of 3.79 L, US tsp of 4.93 ml; --measures us, imperial or metric takes another.",
    ]


def test_a_liquid_of_an_unknown_kind_of_label_counts_as_by_weight_and_asks() -> None:
    lines = run("7-3-6", "liquid", "100", "ppm", "10", "L").stdout.splitlines()
    assert lines[0] == "Measure 10.2 ml into 10 L."  # 100 x 10 / (10 x 7 x 1.4), the lesser
    assert lines[-1].startswith("Rough: its label may be by weight, and it weighs 1 to 1.4 kg per litre.")


def test_grams_stay_beside_the_measures_of_the_place() -> None:
    us = run("24-8-16", "100ppm", "2", "gal").stdout.splitlines()
    assert us[0] == "Weigh 3.2 g (0.111 oz) into 2 US gal (7.57 L)."  # 3.154510 / 28.34952
    spoon = run("7-3-6", "w/v", "100ppm", "10", "L", "--measures", "us").stdout.splitlines()
    assert spoon[0] == "Measure 14.3 ml (2.9 US tsp) into 10 L (2.64 US gal)."  # 14.2857 / 4.928922


def test_warmth_is_taken_and_told_in_fahrenheit(nowhere: Path) -> None:
    (nowhere / "collection.yaml").write_text(SHELF, encoding="utf-8")
    words = ("spring-24-8-16", "100ppm", "10L", "--at")
    # 0.5 + 0.45 mS/cm at 25 °C, 15 °C colder: x (1 - 0.0191 x 15).
    assert run(*words, "50F").stdout.splitlines()[-1] == (
        "Without temperature correction it shows 0.68 at 50 °F (10 °C)."
    )
    assert (
        run(*words, "10").stdout.splitlines()[-1] == "Without temperature correction it shows 0.68 at 10 °C."
    )


def test_p_and_k_say_what_nitrogen_they_make_and_ceilings_are_told() -> None:
    lines = run("20-20-20", "120", "ppm", "P", "10", "L").stdout.splitlines()
    # 120 / 0.43643 = 275 ppm N; P 90 of 120 is 75 %: 206 ppm N.
    assert "120 ppm P makes 275 ppm N." in lines
    assert any(line.startswith("Too rich for trees in pots: 120 mg P per litre, above 90.") for line in lines)


def test_a_salt_says_the_grade_of_the_bag_and_the_pure_salts_amount() -> None:
    lines = run("potash", "100", "ppm", "K", "10", "L").stdout.splitlines()
    # Pure K2SO4 is 44.875 % K: 100 x 10 / 448.75 = 2.2 g.
    assert lines[-2:] == [
        "Taken as sold, 0-0-50 (18 % S); of the pure salt it would be 2.2 g. The bag's own numbers come first.",
        "If the bag says potassium chloride, type that name.",
    ]


def test_a_conductivity_takes_the_least_where_the_forms_of_nitrogen_are_not_told() -> None:
    lines = run("20-20-20", "EC", "1.2", "10", "L").stdout.splitlines()
    assert lines[0].startswith("Weigh ")
    assert "this is the least. Check it with the pen." in lines[-1]
    again = (
        "20-20-20 1.2 mS/cm 10 L",
        "20-20-20 1200 uS/cm 10 L",
        "20-20-20 1200 µS 10 L",
        "20-20-20 1.2 EC 10 L",
    )
    assert {run(*phrase.split()).stdout for phrase in again} == {"\n".join([*lines, ""])}


def test_what_is_in_a_can_above_the_label_says_so(nowhere: Path) -> None:
    (nowhere / "collection.yaml").write_text(SHELF, encoding="utf-8")
    assert "Above the label: it allows 2 g per litre." in run("spring-24-8-16", "3", "g/L").stdout


# --- What is refused ------------------------------------------------------------------------------------------

REFUSED = [
    (
        "20-20-20 2,5 L 100ppm",
        "'2,5' has a comma; decimals have a point; type: feedplan dose 20-20-20 2.5 L 100ppm",
    ),
    ("20-20-20 100 10 L", "'100' has no unit; type: feedplan dose 20-20-20 100 ppm 10 L"),
    ("20-20-20 100ppm 10", "'10' has no unit; type: feedplan dose 20-20-20 100ppm 10 L"),
    ("20-20-20 50 % 10 L", "'50 %' does not say of what; type: feedplan dose 20-20-20 50 % label 1 g/L 10 L"),
    (
        "24-8-16 half label 10 L",
        "24-8-16 has no label rate here; copy it from the label: feedplan dose 24-8-16 half label 10 L 1 g/L",
    ),
    (
        "24-8-16 double label 1 g/L 10 L",
        "'double label' is not up to the label's rate, which is never exceeded; type: "
        "feedplan dose 24-8-16 full label 1 g/L 10 L",
    ),
    (
        "24-8-16 half label 1 tsp per gal 10 L",
        "a spoonful is no weight; weigh one level spoonful, and type its grams: "
        "feedplan dose 24-8-16 half label 1 tsp per gal 10 L spoon 5 g",
    ),
    (
        "7-3-6 w/v capful 10 L",
        "a capful is what its own cap holds; fill it with water, measure that, and type its ml: "
        "feedplan dose 7-3-6 w/v capful 10 L cap 7 ml",
    ),
    (
        "20-20-20 2 scoops 10 L",
        "a spoon is as big as it is; weigh one level spoonful, and type its grams: "
        "feedplan dose 20-20-20 2 scoops 10 L spoon 5 g",
    ),
    (
        "7-3-6 liquid 5 g 10 L",
        "5 g of a liquid is a weight; measure it in ml, or type its density: "
        "feedplan dose 7-3-6 liquid 5 g 10 L density 1.2",
    ),
    (
        "20-20-20 5 drops 1 L",
        "'5 drops': a drop is anything from 0.05 to 0.08 ml; type: feedplan dose 20-20-20 5 ml 1 L",
    ),
    (
        "20-20-20 100ppm 5 g 10 L",
        "'100ppm' and '5 g': the one follows from the other; leave one out; type: feedplan dose 20-20-20 100ppm 10 L",
    ),
    (
        "20-20-20 100 ppm 1 g/L 10 L",
        "'100 ppm' and '1 g/L': the one follows from the other; leave one out; type: "
        "feedplan dose 20-20-20 100 ppm 10 L",
    ),
    ("20-20-20 1g/L 2g/L 5 L", "'1g/L' and '2g/L' are two; give one; type: feedplan dose 20-20-20 1g/L 5 L"),
    (
        "20-20-20 1 g/0 L",
        "'1 g/0 L' does not say into how much water; type: feedplan dose 20-20-20 1 g per 10 L",
    ),
    (
        "20-20-20 100ppm 50ppm 10L",
        "'100ppm' and '50ppm' are two; give one; type: feedplan dose 20-20-20 100ppm 10L",
    ),
    (
        "20-20-20 100ppm 10 L 5 gal",
        "'10 L' and '5 gal' are two; give one; type: feedplan dose 20-20-20 100ppm 10 L",
    ),
    (
        "20-20-20 24-8-16 10 L",
        "'20-20-20' and '24-8-16' are two; give one; type: feedplan dose 20-20-20 10 L",
    ),
    (
        "20-20-20 2 heaped tsp 10 L",
        "'2 heaped tsp' is no measure; level it off; type: feedplan dose 20-20-20 2 level tsp 10 L",
    ),
    ("10-10 100ppm", "'10-10' is not a grade, which has three numbers; type: feedplan dose 24-8-16 100ppm"),
    ("3:1:2 100ppm 10L", "'3:1:2' is a ratio, not a grade; type: feedplan dose 24-8-16 100ppm 10L"),
    (
        "60-60-60 10L",
        "grade 60-60-60 must be three percentages that sum to 100 at most, such as 24-8-16; type: "
        "feedplan dose 24-8-16 10L",
    ),
    (
        "20-20-20 3000ppm 10L",
        "3000 ppm N is outside 0 to 2000 ppm N; type: feedplan dose 20-20-20 100 ppm N 10L",
    ),
    ("20-20-20 0 ppm 10L", "'0 ppm' is no feed; type: feedplan dose 20-20-20 50 ppm N 10L"),
    ("20-20-20 0 L", "'0 L' is nothing; type: feedplan dose 20-20-20 1 L"),
    (
        "20-20-20 100 ppm nitrate 10 L",
        "'100 ppm nitrate' is no nitrogen: a strength is set by N; type: feedplan dose 20-20-20 100 ppm N 10 L",
    ),
    ("20-20-20 EC 30 10 L", "'EC 30' is no conductivity of a feed; type: feedplan dose 20-20-20 EC 1.2 10 L"),
    (
        "20-20-20 100ppm 1:1 10 L",
        "'1:1' does not dilute anything; type: feedplan dose 20-20-20 100ppm 1:100 10 L",
    ),
    (
        "bone meal 10 L",
        "bone meal is laid on the pot, not mixed into water; type: feedplan dose 20-20-20 10 L",
    ),
    (
        "fish emulsion 1 tbsp 1 gal",
        "fish emulsion differs from maker to maker; add its label's three numbers, such as: "
        "feedplan dose fish emulsion 1 tbsp 1 gal 5-1-1",
    ),
    ("epson salt 10 ppm Mg 10L", "'epson' is not understood; type: feedplan dose epsom salt 10 ppm Mg 10L"),
    (
        "blue-stuff 100ppm",
        "'blue-stuff' is no product or measure, and there is no collection.yaml here to look it up in; type the "
        "label's numbers: feedplan dose 20-20-20 100 ppm 10 L",
    ),
    (
        "100ppm 10L",
        "no product; say its label's three numbers, its name, or one of your collection, such as: "
        "feedplan dose 20-10-20 100 ppm 10 L",
    ),
    (
        "20-20-20 --label-rate '1 g/L' 50 % 10 L",
        "'50 %' does not say of what; type: feedplan dose 20-20-20 50 % label 1 g/L 10 L --label-rate '1 g/L'",
    ),
]


@pytest.mark.parametrize(("phrase", "message"), REFUSED, ids=[phrase for phrase, _ in REFUSED])
def test_a_refusal_says_what_to_type_and_that_is_answered(phrase: str, message: str) -> None:
    result = run(*shlex.split(phrase))
    assert (result.exit_code, result.stdout, result.stderr) == (2, "", f"Error: {message}\n")
    command = shlex.split(message[message.index("feedplan dose") :])
    again = run(*command[2:])
    assert again.exit_code == 0, again.stderr


def test_what_a_rough_answer_asks_for_is_understood() -> None:
    for phrase in ("20-20-20 1 tbsp 2 gal", "7-3-6 liquid 5 ml 10 L", "fish emulsion 5-1-1 50 ppm 10 L"):
        rough = next(line for line in run(*phrase.split()).stdout.splitlines() if line.startswith("Rough"))
        command = rough[rough.index("feedplan dose") :].partition(" (or ")[0]
        again = run(*shlex.split(command)[2:])
        assert again.exit_code == 0, again.stderr
        assert "Rough" not in again.stdout


@pytest.mark.parametrize(
    ("phrase", "message"),
    [
        ("sprong-24-8-16 100ppm", "no feed 'sprong-24-8-16' in the collection; did you mean spring-24-8-16?"),
        ("coated 100ppm", "'coated' is laid on the pot, not mixed into water; name a soluble or liquid feed"),
        (
            "spring-24-8-16 600ppm 10 L",
            "spring-24-8-16: 600 ppm N takes 2.5 g/L, above the label's 2 g/L; ask for less",
        ),
        (
            "spring-24-8-16 EC 0.4 10 L",
            "EC 0.4 mS/cm is no more than the water's own 0.5 mS/cm; ask for more",
        ),
    ],
)
def test_a_refusal_about_the_collection(nowhere: Path, phrase: str, message: str) -> None:
    (nowhere / "collection.yaml").write_text(SHELF, encoding="utf-8")
    result = run(*phrase.split())
    assert (result.exit_code, result.stderr) == (2, f"Error: {message}\n")


def test_a_collection_tells_its_units_once(nowhere: Path) -> None:
    """US gallon 3.785412 L, imperial 4.54609 L; 24 % N at 100 ppm takes 0.416667 g/L."""
    (nowhere / "collection.yaml").write_text(SHELF + "measures: {units: imperial}\n", encoding="utf-8")
    assert asked("24-8-16 100ppm 2 gallons")["grams"] == pytest.approx(3.788408, rel=2e-5)  # x 9.09218
    assert asked("spring-24-8-16 100ppm 2 gallons")["grams"] == pytest.approx(3.788408, rel=2e-5)
    assert asked("24-8-16 100ppm 2 gallons --measures us")["grams"] == pytest.approx(3.154510, rel=2e-5)
    said = run("24-8-16", "100ppm", "2", "gallons").stdout
    assert "2 imperial gal (9.09 L)" in said
    assert "Taken:" not in said


def test_without_units_in_the_collection_the_answer_says_which_gallon_was_taken(nowhere: Path) -> None:
    (nowhere / "collection.yaml").write_text(SHELF, encoding="utf-8")
    assert "Taken: US gal of 3.79 L" in run("24-8-16", "100ppm", "2", "gallons").stdout


def test_the_units_of_a_collection_named_elsewhere_count_too(nowhere: Path) -> None:
    home = nowhere / "garden"
    home.mkdir()
    (home / "collection.yaml").write_text(SHELF + "measures: {units: us}\n", encoding="utf-8")
    told = run("spring-24-8-16", "100ppm", "-c", str(home)).stdout
    assert "US gal" in told


@pytest.mark.parametrize("name", ["fish emulsion", "Fish Emulsion", "my fish emulsion"])
def test_a_feed_of_the_collection_comes_before_the_trade_name_it_is_called_by(
    nowhere: Path, name: str
) -> None:
    """Half of 50 ml in 9 L, as its own label says."""
    feed = f"  {name}: {{grade: 5-1-1, form: liquid, measured: by volume, label_rate: 50 ml per 9 L}}\n"
    (nowhere / "collection.yaml").write_text(SHELF.replace("feeds:\n", f"feeds:\n{feed}"), encoding="utf-8")
    result = run(*name.lower().split(), "half", "label", "9", "L")
    assert (result.exit_code, "Measure 25.0 ml into 9 L." in result.stdout) == (0, True)


def test_a_trade_name_that_is_part_of_a_feeds_name_is_refused_with_that_feed(nowhere: Path) -> None:
    feed = (
        "  my fish emulsion: {grade: 5-1-1, form: liquid, measured: by volume, label_rate: 50 ml per 9 L}\n"
    )
    (nowhere / "collection.yaml").write_text(SHELF.replace("feeds:\n", f"feeds:\n{feed}"), encoding="utf-8")
    result = run("fish", "emulsion", "half", "label", "9", "L")
    told = "Error: no feed 'fish emulsion' in the collection; did you mean my fish emulsion?\n"
    assert (result.exit_code, result.stderr) == (2, told)


def test_a_label_typed_with_a_trade_name_comes_before_the_collection(nowhere: Path) -> None:
    feed = "  fish emulsion: {grade: 5-1-1, form: liquid, measured: by volume, label_rate: 50 ml per 9 L}\n"
    (nowhere / "collection.yaml").write_text(SHELF.replace("feeds:\n", f"feeds:\n{feed}"), encoding="utf-8")
    result = run("fish", "emulsion", "2-4-1", "by", "volume", "50", "ml", "9", "L")
    assert (result.exit_code, "111 ppm N" in result.stdout) == (0, True)
