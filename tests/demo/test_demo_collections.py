"""The demo collections: they load clean, show every kind of care, and their stories come out as worked by hand.

Days and strengths below are worked out from the rule named beside each, by hand, not taken from the program. The
rules themselves are common practice, no source, except where schedules/ names one.
"""

from __future__ import annotations

import json
import re
from datetime import date, timedelta
from decimal import Decimal
from functools import lru_cache
from pathlib import Path

import jsonschema
import pytest
import yaml
from click.testing import CliRunner

from feedplan.cli.main import feedplan
from feedplan.engine.plan import plan_season
from feedplan.engine.season import Season, Timeline
from feedplan.load import Loaded, load_collection
from feedplan.load.folder import shipped_names
from feedplan.model.course import FeedEvent, Status
from feedplan.model.journal import (
    Allowed,
    Caused,
    Checked,
    Fed,
    Gone,
    Moved,
    Noted,
    Seen,
    SolidLaid,
    SolidLifted,
)

DEMO = Path(__file__).parents[2] / "demo"
NORTH, SOUTH = DEMO / "northern", DEMO / "southern"
DEMO_DAY = date(2027, 6, 5)


@lru_cache
def loaded(folder: Path) -> Loaded:
    return load_collection(folder)


@lru_cache
def planned(folder: Path, today: date, start: date, end: date) -> Season:
    found = loaded(folder)
    return plan_season(found.collection, found.journal, today, start, end)


def northern(today: date = DEMO_DAY) -> Season:
    return planned(NORTH, today, date(2027, 1, 1), date(2027, 12, 31))


def southern(today: date) -> Season:
    return planned(SOUTH, today, date(2027, 7, 1), date(2028, 6, 30))


def course(season: Season, tree: str) -> Timeline:
    return next(timeline for timeline in season.timelines if tree in timeline.names)


def fed_on(season: Season, tree: str) -> dict[date, FeedEvent]:
    return {
        event.day: event for event in course(season, tree).feeds if season.start <= event.day <= season.end
    }


# What is shown.


def test_the_northern_demo_is_warned_of_its_old_weather_and_of_a_feed_given_inside_a_hold() -> None:
    def warnings(today: str) -> list[str]:
        answer = CliRunner().invoke(feedplan, ["check", "-c", str(NORTH), "--today", today])
        assert answer.exit_code == 0
        return [line for line in answer.output.splitlines() if ": warning: " in line]

    [record] = warnings("2027-12-01")
    assert "the weather record stops here, 4 Jun" in record
    assert any(re.search("Whittle: fed .*although held: frost", line) for line in warnings("2027-05-20"))


def test_the_southern_demo_has_no_problem() -> None:
    answer = CliRunner().invoke(feedplan, ["check", "-c", str(SOUTH), "--today", "2028-06-30"])
    assert answer.exit_code == 0
    assert "\nFine, " in answer.output


def test_the_northern_demo_uses_every_shipped_schedule() -> None:
    used = {group.schedule.name for group in loaded(NORTH).collection.groups.values()}
    assert used == set(shipped_names())


def test_the_demo_journals_hold_every_kind_of_fact() -> None:
    kinds = {type(entry.fact) for folder in (NORTH, SOUTH) for entry in loaded(folder).journal.entries}
    assert kinds == {Allowed, Caused, Checked, Fed, Gone, Moved, Noted, Seen, SolidLaid, SolidLifted}


class _AsEditorsRead(yaml.SafeLoader):
    """YAML 1.2, as editors read it: dates are texts, and "on" is a word, not true."""


_NOT_SO_IN_1_2 = ("tag:yaml.org,2002:timestamp", "tag:yaml.org,2002:bool")
_AsEditorsRead.yaml_implicit_resolvers = {
    sign: [(tag, pattern) for tag, pattern in found if tag not in _NOT_SO_IN_1_2]
    for sign, found in yaml.SafeLoader.yaml_implicit_resolvers.items()
}
_AsEditorsRead.add_implicit_resolver("tag:yaml.org,2002:bool", re.compile("^(true|false)$"), ["t", "f"])


@pytest.mark.parametrize("path", sorted(DEMO.rglob("*.yaml")), ids=lambda path: str(path.relative_to(DEMO)))
def test_every_demo_file_fits_the_schema_named_in_its_first_line(path: Path) -> None:
    """Checked by the jsonschema library, not by the models the schema is made from."""
    text = path.read_text(encoding="utf-8")
    named = text.partition("\n")[0].removeprefix("# yaml-language-server: $schema=")
    schema = json.loads((path.parent / named).read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator(schema).validate(yaml.load(text, _AsEditorsRead))


# The stories.


def test_no_tree_is_fed_inside_a_hold_but_by_the_entries_that_say_so() -> None:
    """Whittle was fed by mistake on 5 May; Stilt's feed on 22 May was allowed with a reason."""
    inside = {
        (name, event.day)
        for timeline in northern(date(2027, 12, 1)).timelines
        for event in timeline.feeds
        for hold in timeline.holds
        if hold.covers(event.day) and event.status is not Status.MISSED
        for name in timeline.names
    }
    assert inside == {("Whittle", date(2027, 5, 5)), ("Stilt", date(2027, 5, 22))}


def test_a_moderate_repotting_is_taken_up_again_by_quarters() -> None:
    """Tollgate: 20 March + 35 days = 24 April, hardened seen 3 June; 75 ppm planned; 25, 50, 100 % of it.

    The day of mixing is Saturday: 3 June is a Thursday, so Saturday 5 June. The choice of a feeding day does not shift
    the series: 3 June + 14 = 17 June, + 28 = 1 July, Thursdays too, each two days before a Saturday.
    """
    feeds = fed_on(northern(date(2027, 6, 30)), "Tollgate")
    assert [(day, feeds[day].ppm) for day in sorted(feeds)][:3] == [
        (date(2027, 6, 5), Decimal("18.75")),
        (date(2027, 6, 19), Decimal("37.5")),
        (date(2027, 7, 3), Decimal(75)),
    ]


def test_a_severe_root_cut_limp_at_ten_weeks_is_looked_at_and_not_fed() -> None:
    """Millrace: half its roots off on 27 March; 27 March + 10 weeks = 5 June."""
    season = northern()
    assert date(2027, 3, 27) + timedelta(weeks=10) == DEMO_DAY
    assert fed_on(season, "Millrace") == {}
    assert [
        r.hold.rule.name for r in season.reviews if "Millrace" in r.timeline.names and r.day == DEMO_DAY
    ] == ["repotted, severe"]


def test_a_severe_root_cut_that_hardens_after_15_august_gets_nothing_that_year() -> None:
    assert fed_on(northern(date(2027, 12, 1)), "Millrace") == {}


def test_a_dug_tree_that_grew_only_in_its_second_year_gets_half_then_all_of_its_weak_feed() -> None:
    """Ghyll, dug in March 2026: plump buds that autumn, a hardened flush seen on Wednesday 16 June 2027.

    Schedule collected: 30 ppm every 28 days; ramp 50 %, 100 %. 16 June + 28 days = Wednesday 14 July; the day of
    mixing is the Saturday after each.
    """
    feeds = fed_on(northern(date(2027, 7, 31)), "Ghyll")
    assert [(day, feeds[day].ppm) for day in sorted(feeds)] == [
        (date(2027, 6, 19), Decimal(15)),
        (date(2027, 7, 17), Decimal(30)),
    ]


def test_the_dry_tree_waits_while_its_neighbours_are_fed() -> None:
    """Drover answered "dry" on 5 June and "moist" on the 6th; the next feeding day is Wednesday 9 June."""
    season = northern(date(2027, 6, 6))
    assert DEMO_DAY in fed_on(season, "Bramling")
    assert DEMO_DAY not in fed_on(season, "Drover")
    assert date(2027, 6, 9) in fed_on(season, "Drover")


def test_coated_feed_mixed_in_weakens_the_liquid_feed() -> None:
    """Drover: 22 g of 16 % is 3520 mg N in a basket of 28 x 28 x 20 cm, 15.7 L at the most: 224 mg/L or more.

    The budget of 360 mg/L leaves at most 136 for some 14 feeds that ask for 15 mg/L each.
    """
    events = fed_on(northern(date(2027, 12, 1)), "Drover").values()
    given = [event.ppm * Decimal("0.1") for event in events]
    assert sum(given) + Decimal(3520) / Decimal("15.68") <= 360
    asked = [event.ppm * Decimal("0.1") for event in events if event.status is not Status.RECORDED]
    assert max(asked) < 15


def test_a_late_record_feeds_nobody_in_the_past() -> None:
    """Lantern hardened on 25 May, written down on 2 June: its first feed is not before 2 June.

    Due on Wednesday 2 June, it is put off to the day of mixing, Saturday.
    """
    assert min(fed_on(northern(date(2027, 6, 30)), "Lantern")) == date(2027, 6, 5)
    assert (
        fed_on(northern(date(2027, 6, 1)), "Lantern").keys() & {date(2027, 5, day) for day in range(25, 32)}
        == set()
    )


def test_nobody_is_fed_while_the_grower_is_away() -> None:
    season = northern(DEMO_DAY)
    away = [item for item in season.rounds if date(2027, 8, 7) <= item.day <= date(2027, 8, 21)]
    assert away == []
    assert any(stretch.start <= date(2027, 8, 14) <= stretch.end for stretch in season.checks)


def test_feeds_fall_on_the_days_kept_for_feeding() -> None:
    days = {item.day.weekday() for item in northern().rounds if item.status is Status.PLANNED}
    assert days == {2, 5}


def test_the_tree_struck_off_by_mistake_is_still_there_and_the_dead_one_is_not() -> None:
    season = northern(date(2027, 7, 1))
    assert course(season, "Rushlight").leaves is None
    assert course(season, "Wisp").leaves == date(2027, 5, 29)


@pytest.mark.parametrize(("year", "shown"), [(2027, date(2027, 2, 28)), (2028, date(2028, 2, 29))])
def test_the_note_for_29_february_shows_on_the_28th_in_common_years(year: int, shown: date) -> None:
    season = planned(NORTH, date(year, 2, 1), date(year, 2, 1), date(year, 3, 31))
    assert [note.day for note in season.notes if note.note.say.startswith("Leap day")] == [shown]


def test_the_southern_year_turns_by_half_years() -> None:
    """15 August and 30 September, written for the north, are 15 February and 31 March in the south."""
    windows = {
        w.period.name: w for w in course(southern(date(2028, 1, 16)), "Lugger").windows if w.season == 2027
    }
    assert windows["spring and summer"].last == date(2028, 2, 15)
    assert windows["autumn"].last == date(2028, 3, 31)


def test_the_southern_garden_holds_a_moderate_repotting_for_six_weeks() -> None:
    """Its own schedules/holds.yaml says 42 days in place of 35: 14 August + 42 days = 25 September."""
    hold = course(southern(date(2028, 1, 16)), "Lugger").holds[0]
    assert (hold.rule.name, hold.minimum) == ("repotted, moderate", date(2027, 9, 25))


def test_the_days_of_the_gardens_own_schedule_are_not_turned() -> None:
    windows = {
        w.period.name: w for w in course(southern(date(2028, 1, 16)), "Gannet").windows if w.season == 2027
    }
    assert windows["summer"].last == date(2028, 2, 15)
    assert windows["autumn"].last == date(2028, 3, 31)
