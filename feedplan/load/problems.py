"""Where every value of a file stands, what was found wrong or doubtful there, and the hints that go with it."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import NamedTuple, Protocol

from feedplan.dose.measures import quoted
from feedplan.errors import Problem
from feedplan.model.source import Source
from feedplan.words.language import say

LONGEST = 100
"""No word is compared beyond so many characters."""
FEW = 15
"""So many known words are listed in full when none is close."""


class Findings:
    """All that was found wrong, and all that is doubtful, over every file; each thing once."""

    def __init__(self) -> None:
        self._problems: dict[Problem, None] = {}
        self._warnings: dict[Problem, None] = {}
        self._questions: dict[Problem, None] = {}
        self._misread: set[tuple[str, int, int]] = set()

    @property
    def problems(self) -> tuple[Problem, ...]:
        """Everything wrong, in the order of files and lines."""
        return tuple(sorted(self._problems))

    @property
    def warnings(self) -> tuple[Problem, ...]:
        """Everything doubtful, in the order of files and lines."""
        return tuple(sorted(self._warnings))

    @property
    def questions(self) -> tuple[Problem, ...]:
        """Everything that only the grower knows, in the order of files and lines."""
        return tuple(sorted(self._questions))

    @property
    def count(self) -> int:
        """How many problems there are so far."""
        return len(self._problems)

    def add_misread(self, problems: Iterable[Problem]) -> None:
        """Notes problems of the text itself; nothing more is said about values at those places."""
        for problem in problems:
            self._problems[problem] = None
            self._misread.add((problem.file, problem.line, problem.column))

    def add(self, problem: Problem) -> None:
        """Notes a problem, unless the text at its place could not be read anyway."""
        if (problem.file, problem.line, problem.column) not in self._misread:
            self._problems[problem] = None

    def at(self, spot: Spot, message: str) -> None:
        """Notes a problem at a place."""
        self.add(spot.problem(message))

    def warn(self, spot: Spot, message: str) -> None:
        """Notes something doubtful at a place."""
        self._warnings[spot.problem(message)] = None

    def ask(self, spot: Spot, message: str) -> None:
        """Notes a question at a place."""
        self._questions[spot.problem(message)] = None


class Passage:
    """One part of a file, and where to say what is wrong with it. findings: shared by all parts of all files."""

    __slots__ = ("findings", "spot")

    def __init__(self, spot: Spot, findings: Findings) -> None:
        self.spot = spot
        self.findings = findings

    def at(self, *path: str | int) -> Passage:
        """The part at the end of a path; steps that are not in the file are passed over."""
        return Passage(self.spot.at(path), self.findings)

    def key(self, name: str) -> Passage:
        """The key itself that a part stands under; this part when it has no such key."""
        return Passage(self.spot.key(name), self.findings)

    def named(self, *path: str | int) -> Passage:
        """Where the thing at the end of a path begins: its key, or its place in a list."""
        return Passage(self.spot.key_at(path), self.findings)

    @property
    def source(self) -> Source:
        """File and line."""
        return self.spot.source

    def wrong(self, message: str, *path: str | int) -> None:
        """Notes a problem here, or at the end of a path."""
        self.findings.at(self.spot.at(path), message)

    def warn(self, message: str, *path: str | int) -> None:
        """Notes something doubtful here, or at the end of a path."""
        self.findings.warn(self.spot.at(path), message)

    def ask(self, message: str, *path: str | int) -> None:
        """Notes a question here, or at the end of a path."""
        self.findings.ask(self.spot.at(path), message)

    def unknown(self, noun: str, name: str, known: Iterable[str], of: str = "") -> None:
        """Notes a name that nothing has. of: what names it, such as "feed of group 'g'"."""
        prefix = f"{of}: " if of else ""
        self.wrong(f"{prefix}no {noun} is called '{cut(name)}'{near_miss(name, known)}")


SURE = 0.8
"""From here on a word that begins otherwise is still a slip: 'aple' for 'maple', but not 'grafted' for 'treated'."""


def near_miss(word: str, known: Iterable[str], few: int = FEW) -> str:
    """What to say after an unknown word: "; did you mean 'every'?", else the known words when they are few."""
    from difflib import get_close_matches  # noqa: PLC0415 - only needed when something is wrong

    words = sorted(set(known))
    folded = {other.casefold(): other for other in words}
    likely = get_close_matches(word.casefold()[:LONGEST], folded, 1, 0.6 if len(word) <= 4 else 0.7)
    close = [each for each in likely if is_slip(word.casefold(), each)]
    longer = [name for name in words if len(word) > 2 and name.casefold().startswith(f"{word.casefold()} ")]
    if close or len(longer) == 1:
        return say("; did you mean '{word}'?", word=folded[close[0]] if close else longer[0])
    return say("; known: {words}", words=", ".join(words)) if 0 < len(words) <= few else ""


def is_slip(word: str, other: str) -> bool:
    """Whether a word like another is likely a slip for it: slips seldom change how a word begins."""
    from difflib import SequenceMatcher  # noqa: PLC0415 - only needed when something is wrong

    return word[:1] == other[:1] or SequenceMatcher(None, word, other).ratio() >= SURE


def refusal(sentence: str, written: str, **values: object) -> ValueError:
    """Why what is written cannot be read, in the language spoken. sentence: with {text} for what is written."""
    return ValueError(say(sentence, text=quoted(written), **values))


def shown(value: object) -> str:
    """A value as it would be written on one line of YAML."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {shown(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(shown, value)) + "]"
    return f"{value:f}" if isinstance(value, Decimal) else str(value)


def either(things: Iterable[object]) -> str:
    """Things to choose from, as a person lists them: "a", "a or b", "a, b or c"."""
    *others, last = map(str, things)
    return f"{', '.join(others)} or {last}" if others else last


def cut(text: str) -> str:
    """A text short enough to stand in a message."""
    return text if len(text) <= 40 else text[:37] + "..."


class Position(Protocol):
    """A place in a text, lines and columns counted from 0, as the YAML parser gives it."""

    @property
    def line(self) -> int:
        """The line."""

    @property
    def column(self) -> int:
        """The column."""


class Point(NamedTuple):
    """A mark of our own making."""

    line: int
    column: int


class Spot:
    """The place of one value and of all it holds.

    keys: of a mapping, the place of each key. inner: of a mapping or list, the place of each value; a plain value
    that stands in the same file as its container is a bare mark, which keeps loading quick.
    """

    __slots__ = ("file", "inner", "keys", "mark")

    def __init__(
        self,
        file: str,
        mark: Position,
        keys: dict[str, Spot | Position] | None = None,
        inner: dict[str, Spot | Position] | list[Spot | Position] | None = None,
    ) -> None:
        self.file = file
        self.mark = mark
        self.keys = keys
        self.inner = inner

    @staticmethod
    def start_of(file: str) -> Spot:
        """The first character of a file."""
        return Spot(file, Point(0, 0))

    @staticmethod
    def around(inner: Spot, key: str, key_spot: Spot) -> Spot:
        """The place of a mapping with one key, made up to hold another place."""
        return Spot(inner.file, inner.mark, {key: key_spot}, {key: inner})

    def child(self, step: str | int) -> Spot | None:
        """The place of the value under a key or at an index, None when nothing is written there."""
        inner = self.inner
        if isinstance(inner, dict) and isinstance(step, str):
            found = inner.get(step)
        elif isinstance(inner, list) and isinstance(step, int) and step < len(inner):
            found = inner[step]
        else:
            return None
        return found if found is None or isinstance(found, Spot) else Spot(self.file, found)

    def key(self, name: str) -> Spot:
        """The place of a key; of the whole mapping when it has no such key."""
        found = (self.keys or {}).get(name)
        if found is None:
            return self
        return found if isinstance(found, Spot) else Spot(self.file, found)

    def at(self, path: Sequence[str | int]) -> Spot:
        """The place of the value at the end of a path; steps that are not in the file are passed over."""
        spot = self
        for step in path:
            spot = spot.child(step) or spot
        return spot

    def key_at(self, path: Sequence[str | int]) -> Spot:
        """The place of the key or list item at the end of a path: where a named thing begins."""
        holder, last = self.at(path[:-1]), path[-1]
        return holder.key(last) if isinstance(last, str) else holder.child(last) or holder

    @property
    def source(self) -> Source:
        """File and line."""
        return Source(self.file, self.mark.line + 1)

    def problem(self, message: str) -> Problem:
        """A Problem at this place."""
        return Problem(self.file, self.mark.line + 1, self.mark.column + 1, legible(message))


# Signs that turn the reading direction round for all that follows, so that one name could disguise the next.
DIRECTION_OVERRIDES = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def is_invisible(sign: str) -> bool:
    """Whether a sign is a control character, half a character, or turns the reading direction round."""
    return unicodedata.category(sign) in ("Cc", "Cs") or sign in DIRECTION_OVERRIDES


_LONG_WORD = re.compile(r"\S{120,}")
_MOST = 1500


def legible(text: str) -> str:
    """A message on one line, of a length one can read: signs that do not show as codes, what was written shortened."""
    text = _LONG_WORD.sub(lambda found: f"{found[0][:60]}...{found[0][-20:]}", visible(text[: 10 * _MOST]))
    return text if len(text) <= _MOST else f"{text[: _MOST // 2]} ... {text[-_MOST // 2 :]}"


def visible(text: str) -> str:
    """The text on one line, every sign that does not show or breaks the line written as its code."""
    if text.isprintable():
        return text
    return "".join(
        f"\\u{ord(sign):04x}" if is_invisible(sign) or sign in "\u2028\u2029" else sign for sign in text
    )
