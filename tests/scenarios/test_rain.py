"""Heavy rain puts a liquid feed off by a day and never takes a water check away."""

from __future__ import annotations

from datetime import date, timedelta

from feedplan.engine.answers.explain import explain
from feedplan.engine.day import day_of
from feedplan.engine.plan import plan_season
from feedplan.engine.season import Season
from feedplan.export.round_text import outdoor_items, round_lines
from feedplan.load.collection import load_text
from feedplan.model.climate import Standing
from feedplan.model.reason import HeavyRain, Rule
from tests.scenarios.planning import GROUPS, SCHEDULES, SINCE_24_APRIL, WRENMOOR, Plan

# 24 April and ten-day steps bring a feed on 3 June.
TREES = """
trees:
  - {name: Brindle, species: larch, group: V, pot: 20 x 15 x 5 cm}
  - {name: Ember, species: field maple, group: V, pot: 10 L, canopy: 60 cm}
"""
SEEN = "- {date: 2027-04-24, everything: true, seen: leaves open}\n"


def rain_on(day: str, amount_mm: float) -> str:
    """A daily record that forecasts some rain for one day."""
    first = date(2027, 6, 1)
    days = (first + timedelta(days=n) for n in range(8))
    rows = (f"{d},9,18,{amount_mm if str(d) == day else 0}" for d in days)
    return "date,tmin_c,tmax_c,rain_mm\n" + "\n".join(rows) + "\n"


def planned(daily: str = "", *, today: str = "2027-06-03", trees: str = TREES, groups: str = GROUPS) -> Plan:
    """The season as seen on 3 June, with or without a daily record."""
    climate = {"daily.csv": daily} if daily else None
    loaded = load_text(WRENMOOR + SINCE_24_APRIL + groups + trees, SEEN, SCHEDULES, climate)
    day = date.fromisoformat(today)
    season = plan_season(
        loaded.collection,
        loaded.journal,
        day,
        day - timedelta(days=60),
        day + timedelta(days=60),
        climate=loaded.climate,
    )
    return Plan(season, loaded.collection)


def feeds_in_june(plan: Plan) -> list[str]:
    return [feed for feed in plan.feeds("Brindle") if feed.startswith("2027-06")]


def checks_on(season: Season, day: date) -> set[str]:
    return {tree.name for c in season.checks if c.start <= day <= c.end for tree in c.trees}


def test_eighteen_millimetres_forecast_put_the_feed_off_by_a_day_and_checks_remain() -> None:
    """Growers' practice: 18 mm forecast on the day a liquid feed is due."""
    dry, wet = planned(), planned(rain_on("2027-06-03", 18))
    assert feeds_in_june(dry) == ["2027-06-03 150", "2027-06-13 150", "2027-06-23 150"]
    assert feeds_in_june(wet) == ["2027-06-04 150", "2027-06-14 150", "2027-06-24 150"]
    assert checks_on(wet.season, date(2027, 6, 3)) == {"Brindle", "Ember"}


def test_three_millimetres_change_nothing() -> None:
    """So little does not wet a pot through (common practice, no source)."""
    assert feeds_in_june(planned(rain_on("2027-06-03", 3))) == feeds_in_june(planned())


def test_the_day_after_the_rain_the_feed_is_still_due_that_day() -> None:
    after = planned(rain_on("2027-06-03", 18), today="2027-06-04")
    assert feeds_in_june(after)[0] == "2027-06-04 150"


def test_the_reason_names_the_rain_and_its_line_of_the_record() -> None:
    wet = planned(rain_on("2027-06-03", 18))
    tree = wet.collection.trees[0]
    [reason] = explain(wet.season, tree, date(2027, 6, 3)).reasons
    assert reason.rule is Rule.RAIN
    assert reason.fact == HeavyRain(18, Standing.FORECAST)
    assert str(reason.source) == "climate/daily.csv:4"


def test_trees_under_cover_are_fed_whatever_the_rain() -> None:
    covered = "benches: {frame: {under_cover: true}}\n" + TREES.replace(
        "group: V,", "group: V, bench: frame,"
    )
    assert feeds_in_june(planned(rain_on("2027-06-03", 18), trees=covered)) == feeds_in_june(planned())


def test_mean_rain_of_normals_puts_nothing_off() -> None:
    normals = "month,tmin_c,tmax_c,rain_mm\n" + "".join(f"{m},9,18,600\n" for m in range(1, 13))
    loaded = load_text(WRENMOOR + SINCE_24_APRIL + GROUPS + TREES, SEEN, SCHEDULES, {"normals.csv": normals})
    season = plan_season(loaded.collection, loaded.journal, date(2027, 6, 3), climate=loaded.climate)
    assert "2027-06-03 150" in Plan(season, loaded.collection).feeds("Brindle")


def test_the_round_of_the_wet_day_says_until_when_a_feed_is_put_off() -> None:
    wet = planned(rain_on("2027-06-03", 18))
    lines = list(round_lines(day_of(wet.season, date(2027, 6, 3)), wet.collection))
    [line] = [line.strip() for line in lines if "put off" in line]
    assert line == "Feed put off to Fri 4 Jun, 18 mm of rain forecast: V."
    assert "rain 18 mm" in lines[0]


def test_a_feed_for_which_the_budget_has_no_room_is_not_put_off_to_a_day_without_it() -> None:
    """The round promises a day that `why` keeps (common practice, no source): left out is not put off."""
    # 0.2 mg in a tenth of the pot is 2 ppm once: too weak to be worth a can.
    small = GROUPS.replace("feed: powder}", "feed: powder, changes: {budget: 0.2 mg N per L}}", 1)
    wet = planned(rain_on("2027-06-03", 18), groups=small)
    assert not feeds_in_june(wet)
    assert not day_of(wet.season, date(2027, 6, 3)).put_off
    reasons = explain(wet.season, wet.collection.trees[0], date(2027, 6, 4)).reasons
    assert Rule.BUDGET in {reason.rule for reason in reasons}


def test_feeds_that_one_rain_puts_off_to_one_day_are_one_line_with_groups_named_whole_where_they_are() -> (
    None
):
    """Judgement: who reads it wants the day and the cause once, and of a group in part the trees that are meant."""
    trees = TREES + "  - {name: Sill, species: larch, group: F, pot: 10 L}\n"
    trees += "  - {name: Weald, species: larch, group: V, pot: 10 L}\n"
    held = SEEN + "- {date: 2027-06-01, tree: Weald, seen: limp}\n"
    with_v = {**SCHEDULES, "F": SCHEDULES["V"].replace("schedule: V", "schedule: F")}
    climate = {"daily.csv": rain_on("2027-06-03", 18)}
    loaded = load_text(WRENMOOR + SINCE_24_APRIL + GROUPS + trees, held, with_v, climate)
    day = date(2027, 6, 3)
    season = plan_season(loaded.collection, loaded.journal, day, climate=loaded.climate)
    [(line, *under)] = outdoor_items(day_of(season, day))
    assert line == "Feed put off to Fri 4 Jun, 18 mm of rain forecast: F, V (Brindle, Ember)."
    assert under == ["It would wash the feed out; checks go on."]
