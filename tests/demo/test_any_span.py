"""A day is one value: the same whatever days the season was planned for, and the same in `round` and on the page."""

from __future__ import annotations

import dataclasses
import json
import re
from datetime import date, timedelta
from functools import lru_cache
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from feedplan.cli.main import feedplan
from feedplan.engine.day import Day, day_of
from feedplan.engine.plan import plan_season
from feedplan.engine.season import Season, Timeline
from feedplan.export.round_facts import round_facts
from feedplan.export.round_text import round_lines
from feedplan.model.course import Hold
from feedplan.server.round_page import round_page
from tests.demo.test_demo_collections import DEMO_DAY, NORTH, SOUTH, loaded
from tests.properties import examples

DAY = timedelta(days=1)
# The demo's own days, and days on either side of the turn of a growing year.
TODAYS = [
    (NORTH, DEMO_DAY),
    (NORTH, date(2027, 12, 28)),
    (NORTH, date(2028, 1, 4)),
    (NORTH, date(2028, 9, 28)),
    (SOUTH, date(2028, 1, 16)),
    (SOUTH, date(2028, 3, 20)),  # the last feed of the season was missed two days ago
    (SOUTH, date(2028, 6, 29)),
]


def planned(folder: Path, today: date, start: date | None = None, end: date | None = None) -> Season:
    found = loaded(folder)
    return plan_season(found.collection, found.journal, today, start, end, climate=found.climate)


@lru_cache
def as_served(folder: Path, today: date) -> Season:
    """The season the server keeps, 30 days back and 400 ahead."""
    return planned(folder, today)


def reduced(value: object, day: date) -> object:
    """A value with its parts laid open. A course of events, which tells of all days planned, is only named."""
    if isinstance(value, Timeline):
        return value.lineage
    if isinstance(value, Hold):
        value = dataclasses.replace(value, reviews=tuple(due for due in value.reviews if due <= day))
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        fields = [field.name for field in dataclasses.fields(value) if field.compare]
        return {name: reduced(getattr(value, name), day) for name in fields}
    if isinstance(value, tuple):
        return [reduced(each, day) for each in value]
    return value


def laid_open(found: Day) -> object:
    return reduced(found, found.day)


@pytest.mark.parametrize(
    ("folder", "today", "other"), [(*where, (-6, 11, 260)[n % 3]) for n, where in enumerate(TODAYS)]
)
def test_the_day_planned_for_itself_alone_is_the_day_of_the_year(
    folder: Path, today: date, other: int
) -> None:
    collection, whole = loaded(folder).collection, as_served(folder, today)
    for day in (today, today + DAY * other):
        alone = day_of(planned(folder, today, min(day, today), day), day)
        assert laid_open(alone) == laid_open(day_of(whole, day))
        assert list(round_lines(alone, collection)) == list(round_lines(day_of(whole, day), collection))


@examples(8)
@given(st.sampled_from(TODAYS), st.integers(-25, 380), st.integers(0, 500), st.integers(0, 800))
def test_the_day_is_the_same_in_any_span_that_holds_it(
    where: tuple[Path, date], offset: int, before: int, after: int
) -> None:
    folder, today = where
    day = today + DAY * offset
    other = planned(folder, today, day - DAY * before, day + DAY * after)
    assert laid_open(day_of(other, day)) == laid_open(day_of(as_served(folder, today), day))


@pytest.mark.parametrize(("folder", "today"), TODAYS)
def test_round_and_page_show_the_same_looks_overdue_ones_too(folder: Path, today: date) -> None:
    """The fault this keeps out: "look at 2" in the round, "look at 5" on the page."""
    words = ["round", "-c", str(folder), "--today", str(today)]
    whole = CliRunner().invoke(feedplan, [*words, "--all"], prog_name="feedplan", catch_exceptions=False)
    text = whole.stdout
    facts = json.loads(CliRunner().invoke(feedplan, [*words, "--json"], prog_name="feedplan").stdout)
    collection = loaded(folder).collection
    page = round_page(as_served(folder, today), collection, today)
    looks = [(tree.name for tree in look.trees) for look in page.looks]
    assert [review["trees"] for review in facts["reviews"]] == [list(names) for names in looks]
    said = re.search(r"look at (\d+)", text.splitlines()[0])
    open_ones = {tree.name for look in page.looks if not look.is_answered for tree in look.trees}
    assert (0 if said is None else int(said[1])) == len(open_ones)
    assert page.line == text.splitlines()[0].partition(" - ")[2]
    assert [review["due"] for review in facts["reviews"]] == sorted(r["due"] for r in facts["reviews"])


def test_looks_overdue_are_among_those_of_the_demo() -> None:
    """Else the test above would say nothing of them."""
    found = day_of(as_served(NORTH, DEMO_DAY), DEMO_DAY)
    late = [look for look in found.looks if look.day < DEMO_DAY]
    assert len(late) >= 2
    assert round_facts(found, loaded(NORTH).collection)["reviews"][0]["due"] < str(DEMO_DAY)
