"""Files whole or not at all."""

from __future__ import annotations

import errno
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from feedplan import files
from feedplan.errors import CannotWriteError
from feedplan.files import replace_if_same, write_together, write_whole

AS_ROOT = os.geteuid() == 0


def test_a_new_file_has_the_usual_mode(tmp_path: Path) -> None:
    path = tmp_path / "trees.ics"
    old_mask = os.umask(0o027)
    try:
        write_whole(path, b"new")
    finally:
        os.umask(old_mask)
    assert path.read_bytes() == b"new"
    assert path.stat().st_mode & 0o777 == 0o640


@pytest.mark.parametrize("mode", [0o600, 0o644, 0o664])
def test_an_existing_file_keeps_its_mode(tmp_path: Path, mode: int) -> None:
    path = tmp_path / "trees.ics"
    path.write_bytes(b"old")
    path.chmod(mode)
    write_whole(path, b"new")
    assert path.read_bytes() == b"new"
    assert path.stat().st_mode & 0o777 == mode


def test_a_link_goes_on_pointing(tmp_path: Path) -> None:
    (tmp_path / "public").mkdir()
    target, link = tmp_path / "public" / "trees.ics", tmp_path / "trees.ics"
    target.write_bytes(b"old")
    link.symlink_to(target)
    write_whole(link, b"new")
    assert link.is_symlink()
    assert target.read_bytes() == b"new"


def test_a_reader_with_the_old_file_open_goes_on_reading_the_old_one(tmp_path: Path) -> None:
    path = tmp_path / "trees.ics"
    path.write_bytes(b"old and whole")
    with path.open("rb") as reader:
        assert reader.read(3) == b"old"
        write_whole(path, b"new")
        assert reader.read() == b" and whole"


def test_a_missing_folder_is_named_with_how_to_make_it(tmp_path: Path) -> None:
    path = tmp_path / "out" / "trees.ics"
    with pytest.raises(CannotWriteError) as caught:
        write_whole(path, b"x")
    folder = tmp_path / "out"
    assert (
        str(caught.value)
        == f"cannot write {path}: there is no folder {folder}; make it first: mkdir -p {folder}"
    )


def test_a_folder_is_not_written_over(tmp_path: Path) -> None:
    with pytest.raises(CannotWriteError, match=r"it is a folder; name a file in it, such as .*trees\.ics"):
        write_whole(tmp_path, b"x")


def test_a_file_taken_for_a_folder_is_named(tmp_path: Path) -> None:
    (tmp_path / "out").write_bytes(b"")
    with pytest.raises(CannotWriteError, match="out is a file, not a folder"):
        write_whole(tmp_path / "out" / "trees.ics", b"x")


def test_a_name_that_is_too_long_is_said_to_be(tmp_path: Path) -> None:
    with pytest.raises(CannotWriteError, match="the name is too long"):
        write_whole(tmp_path / ("x" * 300), b"x")


@pytest.mark.skipif(AS_ROOT, reason="root may write anywhere")
def test_a_folder_without_permission_is_named(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    try:
        with pytest.raises(CannotWriteError, match="no permission to write in the folder"):
            write_whole(tmp_path / "trees.ics", b"x")
    finally:
        tmp_path.chmod(0o700)


@pytest.mark.parametrize(
    ("number", "says"),
    [
        (errno.EACCES, "no permission to write in the folder"),
        (errno.EROFS, "no permission to write in the folder"),
        (errno.ENOSPC, "the disk is full; make room and run this again; what was there is unchanged"),
        (errno.EIO, "Input/output error; what was there is unchanged"),
    ],
)
def test_what_the_system_refuses_is_said_in_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, says: str
) -> None:
    path = tmp_path / "trees.ics"
    path.write_bytes(b"old")

    def refuse(descriptor: int) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "fsync", refuse)
    with pytest.raises(CannotWriteError) as caught:
        write_whole(path, b"new")
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_write_cut_off_half_way_keeps_the_old_file(tmp_path: Path) -> None:
    """Really cut off: the process may write no more than 4 kB to a file, and is told so by the system."""
    path = tmp_path / "trees.ics"
    path.write_bytes(b"old")
    script = (
        "import resource, signal, sys\n"
        "from pathlib import Path\n"
        "from feedplan.files import write_whole\n"
        "signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))\n"
        "write_whole(Path(sys.argv[1]), b'x' * 100_000)\n"
    )
    command = [sys.executable, "-c", script, str(path)]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    done = subprocess.run(command, capture_output=True, text=True, env=environment, check=False)
    assert "CannotWriteError" in done.stderr
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


def test_several_files_are_all_on_the_disk_before_the_first_is_in_place(tmp_path: Path) -> None:
    first, second = tmp_path / "a.json", tmp_path / "missing" / "b.ics"
    first.write_bytes(b"old")
    with pytest.raises(CannotWriteError, match="there is no folder"):
        write_together([(first, b"new"), (second, b"new")])
    assert first.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [first]


def test_nothing_else_in_the_program_puts_files_in_place() -> None:
    """The fault this keeps out: two ways to write a file whole, of which one was not durable."""
    package = Path(files.__file__).parent
    others = [path for path in package.rglob("*.py") if path != Path(files.__file__)]
    puts = re.compile(r"\bos\.(replace|rename|fsync)\b|\.rename\(|NamedTemporaryFile|mkstemp")
    assert [
        str(path.relative_to(package)) for path in others if puts.search(path.read_text(encoding="utf-8"))
    ] == ["cli/main.py"]  # the trace of a fault in the program, which is no file of the grower's


def test_what_a_killed_process_left_of_a_write_is_cleared_and_what_is_being_written_stays(
    tmp_path: Path,
) -> None:
    old, new = tmp_path / ".trees.ics-0123456789abcdef.tmp", tmp_path / ".trees.ics-fedcba9876543210.tmp"
    for path in (old, new):
        path.write_bytes(b"half")
    os.utime(old, (1, 1))
    write_whole(tmp_path / "trees.ics", b"new")
    assert sorted(path.name for path in tmp_path.iterdir()) == [new.name, "trees.ics"]


@pytest.mark.parametrize("moment", ["before", "between", "not there"])
def test_a_file_that_another_program_saved_is_not_replaced(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, moment: str
) -> None:
    """The other program saves before the files are looked at, or between that and the exchange."""
    path, saved = tmp_path / "journal.yaml", tmp_path / "saved"

    def save() -> None:
        saved.write_bytes(b"by hand")
        saved.replace(path)

    exchange = files._exchange_at_once
    if moment != "not there":
        path.write_bytes(b"old")
    if moment == "between":

        def late(new: Path, target: Path) -> bool:
            monkeypatch.setattr(files, "_exchange_at_once", exchange)
            save()
            return exchange(new, target)

        monkeypatch.setattr(files, "_exchange_at_once", late)
    else:
        save()
    assert not replace_if_same(path, None if moment == "not there" else b"old", b"old and ours")
    assert [(p.name, p.read_bytes()) for p in tmp_path.iterdir()] == [("journal.yaml", b"by hand")]


def test_a_file_nobody_else_saved_is_replaced_and_a_new_one_made(tmp_path: Path) -> None:
    path = tmp_path / "journal.yaml"
    assert replace_if_same(path, None, b"first")
    assert replace_if_same(path, b"first", b"second")
    assert [(p.name, p.read_bytes()) for p in tmp_path.iterdir()] == [("journal.yaml", b"second")]
