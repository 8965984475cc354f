"""`feedplan season` of a year that is over, and `feedplan why` of a day in it: page, JSON and CSV say the same."""

from __future__ import annotations

import csv
import io
import json
import re
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from feedplan.export.year_book import COLUMNS
from tests.cli.conftest import Run
from tests.scenarios.planning import SCHEDULES
from tests.scenarios.test_year_book import NORTH, NORTH_JOURNAL, SOUTH, SOUTH_JOURNAL

LATER = "2029-02-01"

PAGE_2027 = """\
Wrenmoor, year book 2027
1 January 2027 to 31 December 2027

                           J   F   M   A    M   J   J    A   S    O   N   D
Sorrel                     ................##.#!.##.###.#..+..+..+..............
Teal                       ................##.###.##.##.###.+.+.+...............
Gannet                     ................#xxxxx++.##.###.#+.+.+...............
# feed from 100 ppm N   + weaker feed   x held: no feed   ~ away   . nothing
! missed

F
-
Sorrel: larch
  Group    V; F from 1 Aug
  Seen     leaves open 24 Apr (14 days late)
  Feeds    powder: 24 Apr 150?, 4 May 150, 14 May 100*, 24 May 150x, 5 Jun 150*,
           15 Jun 150?, 25 Jun 150?, 5 Jul 150?, 15 Jul 150?, 25 Jul 150?,
           15 Aug 60?, 5 Sep 60?, 26 Sep 60?
           14 May: 100 ppm N in place of 150 ppm N
           24 May: too wet
           5 Jun: 50 % of the usual pour, 2 days late
  N        140 of 200 mg per L of pot

V
-
Gannet: larch
  Group    V
  Seen     leaves open 24 Apr (14 days late); first flush hardened 6 Jun (9 days
           late)
  Work     26 Apr repotted, 30 % of roots off
  Feeds    powder: 24 Apr 150?, 6 Jun 38?, 16 Jun 75?, 26 Jun 150?, 6 Jul 150?,
           16 Jul 150?, 26 Jul 150?, 5 Aug 150?, 15 Aug 150?, 25 Aug 50?,
           8 Sep 50?, 22 Sep 50?
  N        131 of 360 mg per L of pot
  Held     repotted, moderate, 30 % of roots, 26 Apr to 6 Jun; 6 days over
           31 May
  Repot    last 26 Apr, every 2 years: due 2029

Teal: larch
  Group    V
  Seen     leaves open 24 Apr (14 days late)
  Feeds    powder: 24 Apr 150?, 4 May 150?, 14 May 150?, 24 May 150?,
           3 Jun 150?, 13 Jun 150?, 23 Jun 150?, 3 Jul 150?, 13 Jul 150?,
           23 Jul 150?, 2 Aug 150?, 12 Aug 150?, 22 Aug 50?, 5 Sep 50?,
           19 Sep 50?
  N        195 of 360 mg per L of pot
  Repot    no repot on record, every 3 years

To repot, but no repot on record: Teal
Holds that overran: Gannet 6 days
Feeds: day and ppm N as given; N: mg per L of pot.
? nothing written, taken as given   ! missed   x not given   * given otherwise
& not told   > not answered yet
"""


@pytest.fixture
def garden(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The northern garden of the scenarios in a folder, and standing in it."""
    _write(tmp_path, NORTH, NORTH_JOURNAL)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def _write(folder: Path, collection: str, journal: str) -> None:
    (folder / "schedules").mkdir(exist_ok=True)
    for name, text in SCHEDULES.items():
        (folder / "schedules" / f"{name}.yaml").write_text(text, encoding="utf-8")
    (folder / "collection.yaml").write_text(collection, encoding="utf-8")
    (folder / "journal.yaml").write_text(journal, encoding="utf-8")


def _rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def _told(run: Run, *words: str, today: str = LATER) -> str:
    result = run("season", *words, today=today)
    assert result.exit_code == 0, result.output
    return result.stdout


@pytest.mark.usefixtures("garden")
def test_the_page_of_a_past_year(run: Run) -> None:
    """Regression value; its dates and sums are checked in tests/scenarios/test_year_book.py."""
    assert _told(run, "--year", "2027") == PAGE_2027


@pytest.mark.parametrize("words", [("--year", "2027"), ("--year", "2028"), ("--book",)], ids=" ".join)
@pytest.mark.usefixtures("garden")
def test_no_line_is_wider_than_a_printed_page(run: Run, words: tuple[str, ...]) -> None:
    assert max(len(line) for line in _told(run, *words).splitlines()) <= 80


@pytest.mark.parametrize("year", ["2027", "2028"])
@pytest.mark.usefixtures("garden")
def test_page_json_and_csv_tell_the_same(run: Run, year: str) -> None:
    page = re.sub(r"\s+", " ", _told(run, "--year", year))
    rows = _rows(_told(run, "--year", year, "--csv"))
    facts = json.loads(_told(run, "--year", year, "--json"))
    assert (
        {row["tree"] for row in rows}
        == {tree["tree"] for tree in facts["trees"]}
        == {"Sorrel", "Gannet", "Teal"}
    )
    for tree in facts["trees"]:
        of_tree = [row for row in rows if row["tree"] == tree["tree"]]
        assert [_filled(row) for row in of_tree] == [_as_cells(event) for event in tree["events"]]
        part = page[page.index(f"{tree['tree']}: larch") :]
        part = part[: part.index(" mg per L of pot")]
        for row in of_tree:
            if row["event"] == "feed":
                assert f"{_short(row['end'] or row['date'])} {_whole(row['ppm_n'])}" in part
        poured = sum(Decimal(row["n_mg_per_l_of_pot"]) for row in of_tree if row["event"] == "feed")
        (total,) = (row["n_mg_per_l_of_pot"] for row in of_tree if row["event"] == "nitrogen")
        assert poured == Decimal(total) == Decimal(str(tree["n_mg_per_l_of_pot"]))
        assert part.endswith(f"{Decimal(total):.0f} of {tree['budget_n_mg_per_l_of_pot']}")


def _filled(row: dict[str, str]) -> dict[str, str]:
    return {key: cell for key, cell in row.items() if cell and key not in ("tree", "species")}


def _as_cells(event: dict[str, Any]) -> dict[str, str]:
    return {key: f"{value:g}" if isinstance(value, float) else str(value) for key, value in event.items()}


def _short(day: str) -> str:
    months = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
    _, month, number = day.split("-")
    return f"{int(number)} {months[int(month) - 1]}"


def _whole(ppm: str) -> str:
    return str(int(Decimal(ppm) + Decimal("0.5")))


@pytest.mark.usefixtures("garden")
def test_the_columns_of_the_table_stay(run: Run) -> None:
    """Whoever reads it with a spreadsheet goes by these."""
    head = _told(run, "--year", "2027", "--csv").splitlines()[0]
    assert head == (
        "tree,species,event,date,end,what,outcome,days,roots_percent,product,ppm_n,"
        "n_mg_per_l_of_pot,budget_n_mg_per_l_of_pot,every_years,due"
    )
    assert head.split(",") == list(COLUMNS)


def test_a_southern_year_is_called_by_both_its_years(run: Run, tmp_path: Path) -> None:
    _write(tmp_path, SOUTH, SOUTH_JOURNAL)
    page = _told(run, "--year", "2027", "-c", str(tmp_path))
    assert page.startswith("Kororua Bay, year book 2027/28\n1 July 2027 to 30 June 2028\n")
    assert "every 2 years: due 2029/30" in page
    assert "10 Dec 38?" in page


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("--year", "2025"), "nothing is on record before 24 April 2027; 2025 has no year book"),
        (("--year", "1902"), "nothing is on record before 24 April 2027; 1902 has no year book"),
        (("--year", "2030", "--book"), "2030 is still to come; feedplan season --year 2030 shows its plan"),
        (("--year", "2030", "--csv"), "2030 is still to come; feedplan season --year 2030 shows its plan"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else "",
)
@pytest.mark.usefixtures("garden")
def test_a_year_without_a_book_is_one_sentence(run: Run, words: tuple[str, ...], sentence: str) -> None:
    result = run("season", *words, today=LATER)
    assert (result.exit_code, result.stderr) == (2, f"Error: {sentence}\n")


def test_a_collection_without_any_record_has_no_book(run: Run, tmp_path: Path) -> None:
    _write(tmp_path, NORTH.replace("since: 2027-04-24\n", ""), "")
    result = run("season", "--book", "-c", str(tmp_path), today=LATER)
    assert result.stderr == "Error: nothing is on record yet; a year book tells what was\n"


@pytest.mark.parametrize(
    ("tree", "day", "told"),
    [
        ("Sorrel", "2027-05-04", "told for 4 May 2027: 150 ppm N of powder; given"),
        ("Sorrel", "2027-05-14", "given otherwise: 100 ppm N in place of 150 ppm N"),
        ("Sorrel", "2027-05-24", "told for 24 May 2027: 150 ppm N of powder; not given: too wet"),
        # Told for 3 June and given two days later: both days say so.
        (
            "Sorrel",
            "2027-06-03",
            "told for 3 June 2027: 150 ppm N of powder; given otherwise: 50 % of the usual pour",
        ),
        (
            "Sorrel",
            "2027-06-05",
            "told for 3 June 2027: 150 ppm N of powder; given otherwise: 50 % of the usual pour",
        ),
        ("Sorrel", "2027-05-30", "a feed of 24 May was not given; next due 5 Jun"),
        ("Teal", "2027-05-04", "fed, as far as the plan knows (not recorded), 150 ppm N of powder"),
        ("Gannet", "2027-05-20", "repotted, moderate on 26 Apr: ends 6 Jun"),
    ],
)
@pytest.mark.usefixtures("garden")
def test_why_of_a_day_years_back_says_what_was_told_and_what_became_of_it(
    run: Run, tree: str, day: str, told: str
) -> None:
    """Seven years later, which is further than a plan reaches."""
    result = run("why", tree, day, today="2034-06-10")
    assert result.exit_code == 0, result.output
    assert told in result.stdout


@pytest.mark.usefixtures("garden")
def test_why_of_a_later_year_leaves_out_holds_long_over(run: Run) -> None:
    assert "Hold: repotted, moderate" in run("why", "Gannet", "2027-07-01", today=LATER).stdout
    assert "Hold:" not in run("why", "Gannet", "2028-04-10", today=LATER).stdout


@pytest.mark.usefixtures("garden")
def test_why_as_json_says_what_was_told(run: Run) -> None:
    facts = json.loads(run("why", "Sorrel", "2027-06-03", "--json", today=LATER).stdout)
    assert facts["feed"] is None
    assert facts["told"] == {
        "feed": "powder",
        "n_mg_per_l": 150.0,
        "outcome": "given otherwise",
        "given_on": "2027-06-05",
    }


@pytest.mark.usefixtures("garden")
def test_why_of_a_day_before_any_record_is_refused_when_far_back(run: Run) -> None:
    result = run("why", "Teal", "2026-05-04", today="2034-06-10")
    assert result.stderr == "Error: 2026-05-04 is too far back; a plan reaches 5 years\n"
