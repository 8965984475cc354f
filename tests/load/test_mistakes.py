"""Whole tables of what growers get wrong: nothing passes in silence, and doing what a message tells mends it."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from feedplan.cli.main import feedplan
from feedplan.errors import FilesHaveProblems
from feedplan.load.collection import load_collection, load_text
from feedplan.model.journal import Caused
from tests.load.grading import MENDED, MISLEADING, SAID, TODAY, all_doubts, answer, files_with, graded
from tests.load.helpers import load, small
from tests.load.mistakes import CLIMATES, DOSES, FILES, JOURNALS, RECORDS, TOLD
from tests.load.remedies import remedy

COMMAND = re.compile(r"feedplan ((?:record|dose) .+)$", re.MULTILINE)


def test_the_sound_files_are_neither_refused_nor_doubted() -> None:
    assert answer(*files_with("", "")).all == []


@pytest.mark.parametrize(("where", "wrong", "right"), FILES, ids=[f"{row[0]}-{row[1]}" for row in FILES])
def test_a_slip_in_a_file_is_taken_as_meant_or_told_what_to_write(where: str, wrong: str, right: str) -> None:
    found = graded(where, wrong, right)
    assert found.grade >= SAID, (found.said, found.why)


def test_most_slips_are_mended_by_doing_what_is_told() -> None:
    grades = [graded(*row).grade for row in FILES]
    assert grades.count(MENDED) >= 0.9 * len(grades)
    assert min(grades) > MISLEADING


@pytest.mark.parametrize(("where", "written", "words"), TOLD, ids=[f"{row[0]}-{row[1]}" for row in TOLD])
def test_a_slip_is_told_by_what_was_meant(where: str, written: str, words: str) -> None:
    assert [
        problem.message
        for problem in answer(*files_with(where, written)).problems
        if words in problem.message
    ]


@pytest.mark.parametrize(("what", "journal"), JOURNALS, ids=[what for what, _ in JOURNALS])
def test_what_can_hardly_be_is_asked_about(what: str, journal: str) -> None:
    assert answer(files_with("", "")[0], journal).all


@pytest.mark.parametrize(("what", "files"), CLIMATES, ids=[what for what, _ in CLIMATES])
def test_a_slip_in_a_weather_table_is_told(what: str, files: dict[str, str]) -> None:
    found = [
        p
        for p in answer(files_with("", "")[0], "", tuple(files.items())).all
        if "record stops" not in p.message
    ]
    assert found
    assert all(p.message.isprintable() and len(p.message) < 400 for p in found)


def typed(folder: Path, monkeypatch: pytest.MonkeyPatch, words: list[str]) -> tuple[int, str, str]:
    """Exit code, what came of it (the journal's new line, or what was printed), and all that was printed."""
    folder.mkdir(exist_ok=True)
    (folder / "collection.yaml").write_text(files_with("", "")[0])
    # Not empty: before it adds to a file emptied just now, feedplan waits for a save that may be on the way.
    (folder / "journal.yaml").write_text("# What happened.\n")
    monkeypatch.chdir(folder)
    day = ["--today", f"{TODAY}"] if words[0] == "record" else []
    result = CliRunner().invoke(feedplan, [*words, *day], prog_name="feedplan")
    journal = re.sub(r', id: "?\w+"?', "", (folder / "journal.yaml").read_text())
    return result.exit_code, journal if words[0] == "record" else result.stdout, result.output


def with_remedy(words: list[str], said: str) -> list[str] | None:
    """The words with what a refusal tells in place of what was wrong; None where it tells nothing to type."""
    if command := COMMAND.search(said[said.index("Error") :]):
        return shlex.split(command[1])
    told = remedy(said.strip().splitlines()[-1])
    if told is None:
        return None
    told = re.split(" or |, ", told)[0]
    quoted = re.findall(r"'(.+?)'", said[said.index("Error") :])
    spoken = next((each.split(" ")[0] for each in quoted if not each.startswith("--")), "")
    at = next((i for i, word in enumerate(words) if word.split(" ")[0] == spoken), None)
    if at is None:
        return None
    taken = 2 if told.split(" ")[:1] == [words[at]] and words[at + 1 : at + 2] != ["Oak"] else 1
    return [*words[:at], told, *words[at + taken :]]


TYPED = [("record", *row) for row in RECORDS] + [("dose", *row) for row in DOSES]


@pytest.mark.parametrize(("command", "wrong", "right"), TYPED, ids=[" ".join([r[0], *r[1]]) for r in TYPED])
def test_what_is_typed_is_taken_as_meant_or_told_what_to_type(
    command: str, wrong: list[str], right: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    code, came, said = typed(tmp_path / "wrong", monkeypatch, [command, *wrong])
    meant = typed(tmp_path / "right", monkeypatch, [command, *right])[1] if right else ""
    if code == 0:
        assert came == meant or not right
        return
    mended = with_remedy([command, *wrong], said)
    if mended is None:
        assert not right, said
        return
    code, came, said = typed(tmp_path / "mended", monkeypatch, mended)
    if code and (again := with_remedy(mended, said)):
        code, came, said = typed(tmp_path / "again", monkeypatch, again)
    assert code == 0, (mended, said)
    assert came == meant or not right, mended


def test_a_share_of_a_label_is_told_the_feed_of_those_trees() -> None:
    collection = files_with("", "")[0].replace(
        "feeds:\n", "feeds:\n  fir tonic: {grade: 18-11-18, form: soluble, label_rate: 1 g per L}\n"
    )
    for who in ("tree: Oak", "group: g", "trees: [Oak, Elm]"):
        assert answer(collection, f"- {{date: 2027-06-10, {who}, fed: half label}}\n").problems == ()
    other = collection.replace("decandled, feed: powder", "decandled, feed: fir tonic")
    assert other != collection
    moved = "- {date: 2027-06-01, tree: Elm, moved: pines}\n- {date: 2027-06-10, WHO, fed: half label}\n"
    assert answer(other, moved.replace("WHO", "group: g")).problems == ()
    assert answer(other, moved.replace("WHO", "tree: Elm")).problems
    none = collection.replace(", feed: powder", "").replace("feed: powder, ", "")
    assert none != collection
    (found,) = answer(none, "- {date: 2027-06-10, group: g, fed: half label}\n").problems
    assert found.message.endswith('such as feed: fir tonic (record: --feed "fir tonic")')


def test_one_ordinary_group_of_seedlings_brings_no_warning() -> None:
    species = ("larch", "beech", "hornbeam", "Scots pine", "Chinese elm", "field maple", "juniper", "azalea")
    trees = "".join(
        f"  - {{name: T{n}, species: {kind}, group: g, pot: 1 L, count: 10}}\n"
        for n, kind in enumerate(species)
    )
    collection = files_with("", "")[0].partition("trees:")[0]
    collection = collection.replace("schedule: vigorous", "schedule: seedlings")
    collection = re.sub(r"  (pines|beads): .*\n", "", collection) + f"trees:\n{trees}"
    assert [p.message for p in all_doubts(load_text(collection)) if "bench" not in p.message] == []


def test_groups_that_wait_for_a_stage_of_others_are_one_warning() -> None:
    collection = files_with("group", "schedule: conifer")[0]
    (warning,) = answer(collection, "").doubts
    species = "English oak ('late leafing'), field maple ('middle leafing') and wych elm ('early leafing')"
    assert (
        f"'candles extending' is no stage of {species}; its date is that of 'needle conifer'"
        in warning.message
    )


def test_a_value_of_an_own_schedule_that_all_its_groups_change_is_asked_about() -> None:
    text = small("{g: {schedule: mine, changes: {budget: 90 mg N per L}}}")
    (asked,) = load(text).questions
    assert asked.message.startswith(
        "group g changes 'budget' of your schedule 'mine', so the value written there"
    )


def test_a_climate_that_is_a_file_is_told(tmp_path: Path) -> None:
    (tmp_path / "collection.yaml").write_text(files_with("", "")[0])
    (tmp_path / "climate").write_text(CLIMATES[0][1]["normals.csv"])
    with pytest.raises(FilesHaveProblems, match="climate:1:1: is a file; make a folder of that name"):
        load_collection(tmp_path)


@pytest.mark.parametrize(
    "name", ["e\u0301te\u0301", " spring frost"], ids=["decomposed letters", "a space before"]
)
def test_an_own_hold_is_found_by_its_name_in_any_form_of_unicode(name: str) -> None:
    hold = f'"{name}": {{trouble: "{name.strip()}", stops: [liquid feed], at_least: 7 days}}'
    text = small(f"{{g: {{schedule: mine, changes: {{holds: {{{hold}}}}}}}}}")
    (entry,) = load(
        text, f'- {{date: 2027-05-01, tree: Brindle, trouble: "{name.strip()}"}}\n'
    ).journal.entries
    assert isinstance(entry.fact, Caused)


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31", "2500-06-01"])
def test_days_at_the_ends_of_the_calendar_are_refused_in_a_sentence(
    day: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "collection.yaml").write_text(files_with("", "")[0])
    monkeypatch.chdir(tmp_path)
    for command in (["check"], ["round"], ["season"], ["calendar", "-o", "x.ics"], ["shelf"], ["why", "Oak"]):
        result = CliRunner().invoke(feedplan, [*command, "--today", day], prog_name="feedplan")
        assert result.exit_code == 2
        assert "lies outside 1950 to 2150; check the year" in result.output


def test_what_is_typed_is_shown_shortened_and_with_its_invisible_signs_as_codes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for words in (["record", "seen", "\u202e\x07" + "x" * 70_000, "Oak"], ["dose", "24-8-16", "y" * 70_000]):
        code, _, said = typed(tmp_path, monkeypatch, words)
        assert code == 2
        assert len(said) < 3000
        assert said.replace("\n", "").isprintable()


ASKS_WHOSE = "is each of the"


@pytest.mark.parametrize(
    ("schedule", "pot", "count", "is_asked"),
    [
        ("cuttings", "50 x 30 x 6 cm", 30, True),
        ("seedlings", "tray 40 x 30 x 8 cm", 24, True),
        ("seedlings", "8 L", 24, True),
        ("seedlings", "1 L", 24, False),
        ("conifer", "40 x 30 x 8 cm", 12, True),
        ("conifer", "30 x 20 x 8 cm", 12, True),
        ("conifer", "30 x 19 x 8 cm", 12, False),
        ("conifer", "40 x 30 x 8 cm", 3, False),
        ("conifer", "20 L", 12, False),
        ("cuttings", "50 x 30 x 6 cm", 1, False),
    ],
)
def test_a_tray_written_as_many_pots_is_asked_about_once_and_either_answer_settles_it(
    schedule: str, pot: str, count: int, is_asked: bool
) -> None:
    collection = (
        files_with("", "")[0].partition("trees:")[0].replace("schedule: vigorous", f"schedule: {schedule}")
    )
    collection = re.sub(r"  (pines|beads): .*\n", "", collection)
    tree = f"trees:\n  - {{name: Row, species: Chinese elm, group: g, pot: POT, count: {count}}}\n"

    def asked(written: str) -> list[str]:
        doubts = all_doubts(load_text(collection + tree.replace("POT", written)))
        return [p.message for p in doubts if ASKS_WHOSE in p.message]

    questions = asked(pot)
    assert len(questions) == is_asked
    for answered in re.findall(r"write pot: ([^;]+ (?:shared|each))", "".join(questions)):
        assert asked(answered) == []


def test_no_word_is_offered_for_one_that_only_looks_like_it() -> None:
    for entry in ("work: grafted", "work: leaf pruned"):
        said = " ".join(
            p.message
            for p in answer(files_with("", "")[0], f"- {{date: 2027-06-10, tree: Oak, {entry}}}\n").problems
        )
        assert "did you mean" not in said
    zeolite = [p.message for p in answer(*files_with("oak", "mix: zeolite")).problems]
    assert "known ones are" in zeolite[0]
    assert "did you mean" not in zeolite[0]


def test_a_pot_in_the_journal_is_told_where_it_belongs() -> None:
    (found,) = answer(files_with("", "")[0], "- {date: 2027-06-10, tree: Oak, pot: 12 L}\n").problems
    assert "write the new pot in collection.yaml, and here work: slip-potted" in found.message
