"""The plan follows the files and the day, and stays when a file breaks."""

from __future__ import annotations

import os
from datetime import UTC, date, datetime
from html import unescape
from pathlib import Path

import pytest

from feedplan.errors import CannotWriteError, FilesHaveProblems
from feedplan.load.collection import load_collection
from feedplan.server import snapshots as module
from feedplan.server.state import StateFolder
from tests.server.world import COLLECTION, JOURNAL, NOON, World, make_folder


def test_an_unchanged_collection_is_planned_once(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    first = world.snapshots.current()
    monkeypatch.setattr(module, "plan", None)
    monkeypatch.setattr(module, "load_collection", None)
    world.later(hours=3)
    assert world.snapshots.current() is first


def test_touching_a_file_without_changing_it_plans_nothing_again(world: World) -> None:
    first = world.snapshots.current()
    os.utime(world.folder / "collection.yaml")
    assert world.snapshots.current() is first


def test_an_edit_is_followed_by_the_next_request(world: World) -> None:
    world.snapshots.current()
    world.edit("name: Teasel", "name: Yarrow")
    assert "Yarrow" in [tree.name for tree in world.snapshots.current().loaded.collection.trees]


def test_an_edit_of_the_same_length_within_the_same_tick_of_the_clock_is_seen(world: World) -> None:
    file = world.folder / "collection.yaml"
    world.snapshots.current()
    times = file.stat()
    with file.open("r+b") as stream:  # same inode, same size
        stream.write(COLLECTION.replace("Teasel", "Yarrow").encode())
    os.utime(file, ns=(times.st_atime_ns, times.st_mtime_ns))
    assert "Yarrow" in [tree.name for tree in world.snapshots.current().loaded.collection.trees]


def test_an_edit_while_the_files_are_being_read_is_not_missed(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every reading is followed by another change, oftener than it is tried; the last one is seen all the same."""
    real = load_collection
    lines = [f"- {{date: 2027-06-0{day}, tree: Sorrel, check: dry}}\n" for day in range(1, 6)]

    def slow(file: Path) -> object:
        loaded = real(file)
        if lines:
            with (world.folder / "journal.yaml").open("a") as stream:
                stream.write(lines.pop())
        return loaded

    monkeypatch.setattr(module, "load_collection", slow)
    world.snapshots.current()
    world.snapshots.current()
    assert not lines
    assert len(world.snapshots.current().loaded.journal.entries) == 6


def test_a_new_schedule_of_ones_own_is_followed(world: World) -> None:
    world.snapshots.current()
    (world.folder / "schedules").mkdir()
    (world.folder / "schedules" / "mild.yaml").write_text(
        "schedule: mild\nabout: Little.\nstages: middle leafing\nbudget: 100 mg N per L\nfeeding: none\n"
        "water:\n  dormant: {shallow: daily, medium: daily, deep: daily, weak: daily}\n",
        encoding="utf-8",
    )
    world.edit("schedule: refined", "schedule: mild")
    assert world.snapshots.current().loaded.collection.groups["shown"].schedule.name == "mild"


def test_a_new_day_gives_a_new_plan_in_the_time_zone_of_the_place(world: World) -> None:
    world.now = datetime(2027, 6, 5, 22, 59, tzinfo=UTC)  # 23:59 in London in summer
    assert world.snapshots.current().today == date(2027, 6, 5)
    world.later(minutes=2)
    assert world.snapshots.current().today == date(2027, 6, 6)


def test_a_broken_edit_keeps_the_last_good_plan_and_says_where_and_since_when(world: World) -> None:
    good = world.snapshots.current()
    world.edit("group: shown", "group: shwon")
    os.utime(world.folder / "collection.yaml", (0, NOON.timestamp() - 600))
    stale = world.snapshots.current()
    assert stale.season is good.season
    assert stale.trouble is not None
    assert stale.trouble.where == "collection.yaml line 15"
    assert "shwon" in stale.trouble.message
    assert stale.trouble.since == datetime.fromtimestamp(NOON.timestamp() - 600, UTC)


@pytest.mark.parametrize("is_gone", [False, True], ids=["emptied", "gone"])
def test_a_journal_that_lost_entries_keeps_the_last_good_plan_with_its_holds(
    is_gone: bool, world: World
) -> None:
    journal = world.folder / "journal.yaml"
    whole, good = journal.read_text(encoding="utf-8"), world.snapshots.current()
    journal.write_text("", encoding="utf-8")
    if is_gone:
        journal.unlink()
    stale = world.snapshots.current()
    assert stale.season is good.season
    assert stale.trouble is not None
    assert "1 entry was known, 0 are left; put back what is missing" in stale.trouble.message
    assert stale.trouble.message in unescape(world.get("").text)
    journal.write_text(whole, encoding="utf-8")
    assert world.snapshots.current().trouble is None


def test_a_break_that_goes_on_keeps_its_beginning_and_ends_when_mended(world: World) -> None:
    world.snapshots.current()
    world.edit("group: shown", "group: shwon")
    first = world.snapshots.current().trouble
    world.later(hours=2)
    world.edit("group: shwon", "group: shnow")
    second = world.snapshots.current().trouble
    assert first is not None
    assert second is not None
    assert (second.since, "shnow" in second.message) == (first.since, True)
    world.write(COLLECTION)
    assert world.snapshots.current().trouble is None


@pytest.mark.parametrize(
    "broken", [b"", b"\xff\xfe", b"place: [", b"trees: {{}}", b"\x00", b"place: 5\n" * 9]
)
def test_whatever_the_file_turns_into_the_plan_stays(world: World, broken: bytes) -> None:
    good = world.snapshots.current()
    (world.folder / "collection.yaml").write_bytes(broken)
    stale = world.snapshots.current()
    assert stale.season is good.season
    assert stale.trouble is not None


def test_a_file_that_is_gone_keeps_the_plan(world: World) -> None:
    good = world.snapshots.current()
    (world.folder / "collection.yaml").unlink()
    stale = world.snapshots.current()
    assert stale.season is good.season
    assert stale.trouble is not None


def test_the_last_good_plan_moves_on_with_the_days_while_the_files_are_broken(world: World) -> None:
    world.snapshots.current()
    world.edit("group: shown", "group: shwon")
    world.later(days=3)
    stale = world.snapshots.current()
    assert stale.today == date(2027, 6, 8)
    assert stale.trouble is not None


def test_a_server_started_on_broken_files_shows_the_last_good_plan_of_an_earlier_run(world: World) -> None:
    good = world.snapshots.current()
    world.edit("group: shown", "group: shwon")
    world.restart()
    stale = world.snapshots.current()
    assert stale.trouble is not None
    assert len(stale.season.rounds) == len(good.season.rounds) > 0


def test_a_first_start_on_broken_files_is_refused_with_the_problems(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "trees", collection=COLLECTION.replace("group: shown", "group: shwon"))
    with pytest.raises(FilesHaveProblems, match="shwon"):
        World(folder).snapshots.current()


def test_a_fault_while_planning_keeps_the_plan_and_is_told(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    good = world.snapshots.current()
    monkeypatch.setattr(module, "plan", lambda *_, **__: 1 / 0)
    world.write(journal=JOURNAL + "- {date: 2027-06-05, tree: Sorrel, check: dry}\n")
    stale = world.snapshots.current()
    assert stale.season is good.season
    assert stale.trouble is not None
    assert "ZeroDivisionError" in stale.trouble.message


def test_a_clock_that_jumps_back_does_not_take_the_plan_back(world: World) -> None:
    world.snapshots.current()
    world.now = datetime(1970, 1, 1, tzinfo=UTC)
    kept = world.snapshots.current()
    assert kept.today == date(2027, 6, 5)
    assert kept.trouble is not None
    assert "1970-01-01" in kept.trouble.message
    world.restart()
    assert world.snapshots.current().today == date(2027, 6, 5)
    world.now = NOON
    assert world.snapshots.current().trouble is None


def test_a_grower_may_say_that_the_clock_is_right(world: World) -> None:
    world.snapshots.current()
    world.now = datetime(2027, 5, 1, tzinfo=UTC)
    world.trust_clock = True
    world.restart()
    assert world.snapshots.current().today == date(2027, 5, 1)
    assert world.snapshots.current().trouble is None


def test_a_state_folder_that_cannot_be_written_stops_no_plan(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise CannotWriteError("no room")

    monkeypatch.setattr(module, "write_folder", refuse)
    monkeypatch.setattr(StateFolder, "write", refuse)
    world.edit("name: Teasel", "name: Yarrow")
    world.later(days=1)
    assert world.snapshots.current().trouble is None


def test_a_clock_that_was_ahead_once_is_forgotten_after_an_hour_of_the_right_one(world: World) -> None:
    ticks = iter((0.0, 0.0, 3599.0, 3600.0, 3600.0))
    world.now = datetime(2031, 1, 1, tzinfo=UTC)
    world.snapshots.current()
    world.now = NOON
    world.restart()
    world.snapshots._ticks = lambda: next(ticks)
    assert [world.snapshots.current().today.year for _ in range(3)] == [2031, 2031, 2027]
    assert world.snapshots.current().trouble is None
    world.restart()
    assert world.snapshots.current().today == date(2027, 6, 5)


def test_the_plan_never_goes_back_behind_what_is_written_down(world: World) -> None:
    world.snapshots.current()
    world.write(journal=JOURNAL + "- {date: 2027-06-04, tree: Sorrel, check: dry}\n")
    world.now = datetime(2027, 5, 1, tzinfo=UTC)
    ticks = iter(range(0, 100_000, 4000))
    world.snapshots._ticks = lambda: next(ticks)
    kept = [world.snapshots.current() for _ in range(3)][-1]
    assert kept.today == date(2027, 6, 5)
    assert kept.trouble is not None
    assert "the journal has an entry written down on 2027-06-04" in kept.trouble.message
