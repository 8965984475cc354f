"""More nitrogen in a growing year than is wise, where something can still be done about it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import NamedTuple

from feedplan.engine.answers.explain import nitrogen_by
from feedplan.engine.feeding.budget import nitrogen_mg_per_l
from feedplan.engine.growing_year import season_of
from feedplan.engine.season import Season, Timeline
from feedplan.model.collection import Collection
from feedplan.model.course import Solid, Status
from feedplan.model.source import SHIPPED, Source
from feedplan.model.warning import LargeBudget, MuchNitrogen, PlanWarning

# Pine seedlings did best near 430 mg N per litre of container and worse from about 1070 (Wang and others 2015, Silva
# Fennica 49(3) 1295; Fu and others 2017, Silva Fennica 51(2) 1607; abstracts read, worked out per litre). Nursery
# shrubs grew best with 450 (white-cedar, box) to 1050 mg (yew, lilac) of coated feed (Clark and Zheng, Journal of
# Environmental Horticulture, abstracts read): so neither limit refuses anything. Both are judgement.
MUCH_N_MG_PER_L = Decimal(600)
TOO_MUCH_N_MG_PER_L = Decimal(900)
# With less than this left to give, nothing is worth changing: one weak feed [mg per L of container]. Judgement.
WORTH_TELLING = Decimal(10)


def in_own_files(source: Source, collection: Collection, group: str) -> Source:
    """A line that the grower can change: what a shipped schedule says is put down to the group it is for."""
    is_own = source.line and not source.file.startswith(SHIPPED)
    return source if is_own else collection.groups[group].source


def much_nitrogen(
    season: Season, timelines: Sequence[Timeline], collection: Collection
) -> Iterator[PlanWarning]:
    """The trees with too much nitrogen this growing year or the next, those with as much of it together.

    Nothing is said of what is over: given is given, and the year book tells it. Only what may kill is told of to the
    end of the year.
    """
    alike: dict[tuple[_Much, Source], list[str]] = {}
    for timeline in timelines:
        year = season_of(season.today, collection.place.hemisphere)
        found = [_much(timeline, y, season, collection) for y in (year, year + 1)]
        worst = max((each for each in found if each is not None), key=lambda each: each.total, default=None)
        if worst is not None:
            solids = [solid for solid in timeline.solids if solid.season == worst.year]
            heaviest = max(solids, key=lambda solid: solid.mg_n_per_l, default=None)
            place = timeline.care.schedule_on(season.today).source if heaviest is None else heaviest.source
            source = in_own_files(place, collection, timeline.group_on(season.today))
            alike.setdefault((worst, source), []).extend(timeline.names)
    for (much, source), names in alike.items():
        fact = MuchNitrogen(
            tuple(names),
            much.year,
            much.total,
            much.limit,
            much.is_budget,
            much.is_grave,
            *much.lying,
            much.brought,
        )
        yield PlanWarning(fact, source)


class _Much(NamedTuple):
    """How much nitrogen a growing year brings, and what of it still lies on the pot: the feed and how much.

    brought: what of it nobody laid, where the rest would not be too much.
    """

    year: int
    total: int
    limit: Decimal
    is_budget: bool
    is_grave: bool
    lying: tuple[str | None, int]
    brought: int = 0


def _much(timeline: Timeline, year: int, season: Season, collection: Collection) -> _Much | None:
    """What is too much in a year and not over yet; None where all is well or nothing can be done about it."""
    schedule = timeline.care.schedule_on(season.today)
    solids = [solid for solid in timeline.solids if solid.season == year]
    feeds = [feed for feed in timeline.feeds if feed.season == year]
    share = collection.habits.feed_share
    total = sum([s.mg_n_per_l for s in solids] + [nitrogen_mg_per_l(f, share) for f in feeds], Decimal(0))
    is_now = year == season_of(season.today, collection.place.hemisphere)
    to_come = total - (nitrogen_by(timeline, season.today) if is_now else 0)
    # A month warmer than usual makes solids give more than the feeds planned beside them left room for: no one's doing.
    foreseen = total - sum((max(s.mg_n_per_l - s.counts[0][1], Decimal(0)) for s in solids), Decimal(0))
    limits = (TOO_MUCH_N_MG_PER_L, MUCH_N_MG_PER_L, schedule.budget_mg_n_per_l)
    limit = max((each for each in limits if round(foreseen) > each), default=None)
    is_grave = round(foreseen) > TOO_MUCH_N_MG_PER_L and not schedule.allow_over
    if limit is None or (to_come < WORTH_TELLING and not is_grave):
        return None
    if is_grave:
        limit = TOO_MUCH_N_MG_PER_L
    lying = _lying(solids, season) if is_now else (None, 0)
    is_budget = limit == schedule.budget_mg_n_per_l
    brought = sum((solid.mg_n_per_l for solid in solids if solid.feed is None), Decimal(0))
    alone = round(brought) if total - brought <= limit else 0
    return _Much(year, round(total), limit, is_budget, is_grave, lying, alone)


def _lying(solids: Sequence[Solid], season: Season) -> tuple[str | None, int]:
    """The solid feed that lies on the pot and has most to give yet, and how much [mg per L of container]."""
    left = {
        solid.feed: solid.mg_n_per_l - solid.given_by(season.today)
        for solid in solids
        if not solid.mixed_in and solid.status is not Status.PLANNED
    }
    feed = max(left, key=lambda name: left[name], default=None)
    return (feed, round(left[feed])) if feed is not None and left[feed] >= WORTH_TELLING else (None, 0)


def large_budgets(
    season: Season, timelines: Sequence[Timeline], collection: Collection
) -> Iterator[PlanWarning]:
    """The budgets that are more than may be wise, where no schedule says that it is meant."""
    for timeline in timelines:
        schedule = timeline.care.schedule_on(season.today)
        budget = schedule.budget_mg_n_per_l
        if budget > TOO_MUCH_N_MG_PER_L and not schedule.allow_over:
            fact = LargeBudget(schedule.name, budget, TOO_MUCH_N_MG_PER_L)
            yield PlanWarning(
                fact, in_own_files(schedule.source, collection, timeline.group_on(season.today))
            )
