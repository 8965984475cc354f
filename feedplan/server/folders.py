"""Folders put in place whole: built beside the old one, then exchanged with it in one step where the system can."""

from __future__ import annotations

import contextlib
import ctypes
import os
import secrets
import shutil
import stat
from collections.abc import Mapping
from pathlib import Path

from feedplan.errors import CannotWriteError

_AT_FDCWD = -100
_RENAME_EXCHANGE = 2  # linux/fs.h


def write_folder(target: Path, files: Mapping[str, bytes], keep: Mapping[str, Path] | None = None) -> None:
    """Make `target` a folder of just these files, at once; a failure leaves the old one as it was.

    keep: files that stay as they are, by name, with where they stand now; they keep their time of change.
    Raises CannotWriteError.
    """
    new = target.with_name(f".{target.name}-{secrets.token_hex(6)}.new")
    try:
        new.mkdir(parents=False)
        for name, data in files.items():
            _write(new / name, data)
        for name, path in (keep or {}).items():
            _carry_over(path, new / name)
        if target.exists():
            new.chmod(stat.S_IMODE(target.stat().st_mode))
            _exchange(new, target)
        else:
            new.rename(target)
        _sync(target.parent)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise CannotWriteError(f"cannot write {target}: {reason}; what was there is unchanged") from error
    finally:
        shutil.rmtree(new, ignore_errors=True)


def clear_leftovers(target: Path) -> None:
    """Remove what a run that was killed left beside `target`, and put the old folder back if it was caught between."""
    for left in target.parent.glob(f".{target.name}-*.old"):
        if target.exists():
            shutil.rmtree(left, ignore_errors=True)
        else:
            left.rename(target)
    for left in target.parent.glob(f".{target.name}-*.new"):
        shutil.rmtree(left, ignore_errors=True)


def _write(path: Path, data: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("xb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())


def _carry_over(old: Path, new: Path) -> None:
    """The same file under another folder; a copy where the file system has no links."""
    new.parent.mkdir(parents=True, exist_ok=True)
    try:
        os.link(old, new)
    except OSError:
        shutil.copy2(old, new)


def _exchange(new: Path, target: Path) -> None:
    """Swap two folders: in one step on Linux, else in two with the old one kept beside until both are done."""
    if _exchange_at_once(new, target):
        return
    old = target.with_name(f".{target.name}-{secrets.token_hex(6)}.old")
    target.rename(old)
    try:
        new.rename(target)
    except OSError:
        old.rename(target)
        raise
    shutil.rmtree(old, ignore_errors=True)


def _exchange_at_once(new: Path, target: Path) -> bool:
    """Whether the system exchanged the two names in one step."""
    try:
        renameat2 = ctypes.CDLL(None, use_errno=True).renameat2
    except (AttributeError, OSError, TypeError):
        return False
    done: int = renameat2(_AT_FDCWD, os.fsencode(new), _AT_FDCWD, os.fsencode(target), _RENAME_EXCHANGE)
    return done == 0


def _sync(folder: Path) -> None:
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
