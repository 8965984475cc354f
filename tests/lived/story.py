"""A few days of a garden told as a story: the plan is asked every morning, and again whenever something was written."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from tests.lived.asking import Asks, History, asks
from tests.lived.garden import DAY, Garden, Written
from tests.lived.told import Event, Told, ToldFeed
from tests.scenarios.planning import whole

NORTH = "place: {name: Wrenmoor, latitude: 53.4, elevation: 60 m, time_zone: Europe/London}\n"
SOUTH = "place: {name: Kororua Bay, latitude: -41.2, elevation: 10 m, time_zone: Pacific/Auckland}\n"
SHELF = """
feeds:
  powder: {grade: 20-10-20, form: soluble}
  coated: {grade: 16-8-12, form: coated, longevity: 150 days}
groups:
  growing-on: {schedule: vigorous, feed: powder}
  shown: {schedule: refined, feed: powder}
  ward: {schedule: recovering, feed: powder}
"""


class Story:
    """A garden whose plan is asked on every morning from the first on; nothing is done but what the story says.

    ends: how many days beyond the first are planned.
    """

    def __init__(self, collection: str, first: str, *, ends: int = 400, ask: Asks = asks) -> None:
        start = date.fromisoformat(first)
        self._ask = ask
        self.garden = Garden("story", collection, start, start + timedelta(days=ends))
        self.day = start - DAY
        self.history: History = None
        self.heard: dict[date, Told] = {}

    def until(self, day: str) -> Told:
        """What is told on the morning of a day, after every day up to it was lived."""
        while self.day < date.fromisoformat(day):
            self.day += DAY
            self._hear()
        return self.heard[self.day]

    @property
    def now(self) -> Told:
        """What was told last."""
        return self.heard[self.day]

    def asks_of(self, day: str) -> tuple[Told, History]:
        """The plan of an earlier day, asked today with all that is written by now."""
        return self._ask(self.garden, date.fromisoformat(day), self.history, frozenset(self._expected()))

    def writes_on(self, day: str, **says: Any) -> str:
        """Live to a day, and write an entry about it there."""
        self.until(day)
        return self.writes(day, **says)

    def writes(self, happened: str, **says: Any) -> str:
        """Write an entry on the day the story has come to, and ask again. Returns its id."""
        name = f"n{len(self.garden.journal) + 1}"
        about = frozenset({says["tree"]} if "tree" in says else says.get("trees", ()))
        note = Written(name, date.fromisoformat(happened), self.day, says, about)
        self.garden = self.garden.with_notes((note,))
        self._hear()
        return name

    def edits(self, change: Callable[[dict[str, Any]], None]) -> None:
        """Edit collection.yaml on the day the story has come to, and ask again."""
        self.garden = self.garden.edited(change)
        self._hear()

    def loses_its_journal(self, kept: int = 0) -> None:
        """Leave only the first entries of the journal."""
        self.garden = replace(self.garden, journal=self.garden.journal[:kept])

    def told_days(self, tree: str) -> list[str]:
        """Every feed of a tree that was the last word of its own day so far, as "2027-06-10 60"."""
        return [words(feed) for told in self.heard.values() for feed in told.today if feed.tree == tree]

    def _hear(self) -> None:
        told, self.history = self._ask(self.garden, self.day, self.history, frozenset(self._expected()))
        self.heard[self.day] = told

    def _expected(self) -> set[str]:
        return {row["name"] for row in self.garden.files["trees"]}


def garden(
    species: str,
    group: str,
    first: str,
    *,
    head: str = NORTH,
    pot: str = "9 L",
    more: str = "",
    ends: int = 400,
) -> Story:
    """One tree called Quill, and its plan asked every morning from a day on."""
    trees = f"trees:\n  - {{name: Quill, species: {species}, group: {group}, pot: {pot}}}\n"
    return Story(head + SHELF + trees + more, first, ends=ends)


def words(feed: ToldFeed) -> str:
    """A feed as its day and whole ppm."""
    return f"{feed.day} {whole(feed.ppm)}"


def today(told: Told, tree: str) -> str:
    """What a tree gets today, "" for nothing."""
    feed = told.fed_today(tree)
    return "" if feed is None else words(feed)


def given(told: Told, tree: str) -> list[str]:
    """What counts as given to a tree before today."""
    return [f"{past.day} {whole(past.ppm)}" for past in told.past.get(tree, ()) if past.given]


def ahead(told: Told, tree: str, first: int | None = None) -> list[str]:
    """The feeds of a tree from today on, or the first few of them."""
    feeds = [f for f in (told.fed_today(tree),) if f is not None]
    return [words(feed) for feed in (*feeds, *told.ahead.get(tree, ()))][:first]


def rules(told: Told, tree: str) -> set[str]:
    """Why a tree is not fed today."""
    return {why.rule for why in told.withheld.get(tree, ())}


def events(told: Told, kind: str) -> Mapping[str, Event]:
    """The calendar's events of one kind from today on."""
    return {key: event for key, event in told.events.items() if key.startswith(f"{kind}/")}
