"""The pages that are lists: every tree with what comes next, the latest of the journal, the calendars."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from feedplan.engine.season import Season, Timeline
from feedplan.model.collection import Collection
from feedplan.model.course import Status
from feedplan.model.journal import Journal
from feedplan.server.round_cards import TreeLink, TreeLinks
from feedplan.words.entries import entry_words
from feedplan.words.reasons import hold_end_words
from feedplan.words.writing import day_words

LATEST = 40
"""Entries of the journal on its page; the file has them all."""


@dataclass(frozen=True, slots=True)
class TreeRow:
    """One tree. state: held, next or nothing, for the mark beside it. words: what that is."""

    link: TreeLink
    species: str
    state: str
    words: str


@dataclass(frozen=True, slots=True)
class EntryRow:
    """One entry of the journal, newest first. late: when it was written down, if later."""

    id: str
    day: str
    words: str
    note: str
    late: str


def tree_rows(season: Season, collection: Collection) -> dict[str, list[TreeRow]]:
    """Every tree that is here, by group as of today."""
    links = TreeLinks(collection)
    rows: dict[str, list[TreeRow]] = {name: [] for name in collection.groups}
    for timeline in season.timelines:
        if not timeline.here(season.today):
            continue
        state, words = _state(timeline, season)
        for tree in timeline.trees:
            rows[timeline.group_on(season.today)].append(TreeRow(links.of(tree), tree.species, state, words))
    return {name: found for name, found in rows.items() if found}


def _state(timeline: Timeline, season: Season) -> tuple[str, str]:
    hold = next((hold for hold in timeline.holds if hold.covers(season.today)), None)
    if hold is not None:
        return "held", f"{hold.rule.name}: {hold_end_words(hold, season.today)}"
    coming = (Status.PLANNED, Status.OVERDUE)
    feed = next((f for f in timeline.feeds if f.day >= season.today and f.status in coming), None)
    if feed is None:
        return "nothing", "no feed in sight"
    return "next", f"next feed {day_words(feed.day, season.today)}"


def entry_rows(journal: Journal, today: date) -> Iterator[EntryRow]:
    """The entries that stand on a day, the last in the file first."""
    known = [entry for entry in journal.entries if entry.known <= today]
    for entry in sorted(known, key=lambda entry: entry.source.line, reverse=True)[:LATEST]:
        late = "" if entry.recorded == entry.day else f"written down {day_words(entry.recorded, today)}"
        yield EntryRow(entry.id, day_words(entry.day, today), entry_words(entry), entry.note, late)
