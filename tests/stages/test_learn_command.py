"""feedplan learn: tells what sightings teach, writes nothing unasked, and what it writes is what the plan goes by."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from feedplan.cli.main import feedplan
from feedplan.engine.plan import plan_season
from feedplan.load.collection import load_collection
from feedplan.model.stage import Origin
from feedplan.words.reasons import basis_words
from tests.stages.open_records import northern_record
from tests.stages.test_learning import made_dates

COLLECTION = """
place: {name: Upland, latitude: 54.3, time_zone: Europe/London}
feeds: {powder: {grade: 20-10-20, form: soluble}}
groups: {growing-on: {schedule: vigorous, feed: powder}}
trees:
  - {name: Brindle, species: hornbeam, group: growing-on, pot: 5 L}
  - {name: Kettle, species: hornbeam, group: growing-on, pot: 5 L}
  - {name: Ember, species: maple, group: growing-on, pot: 5 L}
"""
TODAY = "2008-12-01"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Two hornbeams whose leaves opened in six years when 120 degree days above 5 °C were reached, a day apart."""
    (tmp_path / "collection.yaml").write_text(COLLECTION)
    (tmp_path / "climate").mkdir()
    rows = (f"{d},{low},{high},{rain}" for d, low, high, rain in northern_record() if d.year < 2009)
    (tmp_path / "climate" / "daily.csv").write_text("date,tmin_c,tmax_c,rain_mm\n" + "\n".join(rows) + "\n")
    seen = "".join(
        f"- {{date: {s.days[0] + timedelta(days=off)}, tree: {name}, seen: leaves open}}\n"
        for s in made_dates(5.0, 120, range(2003, 2009))
        for name, off in (("Brindle", 0), ("Kettle", 1))
    )
    (tmp_path / "journal.yaml").write_text(seen)
    return tmp_path


def run(folder: Path, *words: str) -> Result:
    return CliRunner().invoke(feedplan, ["learn", "-c", str(folder), "--today", TODAY, *words])


def test_the_error_is_told_before_and_after_and_nothing_is_written(folder: Path) -> None:
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    said = run(folder)
    assert said.exit_code == 0, said.output
    assert said.output.startswith("hornbeam, leaves open: 40 degree days above 5 °C after buds breaking")
    assert "Learned from 12 sightings in 6 seasons" in said.output
    assert "Keep that: feedplan learn --write" in said.output
    assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == before


def test_json_tells_the_same_with_a_smaller_error_on_seasons_left_out(folder: Path) -> None:
    (lesson,) = json.loads(run(folder, "--json").output)["lessons"]
    assert lesson["is_better"]
    assert lesson["learned"]["error_days_of_seasons_left_out"] < 2.5 < lesson["before"]["error_days"]


def test_what_is_written_is_read_again_and_moves_the_next_spring(folder: Path) -> None:
    def leaves_open() -> tuple[date | None, Origin, str]:
        loaded = load_collection(folder)
        season = plan_season(
            loaded.collection, loaded.journal, date.fromisoformat(TODAY), climate=loaded.climate
        )
        timeline = next(t for t in season.timelines if "Brindle" in t.names)
        at = next(a for a in timeline.stage_dates(2009) if a.stage == "leaves open")
        return at.day, at.origin, basis_words(at.basis, date.fromisoformat(TODAY))

    shipped = leaves_open()
    own = (folder / "collection.yaml").read_bytes()
    said = run(folder, "--write")
    assert said.exit_code == 0, said.output
    assert (folder / "collection.yaml").read_bytes() == own
    learned = leaves_open()
    assert "learned from 12 sightings in 6 seasons" in learned[2]
    assert learned[0] is not None
    assert shipped[0] is not None
    # 120 degree days come before the shipped 140 and another 45.
    assert learned[0] < shipped[0]
    assert run(folder, "--write").exit_code == 0


def test_without_weather_there_is_nothing_to_learn_from(folder: Path) -> None:
    (folder / "climate" / "daily.csv").unlink()
    said = run(folder)
    assert said.exit_code == 2
    assert "put a daily record in climate/daily.csv" in said.output


def test_one_season_is_said_to_be_too_little(folder: Path) -> None:
    first = (folder / "journal.yaml").read_text().splitlines()[0]
    (folder / "journal.yaml").write_text(first + "\n")
    assert "Nothing to learn yet: seen in 1 season; 2 are needed." in run(folder).output


def test_a_slip_in_the_learned_file_is_told_at_its_line(folder: Path) -> None:
    (folder / "learned.yaml").write_text("learned:\n  hornbeam:\n    leaves opne: {base: 5 °C, count_from: 1 February, "
                                         "warmth: 120 degree days, give_or_take: 9 degree days}\n")  # fmt: skip
    said = run(folder)
    assert said.exit_code == 1
    assert (
        "learned.yaml:3:5: learned of 'hornbeam': no stage is called 'leaves opne'; did you mean 'leaves open'?"
        in (said.output)
    )
