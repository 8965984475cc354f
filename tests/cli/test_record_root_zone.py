"""feedplan record root-zone: a temperature in the journal, and what it changes."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from feedplan.cli.main import feedplan

COLLECTION = """
place: {name: Wrenmoor, latitude: 53.4, time_zone: Europe/London}
feeds: {powder: {grade: 20-10-20, form: soluble}}
groups: {growing-on: {schedule: vigorous, feed: powder}}
trees: [{name: Tallow, species: birch, group: growing-on, pot: 5 L}]
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "collection.yaml").write_text(COLLECTION)
    (tmp_path / "journal.yaml").write_text("- {date: 2027-04-20, tree: Tallow, seen: leaves open}\n")
    return tmp_path


def record(folder: Path, *words: str) -> Result:
    return CliRunner().invoke(
        feedplan, ["record", "-c", str(folder), "--today", "2027-04-29", "root-zone", *words]
    )


@pytest.mark.parametrize("written", [("5",), ("5 °C",), ("5.0 C",), ("41 F",), ("41 °F",)])
def test_a_temperature_is_written_with_its_unit_and_holds_the_feed_back(
    folder: Path, written: tuple[str, ...]
) -> None:
    said = record(folder, *written, "Tallow")
    assert said.exit_code == 0, said.output
    assert "root_zone: 5 °C" in (folder / "journal.yaml").read_text()
    assert "Next feed 3 May" in said.output
    why = CliRunner().invoke(feedplan, ["why", "-c", str(folder), "--today", "2027-04-30", "Tallow"])
    assert "root zone measured at 5 °C on 29 Apr, below 8 °C" in why.output


def test_words_in_place_of_a_temperature_are_refused(folder: Path) -> None:
    said = record(folder, "warm", "Tallow")
    assert said.exit_code == 2
    assert "write for example 8 °C" in said.output
