"""Where the files of a collection come from: a folder on disk, or texts in memory for tests."""

from __future__ import annotations

import os
from collections.abc import Mapping
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import Any, NamedTuple, Protocol

from feedplan.errors import Problem
from feedplan.load.text.source_text import TABLE_FILE, check_text, read_source
from feedplan.load.text.spots import Spot
from feedplan.load.text.yaml_tree import read_yaml

COLLECTION = "collection.yaml"
JOURNAL = "journal.yaml"
SCHEDULES = "schedules"
CLIMATE = "climate"
WORDS = "stages"
RULES = "holds"


class Page(NamedTuple):
    """One file read: its value, the place of every part, and all that is wrong with it as YAML."""

    value: Any
    spot: Spot
    problems: tuple[Problem, ...]


class Folder(Protocol):
    """A place to read the grower's files from, by name."""

    def page(self, name: str) -> Page | None:
        """The file of that name, None when there is none."""

    def names(self) -> list[str]:
        """The names of the schedules in it, without .yaml."""

    def plain(self, name: str) -> tuple[str, str | Problem] | None:
        """A file that is not YAML: its name in messages, and its text or what is wrong with it; None without it."""

    def memory(self, name: str) -> str | None:
        """What feedplan itself wrote beside the grower's files; None where there is none."""

    def station_records(self) -> list[str]:
        """The names of the weather station records (.dly) in it, in order."""

    @property
    def files(self) -> tuple[Path, ...]:
        """Every file looked for so far."""


def page_of(text: str | Problem, file: str) -> Page:
    """The page a text makes, or one with nothing but the problem with it."""
    if isinstance(text, Problem):
        return Page(None, Spot.start_of(file), (text,))
    value, spot, problems = read_yaml(text, file)
    return Page(value, spot, tuple(problems))


_NO_COLLECTION = (
    "there is no such file; name the folder with -c, or make a new collection with: feedplan start"
)


class DiskFolder:
    """A folder on disk; names in messages are as the grower would type them from where they stand."""

    def __init__(self, path: str | Path) -> None:
        given = Path(path)
        is_file = given.suffix in (".yaml", ".yml") and not given.is_dir()
        self.path = given.parent if is_file else given
        self.collection = given.name if is_file else COLLECTION
        self._looked: dict[Path, None] = {}

    def page(self, name: str) -> Page | None:
        """The file of that name, None when there is none."""
        path = self.path / (self.collection if name == COLLECTION else name)
        self._looked[path] = None
        if name != COLLECTION and not os.path.lexists(path):
            return None
        file = as_typed(path)
        if name == COLLECTION and not os.path.lexists(path):
            return page_of(Problem(file, 0, 0, _NO_COLLECTION), file)
        return page_of(read_source(path, file), file)

    def names(self) -> list[str]:
        """The names of the schedules in it, without .yaml."""
        return sorted(path.stem for path in (self.path / SCHEDULES).glob("*.yaml"))

    def plain(self, name: str) -> tuple[str, str | Problem] | None:
        """A file that is not YAML: its name in messages, and its text or what is wrong with it; None without it."""
        path = self.path / name
        self._looked[path] = None
        if not os.path.lexists(path):
            return None
        file = as_typed(path)
        return file, read_source(path, file, TABLE_FILE)

    def memory(self, name: str) -> str | None:
        """What feedplan itself wrote beside the grower's files; None where there is none, or it cannot be read."""
        try:
            return (self.path / name).read_text(encoding="utf-8", errors="replace")
        except OSError:
            return None

    def station_records(self) -> list[str]:
        """The names of the weather station records (.dly) in it, in order."""
        return sorted(f"{CLIMATE}/{path.name}" for path in (self.path / CLIMATE).glob("*.dly"))

    @property
    def files(self) -> tuple[Path, ...]:
        """Every file looked for so far."""
        return tuple(self._looked)


def as_typed(path: Path) -> str:
    """A path as one would type it: relative to the working folder when it lies below that."""
    try:
        return str(path.absolute().relative_to(Path.cwd()))
    except (ValueError, OSError):
        return str(path)


class TextFolder:
    """Texts in memory under the names their files would have."""

    def __init__(self, texts: Mapping[str, str]) -> None:
        self._texts = texts

    def page(self, name: str) -> Page | None:
        """The file of that name, None when there is none."""
        text = self._texts.get(name)
        return None if text is None else page_of(check_text(text, name), name)

    def names(self) -> list[str]:
        """The names of the schedules in it, without .yaml."""
        return sorted(Path(name).stem for name in self._texts if name.startswith(f"{SCHEDULES}/"))

    def plain(self, name: str) -> tuple[str, str | Problem] | None:
        """A file that is not YAML: its name in messages, and its text or what is wrong with it; None without it."""
        text = self._texts.get(name)
        return None if text is None else (name, check_text(text, name))

    def memory(self, name: str) -> str | None:
        """What feedplan itself wrote beside the grower's files; None where there is none."""
        return self._texts.get(name)

    def station_records(self) -> list[str]:
        """The names of the weather station records (.dly) in it, in order."""
        return sorted(
            name for name in self._texts if name.startswith(f"{CLIMATE}/") and name.endswith(".dly")
        )

    @property
    def files(self) -> tuple[Path, ...]:
        """Every file looked for so far."""
        return ()


SHIPPED = "feedplan/schedules"
"""How the folder of shipped schedules is called in messages, wherever it is installed."""


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


def shipped_names() -> list[str]:
    """The names of the shipped schedules."""
    return sorted(p.stem for p in shipped_folder().glob("*.yaml") if p.stem not in (RULES, WORDS))
