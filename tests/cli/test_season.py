"""The year as a picture: one sign a week, feeds and nitrogen beside it."""

from __future__ import annotations

import json
from pathlib import Path

from click.testing import CliRunner

from feedplan.cli.main import feedplan

COLLECTION = """
place: {name: Wrenmoor, latitude: 53.4, time_zone: Europe/London}
since: 2027-04-24
away: [{from: 2027-08-03, to: 2027-08-16}]
feeds: {powder: {grade: 20-10-20, form: soluble}}
groups: {growing-on: {schedule: vigorous, feed: powder}}
trees:
  - {name: Sorrel, species: larch, group: growing-on, pot: 10 L}
  - {name: Gannet, species: larch, group: growing-on, pot: 5 L}
"""
JOURNAL = """
- {date: 2027-04-24, species: larch, seen: leaves open}
- {date: 2027-04-26, tree: Gannet, work: repotted, roots: 30 %}
- {date: 2027-06-06, tree: Gannet, seen: hardened}
"""


def shown(folder: Path, *options: str) -> str:
    (folder / "collection.yaml").write_text(COLLECTION, encoding="utf-8")
    (folder / "journal.yaml").write_text(JOURNAL, encoding="utf-8")
    result = CliRunner().invoke(feedplan, ["season", "-c", str(folder), "--today", "2027-06-10", *options])
    assert result.exit_code == 0, result.output
    return result.output


def weeks_of(output: str, tree: str) -> str:
    line = next(line for line in output.splitlines() if line.strip().startswith(tree))
    return line[27:80]


def test_each_week_shows_its_strongest_feed_its_hold_or_nothing(tmp_path: Path) -> None:
    output = shown(tmp_path)
    sorrel, gannet = weeks_of(output, "Sorrel"), weeks_of(output, "Gannet")
    assert sorrel[:16] == "." * 16  # no leaves before 24 April, in the 17th week
    assert sorrel[16] == "#"
    assert gannet[17:21] == "xxxx"
    assert gannet[22] == "+"  # the ramp begins on 6 June with a quarter of the plan


def test_the_same_facts_as_json_count_feeds_and_nitrogen(tmp_path: Path) -> None:
    facts = json.loads(shown(tmp_path, "--json"))
    sorrel = next(course for course in facts["courses"] if course["trees"] == ["Sorrel"])
    dates = [feed["date"] for feed in sorrel["feeds"]]
    assert dates[0] == "2027-04-24"
    assert not any("2027-08-03" <= date <= "2027-08-16" for date in dates)
    # Each feed pours a tenth of the pot: 11 feeds of 150 mg/L before the days away, then 4 of 50 mg/L after them.
    assert sorrel["n_mg_per_l_of_pot"] == 11 * 15 + 4 * 5


def test_a_year_out_of_reach_is_refused_in_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "collection.yaml").write_text(COLLECTION, encoding="utf-8")
    words = ["season", "-c", str(tmp_path), "--today", "2027-06-10", "--year", "2040"]
    assert "2040 is out of reach" in CliRunner().invoke(feedplan, words).stderr
