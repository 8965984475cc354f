"""A note of several lines stays whole under its heading, in the round's text, in its facts and on the page."""

from __future__ import annotations

import json
import re
from datetime import date
from pathlib import Path

from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from feedplan.cli.main import feedplan
from feedplan.engine.day import day_of
from feedplan.engine.plan import plan_season
from feedplan.export.round_text import round_lines
from feedplan.load.collection import load_text
from tests.properties import examples
from tests.server.world import COLLECTION, World, make_folder

TODAY = date(2027, 6, 5)
NOTES = """
notes:
  - on: 5 June
    say: |
      Turn the pots a quarter.
      Not these
      Look first: labels, wires
        and ties.
  - {on: 5 June, say: Order akadama.}
"""
LINES = ["Turn the pots a quarter.", "Not these", "Look first: labels, wires", "and ties.", "Order akadama."]
HEADINGS = {
    "Look first",
    "Mix and feed",
    "Not these",
    "Flush with plain water",
    "Thirstiest first",
    "Check water",
    "Look for",
    "Notes",
}


def headings(lines: list[str]) -> list[str]:
    """What stands at column 0, but for the one line on top."""
    return [line for line in lines[1:] if line and not line.startswith(" ")]


def said(folder: Path, *more: str) -> str:
    words = ["round", "-c", str(folder), "--today", str(TODAY), *more]
    return CliRunner().invoke(feedplan, words, prog_name="feedplan", catch_exceptions=False).stdout


def test_in_the_text_every_line_of_it_is_under_notes(tmp_path: Path) -> None:
    """The fault this keeps out: its second line stood at column 0, as a heading of nothing."""
    folder = make_folder(tmp_path / "trees", collection=COLLECTION + NOTES)
    lines = said(folder, "--all").splitlines()
    found = headings(lines)
    assert found == [each for each in found if each in HEADINGS]
    assert len(found) == len(set(found))
    assert found[-1] == "Notes"
    assert [line.strip() for line in lines[lines.index("Notes") + 1 :]] == LINES


def test_in_the_facts_it_is_one_note_with_its_lines(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "trees", collection=COLLECTION + NOTES)
    notes = json.loads(said(folder, "--json"))["notes"]
    assert [len(note.strip().splitlines()) for note in notes] == [4, 1]


def test_on_the_page_it_is_in_the_section_of_notes_and_in_no_other(tmp_path: Path) -> None:
    world = World(make_folder(tmp_path / "trees", collection=COLLECTION + NOTES), fixed_day=TODAY)
    page = world.get("").text
    sections = re.findall(r"<section.*?</section>", page, re.S)
    [notes] = [section for section in sections if 'id="h-notes"' in section]
    assert notes.count("<p") == 2
    for line in ("Turn the pots a quarter.", "Look first: labels, wires", "and ties.", "Order akadama."):
        assert line in notes
        assert page.count(line) == 1
    titles = re.findall(r"<h2[^>]*>([^<]+)</h2>", page)
    assert len(titles) == len(set(titles))


@examples(30)
@given(st.lists(st.text(st.characters(codec="utf-8", exclude_categories=["C"])), min_size=1, max_size=5))
def test_no_note_can_make_a_heading(parts: list[str]) -> None:
    note = json.dumps("x" + "\n".join(parts), ensure_ascii=False)
    loaded = load_text(f"{COLLECTION}notes: [{{on: 5 June, say: {note}}}]\n", "")
    season = plan_season(loaded.collection, loaded.journal, TODAY, TODAY, TODAY)
    lines = list(round_lines(day_of(season, TODAY), loaded.collection))
    assert all(len(line.splitlines()) <= 1 for line in lines)
    assert set(headings(lines)) <= HEADINGS
