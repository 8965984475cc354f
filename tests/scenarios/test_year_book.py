"""A past year as it was: what was told, what became of it, nitrogen, holds and repots, worked out by hand.

Schedules are those of `planning`: V 150 ppm every 10 days to 15 August, then 50 ppm every 14 days to 30 September; F
60 ppm every 21 days from the hardened flush. A tenth of the pot is poured, so that 150 ppm bring 15 mg N per L of pot.
A larch's leaves open on 10 April and its first flush hardens on 28 May by the typical year (schedules/stages.yaml).
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

from feedplan import memory
from feedplan.engine.answers.explain import nitrogen_by, timeline_of
from feedplan.engine.answers.year_book import TreeYear, YearBook, year_book
from feedplan.engine.growing_year import season_end, season_start
from feedplan.engine.plan import plan_season
from feedplan.engine.season import Season
from feedplan.load.collection import load_collection, load_text
from tests.scenarios.planning import KORORUA_BAY, SCHEDULES, SINCE_24_APRIL, WRENMOOR, whole

NORTH = f"""{WRENMOOR}{SINCE_24_APRIL}
feeds: {{powder: {{grade: 20-10-20, form: soluble}}}}
groups:
  V: {{schedule: V, feed: powder, changes: {{repot_every: 3 years}}}}
  F: {{schedule: F, feed: powder}}
trees:
  - {{name: Sorrel, species: larch, group: V, pot: 10 L}}
  - {{name: Gannet, species: larch, group: V, pot: 5 L, repot_every: 2 years}}
  - {{name: Teal, species: larch, group: V, pot: 2 L}}
"""
NORTH_JOURNAL = """
- {date: 2027-04-24, species: larch, seen: leaves open}
- {date: 2027-04-26, tree: Gannet, work: repotted, roots: 30 %}
- {date: 2027-05-04, tree: Sorrel, fed: as planned}
- {date: 2027-05-14, tree: Sorrel, fed: 100 ppm N}
- {date: 2027-05-24, tree: Sorrel, not_fed: too wet}
- {date: 2027-06-05, tree: Sorrel, fed: as planned, part: 50 %}
- {date: 2027-06-06, tree: Gannet, seen: hardened}
- {date: 2027-08-01, tree: Sorrel, moved: F}
- {date: 2028-05-01, tree: Gannet, gone: sold}
"""
SOUTH = f"""{KORORUA_BAY}since: 2027-07-01
feeds: {{powder: {{grade: 20-10-20, form: soluble}}}}
groups: {{V: {{schedule: V, feed: powder}}}}
trees: [{{name: Weka, species: larch, group: V, pot: 4 L, repot_every: 2 years}}]
"""
SOUTH_JOURNAL = """
- {date: 2027-09-05, tree: Weka, work: repotted, roots: 30 %}
- {date: 2027-10-20, tree: Weka, seen: leaves open}
- {date: 2027-11-15, tree: Weka, seen: extension}
- {date: 2027-12-10, tree: Weka, seen: hardened}
"""
LATE_SIGNS = """
- {date: 2025-03-22, tree: Teal, work: repotted, roots: 25 %}
- {date: 2025-07-10, tree: Teal, seen: [extension, hardened]}
"""
SALT = """
- {date: 2028-02-03, tree: Weka, trouble: salt}
- {date: 2028-11-20, tree: Weka, seen: clean new leaves}
"""


def planned(collection: str, journal: str, year: int, today: str) -> Season:
    """The plan of a whole growing year, seen from a day."""
    loaded = load_text(collection, journal, SCHEDULES)
    hemisphere = loaded.collection.place.hemisphere
    span = season_start(year, hemisphere), season_end(year, hemisphere)
    return plan_season(loaded.collection, loaded.journal, date.fromisoformat(today), *span)


def book(collection: str, journal: str, year: int, today: str) -> YearBook:
    return year_book(planned(collection, journal, year, today), year)


def north(year: int, today: str = "2029-02-01") -> YearBook:
    return book(NORTH, NORTH_JOURNAL, year, today)


def south(year: int, more: str = "") -> YearBook:
    return book(SOUTH, SOUTH_JOURNAL + more, year, "2029-09-01")


def of(told: YearBook, name: str) -> TreeYear:
    return next(tree for tree in told.trees if tree.tree.name == name)


def feeds(tree: TreeYear) -> list[str]:
    """Each feed as "2027-05-14 100 given otherwise": the day given, or else told."""
    return [f"{each.feed.day} {whole(each.feed.ppm)} {each.feed.outcome}" for each in tree.feeds]


def test_each_feed_tells_what_became_of_it() -> None:
    """24 April and every 10 days; given on 5 June, the next counts from there; moved after 25 July, 21 days from it."""
    assert feeds(of(north(2027), "Sorrel")) == [
        "2027-04-24 150 taken as given",
        "2027-05-04 150 given",
        "2027-05-14 100 given otherwise",
        "2027-05-24 150 not given",
        "2027-06-05 150 given otherwise",
        "2027-06-15 150 taken as given",
        "2027-06-25 150 taken as given",
        "2027-07-05 150 taken as given",
        "2027-07-15 150 taken as given",
        "2027-07-25 150 taken as given",
        "2027-08-15 60 taken as given",
        "2027-09-05 60 taken as given",
        "2027-09-26 60 taken as given",
    ]


def test_nitrogen_is_the_sum_of_what_was_poured() -> None:
    """150 twice, 100 once, half of 150, 150 five times and 60 three times, a tenth of each; the budget is that of F."""
    sorrel = of(north(2027), "Sorrel")
    assert sorrel.n_mg_per_l == Decimal("0.1") * (2 * 150 + 100 + 75 + 5 * 150 + 3 * 60)
    assert sorrel.budget_mg_n_per_l == 200


def test_the_year_of_a_repotted_tree() -> None:
    """The ramp is 25, 50 and 100 % of 150 ppm from 6 June; 35 days from 26 April are over on 31 May."""
    gannet = of(north(2027), "Gannet")
    assert [day.split(" given")[0] for day in feeds(gannet)[:4]] == [
        "2027-04-24 150 taken as",
        "2027-06-06 38 taken as",
        "2027-06-16 75 taken as",
        "2027-06-26 150 taken as",
    ]
    # 150 on 24 April, the ramp, 150 from 26 June to 15 August every 10 days, 50 on 25 August, 8 and 22 September.
    ppm = 150 + Decimal("37.5") + 75 + 6 * 150 + 3 * 50
    assert gannet.n_mg_per_l == ppm / 10
    assert [(str(held.hold.minimum), str(held.hold.end), held.over_days) for held in gannet.holds] == [
        ("2027-05-31", "2027-06-06", 6)
    ]
    seen = {at.stage: (str(at.day), at.day - at.typical) for at in gannet.stages if at.day}
    assert {stage: (day, late.days) for stage, (day, late) in seen.items()} == {
        "leaves open": ("2027-04-24", 14),
        "first flush hardened": ("2027-06-06", 9),
    }


def test_groups_are_told_with_the_days_of_moves() -> None:
    stays = of(north(2027), "Sorrel").stays
    assert [(stay.group, str(stay.start), stay.end and str(stay.end)) for stay in stays] == [
        ("V", "2027-01-01", "2027-08-01"),
        ("F", "2027-08-01", None),
    ]


def test_a_tree_sold_is_told_of_to_its_last_day_and_is_not_to_be_repotted() -> None:
    """By the typical year: 10, 20 and 30 April."""
    gannet = of(north(2028), "Gannet")
    assert gannet.n_mg_per_l == 45
    assert gannet.stays[0].end == date(2028, 5, 1)
    assert gannet.repot_due is None
    assert [tree.tree.name for tree in north(2029, "2030-01-05").trees] == ["Sorrel", "Teal"]


def test_a_tree_is_due_so_many_years_after_its_last_repot_on_record() -> None:
    """Gannet's own two years; Teal's three are the group's, with no repot to count from; F asks for none."""
    told = north(2027)
    assert [(t.tree.name, t.repot_every_years, t.repot_due) for t in told.trees] == [
        ("Sorrel", None, None),
        ("Gannet", 2, 2029),
        ("Teal", 3, None),
    ]


def test_a_southern_year_goes_from_july_to_june() -> None:
    """The ramp from 10 December, as the flush has hardened; 50 ppm from 18 February, ten days after the 8th.

    The last of March is the last day of V there; 2028 has a 29 February.
    """
    weka = of(south(2027), "Weka")
    assert [each.split(" taken")[0] for each in feeds(weka)] == [
        "2027-12-10 38",
        "2027-12-20 75",
        "2027-12-30 150",
        "2028-01-09 150",
        "2028-01-19 150",
        "2028-01-29 150",
        "2028-02-08 150",
        "2028-02-18 50",
        "2028-03-03 50",
        "2028-03-17 50",
        "2028-03-31 50",
    ]
    assert weka.n_mg_per_l == (Decimal("37.5") + 75 + 5 * 150 + 4 * 50) / 10
    assert weka.repot_due == 2029  # the season of September 2027 and two years: from July 2029
    assert [(str(held.hold.minimum), held.over_days) for held in weka.holds] == [("2027-10-10", 61)]
    leaves = next(at for at in weka.stages if at.stage == "leaves open")
    assert leaves.day is not None
    assert (leaves.day - leaves.typical).days == 10  # 10 October, half a year from 10 April


def test_a_hold_that_goes_on_is_in_the_book_of_every_year_it_touches() -> None:
    """Salt waits for clean leaves, seen, and for the drain, never read; its 28 days are over on 2 March 2028."""
    for year, last in ((2027, date(2028, 6, 30)), (2028, date(2029, 6, 30))):
        salt = next(held for held in of(south(year, SALT), "Weka").holds if held.hold.rule.name == "salt")
        assert salt.hold.end is None
        assert salt.over_days == (last - date(2028, 3, 2)).days


def test_the_same_year_is_told_a_year_later() -> None:
    assert north(2027, "2028-01-01").trees == north(2027, "2031-06-01").trees


def test_a_year_remembered_is_told_as_it_was_though_the_schedule_is_another_now(tmp_path: Path) -> None:
    """Every 10 days from 24 April to 23 June, as told; from 2 July on every 20 days: 13 July, 2 and 22 August, then 14.

    The plan of that year, a year later, has them from history.csv and told.json; without these it would have them all
    by the interval of today.
    """
    (tmp_path / "schedules").mkdir()
    (tmp_path / "collection.yaml").write_text(NORTH, encoding="utf-8")
    (tmp_path / "journal.yaml").write_text(NORTH_JOURNAL.splitlines()[1], encoding="utf-8")
    for name, text in SCHEDULES.items():
        (tmp_path / "schedules" / f"{name}.yaml").write_text(text, encoding="utf-8")
    _keeps_plan(tmp_path, "2027-07-01")
    slower = SCHEDULES["V"].replace("every: 10 days", "every: 20 days")
    (tmp_path / "schedules" / "V.yaml").write_text(slower, encoding="utf-8")
    for day in ("2027-07-02", "2028-03-01"):
        _keeps_plan(tmp_path, day)
    file = tmp_path / "collection.yaml"
    span = date(2027, 1, 1), date(2027, 12, 31)
    season = memory.plan(load_collection(file), date(2029, 2, 1), *span, file=file).season
    days = [str(each.feed.day)[5:] for each in of(year_book(season, 2027), "Teal").feeds]
    assert days[:7] == ["04-24", "05-04", "05-14", "05-24", "06-03", "06-13", "06-23"]
    assert days[7:] == ["07-13", "08-02", "08-22", "09-05", "09-19"]
    assert memory.first_on_record(load_collection(file), file) == date(2027, 4, 24)


def _keeps_plan(folder: Path, day: str) -> None:
    """Plan as of a day as on the real one, which remembers what is told."""
    file = folder / "collection.yaml"
    memory.plan(load_collection(file), date.fromisoformat(day), file=file, keep=True)


def test_a_year_that_runs_tells_no_feed_of_days_to_come() -> None:
    told = north(2027, "2027-06-20")
    assert told.told_to == date(2027, 6, 20)
    assert feeds(of(told, "Sorrel"))[-1] == "2027-06-15 150 taken as given"


def test_the_book_and_why_agree_on_nitrogen() -> None:
    for year in (2027, 2028):
        season = planned(NORTH, NORTH_JOURNAL, year, "2029-02-01")
        for tree in year_book(season, year).trees:
            timeline = timeline_of(season, tree.tree.name)
            assert timeline is not None
            assert tree.n_mg_per_l == nitrogen_by(timeline, date(year, 12, 31))


def test_a_hold_that_a_heavier_one_took_over_ends_that_day_and_is_no_matter_of_later_years() -> None:
    """Moderate for five weeks, severe from the day nothing was seen; the signs of 10 July end that one."""
    collection = NORTH.replace(SINCE_24_APRIL, "since: 2025-03-01\n")
    moderate, severe = of(book(collection, LATE_SIGNS, 2025, "2027-06-12"), "Teal").holds
    assert (moderate.hold.rule.turns_into, severe.hold.follows) == (severe.hold.rule.name, moderate.hold.rule)
    assert moderate.end == severe.hold.start
    assert moderate.over_days == (severe.hold.start - date(2025, 4, 26)).days
    assert severe.end == date(2025, 7, 10)
    assert of(book(collection, LATE_SIGNS, 2026, "2027-06-12"), "Teal").holds == ()
