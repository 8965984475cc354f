"""Files and folders put in place whole or not at all: nothing torn is ever seen, and a failed write keeps the old."""

from __future__ import annotations

import contextlib
import ctypes
import errno
import fcntl
import os
import secrets
import shutil
import stat
import time
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from feedplan.errors import CannotWriteError

_NEW_FILE_MODE = 0o666  # the umask takes its part, as for any program
_AT_FDCWD = -100
_RENAME_EXCHANGE = 2  # linux/fs.h
# A write takes moments; a file of its kind this old [s] was left by a process that was killed.
_LEFT_BEHIND_S = 600
_LEAST_ROOM = 64 * 1024  # bytes of a disk that count as full


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


def replace_if_same(path: Path, before: bytes | None, data: bytes) -> bool:
    """Put `data` in place of a file that holds `before`; False, and nothing changed, when it holds something else.

    before: None for a file that is not there. Another program that saves at the same moment loses nothing: what was
    there is looked at once more after the two were exchanged, and put back if it is not `before`. Where the system
    cannot exchange two files in one step, a moment between looking and renaming remains. Raises CannotWriteError.
    """
    try:
        temporary, target = _stage(path.resolve(), data)
        try:
            is_done = content_of(target) == before and _took_the_place(temporary, target, before, data)
            if is_done:
                _sync_folder(target.parent)
            return is_done
        finally:
            temporary.unlink(missing_ok=True)
    except OSError as error:
        raise CannotWriteError(_sentence(path, error)) from error


def _took_the_place(new: Path, target: Path, before: bytes | None, data: bytes) -> bool:
    if before is None:
        try:
            os.link(new, target)
        except FileExistsError:
            return False
        except OSError:  # a file system without links
            new.replace(target)
        return True
    if not _exchange_at_once(new, target):
        new.replace(target)
        return True
    if content_of(new) == before:
        return True
    _exchange_at_once(new, target)
    if content_of(new) != data:  # saved once more meanwhile: the newest stays
        _exchange_at_once(new, target)
    return False


def content_of(path: Path) -> bytes | None:
    """What a file holds, None when it is not there or cannot be read."""
    try:
        return path.read_bytes()
    except OSError:
        return None


def append(path: Path, data: bytes, header: bytes) -> None:
    """Put `data` at the end of a file of lines, in one write that is on the disk when this returns.

    header: what a new file begins with. A last line that was cut off is ended first. Where only a part finds room, that
    is taken away again. Raises CannotWriteError.
    """
    try:
        with path.open("ab", buffering=0) as stream:
            before = stream.tell()
            if before == 0:
                data = header + data
            elif not path.read_bytes().endswith(b"\n"):
                data = b"\n" + data
            try:
                if stream.write(data) < len(data):
                    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
                os.fsync(stream.fileno())
            except OSError:
                stream.truncate(before)
                raise
        _sync_folder(path.parent)
    except OSError as error:
        raise CannotWriteError(_sentence(path, error)) from error


def _stage(target: Path, data: bytes) -> tuple[Path, Path]:
    """Write `data` beside `target` and force it to the disk; the pair (temporary, target)."""
    if target.is_dir():
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
    # A short part of the name says whose leftover it is, and cannot make it longer than a system allows.
    beginning = f".{target.name[:40]}-"
    _clear_temporary(target.parent, beginning)
    temporary = target.with_name(f"{beginning}{secrets.token_hex(8)}.tmp")
    mode = stat.S_IMODE(target.stat().st_mode) if target.exists() else None
    try:
        _write_new(temporary, data, mode)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
    return temporary, target


def _clear_temporary(folder: Path, beginning: str) -> None:
    """Remove what killed processes left of writing a file; what one may still be writing stays."""
    with contextlib.suppress(OSError):
        for name in os.listdir(folder):  # noqa: PTH208 - names are enough, and this is asked at every write
            if name.startswith(beginning) and name.endswith(".tmp"):
                left = folder / name
                if abs(time.time() - left.stat().st_mtime) > _LEFT_BEHIND_S:
                    left.unlink()


def why_not_writable(folder: Path) -> str:
    """Why nothing can be written in a folder, in small letters, "" when something can; nothing is tried."""
    try:
        disk = os.statvfs(folder)
    except OSError as error:
        return reason_of(error)
    if disk.f_flag & os.ST_RDONLY:
        return os.strerror(errno.EROFS).lower()
    if not os.access(folder, os.W_OK):
        return os.strerror(errno.EACCES).lower()
    has_room = disk.f_bavail * disk.f_frsize >= _LEAST_ROOM and (disk.f_favail > 0 or disk.f_files == 0)
    return "" if has_room else os.strerror(errno.ENOSPC).lower()


def _write_new(path: Path, data: bytes, mode: int | None = None) -> None:
    """A new file with `data`, forced to the disk. mode: its permissions; as usual for a new file when None."""
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, _NEW_FILE_MODE), "wb") as stream:
        if mode is not None:
            os.fchmod(stream.fileno(), mode)
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())


def _sync_folder(folder: Path) -> None:
    """Force the renames in a folder to the disk, where the file system can."""
    with contextlib.suppress(OSError), _opened(folder) as handle:
        os.fsync(handle)  # some network file systems cannot; the files themselves are safe


@contextlib.contextmanager
def _opened(folder: Path) -> Iterator[int]:
    handle = os.open(folder, os.O_RDONLY)
    try:
        yield handle
    finally:
        os.close(handle)


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


def reason_of(error: Exception) -> str:
    """Why the system refused, in small letters: "no space left on device"."""
    cause = error.__cause__ or error
    number = cause.errno if isinstance(cause, OSError) else None
    return os.strerror(number).lower() if number else str(cause).lower()


@contextlib.contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Holds the lock of a folder, waiting for whoever has it. Raises OSError.

    One on a file itself would be lost when the file is replaced.
    """
    with _opened(folder) as handle:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield


def write_folder(target: Path, files: Mapping[str, bytes], keep: Mapping[str, Path] | None = None) -> None:
    """Make `target` a folder of just these files, at once; a failure leaves the old one as it was.

    The new one is built beside it, then the two are exchanged, in one step where the system can.
    keep: files that stay as they are, by name, with where they stand now; they keep their time of change.
    Raises CannotWriteError.
    """
    new = target.with_name(f".{target.name}-{secrets.token_hex(6)}.new")
    try:
        new.mkdir(parents=False)
        for name, data in files.items():
            (new / name).parent.mkdir(parents=True, exist_ok=True)
            _write_new(new / name, data)
        for name, path in (keep or {}).items():
            _carry_over(path, new / name)
        if target.exists():
            new.chmod(stat.S_IMODE(target.stat().st_mode))
            _exchange(new, target)
        else:
            new.rename(target)
        _sync_folder(target.parent)
    except OSError as error:
        raise CannotWriteError(
            f"cannot write {target}: {reason_of(error)}; what was there is unchanged"
        ) from error
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
