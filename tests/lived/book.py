"""The grower's own book, kept outside feedplan: what was told, what was really poured, what was written of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

from tests.lived.garden import Written
from tests.lived.told import Told, ToldFeed

NEARLY = timedelta(days=3)
"""A record of a whole group speaks of feeds told at most so long before it."""


@dataclass(slots=True)
class Telling:
    """One feed as it was told. day: first told; last: the day it was told last, when it went on being overdue.

    least_gap_days: the least gap of the period it was told in [days].
    """

    tree: str
    day: date
    due: date
    ppm: Decimal
    product: str | None
    last: date
    least_gap_days: int
    answers: list[Written] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Pour:
    """One feed really poured. told: the plan asked for it. ppm: [mg N/L]."""

    tree: str
    day: date
    ppm: Decimal
    told: bool = True


@dataclass(frozen=True, slots=True)
class Given:
    """A feed that the plan must count, as far as it can know. ppm: None where no strength was ever said."""

    day: date
    ppm: Decimal | None
    told: date | None


class Book:
    """One lived year, written up day by day. unlogged_given: a feed told and not written of counts as given."""

    def __init__(self, unlogged_given: bool) -> None:
        self.unlogged_given = unlogged_given
        self.tellings: dict[str, list[Telling]] = {}
        self.pours: dict[str, list[Pour]] = {}
        self.extra: dict[str, list[Written]] = {}
        self.notes: dict[str, Written] = {}
        self.undone: set[str] = set()

    def hear(self, told: Told) -> None:
        """Write down what a day's last word tells to pour."""
        for feed in told.today:
            mine = self.tellings.setdefault(feed.tree, [])
            again = next((t for t in reversed(mine) if t.due == feed.due and told.day > t.day), None)
            if again is not None and again.last >= told.day - timedelta(days=1):
                again.last = told.day
            else:
                gap = told.care[feed.tree].least_gap_days or 0
                mine.append(Telling(feed.tree, told.day, feed.due, feed.ppm, feed.product, told.day, gap))

    def telling(self, feed: ToldFeed) -> Telling:
        """The telling that a feed of this morning belongs to."""
        return self.tellings[feed.tree][-1]

    def pour(self, pour: Pour) -> None:
        """Write down what was poured."""
        self.pours.setdefault(pour.tree, []).append(pour)

    def last_told(self, tree: str) -> Telling | None:
        """The last feed a tree was told."""
        mine = self.tellings.get(tree)
        return mine[-1] if mine else None

    def was_poured_since(self, tree: str, day: date) -> bool:
        """Whether a tree got anything on or after a day."""
        return any(pour.day >= day for pour in self.pours.get(tree, ()))

    def note(self, note: Written) -> None:
        """Write down what went into the journal, and which telling it answers."""
        self.notes[note.id] = note
        if note.undoes:
            self.undone.add(note.undoes)
        if not note.is_of_feed:
            return
        for tree in note.about:
            answered = self._answered(note, tree)
            if answered is not None:
                answered.answers.append(note)
            elif "group" not in note.says and "species" not in note.says:
                self.extra.setdefault(tree, []).append(note)

    def _answered(self, note: Written, tree: str) -> Telling | None:
        """The last feed told by the entry's day that nothing has answered yet."""
        open_ones = [
            t for t in self.tellings.get(tree, ()) if t.day <= note.day and not self._standing(t.answers)
        ]
        latest = open_ones[-1] if open_ones else None
        is_near = latest is not None and note.day - latest.last <= NEARLY
        return latest if is_near else None

    def _standing(self, notes: Iterable[Written]) -> list[Written]:
        """The entries not taken back."""
        return [note for note in notes if note.id not in self.undone]

    def known(self) -> list[Written]:
        """Everything in the journal that still stands."""
        return self._standing(self.notes.values())

    def given(self, tree: str, today: date) -> Iterator[Given]:
        """Every feed of a tree that the plan must count, as far as the journal tells by now, in the order told."""
        for telling in self.tellings.get(tree, ()):
            answers = self._standing(telling.answers)
            if answers:
                yield from self._as_written(answers[-1], telling)
            elif self.unlogged_given and telling.day < today:
                yield Given(telling.day, telling.ppm, telling.day)
        for note in self._standing(self.extra.get(tree, ())):
            yield Given(note.day, _ppm_of(note), None)

    def _as_written(self, note: Written, telling: Telling) -> Iterator[Given]:
        if not note.is_of_none_given:
            yield Given(note.day, _ppm_of(note) or telling.ppm, telling.day)


def _ppm_of(note: Written) -> Decimal | None:
    """The strength an entry tells, None for "as planned"."""
    words = str(note.says.get("fed", ""))
    return None if not words[:1].isdigit() else Decimal(words.split(maxsplit=1)[0])
