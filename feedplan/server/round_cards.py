"""What stands on the page of a day, as values: cards for looks, mixes, stages and checks, and links to trees."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from feedplan.engine.season import Timeline
from feedplan.model.collection import Collection, Tree
from feedplan.model.course import Status
from feedplan.server.addresses import address_parts
from feedplan.server.sink_page import Filling

TextItem = tuple[str, tuple[str, ...]]
"""A line of the round as text, and the lines indented under it."""


@dataclass(frozen=True, slots=True)
class DayLink:
    """One day of the strip above the round. fed: trees to feed or fed that day."""

    day: date
    href: str
    is_shown: bool
    fed: int


@dataclass(frozen=True, slots=True)
class TreeLink:
    """A tree by name, with the page of its own. count: alike trees under the name. note: what to mind."""

    name: str
    href: str
    count: int = 1
    note: str = ""


@dataclass(frozen=True, slots=True)
class MixCard:
    """One mix. now: the can chosen, None without a product. before: what to do first, such as rinse the can."""

    group: str
    status: Status
    due: str
    feed: str
    strength: str
    poured: Decimal
    now: Filling | None
    trees: tuple[TreeLink, ...]
    head_count: int
    reasons: tuple[tuple[str, str], ...]
    lines: tuple[str, ...]
    before: str

    @property
    def can_be_recorded(self) -> bool:
        """Whether nobody has written down yet that it was given."""
        return self.status is not Status.RECORDED


@dataclass(frozen=True, slots=True)
class LookCard:
    """A held tree to look at. signs: what to tap when seen. spring: the year it may be put off to, None before that."""

    title: str
    lines: tuple[str, ...]
    do: tuple[str, ...]
    signs: tuple[str, ...]
    trees: tuple[TreeLink, ...]
    spring: int | None = None


@dataclass(frozen=True, slots=True)
class StageCard:
    """A stage that may have come."""

    stage: str
    looks_like: str
    group: str
    trees: tuple[TreeLink, ...]


@dataclass(frozen=True, slots=True)
class CheckRow:
    """Trees of a bench with one rate of checks."""

    rate: str
    note: str
    trees: tuple[TreeLink, ...]


@dataclass(frozen=True, slots=True)
class RoundPage:
    """Everything on the page of one day.

    alerts, solids, flushes: a line each, with what belongs to it. benches: the looks of the day by bench.
    """

    day: date
    heading: str
    line: str
    days: tuple[DayLink, ...]
    alerts: tuple[TextItem, ...]
    looks: tuple[LookCard, ...]
    mixes: tuple[MixCard, ...]
    solids: tuple[TextItem, ...]
    not_these: tuple[tuple[tuple[TreeLink, ...], str], ...]
    flushes: tuple[TextItem, ...]
    thirst: tuple[str, ...]
    benches: tuple[tuple[str, tuple[CheckRow, ...]], ...]
    checks_by: str
    stages: tuple[StageCard, ...]
    look_for: tuple[str, ...]
    notes: tuple[str, ...]
    away: str

    @property
    def contents(self) -> list[tuple[str, str, int]]:
        """The sections with something in them: id of the heading, what is to be done, with how many."""
        checked = sum(tree.count for _, rows in self.benches for row in rows for tree in row.trees)
        fed = sum(mix.head_count for mix in self.mixes)
        held = sum(tree.count for trees, _ in self.not_these for tree in trees)
        sections = [
            ("h-look", "to look at", len(self.looks)),
            ("h-feed", "to feed", fed),
            ("h-not", "not", held),
            ("h-water", "to check", checked),
        ]
        return [section for section in sections if section[2]]


class TreeLinks:
    """The page of each tree."""

    def __init__(self, collection: Collection) -> None:
        self.names_by_part = address_parts(tree.name for tree in collection.trees)
        self._hrefs = {name: f"tree-{part}.html" for part, name in self.names_by_part.items()}

    def href(self, name: str) -> str:
        """The address of a tree's page; of the list of trees for one that has left the collection."""
        return self._hrefs.get(name, "trees.html")

    def of(self, tree: Tree, note: str = "") -> TreeLink:
        """The link to a tree."""
        return TreeLink(tree.name, self.href(tree.name), tree.count, note)

    def of_timelines(self, timelines: Sequence[Timeline]) -> tuple[TreeLink, ...]:
        """The links to all trees of some timelines."""
        return tuple(self.of(tree) for timeline in timelines for tree in timeline.trees)


def day_href(day: date, today: date) -> str:
    """The page of a day; today's has the shortest address."""
    return "./" if day == today else f"day-{day}.html"
