"""Where the files of a collection come from, and the text of each or one sentence that says why it cannot be read.

A collection's own file may be laid over the shipped one, and changes over a schedule, mapping over mapping.
"""

from __future__ import annotations

import csv
import os
import re
from abc import ABC, abstractmethod
from collections.abc import Mapping
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import Any, NamedTuple

from pydantic import TypeAdapter

from feedplan.errors import Problem
from feedplan.load.problems import Findings, Passage, Spot, shown
from feedplan.load.shape import check_shape
from feedplan.load.yaml_tree import read_yaml
from feedplan.model.source import SHIPPED
from feedplan.model.species import TreeKinds, kinds_of_rows

COLLECTION = "collection.yaml"
JOURNAL = "journal.yaml"
SCHEDULES = "schedules"
CLIMATE = "climate"
WORDS = "stages"
RULES = "holds"
GENERA = "genera"
KINDS = "species"
NO_SCHEDULES = (RULES, WORDS, GENERA)
"""Files beside the schedules that are none."""
NONE = "none"
"""Written over a feeding period or a time for work, or over an optional key of one, it takes that away."""


class Page(NamedTuple):
    """One file read: its value, the place of every part, and all that is wrong with it as YAML."""

    value: Any
    spot: Spot
    problems: tuple[Problem, ...]


def page_of(text: str | Problem, file: str) -> Page:
    """The page a text makes, or one with nothing but the problem with it."""
    if isinstance(text, Problem):
        return Page(None, Spot.start_of(file), (text,))
    value, spot, problems = read_yaml(text, file)
    return Page(value, spot, tuple(problems))


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


class Folder(ABC):
    """A place to read the grower's files from, by name."""

    @abstractmethod
    def text(self, name: str, expected: Expected = YAML_FILE) -> tuple[str, str | Problem] | None:
        """A file: its name in messages, and its text or what is wrong with it; None when there is none."""

    @abstractmethod
    def files_in(self, folder: str, suffix: str) -> list[str]:
        """The names of the files with an ending in a folder of it."""

    @abstractmethod
    def is_file(self, name: str) -> bool:
        """Whether there is a file, and no folder, of that name."""

    @abstractmethod
    def memory(self, name: str) -> str | None:
        """What feedplan itself wrote beside the grower's files; None where there is none, or it cannot be read."""

    def page(self, name: str) -> Page | None:
        """A YAML file; None when there is none of that name."""
        found = self.text(name)
        return None if found is None else page_of(found[1], found[0])

    def names(self) -> list[str]:
        """The names of the schedules in it, without .yaml."""
        return sorted(name.removesuffix(".yaml") for name in self.files_in(SCHEDULES, ".yaml"))

    def station_records(self) -> list[str]:
        """The weather station records (.dly) in it, in order."""
        return sorted(f"{CLIMATE}/{name}" for name in self.files_in(CLIMATE, ".dly"))

    @property
    def files(self) -> tuple[Path, ...]:
        """Every file looked for so far."""
        return ()


_NO_COLLECTION = (
    "there is no such file; name the folder with -c, or make a new collection with: feedplan start"
)


class DiskFolder(Folder):
    """A folder on disk; names in messages are as the grower would type them from where they stand."""

    def __init__(self, path: str | Path) -> None:
        given = Path(path)
        is_file = given.suffix in (".yaml", ".yml") and not given.is_dir()
        self.path = given.parent if is_file else given
        self.collection = given.name if is_file else COLLECTION
        self._looked: dict[Path, None] = {}

    def text(self, name: str, expected: Expected = YAML_FILE) -> tuple[str, str | Problem] | None:
        """A file: its name in messages, and its text or what is wrong with it; None when there is none."""
        path = self.path / (self.collection if name == COLLECTION else name)
        self._looked[path] = None
        file = as_typed(path)
        if os.path.lexists(path):
            return file, read_source(path, file, expected)
        return (file, Problem(file, 0, 0, _NO_COLLECTION)) if name == COLLECTION else None

    def memory(self, name: str) -> str | None:
        """What feedplan itself wrote beside the grower's files."""
        return text_of_memory(self.path / name)

    def files_in(self, folder: str, suffix: str) -> list[str]:
        """The names of the files with an ending in a folder of it."""
        return [path.name for path in (self.path / folder).glob(f"*{suffix}")]

    def is_file(self, name: str) -> bool:
        """Whether there is a file, and no folder, of that name."""
        return (self.path / name).is_file()

    @property
    def files(self) -> tuple[Path, ...]:
        """Every file looked for so far."""
        return tuple(self._looked)


def text_of_memory(path: Path) -> str | None:
    """What a file of feedplan's own holds, a byte that was lost as U+FFFD; None where there is no ordinary file."""
    try:
        return path.read_text(encoding="utf-8", errors="replace") if path.is_file() else None
    except OSError:
        return None


def as_typed(path: Path) -> str:
    """A path as one would type it: relative to the working folder when it lies below that."""
    try:
        return str(path.absolute().relative_to(Path.cwd()))
    except (ValueError, OSError):
        return str(path)


class TextFolder(Folder):
    """Texts in memory under the names their files would have."""

    def __init__(self, texts: Mapping[str, str]) -> None:
        self._texts = texts

    def text(self, name: str, expected: Expected = YAML_FILE) -> tuple[str, str | Problem] | None:
        """A text under its own name, or what is wrong with it; None when there is none."""
        found = self._texts.get(name)
        return None if found is None else (name, check_text(found, name))

    def memory(self, name: str) -> str | None:
        """The text of that name; None when there is none."""
        return self._texts.get(name)

    def files_in(self, folder: str, suffix: str) -> list[str]:
        """The names of the texts with an ending under a folder's name."""
        names = (name.removeprefix(f"{folder}/") for name in self._texts if name.startswith(f"{folder}/"))
        return [name for name in names if name.endswith(suffix)]

    def is_file(self, name: str) -> bool:
        """Whether there is a text, and no folder, of that name."""
        return name in self._texts


@lru_cache(maxsize=1)
def shipped_folder() -> Path:
    """Where the shipped schedules lie: inside the installed package, or beside it in a checkout."""
    inside = Path(str(resources.files("feedplan"))) / SCHEDULES
    return inside if inside.is_dir() else inside.parent.parent / SCHEDULES


@lru_cache(maxsize=64)
def shipped_page(name: str) -> Page | None:
    """A shipped file, read once in the life of the program; None when there is none of that name."""
    path = shipped_folder() / f"{name}.yaml"
    file = f"{SHIPPED}/{name}.yaml"
    return page_of(read_source(path, file), file) if path.is_file() else None


@lru_cache(maxsize=1)
def shipped_kinds() -> TreeKinds:
    """The kinds of trees that ship, read once in the life of the program."""
    path = shipped_folder() / f"{KINDS}.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    return kinds_of_rows(csv.DictReader(line for line in lines if not line.startswith("#")))


def shipped_names() -> list[str]:
    """The names of the shipped schedules."""
    return sorted(p.stem for p in shipped_folder().glob("*.yaml") if p.stem not in NO_SCHEDULES)


def schedule_with_cause(cause: str) -> str | None:
    """The shipped schedule with a hold of its own for a word of work or trouble; None without one."""
    for name in shipped_names():
        page = shipped_page(name)
        holds = page.value.get("holds") if page is not None and isinstance(page.value, dict) else None
        parts = holds.values() if isinstance(holds, dict) else ()
        if any(isinstance(part, dict) and cause in (part.get("work"), part.get("trouble")) for part in parts):
            return name
    return None


WAS_NOT_SET = "(was not set)"
Changed = dict[str, str]
"""What was changed: each path of keys with the value as written and what it replaced."""


class Written(NamedTuple):
    """A mapping as written, and the place of every part of it."""

    value: dict[str, Any]
    spot: Spot

    def inner(self, key: str) -> Written:
        """The mapping under a key."""
        return Written(self.value[key], self.spot.child(key) or self.spot)


def lay_over(
    base: Written, over: Written, changed: Changed | None = None, path: tuple[str, ...] = ()
) -> Written:
    """The base with every key of `over` in place of its own; mappings are merged, anything else is replaced.

    changed: filled with what is changed. path: the keys that lead here.
    """
    value, keys = dict(base.value), dict(base.spot.keys or {})
    inner = dict(base.spot.inner) if isinstance(base.spot.inner, dict) else {}
    for key, new in over.value.items():
        here, was = (*path, key), base.value.get(key)
        if isinstance(new, dict) and isinstance(was, dict):
            value[key], inner[key] = lay_over(base.inner(key), over.inner(key), changed, here)
            continue
        if changed is not None:
            changed[" / ".join(here)] = (
                f"{shown(new)} {WAS_NOT_SET if was is None else f'(was {shown(was)})'}"
            )
        if new == NONE and was is not None and len(here) >= 2 and here[0] in ("feeding", "work"):
            for part in (value, keys, inner):
                part.pop(key, None)
            continue
        value[key], keys[key], inner[key] = new, over.spot.key(key), over.spot.child(key) or over.spot
    return Written(value, Spot(base.spot.file, base.spot.mark, keys, inner))


def read_layered(
    adapter: TypeAdapter[Any], folder: Folder, name: str, findings: Findings
) -> tuple[Any, Written] | None:
    """A shipped file with the collection's own of that name laid over it: its model, and all of it as written.

    When the own file is unsound, its problems are noted and the shipped one is used alone.
    """
    page, own = shipped_page(name), folder.page(f"{SCHEDULES}/{name}.yaml")
    if page is None or not isinstance(page.value, dict):
        findings.at(Spot.start_of(f"{SHIPPED}/{name}.yaml"), "is missing; install feedplan again")
        return None
    layers = [Written(page.value, page.spot)]
    if own is not None:
        findings.add_misread(own.problems)
        if isinstance(own.value, dict):
            layers.insert(0, lay_over(layers[0], Written(own.value, own.spot)))
        elif own.value is not None:
            findings.at(own.spot, "is not a mapping; write keys with values")
    for whole in layers:
        model = check_shape(adapter, whole.value, Passage(whole.spot, findings))
        if model is not None:
            return model, whole
    return None
