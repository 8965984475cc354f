"""Whether a file of the collection has changed: by time and size first, by content where those cannot tell."""

from __future__ import annotations

import hashlib
import os
import time
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from pathlib import Path

from feedplan.load.folder import CLIMATE, COLLECTION, JOURNAL, SCHEDULES

# Times of files are coarse: after a change so recent [s], another of the same size may show the same time.
_UNSETTLED_S = 2.0
_KINDS = (".yaml", ".yml", ".csv")
_FOLDERS = ("", SCHEDULES, CLIMATE)

Mark = tuple[int, int, int, int] | None


class FileWatch:
    """All files a collection may be read from. `contents` holds what they said when last read, by name."""

    def __init__(self, collection_file: Path) -> None:
        self.folder = collection_file.parent
        self._collection = collection_file
        self._marks: dict[str, Mark] = {}
        self._others: set[Path] = set()
        self._is_settled = False
        self._digest = ""
        self.contents: dict[str, bytes] = {}

    def digest(self) -> str:
        """A digest of every file's name and content: the same for as long as no byte of them changes."""
        if self._is_settled and all(_mark(path) == mark for path, mark in self._marks.items()):
            return self._digest
        self._read_all()
        return self._digest

    def add(self, files: Iterable[Path]) -> None:
        """Watch these too: what the collection names that lies elsewhere."""
        others = {path for path in files if str(path) not in self._marks}
        if not others <= self._others:
            self._others |= others
            self._is_settled = False

    def changed_at(self, file: str) -> float | None:
        """When a file named in a problem was last written [s since 1970], None when that is not known."""
        for path in (Path(file), self.folder / Path(file).name, self.folder / SCHEDULES / Path(file).name):
            mark = _mark(path)
            if mark is not None:
                return mark[0] / 1e9
        return None

    def _read_all(self) -> None:
        files = sorted(set(self._files()))
        folders = [self.folder / name for name in _FOLDERS]
        self._marks = {str(path): _mark(path) for path in (*folders, *files)}
        # Before reading, so that what changes while it is read is looked at again.
        newest = max((max(mark[:2]) for mark in self._marks.values() if mark is not None), default=0)
        self._is_settled = newest / 1e9 < time.time() - _UNSETTLED_S
        found = {self._name(path): _content(path) for path in files}
        self.contents = {name: content for name, content in found.items() if content is not None}
        self._digest = _digest(found)

    def _files(self) -> Iterator[Path]:
        yield self._collection
        yield from self._others
        for name in _FOLDERS:
            with suppress(OSError):  # not there, or not to be read: then there is nothing to watch in it
                for path in (self.folder / name).iterdir():
                    if path.suffix in _KINDS and path.name != COLLECTION:
                        yield path

    def _name(self, path: Path) -> str:
        if path == self._collection:
            return COLLECTION
        return os.path.relpath(path, self.folder)

    @property
    def journal(self) -> Path:
        """Where the journal stands or will stand."""
        return self.folder / JOURNAL


def _mark(path: str | Path) -> Mark:
    """What tells a changed file from an unchanged one without reading it; None when it is not there."""
    try:
        found = os.stat(path)  # noqa: PTH116 - twice as fast as Path.stat, some twenty times a request
    except OSError:
        return None
    return (found.st_mtime_ns, found.st_ctime_ns, found.st_size, found.st_ino)


def _content(path: Path) -> bytes | None:
    """What a file says, None when it is not there or cannot be read."""
    try:
        return path.read_bytes()
    except OSError:
        return None


def _digest(found: Mapping[str, bytes | None]) -> str:
    summary = hashlib.sha256()
    for name, content in found.items():
        size = -1 if content is None else len(content)
        summary.update(f"{name}\n{size}\n".encode("utf-8", "surrogateescape"))
        summary.update(content or b"")
    return summary.hexdigest()
