"""The round on one screen: figures a person can take in, each name once in each list, and no column lost."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Mapping
from datetime import date, timedelta
from functools import lru_cache
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from feedplan.cli.main import feedplan
from feedplan.engine.day import Day, day_of
from feedplan.engine.plan import plan_season
from feedplan.engine.season import Season
from feedplan.export.glance_text import columns, filled, glance_blocks, glance_lines
from feedplan.export.round_text import advice_lines
from feedplan.load.collection import Loaded, load_collection

NORTH = Path(__file__).parents[2] / "demo" / "northern"
JUNE = date(2027, 6, 5)
DAYS = [date(2027, 1, 10) + timedelta(days=23 * n) for n in range(16)]


@lru_cache
def garden() -> Loaded:
    return load_collection(NORTH / "collection.yaml")


@lru_cache
def season() -> Season:
    loaded = garden()
    return plan_season(loaded.collection, loaded.journal, JUNE, DAYS[0], DAYS[-1], climate=loaded.climate)


def glance_of(day: date) -> tuple[Day, list[str]]:
    found = day_of(season(), day)
    return found, list(glance_lines(found, garden().collection))


def blocks_of(day: date) -> Mapping[str, tuple[str, ...]]:
    return {block.label: block.items for block in glance_blocks(day_of(season(), day), garden().collection)}


def run(*words: str) -> Result:
    return CliRunner().invoke(feedplan, ["round", "-c", str(NORTH), "--today", str(JUNE), *words])


def test_a_june_morning_with_41_names_is_one_screen() -> None:
    _, lines = glance_of(JUNE)
    assert len(lines) <= 24
    assert sum(len(line.split()) for line in lines) <= 220


@pytest.mark.parametrize("day", DAYS, ids=str)
def test_no_line_of_the_year_is_wider_than_a_screen(day: date) -> None:
    assert all(columns(line) <= 80 for line in glance_of(day)[1])


@pytest.mark.parametrize("day", DAYS, ids=str)
def test_each_tree_stands_once_in_each_list(day: date) -> None:
    names = {tree.name for tree in garden().collection.trees}
    blocks = blocks_of(day)
    for label, items in blocks.items():
        for item in items if label in ("Water", "Look") else [" ".join(items)]:
            found = Counter(name for name in names for _ in re.findall(rf"\b{name}\b", item))
            # Several things may be new of one tree.
            assert all(count == 1 for name, count in found.items()) or label == "New", (label, item)


def test_a_tree_is_asked_all_its_questions_at_once_and_none_of_them_twice() -> None:
    """On 20 June two holds ask for signs of Millrace; stages of Hush, Millrace and the slips are asked after too."""
    day = date(2027, 6, 20)
    raised = {
        (p.stage, name) for p in season().prompts if p.falls_on(day) for t in p.timelines for name in t.names
    }
    blocks = blocks_of(day)
    assert "Millrace: extension, hardened and turgid at dawn?" in blocks["Look"][-1]
    assert blocks["Look"][-1].count("Millrace") == 1
    assert "Elm slips: rooted?" in blocks["Look"][-1]
    assert {
        ("first flush hardened", "Millrace"),
        ("first flush hardened", "Hush"),
        ("rooted", "Elm slips"),
    } < raised
    assert [item for item in blocks["New"] if "yet?" in item] == [
        "first flush hardened yet? show-bench (Marquetry)"
    ]


def test_a_stage_of_a_whole_group_is_asked_after_by_the_group_alone() -> None:
    assert "petals fallen yet? acid-bed" in blocks_of(date(2027, 6, 15))["New"]


def test_advice_is_new_to_the_trees_that_came_to_its_stage_that_day_alone() -> None:
    """Fennel and Tansy were seen with hardened flushes before 13 June, Rushlight is taken to have them by then."""
    day = date(2027, 6, 13)
    found, _ = glance_of(day)
    lines = [item for item in blocks_of(day)["New"] if item.startswith("growing-on (")]
    assert {line.split(":")[0] for line in lines} == {
        "growing-on (Rushlight)",
        "growing-on (Whittle, Ploughman)",
    }
    with_all = [line for line in advice_lines(found) if "Rushlight" in line]
    assert len(with_all) == 1
    assert "Fennel, Tansy, Rushlight" in with_all[0]


@pytest.mark.parametrize("day", [day for day in DAYS if day >= JUNE], ids=str)
def test_everybody_fed_or_kept_from_feed_that_day_is_named(day: date) -> None:
    found, _ = glance_of(day)
    blocks = blocks_of(day)
    for mix in found.to_mix:
        for name in mix.item.names:
            assert name in " ".join(blocks["Mix"])
    for out in found.not_fed if found.to_mix else ():
        assert all(name in " ".join(blocks["Not"]) for name in out.timeline.names)


def test_what_hands_do_comes_before_what_is_only_known() -> None:
    assert [label for label, items in blocks_of(JUNE).items() if items] == [
        "Look",
        "Mix",
        "Not",
        "Water",
        "More",
    ]


def test_a_frozen_day_with_nothing_to_do_is_short() -> None:
    _, lines = glance_of(DAYS[0])
    assert len(lines) <= 6


def test_a_day_with_nothing_to_do_is_one_line_with_what_comes_next() -> None:
    """On 5 January 2027 no pot is looked at, nothing is fed or asked; two trees indoors are checked the day after."""
    winter = ("--today", "2027-01-05")
    assert run(*winter).stdout == "Tue 5 Jan - nothing to do. Next Wed 6 Jan: check 2\n"
    assert json.loads(run(*winter, "--json").stdout)["nothing_to_do"] is True
    assert run(*winter, "--date", "2027-01-06").stdout.startswith("Wed 6 Jan - check 2, feed none")
    assert json.loads(run("--json").stdout)["nothing_to_do"] is False


def test_what_comes_next_is_left_out_where_it_has_no_room() -> None:
    day = day_of(season(), date(2027, 1, 5))
    coming = ("Wed 6 Jan: check 2", "Sat 13 Feb: Order akadama and pumice before repotting.")
    [wide] = glance_lines(day, garden().collection, 160, coming=coming)
    assert wide.endswith(" before repotting.")
    assert list(glance_lines(day, garden().collection, 60, coming=coming)) == [
        "Tue 5 Jan - nothing to do. Next Wed 6 Jan: check 2"
    ]
    assert list(glance_lines(day, garden().collection, 40, coming=coming)) == ["Tue 5 Jan - nothing to do"]


def test_the_one_line_counts_weighings_as_the_cans_have_them() -> None:
    """Two products are weighed for the six strengths of 5 June."""
    found, lines = glance_of(JUNE)
    assert found.weighings == 2 == sum(line.count("Weigh ") for line in blocks_of(JUNE)["Mix"])
    assert "feed 67 @19 to 150 ppm N, weigh 2, hold 24" in lines[0]


def test_one_bench_is_shown_with_what_concerns_it_alone() -> None:
    text = run("--bench", "South Wall").stdout
    assert "Fennel" in text
    assert not {"Lantern", "Millrace", "Elm slips"} & {
        name for name in ("Lantern", "Millrace", "Elm slips") if name in text
    }


def test_one_tree_is_named_and_not_counted() -> None:
    assert "07:00 Quill" in run("--tree", "quill").stdout


@pytest.mark.parametrize(
    ("option", "word", "refusal"),
    [
        ("--bench", "south wal", "Error: there is no bench 'south wal'; did you mean south wall?\n"),
        ("--group", "nurserie", "Error: there is no group 'nurserie'; did you mean nursery?\n"),
        ("--tree", "Lanten", "Error: there is no tree 'Lanten' here that day; did you mean Lantern?\n"),
    ],
)
def test_a_word_that_is_none_is_answered_with_the_nearest(option: str, word: str, refusal: str) -> None:
    found = run(option, word)
    assert found.exit_code == 2
    assert found.stderr == refusal
    nearest = refusal.split("mean ")[1].rstrip("?\n")
    assert run(option, nearest).exit_code == 0


def test_what_is_piped_has_no_colour() -> None:
    assert "\x1b" not in run().stdout


def test_wide_letters_and_marks_keep_their_columns() -> None:
    """East Asian Width (Unicode Standard Annex 11): a wide letter takes two columns, a combining mark none."""
    assert columns("楓 A") == 4
    assert columns("e\u0301") == 1
    lines = list(filled("楓 " * 20, 10))
    assert all(columns(line) <= 10 for line in lines)
    assert sum(line.count("楓") for line in lines) == 20


def test_a_word_longer_than_the_line_is_kept_whole() -> None:
    assert list(filled("a " + "b" * 30 + " c", 10, after="  ")) == ["a", "  " + "b" * 30, "  c"]
