"""`feedplan start --from`: what is guessed of a grower's table, that it says so, and that it always loads."""

from __future__ import annotations

import csv
import json
from datetime import date
from pathlib import Path

import pytest
from freezegun import freeze_time

from feedplan.load.collection import load_collection
from feedplan.load.folder import shipped_kinds
from tests.cli.conftest import Run

HERE = ("--latitude", "55.6", "--time-zone", "Europe/London")
SOUTH = ("--latitude", "-41.2", "--time-zone", "Pacific/Auckland")

# Which schedule a tree is for: the first lines of the files in schedules/, each of which says what it is for.
EXPECTED = [
    ("larch", "", "vigorous"),
    ("field maple", "young, growing on", "vigorous"),
    ("Japanese maple", "show tree", "refined"),
    ("Japanese maple", "not refined yet", "vigorous"),
    ("Scots pine", "", "conifer"),
    ("Scots pine", "refined", "conifer-refined"),
    ("Japanese black pine", "decandled each June", "conifer-decandled"),
    ("Chinese juniper", "exhibition", "conifer-refined"),
    ("box", "", "broadleaf-evergreen"),
    ("azalea", "", "ericaceous"),
    ("crab apple", "kept for fruit", "flowering"),
    ("Ficus", "", "indoor-tropical"),
    ("elm", "weak", "recovering"),
    ("elm", "no longer weak", "vigorous"),
    ("elm", "weak, repotted 2027", "recovering"),
    ("elm", "repotted 2027", "newly-repotted"),
    ("elm", "repotted March 2027", "newly-repotted"),
    ("elm", "repotted 2025", "vigorous"),
    ("elm", "to be repotted 2028", "vigorous"),
    ("elm", "repotted every 3 years", "vigorous"),
    ("elm", "slip-potted", "vigorous"),
    ("hawthorn", "dug 2026", "collected"),
    ("hawthorn", "collected 2019", "vigorous"),
    ("larch seedling", "", "seedlings"),
    ("larch", "sown 2024", "vigorous"),
    ("willow", "cutting", "cuttings"),
    ("Xyzzy plantum", "", "refined"),
]


def table(folder: Path, rows: list[list[str]], head: str = "name species pot group bench notes") -> str:
    path = folder / "trees.csv"
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows([head.split(), *rows])
    return str(path)


def guessed(run: Run, folder: Path, rows: list[list[str]], *place: str) -> dict[str, dict[str, str]]:
    made = run("start", str(folder / "new"), "--from", table(folder, rows), "--json", *(place or HERE))
    assert made.exit_code == 0, made.output
    return {guess["tree"]: guess for guess in json.loads(made.stdout)["guesses"]}


@freeze_time("2027-06-14")
def test_schedules_are_guessed_from_species_and_words(run: Run, tmp_path: Path) -> None:
    rows = [[f"T{i}", species, "9 L", "", "", words] for i, (species, words, _) in enumerate(EXPECTED)]
    found = guessed(run, tmp_path, rows)
    told = [(species, words, found[f"T{i}"]["schedule"]) for i, (species, words, _) in enumerate(EXPECTED)]
    assert told == EXPECTED


@freeze_time("2027-06-14")
def test_trees_on_an_indoor_bench_get_the_schedule_of_indoor_trees(run: Run, tmp_path: Path) -> None:
    """A kind that needs winter keeps its own schedule wherever it stands (judgement)."""
    placed = [
        ("Xyzzy plantum", "window", "indoor-tropical"),
        ("Xyzzy plantum", "kitchen windowsill", "indoor-tropical"),
        ("Chinese elm", "south window", "indoor-tropical"),
        ("Chinese elm", "window box", "vigorous"),
        ("olive", "Indoors", "indoor-tropical"),
        ("Japanese maple", "window", "vigorous"),
        ("azalea", "window", "ericaceous"),
        ("Brazilian rain tree", "yard", "indoor-tropical"),
        ("golden rain tree", "yard", "vigorous"),
        ("Xyzzy plantum", "south wall", "refined"),
    ]
    rows = [[f"T{i}", species, "9 L", "", bench, ""] for i, (species, bench, _) in enumerate(placed)]
    found = guessed(run, tmp_path, [*rows, ["U", "Xyzzy plantum", "9 L", "tropicals", "", ""]])
    told = [(species, bench, found[f"T{i}"]["schedule"]) for i, (species, bench, _) in enumerate(placed)]
    assert told == placed
    assert found["U"]["schedule"] == "indoor-tropical"
    assert found["T0"]["why"] == "you wrote 'window'"
    text = (tmp_path / "new" / "collection.yaml").read_text()
    assert "#   window: {sun: indoors}" in text.splitlines()


@freeze_time("2028-02-10")
def test_in_the_south_last_spring_is_this_growing_year(run: Run, tmp_path: Path) -> None:
    rows = [["A", "elm", "9 L", "", "", "repotted 2027"], ["B", "elm", "9 L", "", "", "repotted 2026"]]
    found = guessed(run, tmp_path, rows, *SOUTH)
    assert [found[name]["schedule"] for name in "AB"] == ["newly-repotted", "vigorous"]


@freeze_time("2027-06-14")
def test_what_was_guessed_stands_beside_it_and_check_is_fine(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rows = [
        ["Tern", "larch", "30 x 22 x 7,5 cm", "field", "south wall", ""],
        ["Moth, the", "Scots pine", "9 L", "field", "", ""],
        ["Kelp", "elm", "6,5 L", "field", "", "weak"],
        ["Ash: 2", "moss", "1 L", "", "", ""],
    ]
    made = run("start", str(tmp_path / "new"), "--from", table(tmp_path, rows), *HERE)
    assert made.exit_code == 0, made.output
    assert "4 trees in 4 groups" in made.stdout
    text = (tmp_path / "new" / "collection.yaml").read_text()
    lines = text.splitlines()
    tree = "  - {name: Kelp, species: elm, group: field recovering, pot: 6.5 L, weak: true, about: weak}"
    assert f"{tree}   # guess: recovering (you wrote 'weak')" in lines
    assert "  field conifer:" in lines
    assert "    # Guessed for Moth, the: evergreen needle." in lines
    assert "since: 2027-06-14" in lines
    assert "#   south wall: {sun: full sun, wind: open, under_cover: false}" in lines
    monkeypatch.chdir(tmp_path / "new")
    assert run("check", today="2027-06-14").stdout == "Fine: 4 trees in 4 groups, 0 journal entries.\n"
    collection = load_collection(tmp_path / "new").collection
    assert [tree.name for tree in collection.trees] == ["Tern", "Moth, the", "Kelp", "Ash: 2"]
    assert collection.since == date(2027, 6, 14)


@freeze_time("2027-06-14")
def test_what_feed_harms_is_not_fed(run: Run, tmp_path: Path) -> None:
    rows = [
        ["A", "moss", "1 L", "", "", ""],
        ["B", "banksia", "5 L", "", "", ""],
        ["C", "Ficus", "5 L", "", "", "weak"],
    ]
    found = guessed(run, tmp_path, rows)
    assert found["A"]["why"] == "feed harms it, so none is planned"
    assert found["B"]["why"].startswith("phosphorus harms it, so no feed is planned")
    assert found["C"]["why"] == "you wrote 'weak', so no feed for now"
    groups = load_collection(tmp_path / "new").collection.groups
    assert [groups[found[name]["group"]].schedule.periods for name in "ABC"] == [(), (), ()]


@freeze_time("2027-06-14")
def test_a_group_named_as_a_schedule_has_that_schedule(run: Run, tmp_path: Path) -> None:
    rows = [["A", "elm", "5 L", "Refined", "", "young"], ["B", "elm", "5 L", "refined", "", ""]]
    found = guessed(run, tmp_path, rows)
    assert [(found[name]["group"], found[name]["schedule"]) for name in "AB"] == [
        ("Refined", "refined"),
        ("refined", "refined"),
    ]


WORDS = (
    "",
    "weak",
    "collected 2027",
    "repotted 2027",
    "seedling",
    "cutting",
    "indoors",
    "decandled",
    "fruit",
    "show",
)
AWKWARD = (
    "yes",
    "12",
    "2027-01-01",
    "null",
    "- a",
    "{x}",
    "a: b",
    "# c",
    "'q'",
    '"',
    "<trees>",
    "~",
    "1:50",
    "é",
)


@freeze_time("2027-06-14")
def test_every_kind_with_any_words_and_awkward_names_loads(run: Run, tmp_path: Path) -> None:
    rows = [
        [
            f"{AWKWARD[i % len(AWKWARD)]} {i}",
            kind.name,
            "9 L",
            ("", "show", "vigorous", "show conifer", *AWKWARD)[i % 18],
            AWKWARD[i % len(AWKWARD)],
            WORDS[i % len(WORDS)],
        ]
        for i, kind in enumerate(shipped_kinds().all)
    ]
    guessed(run, tmp_path, rows)
    collection = load_collection(tmp_path / "new").collection
    assert [tree.name for tree in collection.trees] == [row[0] for row in rows]
    assert [tree.bench for tree in collection.trees] == [row[4] for row in rows]


def test_a_bad_row_writes_nothing(run: Run, tmp_path: Path) -> None:
    bad = table(tmp_path, [["A", "larch", "9", "", "", ""]])
    refused = run("start", str(tmp_path / "new"), "--from", bad, *HERE)
    assert refused.exit_code == 1
    assert refused.stderr.splitlines()[1:] == ["  row 2, pot: '9' has no unit; write the unit: 9 L"]
    assert not (tmp_path / "new").exists()


def test_a_table_that_is_not_there_is_a_sentence(run: Run, tmp_path: Path) -> None:
    refused = run("start", str(tmp_path / "new"), "--from", "nowhere.csv", *HERE)
    assert (refused.exit_code, refused.stderr) == (2, "Error: nowhere.csv: there is no such file\n")


def test_columns_not_read_are_named(run: Run, tmp_path: Path) -> None:
    rows = table(tmp_path, [["A", "larch", "9 L", "3"]], "name species pot price")
    assert "Not read: 'price'.\n" in run("start", str(tmp_path / "new"), "--from", rows, *HERE).stdout


def test_a_missing_column_is_asked_for_and_usual_headings_are_read(run: Run, tmp_path: Path) -> None:
    rows = [["A", "larch", "9 L", "3", "north wall"]]
    usual = table(tmp_path, rows, "name species pot qty position")
    assert "Not read" not in run("start", str(tmp_path / "new"), "--from", usual, *HERE).stdout
    assert "count: 3" in (tmp_path / "new" / "collection.yaml").read_text()
    refused = run(
        "start",
        str(tmp_path / "other"),
        "--from",
        table(tmp_path, rows, "name species topf qty position"),
        *HERE,
    )
    assert (
        "row 1: no column is headed pot; write pot at the head of the column that tells it" in refused.stderr
    )
