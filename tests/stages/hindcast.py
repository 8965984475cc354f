"""The northern demo over past years of open daily records: by the weather, and by fixed dates.

The demo's trees, groups and habits are taken without its journal, its own dates and its holidays, which belong to 2027.
It makes the table in the guide's page of dates, and prints it:  python -m tests.stages.hindcast
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cache
from pathlib import Path

from feedplan.engine.plan import plan_season
from feedplan.engine.season import Season, Timeline
from feedplan.load.collection import load_collection
from feedplan.model.climate import Climate
from feedplan.model.collection import Collection
from feedplan.model.journal import Journal
from tests.stages.open_records import northern_climate

DEMO = Path(__file__).parents[2] / "demo"
YEARS = range(2002, 2016)
TREES = {"Fennel": "larch", "Corbel": "hornbeam"}


@cache
def timeless(name: str) -> Collection:
    """A demo collection without anything that belongs to one year."""
    collection = load_collection(DEMO / name).collection
    return replace(collection, since=None, away=(), own_dates={}, learned={})


def season_of_year(
    collection: Collection, climate: Climate | None, year: int, *, south: bool = False
) -> Season:
    """One year's plan as it stands when the year is over, and all its weather is on record."""
    first = date(year, 7, 1) if south else date(year, 1, 1)
    last = date(year + 1, 6, 20) if south else date(year, 12, 20)
    return plan_season(collection, Journal(), last, first, last, climate=climate)


def timeline_of(season: Season, tree: str) -> Timeline:
    """The course of a tree."""
    return next(timeline for timeline in season.timelines if tree in timeline.names)


def feeds_of(season: Season, tree: str, year: int) -> list[date]:
    """The days a tree is fed in one growing year."""
    return [feed.day for feed in timeline_of(season, tree).feeds if feed.season == year]


def leaves_open(season: Season, tree: str, year: int, stage: str = "leaves open") -> date:
    """The day the record brings a stage."""
    found = next(at.day for at in timeline_of(season, tree).stage_dates(year) if at.stage == stage)
    assert found is not None
    return found


@dataclass(frozen=True)
class Row:
    """One tree by one kind of plan: its first feeds, and those given before its leaves opened."""

    tree: str
    plan: str
    firsts: tuple[date, ...]
    leafless_feeds: int


def rows() -> Iterator[Row]:
    """Every tree, by the weather and by fixed dates."""
    whole = timeless("northern")
    collection = replace(whole, trees=tuple(tree for tree in whole.trees if tree.name in TREES))
    by_weather, fixed = (
        {year: season_of_year(collection, known, year) for year in YEARS}
        for known in (northern_climate(), None)
    )
    for tree, species in TREES.items():
        opened = {year: leaves_open(by_weather[year], tree, year) for year in YEARS}
        for plan, seasons in (("by the weather", by_weather), ("by fixed dates", fixed)):
            feeds = {year: feeds_of(seasons[year], tree, year) for year in YEARS}
            leafless = sum(day < opened[year] for year in YEARS for day in feeds[year])
            yield Row(species, plan, tuple(days[0] for days in feeds.values()), leafless)


def table() -> str:
    """The rows as a Markdown table."""
    lines = [
        "| tree | plan | earliest first feed | middle | latest | feeds on leafless trees |",
        "| --- | --- | --- | --- | --- | --- |",
    ]
    for row in rows():
        days = sorted(_in_one_year(row.firsts))
        early, middle, late = (f"{d.day} {d:%B}" for d in (days[0], days[len(days) // 2], days[-1]))
        lines.append(f"| {row.tree} | {row.plan} | {early} | {middle} | {late} | {row.leafless_feeds} |")
    return "\n".join(lines) + "\n"


def _in_one_year(days: Sequence[date]) -> list[date]:
    """The days of the year, as those of 2023."""
    return [date(2023, 1, 1) + timedelta(days=(day - date(day.year, 1, 1)).days) for day in days]


if __name__ == "__main__":
    print(table(), end="")
