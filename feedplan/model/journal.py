"""The journal: what happened, to which trees, when, and when it was written down."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from feedplan.model.hold import CauseKind
from feedplan.model.source import BUILT_IN, Source


@dataclass(frozen=True, slots=True)
class Subject:
    """Which trees an entry speaks of: named trees, or all of a group, a species or the collection, less some.

    Exactly one of trees, group, species, everything is given. Group membership is that of the entry's day.
    """

    trees: tuple[str, ...] = ()
    group: str | None = None
    species: str | None = None
    everything: bool = False
    but_not: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Seen:
    """Stages or signs seen ("first flush hardened", "limp").

    instead: what was written before of the same words and season is wrong, and no longer counts.
    """

    words: tuple[str, ...]
    instead: bool = False


@dataclass(frozen=True, slots=True)
class Caused:
    """Something that may open a hold: work done, trouble met, or arrival.

    roots: share of the root volume removed [0-1], None when unknown. bare_rooted raises the band by one.
    """

    kind: CauseKind
    cause: str
    roots: Decimal | None = None
    bare_rooted: bool = False


@dataclass(frozen=True, slots=True)
class Planned:
    """Work that is meant to be done on a day. It opens no hold; what it would hold is told until it is done."""

    work: Caused
    on: date


@dataclass(frozen=True, slots=True)
class Fed:
    """A liquid feed given. ppm, feed, litres: None when it was as planned. [mg N/L, name, L in all]

    part: of the usual pour [0-1].
    """

    ppm: Decimal | None = None
    feed: str | None = None
    litres: Decimal | None = None
    part: Decimal = Decimal(1)


@dataclass(frozen=True, slots=True)
class NotFed:
    """A feed that was asked for and not given. because: why, empty if not told."""

    because: str = ""


@dataclass(frozen=True, slots=True)
class Checked:
    """An answer to a water check: "dry", "moist" or "watered"."""

    answer: str


@dataclass(frozen=True, slots=True)
class EcRead:
    """A conductivity pen's reading [mS/cm]: of the mixed can, or of what drained from the pots.

    temp_c: of the liquid, when the pen does not correct for it [°C]; None when it does.
    """

    ms_per_cm: Decimal
    of_drain: bool = False
    temp_c: Decimal | None = None


@dataclass(frozen=True, slots=True)
class RootZone:
    """The temperature measured in the root zone [°C]."""

    temp_c: Decimal


@dataclass(frozen=True, slots=True)
class SolidLaid:
    """A coated or organic feed given to each tree. grams: [g per tree]; mixed_in: it cannot be lifted again.

    grams_per_l: its rate [g per L of container] when that was written in place of grams, which are 0 then.
    """

    feed: str
    grams: Decimal
    mixed_in: bool = False
    grams_per_l: Decimal | None = None


@dataclass(frozen=True, slots=True)
class NotLaid:
    """Solid feed that was asked for and not laid. because: why, empty if not told."""

    because: str = ""


@dataclass(frozen=True, slots=True)
class SolidLifted:
    """Solid feed taken off the pot again; feed None means all of it. "none" states there never was any."""

    feed: str | None = None


@dataclass(frozen=True, slots=True)
class Moved:
    """A change of group, of bench, or of both."""

    group: str | None = None
    bench: str | None = None


@dataclass(frozen=True, slots=True)
class Gone:
    """The tree left the collection. how: dead, sold, given away, set apart.

    count: how many of those under its name, None for all.
    """

    how: str
    count: int | None = None


@dataclass(frozen=True, slots=True)
class PutOff:
    """Holds that wait for a sign wait for next spring's signs from now on; nobody looks for them until then."""


@dataclass(frozen=True, slots=True)
class Allowed:
    """The grower's own override: feed on this one day in spite of holds. because: the reason, required."""

    because: str


@dataclass(frozen=True, slots=True)
class Noted:
    """Free words; no effect on the plan."""

    text: str


Fact = (
    Seen
    | Caused
    | Planned
    | Fed
    | NotFed
    | Checked
    | EcRead
    | RootZone
    | SolidLaid
    | NotLaid
    | SolidLifted
    | Moved
    | Gone
    | PutOff
    | Allowed
    | Noted
)


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing that happened.

    day: when it happened. recorded: when it was written down, never before `day` in effect: what an entry
    makes possible starts no earlier than this. id: its identity for undoing. undone: the day it was taken back, None
    while it stands. is_dated: the file says when it was written down.
    """

    id: str
    day: date
    recorded: date
    subject: Subject
    fact: Fact
    source: Source = BUILT_IN
    note: str = ""
    undone: date | None = None
    is_dated: bool = False

    def stands_on(self, day: date) -> bool:
        """Whether it was known on a day and not taken back yet."""
        return self.known <= day and (self.undone is None or self.undone > day)

    @property
    def is_inert(self) -> bool:
        """Whether it changes nothing about feeding: free words, a pen's reading, a pot found moist, work planned."""
        return isinstance(self.fact, Noted | EcRead | Planned) or (
            isinstance(self.fact, Checked) and self.fact.answer != "dry"
        )

    def is_about(self, tree: str) -> bool:
        """Whether it speaks of one of the trees that its group, its species or all trees are."""
        subject = self.subject
        return tree in subject.trees if subject.trees else tree not in subject.but_not

    @property
    def known(self) -> date:
        """The first day on which the plan could take it into account."""
        return max(self.day, self.recorded)


@dataclass(frozen=True, slots=True)
class Journal:
    """All entries still standing, in any order. withdrawn: those taken back, which say since when."""

    entries: tuple[Entry, ...] = ()
    withdrawn: tuple[Entry, ...] = ()

    def entry(self, entry_id: str) -> Entry | None:
        """The entry of that id if it still stands."""
        return next((entry for entry in self.entries if entry.id == entry_id), None)

    def without(self, entry_id: str, day: date) -> Journal:
        """The same after that entry was taken back on a day."""
        left = tuple(entry for entry in self.entries if entry.id != entry_id)
        gone = tuple(replace(entry, undone=day) for entry in self.entries if entry.id == entry_id)
        return Journal(left, tuple(sorted((*self.withdrawn, *gone), key=lambda entry: entry.source.line)))
