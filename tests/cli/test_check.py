"""`feedplan check`: its findings are its product, and only problems make it fail."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.conftest import TODAY, Run


def test_a_clean_collection_is_fine(run: Run, folder: Path) -> None:
    result = run("check", today=TODAY)
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout == "Fine: 4 trees in 2 groups, 1 journal entry.\n"


def test_every_problem_is_a_line_on_stdout_and_the_exit_code_is_one(run: Run, folder: Path) -> None:
    text = (folder / "collection.yaml").read_text()
    (folder / "collection.yaml").write_text(
        text.replace("pot: 9 L", "pot: 9").replace("group: shown, pot: 4", "group: shwn, pot: 4")
    )
    (folder / "journal.yaml").write_text("- {date: 2027-04-26, tree: Brindl, work: repotted}\n")
    result = run("check", today=TODAY)
    assert (result.exit_code, result.stderr) == (1, "")
    lines = result.stdout.splitlines()
    places = [line.split(" ")[0] for line in lines[:-2]]
    assert places == sorted(places)
    assert lines[-1].endswith("feedplan guide files")
    assert any(line.startswith("collection.yaml:11:") for line in lines)
    assert any(line.startswith("collection.yaml:14:") and "shown" in line for line in lines)
    assert any(line.startswith("journal.yaml:1:") and "Brindle" in line for line in lines)
    assert (
        lines[-2] == f"{len(lines) - 2} problems. Mend the problems first; the rest is looked at after that."
    )


def test_json_holds_the_same_findings(run: Run, folder: Path) -> None:
    text = (folder / "collection.yaml").read_text()
    (folder / "collection.yaml").write_text(text.replace("pot: 9 L", "pot: 9"))
    result = run("check", "--json", today=TODAY)
    facts = json.loads(result.stdout)
    assert result.exit_code == 1
    assert (facts["fine"], facts["warnings"]) == (False, [])
    (problem,) = facts["problems"]
    shown = run("check", today=TODAY).stdout.splitlines()[0]
    assert shown == f"{problem['file']}:{problem['line']}:{problem['column']}: {problem['message']}"


def test_questions_alone_leave_the_exit_code_at_zero(run: Run, folder: Path) -> None:
    text = (folder / "collection.yaml").read_text()
    (folder / "collection.yaml").write_text(text.replace("species: elm", "species: moonwood"))
    result = run("check", today=TODAY)
    assert result.exit_code == 0
    finding, summary, guide = result.stdout.splitlines()
    assert finding.startswith("collection.yaml:14:1: question: no calendar knows the species 'moonwood'")
    assert summary == "Fine, with 1 question: 4 trees in 2 groups, 1 journal entry."
    page = guide.rsplit("feedplan ", 1)[1].split()
    assert "**question**" in run(*page).stdout
    facts = json.loads(run("check", "--json", today=TODAY).stdout)
    assert facts["fine"]
    assert facts["trees"] == 4
    assert (len(facts["questions"]), len(facts["warnings"])) == (1, 0)


def test_so_much_nitrogen_that_it_may_kill_is_strongly_warned_of_and_not_refused(
    run: Run, folder: Path
) -> None:
    (folder / "journal.yaml").write_text("- {date: 2027-04-26, tree: Moth, laid: coated-16, grams: 60 g}\n")
    result = run("check", today=TODAY)
    assert result.exit_code == 0
    assert "warning: CAUTION, Moth: " in result.stdout
    assert result.stdout.splitlines()[-2].startswith("Fine, with 1 warning: ")


def test_an_empty_collection_file_is_a_problem_and_no_fault(run: Run, folder: Path) -> None:
    (folder / "collection.yaml").write_bytes(b"")
    result = run("check")
    assert (result.exit_code, result.stderr) == (1, "")
    assert result.stdout.startswith("collection.yaml")


@pytest.mark.parametrize(
    ("sightings", "question"),
    [
        (
            [("2027-04-20", "leaves open"), ("2027-05-02", "dormant")],
            "dormant seen 2 May, after leaves open on 20 Apr: which is right? Take the other back: "
            "feedplan record --undo s0, or s1; until then the first counts",
        ),
        (
            [("2027-04-20", "leaves open"), ("2027-05-02", "leaves open")],
            "leaves open seen 20 Apr, and again 2 May: which is right? Take the other back: "
            "feedplan record --undo s0, or s1; until then the first counts",
        ),
        (
            [("2027-01-05", "leaves open")],
            "leaves open seen 2027-01-05, months from its usual 2027-04-24: did you mean 2027-05-01? Take it back: "
            "feedplan record --undo s0",
        ),
    ],
    ids=["out of order", "twice", "too early"],
)
@pytest.mark.parametrize("today", ["2027-05-02", "2027-06-14"], ids=["that day", "weeks later"])
def test_a_sighting_that_cannot_be_is_asked_about_until_it_is_mended(
    sightings: list[tuple[str, str]], question: str, today: str, run: Run, folder: Path
) -> None:
    lines = [
        f"- {{date: {day}, id: s{n}, tree: Moth, seen: {stage}}}\n"
        for n, (day, stage) in enumerate(sightings)
    ]
    (folder / "journal.yaml").write_text("".join(lines))
    result = run("check", today=today)
    assert result.exit_code == 0
    assert result.stdout.splitlines()[0] == f"journal.yaml:{len(lines)}:1: question: {question}"
    run("record", "--undo", f"s{len(lines) - 1}", today=today)
    assert run("check", today=today).stdout.startswith("Fine: ")
