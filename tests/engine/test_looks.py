"""The looks of a rate, and looks in the calendar where trees move, come, go, are held, and where the weather turns."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedplan.engine.plan import plan_season
from feedplan.engine.season import CheckStretch, Season
from feedplan.engine.water.checks import EVERY_DAY, litres_for_look, looks_a_week, looks_on, weekdays_of
from feedplan.engine.water.thirst import LADDER
from feedplan.export.entries import calendar_entries
from feedplan.export.entry import CalendarEntry, Kind
from feedplan.load import Loaded, load_text
from feedplan.load.read_words import parse_check_rate
from feedplan.model.hold import CauseKind
from feedplan.model.journal import Caused, Entry, Fact, Gone, Journal, Moved, Seen, Subject
from feedplan.model.schedule import CheckRate
from tests.engine.test_balance import NORMALS, PLACE
from tests.engine.test_checks_by_weather import HOT, NORTH_HERE, SOUTH_HERE, daily, southern
from tests.engine.test_checks_by_weather import loaded as weathered
from tests.looks import looks_of, rate_of, watch_of
from tests.properties import examples

DAY = timedelta(days=1)
MONDAY = date(2027, 7, 5)
WEEK = [MONDAY + DAY * n for n in range(7)]
RATES = st.one_of(
    st.sampled_from(LADDER),
    st.integers(1, 21).map(lambda n: CheckRate(Decimal(n), f"{n} times a week")),
    st.integers(1, 14).map(lambda n: CheckRate(Decimal(7) / n, f"every {n} days")),
)


# --- the looks of a rate


@given(RATES)
def test_a_rate_is_never_looked_at_less_often_than_it_says(rate: CheckRate) -> None:
    looks = sum(looks_on(rate, day) for day in WEEK)
    assert looks == looks_a_week(rate)
    assert rate.per_week <= looks < rate.per_week + 1


@given(RATES, RATES)
def test_a_higher_rate_holds_every_look_of_a_lower_one(one: CheckRate, other: CheckRate) -> None:
    lower, higher = sorted([one, other])
    for look in range(3):
        assert set(weekdays_of(lower, look)) <= set(weekdays_of(higher, look))


@given(st.integers(1, 7))
def test_looks_of_a_week_lie_as_far_apart_as_they_can(count: int) -> None:
    days = weekdays_of(CheckRate(Decimal(count), "so often"))
    gaps = [after - before for before, after in pairwise((*days, days[0] + 7))]
    assert max(gaps) == -(-7 // count)


@pytest.mark.parametrize(
    ("words", "litres"),
    [("3 times a day", "0.14"), ("twice a day", "0.21"), ("once a day", "0.42"), ("twice a week", "1.5")],
)
def test_at_a_look_a_pot_takes_what_it_drank_since_the_last(words: str, litres: str) -> None:
    """Arithmetic, to two figures: 0.42 L a day is 2.94 L a week, over the looks of a week."""
    assert litres_for_look(0.42, parse_check_rate(words)) == Decimal(litres)


@pytest.mark.parametrize(
    ("words", "weekdays"),
    [
        ("every 2 weeks", [(0,), (), ()]),
        ("weekly", [(0,), (), ()]),
        ("twice a week", [(0, 4), (), ()]),
        ("every 3 days", [(0, 2, 4), (), ()]),
        ("every 2 days", [(0, 2, 4, 6), (), ()]),
        ("daily", [EVERY_DAY, (), ()]),
        ("10 times a week", [EVERY_DAY, (0, 2, 4), ()]),
        ("twice a day", [EVERY_DAY, EVERY_DAY, ()]),
        ("3 times a day", [EVERY_DAY, EVERY_DAY, EVERY_DAY]),
        ("6 times a day", [EVERY_DAY, EVERY_DAY, EVERY_DAY]),  # there are three times of day
    ],
)
def test_the_weekdays_of_the_rates_a_table_may_name(words: str, weekdays: list[tuple[int, ...]]) -> None:
    rate = parse_check_rate(words)
    assert [weekdays_of(rate, look) for look in range(3)] == weekdays


# --- trees that move, come, go and are held

TREES = """
feeds: {powder: {grade: 20-10-20, form: soluble}}
benches: {frame: {wind: sheltered, sun: part shade 40 %}, sill: {sun: indoors}}
groups:
  g: {schedule: vigorous, feed: powder}
  r: {schedule: recovering, feed: powder, bench: frame}
  in: {schedule: indoor-tropical, feed: powder, bench: sill}
trees:
  - {name: Shallow, species: maple, group: g, pot: 20 x 15 x 5 cm}
  - {name: Deep, species: oak, group: g, pot: 14 L}
  - {name: Weak, species: oak, group: r, pot: 14 L, weak: true}
  - {name: Fig, species: ficus, group: in, pot: 3 L}
  - {name: Newcomer, species: larch, group: g, pot: 6 L, since: 2027-07-14}
"""
NAMES = ("Shallow", "Deep", "Weak", "Fig", "Newcomer")
SOUTH_PLACE = PLACE.replace("53.4", "-41.2").replace("Europe/London", "Pacific/Auckland")
PLACES: tuple[Loaded, ...] = (
    load_text(PLACE + TREES),
    load_text(PLACE + TREES, climate={"normals.csv": NORMALS}),
    load_text(SOUTH_PLACE + TREES, climate={"normals.csv": southern(NORMALS)}),
)
WHERE = st.sampled_from(range(len(PLACES)))  # numbers, since the garden of a failure would be long to print
SOME_DAY = st.dates(date(2027, 1, 1), date(2028, 6, 30))
DEEDS: st.SearchStrategy[Fact] = st.one_of(
    st.builds(Moved, st.sampled_from(["g", "r", "in"]), st.sampled_from([None, "frame", "sill"])),
    st.builds(Moved, st.none(), st.sampled_from(["frame", "sill"])),
    st.just(Caused(CauseKind.WORK, "repotted", Decimal("0.4"))),
    st.just(Gone("died")),
)
SIGHTINGS: st.SearchStrategy[Fact] = st.sampled_from(["leaves open", "first flush hardened", "dormant"]).map(
    lambda word: Seen((word,))
)
FACTS = st.one_of(DEEDS, SIGHTINGS)


@st.composite
def journals(draw: st.DrawFn, last: date = date.max) -> Journal:
    entries = []
    for number in range(draw(st.integers(0, 5))):
        day = min(draw(SOME_DAY), last)
        subject = Subject(trees=(draw(st.sampled_from(NAMES)),))
        entries.append(Entry(f"e{number}", day, day, subject, draw(FACTS)))
    return Journal(tuple(entries))


def season_of(here: Loaded, journal: Journal, today: date, back: int = 90, ahead: int = 300) -> Season:
    start, end = today - DAY * back, today + DAY * ahead
    return plan_season(here.collection, journal, today, start, end, climate=here.climate)


@examples(15)
@given(WHERE, journals(), SOME_DAY)
def test_the_calendar_has_exactly_the_looks_of_the_rates_while_a_tree_is_here(
    where: int, journal: Journal, today: date
) -> None:
    here = PLACES[where]
    season = season_of(here, journal, today)
    for name in NAMES:
        watch = watch_of(season, name)
        for offset in range(-90, 300):
            day = today + DAY * offset
            rate = watch.rate_on(day)
            assert (rate is not None) == watch.timeline.here(day), (name, day)
            assert looks_of(season, name, day) == tuple(range(looks_on(rate, day))), (name, day)


@examples(15)
@given(WHERE, journals(), SOME_DAY)
def test_each_look_stands_under_the_group_of_its_day(where: int, journal: Journal, today: date) -> None:
    here = PLACES[where]
    season = season_of(here, journal, today)
    groups = {tree.name: watch_of(season, tree.name).timeline for tree in here.collection.trees}
    for stretch in season.checks:
        for offset in range((stretch.end - stretch.start).days + 1):
            day = stretch.start + DAY * offset
            if stretch.falls_on(day):
                assert {groups[tree.name].group_on(day) for tree in stretch.trees} == {stretch.group}
        dry = {tree.name for tree in stretch.trees if watch_of(season, tree.name).must_dry_on(stretch.start)}
        assert set(stretch.surface_dry) == dry


@st.composite
def deeds_of_today(draw: st.DrawFn) -> tuple[Journal, Entry]:
    today = draw(SOME_DAY)
    subject = Subject(trees=(draw(st.sampled_from(NAMES)),))
    return draw(journals(today)), Entry("new", today, today, subject, draw(DEEDS))


@examples(15)
@given(WHERE, deeds_of_today())
def test_what_is_written_today_changes_no_look_of_the_past(
    where: int, written: tuple[Journal, Entry]
) -> None:
    """Sightings apart, which move a stage and may tell of days before."""
    here = PLACES[where]
    journal, entry = written
    today = entry.day
    before = season_of(here, journal, today)
    after = season_of(here, Journal((*journal.entries, entry)), today)
    for name in NAMES:
        for offset in range(-90, 0):
            day = today + DAY * offset
            assert looks_of(after, name, day) == looks_of(before, name, day), (name, day)


@st.composite
def days_and_journals(draw: st.DrawFn) -> tuple[date, Journal]:
    today = draw(SOME_DAY)
    return today, draw(journals(today))


def water(here: Loaded, journal: Journal, today: date) -> dict[str, CalendarEntry]:
    entries = calendar_entries(season_of(here, journal, today), here.collection)
    return {entry.key: entry for entry in entries if entry.kind is Kind.WATER}


@examples(15)
@given(WHERE, days_and_journals())
def test_a_day_later_with_nothing_new_every_look_is_the_same_event(
    where: int, written: tuple[date, Journal]
) -> None:
    here = PLACES[where]
    today, journal = written
    today_s, tomorrow_s = water(here, journal, today), water(here, journal, today + DAY)
    shared = today_s.keys() & tomorrow_s.keys()
    assert {key: today_s[key] for key in shared} == {key: tomorrow_s[key] for key in shared}
    # What is in one alone has gone out of the days shown, or has come into them.
    first, last = today - DAY * 89, today + DAY * 300
    gone = [entry for key, entry in today_s.items() if key not in shared]
    come = [entry for key, entry in tomorrow_s.items() if key not in shared]
    assert all(entry.repeat is None or entry.repeat.until < first for entry in gone if not _is_flush(entry))
    assert all(entry.start > last for entry in come if not _is_flush(entry))


def _is_flush(entry: CalendarEntry) -> bool:
    return entry.key.startswith("flush/")


@pytest.mark.parametrize("weekday", range(7))
def test_a_hold_that_starts_in_the_middle_of_a_week_adds_looks_from_its_day(weekday: int) -> None:
    cut = date(2027, 5, 10) + DAY * weekday
    entry = Entry(
        "cut", cut, cut, Subject(trees=("Deep",)), Caused(CauseKind.WORK, "repotted", Decimal("0.4"))
    )
    for here in PLACES[:2]:
        plain, held = (season_of(here, Journal(entries), cut) for entries in ((), (entry,)))
        assert rate_of(held, "Deep", cut) >= rate_of(plain, "Deep", cut)
        for offset in range(-10, 60):
            day = cut + DAY * offset
            if offset < 0:
                assert looks_of(held, "Deep", day) == looks_of(plain, "Deep", day)
            assert set(looks_of(held, "Deep", day)) >= set(looks_of(plain, "Deep", day))
        assert [len(looks_of(held, "Deep", cut + DAY * n)) for n in range(7)] == [1] * 7


# --- spells of weather

TODAY = date(2027, 7, 10)
WARM_SPELL = daily(TODAY - 10 * DAY, HOT)


def raised(season: Season) -> list[CheckStretch]:
    return [stretch for stretch in season.checks if stretch.rise is not None]


def hot(entries: tuple[Entry, ...] = (), today: date = TODAY) -> Season:
    return season_of(weathered(daily=WARM_SPELL, trees=TREES), Journal(entries), today)


def test_looks_for_heat_follow_a_tree_that_moves_or_goes_while_it_lasts() -> None:
    """The spell lasts from 12 to 15 July; Deep moves to another group on the 13th, Shallow dies on the 14th."""
    moved = Entry("m", date(2027, 7, 13), date(2027, 7, 13), Subject(trees=("Deep",)), Moved("r", None))
    died = Entry("d", date(2027, 7, 14), date(2027, 7, 14), Subject(trees=("Shallow",)), Gone("died"))
    season = hot((moved, died), today=date(2027, 7, 14))
    assert {stretch.group for stretch in raised(season)} >= {"g", "r"}
    for day in (date(2027, 7, n) for n in range(10, 17)):
        for name in NAMES:
            rate = watch_of(season, name).rate_on(day)
            assert looks_of(season, name, day) == tuple(range(looks_on(rate, day))), (name, day)
    assert not any(tree.name == "Shallow" for s in raised(season) if s.end >= died.day for tree in s.trees)


def test_a_tree_that_comes_while_it_is_hot_is_looked_at_from_its_day_on() -> None:
    season = hot()
    [stretch] = [s for s in raised(season) if any(tree.name == "Newcomer" for tree in s.trees)]
    assert (stretch.start, stretch.end) == (date(2027, 7, 14), date(2027, 7, 15))


def test_indoors_heat_asks_for_nothing() -> None:
    assert not any(tree.name == "Fig" for stretch in raised(hot()) for tree in stretch.trees)


def test_a_spell_longer_than_a_month_stays_one_event() -> None:
    """It began sixty days ago and goes on: its first day, and so its identity, must not slide from day to day."""
    first = date(2027, 7, 1)
    record = daily(first, {}, days=90, wind=9)
    here = weathered(daily=record, trees=TREES)
    days = [first + DAY * n for n in (61, 62, 70)]
    keys = [
        {s.key for s in raised(season_of(here, Journal(()), day)) if s.start < days[0] - DAY * 40}
        for day in days
    ]
    assert keys[0]
    assert keys[0] == keys[1] == keys[2]


def test_frozen_days_for_more_than_a_month_stay_one_event() -> None:
    first = date(2027, 12, 1)
    cold = daily(first, dict.fromkeys(range(80), (-9.0, -2.0)), days=80)
    spells = [
        season_of(weathered(daily=cold, trees=TREES), Journal(()), first + DAY * n).frosts
        for n in (40, 41, 60)
    ]
    assert [(spell.key, spell.start) for [spell] in spells] == [(f"frozen/{first}", first)] * 3


# --- the same whatever else is planned

TROPICAL = "month,tmin_c,tmax_c\n" + "".join(f"{month},22,31\n" for month in range(1, 13))


@pytest.mark.parametrize("latitude", ["1.3", "-3.0"])
def test_where_the_year_is_all_alike_rates_do_not_hang_on_the_days_planned(latitude: str) -> None:
    """No season there brings the slow coming down of a rate to an end: each season is walked by itself."""
    pots = "".join(
        f"  - {{name: P{n}, species: ficus, group: g, pot: 20 x 15 x {4 + n / 4} cm}}\n" for n in range(24)
    )
    here = weathered(PLACE.replace("53.4", latitude), TROPICAL, trees=TREES + pots)
    today = date(2027, 2, 10)
    spans = [
        season_of(here, Journal(()), today, back, ahead) for back, ahead in ((0, 0), (30, 400), (700, 900))
    ]
    for tree in here.collection.trees:
        rates = {watch_of(season, tree.name).rate_on(today) for season in spans}
        assert len(rates) == 1, tree.name


@pytest.mark.parametrize("here", [NORTH_HERE, SOUTH_HERE])
def test_far_horizons_repeat_the_year(here: Loaded) -> None:
    far = plan_season(
        here.collection, here.journal, date(2027, 3, 1), end=date(2032, 2, 1), climate=here.climate
    )
    for name in ("Shallow", "Deep", "Pine"):
        for month in range(1, 13):
            rates = [rate_of(far, name, date(year, month, 15)) for year in (2028, 2029, 2030, 2031)]
            assert len(set(rates)) <= 2, (name, month)  # a week or a leap day apart at most
    assert max(stretch.end for stretch in far.checks) >= date(2032, 2, 1)


def test_two_thousand_different_trees_make_few_events() -> None:
    """Different pots, half of them held: every tree is looked at, at its own rate, in a bounded number of events."""
    trees = "".join(
        f"  - {{name: T{n}, species: maple, group: {'gr'[n % 2]}, pot: {1 + n / 100:.2f} L}}\n"
        for n in range(2000)
    )
    here = weathered(trees=TREES + trees)
    entries = tuple(
        Entry(
            f"e{n}",
            TODAY,
            TODAY,
            Subject(trees=(f"T{n}",)),
            Caused(CauseKind.WORK, "repotted", Decimal("0.4")),
        )
        for n in range(0, 2000, 40)
    )
    season = season_of(here, Journal(entries), TODAY, 30, 400)
    assert sum(len(watch.trees) for watch in season.watches) == 2005
    assert len(season.checks) < 800
    for name in ("T0", "T1", "T777", "T1960"):
        rate = watch_of(season, name).rate_on(TODAY)
        assert looks_of(season, name, TODAY) == tuple(range(looks_on(rate, TODAY)))


def test_stretches_say_the_same_when_trees_are_listed_in_another_order() -> None:
    here = PLACES[1]
    turned = replace(here.collection, trees=here.collection.trees[::-1])
    one = plan_season(here.collection, here.journal, TODAY, climate=here.climate)
    other = plan_season(turned, here.journal, TODAY, climate=here.climate)

    def told(season: Season) -> dict[str, tuple[object, ...]]:
        return {
            c.key: (c.start, c.end, c.weekdays, {t.name for t in c.trees}, c.litres, set(c.surface_dry))
            for c in season.checks
        }

    assert told(one) == told(other)
