"""The plan as it stands now: read again when a file or the day changes, the last good one kept when a file breaks."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from pathlib import Path
from threading import Lock
from zoneinfo import ZoneInfo

from feedplan.engine.season import Season
from feedplan.errors import CannotWriteError, FeedplanError, FilesHaveProblems, Problem
from feedplan.files import write_folder
from feedplan.load.collection import Loaded, load_collection
from feedplan.load.folder import COLLECTION
from feedplan.memory import plan
from feedplan.server.state import StateFolder
from feedplan.server.watch import FileWatch

LAST_GOOD = "last-good"
_NEWEST_DAY = "newest-day"
# A file that is being saved right now is read again this often before it is taken as it is.
_MOST_READINGS = 4


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
        return f"{Path(self.file).name} line {self.line}" if self.line else Path(self.file).name


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
    def zone(self) -> ZoneInfo:
        """The time zone of the place."""
        return ZoneInfo(self.loaded.collection.place.time_zone)


class Snapshots:
    """Gives the current plan to any number of threads.

    now: the clock, with a zone. fixed_day: stands in for the clock's day. trust_clock: go back in days when the
    clock does, which otherwise counts as a clock gone wrong.
    """

    def __init__(
        self,
        collection_file: Path,
        state: StateFolder,
        now: Callable[[], datetime],
        fixed_day: date | None = None,
        *,
        trust_clock: bool = False,
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
        self._newest_day = date.min if trust_clock or fixed_day else self._remembered_day()

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
            self._good, self._broken = loaded, None
            self._keep_good_copy()
        # What was there before the reading began: had a file changed since, the next request reads again.
        self._digest = read_at

    def _plan(self, loaded: Loaded, today: date, trouble: Trouble | None) -> Snapshot:
        """A new season; when planning itself fails, the last one with what went wrong."""
        try:
            keep = self._fixed_day is None and trouble is None
            season = plan(loaded, today, file=self.file, keep=keep).season
        except Exception as fault:
            if self._shown is None:
                raise
            self._broken = Trouble(f"feedplan cannot plan this: {type(fault).__name__}", self._now())
            self._good = self._shown.loaded
            return Snapshot(self._shown.loaded, self._shown.season, self._shown.made, self._broken)
        return Snapshot(loaded, season, self._now(), trouble)

    def _day(self, loaded: Loaded) -> tuple[date, Trouble | None]:
        """The day to plan from: never one before the newest that was ever shown."""
        if self._fixed_day is not None:
            return self._fixed_day, None
        day = self._now().astimezone(ZoneInfo(loaded.collection.place.time_zone)).date()
        if day >= self._newest_day:
            if day > self._newest_day:
                self._newest_day = day
                self._remember(_NEWEST_DAY, day.isoformat().encode())
            return day, None
        message = (
            f"the clock of this computer says {day}, but the plan was shown on {self._newest_day} already; "
            "set the clock right, or start again with --trust-clock"
        )
        return self._newest_day, Trouble(message, datetime.combine(self._newest_day, time(), UTC))

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
            raise problem or FeedplanError("the collection cannot be read")
        return loaded

    def _keep_good_copy(self) -> None:
        """Keep the good files for a start with broken ones. Without room for them the plan itself goes on."""
        inside = {name: data for name, data in self.watch.contents.items() if not name.startswith("..")}
        folder = self._state.path / LAST_GOOD
        same = {name: folder / name for name, data in inside.items() if _holds(folder / name, data)}
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
        return None, FeedplanError(f"feedplan cannot read this: {type(fault).__name__}: {fault}")


def _holds(path: Path, data: bytes) -> bool:
    try:
        return path.read_bytes() == data
    except OSError:
        return False
