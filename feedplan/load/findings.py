"""What was found wrong or doubtful, gathered over every file, and the hints that go with it."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from feedplan.errors import Problem
from feedplan.load.text.spots import Spot

FEW = 15
"""So many known words are listed in full when none is close."""


class Findings:
    """All that was found wrong, and all that is doubtful, over every file; each thing once."""

    def __init__(self) -> None:
        self._problems: dict[Problem, None] = {}
        self._warnings: dict[Problem, None] = {}
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


def near_miss(word: str, known: Iterable[str], few: int = FEW) -> str:
    """What to say after an unknown word: "; did you mean 'every'?", else the known words when they are few."""
    from difflib import get_close_matches  # noqa: PLC0415 - only needed when something is wrong

    words = sorted(set(known))
    folded = {other.casefold(): other for other in words}
    close = get_close_matches(word.casefold(), folded, 1, 0.7)
    if close:
        return f"; did you mean '{folded[close[0]]}'?"
    return f"; known: {', '.join(words)}" if 0 < len(words) <= few else ""


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
