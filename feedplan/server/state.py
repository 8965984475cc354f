"""What the server and `publish` remember from one run to the next, in a folder only its owner can open."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

from feedplan.errors import CannotWriteError
from feedplan.files import content_of, reason_of, write_whole
from feedplan.words.language import say

FOLDER = ".feedplan"
"""The usual state folder, inside the folder of the collection."""

# Keeps the secrets in it out of a repository the collection may lie in.
_GITIGNORE = b"*\n"


class StateFolder:
    """A folder of small files, each written whole. Reading never fails; what cannot be read is not there."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def make(self) -> None:
        """Make the folder if it is not there; one on a read-only disk is used as it is. Raises CannotWriteError."""
        try:
            self.path.mkdir(mode=0o700, exist_ok=True)
        except OSError as error:
            raise CannotWriteError(
                say(
                    "cannot make the folder {folder}: {reason}; name another place for it with --state DIR",
                    folder=self.path,
                    reason=reason_of(error),
                )
            ) from error
        if not (self.path / ".gitignore").exists():
            with suppress(CannotWriteError):
                self.write(".gitignore", _GITIGNORE)

    def read(self, name: str) -> bytes | None:
        """What a file of the folder holds; None when it is not there or cannot be read."""
        return content_of(self.path / name) or None

    def mark(self, name: str) -> tuple[int, int] | None:
        """What changes whenever a file of the folder is written anew; None when it is not there."""
        try:
            found = (self.path / name).stat()
        except OSError:
            return None
        return found.st_mtime_ns, found.st_ino

    def write(self, name: str, data: bytes) -> None:
        """Put `data` in a file of the folder that nobody else can read. Raises CannotWriteError."""
        path = self.path / name
        try:
            path.touch(mode=0o600)
        except OSError as error:
            raise CannotWriteError(
                say(
                    "cannot write {file}: {reason}; name another place for it with --state DIR",
                    file=path,
                    reason=reason_of(error),
                )
            ) from error
        write_whole(path, data)
