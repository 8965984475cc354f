"""Two computers write into one folder kept alike by a program: what its copies hold is said, and the remedy works."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from feedplan.cli.main import feedplan
from feedplan.errors import FilesHaveProblems
from feedplan.load import load_collection
from feedplan.memory import plan
from tests.load.helpers import COLLECTION, SCHEDULE
from tests.server.world import World, make_folder

OURS = "- {date: 2027-04-26, tree: Brindle, seen: leaves open, id: k7f3q}\n"
THEIRS = """\
- {date: 2027-04-27, tree: Brindle, check: dry, id: abcde}
- {date: 2027-04-28, tree: Kettle, check: moist}
"""
MEMORY = ("history.csv", "told.json")
CONFLICT = "journal (conflicted copy 2027-06-05).yaml"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "schedules").mkdir()
    (tmp_path / "schedules" / "mine.yaml").write_text(SCHEDULE, encoding="utf-8")
    (tmp_path / "collection.yaml").write_text(COLLECTION, encoding="utf-8")
    (tmp_path / "journal.yaml").write_text(OURS, encoding="utf-8")
    return tmp_path


def copies(folder: Path) -> list[tuple[str, int, str]]:
    return [(Path(c.file).name, c.line, c.message) for c in load_collection(folder).copies]


def both_kinds_of_telling(folder: Path) -> tuple[str, str]:
    """Standard output of check, and standard error of a round."""
    check, read = (
        CliRunner().invoke(feedplan, [command, "-c", str(folder), "--today", "2027-06-10"])
        for command in ("check", "round")
    )
    assert (check.exit_code, read.exit_code) == (0, 0)
    assert check.stderr == ""
    return check.stdout, read.stderr


@pytest.mark.parametrize(
    "name",
    [
        CONFLICT,
        "journal.sync-conflict-20270605-101010-ABCDEFG.yaml",
        "journal.yaml.sync-conflict-20270605-101010-ABCDEFG",
        "journal (Konfliktkopie von Laptop).yaml",
        "journal-laptop.yaml",
        "journal (1).yaml",
        "Copy of journal.yaml",
        "Journal.yml",
    ],
)
def test_entries_in_a_copy_of_the_journal_are_told_until_they_are_copied_over(
    folder: Path, name: str
) -> None:
    (folder / name).write_text(OURS + THEIRS, encoding="utf-8")
    said = (
        "looks like a copy of journal.yaml, as when two computers write at once; 2 entries in it count for nothing, "
        "since they are not in journal.yaml, the first: {date: 2027-04-27, tree: Brindle, check: dry, id: abcde}; "
        "copy them there, then delete this copy"
    )
    assert copies(folder) == [(name, 2, said)]
    checked, noted = both_kinds_of_telling(folder)
    assert f"{name}:2:3: warning: {said}\n" in checked
    assert noted.count(said) == 1
    with (folder / "journal.yaml").open("a", encoding="utf-8") as journal:
        journal.write(THEIRS)
    assert copies(folder) == []


@pytest.mark.parametrize(
    "name",
    ["journal.yaml~", ".journal.yaml.swp", "#journal.yaml#", "journal.yaml.bak", "notes on journal.txt"],
)
def test_what_an_editor_leaves_is_no_copy_of_two_writers(folder: Path, name: str) -> None:
    (folder / name).write_text(OURS + THEIRS, encoding="utf-8")
    assert copies(folder) == []


def test_a_copy_with_nothing_new_and_a_folder_of_such_a_name_are_not_told(folder: Path) -> None:
    (folder / "journal-backup.yaml").write_text(OURS, encoding="utf-8")
    (folder / "journal conflict.yaml").mkdir()
    (folder / "journal-of-walks.yaml").write_text("walks: [hill]\n", encoding="utf-8")
    assert copies(folder) == []


def test_an_entry_that_reads_otherwise_in_a_copy_is_shown(folder: Path) -> None:
    (folder / CONFLICT).write_text(OURS.replace("2027-04-26", "2027-04-20"), encoding="utf-8")
    told = copies(folder)[0][2]
    assert (
        "the entry k7f3q reads otherwise: {date: 2027-04-20, tree: Brindle, seen: leaves open, id: k7f3q}"
        in told
    )


def test_a_torn_copy_of_the_journal_is_said_to_be(folder: Path) -> None:
    (folder / CONFLICT).write_text("- {date: 2027-04-27, tree: Brin", encoding="utf-8")
    assert [told.partition(":")[0] for _, _, told in copies(folder)] == [
        "looks like a copy of journal.yaml and cannot be read in full"
    ]


def test_a_journal_under_another_name_alone_is_told_to_be_named_so(folder: Path) -> None:
    (folder / "journal.yaml").rename(folder / "journal.yml")
    assert copies(folder)[0][2].endswith(
        "if its entry counts ({date: 2027-04-26, tree: Brindle, seen: leaves open, id: k7f3q}), name it journal.yaml"
    )
    (folder / "journal.yml").rename(folder / "journal.yaml")
    assert copies(folder) == []


def test_copies_of_the_other_files_are_told_once_they_differ(folder: Path) -> None:
    others = {
        "collection (conflicted copy).yaml": "collection.yaml",
        "schedules/mine.sync-conflict-20270605.yaml": "mine.yaml",
        "climate/daily conflict.csv": "daily.csv",
    }
    (folder / "climate").mkdir()
    (folder / "climate" / "daily.csv").write_text("date,tmin_c,tmax_c\n2027-06-01,8,17\n", encoding="utf-8")
    for name, of in others.items():
        shutil.copy(folder / Path(name).parent / of, folder / name)
    assert copies(folder) == []
    assert load_collection(folder).questions == ()
    for name in others:
        with (folder / name).open("a", encoding="utf-8") as file:
            file.write("# by the other\n")
    assert sorted(copies(folder)) == sorted(
        (
            Path(name).name,
            1,
            f"looks like a copy of {of}, as when two computers write at once, and is not read; write in {of} what of "
            "it is right, then delete this copy",
        )
        for name, of in others.items()
    )


def test_a_journal_that_lost_entries_to_a_copy_is_told_in_which_they_stand(folder: Path) -> None:
    (folder / "journal.yaml").write_text(OURS + THEIRS, encoding="utf-8")
    file, today = folder / "collection.yaml", date(2027, 5, 1)
    plan(load_collection(folder), today, file=file, keep=True)
    (folder / CONFLICT).write_bytes((folder / "journal.yaml").read_bytes())
    (folder / "journal.yaml").write_text(OURS, encoding="utf-8")
    with pytest.raises(FilesHaveProblems) as refused:
        load_collection(folder)
    assert "put back what is missing (abcde, " in str(refused.value.problems[0])
    assert f") from {CONFLICT}, or, if" in str(refused.value.problems[0])
    (folder / "journal.yaml").write_bytes((folder / CONFLICT).read_bytes())
    assert copies(folder) == []


def test_feeds_that_another_computer_told_are_named_and_nothing_is_said_of_equal_memories(
    folder: Path,
) -> None:
    """The other computer knew of a move by which it told feeds on other days."""
    file = folder / "collection.yaml"
    other = folder.with_name(f"{folder.name}-other")
    shutil.copytree(folder, other)
    (other / "collection.yaml").write_text(COLLECTION + "since: 2027-05-03\n", encoding="utf-8")
    for day in (date(2027, 5, 1), date(2027, 5, 20), date(2027, 6, 10)):
        for each in (file, other / "collection.yaml"):
            plan(load_collection(each), day, file=each, keep=True)
    marked = {name: f"{Path(name).stem} (conflicted copy){Path(name).suffix}" for name in MEMORY}
    for name, copy in marked.items():
        shutil.copy(folder / name, folder / copy)
    assert copies(folder) == []
    for name, copy in marked.items():
        shutil.copy(other / name, folder / copy)
    name, _, said = copies(folder)[0]
    assert name == "history (conflicted copy).csv"
    assert "looks like what another computer told: it asked for " in said
    assert "write down with feedplan record fed what was given, then delete this copy" in said


def test_the_page_one_records_on_names_a_copy_and_the_public_one_does_not(tmp_path: Path) -> None:
    world = World(make_folder(tmp_path / "trees"))
    (world.folder / CONFLICT).write_text(
        "- {date: 2027-04-27, tree: Sorrel, check: dry, id: abcde}\n", encoding="utf-8"
    )
    assert CONFLICT in world.get("", write=True).get_data(as_text=True)
    assert CONFLICT not in world.get("").get_data(as_text=True)
