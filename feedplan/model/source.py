"""Where a value stands in the grower's files, so that every reason can name its line."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Source:
    """A line of a file. line: 1-based; 0 when the value is a built-in default."""

    file: str
    line: int = 0

    def __str__(self) -> str:
        return f"{self.file}:{self.line}" if self.line else self.file


SHIPPED = "feedplan/schedules"
"""How the folder of shipped schedules is called in messages, wherever it is installed."""
BUILT_IN = Source("default")
