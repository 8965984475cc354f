"""Files written whole or not at all: a torn calendar is never seen, and a failed write keeps the old one."""

from __future__ import annotations

import contextlib
import errno
import os
import secrets
import stat
from collections.abc import Sequence
from pathlib import Path

from feedplan.errors import CannotWriteError

_NEW_FILE_MODE = 0o666  # the umask takes its part, as for any program


def write_whole(path: Path, data: bytes) -> None:
    """Put `data` in the file at `path`, whole or not at all.

    What stood there before stays until the new bytes are on the disk, and stays for good when writing fails.
    An existing file keeps its mode; a symbolic link keeps pointing. Raises CannotWriteError.
    """
    write_together([(path, data)])


def write_together(files: Sequence[tuple[Path, bytes]]) -> None:
    """Put several files in place in the order given, none of them before all are on the disk.

    A full disk or a missing folder therefore changes nothing. Only a crash between two renames can leave the
    first files new and the last ones old, so the order matters to the caller. Raises CannotWriteError.
    """
    staged: list[tuple[Path, Path]] = []
    path = Path()
    try:
        for path, data in files:
            staged.append(_stage(path.resolve(), data))
        for temporary, target in staged:
            temporary.replace(target)
        for folder in dict.fromkeys(target.parent for _, target in staged):
            _sync_folder(folder)
    except OSError as error:
        raise CannotWriteError(_sentence(path, error)) from error
    finally:
        for temporary, _ in staged:
            temporary.unlink(missing_ok=True)


def _stage(target: Path, data: bytes) -> tuple[Path, Path]:
    """Write `data` beside `target` and force it to the disk; the pair (temporary, target)."""
    if target.is_dir():
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
    temporary = target.with_name(f".feedplan-{secrets.token_hex(8)}.tmp")
    descriptor = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, _NEW_FILE_MODE)
    try:
        with os.fdopen(descriptor, "wb") as handle:
            if target.exists():
                os.fchmod(handle.fileno(), stat.S_IMODE(target.stat().st_mode))
            handle.write(data)
            handle.flush()
            os.fsync(handle.fileno())
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
    return temporary, target


def _sync_folder(folder: Path) -> None:
    """Force the renames in a folder to the disk, where the file system can."""
    with contextlib.suppress(OSError):  # some network file systems cannot; the files themselves are safe
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


def _sentence(path: Path, error: OSError) -> str:
    """What to tell the grower: which file, what is wrong, what to do."""
    folder = path.parent
    match error.errno:
        case errno.ENOENT:
            remedy = f"there is no folder {folder}; make it first: mkdir -p {folder}"
        case errno.ENOTDIR:
            remedy = f"{folder} is a file, not a folder; name a file in a folder"
        case errno.EISDIR:
            remedy = f"it is a folder; name a file in it, such as {path / 'trees.ics'}"
        case errno.EACCES | errno.EPERM | errno.EROFS:
            remedy = f"no permission to write in the folder {folder}; choose another or change its owner"
        case errno.ENOSPC | errno.EDQUOT | errno.EFBIG:
            remedy = "the disk is full; make room and run this again; what was there is unchanged"
        case errno.ENAMETOOLONG:
            remedy = "the name is too long; choose a shorter one"
        case _:
            remedy = f"{error.strerror or error}; what was there is unchanged"
    return f"cannot write {path}: {remedy}"
