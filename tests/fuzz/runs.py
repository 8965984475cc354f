"""One run of the program on something spoilt, made anew from its number alone, and what must hold after it."""

from __future__ import annotations

import contextlib
import json
import re
import shlex
import shutil
import time
import traceback
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from random import Random
from typing import Any
from unittest import mock

import click
from click.testing import CliRunner, Result

from feedplan.__main__ import _never_fail_on_a_letter
from feedplan.cli.main import COMMANDS, feedplan
from feedplan.errors import FeedplanError
from feedplan.load import load_collection
from tests.fuzz.mutations import DAYS, junk, spoilt, spoilt_word

DEMO = Path(__file__).parents[2] / "demo"
REAL_DAYS = {"southern": date(2028, 1, 16), "northern": date(2027, 6, 5)}
TABLE = """\
name,species,pot,group,bench,count,notes
Brindle,larch,9 L,growing-on,south wall,1,repotted 2027
Moth,hornbeam,30 x 22 x 8 cm,shown,,2,weak
Old Kelp,field maple,12 L,,show bench,,seedling
"""
# A command that answers with one of these says so itself; anything else was not meant.
DOCUMENTED = {0, 1, 2}
LONGEST_LINE = 2000
_MEMORY = {"history.csv", "told.json"}
_SHIPPED = {f"feedplan/schedules/{file.name}" for file in (DEMO.parent / "schedules").iterdir()}
_UNSEEN = re.compile("[\x00-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")
_PLACE = re.compile(r"(?:\w+: )?([^\s:][^:]*\.(?:yaml|csv|json)):\d+:\d+: ")

ON_FILES = (
    *["check"] * 8, "check --json", "round", "round --all", "round --helper", "round --json", "why {tree}",
    "water", "weather", "weather --json", "calendar -o -", "calendar -o - --show detail",
    "calendar -o out.ics", "compare", "learn", "learn --write", "season", "season --csv", "season --json",
    "season --year 2027", "shelf", "schema journal", "schema collection", "dose {feed} 10 L",
    "start new --from trees.csv", "record check moist {tree}", "record --undo", "record fed {tree}",
    "publish site",
)  # fmt: skip
WORDS_OF_DOSE = (
    "20-20-20", "24-8-16", "7-3-6", "15.5-0-0", "100ppm", "100", "ppm", "150", "mg", "N", "10L", "10", "L",
    "2", "gal", "5", "g", "half", "label", "1", "g/L", "density", "1.15", "1:100", "1:50", "1/2", "epsom",
    "salt", "fish", "emulsion", "5-1-1", "tsp", "tbsp", "spoon", "ml", "per", "litre", "°C", "50F", "1.2",
    "mS/cm", "EC", "Fe", "elemental", "max", "shore-15-5-10", "for", "trees", "quarter", "cup", "UK", "US",
    "potassium nitrate", "3-1-2 oxide", "Fe 6 %",
)  # fmt: skip
WORDS_OF_RECORD = (
    "seen", "repotted", "limp", "extension", "first", "flush", "hardened", "leaves open", "frost",
    "scorch", "as planned", "dry", "moist", "watered", "shore-15-5-10", "coated-14-6-11", "growing-on",
    "shown", "gully", "yesterday", "30 %", "4 g", "1.2", "half label", "no extension", "none", "Gannet",
    "Lugger", "Jetty", "Petrel", "trident maple", "Bollard", "juniper", "21", "root-pruned", "bought",
    "dead", "07:00", "2027", "Europe/London", "-41.4", "https://trees.example.org/plan", "Anna",
)  # fmt: skip
PATHS = (
    ".",
    "collection.yaml",
    "journal.yaml",
    "nowhere",
    "climate",
    "trees.csv",
    "out.ics",
    "new",
    "a/b",
    "-",
)
_PATH_OPTIONS = {
    "output",
    "folder",
    "state",
    "collection",
    "other",
    "with_",
    "calendar",
    "table",
    "published",
}


@dataclass(frozen=True, slots=True)
class Trouble:
    """What did not hold. kind: the same for the same trouble, met again."""

    kind: str
    told: str


@dataclass(frozen=True, slots=True)
class Case:
    """What one run is given. files: of the folder, None for one that is not there. words: what is typed.

    today: the day of the clock.
    """

    files: Mapping[str, bytes | None]
    words: Sequence[str]
    today: date


class Sandbox:
    """A folder in which cases are run, each on files of its own. slow_s: CPU that no run may take [s]."""

    def __init__(self, folder: Path, slow_s: float = 5) -> None:
        self.folder = folder / "trees"
        self.slow_s = slow_s
        self.sound = {name: self._with_memory(name) for name in REAL_DAYS}

    def _with_memory(self, name: str) -> dict[str, bytes]:
        """The files of a demo as they are after two mornings."""
        files = {
            file.relative_to(DEMO / name).as_posix(): file.read_bytes()
            for file in sorted((DEMO / name).rglob("*"))
            if file.suffix in (".yaml", ".csv") and file.name not in _MEMORY and file.is_file()
        } | {"trees.csv": TABLE.encode()}
        for ago in (9, 0):
            self._lay(files)
            _typed(self.folder, ["round"], REAL_DAYS[name] - timedelta(ago))
            files |= {each: (self.folder / each).read_bytes() for each in sorted(_MEMORY)}
        return files

    def case(self, number: int) -> Case:
        """The case of that number: spoilt files for every third, spoilt words for the rest."""
        rng = Random(number)
        name = "northern" if number % 36 == 0 else "southern"  # which is quick
        files: dict[str, bytes | None] = dict(self.sound[name])
        today = REAL_DAYS[name]
        if number % 3:
            return Case(files, spoilt_command(rng), today)
        words = rng.choice(ON_FILES)
        name = "trees.csv" if "trees.csv" in words else rng.choice(sorted(files))
        files[name] = spoilt(files[name] or b"", rng) if rng.random() < 0.99 else None
        tree, feed = ("Jetty", "shore-15-5-10") if today.year == 2028 else ("Bramling", "azalea-12-6-8")
        named = [word.format(tree=tree, feed=feed) for word in words.split()]
        return Case(files, named + rng.choice(([], ["--today", str(today)])), today)

    def run(self, case: Case) -> Iterator[Trouble]:
        """Every trouble that a case makes."""
        self._lay(case.files)
        began = time.process_time()
        result = _typed(self.folder, case.words, case.today)
        took = time.process_time() - began
        command = " ".join(case.words[:1])
        if took > self.slow_s:
            yield Trouble(f"slow: {command}", f"{took:.1f} s of CPU: {shlex.join(case.words)[:300]}")
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            yield fault(result.exception)
            return
        if result.exit_code not in DOCUMENTED:
            yield Trouble(f"exit code {result.exit_code}: {command}", result.output)
        yield from self._about_messages(result, case)
        yield from self._about_files(result, case)

    def _about_messages(self, result: Result, case: Case) -> Iterator[Trouble]:
        """What is said: lines one can read, that name files which are there; facts that a program can read."""
        is_data = {"--json", "schema", "--csv"} & set(case.words)
        texts = [("said", result.stdout), ("refused", result.stderr)]
        for stream, text in texts:
            for line in text.replace("\r\n", "\n").split("\n"):
                kind = f"{stream} {case.words[0]}: {shape(line)}"
                if _UNSEEN.search(line):
                    yield Trouble(f"unseen signs {kind}", repr(line[:300]))
                if len(line) > LONGEST_LINE and not (is_data and stream == "said"):
                    yield Trouble(f"a line of {len(line)} {kind}", line[:300])
                named = _PLACE.match(line)
                if (
                    named
                    and not (self.folder / named[1]).exists()
                    and named[1] not in (*case.files, *_SHIPPED)
                ):
                    yield Trouble(f"names no file {kind}", line[:300])
        if "--json" in case.words and result.exit_code == 0 and not {"--help", "--csv"} & set(case.words):
            try:
                json.loads(result.stdout)
            except ValueError as error:
                yield Trouble(f"no JSON from {case.words[0]}", f"{error}\n{result.stdout[:300]}")

    def _about_files(self, result: Result, case: Case) -> Iterator[Trouble]:
        """The files afterwards: as they were, but for what the command is there to write, and as sound as before."""
        may_change = _MEMORY if "--today" not in case.words else set()
        is_recorded = case.words[0] == "record" and result.exit_code == 0
        for name, before in case.files.items():
            after = self.folder / name
            is_same = (after.read_bytes() if after.is_file() else None) == before
            if not is_same and name not in may_change and not (is_recorded and name == "journal.yaml"):
                yield Trouble(f"{case.words[0]} changed {name}", shlex.join(case.words))
        if is_recorded:
            try:
                load_collection(self.folder / "collection.yaml")
            except FeedplanError as error:
                yield Trouble(f"recorded what cannot be read: {shape(str(error))}", str(error))

    def _lay(self, files: Mapping[str, bytes | None]) -> None:
        shutil.rmtree(self.folder, ignore_errors=True)
        lay(self.folder, files)


def lay(folder: Path, files: Mapping[str, bytes | None]) -> None:
    """Write files into a folder, but those that are to be missing."""
    for name, raw in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        if raw is not None:
            (folder / name).write_bytes(raw)


class _Runner(CliRunner):
    """The program in this process, with the streams of a terminal."""

    @contextlib.contextmanager
    def isolation(self, *given: Any, **more: Any) -> Iterator[Any]:
        with super().isolation(*given, **more) as streams:
            _never_fail_on_a_letter()
            yield streams


def _typed(folder: Path, words: Sequence[str], today: date) -> Result:
    """What the program answers there on that day; a fault in it comes as the result's exception."""

    def raised(error: Exception, show: bool) -> None:
        raise error

    with (
        contextlib.chdir(folder),
        mock.patch("feedplan.cli.main.report_fault", raised),
        mock.patch("feedplan.cli.options.today_in", lambda _zone: today),
        mock.patch("feedplan.cli.calendar.today_in", lambda _zone: today),
        mock.patch("feedplan.cli.start.today_in", lambda _zone: today),
    ):
        return _Runner().invoke(feedplan, list(words), prog_name="feedplan")


def fault(error: BaseException) -> Trouble:
    """A crash, known by its type and the innermost line of feedplan that was running."""
    frames = traceback.extract_tb(error.__traceback__)
    ours = [frame for frame in frames if "/feedplan/" in frame.filename and "/tests/" not in frame.filename]
    last = (ours or frames)[-1]
    name = last.filename.rpartition("/feedplan/")[2]
    where = last.name if last is frames[-1] else f"{last.name} calling {frames[-1].name}"
    told = "".join(traceback.format_exception(error))
    return Trouble(f"{type(error).__name__} in {name}:{last.lineno} {where}", told[-1500:])


def shape(line: str) -> str:
    """A line without what differs from case to case."""
    return re.sub(r"'[^']*'|[\d.]+|[^ -~]+", "_", line)[:60]


def spoilt_command(rng: Random) -> list[str]:
    """A command with words and options from all that it takes, about one in four of them junk."""
    name = rng.choice((*COMMANDS, "dose", "dose", "dose", "record", "record", "record", "calendar"))
    command = feedplan.get_command(click.Context(feedplan), name)
    assert command is not None
    words = [name, "--show"] if name == "serve" else [name]
    if isinstance(command, click.Group) and rng.random() < 0.95:
        verb = rng.choice(sorted(command.commands))
        words += [verb]
        command = command.commands[verb]
    for parameter in command.params:
        words += _given(parameter, name, rng)
    if rng.random() < 0.7:
        words += ["--today", rng.choice((*DAYS, *["2028-01-16"] * 60))]
    if rng.random() < 0.05:
        words.insert(rng.randrange(1, len(words) + 1), junk(rng))
    return [word.replace("\0", "") if _stays_inside(word) else "x" for word in words]  # no system passes NUL


def _stays_inside(word: str) -> bool:
    """Whether a word can be no path out of the sandbox."""
    return not (word.startswith(("/", "~")) or ".." in word or "=/" in word)


def _given(parameter: click.Parameter, command: str, rng: Random) -> list[str]:
    """A parameter with values, or none."""
    if isinstance(parameter, click.Argument):
        count = rng.randrange(6) if parameter.nargs == -1 else int(rng.random() < 0.9)
        return [_value(parameter, command, rng) for _ in range(count)]
    if parameter.name == "today" or rng.random() > (0.95 if parameter.required else 0.15):
        return []
    option = rng.choice(parameter.opts)
    return [option] if getattr(parameter, "is_flag", False) else [option, _value(parameter, command, rng)]


def _value(parameter: click.Parameter, command: str, rng: Random) -> str:
    """A value that may be meant, or junk."""
    name, kind = str(parameter.name), parameter.type
    if isinstance(kind, click.Choice):
        good: Sequence[str] = [str(choice) for choice in kind.choices]
    elif isinstance(kind, click.types.FuncParamType):
        good = DAYS
    elif isinstance(kind, click.Path) or name in _PATH_OPTIONS:
        good = PATHS
    else:
        good = WORDS_OF_DOSE if command == "dose" else WORDS_OF_RECORD
    word = rng.choice(good)
    return spoilt_word(word, rng) if rng.random() < 0.25 else word
