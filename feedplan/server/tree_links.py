"""Trees as the pages name them: each with the page of its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from feedplan.engine.season import Timeline
from feedplan.model.collection import Collection, Tree
from feedplan.server.addresses import address_parts


@dataclass(frozen=True, slots=True)
class TreeLink:
    """A tree by name, with the page of its own. count: alike trees under the name.

    found: the answer to a check of the day that is written down, "" for none. gets: how much feed, "" for none.
    is_to_feed: it is to be fed that day, and nobody has written down that it was. look: which look of the day asks
    about it, "" for none without an answer.
    """

    name: str
    href: str
    count: int = 1
    found: str = ""
    gets: str = ""
    is_to_feed: bool = False
    look: str = ""


class TreeLinks:
    """The page of each tree."""

    def __init__(self, collection: Collection) -> None:
        self.names_by_part = address_parts(tree.name for tree in collection.trees)
        self._hrefs = {name: f"tree-{part}.html" for part, name in self.names_by_part.items()}

    def href(self, name: str) -> str:
        """The address of a tree's page; of the list of trees for one that has left the collection."""
        return self._hrefs.get(name, "trees.html")

    def of(self, tree: Tree) -> TreeLink:
        """The link to a tree."""
        return TreeLink(tree.name, self.href(tree.name), tree.count)

    def of_timelines(self, timelines: Sequence[Timeline]) -> tuple[TreeLink, ...]:
        """The links to all trees of some timelines."""
        return tuple(self.of(tree) for timeline in timelines for tree in timeline.trees)
