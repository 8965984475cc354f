"""The text of one file, or one sentence that says why it cannot be read."""

from __future__ import annotations

import os
import re
from pathlib import Path
from typing import NamedTuple

from feedplan.errors import Problem


class Expected(NamedTuple):
    """What a file should be. what: in words; most_mb: anything larger is another kind of file [MB]."""

    what: str
    most_mb: int

    @property
    def largest_bytes(self) -> int:
        """The same in bytes."""
        return self.most_mb * 1_000_000


YAML_FILE = Expected("a YAML file", 5)
"""A collection of ten thousand trees is about 1 MB."""
TABLE_FILE = Expected("a table as text", 50)
"""The longest station records, 150 years of all elements, are about 20 MB."""

# What YAML 1.1 calls printable (specification, section 5.1), turned round.
_UNPRINTABLE = re.compile("[^\t\n\r -~\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def read_source(path: Path, file: str, expected: Expected = YAML_FILE) -> str | Problem:
    """The text of a file, line ends as they stand and without a byte order mark.

    file: its name in messages. Returns a Problem for a file that is missing, unreadable, no file at all, larger
    than expected, not UTF-8, or holds characters that no text file has.
    """
    raw = read_raw(path, file, expected)
    return raw if isinstance(raw, Problem) else decode_source(raw, file, expected)


def read_raw(path: Path, file: str, expected: Expected = YAML_FILE) -> bytes | Problem:
    """The bytes of a file, one more than expected at the most, or the Problem with it."""
    try:
        if path.is_dir():
            return Problem(file, 0, 0, f"is a folder; expected {expected.what}")
        if not path.exists():
            return Problem(file, 0, 0, "there is no such file")
        if not path.is_file():
            return Problem(file, 0, 0, f"is not an ordinary file; expected {expected.what}")
        with path.open("rb") as stream:
            return stream.read(expected.largest_bytes + 1)
    except (OSError, ValueError) as error:
        reason = (
            os.strerror(error.errno).lower() if isinstance(error, OSError) and error.errno else "bad name"
        )
        return Problem(file, 0, 0, f"cannot be read: {reason}")


def decode_source(raw: bytes, file: str, expected: Expected = YAML_FILE) -> str | Problem:
    """The text those bytes hold, or the Problem with them."""
    if len(raw) > expected.largest_bytes:
        return Problem(file, 0, 0, f"is larger than {expected.most_mb} MB; is this the right file?")
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return Problem(file, 0, 0, "is saved as UTF-16; save it as UTF-8")
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        before = raw[: error.start].decode("utf-8", "replace")
        line, column = line_and_column(before, len(before))
        byte = raw[error.start]
        return Problem(file, line, column, f"is not UTF-8 (byte 0x{byte:02x}); save the file as UTF-8")
    return check_text(text, file)


def check_text(text: str, file: str) -> str | Problem:
    """The text without its byte order mark, or the Problem with a character in it."""
    text = text.removeprefix("\ufeff")
    found = _UNPRINTABLE.search(text)
    if found is None:
        return text
    line, column = line_and_column(text, found.start())
    code = ord(found[0])
    if code == 0:
        return Problem(
            file, line, column, "holds a NUL character, so it is not a text file; is it the right one?"
        )
    return Problem(file, line, column, f"holds the invisible character U+{code:04X}; delete it")


def line_and_column(text: str, offset: int) -> tuple[int, int]:
    """Where a character stands, both counted from 1."""
    before = re.split("\r\n|\r|\n", text[:offset])
    return len(before), len(before[-1]) + 1
