"""Everything feedplan tells of a day, as text by name: what a test of languages reads."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from html.parser import HTMLParser
from pathlib import Path

from click.testing import CliRunner

from feedplan.cli.main import feedplan
from feedplan.cli.water import waters_lines
from feedplan.cli.weather import weather_lines
from feedplan.engine.answers.explain import explain
from feedplan.engine.answers.warnings import warnings_of
from feedplan.engine.answers.year_book import year_book
from feedplan.engine.day import day_of
from feedplan.engine.growing_year import season_end, season_of
from feedplan.engine.outdoors.daily_et import site_of, summarise
from feedplan.engine.season import Season
from feedplan.engine.sink.shelf import shelf_of
from feedplan.engine.water.checks import sheet_of
from feedplan.engine.water.watches import checks_basis
from feedplan.export.entries import calendar_entries
from feedplan.export.helper_sheet import helper_lines
from feedplan.export.round_text import round_lines
from feedplan.export.season_text import season_lines
from feedplan.export.sink_text import shelf_lines
from feedplan.export.why_text import why_lines
from feedplan.export.year_book import year_book_lines
from feedplan.load import Loaded
from feedplan.server.pages import PageRequest, page, tree_pages
from feedplan.server.rendering import Layout
from feedplan.server.round_page import strip_days
from feedplan.server.snapshots import Snapshot
from feedplan.words.outdoors import checks_by_words
from feedplan.words.warnings import problem_of
from tests.demo.test_any_span import as_served
from tests.demo.test_demo_collections import DEMO_DAY, NORTH, SOUTH, loaded

TODAYS = [
    (NORTH, DEMO_DAY),
    (NORTH, date(2027, 7, 12)),
    (NORTH, date(2028, 1, 4)),
    (SOUTH, date(2028, 1, 16)),
    (SOUTH, date(2028, 3, 20)),
    (SOUTH, date(2027, 9, 6)),
]
"""Spring, summer and winter of both halves of the world; some are days of the demos' own weather."""


@dataclass(frozen=True)
class Told:
    """One plan, to be told in any language."""

    loaded: Loaded
    season: Season

    def round(self) -> Iterator[str]:
        """The rounds of some days, those told again and those ahead."""
        for ahead in (-3, 0, 1, 2, 3, 4, 5, 6, 9, 40, 100, 180, 260):
            day = day_of(self.season, self.season.today + timedelta(days=ahead))
            yield from round_lines(day, self.loaded.collection)

    def helper(self) -> Iterator[str]:
        """The helper's sheet of each absence."""
        for away in self.loaded.collection.away:
            if away.end >= self.season.today:
                yield from helper_lines(sheet_of(self.season, away))

    def why(self) -> Iterator[str]:
        """Every tree, on some days."""
        for ahead in (0, 3, 60):
            for tree in self.loaded.collection.trees:
                yield from why_lines(explain(self.season, tree, self.season.today + timedelta(days=ahead)))

    def year(self) -> Iterator[str]:
        """The picture of the year, and the year book so far."""
        collection = self.loaded.collection
        year = season_of(self.season.today, collection.place.hemisphere)
        yield from season_lines(self.season, collection, year)
        yield from year_book_lines(year_book(self.season, year), self.season)

    def shelf(self) -> Iterator[str]:
        """The products."""
        collection, today = self.loaded.collection, self.season.today
        end = season_end(season_of(today, collection.place.hemisphere), collection.place.hemisphere)
        return shelf_lines(shelf_of(self.season, collection), today, end)

    def water(self) -> Iterator[str]:
        """The waters."""
        return waters_lines(self.loaded.collection)

    def weather(self) -> Iterator[str]:
        """The climate folder."""
        climate = self.loaded.climate
        if climate is not None:
            climate = climate.as_of(self.season.today)
            basis = checks_by_words(checks_basis(self.loaded.collection, climate))
            yield from weather_lines(summarise(climate, site_of(self.loaded.collection.place)), basis)

    def calendar(self) -> Iterator[str]:
        """Titles and texts of all entries."""
        for entry in calendar_entries(self.season, self.loaded.collection):
            yield from (entry.title, entry.text)

    def check(self) -> Iterator[str]:
        """What a careful grower would think about twice."""
        for warning in warnings_of(self.season, self.loaded.collection, self.loaded.journal):
            yield problem_of(warning, self.season.today).message

    def pages(self) -> Iterator[str]:
        """Every page that records, as the phone gets it."""
        snapshot = Snapshot(self.loaded, self.season, datetime(2027, 6, 5, 11, tzinfo=UTC))
        layout = Layout(snapshot, token="0")
        asked = PageRequest({})
        names = [f"day-{day}.html" for day in strip_days(self.season.today)]
        names += [
            "",
            "sink.html",
            "trees.html",
            "journal.html",
            "calendars.html",
            "not-here.html",
            "helper.html",
            *tree_pages(snapshot),
        ]
        for name in names:
            text = page(name, layout, asked)
            assert text is not None
            yield text


OUTPUTS = ("round", "helper", "why", "year", "shelf", "water", "weather", "calendar", "check", "pages")


@lru_cache
def told(folder: Path, today: date) -> Told:
    """A demo as it stands on a day."""
    return Told(loaded(folder), as_served(folder, today))


class Read(HTMLParser):
    """All that is read or spoken of a page: its text and the attributes that stand in for text."""

    def __init__(self) -> None:
        super().__init__()
        self.said: list[str] = []

    def handle_data(self, data: str) -> None:
        self.said.append(data)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.said += [
            value or "" for name, value in attrs if name in ("aria-label", "alt", "title", "placeholder")
        ]


def read_page(page: str) -> str:
    """What a page says to who reads or hears it."""
    reader = Read()
    reader.feed(page.replace("<wbr>", ""))
    return " ".join(reader.said)


def typed(*words: str) -> str:
    """What a command answers, on both outputs."""
    return CliRunner().invoke(feedplan, words).output
