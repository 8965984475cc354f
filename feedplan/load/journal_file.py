"""Adding entries to the journal file: nothing lost, nothing torn, every comment and hand edit kept byte for byte."""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import secrets
import time
from collections.abc import Container, Mapping
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TypeVar

import yaml

from feedplan.errors import CannotWriteError, FilesHaveProblems, Problem
from feedplan.files import content_of, locked, reason_of, replace_if_same
from feedplan.load.collection import problems_with_journal
from feedplan.load.folder import COLLECTION, as_typed, decode_source, read_raw
from feedplan.load.journal import NOT_A_LIST
from feedplan.load.yaml_slips import UnclearValue, plain_value
from feedplan.load.yaml_tree import LOADER, read_yaml

T = TypeVar("T")

HEADER = b"""\
# What happened, one entry a line. "feedplan record" adds at the end; edit by hand as you like. An example:
# - {date: 2027-04-26, tree: Brindle, work: repotted, roots: 30 %}
"""

# No 0, 1, i, l and o: an id is read off a wet screen and typed again.
_ID_SIGNS = "abcdefghjkmnpqrstuvwxyz23456789"
_ID_LENGTH = 5
_TAP_ID_LENGTH = 9

# How often a journal that another program keeps saving is read anew, and how long a save may take [s].
_MOST_TRIES = 50
_SAVING_S = 0.05
# An editor that empties the file before it writes has written by then, on a slow disk too [s].
_FILLING_S = 1.0


def new_id(taken: Container[object] = ()) -> str:
    """A few letters and digits drawn by lot that are none of those taken."""
    while True:
        made = "".join(secrets.choice(_ID_SIGNS) for _ in range(_ID_LENGTH))
        if made not in taken:
            return made


def id_from(said: str) -> str:
    """An id made from a text: the same one whenever the text is the same."""
    number = int.from_bytes(hashlib.sha256(said.encode()).digest()[:8])
    signs = []
    for _ in range(_TAP_ID_LENGTH):
        number, sign = divmod(number, len(_ID_SIGNS))
        signs.append(_ID_SIGNS[sign])
    return "".join(signs)


def append_entry(journal: Path, entry: Mapping[str, object], collection: Path | None = None) -> str:
    """Adds one entry to the end of a journal file, which is made if it is not there; gives the entry's id.

    entry: keys and values as the file has them; without an id it gets one. collection: the collection.yaml it
    belongs to, by default the one beside it; the entry must fit it. The folder is locked, the file written anew
    beside itself, flushed and put in place: a reader sees the old file or the new one, and two writers at once lose
    nothing, nor does an editor that saves meanwhile. Raises FilesHaveProblems when the journal cannot be read or the
    entry brings a problem, and CannotWriteError when the disk refuses; the file is then as it was.
    """
    file, path = as_typed(journal), Path(os.path.realpath(journal))
    try:
        with locked(path.parent):
            before = _settled_journal(path, file)
            entry_id = str(entry.get("id") or new_id(before.ids))
            line = entry_line({**entry, "id": entry_id})
            _refuse_new_problems(before, before.with_line(line), collection or journal.parent / COLLECTION)
            _put_line(before, line)
    except (OSError, CannotWriteError) as error:
        raise CannotWriteError(
            f"{file}: cannot be written: {reason_of(error)}; nothing was recorded"
        ) from error
    return entry_id


def _put_line(journal: _Journal, line: str) -> None:
    """Write a line at the end of the journal as it stands by now: an editor may have saved it meanwhile.

    Raises FilesHaveProblems when what it saved cannot be read, CannotWriteError.
    """
    for _ in range(_MOST_TRIES):
        if replace_if_same(journal.path, journal.found, journal.with_line(line)):
            return
        journal = _settled_journal(journal.path, journal.file)
    raise CannotWriteError("another program saves it all the time")


def _settled_journal(path: Path, file: str) -> _Journal:
    """The journal as it stands, after a save that another program may be about: half a file, or one emptied for it.

    Raises FilesHaveProblems for one that stays unreadable.
    """
    while True:
        seen = content_of(path)
        if seen == b"" and _is_being_saved(path):
            time.sleep(_SAVING_S)
            continue
        try:
            return _Journal(path, file)
        except FilesHaveProblems:
            time.sleep(_SAVING_S)
            if content_of(path) == seen:
                raise


def _is_being_saved(path: Path) -> bool:
    """Whether a file was emptied so lately that its new content may be on the way: what is put there now gets lost."""
    with contextlib.suppress(OSError):
        return 0 <= time.time() - path.stat().st_mtime < _FILLING_S
    return False


class _Journal:
    """The journal as it stands. Raises FilesHaveProblems when it cannot be read as a list of lines."""

    def __init__(self, path: Path, file: str) -> None:
        self.path = path
        self.file = file
        self.found = _sound(read_raw(path, file)) if os.path.lexists(path) else None
        self.raw = HEADER if self.found is None else self.found
        self.text = _sound(decode_source(self.raw, file))
        value, spot, problems = read_yaml(self.text, file)
        if value is None and problems:
            raise FilesHaveProblems(problems)
        if value is not None and not isinstance(value, list):
            raise FilesHaveProblems([spot.problem(NOT_A_LIST)])
        self.entries = value or []
        self.indent = self._indent()

    def _indent(self) -> int:
        """How far the list's items are indented."""
        for event in yaml.parse(self.text, Loader=LOADER):
            mark = event.start_mark
            if isinstance(event, yaml.SequenceStartEvent) and mark is not None:
                if event.flow_style:
                    message = "is written in [ ]; write each entry on a line of its own that starts with -"
                    raise FilesHaveProblems([Problem(self.file, mark.line + 1, mark.column + 1, message)])
                return mark.column
        return 0

    @property
    def ids(self) -> list[object]:
        """The ids that entries have."""
        return [entry.get("id") for entry in self.entries if isinstance(entry, dict)]

    def with_line(self, line: str) -> bytes:
        """The file with one more item, in the indentation and line ends of those before it."""
        newline = "\r\n" if "\r\n" in self.text else "\n"
        gap = "" if not self.text or self.text.endswith(("\n", "\r")) else newline
        return self.raw + f"{gap}{' ' * self.indent}- {line}{newline}".encode()


def _refuse_new_problems(before: _Journal, raw: bytes, collection: Path) -> None:
    """Raises FilesHaveProblems with what the new entry brings; what was wrong before does not stop a record."""
    found = problems_with_journal(collection, _sound(decode_source(raw, before.file)), before.file)
    had = set(problems_with_journal(collection, before.text, before.file)) if found else ()
    fresh = [Problem(p.file, 0, 0, p.message) for p in found if p not in had]
    if fresh:
        raise FilesHaveProblems(fresh)


def _sound(found: T | Problem) -> T:
    """What was read. Raises FilesHaveProblems with the problem in its place."""
    if isinstance(found, Problem):
        raise FilesHaveProblems([found])
    return found


_SAFE_WITHOUT_QUOTES = re.compile(r"[^\W_](?:[\w .%/°+'()-]*[\w.%)])?")


def entry_line(entry: Mapping[str, object]) -> str:
    """An entry as one line, such as "{date: 2027-04-26, tree: Brindle, seen: leaves open}"."""
    return "{" + ", ".join(f"{key}: {_written(value)}" for key, value in entry.items()) + "}"


def _written(value: object) -> str:
    """A value as YAML, texts in quotes wherever YAML might read them as anything else."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(map(_written, value)) + "]"
    if isinstance(value, (int, Decimal, date)):
        return f"{value:f}" if isinstance(value, Decimal) else str(value)
    text = str(value)
    return text if _means_itself(text) else _in_quotes(text)


def _means_itself(text: str) -> bool:
    """Whether a text can stand without quotes inside { } and still be read as that text."""
    if not text.isprintable() or not _SAFE_WITHOUT_QUOTES.fullmatch(text):
        return False
    try:
        return plain_value(text) == text
    except UnclearValue:
        return False


def _in_quotes(text: str) -> str:
    """A text in double quotes; anything that does not print is escaped, so that it stays on its line."""
    signs = (
        f"\\{sign}" if sign in '\\"' else sign if sign.isprintable() else f"\\U{ord(sign):08x}"
        for sign in text
    )
    return f'"{"".join(signs)}"'
