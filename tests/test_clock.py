"""A clock that runs ahead or falls back: what it told is not kept as truth, and what was told before is not lost."""

from __future__ import annotations

import csv
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from feedplan import memory
from feedplan.cli.main import feedplan
from feedplan.load import load_collection
from tests.test_memory import COLLECTION, DAY, FIRST, JOURNAL, LAST, feeds

YEARS_AHEAD, YEARS_BACK = date(2035, 6, 1), date(2021, 1, 1)
DOUBTS = (
    "the clock of this computer says {day}, but a plan was told on {told} already, so nothing is remembered. Set the "
    "clock right; if it is right and ran ahead before, type: rm {file}"
)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """A collection planned every twelfth day up to LAST."""
    (tmp_path / "collection.yaml").write_text(COLLECTION, encoding="utf-8")
    (tmp_path / "journal.yaml").write_text(JOURNAL, encoding="utf-8")
    for n in range(0, (LAST - FIRST).days + 1, 12):
        plan(tmp_path / "collection.yaml", FIRST + n * DAY)
    return tmp_path / "collection.yaml"


def plan(file: Path, today: date, *, keep: bool = True, trusts_clock: bool = False) -> memory.RememberedPlan:
    return memory.plan(
        load_collection(file),
        today,
        FIRST,
        date(2027, 12, 31),
        file=file,
        keep=keep,
        trusts_clock=trusts_clock,
    )


def kept(file: Path) -> list[bytes]:
    return [(file.parent / name).read_bytes() for name in ("history.csv", "told.json")]


def told_twice(file: Path) -> list[tuple[str, str]]:
    lines = (file.parent / "history.csv").read_text(encoding="utf-8").splitlines()
    found = [
        (row["told"], row["tree"])
        for row in csv.DictReader(line for line in lines if not line.startswith("# "))
    ]
    return [each for each in found if found.count(each) > 1]


@pytest.mark.parametrize("other_day", [YEARS_AHEAD, LAST + 3 * DAY])
def test_after_a_clock_that_ran_ahead_the_plan_is_as_if_it_never_had(file: Path, other_day: date) -> None:
    """Nothing is remembered until the grower says that the clock is right now; then all is as it would have been."""
    as_ever = {day: feeds(plan(file, day, keep=False).season) for day in (LAST + DAY, LAST + 40 * DAY)}
    plan(file, other_day)
    wrong = kept(file)
    back = plan(file, LAST + DAY)
    told = file.parent / "told.json"
    assert back.notes == (DOUBTS.format(day=LAST + DAY, told=other_day, file=told),)
    assert feeds(back.season) == as_ever[LAST + DAY]
    assert kept(file) == wrong
    told.unlink()
    assert feeds(plan(file, LAST + DAY).season) == as_ever[LAST + DAY]
    again = plan(file, LAST + 40 * DAY)
    assert (again.notes, told_twice(file)) == ((), [])
    assert feeds(again.season) == as_ever[LAST + 40 * DAY]


def test_a_server_that_trusts_its_clock_again_heals_the_memory_by_itself(file: Path) -> None:
    as_ever = feeds(plan(file, LAST + 40 * DAY, keep=False).season)
    plan(file, YEARS_AHEAD)
    assert plan(file, LAST + DAY, trusts_clock=True).notes == ()
    again = plan(file, LAST + 40 * DAY)
    assert (again.notes, told_twice(file), feeds(again.season)) == ((), [], as_ever)


def test_a_clock_that_fell_back_takes_nothing_of_what_was_told(file: Path) -> None:
    before, as_ever = kept(file), feeds(plan(file, LAST + DAY, keep=False).season)
    assert plan(file, YEARS_BACK).notes == (
        DOUBTS.format(day=YEARS_BACK, told=LAST, file=file.parent / "told.json"),
    )
    assert kept(file) == before
    assert feeds(plan(file, LAST + DAY).season) == as_ever


def test_a_hold_first_seen_by_a_clock_that_ran_ahead_holds_today(file: Path) -> None:
    with (file.parent / "journal.yaml").open("a", encoding="utf-8") as journal:
        journal.write(f"- {{id: a9, date: {LAST - DAY}, tree: Quill, work: repotted, roots: 40 %}}\n")
    plan(file, YEARS_AHEAD)
    after = {day for tree, day, *_ in feeds(plan(file, LAST + DAY).season) if tree == "Quill" and day > LAST}
    assert not after or min(after) > LAST + timedelta(days=14)


@pytest.fixture
def on(file: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Result]:
    """A command on a day of the clock."""

    def run(day: date, *words: str) -> Result:
        monkeypatch.setattr("feedplan.cli.options.today_in", lambda zone: day)
        return CliRunner().invoke(feedplan, [*words, "-c", str(file)], catch_exceptions=False)

    return run


def test_a_round_by_a_wrong_clock_says_so_once_and_one_for_another_day_says_nothing(
    file: Path, on: Callable[..., Result]
) -> None:
    said = on(YEARS_BACK, "round").stderr
    assert said == f"Note: {DOUBTS.format(day=YEARS_BACK, told=LAST, file=file.parent / 'told.json')}.\n"
    assert on(LAST, "round", "--today", str(YEARS_BACK)).stderr == ""


def test_a_clock_decades_ahead_is_refused_at_once_with_a_remedy_that_works(
    file: Path, on: Callable[..., Result]
) -> None:
    """A plan would walk through all the days between, which took minutes."""
    refused = on(date(2150, 12, 31), "round")
    assert refused.exit_code == 2
    assert refused.stderr == (
        f"Error: 2150-12-31 is more than 10 years after anything known here, {LAST}; set the clock or the year right, "
        "or begin anew: write since: 2150-12-31 in collection.yaml\n"
    )
    file.write_text(file.read_text(encoding="utf-8").replace("2027-04-20", "2150-12-31"), encoding="utf-8")
    assert on(date(2150, 12, 31), "round").exit_code == 0


EVERY_COMMAND = (
    "check",
    "round",
    "round --helper",
    "calendar -o -",
    "why Quill",
    "season",
    "shelf",
    "weather",
    "water",
    "learn",
    "compare --to 2.yaml",
    "record note bought --everything",
    "record --undo",
    "serve --show",
)


@pytest.mark.parametrize("day", ["1950-01-01", "2150-12-31"])
def test_the_first_and_last_day_that_may_be_today_are_answered_or_refused_in_one_sentence(
    file: Path, monkeypatch: pytest.MonkeyPatch, day: str
) -> None:
    monkeypatch.chdir(file.parent)
    for command in EVERY_COMMAND:
        done = CliRunner().invoke(feedplan, [*command.split(), "--today", day])
        assert done.exit_code in (0, 1, 2), command
        assert done.exception is None or isinstance(done.exception, SystemExit), command
        if done.exit_code == 2:
            assert len([line for line in done.stderr.splitlines() if line.startswith("Error: ")]) == 1, (
                command,
                done.stderr,
            )
