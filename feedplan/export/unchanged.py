"""Whether a calendar file would come out as it stands: its ledger remembers a digest of all that went into it.

That is every file looked for, there or not, the names beside them, what was asked, the day, and feedplan itself with
its libraries. Any doubt means no: then the calendar is made in full, which is never wrong, only slower.
"""

from __future__ import annotations

import json
import os
import sys
import zoneinfo
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from pathlib import Path

import click

_KEY = b',"made_from":'  # the last key of a ledger, by the alphabet; inside a JSON text its quotes would be escaped
_END = b"}\n"
_READ_BY_NAME = (".yaml", ".csv", ".dly")
_CLOCK_STEP_NS = 20_000_000  # file systems date changes by a clock that lags by up to a tick, 10 ms


@dataclass(frozen=True, slots=True)
class Inputs:
    """All that went into a calendar. digest: of it all; files: those looked for."""

    digest: str
    time_zone: str
    files: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SpanShown:
    """What a calendar file shows: how many entries, from its first day to its last."""

    entries: int
    first: date
    last: date


def ledger_beside(path: Path) -> Path:
    """Where the ledger of a calendar file lies: "trees.ics.ledger.json" beside "trees.ics"."""
    return path.with_name(f"{path.name}.ledger.json")


def inputs_of(files: Iterable[Path], time_zone: str, asked: str, begun_ns: int) -> Inputs | None:
    """What a calendar is being made from; None when a file cannot be read or changed since the work began.

    asked: every option, and the day. begun_ns: when the first file was about to be read [ns since 1970].
    """
    names = tuple(map(str, files))
    try:
        if _newest_ns(names) >= begun_ns - _CLOCK_STEP_NS:
            return None
        return Inputs(_digest(names, time_zone, asked), time_zone, names)
    except OSError:
        return None


def with_memory(ledger: bytes, calendar: bytes, inputs: Inputs, standing: SpanShown) -> bytes:
    """The bytes of a ledger that also remembers what its calendar was made from."""
    head = ledger.removesuffix(_END)
    facts = {
        "digest": inputs.digest,
        "time_zone": inputs.time_zone,
        "files": inputs.files,
        "entries": standing.entries,
        "first": standing.first.isoformat(),
        "last": standing.last.isoformat(),
    }
    told = json.dumps(facts)
    memory = json.dumps({"seal": _seal(calendar, head, told), "facts": told})
    return head + _KEY + memory.encode() + _END


def standing_calendar(path: Path, asked: Callable[[str], str]) -> SpanShown | None:
    """What the calendar at `path` shows, if making it again would change nothing; None when that is not sure.

    asked: every option, and the day it is now in the time zone given to it.
    """
    try:
        if not (path.is_file() and ledger_beside(path).is_file()):
            return None
        head, _, tail = ledger_beside(path).read_bytes().rpartition(_KEY)
        memory = json.loads(tail.removesuffix(_END))
        if memory["seal"] != _seal(path.read_bytes(), head, memory["facts"]):
            return None
        facts = json.loads(memory["facts"])
        zone = facts["time_zone"]
        if facts["digest"] != _digest(facts["files"], zone, asked(zone)):
            return None
        return SpanShown(
            facts["entries"], date.fromisoformat(facts["first"]), date.fromisoformat(facts["last"])
        )
    except (OSError, ValueError, TypeError, KeyError, RecursionError):
        return None


def _seal(calendar: bytes, head: bytes, facts: str) -> str:
    """One digest of a calendar file, the rest of its ledger and what is remembered."""
    parts = (calendar, head, facts.encode())
    return sha256(b"".join(sha256(part).digest() for part in parts)).hexdigest()


def _digest(files: Iterable[str], time_zone: str, asked: str) -> str:
    """One digest of every file, the names beside them, what was asked, and the program. Raises OSError."""
    names = list(files)
    whole = sha256(repr((asked, Path.cwd(), names, _program(time_zone))).encode())
    for name in names:
        content = Path(name).read_bytes() if os.path.lexists(name) else b"absent"
        whole.update(sha256(content).digest() + str(len(content)).encode())
    for folder in _folders(names):
        whole.update(repr((folder, _names_in(folder))).encode())
    return whole.hexdigest()


def _folders(names: Iterable[str]) -> list[str]:
    return sorted({str(Path(name).parent) for name in names})


def _names_in(folder: str) -> list[str]:
    """The names in a folder that loading may look for; none without the folder."""
    if not os.path.lexists(folder):
        return []
    return sorted(entry.name for entry in os.scandir(folder) if entry.name.endswith(_READ_BY_NAME))


def _newest_ns(names: Iterable[str]) -> int:
    """When the last change was made to a file, or to the names in its folder [ns since 1970]."""
    there = [name for name in (*names, *_folders(names)) if os.path.lexists(name)]
    return max((os.stat(name).st_ctime_ns for name in there), default=0)  # noqa: PTH116 - as quick as can be


def _program(time_zone: str) -> str:
    """What tells one version of feedplan, its schedules, its libraries and the clock's rules from another."""
    package = Path(__file__).parents[1]
    ours = [*_stamps(package), *_stamps(package.parent / "schedules")]
    libraries = Path(click.__file__).parents[1].stat().st_mtime_ns  # changes as one is installed or removed
    zones = [Path(folder, time_zone) for folder in zoneinfo.TZPATH]
    rules = [(stat.st_size, stat.st_mtime_ns) for stat in (zone.stat() for zone in zones if zone.is_file())]
    return repr((sys.version, ours, libraries, rules))


def _stamps(folder: Path) -> Iterator[tuple[str, int, int]]:
    """Name, size and time of every module and schedule in a folder and those below it."""
    if not folder.is_dir():
        return
    for entry in sorted(os.scandir(folder), key=lambda entry: entry.name):
        if entry.is_dir() and entry.name != "__pycache__":
            yield from _stamps(Path(entry.path))
        elif entry.name.endswith((".py", ".yaml", ".csv")):
            stat = entry.stat()
            yield entry.path, stat.st_size, stat.st_mtime_ns
