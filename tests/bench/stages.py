"""How long thirty years of daily weather take for fifty species groups, as a ratio to writing the same calendar.

python -m tests.bench.stages    (the record of Chicago, laid twice end to end; see tests/stages/open_records.py)
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta

from feedplan.engine.plan import plan_season
from feedplan.engine.stages.courses import Courses, DailyCounts
from feedplan.engine.stages.prediction import StageSite, predict
from feedplan.export.entries import calendar_entries
from feedplan.export.ics import CalendarSettings
from feedplan.export.ledger import Scope
from feedplan.export.publish import calendar_bytes
from feedplan.load.collection import Loaded, load_text
from feedplan.model.climate import Climate
from feedplan.model.moment import Hemisphere
from feedplan.model.stage import Clock
from tests.stages.open_records import climate_of, northern_record

GROUPS = 50
ROUNDS = 5
TODAY = date(2016, 4, 1)


def fifty_groups() -> Loaded:
    """Fifty groups of one species each, four trees in each, over the eight shipped clocks."""
    species = ["larch", "hornbeam", "oak", "Scots pine", "juniper", "holly", "azalea", "crab apple"]
    groups, trees = [], []
    for number in range(GROUPS):
        groups.append(f"  g{number}: {{schedule: vigorous, feed: powder}}")
        kind = species[number % len(species)]
        trees += [
            f"  - {{name: T{number}-{n}, species: {kind}, group: g{number}, pot: 5 L}}" for n in range(4)
        ]
    head = "place: {name: Bench, latitude: 53.2, time_zone: Europe/London}\n"
    feeds = "feeds: {powder: {grade: 20-10-20, form: soluble}}\n"
    return load_text("\n".join([head + feeds + "groups:", *groups, "trees:", *trees]) + "\n")


def thirty_years() -> Climate:
    """Fifteen years of real days, and the same fifteen again before them."""
    days = northern_record()
    earlier = timedelta(days=len(days))
    return climate_of((*((day - earlier, low, high, rain) for day, low, high, rain in days), *days))


def clocks(loaded: Loaded) -> list[Clock]:
    """Fifty clocks, each with a base of its own from 0 to 9.8 °C, so that no two share a sum."""
    shipped = [c.clock for c in loaded.collection.vocabulary.calendars.values() if c.clock]
    return [
        {
            stage: replace(rule, counting=replace(rule.counting, base_c=number / 5))
            for stage, rule in shipped[number % len(shipped)].items()
        }
        for number in range(GROUPS)
    ]


def predictions(fifty: list[Clock], climate: Climate) -> int:
    """Every stage of the fifty in thirty seasons on record, and in the next as each of those may bring it."""
    record, found = DailyCounts(climate), 0
    for season in range(1987, 2018):
        courses = Courses(record, season, Hemisphere.NORTH)
        for clock in fifty:
            found += len(predict(clock, courses, StageSite(53.2, Hemisphere.NORTH, season, 21), {}, {}))
    return found


def seconds(work: Callable[[], object]) -> float:
    """The middle of a few runs [s]."""
    taken = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def main() -> None:
    """Measure and print."""
    loaded, climate = fifty_groups(), thirty_years()
    collection, fifty = loaded.collection, clocks(loaded)
    known = climate.as_of(TODAY)
    first, last = TODAY - timedelta(days=30), TODAY + timedelta(days=400)
    season = plan_season(collection, loaded.journal, TODAY, first, last, climate=known)
    entries = calendar_entries(season, collection)
    settings = CalendarSettings(collection.identity, "Bench", collection.place.time_zone)
    write = seconds(lambda: calendar_bytes(entries, settings, Scope(first, last), TODAY))
    stages = seconds(lambda: predictions(fifty, climate))
    one = seconds(lambda: plan_season(collection, loaded.journal, TODAY, first, last, climate=known))
    bare = seconds(lambda: plan_season(collection, loaded.journal, TODAY, first, last))
    tell = seconds(lambda: calendar_entries(season, collection))
    export = one + tell + write
    dates = predictions(fifty, climate)
    print(
        f"{dates} stage dates of {GROUPS} species groups, 30 years of record, no sum shared: {stages:.2f} s"
    )
    print(
        f"calendar export of the same collection, {len(entries)} entries: {export:.2f} s, of it writing {write:.2f} s"
    )
    print(f"ratio to the export: {stages / export:.1f}")
    print(
        f"its plan alone, with 30 years of weather: {one:.2f} s; without: {bare:.2f} s; ratio {one / bare:.1f}"
    )


if __name__ == "__main__":
    main()
