"""What scenarios with weather share: a daily record written as a short table, and the plan that goes with it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from feedplan.engine.answers.explain import explain
from feedplan.engine.plan import plan_season
from feedplan.load.collection import load_text
from feedplan.model.course import StageDate
from feedplan.model.reason import Reason
from tests.looks import rate_of
from tests.scenarios.planning import SCHEDULES, Plan

# Invented normals of a mild place near the sea at 53 degrees north, and its mirror by half a year.
MONTHLY = [
    (1, 7),
    (1, 7),
    (2, 10),
    (4, 13),
    (7, 16),
    (10, 19),
    (12, 21),
    (12, 21),
    (10, 18),
    (7, 14),
    (4, 10),
    (2, 7),
]


def normals(shift: int = 0) -> str:
    """normals.csv of the invented place; shift: months by which its year is turned."""
    rows = (f"{m},{low},{high}" for m, (low, high) in enumerate(MONTHLY[-shift:] + MONTHLY[:-shift], 1))
    return "month,tmin_c,tmax_c\n" + "\n".join(rows) + "\n"


def daily(*stretches: tuple[str, Sequence[tuple[float, float]]], columns: str = "") -> str:
    """daily.csv from stretches of days, each a first day and the lowest and highest temperatures from it on."""
    lines = [f"date,tmin_c,tmax_c{columns}"]
    for first, days in stretches:
        start = date.fromisoformat(first)
        lines += [f"{start + timedelta(days=i)},{low},{high}" for i, (low, high) in enumerate(days)]
    return "\n".join(lines) + "\n"


def around(*means: float) -> list[tuple[float, float]]:
    """Days with some means, each five degrees either way."""
    return [(mean - 5, mean + 5) for mean in means]


class WeatherPlan(Plan):
    """A plan made with weather, with the questions these scenarios ask."""

    def stage(self, tree: str, stage: str, season: int) -> StageDate:
        """A stage of a tree as the plan has it."""
        timeline = next(t for t in self.season.timelines if tree in t.names)
        return next(at for at in timeline.stage_dates(season) if at.stage == stage)

    def why_not(self, day: str, tree: str) -> list[Reason]:
        """What stands in the way of a feed on a day."""
        found = next(t for t in self.collection.trees if t.name == tree)
        return list(explain(self.season, found, date.fromisoformat(day)).reasons)

    def checks(self, day: str, tree: str) -> float:
        """How many water checks a tree has in the week of a day, at that day's rate."""
        return float(rate_of(self.season, tree, date.fromisoformat(day)))


def weather_plan(
    collection: str,
    journal: str = "",
    climate: Mapping[str, str] | None = None,
    *,
    today: str,
    days: int = 365,
    back: int = 150,
    schedules: Mapping[str, str] = SCHEDULES,
) -> WeatherPlan:
    """The season of a collection with its climate folder, as seen on a day."""
    loaded = load_text(collection, journal, schedules, climate)
    day = date.fromisoformat(today)
    season = plan_season(
        loaded.collection,
        loaded.journal,
        day,
        day - timedelta(days=back),
        day + timedelta(days=days),
        climate=loaded.climate,
    )
    return WeatherPlan(season, loaded.collection)
