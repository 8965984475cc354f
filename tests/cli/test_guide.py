"""`feedplan guide`: its list, its pages, a word that is no page, and the line of each `--help` that leads there."""

from __future__ import annotations

import re

import pytest

from feedplan.cli.main import COMMANDS
from feedplan.guide.contents import PAGE_OF_COMMAND, PAGES
from tests.cli.conftest import Run
from tests.cli.test_completion import offered
from tests.docs.pages import every_command


def test_without_a_page_it_lists_them_all_with_a_line_each(run: Run) -> None:
    lines = run("guide").stdout.splitlines()
    assert [line.split()[0] for line in lines] == list(PAGES)
    assert all(len(line) <= 80 for line in lines)


@pytest.mark.parametrize("name", PAGES)
def test_a_page_is_printed_without_marks_and_with_its_links_as_commands(run: Run, name: str) -> None:
    text = run("guide", name).stdout
    assert text.startswith("# ")
    assert "<!--" not in text
    assert ".md)" not in text
    assert set(re.findall(r"`feedplan guide (\w+)`", text)) <= set(PAGES)


def test_a_page_goes_also_by_a_command_it_explains(run: Run) -> None:
    assert run("guide", "dose").stdout == run("guide", "Sink").stdout == run("guide", "sink.md").stdout


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("snik", "no page is called 'snik'; did you mean sink?"),
        ("wether", "no page is called 'wether'; did you mean weather"),
        ("larch", "no page is called 'larch', but it stands in saturday, "),
        ("TDS", "it stands in weather;"),
        ("drip bench", "it stands in weather;"),
        ("stands in water", "it stands in weather;"),
        ("hose end sprayer", "it stands in care;"),
        ("vacuum breaker", "it stands in care;"),
        ("air-layering", "it stands in record;"),
    ],
)
def test_another_word_is_answered_with_near_pages_or_those_that_speak_of_it(
    run: Run, typed: str, told: str
) -> None:
    result = run("guide", *typed.split())
    assert result.exit_code == 2
    assert told in result.stderr


def test_pages_complete() -> None:
    assert offered("guide", "ho") == {"holds"}


def test_the_last_line_of_every_help_names_a_page_that_there_is(run: Run) -> None:
    for words, _ in every_command():
        page = PAGE_OF_COMMAND[words.split()[0]]
        assert page in PAGES
        assert run(*words.split(), "--help").stdout.splitlines()[-1] == f"  Guide: feedplan guide {page}"
    assert "Guide: feedplan guide\n" in run("--help").stdout
    assert len(COMMANDS) > 15


def test_files_with_problems_name_the_page_on_how_to_write_them(run: Run, folder: object) -> None:
    from pathlib import Path

    file = Path("collection.yaml")
    file.write_text(file.read_text(encoding="utf-8").replace("place:", "palce:"), encoding="utf-8")
    assert run("round").stderr.endswith("\nHow files are written: feedplan guide files\n")
