"""`feedplan calendar`: what lands in the file, and what it says about it."""

from __future__ import annotations

import json
from datetime import date, datetime
from pathlib import Path

import icalendar
import pytest

from tests.cli.conftest import TODAY, Run


def events(data: bytes) -> list[icalendar.Event]:
    return list(icalendar.Calendar.from_ical(data).walk("VEVENT"))  # type: ignore[arg-type]


def test_the_file_holds_as_many_events_as_the_command_says(run: Run, folder: Path) -> None:
    result = run("calendar", "-o", "trees.ics", "--json", today=TODAY)
    facts = json.loads(result.stdout)
    assert (result.exit_code, result.stderr) == (0, "")
    assert facts["entries"] == facts["new"] == len(events((folder / "trees.ics").read_bytes())) > 0
    assert (facts["changed"], facts["cancelled"], facts["file"]) == (0, 0, "trees.ics")


def test_a_second_run_says_that_nothing_changed_and_leaves_the_bytes(run: Run, folder: Path) -> None:
    first = run("calendar", "-o", "trees.ics", today=TODAY)
    data = (folder / "trees.ics").read_bytes()
    second = run("calendar", "-o", "trees.ics", today=TODAY)
    assert first.stdout.startswith("Wrote trees.ics: ")
    assert len(first.stdout.splitlines()) == 2
    assert second.stdout.startswith("trees.ics is up to date: ")
    assert (folder / "trees.ics").read_bytes() == data


def test_a_file_whose_name_holds_signs_that_do_not_show_is_named_by_their_codes(
    run: Run, folder: Path
) -> None:
    for answer in ("Wrote ", ""):
        result = run("calendar", "-o", "a\u202eb\x1b.ics", today=TODAY)
        assert result.stdout.startswith(f"{answer}a\\u202eb\\u001b.ics")


def test_a_hold_recorded_later_takes_feeds_off_and_says_how_many(run: Run, folder: Path) -> None:
    run("calendar", "-o", "trees.ics", "--kind", "feeding", today=TODAY)
    run("record", "frost", "--group", "growing-on", today=TODAY)
    facts = json.loads(run("calendar", "-o", "trees.ics", "--kind", "feeding", "--json", today=TODAY).stdout)
    off = [e for e in events((folder / "trees.ics").read_bytes()) if e["STATUS"] == "CANCELLED"]
    assert facts["cancelled"] == len(off) > 0
    run("calendar", "-o", "trees.ics", "--kind", "feeding", "--without-cancelled", today=TODAY)
    assert all(e["STATUS"] == "CONFIRMED" for e in events((folder / "trees.ics").read_bytes()))


def test_rows_of_days_that_are_over_stay_as_they_were_told_whatever_is_edited_later(
    run: Run, folder: Path
) -> None:
    """A week on, a tree is given away, the group fed weaker and new weather known: what was told was told."""

    def rows_before(day: date) -> dict[str, tuple[str, str, str]]:
        shown = events((folder / "trees.ics").read_bytes())
        over = [e for e in shown if not isinstance(e.start, datetime) and e.start < day]
        return {str(e["UID"]): (str(e["STATUS"]), str(e["SUMMARY"]), str(e["DESCRIPTION"])) for e in over}

    run("calendar", "-o", "trees.ics", today=TODAY)
    told = rows_before(date(2027, 6, 21))
    weaker = "changes: {feeding: {spring and summer: {strength: 60 ppm N}}}"
    written = (folder / "collection.yaml").read_text()
    (folder / "collection.yaml").write_text(
        written.replace("vigorous, feed: powder}", f"vigorous, feed: powder, {weaker}}}")
    )
    (folder / "climate").mkdir()
    days = "".join(f"2027-06-{day},{-1},30\n" for day in range(10, 21))
    (folder / "climate/daily.csv").write_text("date,min_c,max_c\n" + days)
    run("record", "gone", "sold", "Moth", today="2027-06-21")
    assert " changed" in run("calendar", "-o", "trees.ics", today="2027-06-21").stdout
    assert rows_before(date(2027, 6, 21)) == told


def test_standard_output_gets_the_bytes_and_no_ledger(run: Run, folder: Path) -> None:
    run("calendar", "-o", "trees.ics", today=TODAY)
    written = (folder / "trees.ics").read_bytes()
    (folder / "trees.ics").unlink()
    (folder / "trees.ics.ledger.json").unlink()
    result = run("calendar", "-o", "-", today=TODAY)
    assert result.stdout_bytes == written
    assert not list(folder.glob("*.ics*"))


def test_it_can_be_narrowed_by_group_kind_and_days(run: Run, folder: Path) -> None:
    narrow = (
        "--group",
        "Shown",
        "--kind",
        "feeding",
        "--kind",
        "water",
        "--from",
        "2027-06-20",
        "--to",
        "2027-08-31",
    )
    facts = json.loads(run("calendar", "-o", "trees.ics", "--json", *narrow, today=TODAY).stdout)
    found = events((folder / "trees.ics").read_bytes())
    assert (facts["first_day"], facts["last_day"]) == ("2027-06-20", "2027-08-31")
    assert {str(category) for event in found for category in event.categories} == {
        "feeding",
        "water",
        "shown",
    }
    assert all(_first(event) <= date(2027, 8, 31) for event in found)


def _first(event: icalendar.Event) -> date:
    start = event.decoded("DTSTART")
    return start if type(start) is date else start.date()


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("--group", "shwn"), "no group is called 'shwn'; did you mean shown?"),
        (
            ("--from", "2027-07-02", "--to", "2027-07-01"),
            "--to 2027-07-01 comes before --from 2027-07-02; turn them round",
        ),
        (("--from", "2040-01-01"), "--from 2040-01-01 is too far ahead; the plan reaches to 2028-07-31"),
    ],
)
def test_what_makes_no_sense_is_refused_and_nothing_written(
    words: tuple[str, ...], sentence: str, run: Run, folder: Path
) -> None:
    result = run("calendar", "-o", "trees.ics", *words, today=TODAY)
    assert (result.exit_code, result.stdout, result.stderr) == (2, "", f"Error: {sentence}\n")
    assert not list(folder.glob("*.ics*"))


def test_a_day_past_five_years_is_cut_back_to_them(run: Run, folder: Path) -> None:
    facts = json.loads(run("calendar", "-o", "trees.ics", "--to", "2060-01-01", "--json", today=TODAY).stdout)
    assert facts["last_day"] == "2032-06-17"


def test_json_and_the_calendar_cannot_both_have_standard_output(run: Run, folder: Path) -> None:
    result = run("calendar", "-o", "-", "--json", today=TODAY)
    assert (result.exit_code, result.stderr) == (
        2,
        "Error: -o - and --json both want standard output; give one\n",
    )


@pytest.mark.parametrize("target", ["collection.yaml", "journal.yaml"])
def test_a_file_that_is_no_calendar_is_not_written_over(target: str, run: Run, folder: Path) -> None:
    before = (folder / target).read_bytes()
    result = run("calendar", "-o", target, today=TODAY)
    assert result.exit_code == 2
    assert result.stderr == (
        f"Error: {target} is there already and is not a calendar; name another file, such as trees.ics\n"
    )
    assert (folder / target).read_bytes() == before


@pytest.mark.parametrize("target", ["", ".", "sub"])
def test_a_folder_is_no_file_to_write(target: str, run: Run, folder: Path) -> None:
    (folder / "sub").mkdir()
    result = run("calendar", "-o", target, today=TODAY)
    assert result.exit_code == 2
    assert "is a folder; name a file in it, such as " in result.stderr


def test_a_missing_folder_is_a_sentence_with_the_remedy(run: Run, folder: Path) -> None:
    result = run("calendar", "-o", "out/trees.ics", today=TODAY)
    assert result.exit_code == 1
    assert "make it first: mkdir -p" in result.stderr


def test_a_typo_in_the_files_leaves_the_last_calendar_as_it_was(run: Run, folder: Path) -> None:
    run("calendar", "-o", "trees.ics", today=TODAY)
    before = {path.name: path.read_bytes() for path in folder.glob("trees.ics*")}
    text = (folder / "collection.yaml").read_text()
    (folder / "collection.yaml").write_text(text.replace("species: elm,", "species elm,"))
    result = run("calendar", "-o", "trees.ics", today=TODAY)
    assert (result.exit_code, result.stdout) == (1, "")
    assert {path.name: path.read_bytes() for path in folder.glob("trees.ics*")} == before


@pytest.mark.parametrize(("alarm", "trigger"), [("07:30", b"TRIGGER:PT7H30M"), ("none", None)])
def test_an_alarm_rings_only_when_asked_for(
    alarm: str, trigger: bytes | None, run: Run, folder: Path
) -> None:
    text = (folder / "collection.yaml").read_text()
    (folder / "collection.yaml").write_text(text.replace("feeds:", 'habits: {alarm: "06:00"}\nfeeds:'))
    run("calendar", "-o", "own.ics", "--kind", "feeding", today=TODAY)
    run("calendar", "-o", "asked.ics", "--kind", "feeding", "--alarm", alarm, today=TODAY)
    assert b"TRIGGER:PT6H" in (folder / "own.ics").read_bytes()
    asked = (folder / "asked.ics").read_bytes()
    assert trigger in asked if trigger else b"VALARM" not in asked


def test_a_lost_ledger_is_warned_of_on_stderr(run: Run, folder: Path) -> None:
    run("calendar", "-o", "trees.ics", today=TODAY)
    (folder / "trees.ics.ledger.json").unlink()
    result = run("calendar", "-o", "trees.ics", today=TODAY)
    assert result.exit_code == 0
    assert result.stderr.startswith("Warning: the ledger trees.ics.ledger.json is missing; ")
