"""The year book: one growing year of every tree as it was, from what was told, written down and seen."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Generic, TypeVar

from feedplan.engine.feeding.budget import nitrogen_mg_per_l
from feedplan.engine.growing_year import season_end, season_of, season_start
from feedplan.engine.season import Season, Timeline
from feedplan.model.collection import Tree
from feedplan.model.course import FeedEvent, Hold, Solid, StageDate, Status, Stay
from feedplan.model.history import Outcome
from feedplan.model.journal import Caused, Entry, Gone, Seen
from feedplan.model.stage import Origin, Vocabulary

REPOTTED = "repotted"
"""The journal word under work that the years between two repots count from."""


T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Brought(Generic[T]):
    """A feed, and the nitrogen it brought in the year [mg per L of container]."""

    feed: T
    n_mg_per_l: Decimal


@dataclass(frozen=True, slots=True)
class HeldFor:
    """A hold in force in the year. over_days: from its earliest end to its end, or to the last day told [days].

    end: the first day free, or the day another hold took it over; None while it was open.
    """

    hold: Hold
    end: date | None
    over_days: int


@dataclass(frozen=True, slots=True)
class TreeYear:
    """One tree's year. place: its bench, or else its group, on the last day told.

    stays: its groups, cut to the year. stages: those seen. happened: work, damage, signs of trouble, coming and going.
    feeds, solids: what was told or recorded; budget_mg_n_per_l: what was to be kept to [mg per L of container].
    repotted: the last repot on record; repot_every_years, repot_due: how often, and in which season next; None for what
    nobody said, and the last two for a tree that is gone.
    """

    tree: Tree
    place: str
    stays: tuple[Stay, ...]
    stages: tuple[StageDate, ...]
    happened: tuple[Entry, ...]
    feeds: tuple[Brought[FeedEvent], ...]
    solids: tuple[Brought[Solid], ...]
    budget_mg_n_per_l: Decimal
    holds: tuple[HeldFor, ...]
    repotted: date | None
    repot_every_years: int | None
    repot_due: int | None

    @property
    def n_mg_per_l(self) -> Decimal:
        """All the nitrogen it got, liquid and solid [mg per L of container]."""
        brought = [*(each.n_mg_per_l for each in self.feeds), *(each.n_mg_per_l for each in self.solids)]
        return sum(brought, Decimal(0))


@dataclass(frozen=True, slots=True)
class YearBook:
    """A growing year. first, last: its days; told_to: the last of them that is told of, today in a year that runs."""

    season: int
    first: date
    last: date
    told_to: date
    trees: tuple[TreeYear, ...]


def year_book(planned: Season, year: int) -> YearBook:
    """The book of one growing year, from a plan that spans it; trees by the place where they stand at its end."""
    hemisphere = planned.collection.place.hemisphere
    first, last = season_start(year, hemisphere), season_end(year, hemisphere)
    told_to = min(last, planned.today)
    timelines = {tree.name: timeline for timeline in planned.timelines for tree in timeline.trees}
    trees = [
        _tree_year(timelines[tree.name], tree, year, (first, told_to), is_over=last < planned.today)
        for tree in planned.collection.trees
    ]
    here = [tree for tree in trees if tree.stays or tree.happened or tree.feeds]
    places = list(dict.fromkeys(tree.place for tree in here))
    return YearBook(year, first, last, told_to, tuple(sorted(here, key=lambda t: places.index(t.place))))


def _tree_year(
    timeline: Timeline, tree: Tree, year: int, days: tuple[date, date], *, is_over: bool
) -> TreeYear:
    first, last = days
    care, hemisphere = timeline.care, timeline.care.collection.place.hemisphere
    share = care.collection.habits.feed_share
    entries = [entry for entry in timeline.entries if entry.day <= last and entry.is_about(tree.name)]
    feeds = [e for e in timeline.feeds if e.season == year and e.status is not Status.PLANNED]
    solids = [s for s in timeline.solids if s.season == year and s.laid <= last and s.mg_n_per_l]
    repots = [e.day for e in entries if isinstance(e.fact, Caused) and e.fact.cause == REPOTTED]
    every = care.repot_every_years(tree, last) if timeline.here(last) else None
    repotted = max(repots, default=None)
    return TreeYear(
        tree=tree,
        place=care.place_of(tree, last),
        stays=tuple(_stays(timeline, first, last)),
        stages=tuple(
            s
            for s in timeline.stage_dates(year)
            if s.origin is Origin.SEEN and s.day is not None and season_of(s.day, hemisphere) == year
        ),
        happened=tuple(e for e in entries if e.day >= first and _is_told(e, care.collection.vocabulary)),
        feeds=tuple(Brought(e, _brought(e, share)) for e in feeds),
        solids=tuple(Brought(s, s.mg_n_per_l if is_over else s.given_by(last)) for s in solids),
        budget_mg_n_per_l=care.schedule_on(last).budget_mg_n_per_l,
        holds=tuple(
            _held(hold, last)
            for hold in timeline.holds
            if hold.start <= last and (hold.until is None or hold.until > first)
        ),
        repotted=repotted,
        repot_every_years=every,
        repot_due=None if every is None or repotted is None else season_of(repotted, hemisphere) + every,
    )


def _stays(timeline: Timeline, first: date, last: date) -> Iterator[Stay]:
    """The groups a tree stood in while it was here, cut to some days; an end is told where it lies within them."""
    come, gone = max(first, timeline.arrives or first), timeline.leaves
    for stay in timeline.care.stays:
        ends = [day for day in (stay.end, gone) if day is not None]
        start, end = max(stay.start, come), min(ends, default=None)
        if start <= last and (end is None or end > start):
            yield Stay(stay.group, start, end if end is not None and end <= last else None)


def _is_told(entry: Entry, vocabulary: Vocabulary) -> bool:
    """Whether it is work, damage, a sign of trouble, or the tree's coming or going."""
    fact = entry.fact
    if isinstance(fact, Seen):
        return any(word in vocabulary.words and vocabulary.words[word].adverse for word in fact.words)
    return isinstance(fact, Caused | Gone)


def _brought(event: FeedEvent, share: Decimal) -> Decimal:
    """Nitrogen a feed brought; nothing while it is only asked for [mg per L of container]."""
    return Decimal(0) if event.outcome is Outcome.ASKED else nitrogen_mg_per_l(event, share)


def _held(hold: Hold, last: date) -> HeldFor:
    """A hold as it stood on the last day told, or as it ended later; the weather keeps its own time."""
    is_taken_over = hold.turned is not None and hold.turned <= last
    end = hold.turned if hold.end is None and is_taken_over else hold.end
    over = 0 if hold.by_weather else max(((end or last) - hold.minimum).days, 0)
    return HeldFor(hold, end, over)
