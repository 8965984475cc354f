"""The year as a picture: one sign a week, feeds and nitrogen beside it."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from click.testing import CliRunner

from feedplan.cli.main import feedplan
from feedplan.export.season_text import season_lines
from tests.scenarios.planning import GROUPS, KORORUA_BAY, plan

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


HELD = JOURNAL.replace("- {date: 2027-06-06, tree: Gannet, seen: hardened}\n", "")


def held(folder: Path, journal: str, today: str, *options: str) -> str:
    (folder / "collection.yaml").write_text(COLLECTION, encoding="utf-8")
    (folder / "journal.yaml").write_text(journal, encoding="utf-8")
    result = CliRunner().invoke(feedplan, ["season", "-c", str(folder), "--today", today, *options])
    assert result.exit_code == 0, result.output
    return result.output


def gannet(facts: str) -> Any:
    [found] = [course for course in json.loads(facts)["courses"] if course["trees"] == ["Gannet"]]
    return found


def test_a_held_tree_shows_how_feeding_may_go_on_apart_from_what_is_planned(tmp_path: Path) -> None:
    """Roots cut by 30 % on 26 April: held 5 weeks, and until extension and hardening, due with the first flush."""
    output = held(tmp_path, HELD, "2027-05-10")
    weeks = weeks_of(output, "Gannet")
    assert weeks[17:22] == "xxxxx"
    assert "?" in weeks[22:31]
    assert weeks[31:33] == "~~"  # the days away stay what they are
    assert weeks.rstrip()[-1] == "."  # not a year of x
    assert "+" not in weeks[17:]
    assert "#" not in weeks[17:]
    facts = gannet(held(tmp_path, HELD, "2027-05-10", "--json"))
    day = date.fromisoformat(facts["expected"]["feeding_open"][0][0])
    assert f"Gannet: feeds from about {day.day} {day:%b} if seen by then: extension and hardened." in output
    assert facts["expected"]["if_seen"] == ["extension", "hardened"]
    assert not any(feed["date"] > "2027-05-10" for feed in facts["feeds"])


def test_what_was_expected_comes_true_when_the_signs_are_seen_on_that_day(tmp_path: Path) -> None:
    expected = gannet(held(tmp_path, HELD, "2027-05-10", "--json"))["expected"]
    end = expected["hold_ends_about"]
    seen = HELD + f"- {{date: {end}, tree: Gannet, seen: [extension, hardened]}}\n"
    facts = gannet(held(tmp_path, seen, end, "--json"))
    assert facts["expected"] is None
    first = date.fromisoformat(next(feed["date"] for feed in facts["feeds"] if feed["date"] >= end))
    opens = date.fromisoformat(expected["feeding_open"][0][0])
    assert timedelta() <= first - opens <= timedelta(days=10)  # the interval of its schedule


def test_a_sign_not_seen_when_it_was_expected_is_expected_at_the_next_look(tmp_path: Path) -> None:
    """The hold's looks come 8 and 12 weeks after the work, then each fortnight: 21 June, 19 July, 2 August."""
    assert gannet(held(tmp_path, HELD, "2027-07-15", "--json"))["expected"]["hold_ends_about"] == "2027-07-19"


def test_a_hold_that_may_end_too_late_says_so(tmp_path: Path) -> None:
    late = HELD.replace("2027-04-26", "2027-08-20")
    output = held(tmp_path, late, "2027-08-25")
    assert "Gannet: no feed this season, even if seen about " in output
    assert "?" not in weeks_of(output, "Gannet")


def test_trees_that_nothing_holds_have_nothing_expected(tmp_path: Path) -> None:
    facts = json.loads(shown(tmp_path, "--json"))
    assert [course["expected"] for course in facts["courses"]] == [None, None]


def test_months_stand_above_the_week_in_which_they_begin_where_the_year_of_growth_turns_in_july() -> None:
    """By hand: from 1 July 2028 on, January begins in the 27th week."""
    year = plan(
        KORORUA_BAY + GROUPS + "trees: [{name: Quill, species: elm, group: V, pot: 6 L}]\n",
        today="2028-07-01",
    )
    _, head, *_ = season_lines(year.season, year.collection, 2028)
    letters = head[27:80]
    assert letters.split() == list("JASONDJFMAMJ")
    assert letters[26] == "J"
