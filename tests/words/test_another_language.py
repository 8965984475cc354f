"""Every output in a language that marks what it says: nothing English leaks but words of the grower and of files."""

from __future__ import annotations

import ast
import re
import shlex
import shutil
from collections.abc import Callable, Iterable
from datetime import date, timedelta
from pathlib import Path

import pytest

import feedplan
from feedplan.load import load_collection
from feedplan.load.read_feeds import parse_price
from feedplan.load.read_site import parse_flush, parse_temperature
from feedplan.load.read_words import (
    parse_check_rate,
    parse_date,
    parse_day_of_year,
    parse_name,
    parse_time,
)
from feedplan.memory import plan
from feedplan.words.language import speaking
from tests.demo.test_demo_collections import DEMO_DAY, NORTH, SOUTH, loaded
from tests.server.world import COLLECTION, make_folder
from tests.words.outputs import OUTPUTS, TODAYS, Told, read_page, told, typed
from tests.words.own_words import left_in_english, own_words
from tests.words.pseudo import PSEUDO
from tests.words.translation import translation

GERMAN = Path(__file__).with_name("german.po")


def assert_no_english(lines: Iterable[str], own: frozenset[str]) -> None:
    left = {}
    for line in dict.fromkeys(lines):
        if words := left_in_english(line, own):
            left[" ".join(words)] = line
    assert left == {}


def said(plan: Told, output: str) -> list[str]:
    """An output in the pseudo-language, pages as they are read or heard."""
    with speaking(PSEUDO):
        lines = list(getattr(plan, output)())
    return [read_page(line) for line in lines] if output == "pages" else lines


@pytest.mark.parametrize("output", OUTPUTS)
@pytest.mark.parametrize(("folder", "today"), TODAYS, ids=str)
def test_nothing_english_is_left(folder: Path, today: date, output: str) -> None:
    found = told(folder, today)
    assert_no_english(said(found, output), own_words(found.loaded))


def lived(folder: Path, today: date, first: date) -> Callable[[Path], Told]:
    """A demo whose grower asked every ninth day from `first` on, wrote nothing, and spoke the pseudo-language."""

    def live(home: Path) -> Told:
        shutil.copytree(folder, home)
        file = home / "collection.yaml"
        found = load_collection(home)
        with speaking(PSEUDO):
            for day in range(0, (today - first).days, 9):
                plan(found, first + timedelta(days=day), file=file, keep=True)
            return Told(found, plan(found, today, file=file).season)

    return live


LIVED = {
    "north": lived(NORTH, date(2027, 8, 24), date(2027, 7, 1)),
    "south": lived(SOUTH, date(2028, 4, 2), date(2028, 2, 20)),
}


@pytest.fixture(scope="module", params=LIVED)
def remembered(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Told:
    return LIVED[request.param](tmp_path_factory.mktemp("lived") / request.param)


@pytest.mark.parametrize("output", OUTPUTS)
def test_nothing_english_is_left_of_what_was_told(remembered: Told, output: str) -> None:
    assert remembered.season.history.trees
    assert_no_english(said(remembered, output), own_words(remembered.loaded))


# Commands, with what they refuse.

TODAY = ("--today", "2027-06-05")
RECORDS = [
    "seen hardened Bracken",
    "repotted Teasel --roots 30%",
    "trouble frost Sorrel",
    "fed --group growing-on --but-not Sorrel",
    "fed --group growing-on --ppm 900 --date 2027-06-04",
    "laid pellets Sorrel --grams 200",
    "lifted all Sorrel",
    "ec 3.5 --group growing-on",
    "check dry Sorrel",
    "moved Sorrel --bench 'north wall'",
    "moved Sorrel --to shown",
    "gone sold Sorrel",
    "allow Bracken --because thin",
    "not-fed Sorrel",
    "root-zone 9 Sorrel",
    "note Sorrel thin",
    "fed Nobody",
    "fed",
    "foo Sorrel",
    "work",
    "moved Sorrel",
    "laid pellets Sorrel",
    "laid spring Sorrel --grams 3",
    "fed Sorrel --date 2027-07-01",
    "fed Sorrel --everything",
    "--undo",
    "--undo zz",
]
ANSWERS = [
    "check",
    "round --helper",
    "round --date 2040-01-01",
    "why Bracken",
    "why Nobody",
    "compare --from 2027-05-01",
    "compare --from 2027-07-01",
    "learn",
    "season",
    "season --year 2060",
    "shelf",
    "water",
    "weather",
    "calendar -o - --from 2027-07-01 --to 2027-06-01",
    "calendar -o .",
    "dose --ppm 60 spring",
    "dose --ppm 9 nothing",
    "dose --ppm 9 pellets",
    "dose --mix --ratio '3-1-2 oxide' --ppm 100",
]
WITHOUT_FILES = [
    "dose --grade 20-10-20 --ppm 100 --litres 10 --dilution 1:100 --bottle 1",
    "dose --grade 7-3-6 --density 1.15 --ppm 60 --gallons-us 2",
    "dose --grade 7-3-6 --density 1.15 --ppm 6 --gallons-imperial 2",
    "dose --mix --ratio '3-1-2 oxide' --ppm 100 --litres 10 --of 20-10-20 --of 15.5-0-0 --of 0-0-50",
    "dose --grade 20-10-20 --ppm 100",
    "dose --grade 20-10-20 --litres 10",
    "round -c nowhere",
]


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A small collection with a feed to lay."""
    collection = COLLECTION.replace("groups:", "  pellets: {grade: 5-3-2, form: organic}\ngroups:")
    return make_folder(tmp_path / "home", collection=collection)


def answer(words: list[str], home: Path) -> None:
    with speaking(PSEUDO):
        said = typed(*words)
    assert said
    # click words its own refusals, by a catalogue of its own.
    lines = [line.removeprefix("Error: ") for line in said.splitlines()]
    ids = {entry.id for entry in load_collection(home).journal.entries}
    places = {str(home), f"{home.parent}", "cd", "feedplan start nowhere"}
    assert_no_english(lines, own_words(load_collection(home)) | {*words} | places | ids)


@pytest.mark.parametrize("words", RECORDS)
def test_what_record_answers_is_said_in_the_language_spoken(words: str, home: Path) -> None:
    answer(["record", "-c", str(home), *TODAY, *shlex.split(words)], home)


@pytest.mark.parametrize("words", ANSWERS)
def test_what_a_command_answers_is_said_in_the_language_spoken(words: str, home: Path) -> None:
    command, *rest = shlex.split(words)
    answer([command, "-c", str(home), *(TODAY if command != "dose" else ()), *rest], home)


@pytest.mark.parametrize("words", WITHOUT_FILES)
def test_what_is_answered_without_files_is_said_too(words: str, home: Path) -> None:
    answer(shlex.split(words), home)


def test_what_is_written_is_said_too(home: Path) -> None:
    place, at = home.parent, ["-c", str(home)]
    (place / "trees.csv").write_text("name,species,pot,Sorrel\nSorrel,elm,3 L,9\n")
    (place / "slips.csv").write_text("name,species,pot\nSorrel,elm,3 L,9\n")
    for words in (
        ["start", f"{place}/table", "--time-zone", "UTC", "--from", f"{place}/trees.csv"],
        ["start", f"{place}/none", "--time-zone", "UTC", "--from", f"{place}/slips.csv"],
        ["calendar", "-o", f"{place}/x.ics", *at, *TODAY],
        ["calendar", "-o", f"{place}/x.ics", *at, *TODAY],
        ["compare", "--calendar", f"{place}/x.ics", *at, "--today", "2027-06-20"],
        ["publish", f"{place}/site", *at, *TODAY],
        ["publish", f"{place}/site", *at, *TODAY],
        ["start", f"{place}/new", "--time-zone", "UTC"],
        ["start", f"{place}/new", "--time-zone", "UTC"],
    ):
        answer(words, home)


@pytest.mark.parametrize(
    ("read", "written"),
    [
        (parse_name, ""),
        (parse_name, "x" * 99),
        (parse_day_of_year, "31 June"),
        (parse_date, "26/04/2027"),
        (parse_date, "2027-13-41"),
        (parse_time, "25:00"),
        (parse_check_rate, "now and then"),
        (parse_price, "much"),
        (parse_temperature, "40 K"),
        (parse_flush, "seldom"),
    ],
)
def test_why_a_value_cannot_be_read_is_said_too(read: Callable[[str], object], written: str) -> None:
    with speaking(PSEUDO), pytest.raises(ValueError, match=r"[Ａ-ｚ]") as refusal:
        read(written)
    assert_no_english([str(refusal.value)], frozenset({written, "June"}))


# No sentence is put together where no catalogue can see it.

PARTS = ("cli", "export", "server", "words")
NOT_READ = {
    "{0} has no place in JSON": "a fault of ours",
    "feedplan on Python {0}, {1}\n{2}\n\n": "the head of a trace",
    "two calendar entries have the key {0}": "a fault of ours",
    "the file of time zone {0} is not a compiled one of version 2 or later": "a fault of the machine's",
    "not a time zone rule: {0}": "likewise",
    "inline; filename=\"{0}\"": "a header",
    "<svg role=\"img\" aria-label=\"{0}\" ": "markup",
    "{0} left out": "what an id is made from",
    "label {0}": "a value of the form at the sink",
    "{0} ppm N": "as the journal is written",
    "{0} mS/cm": "likewise",
    "{0} g per L": "likewise",
    "--name {0}": "an option, and what is wrong with it",
    "cd {0}": "a command",
    "{0} mg {1}": "a number of an element",
    "{0} ml": "a number of millilitres",
    "{0} oz": "the step of a scale",
    "{0} ({1} ml)": "likewise",
    "{0} ppm {1}": "a number of an element",
    "us {0}": "a unit as it is typed",
    "metric {0}": "likewise",
    "can {0}": "words as they are typed at the sink",
    "ppm {0}": "likewise",
    "50 ppm {0}": "words to type there instead",
    "{0} label 1 g/L": "likewise",
    "{0} per 10 L": "likewise",
    "{0} spoon 5 g": "likewise",
    "{0} cap 7 ml": "likewise",
}  # fmt: skip
"""What has a word beside a field and is no sentence for a grower."""


def pieced_together(source: str) -> list[str]:
    """The f-strings of a module that have a word beside a space."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.JoinedStr):
            texts = [str(part.value) if isinstance(part, ast.Constant) else None for part in node.values]
            if any(re.search(r"[A-Za-z]{2,} | [A-Za-z]{2,}", text) for text in texts if text is not None):
                numbers = iter(range(len(texts)))
                found.append("".join(f"{{{next(numbers)}}}" if text is None else text for text in texts))
    return found


def test_no_sentence_is_an_f_string() -> None:
    package = Path(feedplan.__path__[0])
    modules = [path for part in PARTS for path in sorted((package / part).rglob("*.py"))]
    found = {
        text
        for path in (*modules, package / "memory.py")
        for text in pieced_together(path.read_text("utf-8"))
    }
    assert {text for text in found if not text.startswith("feedplan ")} - NOT_READ.keys() == set()
    assert NOT_READ.keys() - found == set()


# Another language is one more file.


def test_a_catalogue_is_one_file_and_changes_what_the_round_says() -> None:
    with speaking(translation(GERMAN)):
        lines = list(told(NORTH, DEMO_DAY).round())
    assert "Gießwasser prüfen" in lines
    assert [line for line in lines if line.startswith("Sa 5. Juni - 85 prüfen (1 zuerst)")]
    assert "  Düngung growing-on: 7,3 g in 8 L" not in lines


# What the search for leaks finds.


@pytest.mark.parametrize(
    ("text", "left"),
    [
        ("Ｆｅｅｄ growing-on: 3 g, 2 trees", ["trees"]),
        ("Rook ａｎｄ Hush", []),
        ("Rook and Hush", ["and"]),
        ("Rooks", ["Rooks"]),
        ("leaves open", []),
        ("leaves opening", ["leaves", "opening"]),
        ("feedplan record seen hardened NAMES", []),
        ("Ｓａｙ feedplan shelf now", ["now"]),
        ("demo/journal.yaml:3:1: wrong", ["wrong"]),
    ],
)
def test_a_leak_is_found(text: str, left: list[str]) -> None:
    assert left_in_english(text, own_words(loaded(NORTH))) == left
