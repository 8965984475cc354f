"""Feed through an injector: stocks against a published table, what must hold for every plan, what stays in cans."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from feedplan.cli.main import feedplan
from feedplan.dose.arithmetic import Product
from feedplan.dose.grade import parse_grade
from feedplan.dose.measures import parse_mass, parse_volume
from feedplan.dose.salts import SALTS
from feedplan.engine.sink.cans import CanBatch, CanPlan, FeedToMix
from feedplan.engine.sink.injector import plan_with_injector
from feedplan.export.can_text import can_plan_facts, can_steps, left_over_line
from feedplan.model.measures import Injector, Measures
from feedplan.server.round_page import round_page
from feedplan.words.language import speaking
from tests.demo.test_any_span import as_served
from tests.demo.test_demo_collections import loaded
from tests.dose.published import rows
from tests.properties import examples
from tests.sink.test_cans import CALCIUM, EVEN, LIQUID, STRONG, feed
from tests.words.own_words import left_in_english
from tests.words.pseudo import PSEUDO

US_GALLON_L = parse_volume("1 US gal")
OUNCE_G = parse_mass("1 oz")
HUNDREDTH = Injector(Decimal(100), Decimal(2))
NITRATE = Product(parse_grade("13-0-46"), name="potassium nitrate")
RESTRICTED = Product(parse_grade("34-0-0"), name="ammonium nitrate")


def planned(
    *feeds: FeedToMix, measures: Measures | None = None, injector: Injector = HUNDREDTH
) -> tuple[list[CanBatch], list[CanBatch]]:
    """The stocks and the cans of a day."""
    plan = plan_with_injector(feeds, measures or Measures(), injector, SALTS)
    assert not plan.not_made
    stocks = [batch for batch in plan.batches if batch.injector is not None]
    return stocks, [batch for batch in plan.batches if batch.injector is None]


def text(*feeds: FeedToMix, short: bool = False) -> list[list[str]]:
    plan = plan_with_injector(feeds, Measures(), HUNDREDTH, SALTS)
    return [list(lines) for lines in can_steps(plan, short=short)]


# Against print.


@pytest.mark.parametrize(("table", "gallons"), [("ounces_in_stock", None), ("stock_tanks", "us_gal")])
def test_a_bottle_of_stock_takes_what_published_charts_print(table: str, gallons: str | None) -> None:
    """Cornell (N. Mattson, Q1a and Q1b) and the charts beside it in tests/dose/published.yaml, a bottle used up."""
    for row in rows(table):
        ratio, bottle = Decimal(row["ratio"]), US_GALLON_L * (row[gallons] if gallons else 1)
        product = Product(parse_grade(f"{row['percent_n']}-0-0"), name="chart")
        asked = feed(row["ppm"], str(bottle * ratio), product=product, key="all")
        (stock,), cans = planned(asked, injector=Injector(ratio, bottle))
        assert not cans
        assert stock.left_litres == 0
        (weighed,) = (grams for _, grams in stock.weighed)
        assert float(weighed / OUNCE_G) == pytest.approx(row["oz"], abs=row["tolerance"])


# What must hold for every plan.


@st.composite
def days(draw: st.DrawFn) -> tuple[list[FeedToMix], Measures, Injector]:
    litres = st.decimals("0.01", "60", places=2)
    feeds = []
    for number in range(draw(st.integers(1, 4))):
        product = draw(st.sampled_from([EVEN, STRONG, LIQUID]))
        ppm = Decimal(draw(st.integers(10, 140)))
        label = product.most_per_l * product.mg_per_unit["N"]
        most = min(ppm * draw(st.sampled_from([Decimal(1), Decimal("1.05")])), label)
        pours = draw(st.lists(litres, min_size=1, max_size=4))
        feeds.append(feed(str(ppm), *map(str, pours), product=product, key=f"f{number}", most=str(most)))
    injector = Injector(
        draw(st.sampled_from([Decimal(n) for n in ("16", "64", "100", "128", "33.33")])),
        draw(st.sampled_from([Decimal("0.5"), Decimal(1), Decimal(5)])),
    )
    return feeds, Measures(), injector


def in_hose(facts: Mapping[str, Any], mg_per_unit: Decimal) -> list[tuple[Fraction, Mapping[str, Any]]]:
    """The strength at the hose of each filling, by doing with the bottle what `--json` says: [mg N/L]."""
    ((amount,),) = ([v for name, v in product.items() if name != "feed"] for product in facts["products"])
    ratio, nitrogen = Fraction(str(facts["injector_parts"])), Fraction(str(amount)) * Fraction(mg_per_unit)
    found, strength, stands = [], Fraction(0), Fraction(0)
    for number, filling in enumerate(facts["fillings"]):
        full, kept = (Fraction(str(filling[f"stock_{name}_litres"])) for name in ("filled_to", "kept"))
        if number:
            assert kept <= stands + Fraction(1, 1000)  # to the digits told
            nitrogen = strength * kept
        strength = nitrogen / full
        stands = full - Fraction(str(filling["poured_litres"])) / ratio
        assert stands >= -Fraction(1, 1000)
        found.append((strength / ratio, filling))
    return found


@given(days())
@examples(120)
def test_every_strength_in_the_hose_is_within_5_percent_and_never_above_its_most(
    day: tuple[list[FeedToMix], Measures, Injector],
) -> None:
    feeds, measures, injector = day
    plan = plan_with_injector(feeds, measures, injector, {})
    asked = {each.key: each for each in feeds}
    for batch, facts in zip(plan.batches, can_plan_facts(plan), strict=True):
        if batch.injector is None:
            continue
        ((product, _),) = batch.weighed
        for fill, (hose, _) in zip(batch.fills, in_hose(facts, product.mg_per_unit["N"]), strict=True):
            assert float(hose) == pytest.approx(float(fill.ppm), rel=0.002)  # facts are rounded to 0.1 ml
            for serving in fill.servings:
                one = asked[serving.key]
                assert fill.ppm >= Fraction(one.ppm) * Fraction(95, 100) * (1 - Fraction(1, 10**8))
                assert fill.ppm <= Fraction(one.most_ppm) * (1 + Fraction(1, 10**8))
                assert fill.ppm / Fraction(product.mg_per_unit["N"]) <= Fraction(product.most_per_l) * (
                    1 + Fraction(1, 10**8)
                )


@given(days())
@examples(120)
def test_every_tree_gets_its_litres_from_a_bottle_that_holds_them_all(
    day: tuple[list[FeedToMix], Measures, Injector],
) -> None:
    feeds, measures, injector = day
    plan = plan_with_injector(feeds, measures, injector, {})
    poured: dict[str, Decimal] = {}
    for batch in plan.batches:
        for fill in batch.fills:
            for serving in fill.servings:
                poured[serving.key] = poured.get(serving.key, Decimal(0)) + sum(
                    p.litres for p in serving.pours
                )
        if batch.injector is not None:
            assert len(batch.weighed) == 1
            assert all(fill.litres / injector.ratio <= injector.stock_l for fill in batch.fills)
            assert batch.left_litres <= sum(fill.poured for fill in batch.fills)
            line = measures.jug_step_l * injector.ratio
            for before, after in pairwise(batch.fills):
                assert after.kept % line == 0
                assert measures.least_taken_l * injector.ratio <= after.kept <= before.rest
    assert poured == {each.key: each.litres for each in feeds if each.key not in plan.not_made}


# What goes through the hose, and what stays in cans.


def test_the_strongest_is_made_up_first_and_thinned_for_the_next() -> None:
    (stock,), cans = planned(feed(150, "40", "20"), feed(100, "30"))
    assert not cans
    assert [[s.key for s in fill.servings] for fill in stock.fills] == [["even/150"], ["even/100"]]


def test_what_one_can_holds_stays_in_a_can() -> None:
    stocks, cans = planned(feed(100, "10"))
    assert (len(stocks), len(cans)) == (0, 1)
    stocks, cans = planned(feed(100, "6", key="a"), feed(100, "6", key="b"))
    assert (len(stocks), len(cans)) == (1, 0)


@pytest.mark.parametrize(("litres", "stocks"), [("12", 0), ("13.5", 1)])
def test_a_stock_of_which_more_would_be_left_than_goes_out_is_mixed_in_a_can(
    litres: str, stocks: int
) -> None:
    """Judgement: at 1:250 the least that is made up is 0.1 L of stock, 25 L of feed."""
    found, _ = planned(feed(100, litres), injector=Injector(Decimal(250), Decimal(2)))
    assert len(found) == stocks


def test_a_bottle_holds_one_product() -> None:
    both = feed(100, "40")
    mixed = replace(both, parts=((EVEN, Decimal("0.25")), (CALCIUM, 50 / CALCIUM.mg_per_unit["N"])))
    stocks, cans = planned(mixed)
    assert not stocks
    assert len(cans) == 4
    stocks, cans = planned(both, feed(80, "30", product=CALCIUM))
    assert [[product.name for product, _ in batch.weighed] for batch in stocks] == [["calcium"], ["even"]]
    assert [batch.rinse_first for batch in stocks] == [False, True]


def test_a_blend_of_waters_does_not_come_from_a_hose() -> None:
    blend = replace(feed(100, "40"), water=(("rain", 0.5), ("tap", 0.5)))
    stocks, cans = planned(blend)
    assert not stocks
    assert len(cans) == 4


@pytest.mark.parametrize(
    ("product", "ppm", "ratio", "is_stock"),
    [
        # 13 % N: 100 ppm at 1:100 is 77 g/L of stock, at 1:200 is 154. At 10 °C 100 g of water dissolve about 21 g
        # (CRC Handbook, as in feedplan/dose/salts.py): 184 g/L, two thirds of which are safe.
        (NITRATE, 100, 100, True),
        (NITRATE, 100, 200, False),
        (RESTRICTED, 100, 100, False),
        # 20 % N: 490 g/L, and 5 % more than that is above what a litre holds.
        (EVEN, 98, 1000, False),
        (EVEN, 90, 1000, True),
    ],
)
def test_what_does_not_dissolve_so_far_stays_in_cans(
    product: Product, ppm: int, ratio: int, is_stock: bool
) -> None:
    stocks, cans = planned(feed(ppm, "240", product=product), injector=Injector(Decimal(ratio)))
    assert (bool(stocks), bool(cans)) == (is_stock, not is_stock)


# The words.


def test_the_steps_of_a_day_in_the_order_of_hands() -> None:
    """Strengths by hand: 60 L + 40 L of 20 % N through 1:100."""
    (lines,) = text(feed(150, "60"), feed(100, "40"))
    plan = plan_with_injector([feed(150, "60"), feed(100, "40")], Measures(), HUNDREDTH, SALTS)
    assert [line.split(":")[0].split(" ")[0] for line in lines[:7]] == [
        "A", "Through", "Set", "Weigh", "Pour", "Keep", "Pour",
    ]  # fmt: skip
    assert lines[2] == "Set the injector to 1:100: 1 part of stock in 100 parts of mixed feed."
    assert lines[4] == "Pour 60 L from the hose (tap): even/150/0."
    assert not list(left_over_line(plan))


def test_cautions_are_said_once_a_day() -> None:
    for short in (False, True):
        steps = text(feed(150, "60"), feed(100, "40", product=CALCIUM), short=short)
        lines = [line for step in steps for line in step]
        assert len(steps) == 2
        for caution in ("A concentrate: gloves", "backflow protection", "Set the injector"):
            assert sum(caution in line for line in lines) == 1
        assert steps[1][0] == "Rinse the stock bottle and the injector with water."


def test_a_strong_stock_says_that_it_may_not_dissolve() -> None:
    plan = plan_with_injector([feed(90, "500")], Measures(), Injector(Decimal(500)), {})
    ((*_, weigh, strong, _pour),) = (lines[:6] for lines in can_steps(plan))
    assert weigh.startswith("Weigh ")
    assert strong == "Strong stock: it may not dissolve in cold water. Follow the label; shake before use."


def test_what_is_left_of_a_stock_is_thinned_to_the_feed_it_makes() -> None:
    plan: CanPlan = plan_with_injector([feed(100, "11")], Measures(), HUNDREDTH, {})
    (lines,) = can_steps(plan)
    (stock,) = plan.batches
    left = stock.left_litres / 100
    assert left > 0
    ml, litres = round(left * 1000), (left * 99).quantize(Decimal("0.1"))
    assert lines[-1].startswith(
        f"Left over: {ml} ml of the stock; thin it with {litres.normalize():f} L of water"
    )


def test_nothing_english_is_left_of_a_stock_in_another_language() -> None:
    feeds = [
        feed(150, "60"),
        feed(100, "40"),
        feed(90, "700", product=CALCIUM),
        feed(60, "33", product=LIQUID),
    ]
    with speaking(PSEUDO):
        lines = []
        for injector in (HUNDREDTH, Injector(Decimal(500))):
            plan = plan_with_injector(feeds, Measures(), injector, SALTS)
            lines += [
                line for short in (False, True) for step in can_steps(plan, short=short) for line in step
            ]
    own = frozenset({"tap", *re.findall(r"\w+", " ".join(pour.tree for one in feeds for pour in one.pours))})
    assert {line: words for line in lines if (words := left_in_english(line, own))} == {}


# Through the program.

GARDEN = """\
place: {name: Long Row, latitude: 55.6, time_zone: Europe/London}
since: 2027-01-01
habits: {can: 10 L, feed_on: [Saturday]}
%s
feeds:
  even: {grade: 20-20-20, form: soluble, label_rate: 1 g per L}
groups:
  rows: {schedule: vigorous, feed: even}
  pines: {schedule: conifer, feed: even}
trees:
  - {name: Larch row, species: larch, group: rows, pot: 12 L, count: 40}
  - {name: Pine row, species: Scots pine, group: pines, pot: 12 L, count: 20}
"""
INJECTOR = "measures: {injector: 1:100, stock: 1 L}"


def garden(folder: Path, measures: str) -> list[str]:
    folder.mkdir()
    (folder / "collection.yaml").write_text(GARDEN % measures, encoding="utf-8")
    return ["-c", str(folder), "--today", "2027-06-12"]


def test_round_page_and_json_tell_the_same_stock(tmp_path: Path) -> None:
    where = garden(tmp_path / "hose", INJECTOR)
    short, whole, facts = (
        CliRunner().invoke(feedplan, ["round", *where, *more]).output for more in ([], ["--all"], ["--json"])
    )
    (stock,) = json.loads(facts)["cans"]
    grams = stock["products"][0]["g"]
    first, second = stock["fillings"]
    told = f"Weigh {grams:.1f} g even and make it up to {round(first['stock_filled_to_litres'] * 1000)} ml of stock"
    kept = f"Keep at most {round(second['stock_kept_litres'] * 1000)} ml of the stock"
    day = date(2027, 6, 12)
    (card,) = round_page(as_served(tmp_path / "hose", day), loaded(tmp_path / "hose").collection, day).cans
    for text in (" ".join(short.split()), whole, "\n".join(card.steps)):
        assert told in text
        assert kept in text
        assert text.count("backflow protection") == 1
    # By hand: so many grams of 20 % N in the bottle, a hundredth of it in the hose.
    by_hand = grams * 200 / first["stock_filled_to_litres"] / 100
    assert by_hand == pytest.approx(first["n_mg_per_l"], abs=0.01)
    by_hand *= second["stock_kept_litres"] / second["stock_filled_to_litres"]
    assert by_hand == pytest.approx(second["n_mg_per_l"], abs=0.01)


def test_without_the_key_nothing_changes(tmp_path: Path) -> None:
    plain, named = (
        CliRunner().invoke(feedplan, ["round", *garden(tmp_path / name, measures), "--json"]).output
        for name, measures in (("plain", ""), ("named", "measures: {jug: 1 L}"))
    )
    assert "injector" not in plain
    assert json.loads(plain)["cans"] == json.loads(named)["cans"]
    assert all("can_litres" in can for can in json.loads(plain)["cans"])
