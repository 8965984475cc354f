"""The plan as it stands now: read again when a file or the day changes, the last good one kept when a file breaks."""

from __future__ import annotations

import hashlib
import os
import time as clock
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from pathlib import Path
from threading import Lock
from zoneinfo import ZoneInfo

from feedplan.engine.season import Season
from feedplan.errors import CannotWriteError, FeedplanError, FilesHaveProblems, Problem
from feedplan.files import clear_leftovers, content_of, why_not_writable, write_folder
from feedplan.load.collection import Loaded, load_collection
from feedplan.load.folder import CLIMATE, COLLECTION, JOURNAL, SCHEDULES
from feedplan.load.history import HISTORY, last_told
from feedplan.memory import plan
from feedplan.server.state import StateFolder
from feedplan.words.language import say

LAST_GOOD = "last-good"
_NEWEST_DAY = "newest-day"
# A file that is being saved right now is read again this often before it is taken as it is.
_MOST_READINGS = 4
# Times of files are coarse: after a change so recent [s], another of the same size may show the same time.
_UNSETTLED_S = 2.0
# A clock that has gone back is believed once it has run on for this long [s]: one that is set at start is soon right.
_STEADY_S = 3600.0
_KINDS = (".yaml", ".yml", ".csv")
_FOLDERS = ("", SCHEDULES, CLIMATE)

FileStamp = tuple[int, int, int, int] | None


@dataclass(frozen=True, slots=True)
class Trouble:
    """Why the plan shown is not that of the files as they stand. since: when it began, with a zone."""

    message: str
    since: datetime
    file: str = ""
    line: int = 0
    more: int = 0

    @property
    def where(self) -> str:
        """The file and line, as short as they go."""
        name = Path(self.file).name
        return say("{file} line {line}", file=name, line=self.line) if self.line else name


@dataclass(frozen=True, slots=True, eq=False)
class Snapshot:
    """One plan of one day. trouble: set when the files have changed since and cannot be used."""

    loaded: Loaded
    season: Season
    made: datetime
    trouble: Trouble | None = None

    @property
    def today(self) -> date:
        """The day it is seen from."""
        return self.season.today

    @property
    def stamp(self) -> str:
        """What changes with every plan, and when trouble comes or goes."""
        said = f"{self.made.isoformat()} {self.trouble}"
        return hashlib.sha256(said.encode()).hexdigest()[:12]

    @property
    def place(self) -> str:
        """The name of the place."""
        return self.loaded.collection.place.name

    @property
    def zone(self) -> ZoneInfo:
        """The time zone of the place."""
        return ZoneInfo(self.loaded.collection.place.time_zone)


class FileWatch:
    """All files a collection may be read from. `contents` holds what they said when last read, by name.

    The plan's own memory is not among them: planning writes it, and every plan reads it anew.
    """

    def __init__(self, collection_file: Path) -> None:
        self.folder = collection_file.parent
        self._collection = collection_file
        self._stamps: dict[str, FileStamp] = {}
        self._others: set[Path] = set()
        self._is_settled = False
        self._digest = ""
        self.contents: dict[str, bytes] = {}

    def digest(self) -> str:
        """A digest of every file's name and content: the same for as long as no byte of them changes."""
        if self._is_settled and all(_stamp_of(path) == stamp for path, stamp in self._stamps.items()):
            return self._digest
        self._read_all()
        return self._digest

    def add(self, files: Iterable[Path]) -> None:
        """Watch these too: what the collection names that lies elsewhere."""
        others = {path for path in files if str(path) not in self._stamps}
        if not others <= self._others:
            self._others |= others
            self._is_settled = False

    def changed_at(self, file: str) -> float | None:
        """When a file named in a problem was last written [s since 1970], None when that is not known."""
        for path in (Path(file), self.folder / Path(file).name, self.folder / SCHEDULES / Path(file).name):
            stamp = _stamp_of(path)
            if stamp is not None:
                return stamp[0] / 1e9
        return None

    def _read_all(self) -> None:
        files = sorted(set(self._files()))
        folders = [self.folder / name for name in _FOLDERS]
        self._stamps = {str(path): _stamp_of(path) for path in (*folders, *files)}
        # Before reading, so that what changes while it is read is looked at again.
        newest = max((max(stamp[:2]) for stamp in self._stamps.values() if stamp is not None), default=0)
        self._is_settled = newest / 1e9 < clock.time() - _UNSETTLED_S
        found = {self._name(path): content_of(path) for path in files}
        self.contents = {name: content for name, content in found.items() if content is not None}
        self._digest = _digest(found)

    def _files(self) -> Iterator[Path]:
        yield self._collection
        yield from self._others
        for name in _FOLDERS:
            with suppress(OSError):  # not there, or not to be read: then there is nothing to watch in it
                for path in (self.folder / name).iterdir():
                    if path.suffix in _KINDS and path.name not in (COLLECTION, HISTORY):
                        yield path

    def _name(self, path: Path) -> str:
        if path == self._collection:
            return COLLECTION
        return os.path.relpath(path, self.folder)

    @property
    def journal(self) -> Path:
        """Where the journal stands or will stand."""
        return self.folder / JOURNAL


class Snapshots:
    """Gives the current plan to any number of threads.

    now: the clock, with a zone. fixed_day: stands in for the clock's day. trust_clock: go back in days when the
    clock does at once; otherwise only after an hour, and never behind an entry of the journal. ticks: seconds that
    nobody can set.
    """

    def __init__(
        self,
        collection_file: Path,
        state: StateFolder,
        now: Callable[[], datetime],
        fixed_day: date | None = None,
        *,
        trust_clock: bool = False,
        ticks: Callable[[], float] = clock.monotonic,
    ) -> None:
        self.file = collection_file
        self.watch = FileWatch(collection_file)
        self._state = state
        self._now = now
        self._fixed_day = fixed_day
        self._lock = Lock()
        self._digest = ""
        self._good: Loaded | None = None
        self._broken: Trouble | None = None
        self._shown: Snapshot | None = None
        self._ticks = ticks
        self._behind_since: float | None = None
        self.is_clock_doubtful = False
        clear_leftovers(state.path / LAST_GOOD)
        self._may_doubt_clock = not trust_clock and fixed_day is None
        self._newest_day = self._remembered_day() if self._may_doubt_clock else date.min

    def current(self) -> Snapshot:
        """The plan of now. Raises FilesHaveProblems when the files are broken and there never was a good plan."""
        with self._lock:
            digest = self.watch.digest()
            if digest != self._digest:
                self._read(digest)
            loaded = self._good
            assert loaded is not None
            today, clock_trouble = self._day(loaded)
            trouble = self._broken or clock_trouble
            shown = self._shown
            if shown is None or shown.loaded is not loaded or shown.today != today:
                shown = self._plan(loaded, today, trouble)
            elif shown.trouble != trouble:
                shown = Snapshot(shown.loaded, shown.season, shown.made, trouble)
            self._shown = shown
            return shown

    def latest(self) -> tuple[Snapshot, bool]:
        """The plan last made for today, and whether it is that of the files as they stand: a tap waits for no plan.

        The current one when there is none of today. Raises as `current` does.
        """
        shown = self._shown
        if shown is None or self.is_clock_doubtful or self._clock_day(shown.loaded) != shown.today:
            return self.current(), True
        if not self._lock.acquire(blocking=False):
            return shown, False
        try:
            return shown, self.watch.digest() == self._digest
        finally:
            self._lock.release()

    def _clock_day(self, loaded: Loaded) -> date:
        """The day it is at the place, by the clock of this computer."""
        if self._fixed_day is not None:
            return self._fixed_day
        return self._now().astimezone(ZoneInfo(loaded.collection.place.time_zone)).date()

    def why_not_recording(self) -> str:
        """Why no tap can be written down now, "" when one can."""
        for folder in (self.watch.folder, self._state.path):
            problem = why_not_writable(folder)
            if problem:
                return f"{folder}: {problem}"
        return ""

    def _read(self, digest: str) -> None:
        """Load the files; when they cannot be used, keep what there is and remember why."""
        for _ in range(_MOST_READINGS):
            read_at = digest
            loaded, problem = _try_to_load(self.file)
            if loaded is not None:
                self.watch.add(loaded.files)
            digest = self.watch.digest()
            if digest == read_at:
                break
        if loaded is None:
            self._broken = self._trouble(problem)
            if self._good is None:
                self._good = self._last_good(problem)
        else:
            if self._good is None and self._may_doubt_clock:
                self._newest_day = max(self._newest_day, last_told(loaded.memory))
            self._good, self._broken = loaded, None
            self._keep_good_copy()
        # What was there before the reading began: had a file changed since, the next request reads again.
        self._digest = read_at

    def _plan(self, loaded: Loaded, today: date, trouble: Trouble | None) -> Snapshot:
        """A new season; when planning itself fails, the last one with what went wrong."""
        try:
            keep = self._fixed_day is None and trouble is None
            earlier = None if self._shown is None else self._shown.season
            season = plan(
                loaded,
                today,
                file=self.file,
                keep=keep,
                earlier=earlier,
                trusts_clock=keep,
            ).season
        except Exception as fault:
            if self._shown is None:
                raise
            message = say("feedplan cannot plan this: {fault}", fault=type(fault).__name__)
            self._broken = Trouble(message, self._now())
            self._good = self._shown.loaded
            return Snapshot(self._shown.loaded, self._shown.season, self._shown.made, self._broken)
        return Snapshot(loaded, season, self._now(), trouble)

    def _day(self, loaded: Loaded) -> tuple[date, Trouble | None]:
        """The day to plan from: never one before the newest that was ever shown."""
        if self._fixed_day is not None:
            return self._fixed_day, None
        day = self._clock_day(loaded)
        written = max((entry.recorded for entry in loaded.journal.entries), default=date.min)
        self.is_clock_doubtful = day < self._newest_day and (written > day or not self._is_steady())
        if not self.is_clock_doubtful:
            self._behind_since = None
            if day != self._newest_day:
                self._newest_day = day
                self._remember(_NEWEST_DAY, day.isoformat().encode())
            return day, None
        message = say(
            "the clock of this computer says {day}, but the plan was shown on {shown} already; set the clock right; "
            "if it is right, the plan follows it an hour after the start, or at once with --trust-clock",
            day=day,
            shown=self._newest_day,
        )
        if written > day:
            message = say(
                "the clock of this computer says {day}, but the journal has an entry written down on {written}; set "
                "the clock or the entry right",
                day=day,
                written=written,
            )
        return self._newest_day, Trouble(message, datetime.combine(self._newest_day, time(), UTC))

    def _is_steady(self) -> bool:
        """Whether a clock that has gone back has run on for an hour."""
        if self._behind_since is None:
            self._behind_since = self._ticks()
        return self._ticks() - self._behind_since >= _STEADY_S

    def _trouble(self, problem: FeedplanError | None) -> Trouble:
        """What is broken and since when; a break that goes on keeps its beginning."""
        since = self._broken.since if self._broken is not None else self._now()
        if not isinstance(problem, FilesHaveProblems):
            return Trouble(str(problem), since)
        first: Problem = problem.problems[0]
        if self._broken is None:
            changed = self.watch.changed_at(first.file)
            since = since if changed is None else min(since, datetime.fromtimestamp(changed, UTC))
        return Trouble(first.message, since, first.file, first.line, len(problem.problems) - 1)

    def _last_good(self, problem: FeedplanError | None) -> Loaded:
        """The copy of the last good files, made by an earlier run. Raises what is wrong now if there is none."""
        copy = self._state.path / LAST_GOOD / COLLECTION
        loaded = _try_to_load(copy)[0] if copy.is_file() else None
        if loaded is None:
            raise problem or FeedplanError(say("the collection cannot be read"))
        return loaded

    def _keep_good_copy(self) -> None:
        """Keep the good files for a start with broken ones. Without room for them the plan itself goes on."""
        inside = {name: data for name, data in self.watch.contents.items() if not name.startswith("..")}
        folder = self._state.path / LAST_GOOD
        same = {name: folder / name for name, data in inside.items() if content_of(folder / name) == data}
        changed = {name: data for name, data in inside.items() if name not in same}
        if changed:
            with suppress(CannotWriteError):
                write_folder(folder, changed, same)

    def _remember(self, name: str, data: bytes) -> None:
        with suppress(CannotWriteError):
            self._state.write(name, data)

    def _remembered_day(self) -> date:
        try:
            return date.fromisoformat(
                (self._state.read(_NEWEST_DAY) or b"").decode("ascii", "replace").strip()
            )
        except ValueError:
            return date.min


def _try_to_load(file: Path) -> tuple[Loaded | None, FeedplanError | None]:
    """What the files say, or what is wrong with them; a fault of feedplan's own is wrong with them too."""
    try:
        return load_collection(file), None
    except FeedplanError as problem:
        return None, problem
    except Exception as fault:
        told = f"{type(fault).__name__}: {fault}"
        return None, FeedplanError(say("feedplan cannot read this: {fault}", fault=told))


def _stamp_of(path: str | Path) -> FileStamp:
    """What tells a changed file from an unchanged one without reading it; None when it is not there."""
    try:
        found = os.stat(path)  # noqa: PTH116 - twice as fast as Path.stat, some twenty times a request
    except OSError:
        return None
    return (found.st_mtime_ns, found.st_ctime_ns, found.st_size, found.st_ino)


def _digest(found: Mapping[str, bytes | None]) -> str:
    summary = hashlib.sha256()
    for name, content in found.items():
        size = -1 if content is None else len(content)
        summary.update(f"{name}\n{size}\n".encode("utf-8", "surrogateescape"))
        summary.update(content or b"")
    return summary.hexdigest()
