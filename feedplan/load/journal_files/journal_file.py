"""Adding entries to the journal file: nothing lost, nothing torn, every comment and hand edit kept byte for byte."""

from __future__ import annotations

import contextlib
import fcntl
import os
import secrets
from collections.abc import Iterator, Mapping
from pathlib import Path

import yaml

from feedplan.errors import CannotWriteError, FilesHaveProblems, Problem
from feedplan.load.collection import problems_with_journal
from feedplan.load.folder import COLLECTION, as_typed
from feedplan.load.journal_files.entry_line import entry_line
from feedplan.load.text.source_text import decode_source, read_raw
from feedplan.load.text.yaml_tree import read_yaml

HEADER = b"""\
# What happened, one entry a line. "feedplan record" adds at the end; edit by hand as you like. An example:
# - {date: 2027-04-26, tree: Brindle, work: repotted, roots: 30 %}
"""

# No 0, 1, i, l and o: an id is read off a wet screen and typed again.
_ID_SIGNS = "abcdefghjkmnpqrstuvwxyz23456789"
_ID_LENGTH = 5


def append_entry(journal: Path, entry: Mapping[str, object], collection: Path | None = None) -> str:
    """Adds one entry to the end of a journal file, which is made if it is not there; gives the entry's id.

    entry: keys and values as the file has them; without an id it gets one. collection: the collection.yaml it
    belongs to, by default the one beside it; the entry must fit it. The folder is locked, the file written anew
    beside itself, flushed and put in place: a reader sees the old file or the new one, and two writers at once lose
    nothing. Raises FilesHaveProblems when the journal cannot be read or the entry brings a problem, and
    CannotWriteError when the disk refuses; the file is then as it was.
    """
    file, path = as_typed(journal), Path(os.path.realpath(journal))
    try:
        with _locked(path.parent):
            before = _Journal(path, file)
            entry_id = str(entry.get("id") or before.new_id())
            raw = before.with_line(entry_line({**entry, "id": entry_id}))
            _refuse_new_problems(before, raw, collection or journal.parent / COLLECTION)
            _replace(path, raw)
    except OSError as error:
        reason = os.strerror(error.errno).lower() if error.errno else str(error)
        raise CannotWriteError(f"{file}: cannot be written: {reason}; nothing was recorded") from error
    return entry_id


class _Journal:
    """The journal as it stands. Raises FilesHaveProblems when it cannot be read as a list of lines."""

    def __init__(self, path: Path, file: str) -> None:
        self.file = file
        raw = read_raw(path, file) if os.path.lexists(path) else HEADER
        text = raw if isinstance(raw, Problem) else decode_source(raw, file)
        if isinstance(raw, Problem) or isinstance(text, Problem):
            raise FilesHaveProblems([problem for problem in (raw, text) if isinstance(problem, Problem)][:1])
        self.raw, self.text = raw, text
        value, spot, problems = read_yaml(text, file)
        if value is None and problems:
            raise FilesHaveProblems(problems)
        if value is not None and not isinstance(value, list):
            raise FilesHaveProblems(
                [
                    spot.problem(
                        "is not a list; write one entry a line, each starting with - {date: 2027-04-26, ..."
                    )
                ]
            )
        self.entries = value or []
        self.indent = self._indent()

    def _indent(self) -> int:
        """How far the list's items are indented."""
        for event in yaml.parse(self.text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader)):
            mark = event.start_mark
            if isinstance(event, yaml.SequenceStartEvent) and mark is not None:
                if event.flow_style:
                    message = "is written in [ ]; write each entry on a line of its own that starts with -"
                    raise FilesHaveProblems([Problem(self.file, mark.line + 1, mark.column + 1, message)])
                return mark.column
        return 0

    def new_id(self) -> str:
        """An id that no entry has."""
        taken = {entry.get("id") for entry in self.entries if isinstance(entry, dict)}
        while True:
            made = "".join(secrets.choice(_ID_SIGNS) for _ in range(_ID_LENGTH))
            if made not in taken:
                return made

    def with_line(self, line: str) -> bytes:
        """The file with one more item, in the indentation and line ends of those before it."""
        newline = "\r\n" if "\r\n" in self.text else "\n"
        gap = "" if not self.text or self.text.endswith(("\n", "\r")) else newline
        return self.raw + f"{gap}{' ' * self.indent}- {line}{newline}".encode()


def _refuse_new_problems(before: _Journal, raw: bytes, collection: Path) -> None:
    """Raises FilesHaveProblems with what the new entry brings; what was wrong before does not stop a record."""
    text = decode_source(raw, before.file)
    if isinstance(text, Problem):
        raise FilesHaveProblems([text])
    found = problems_with_journal(collection, text, before.file)
    if found:
        had = set(problems_with_journal(collection, before.text, before.file))
        fresh = [Problem(p.file, 0, 0, p.message) for p in found if p not in had]
        if fresh:
            raise FilesHaveProblems(fresh)


@contextlib.contextmanager
def _locked(folder: Path) -> Iterator[None]:
    """Holds the folder's lock; one on the file itself would be lost when the file is replaced."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def _replace(path: Path, raw: bytes) -> None:
    """Writes the file anew beside itself, flushes it to the disk and puts it in place, its mode kept."""
    beside = path.with_name(f".{path.name}.{secrets.token_hex(6)}")
    handle = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(raw)
            stream.flush()
            if path.exists():
                os.fchmod(stream.fileno(), path.stat().st_mode & 0o7777)
            os.fsync(stream.fileno())
        beside.replace(path)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise
    folder = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)
