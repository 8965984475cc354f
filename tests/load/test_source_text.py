"""Reading one file: whatever lies there, the answer is its text or one sentence."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from feedplan.errors import FilesHaveProblems, Problem
from feedplan.load import load_collection
from feedplan.load.folder import YAML_FILE, read_source
from tests.load.helpers import COLLECTION, SCHEDULE


def problem(path: Path) -> str:
    found = read_source(path, "x.yaml")
    assert isinstance(found, Problem)
    return str(found)


def written(tmp_path: Path, raw: bytes) -> Path:
    path = tmp_path / "x.yaml"
    path.write_bytes(raw)
    return path


def test_a_folder_in_place_of_a_file_is_named(tmp_path: Path) -> None:
    assert problem(tmp_path) == "x.yaml: is a folder; expected a YAML file"


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    assert problem(tmp_path / "none.yaml") == "x.yaml: there is no such file"


def test_a_pipe_in_place_of_a_file_does_not_hang(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    assert problem(tmp_path / "pipe") == "x.yaml: is not an ordinary file; expected a YAML file"


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
def test_an_unreadable_file_says_why(tmp_path: Path) -> None:
    path = written(tmp_path, b"a: 1\n")
    path.chmod(0)
    assert problem(path) == "x.yaml: cannot be read: permission denied"


def test_a_name_no_system_has_is_a_missing_file() -> None:
    assert problem(Path("a\0b")) == "x.yaml: there is no such file"


def test_a_huge_file_is_not_read(tmp_path: Path) -> None:
    path = written(tmp_path, b"#" * (YAML_FILE.largest_bytes + 1))
    assert problem(path) == "x.yaml: is larger than 5 MB; is this the right file?"


def test_the_largest_file_is_read(tmp_path: Path) -> None:
    assert (
        read_source(written(tmp_path, b"#" * YAML_FILE.largest_bytes), "x.yaml")
        == "#" * YAML_FILE.largest_bytes
    )


def test_bytes_that_are_not_utf_8_name_their_line(tmp_path: Path) -> None:
    path = written(tmp_path, b"name: ok\nname: M\xe4rz\n")
    assert problem(path) == "x.yaml:2:8: is not UTF-8 (byte 0xe4); save the file as UTF-8"


def test_utf_16_is_named(tmp_path: Path) -> None:
    assert (
        problem(written(tmp_path, "a: 1\n".encode("utf-16")))
        == "x.yaml: is saved as UTF-16; save it as UTF-8"
    )


def test_a_nul_names_its_place(tmp_path: Path) -> None:
    path = written(tmp_path, b"a: 1\r\nb: \0\r\n")
    assert problem(path) == (
        "x.yaml:2:4: holds a NUL character, so it is not a text file; is it the right one?"
    )


def test_an_invisible_control_character_names_its_place(tmp_path: Path) -> None:
    assert problem(written(tmp_path, b"a: \x1b[0m\n")) == (
        "x.yaml:1:4: holds the invisible character U+001B; delete it"
    )


def collection_in(folder: Path, text: bytes) -> Path:
    (folder / "schedules").mkdir()
    (folder / "schedules" / "mine.yaml").write_text(SCHEDULE, encoding="utf-8")
    (folder / "collection.yaml").write_bytes(text)
    return folder


def test_a_byte_order_mark_and_windows_line_ends_change_nothing(tmp_path: Path) -> None:
    windows = b"\xef\xbb\xbf" + COLLECTION.replace("\n", "\r\n").encode()
    loaded = load_collection(collection_in(tmp_path, windows))
    assert [tree.name for tree in loaded.collection.trees] == ["Brindle", "Kettle"]
    assert loaded.collection.trees[1].source.line == 11


def test_lines_are_counted_alike_whatever_ends_them(tmp_path: Path) -> None:
    text = COLLECTION.replace("group: refined", "group: refind")
    for number, end in enumerate(("\n", "\r\n", "\r")):
        folder = tmp_path / str(number)
        folder.mkdir()
        with pytest.raises(FilesHaveProblems) as refused:
            load_collection(collection_in(folder, text.replace("\n", end).encode()))
        assert [(p.line, p.column) for p in refused.value.problems] == [(11, 46)]


def test_messages_name_files_as_one_would_type_them(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "trees").mkdir()
    collection_in(tmp_path / "trees", b"")
    for standing, typed, shown in (
        (tmp_path, "trees", "trees/collection.yaml"),
        (tmp_path, "trees/collection.yaml", "trees/collection.yaml"),
        (tmp_path / "trees", ".", "collection.yaml"),
        (tmp_path / "trees", "../trees", "../trees/collection.yaml"),
        (tmp_path, str(tmp_path / "trees"), "trees/collection.yaml"),
        (tmp_path / "trees" / "schedules", str(tmp_path / "trees"), f"{tmp_path}/trees/collection.yaml"),
    ):
        monkeypatch.chdir(standing)
        with pytest.raises(FilesHaveProblems) as refused:
            load_collection(typed)
        assert refused.value.problems[0].file == shown


def test_a_folder_without_a_collection_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(FilesHaveProblems) as refused:
        load_collection(".")
    assert str(refused.value) == (
        "collection.yaml: there is no such file; "
        "name the folder with -c, or make a new collection with: feedplan start"
    )


def test_every_file_looked_for_is_told_so_that_a_server_can_watch_it(tmp_path: Path) -> None:
    loaded = load_collection(collection_in(tmp_path, COLLECTION.encode()))
    names = {path.relative_to(tmp_path).as_posix() for path in loaded.files}
    assert {"collection.yaml", "journal.yaml", "schedules/mine.yaml", "schedules/holds.yaml"} <= names
