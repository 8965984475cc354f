"""A calendar made again from the same files, options and day is not made at all; any difference makes it in full."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from feedplan.export import unchanged
from feedplan.export.ledger import parse_ledger
from feedplan.load.collection import load_collection
from feedplan.memory import plan
from tests.cli.conftest import TODAY, Run

LEDGER = "trees.ics.ledger.json"
DAILY = "date,tmin_c,tmax_c\n2027-06-10,8,19\n"


@pytest.fixture
def loads(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """One item for every time that a collection was loaded."""
    from feedplan.load import collection

    found: list[str] = []
    real = collection.load_collection

    def noted(path: str | Path) -> object:
        found.append(str(path))
        return real(path)

    monkeypatch.setattr(collection, "load_collection", noted)
    return found


@pytest.fixture
def exported(run: Run, folder: Path, loads: list[str]) -> Path:
    """The folder with its calendar in it, made a moment after its files were written."""
    (folder / "schedules").mkdir()
    (folder / "climate").mkdir()
    (folder / "climate" / "daily.csv").write_text(DAILY)
    plan(load_collection(folder), date.fromisoformat(TODAY), file=folder / "collection.yaml", keep=True)
    time.sleep(0.05)
    assert run("calendar", "-o", "trees.ics", today=TODAY).exit_code == 0
    loads.clear()
    return folder


def test_nothing_changed_is_said_without_loading(run: Run, exported: Path, loads: list[str]) -> None:
    before = {name: (exported / name).stat().st_mtime_ns for name in ("trees.ics", LEDGER)}
    result = run("calendar", "-o", "trees.ics", today=TODAY)
    assert result.stdout.startswith("trees.ics is up to date: ")
    assert {name: (exported / name).stat().st_mtime_ns for name in before} == before
    assert loads == []


def test_the_short_way_says_what_the_full_way_says(run: Run, exported: Path, loads: list[str]) -> None:
    for form in ((), ("--json",)):
        short = run("calendar", "-o", "trees.ics", *form, today=TODAY).stdout
        assert loads == []
        (exported / "schedules" / "odd.yaml").write_text("")
        full = run("calendar", "-o", "trees.ics", *form, today=TODAY).stdout
        assert len(loads) == 1
        assert short == full
        (exported / "schedules" / "odd.yaml").unlink()
        time.sleep(0.05)
        run("calendar", "-o", "trees.ics", today=TODAY)
        loads.clear()


def _append(name: str) -> Callable[[Path], object]:
    return lambda folder: (folder / name).write_bytes((folder / name).read_bytes() + b"\n")


def _write(name: str, text: str = "") -> Callable[[Path], object]:
    return lambda folder: (folder / name).write_text(text)


def _same_size_and_time(folder: Path) -> None:

    file = folder / "collection.yaml"
    stat = file.stat()
    file.write_text(file.read_text().replace("pot: 9 L", "pot: 8 L"))
    os.utime(file, ns=(stat.st_atime_ns, stat.st_mtime_ns))


CHANGES: dict[str, Callable[[Path], object]] = {
    "a byte in the collection": _append("collection.yaml"),
    "a byte in the journal": _append("journal.yaml"),
    "a byte in the weather": _append("climate/daily.csv"),
    "a byte in the history": _append("history.csv"),
    "a byte in what was told": _append("told.json"),
    "a deleted history": lambda folder: (folder / "history.csv").unlink(),
    "what was told deleted": lambda folder: (folder / "told.json").unlink(),
    "a byte, with size and time kept": _same_size_and_time,
    "a new schedule": _write("schedules/odd.yaml"),
    "a new station record": _write("climate/odd.dly"),
    "a new normals table": _write("climate/normals.csv", "month,tmin_c,tmax_c\n"),
    "a deleted journal": lambda folder: (folder / "journal.yaml").unlink(),
    "a deleted calendar": lambda folder: (folder / "trees.ics").unlink(),
    "a deleted ledger": lambda folder: (folder / LEDGER).unlink(),
    "a changed calendar": _append("trees.ics"),
    "a cut ledger": lambda folder: (folder / LEDGER).write_bytes((folder / LEDGER).read_bytes()[:-9]),
    "a changed ledger": lambda folder: (folder / LEDGER).write_text(
        (folder / LEDGER).read_text().replace('"sequence":0', '"sequence":1', 1)
    ),
    "an empty ledger": _write(LEDGER),
}


@pytest.mark.parametrize("change", CHANGES)
def test_any_change_is_met_by_loading(change: str, run: Run, exported: Path, loads: list[str]) -> None:
    CHANGES[change](exported)
    run("calendar", "-o", "trees.ics", today=TODAY)
    assert len(loads) == 1


@pytest.mark.parametrize(
    "options",
    [
        ("--kind", "feeding"),
        ("--group", "shown"),
        ("--alarm", "07:00"),
        ("--without-cancelled",),
        ("--from", "2027-06-01"),
        ("--to", "2027-09-01"),
        ("-c", "."),
    ],
)
def test_another_option_is_met_by_loading(
    options: tuple[str, ...], run: Run, exported: Path, loads: list[str]
) -> None:
    run("calendar", "-o", "trees.ics", *options, today=TODAY)
    assert len(loads) == 1


def test_another_day_is_met_by_loading(run: Run, exported: Path, loads: list[str]) -> None:
    run("calendar", "-o", "trees.ics", today="2027-06-15")
    assert len(loads) == 1


def test_another_version_is_met_by_loading(
    run: Run, exported: Path, loads: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(unchanged, "_program", lambda zone: "another version")
    run("calendar", "-o", "trees.ics", today=TODAY)
    assert len(loads) == 1


def test_a_file_that_changes_as_it_is_read_is_not_relied_on(exported: Path) -> None:
    files = [Path("collection.yaml"), Path("journal.yaml")]
    later = time.time_ns() + 10**9
    assert unchanged.inputs_of(files, "UTC", "", later) is not None
    assert unchanged.inputs_of(files, "UTC", "", Path("journal.yaml").stat().st_ctime_ns) is None


def test_the_ledger_stays_one_json_text_that_others_can_read(exported: Path) -> None:
    raw = (exported / LEDGER).read_bytes()
    content = json.loads(raw)
    assert set(content) == {"calendar", "events", "format", "made_from"}
    assert parse_ledger(raw, content["calendar"]).records.keys() == content["events"].keys()


def test_the_short_way_needs_none_of_the_large_libraries(exported: Path) -> None:
    words = ["calendar", "-o", "trees.ics", "--today", TODAY]
    script = (
        "import sys; from feedplan.cli.main import feedplan\n"
        f"feedplan({words!r}, standalone_mode=False)\n"
        "print({'pydantic', 'yaml', 'feedplan.engine.plan'} & sys.modules.keys())"
    )
    told = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert told.stdout.splitlines()[-1] == "set()"


def test_a_file_written_when_the_work_began_or_later_is_not_taken_as_read(tmp_path: Path) -> None:
    """It may have been read before it was written; one written a minute before the work cannot."""
    file = tmp_path / "collection.yaml"
    file.write_text("groups: {}\n", encoding="utf-8")
    written = file.stat().st_mtime_ns
    for begun in (written - 10**9, written):
        assert unchanged.inputs_of([file], "Europe/London", "all", begun) is None
    assert unchanged.inputs_of([file], "Europe/London", "all", written + 60 * 10**9) is not None
