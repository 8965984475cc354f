"""The sheet for whoever waters while the grower is away: one page, each look once, weak trees marked, never a feed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from feedplan.engine.day import day_of
from feedplan.engine.plan import plan_season
from feedplan.engine.water.checks import EVERY_DAY, HelperSheet, looks_on, sheet_of
from feedplan.export.glance_text import columns
from feedplan.export.helper_sheet import helper_facts, helper_lines
from feedplan.export.round_text import round_lines
from feedplan.load import load_text
from feedplan.model.collection import Away
from tests.demo.test_any_span import as_served
from tests.demo.test_demo_collections import DEMO_DAY, NORTH, SOUTH


def fortnight() -> HelperSheet:
    """The northern demo's two weeks away in August."""
    season = as_served(NORTH, DEMO_DAY)
    return sheet_of(season, season.collection.away[0])


@pytest.mark.parametrize(
    ("folder", "today", "away"),
    [
        (NORTH, DEMO_DAY, Away(date(2027, 8, 7), date(2027, 8, 21))),
        (NORTH, DEMO_DAY, Away(date(2027, 6, 12), date(2027, 6, 26))),
        (NORTH, DEMO_DAY, Away(date(2027, 12, 20), date(2028, 1, 3))),
        (SOUTH, date(2028, 1, 16), Away(date(2028, 1, 20), date(2028, 2, 3))),
    ],
)
def test_two_weeks_are_one_page(folder: Path, today: date, away: Away) -> None:
    lines = list(helper_lines(sheet_of(as_served(folder, today), away)))
    assert len(lines) <= 60
    assert max(map(columns, lines)) <= 80


def test_it_says_how_what_never_and_whom_to_ask() -> None:
    sheet = fortnight()
    text = "\n".join(helper_lines(sheet))
    assert text.startswith("Water checks Sat 7 Aug to Sat 21 Aug: 109 trees. Check and water; mix no feed.\n")
    assert "Never: feed, repot, prune, spray" in text
    assert "In doubt, ask Joan at number 9." in text
    assert "ppm" not in text
    blank = replace(sheet, away=replace(sheet.away, ask=None))
    assert "In doubt, ask ____" in "\n".join(helper_lines(blank))


def test_trees_that_die_wet_are_marked_wherever_they_are_named() -> None:
    """Weak trees, and those whose roots were cut and who have not shown new growth that hardened by then."""
    text = "\n".join(helper_lines(fortnight()))
    for name in ("Gaunt", "Hush", "Millrace", "Outlaw", "Ghyll"):
        assert text.count(f"{name}*") == text.count(name) > 0
    assert "Lantern*" not in text
    assert "\n* Weak, or roots cut: dies wet, not dry." in text


def test_a_tree_stands_once_at_a_time_of_day_with_its_days_where_they_change() -> None:
    """Fennel goes from two looks to one on the 16th: its first look stands once, the second says until when."""
    text = "\n".join(helper_lines(fortnight()))
    wall = text.split("\nsouth wall\n")[1].split("\n\n")[0]
    assert wall.count("Fennel") == 2
    assert "  15:00  to 15 Aug: Fennel" in wall


@pytest.mark.parametrize("start", [date(2027, 8, 7), date(2027, 10, 4), date(2028, 3, 6)], ids=str)
def test_days_that_touch_are_one_row_and_every_look_stays(start: date) -> None:
    """A rate that changes on one day without a look more or less on any is no second row: "to 15 Aug; 16 Aug"."""
    season = as_served(NORTH, DEMO_DAY)
    sheet = sheet_of(season, Away(start, start + timedelta(days=9)))
    rows = [row for _, rows in sheet.benches for row in rows]
    for watch in season.watches:
        for tree in watch.trees:
            own = [row for row in rows if tree in row.trees]
            for day in sheet.days:
                looks = sum(row.falls_on(day) for row in own)
                assert looks == looks_on(watch.rate_on(day), day), (tree.name, day)
            daily = [row for row in own if row.weekdays == EVERY_DAY]
            touching = [
                (a, b)
                for a in daily
                for b in daily
                if a.look == b.look and b.start == a.end + timedelta(days=1)
            ]
            assert not touching
            for look in {row.look for row in own}:
                of_look = [row for row in own if row.look == look]
                everywhere = all(any(row.falls_on(day) for row in of_look) for day in sheet.days)
                assert len(of_look) == 1 or not everywhere


def test_every_look_of_every_day_has_a_box() -> None:
    """Two weeks and a day: all three times each day, but that at 20:00 nobody is looked at in midwinter."""
    lines = list(helper_lines(fortnight()))
    assert [line.count("[ ]") for line in lines if "[ ]" in line] == [15, 15, 15]
    season = as_served(NORTH, DEMO_DAY)
    winter = list(helper_lines(sheet_of(season, Away(date(2027, 12, 20), date(2028, 1, 8)))))
    assert not any("20:00" in line for line in winter)


def test_json_has_the_same_looks() -> None:
    facts = helper_facts(fortnight())
    [wall] = [bench["looks"] for bench in facts["benches"] if bench["bench"] == "south wall"]
    assert {"at": "15:00", "from": date(2027, 8, 7), "to": date(2027, 8, 15), "trees": ["Fennel"],
            "weekdays": ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]} in wall  # fmt: skip
    assert facts["ask"] == "Joan at number 9"
    assert facts["surface_dry"] == ["Gaunt", "Hush", "Millrace", "Outlaw", "Ghyll"]


WATERS = """
place: {name: X, latitude: 60, time_zone: Europe/Oslo}
feeds: {powder: {grade: 18-11-18, form: soluble, label_rate: 1 g per L}}
water: {rain: {ec: 0.02 mS/cm}, tap: {ec: 0.4 mS/cm, alkalinity: 250 mg/L CaCO3}}
away: [{from: 2027-07-05, to: 2027-07-14}]
groups:
  acid: {schedule: ericaceous, feed: powder, water: rain}
  mild: {schedule: vigorous, feed: powder, water: {blend: [tap, rain], ec: 0.21 mS/cm}}
  plain: {schedule: vigorous, feed: powder, water: tap}
trees:
  - {name: A, species: satsuki azalea, group: acid, pot: 3 L}
  - {name: B, species: camellia, group: acid, pot: 3 L}
  - {name: C, species: hornbeam, group: mild, pot: 3 L}
  - {name: D, species: hornbeam, group: plain, pot: 3 L}
"""


def test_trees_that_must_not_have_the_usual_water_are_named_with_theirs() -> None:
    """The tap water is the usual one wherever it stands in the file."""
    of = load_text(WATERS)
    season = plan_season(of.collection, of.journal, date(2027, 7, 3))
    lines = list(helper_lines(sheet_of(season, of.collection.away[0])))
    assert "Rain water only: A, B" in lines
    assert "Mixed water only, 50 % tap and 50 % rain: C" in lines
    assert not any("water only" in line and "D" in line for line in lines)
    told = [line.strip() for line in round_lines(day_of(season, date(2027, 7, 3)), of.collection)]
    assert told.count("Rain water only: A, B") == 1


def test_one_water_for_all_is_no_line_on_the_sheet() -> None:
    plain = WATERS.replace("water: rain}", "water: tap}").replace(
        "water: {blend: [tap, rain], ec: 0.21 mS/cm}", "water: tap"
    )
    of = load_text(plain)
    season = plan_season(of.collection, of.journal, date(2027, 7, 3))
    assert "water only" not in "\n".join(helper_lines(sheet_of(season, of.collection.away[0])))
