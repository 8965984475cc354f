"""Adding to the journal: every byte kept, nothing lost by two writers, nothing written that does not load."""

from __future__ import annotations

import multiprocessing
import os
import random
import stat
import threading
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedplan.errors import CannotWriteError, FilesHaveProblems
from feedplan.load import journal_file, load_collection
from feedplan.load.journal_file import HEADER, append_entry, entry_line
from feedplan.load.yaml_tree import read_yaml
from tests.load.helpers import COLLECTION, SCHEDULE
from tests.properties import examples

SEEN: dict[str, object] = {"date": date(2027, 4, 26), "tree": "Brindle", "seen": "leaves open", "id": "k7f3q"}
LINE = b"- {date: 2027-04-26, tree: Brindle, seen: leaves open, id: k7f3q}\n"


@pytest.fixture
def journal(tmp_path: Path) -> Path:
    """Where the journal of a sound collection goes; not there yet."""
    (tmp_path / "schedules").mkdir()
    (tmp_path / "schedules" / "mine.yaml").write_text(SCHEDULE, encoding="utf-8")
    (tmp_path / "collection.yaml").write_text(COLLECTION, encoding="utf-8")
    return tmp_path / "journal.yaml"


def refusal(journal: Path, entry: dict[str, object]) -> list[str]:
    with pytest.raises(FilesHaveProblems) as refused:
        append_entry(journal, entry)
    return [problem.message for problem in refused.value.problems]


def names_in(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_the_first_entry_makes_the_file_with_a_comment_on_top(journal: Path) -> None:
    assert append_entry(journal, SEEN) == "k7f3q"
    assert journal.read_bytes() == HEADER + LINE
    assert load_collection(journal.parent).journal.entries[0].id == "k7f3q"


@pytest.mark.parametrize(
    ("before", "added"),
    [
        (b"", LINE),
        (b"# notes\n\n", LINE),
        (b"- {date: 2027-01-01, tree: Kettle, check: dry}   # hand made\n# more\n", LINE),
        (b"- {date: 2027-01-01, tree: Kettle, check: dry}", b"\n" + LINE),
        (b"- {date: 2027-01-01, tree: Kettle, check: dry}\r\n", LINE.replace(b"\n", b"\r\n")),
        (b"  - date: 2027-01-01\n    tree: Kettle\n    check: dry\n", b"  " + LINE),
        (b"---\n-   date: 2027-01-01\n    tree: Kettle\n    note: >\n      Long\n\n      words.\n\n", LINE),
        (b"\xef\xbb\xbf- {date: 2027-01-01, tree: Kettle, check: dry}\n", LINE),
    ],
    ids=[
        "empty",
        "comments",
        "comment after",
        "no newline",
        "windows",
        "indented",
        "block style",
        "byte order mark",
    ],
)
def test_what_stood_in_the_file_is_kept_byte_for_byte(journal: Path, before: bytes, added: bytes) -> None:
    journal.write_bytes(before)
    append_entry(journal, SEEN)
    assert journal.read_bytes() == before + added
    assert "k7f3q" in [entry.id for entry in load_collection(journal.parent).journal.entries]


def test_an_entry_without_an_id_gets_one_that_is_easy_to_type(journal: Path) -> None:
    made = {append_entry(journal, {k: v for k, v in SEEN.items() if k != "id"}) for _ in range(5)}
    assert len(made) == 5
    assert all(len(name) == 5 and not set(name) & set("01ilo") for name in made)
    assert {entry.id for entry in load_collection(journal.parent).journal.entries} == made


def test_an_entry_that_does_not_fit_the_collection_is_not_written(journal: Path) -> None:
    append_entry(journal, SEEN)
    before = journal.read_bytes()
    assert refusal(journal, {**SEEN, "id": "other", "tree": "Brindel"}) == [
        "no tree is called 'Brindel'; did you mean 'Brindle'?"
    ]
    assert refusal(journal, {"date": date(2027, 4, 26), "undo": "nothing"}) == [
        "no entry has the id 'nothing'"
    ]
    assert refusal(journal, SEEN) == ["the id 'k7f3q' is taken by line 3; write another or none"]
    assert journal.read_bytes() == before
    assert names_in(journal.parent) == ["collection.yaml", "journal.yaml", "schedules"]


def test_what_was_wrong_before_does_not_stop_a_record(journal: Path) -> None:
    journal.write_text("- {date: 2027-01-01, tree: Ketle, check: dry}\n", encoding="utf-8")
    append_entry(journal, SEEN)
    assert journal.read_bytes().endswith(LINE)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "[{date: 2027-01-01, tree: Kettle, check: dry}]\n",
            "is written in [ ]; write each entry on a line of its own",
        ),
        ("date: 2027-01-01\n", "is not a list; write one entry a line"),
        ("- {date: 2027-01-01\n", "the { that opens here is not closed"),
    ],
)
def test_a_journal_that_cannot_be_added_to_is_left_alone(journal: Path, text: str, message: str) -> None:
    journal.write_text(text, encoding="utf-8")
    assert message in refusal(journal, SEEN)[0]
    assert journal.read_text(encoding="utf-8") == text


def test_a_journal_ended_by_dots_is_left_alone(journal: Path) -> None:
    text = "- {date: 2027-01-01, tree: Kettle, check: dry}\n...\n"
    journal.write_text(text, encoding="utf-8")
    refusal(journal, SEEN)
    assert journal.read_text(encoding="utf-8") == text


def test_a_journal_alone_is_checked_for_its_shape(tmp_path: Path) -> None:
    append_entry(tmp_path / "journal.yaml", SEEN)
    assert refusal(tmp_path / "journal.yaml", {**SEEN, "id": "x2", "sen": "limp"}) == [
        "unknown key 'sen' in entry of 2027-04-26 for 'Brindle'; did you mean 'seen'?"
    ]


def test_a_link_stays_a_link_and_the_mode_is_kept(journal: Path) -> None:
    kept = journal.parent / "kept.yaml"
    kept.write_bytes(b"")
    kept.chmod(0o640)
    journal.symlink_to(kept)
    append_entry(journal, SEEN)
    assert journal.is_symlink()
    assert kept.read_bytes() == LINE
    assert stat.S_IMODE(kept.stat().st_mode) == 0o640


def test_a_folder_that_is_not_there_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(CannotWriteError) as refused:
        append_entry(tmp_path / "none" / "journal.yaml", SEEN)
    assert str(refused.value).endswith("cannot be written: no such file or directory; nothing was recorded")


def test_a_disk_that_fails_leaves_the_old_file_and_nothing_else(
    journal: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    append_entry(journal, SEEN)
    before = journal.read_bytes()

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(CannotWriteError, match="no space left on device; nothing was recorded"):
        append_entry(journal, {**SEEN, "id": "x2"})
    assert journal.read_bytes() == before
    assert names_in(journal.parent) == ["collection.yaml", "journal.yaml", "schedules"]


def _write_ten(journal: Path, name: str) -> None:
    for number in range(10):
        append_entry(journal, {**SEEN, "id": f"{name}{number}"})


def test_writers_at_the_same_time_lose_nothing(journal: Path) -> None:
    context = multiprocessing.get_context("fork")
    writers = [context.Process(target=_write_ten, args=(journal, name)) for name in "ab"]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join(60)
    assert [writer.exitcode for writer in writers] == [0, 0]
    ids = {entry.id for entry in load_collection(journal.parent).journal.entries}
    assert ids == {f"{name}{number}" for name in "ab" for number in range(10)}


def test_an_editor_that_saves_at_random_while_entries_are_added_loses_nothing_it_saved(journal: Path) -> None:
    """It saves as editors do: a new file beside the old one, renamed onto it."""
    journal.write_bytes(HEADER)
    chance, is_over = random.Random(3), threading.Event()
    saved: list[str] = []

    def edit() -> None:
        while not is_over.is_set():
            saved.append(f"# by hand {len(saved)}.")
            (journal.parent / "edited").write_text(f"{journal.read_text()}{saved[-1]}\n")
            (journal.parent / "edited").replace(journal)
            is_over.wait(chance.uniform(0, 0.03))

    editor = threading.Thread(target=edit)
    editor.start()
    added = 0
    while added < 30 or len(saved) < 30:  # however slow the one or the other is
        append_entry(journal, {**SEEN, "id": f"tap{added}"})
        added += 1
    is_over.set()
    editor.join()
    text = journal.read_text()
    assert [line for line in saved if line not in text] == []
    assert load_collection(journal.parent).journal.entries


def test_an_entry_is_added_to_what_an_editor_saved_while_it_was_checked(
    journal: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The editor writes into the file itself, which stands empty for a moment in between."""
    journal.write_bytes(b"- {date: 2027-01-01, tree: Kettle, check: dry}\n")
    check = journal_file._refuse_new_problems

    def save_meanwhile(*given: Any) -> None:
        check(*given)
        journal.write_bytes(b"- {date: 2027-01-02, tree: Ket")
        whole = b"- {date: 2027-01-02, tree: Kettle, check: moist}\n"
        threading.Timer(0.02, journal.write_bytes, [whole]).start()

    monkeypatch.setattr(journal_file, "_refuse_new_problems", save_meanwhile)
    append_entry(journal, SEEN)
    assert journal.read_bytes() == b"- {date: 2027-01-02, tree: Kettle, check: moist}\n" + LINE


def test_an_entry_typed_while_an_editor_has_emptied_the_file_waits_for_what_it_writes(
    journal: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It has the file open: what it writes after another file stood under the name would go with the old one."""
    whole = "- {date: 2027-01-01, tree: Kettle, check: dry}\n" * 3
    journal.write_text(whole, encoding="utf-8")
    with journal.open("w", encoding="utf-8") as editor:

        def write(_: float) -> None:
            editor.write(whole)
            editor.flush()

        monkeypatch.setattr("feedplan.load.journal_file.time.sleep", write)
        append_entry(journal, SEEN)
    assert journal.read_text(encoding="utf-8") == whole + LINE.decode()


TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
VALUES = st.one_of(
    TEXTS,
    st.booleans(),
    st.dates(),
    st.integers(0, 10**9),
    st.decimals(0, 1000, places=2),
    st.lists(TEXTS, max_size=3),
    st.sampled_from(
        [
            "no",
            "1:50",
            "010",
            "2027-01-01",
            "~",
            "",
            " x ",
            "a: b",
            "[x]",
            "- x",
            "30 %",
            "#1",
            "null",
            "true",
            "1.5",
            "x,",
        ]
    ),
)


@examples(200)
@given(VALUES)
def test_a_line_reads_back_as_exactly_what_was_written(value: object) -> None:
    line = entry_line({"tree": value})
    assert "\n" not in line
    found, _, problems = read_yaml(f"- {line}\n", "journal.yaml")
    assert problems == []
    assert isinstance(found, list)
    back = found[0]["tree"]
    assert back == (Decimal(str(value)) if isinstance(value, Decimal) else value)
    assert type(back) in (type(value), int, Decimal)
