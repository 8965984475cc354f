"""Solid feed that was told stays told: what lies on a pot is what the grower was asked to lay, not what is known since.

Pellets are laid from 1 April every five weeks until 15 August: 1 April, 6 May, 10 June and 15 July.
"""

from __future__ import annotations

import csv
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from feedplan import memory
from feedplan.load import load_collection
from feedplan.model.course import Act
from tests.scenarios.planning import SCHEDULES

COLLECTION = """
place: {name: Wrenmoor, latitude: 53.4, elevation: 60 m, time_zone: Europe/London}
since: 2027-03-01
feeds:
  powder: {grade: 20-10-20, form: soluble}
  pellets: {grade: 5-3-2, form: organic, released: 60 %, longevity: 50 days}
groups:
  growing-on: {schedule: V, feed: powder, solid_feed: pellets}
trees:
  - {name: Quill, species: elm, group: growing-on, pot: 10 L}
"""
SCHEDULE = SCHEDULES["V"].replace(
    "feeding:", "feeding:\n  pellets: {from: 1 April, to: 15 August, every: 5 weeks, solid: 2 g per L}"
)
MISSED = "habits: {unlogged_feeds: missed}\n"


class Year:
    """A folder lived in: the plan is made every day, and remembered."""

    def __init__(self, folder: Path, collection: str = COLLECTION) -> None:
        self.folder, self.now = folder, date(2027, 3, 20)
        (folder / "schedules").mkdir()
        self.write("collection.yaml", collection)
        self.write("schedules/V.yaml", SCHEDULE)
        self.write("journal.yaml", "")

    def write(self, name: str, text: str) -> None:
        (self.folder / name).write_text(text, encoding="utf-8")

    def until(self, day: str) -> list[str]:
        """Every plan up to a day; the layings of the last as "2027-04-01 planned"."""
        last = date.fromisoformat(day)
        while self.now < last:
            self.now += timedelta(days=1)
            self.plan()
        return self.acts()

    def plan(self) -> memory.RememberedPlan:
        file = self.folder / "collection.yaml"
        start, end = date(2027, 3, 1), date(2027, 12, 31)
        return memory.plan(load_collection(file), self.now, start, end, file=file, keep=True)

    def acts(self, act: Act = Act.LAY) -> list[str]:
        (timeline,) = self.plan().season.timelines
        found = [event for event in timeline.solid_events if event.act is act]
        return [f"{event.day} {event.status}" for event in found if event.day.year == 2027]

    def counted(self) -> int:
        """N of the season's solid feed as known today [mg per L of container]."""
        (timeline,) = self.plan().season.timelines
        return round(sum(solid.mg_n_per_l for solid in timeline.solids if solid.season == 2027))


@pytest.fixture
def year(tmp_path: Path) -> Year:
    return Year(tmp_path)


def test_a_longer_interval_moves_no_laying_of_the_past(year: Year) -> None:
    year.until("2027-04-20")
    year.write("schedules/V.yaml", SCHEDULE.replace("5 weeks", "7 weeks"))
    assert year.acts() == ["2027-04-01 assumed given", "2027-05-20 planned", "2027-07-08 planned"]


def test_a_start_moved_in_the_file_lays_nothing_anew(year: Year) -> None:
    year.until("2027-04-20")
    year.write("schedules/V.yaml", SCHEDULE.replace("from: 1 April", "from: 15 April"))
    assert year.acts()[:2] == ["2027-04-01 assumed given", "2027-05-06 planned"]


def test_what_was_laid_stays_when_its_period_is_deleted_and_still_comes_off_on_its_day(year: Year) -> None:
    year.until("2027-08-01")
    year.write("schedules/V.yaml", SCHEDULE.replace("  pellets: {", "  #pellets: {"))
    assert year.acts() == [f"2027-{day} assumed given" for day in ("04-01", "05-06", "06-10", "07-15")]
    assert year.acts(Act.LIFT) == ["2027-08-16 planned"]


def test_more_solid_feed_to_the_litre_changes_what_is_still_to_be_laid_alone(year: Year) -> None:
    """2 g of 5 % N, of which 60 % comes free, are 60 mg N per litre of pot; 2.2 g are 66, which fit the season."""
    year.until("2027-04-20")
    year.write("schedules/V.yaml", SCHEDULE.replace("2 g per L", "2.2 g per L"))
    (timeline,) = year.plan().season.timelines
    given = [event.mg_n_per_l for event in timeline.solid_events if event.act is Act.LAY]
    assert given[:2] == [60, 66]


def test_what_was_not_laid_counts_nothing_and_leaves_the_next_on_its_day(year: Year) -> None:
    with_it = Year.counted(year)
    year.until("2027-04-03")
    year.write("journal.yaml", "- {date: 2027-04-01, tree: Quill, not_laid: still wet}\n")
    assert year.acts()[:2] == ["2027-04-01 not given", "2027-05-06 planned"]
    assert with_it - year.counted() == 60


def test_the_group_laid_but_one_tree_leaves_that_tree_without(tmp_path: Path) -> None:
    year = Year(tmp_path, COLLECTION + "  - {name: Sedge, species: elm, group: growing-on, pot: 5 L}\n")
    year.until("2027-04-03")
    laid = "{date: 2027-04-01, group: growing-on, but_not: Sedge, laid: pellets, rate: 2 g per L}"
    year.write("journal.yaml", f"- {laid}\n")
    statuses = {
        timeline.names: str(min(timeline.solid_events, key=lambda event: event.day).status)
        for timeline in year.plan().season.timelines
    }
    assert statuses == {("Quill",): "recorded", ("Sedge",): "not given"}


def test_a_laying_nobody_recorded_is_offered_again_and_slides_none_that_follows(tmp_path: Path) -> None:
    year = Year(tmp_path, MISSED + COLLECTION)
    for day in ("2027-04-02", "2027-04-20", "2027-05-05"):
        assert year.until(day)[:2] == [f"{day} overdue", "2027-05-06 planned"]
    assert year.until("2027-05-07")[:2] == ["2027-04-01 missed", "2027-05-07 overdue"]
    year.write("journal.yaml", "- {date: 2027-05-10, tree: Quill, laid: pellets, rate: 2 g per L}\n")
    assert year.until("2027-05-10")[:3] == [
        "2027-04-01 missed",
        "2027-05-10 recorded",
        "2027-06-14 planned",
    ]


def test_with_nothing_new_known_no_laying_or_lifting_changes_from_day_to_day(tmp_path: Path) -> None:
    year = Year(tmp_path)
    first = year.until("2027-03-25") + year.acts(Act.LIFT)
    days = [each.split()[0] for each in first]
    for day in ("2027-04-02", "2027-05-30", "2027-08-15", "2027-09-20"):
        found = year.until(day) + year.acts(Act.LIFT)
        assert [each.split()[0] for each in found] == days


def test_layings_cut_to_the_budget_keep_their_day_and_grams_as_the_days_pass(tmp_path: Path) -> None:
    """5 g a litre, 150 mg N each, do not fit 360 mg: each is laid lighter, and stays so with nothing new known."""
    year = Year(tmp_path)
    year.write("schedules/V.yaml", SCHEDULE.replace("2 g per L", "5 g per L"))

    def cut() -> list[tuple[date, Decimal]]:
        (timeline,) = year.plan().season.timelines
        events = [e for e in timeline.solid_events if e.act is Act.LAY and e.season == 2027]
        return [(event.day, event.grams_per_l) for event in events]

    first = cut()
    assert [len(first), *{grams < 5 for _, grams in first}] == [4, True]
    while year.now < date(2027, 9, 1):
        year.now += timedelta(days=1)
        assert cut() == first


def test_what_was_cut_and_not_laid_makes_none_that_follows_heavier(tmp_path: Path) -> None:
    year = Year(tmp_path)
    year.write("schedules/V.yaml", SCHEDULE.replace("2 g per L", "5 g per L"))
    year.until("2027-04-03")
    (timeline,) = year.plan().season.timelines
    before = [e.grams_per_l for e in timeline.solid_events if e.act is Act.LAY and e.season == 2027]
    year.write("journal.yaml", "- {date: 2027-04-01, tree: Quill, not_laid: still wet}\n")
    (timeline,) = year.plan().season.timelines
    assert before == [e.grams_per_l for e in timeline.solid_events if e.act is Act.LAY and e.season == 2027]


def test_a_laying_recorded_late_is_the_one_that_was_told(year: Year) -> None:
    year.until("2027-05-20")
    late = "- {date: 2027-04-05, recorded: 2027-05-20, tree: Quill, laid: pellets, rate: 1 g per L}\n"
    year.write("journal.yaml", late)
    assert year.acts()[:3] == ["2027-04-05 recorded", "2027-05-06 assumed given", "2027-06-10 planned"]


def test_history_tells_what_was_laid_and_gives_it_back_when_the_other_file_is_lost(year: Year) -> None:
    before = year.until("2027-06-20")
    rows = list(csv.DictReader((year.folder / "history.csv").read_text(encoding="utf-8").splitlines()))
    laid = [row for row in rows if row["grams_per_l_of_pot"]]
    assert [(r["told"], r["product"], r["outcome"], r["n_mg_per_l_of_pot"]) for r in laid] == [
        ("2027-04-01", "pellets", "taken as given", "60"),
        ("2027-05-06", "pellets", "taken as given", "60"),
        ("2027-06-10", "pellets", "taken as given", "60"),
    ]
    (year.folder / "told.json").unlink()
    year.write("schedules/V.yaml", SCHEDULE.replace("5 weeks", "4 weeks"))
    assert year.acts()[:3] == before[:3]


def test_history_written_before_layings_were_kept_is_taken_up_as_it_is(year: Year) -> None:
    """Its first line lacks the columns; the layings that nobody wrote down are worked out anew from the schedule."""
    before = year.until("2027-06-20")
    lines = (year.folder / "history.csv").read_text(encoding="utf-8").splitlines()
    old = [line.rsplit(",", 3)[0] for line in lines if line.endswith((",,,", "lift_on"))]
    year.write("history.csv", "\n".join(old) + "\n")
    told = year.folder / "told.json"
    text = told.read_text(encoding="utf-8")
    year.write(
        "told.json",
        text[: text.index(',\n"layings"')].replace(f'"lines": {len(lines)}', f'"lines": {len(old)}') + "\n}",
    )
    assert year.acts() == before
    year.until("2027-06-21")
    rows = list(csv.DictReader((year.folder / "history.csv").read_text(encoding="utf-8").splitlines()))
    assert [row["told"] for row in rows if row["lift_on"]] == ["2027-04-01", "2027-05-06", "2027-06-10"]
    assert [row["told"] for row in rows if not row["lift_on"]] == [line.split(",")[0] for line in old[1:]]
