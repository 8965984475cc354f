"""What is odd about trees as they are written: a kind nobody knows, many large pots under one name."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal

from feedplan.engine.season import Timeline
from feedplan.model.collection import Collection, Tree
from feedplan.model.species import plain_name
from feedplan.model.stage import Vocabulary
from feedplan.model.statement import Statement
from feedplan.model.warning import ManyLargePots, PlanWarning, UnknownSpecies, WhichKind

YOUNG, MOST_YOUNG_L = ("cuttings", "seedlings"), Decimal(2)
"""Schedules of young plants, and the largest pot one of many of them has to itself (judgement)."""
TRAYS, TRAY_CM2, TRAY_DEEP_CM = 6, Decimal(600), Decimal(10)
"""So many of one name in flat boxes as wide and no deeper are asked about: one box for all is a tray (judgement)."""


def doubtful_trees(here: Iterable[Timeline], collection: Collection) -> Iterator[PlanWarning]:
    """Every question about the trees that are here."""
    timelines = tuple(here)
    yield from _unsure_species(timelines, collection)
    yield from _many_large_pots(timelines, collection)


def _unsure_species(here: Iterable[Timeline], collection: Collection) -> Iterator[PlanWarning]:
    """Species that nothing knows, or whose word stands for kinds of unlike years, each asked about once."""
    own = {species for word, _ in collection.own_dates for species in collection.species_called(word)}
    said: set[str] = set()
    for timeline in here:
        for tree in timeline.trees:
            name = plain_name(tree.species)
            if tree.species in own or name in said:
                continue
            said.add(name)
            warning = _species_warning(tree, timeline.calendar, collection.vocabulary)
            if warning is not None:
                yield PlanWarning(warning, tree.source)


def _many_large_pots(here: Iterable[Timeline], collection: Collection) -> Iterator[PlanWarning]:
    """Names with many large pots where one tray for all is more likely."""
    for tree in (tree for timeline in here for tree in timeline.trees):
        pot = tree.pot
        is_young = collection.groups[tree.group].schedule.name in YOUNG and pot.litres > MOST_YOUNG_L
        is_tray = (
            tree.count >= TRAYS
            and (pot.top_cm2 or 0) >= TRAY_CM2
            and pot.depth_cm is not None
            and pot.depth_cm <= TRAY_DEEP_CM
        )
        if pot.shared is None and tree.count > 1 and (is_young or is_tray):
            fact = ManyLargePots(tree.name, tree.count, pot.words, round(tree.count * pot.litres))
            yield PlanWarning(fact, tree.source)


def _species_warning(tree: Tree, calendar: str, vocabulary: Vocabulary) -> Statement | None:
    if vocabulary.listed_in(tree.species) is not None:
        return None
    kind = vocabulary.kinds.kind_of(tree.species)
    if kind is None:
        return UnknownSpecies(tree.species, tree.name, calendar, vocabulary.kinds.nearest(tree.species))
    return WhichKind(tree.species, tree.name, calendar) if kind.ask_which else None
