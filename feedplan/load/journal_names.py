"""What the entries of a journal may speak of: the names of a collection, and what stands behind them."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from feedplan.load.collection_models import EntryModel, FeedUseModel
from feedplan.load.vocabulary import StageWords
from feedplan.model.collection import Feed
from feedplan.model.hold import HoldRule
from feedplan.model.species import TreeKinds


@dataclass(slots=True)
class JournalNames:
    """What entries may speak of. A feed that is None is there but has problems of its own.

    is_whole: whether all of the collection could be read; nothing is looked up otherwise. counts: how many stand behind
    each name. uses: the lists of feeds that a ("tree", "group", "species" or "everything", name) uses.
    """

    trees: Collection[str] = ()
    groups: Collection[str] = ()
    feeds: Mapping[str, Feed | None] = field(default_factory=dict)
    species: Collection[str] = ()
    rules: Mapping[str, HoldRule] = field(default_factory=dict)
    words: StageWords = field(default_factory=StageWords)
    is_whole: bool = True
    counts: Mapping[str, int] = field(default_factory=dict)
    kinds: TreeKinds = field(default_factory=TreeKinds)
    benches: Collection[str] = ()
    uses: Mapping[tuple[str, str], Sequence[Sequence[FeedUseModel]]] = field(default_factory=dict)

    def feeds_used(self, entry: EntryModel, moves: Iterable[EntryModel]) -> list[Sequence[FeedUseModel]]:
        """The lists of feeds that the trees of an entry use: of their names, and of what any moved to before."""
        trees = [*(entry.trees or ()), *([entry.tree] if entry.tree else ())]
        kinds = self.kinds.meant(entry.species, self.species) if entry.species else ()
        calls = [("tree", each) for each in trees] + [("species", each) for each in kinds]
        calls += [("group", entry.group)] if entry.group else []
        calls += [("everything", "")] if entry.everything else []
        # Trees that moved to the group of an entry use what it uses; those that left it are not meant.
        for move in () if entry.group else moves:
            named = {*(move.trees or ()), move.tree} - {None}
            if move.moved and move.date <= entry.date and not (trees and named and not named & set(trees)):
                calls.append(("group", move.moved))
        return [uses for call in calls for uses in self.uses.get(call, ())]
