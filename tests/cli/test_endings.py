"""Every command ends in one of four exit codes, with a sentence at most."""

from __future__ import annotations

import importlib
import json
import os
import re
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from feedplan.cli.main import COMMANDS
from tests.cli.conftest import TODAY, Run

PYTHON = [sys.executable, "-m", "feedplan"]


def process(*words: str, **kwargs: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run([*PYTHON, *words], capture_output=True, text=True, check=False, **kwargs)  # type: ignore[call-overload, no-any-return]


@pytest.mark.parametrize("name", COMMANDS)
def test_the_list_of_commands_says_what_each_command_says_of_itself(name: str) -> None:
    command = getattr(importlib.import_module(f"feedplan.cli.{name}"), name)
    assert (command.help or "").splitlines()[0] == COMMANDS[name]


@pytest.mark.parametrize("name", COMMANDS)
def test_help_is_one_line_and_then_something_to_paste(name: str, run: Run) -> None:
    text = run(name, "--help").stdout
    assert COMMANDS[name] in " ".join(text.split())
    assert f"\n  feedplan {name}" in text


def test_help_loads_no_command() -> None:
    code = (
        "import sys; from feedplan.cli.main import feedplan\n"
        "try: feedplan(['--help'])\n"
        "except SystemExit: pass\n"
        "print(*sys.modules, file=sys.stderr)"
    )
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(result.stderr.split())
    assert not loaded & {f"feedplan.cli.{name}" for name in COMMANDS}
    assert not loaded & {"yaml", "pydantic", "icalendar"}
    assert all(f"\n  {name} " in result.stdout for name in COMMANDS)


def test_dose_loads_only_its_own_command() -> None:
    code = (
        "import sys; from feedplan.cli.main import feedplan\n"
        "try: feedplan(['dose', '--grade', '20-10-20', '--ppm', '100', '--litres', '10'])\n"
        "except SystemExit: pass\n"
        "print(*sys.modules, file=sys.stderr)"
    )
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(result.stderr.split())
    assert {f"feedplan.cli.{name}" for name in COMMANDS} & loaded == {"feedplan.cli.dose"}
    assert not loaded & {"yaml", "pydantic", "icalendar", "zoneinfo", "importlib.metadata"}


def test_an_unknown_command_is_answered_with_the_nearest(run: Run) -> None:
    result = run("rond")
    assert result.exit_code == 2
    assert "there is no command 'rond'; did you mean round?" in result.stderr


def test_an_unknown_option_is_wrong_usage(run: Run, folder: Path) -> None:
    result = run("check", "--jsn")
    assert (result.exit_code, result.stdout) == (2, "")


def test_an_empty_folder_says_what_to_type(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    for command in (["check"], ["round"], ["calendar", "-o", "trees.ics"], ["record", "fed", "Moth"]):
        result = run(*command)
        assert (result.exit_code, result.stdout) == (2, "")
        assert result.stderr == (
            "Error: no collection.yaml here. Make one: feedplan start my-trees, or name a folder with -c\n"
        )
    assert list(tmp_path.iterdir()) == []


def test_a_folder_named_with_c_that_is_not_there_is_wrong_usage(run: Run, tmp_path: Path) -> None:
    result = run("check", "-c", str(tmp_path / "nowhere"))
    assert result.exit_code == 2
    assert result.stderr.startswith(f"Error: there is no {tmp_path / 'nowhere'}; name the folder")


def test_the_collection_may_be_named_by_folder_or_by_file(
    run: Run, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir("/")
    by_folder = run("check", "-c", str(folder), today=TODAY)
    by_file = run("check", "--collection", str(folder / "collection.yaml"), today=TODAY)
    assert by_folder.exit_code == by_file.exit_code == 0
    assert by_folder.stdout == by_file.stdout


def test_files_with_problems_end_in_one_with_every_problem_on_stderr(run: Run, folder: Path) -> None:
    text = (folder / "collection.yaml").read_text()
    (folder / "collection.yaml").write_text(text.replace("schedule: refined", "schedule: refind"))
    result = run("round")
    assert (result.exit_code, result.stdout) == (1, "")
    assert re.match(r"collection\.yaml:9:\d+: .*refind", result.stderr)
    assert "Traceback" not in result.stderr


def test_a_fault_is_one_sentence_and_a_trace_that_only_the_owner_reads(
    run: Run, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TMPDIR", str(folder))
    monkeypatch.setattr("tempfile.tempdir", None)
    monkeypatch.setattr("feedplan.memory.plan_season", _broken)
    result = run("check")
    assert (result.exit_code, result.stdout) == (3, "")
    assert len(result.stderr.splitlines()) == 1
    assert "a fault in feedplan, not in your files: KeyError: 'moon'" in result.stderr
    (trace,) = folder.glob("feedplan-fault-*.txt")
    assert str(trace) in result.stderr
    assert "Traceback (most recent call last)" in trace.read_text()
    assert stat.S_IMODE(trace.stat().st_mode) == 0o600


@pytest.mark.parametrize("how", ["option", "environment"])
def test_debug_shows_the_trace_of_a_fault(
    how: str, run: Run, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(folder))
    monkeypatch.setattr("feedplan.memory.plan_season", _broken)
    if how == "environment":
        monkeypatch.setenv("FEEDPLAN_DEBUG", "1")
    result = run(*(["--debug"] if how == "option" else []), "check")
    assert result.exit_code == 3
    assert "Traceback (most recent call last)" in result.stderr


def _broken(*args: object, **kwargs: object) -> None:
    raise KeyError("moon")


def test_ctrl_c_is_quiet(run: Run, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*args: object, **kwargs: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("feedplan.memory.plan_season", interrupted)
    result = run("check")
    assert (result.exit_code, result.output) == (130, "")


def test_what_the_machine_refuses_is_a_sentence(
    run: Run, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*args: object, **kwargs: object) -> None:
        raise PermissionError(13, "Permission denied", "climate.csv")

    monkeypatch.setattr("feedplan.memory.plan_season", refused)
    result = run("check")
    assert (result.exit_code, result.stderr) == (1, "Error: climate.csv: permission denied\n")


def test_a_reader_that_closes_the_pipe_early_causes_no_complaint(folder: Path) -> None:
    child = subprocess.Popen(
        [*PYTHON, "calendar", "-o", "-", "--today", TODAY], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    assert child.stdout is not None
    assert child.stderr is not None
    child.stdout.close()
    complaint = child.stderr.read()
    child.stderr.close()
    assert (child.wait(), complaint) == (141, b"")


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="this system has no /dev/full")  # noqa: PTH110
def test_a_full_disk_behind_standard_output_is_a_sentence(folder: Path) -> None:
    with open("/dev/full", "w") as full:  # noqa: PTH123
        result = subprocess.run(
            [*PYTHON, "check", "--today", TODAY], stdout=full, stderr=subprocess.PIPE, text=True, check=False
        )
    assert (result.returncode, result.stderr) == (1, "Error: the output: no space left on device\n")


def test_piped_output_has_no_colour_and_stderr_stays_empty(folder: Path) -> None:
    for words in (
        ["--help"],
        ["check", "--today", TODAY],
        ["round", "--today", TODAY],
        ["why", "Moth", "--today", TODAY],
    ):
        result = process(*words)
        assert (result.returncode, result.stderr) == (0, "")
        assert "\x1b" not in result.stdout


def test_a_terminal_that_cannot_write_a_letter_gets_a_question_mark(folder: Path) -> None:
    text = (folder / "collection.yaml").read_text()
    (folder / "collection.yaml").write_text(text.replace("name: Moth", "name: Möth 🌳"), encoding="utf-8")
    result = process(
        "why",
        "Möth 🌳",
        "--today",
        TODAY,
        encoding="latin-1",
        env={**os.environ, "PYTHONIOENCODING": "latin-1"},
    )
    assert (result.returncode, result.stderr) == (0, "")
    assert result.stdout.startswith("Möth ?")


def test_the_version_is_that_of_the_package(run: Run) -> None:
    assert re.fullmatch(r"feedplan \d+\.\d+\.\d+\n", run("--version").stdout)


def test_today_is_read_in_the_time_zone_of_the_place(run: Run, folder: Path) -> None:
    from freezegun import freeze_time

    text = (folder / "collection.yaml").read_text()
    for zone, day in (
        ("Europe/London", "2027-06-14"),
        ("Pacific/Auckland", "2027-06-15"),
        ("America/New_York", "2027-06-14"),
    ):
        (folder / "collection.yaml").write_text(text.replace("Europe/London", zone))
        with freeze_time("2027-06-14 20:00:00"):
            assert json.loads(run("why", "Moth", "--json").stdout)["date"] == day


def test_a_date_that_is_none_is_wrong_usage(run: Run, folder: Path) -> None:
    result = run("check", today="14.6.2027")
    assert result.exit_code == 2
    assert "'14.6.2027' is not a date; write year-month-day" in result.stderr
