"""What must hold for every plan, in real years' weather: any journal, any day, forecast or none."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from functools import cache

from hypothesis import given
from hypothesis import strategies as st

from feedplan.engine.plan import plan_season
from feedplan.engine.season import Season
from feedplan.model.climate import Climate, ClimateDay
from feedplan.model.collection import Collection
from feedplan.model.course import Status
from feedplan.model.hold import CauseKind
from feedplan.model.journal import Caused, Entry, Journal, Subject
from tests.engine.test_invariants import DAYS, NAMES, NORTH, SOUTH, journals
from tests.looks import looks_of, rate_of
from tests.properties import examples
from tests.stages.open_records import climate_of, northern_record, southern_record
from tests.stages.test_hindcast import check_invariants


@cache
def weather(start: int, *, south: bool) -> Climate:
    """Six years of a real record, dated so that its third year is 2027."""
    days = southern_record() if south else northern_record()
    shift = 2027 - start - 2
    moved = []
    for day, low, high, rain in days:
        if start <= day.year < start + 6 and (day.month, day.day) != (2, 29):
            moved.append((day.replace(year=day.year + shift), low, high, rain))
    return climate_of(tuple(moved))


def holed(climate: Climate, ahead: int, today: date) -> Climate:
    """The climate with nothing on record beyond some days after today: a file as it was copied that morning."""
    days: dict[date, ClimateDay] = {
        d: day for d, day in climate.days.items() if d <= today + timedelta(days=ahead)
    }
    return Climate(days, climate.normals)


PLACES = {"north": NORTH, "south": SOUTH}
CASES = st.tuples(st.sampled_from(sorted(PLACES)), st.sampled_from([2001, 2004, 2008]), st.integers(-4, 8))


def planned(
    collection: Collection,
    journal: Journal,
    today: date,
    start: int,
    ahead: int,
    *,
    earlier: Season | None = None,
) -> Season:
    climate = holed(weather(start, south=collection is SOUTH), ahead, today)
    begin, end = today - timedelta(days=150), today + timedelta(days=400)
    return plan_season(collection, journal, today, begin, end, climate=climate, earlier=earlier)


@given(CASES, journals(), DAYS)
@examples(25)
def test_holds_gaps_budget_and_reasons_stand(
    case: tuple[str, int, int], journal: Journal, today: date
) -> None:
    place, start, ahead = case
    collection = PLACES[place]
    season = planned(collection, journal, today, start, ahead)
    for timeline in season.timelines:
        assert all(dropped.reasons for dropped in timeline.dropped)
        for feed in timeline.feeds:
            if feed.status in (Status.PLANNED, Status.ASSUMED):
                assert not any(h.covers(feed.day) and h.by_weather for h in timeline.holds)
    if not journal.entries:
        check_invariants(season, collection)


@given(CASES, journals(), DAYS)
@examples(10)
def test_running_again_gives_the_same(case: tuple[str, int, int], journal: Journal, today: date) -> None:
    place, start, ahead = case
    collection = PLACES[place]
    shuffled = Journal(tuple(reversed(journal.entries)))
    assert planned(collection, journal, today, start, ahead) == planned(
        collection, shuffled, today, start, ahead
    )


@given(CASES, journals(), DAYS, st.sampled_from(NAMES), st.sampled_from(["0.1", "0.3", "0.6"]))
@examples(20)
def test_a_hold_adds_no_feed_and_removes_no_check(
    case: tuple[str, int, int], journal: Journal, today: date, name: str, roots: str
) -> None:
    place, start, ahead = case
    collection = PLACES[place]
    work = Entry(
        "cut", today, today, Subject(trees=(name,)), Caused(CauseKind.WORK, "repotted", Decimal(roots))
    )
    before = planned(collection, journal, today, start, ahead)
    after = planned(collection, Journal((*journal.entries, work)), today, start, ahead)

    def feeds_soon(season: Season) -> int:
        timeline = next(t for t in season.timelines if name in t.names)
        soon = today + timedelta(days=120)
        return sum(f.status in (Status.PLANNED, Status.OVERDUE) and f.day <= soon for f in timeline.feeds)

    assert feeds_soon(after) <= feeds_soon(before)
    for days in (0, 1, 2, 3, 4, 5, 6, 20, 60, 150):
        day = today + timedelta(days=days)
        assert rate_of(after, name, day) >= rate_of(before, name, day)
        assert set(looks_of(after, name, day)) >= set(looks_of(before, name, day))


@given(CASES, journals(), journals(), DAYS)
@examples(6)
def test_a_plan_made_after_another_is_the_plan_made_alone(
    case: tuple[str, int, int], journal: Journal, other: Journal, today: date
) -> None:
    """What was seen on one tree tells of others of its species, so their courses are not taken over."""
    place, start, ahead = case
    collection = PLACES[place]
    more = Journal((*journal.entries, *(replace(entry, id=f"other {entry.id}") for entry in other.entries)))
    alone = planned(collection, journal, today, start, ahead)
    for known in (more, other):
        earlier = planned(collection, known, today, start, ahead)
        assert planned(collection, journal, today, start, ahead, earlier=earlier) == alone
