"""Every way feedplan can refuse, each with its exit code, and the value that describes one problem."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

EXIT_FINE = 0
EXIT_PROBLEMS = 1
EXIT_USAGE = 2
EXIT_FAULT = 3


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One thing wrong in one file, in one line a person can act on.

    file: the path as the grower would type it; line, column: 1-based, 0 when the whole file is meant.
    message: what is wrong; what was expected; what to write instead.
    """

    file: str
    line: int
    column: int
    message: str

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}:{self.column}" if self.line else self.file
        return f"{place}: {self.message}"


class FeedplanError(Exception):
    """A refusal with one clear sentence; `exit_code` is what the command line ends with."""

    exit_code = EXIT_PROBLEMS


class FilesHaveProblems(FeedplanError):  # noqa: N818 - the sentence reads better than ...Error
    """The grower's files cannot be used as they stand; `problems` holds all of them, in file order."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(sorted(problems))
        super().__init__("\n".join(map(str, self.problems)))


class UsageError(FeedplanError):
    """The command was asked for something that makes no sense."""

    exit_code = EXIT_USAGE


class CannotWriteError(FeedplanError):
    """An output file could not be written; what stood there before still stands."""


class DoseError(UsageError):
    """A dose that cannot be worked out or must not be given."""
