"""Where every value of a file stands: a tree of positions beside the data, so that none enters the data."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from typing import NamedTuple, Protocol

from feedplan.errors import Problem
from feedplan.model.source import Source


class Mark(Protocol):
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
        mark: Mark,
        keys: dict[str, Spot | Mark] | None = None,
        inner: dict[str, Spot | Mark] | list[Spot | Mark] | None = None,
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
        return Problem(self.file, self.mark.line + 1, self.mark.column + 1, visible(message))


# Signs that turn the reading direction round for all that follows, so that one name could disguise the next.
DIRECTION_OVERRIDES = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def is_invisible(sign: str) -> bool:
    """Whether a sign is a control character, half a character, or turns the reading direction round."""
    return unicodedata.category(sign) in ("Cc", "Cs") or sign in DIRECTION_OVERRIDES


def visible(text: str) -> str:
    """The text on one line, every sign that does not show or breaks the line written as its code."""
    if text.isprintable():
        return text
    return "".join(
        f"\\u{ord(sign):04x}" if is_invisible(sign) or sign in "\u2028\u2029" else sign for sign in text
    )
