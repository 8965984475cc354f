"""Checks that go by the weather: what must hold for any pot and journal, and what stays the same from day to day."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedplan.engine.answers.explain import timeline_of
from feedplan.engine.day import day_of
from feedplan.engine.plan import plan_season
from feedplan.engine.season import ChecksBasis, CheckStretch, Season
from feedplan.export.entries import calendar_entries
from feedplan.export.entry import CalendarEntry
from feedplan.export.water_text import bench_lines
from feedplan.load import Loaded, load_text
from feedplan.model.journal import Entry, Journal, Seen, Subject
from feedplan.words.outdoors import checks_by_words
from feedplan.words.reasons import fact_words
from tests.engine.test_balance import NORMALS, PLACE
from tests.looks import looks_in_week, looks_of, rate_of, watch_of
from tests.properties import examples

DAY = timedelta(days=1)
TREES = """
feeds: {powder: {grade: 20-10-20, form: soluble}}
groups: {g: {schedule: vigorous, feed: powder}, r: {schedule: recovering, feed: powder}}
trees:
  - {name: Shallow, species: maple, group: g, pot: 20 x 15 x 5 cm}
  - {name: Medium, species: larch, group: g, pot: 30 x 22 x 9 cm}
  - {name: Deep, species: oak, group: g, pot: 14 L}
  - {name: Pine, species: pine, group: g, pot: 25 x 20 x 6 cm}
  - {name: Weak, species: oak, group: r, pot: 14 L, weak: true}
  - {name: Sound, species: oak, group: r, pot: 14 L}
"""
NAMES = ("Shallow", "Medium", "Deep", "Pine", "Weak", "Sound")
SOUTH = PLACE.replace("53.4", "-41.2").replace("Europe/London", "Pacific/Auckland")


def southern(normals: str) -> str:
    """The same twelve months half a year on."""
    head, *rows = normals.strip().splitlines()
    months = [row.split(",", 1)[1] for row in rows]
    turned = [f"{m},{months[(m + 5) % 12]}" for m in range(1, 13)]
    return "\n".join([head, *turned]) + "\n"


def loaded(
    place: str = PLACE, normals: str = NORMALS, daily: str = "", trees: str = TREES, journal: str = ""
) -> Loaded:
    tables = {"normals.csv": normals} | ({"daily.csv": daily} if daily else {})
    return load_text(place + trees, journal, climate=tables)


NORTH_HERE, SOUTH_HERE = loaded(), loaded(SOUTH, southern(NORMALS))


def season_of(here: Loaded, today: date, journal: Journal | None = None) -> Season:
    start, end = today - timedelta(days=60), today + timedelta(days=400)
    return plan_season(here.collection, journal or here.journal, today, start, end, climate=here.climate)


DAYS = st.dates(date(2027, 1, 1), date(2028, 12, 31))
PLACES = {"north": NORTH_HERE, "south": SOUTH_HERE}
BY_NAME = st.sampled_from(sorted(PLACES))  # a counterexample names its place and does not print it


@st.composite
def journals(draw: st.DrawFn) -> Journal:
    words = ["leaves open", "first flush hardened", "leaves colouring", "dormant", "limp"]
    entries = []
    for number in range(draw(st.integers(0, 4))):
        day = draw(DAYS)
        subject = Subject(trees=(draw(st.sampled_from(NAMES)),))
        entries.append(Entry(f"e{number}", day, day, subject, Seen((draw(st.sampled_from(words)),))))
    return Journal(tuple(entries))


@examples(15)
@given(BY_NAME, journals(), DAYS)
def test_every_tree_is_looked_at_on_every_day_at_least_twice_a_week(
    place: str, journal: Journal, today: date
) -> None:
    here = PLACES[place]
    season = season_of(here, today, journal)
    for name in NAMES:
        for offset in range(-20, 380, 13):
            day = today + DAY * offset
            assert rate_of(season, name, day) >= 2, (name, day)
            assert looks_in_week(season, name, day) >= 2, (name, day)


@examples(10)
@given(BY_NAME, DAYS)
def test_a_weak_tree_is_looked_at_as_often_as_a_sound_one_in_the_same_pot(place: str, today: date) -> None:
    here = PLACES[place]
    season = season_of(here, today)
    for offset in range(-20, 380, 11):
        day = today + DAY * offset
        assert rate_of(season, "Weak", day) >= rate_of(season, "Sound", day)
        assert set(looks_of(season, "Weak", day)) >= set(looks_of(season, "Sound", day))


@pytest.mark.parametrize(("here", "day"), [(NORTH_HERE, date(2027, 7, 15)), (SOUTH_HERE, date(2028, 1, 15))])
def test_in_high_summer_pots_are_looked_at_one_to_three_times_a_day_by_their_size(
    here: Loaded, day: date
) -> None:
    """Practice, 20 to 27 °C: shallow twice a day, 7 to 12 cm once or twice, deep once; from memory."""
    season = season_of(here, day)
    rates = [rate_of(season, name, day) for name in ("Shallow", "Medium", "Deep")]
    assert rates == sorted(rates, reverse=True)
    assert rates[0] >= 14
    assert all(7 <= rate <= 21 for rate in rates)


@pytest.mark.parametrize(("here", "day"), [(NORTH_HERE, date(2028, 1, 15)), (SOUTH_HERE, date(2028, 7, 15))])
def test_in_winter_every_pot_is_looked_at_twice_a_week(here: Loaded, day: date) -> None:
    """Practice: once or twice a week above freezing; from memory."""
    season = season_of(here, day)
    assert [rate_of(season, name, day) for name in NAMES] == [2] * len(NAMES)


def test_both_hemispheres_have_the_same_year_half_a_year_apart() -> None:
    north, south = season_of(NORTH_HERE, date(2027, 2, 1)), season_of(SOUTH_HERE, date(2027, 8, 1))
    for name in NAMES:
        months = [(date(2027, m, 15), date(2027 + (m > 6), (m + 5) % 12 + 1, 15)) for m in range(2, 13)]
        # Half-years differ in length, so a stage or a step may fall some days apart.
        near = [-7 * DAY, 0 * DAY, 7 * DAY]
        differ = [
            day
            for day, turned in months
            if rate_of(north, name, day) not in {rate_of(south, name, turned + off) for off in near}
        ]
        assert len(differ) <= 2, (name, differ)


def test_cutting_roots_takes_no_look_away() -> None:
    journal = "- {date: 2027-05-20, tree: Deep, work: repotted, roots: 50 %}\n"
    before, after = (
        season_of(NORTH_HERE, date(2027, 6, 1)),
        season_of(loaded(journal=journal), date(2027, 6, 1)),
    )
    for offset in range(-10, 200):
        day = date(2027, 6, 1) + DAY * offset
        assert rate_of(after, "Deep", day) >= rate_of(before, "Deep", day)
        assert set(looks_of(after, "Deep", day)) >= set(looks_of(before, "Deep", day))
    held = watch_of(after, "Deep")
    days = [date(2027, 5, 20) + DAY * n for n in range(30)]
    assert all(held.must_dry_on(day) for day in days)
    assert all(rate_of(after, "Deep", day) >= 7 for day in days)
    dry = [c for c in after.checks if c.group == "g" and c.surface_dry]
    assert {name for c in dry for name in c.surface_dry} == {"Deep"}
    assert min(c.start for c in dry) == days[0]


def daily(
    first: date, temperatures: Mapping[int, tuple[float, float]], days: int = 20, wind: float = 3
) -> str:
    """A record of mild days from `first` on, some of them otherwise."""
    rows = []
    for offset in range(days):
        low, high = temperatures.get(offset, (11, 20))
        rows.append(f"{first + DAY * offset},{low},{high},0,{wind}")
    return "date,tmin_c,tmax_c,rain_mm,wind_10m_m_per_s\n" + "\n".join(rows) + "\n"


TODAY = date(2027, 7, 10)
HOT = dict.fromkeys((12, 13, 14), (17.0, 33.0))


def names(stretch: CheckStretch) -> set[str]:
    return {tree.name for tree in stretch.trees}


def rises_on(today: date, table: str) -> list[CheckStretch]:
    return [c for c in season_of(loaded(daily=table), today).checks if c.rise]


def test_heat_ahead_stands_in_a_stretch_of_its_own_and_says_why() -> None:
    rises = rises_on(TODAY, daily(TODAY - 10 * DAY, HOT))
    medium = next(c for c in rises if "Medium" in names(c))
    # Three hot days, and the first cooler one: a heat wave is over on the second day below 28 °C.
    assert (medium.start, medium.end) == (TODAY + 2 * DAY, TODAY + 5 * DAY)
    assert medium.rise is not None
    assert medium.rise.rate.name == "twice a day"  # practice over 28 °C, pots of 7 to 12 cm; from memory
    assert (medium.look, medium.weekdays) == (
        1,
        (0, 1, 2, 3, 4, 5, 6),
    )  # the second look of each of these days
    assert fact_words(medium.rise.cause, TODAY) == "33 °C on 12 Jul"


def test_the_usual_stretch_stays_as_it_is_under_a_rise() -> None:
    def usual(season: Season) -> list[CheckStretch]:
        # Warm days on record bring a predicted stage a day sooner, and with it the last figure of the litres.
        return [replace(c, litres=None) for c in season.checks if not c.rise]

    assert usual(season_of(loaded(daily=daily(TODAY - 10 * DAY, HOT)), TODAY)) == usual(
        season_of(NORTH_HERE, TODAY)
    )


def test_a_rise_keeps_its_key_and_days_while_it_lasts() -> None:
    table = daily(TODAY - 10 * DAY, HOT, days=24)
    seen = [rises_on(TODAY + DAY * n, table) for n in (1, 2, 3, 4)]
    assert all(
        {(c.key, c.start, c.end) for c in found} == {(c.key, c.start, c.end) for c in seen[0]}
        for found in seen
    )
    assert rises_on(TODAY + 6 * DAY, table) == []


def test_wind_asks_for_a_look_more() -> None:
    windy = rises_on(TODAY, daily(TODAY - 10 * DAY, {}, wind=9))
    assert {name for c in windy for name in names(c)} >= {"Medium", "Deep"}
    assert all(
        fact_words(c.rise.cause, TODAY).startswith("wind of 9 m/s") for c in windy if c.rise is not None
    )


def test_mild_days_and_cool_ones_ask_for_nothing_more_or_less() -> None:
    cool = daily(TODAY - 10 * DAY, dict.fromkeys(range(20), (8, 13)))
    assert rises_on(TODAY, cool) == []


def test_a_forecast_too_old_raises_nothing() -> None:
    table = daily(TODAY - 14 * DAY, HOT, days=16).replace(
        "date,tmin_c,tmax_c,rain_mm,wind_10m_m_per_s", "date,tmin_c,tmax_c,rain_mm,wind_10m_m_per_s,standing"
    )
    marked = "\n".join(
        f"{line},{'observed' if n < 8 else 'forecast'}" if n else line
        for n, line in enumerate(table.strip().splitlines())
    )
    assert rises_on(TODAY, marked) == []


def test_frozen_days_ahead_are_a_spell_and_take_no_check_away() -> None:
    january = date(2028, 1, 10)
    table = daily(january - 5 * DAY, dict.fromkeys((6, 7, 8), (-7, -1)), days=12).replace("11,20", "2,7")
    season = season_of(loaded(daily=table), january)
    [spell] = season.frosts
    assert (spell.start, spell.end, spell.lowest_c) == (january + DAY, january + 3 * DAY, -7)
    assert rate_of(season, "Shallow", spell.start) == 2
    entry = entries_of(loaded(daily=table), january)[spell.key]
    assert "do not water" in entry.title
    assert entry.days == 3


@pytest.mark.parametrize(("frozen", "spells"), [((6, 8), [(1, 3)]), ((6, 9), [(1, 1), (4, 4)])])
def test_one_quieter_day_does_not_end_a_spell_and_two_do(
    frozen: tuple[int, ...], spells: list[tuple[int, int]]
) -> None:
    """Judgement: one milder day thaws no pot, and a spell told as two would ring twice."""
    january = date(2028, 1, 10)
    table = daily(january - 5 * DAY, dict.fromkeys(frozen, (-7, -1)), days=12).replace("11,20", "2,7")
    found = season_of(loaded(daily=table), january).frosts
    assert [((each.start - january).days, (each.end - january).days) for each in found] == spells


def entries_of(here: Loaded, today: date) -> dict[str, CalendarEntry]:
    return {entry.key: entry for entry in calendar_entries(season_of(here, today), here.collection)}


@pytest.mark.parametrize("day", [date(2027, 4, 20), date(2027, 7, 10), date(2027, 12, 31), date(2028, 6, 30)])
@pytest.mark.parametrize("here", [NORTH_HERE, SOUTH_HERE])
def test_a_day_without_news_changes_no_check(here: Loaded, day: date) -> None:
    today, tomorrow = (entries_of(here, each) for each in (day, day + DAY))
    water = [key for key in today.keys() & tomorrow.keys() if key.startswith("water/")]
    assert water
    assert [key for key in water if today[key] != tomorrow[key]] == []


def test_new_year_renumbers_no_stretch() -> None:
    before, after = (season_of(NORTH_HERE, day) for day in (date(2027, 12, 30), date(2028, 1, 2)))
    shown = [c for c in before.checks if c.end >= after.start]
    assert shown
    assert shown == [c for c in after.checks if c.start <= before.end]


def test_a_pot_thirsty_all_year_is_told_in_stretches_of_a_season_at_most() -> None:
    tropical = "month,tmin_c,tmax_c\n" + "".join(f"{m},22,34\n" for m in range(1, 13))
    equator = PLACE.replace("53.4", "1.3")
    season = season_of(loaded(equator, tropical), date(2027, 6, 1))
    assert all((c.end - c.start).days <= 366 for c in season.checks)


def test_without_normals_checks_go_by_the_table_and_say_so() -> None:
    table = load_text(PLACE + TREES, climate={"daily.csv": daily(TODAY, {})})
    season = season_of(table, TODAY)
    assert season.checks_by is ChecksBasis.TABLE_NO_NORMALS
    assert "no normals" in checks_by_words(season.checks_by)
    assert season.checks == season_of(load_text(PLACE + TREES), TODAY).checks


def test_a_grower_may_keep_to_the_table() -> None:
    here = loaded(trees="habits: {checks_by: schedule}\n" + TREES)
    season = season_of(here, TODAY)
    assert season.checks_by is ChecksBasis.TABLE_BY_HABIT
    assert "habits" in checks_by_words(season.checks_by)
    assert all(c.litres is None for c in season.checks)
    # Each row of the table counts from the day of its stage on.
    oak = timeline_of(season, "Deep")
    assert oak is not None
    stages = {at.stage: at.day for at in oak.stage_dates(2027)}
    rows = here.collection.groups["g"].schedule.water
    assert len(rows) >= 4
    for row in rows:
        day = stages[row.stage]
        assert day is not None
        assert watch_of(season, "Deep").rate_on(day) == row.deep


def test_trees_indoors_keep_to_the_table_while_their_neighbours_follow_the_weather() -> None:
    trees = """
feeds: {powder: {grade: 20-10-20, form: soluble}}
groups: {in: {schedule: indoor-tropical, feed: powder}, out: {schedule: vigorous, feed: powder}}
trees:
  - {name: Fig, species: ficus, group: in, pot: 3 L}
  - {name: Elm, species: elm, group: out, pot: 3 L}
"""
    season = season_of(loaded(trees=trees), TODAY)
    by_group = {c.group: c for c in season.checks if c.start <= TODAY <= c.end and c.look == 0}
    assert by_group["in"].litres is None
    assert by_group["out"].litres is not None


def test_many_trees_alike_cost_little_more_than_few() -> None:
    """Distinct pots are walked, not trees: ten thousand trees of 40 kinds of pot make no more courses than forty."""
    trees = "".join(
        f"  - {{name: T{n}, species: maple, group: g, pot: {1 + n % 40} L}}\n" for n in range(2000)
    )
    many = loaded(trees=TREES + trees)
    season = season_of(many, TODAY)
    assert len(season.watches) <= 6 + 40
    assert sum(len(c.trees) for c in season.checks if c.falls_on(TODAY) and c.look == 0) == 2006
    assert len(season.checks) <= 6 * len(season_of(NORTH_HERE, TODAY).checks)


WET = """
- {date: 2027-06-20, tree: Shallow, trouble: waterlogged}
- {date: 2027-06-20, tree: Medium, work: defoliated}
"""


def test_a_wet_root_heads_no_list_of_thirst_and_is_told_to_dry_first() -> None:
    """Practice: a waterlogged tree waits for water, a defoliated one drinks little; both are looked at all the same."""
    day = date(2027, 6, 21)
    here = loaded(journal=WET)
    season, dry = season_of(here, day), season_of(loaded(), day)
    benches = day_of(season, day).thirst
    by_bench = [[pot.tree.name for pot in bench.pots if pot.must_dry] for bench in benches]
    assert sorted(name for names in by_bench for name in names) == ["Medium", "Shallow", "Weak"]
    for bench, names in zip(benches, by_bench, strict=True):
        assert [pot.tree.name for pot in bench.pots[len(bench.pots) - len(names) :]] == names
    first, *_ = bench_lines(benches, here.collection.habits.can_litres)
    assert "dry in" in first.split(",")[0]
    pours = [{p.tree.name: p.pour_l for b in day_of(s, day).thirst for p in b.pots} for s in (season, dry)]
    # Half of what it drank in full leaf: 40 to 60 % is common practice, no source.
    assert 0.4 <= pours[0]["Medium"] / pours[1]["Medium"] <= 0.6
    for name in ("Shallow", "Medium"):
        assert rate_of(season, name, day) >= rate_of(dry, name, day)
        stretches = [s for s in season.checks if s.start <= day <= s.end and name in s.surface_dry]
        assert stretches
        assert all(name not in s.dries_first for s in stretches)


@pytest.mark.parametrize(
    ("hours", "words"),
    [(0.2, "dry in 1 h"), (47.4, "dry in 47 h"), (48, "2 days"), (719, "30 days"), (721, "at rest")],
)
def test_how_long_a_pot_lasts_is_told_in_hours_then_days_and_not_for_trees_at_rest(
    hours: float, words: str
) -> None:
    """Judgement: hours up to two days, days up to a month."""
    here = loaded()
    bench, *_ = day_of(season_of(here, TODAY), TODAY).thirst
    alone = replace(bench, pots=(replace(bench.pots[0], thirst=24 / hours, must_dry=False),))
    (line,) = bench_lines((alone,), here.collection.habits.can_litres)
    assert f"({words})" in line


TRAYS = """
feeds: {powder: {grade: 20-10-20, form: soluble}}
groups: {nursery: {schedule: seedlings, feed: powder}}
trees: [{name: Tray, species: elm, group: nursery, pot: 40 x 30 x 6 cm, count: 24}]
"""


def test_sown_trays_are_looked_at_as_often_as_their_table_asks_whatever_the_weather() -> None:
    """Seedlings: daily from the sown seed on, twice a day from the first true leaves (common practice, no source)."""
    season = season_of(loaded(trees=TRAYS), date(2027, 3, 1))
    swelling, leaves = (
        next(at.day for at in season.timelines[0].stage_dates(2027) if at.stage == stage and at.day)
        for stage in ("buds swelling", "first true leaves")
    )
    assert rate_of(season, "Tray", swelling) >= 7
    assert rate_of(season, "Tray", leaves) >= 14
    assert rate_of(season, "Tray", date(2027, 12, 28)) == 2
