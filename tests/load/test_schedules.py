"""Schedules: found by name, changed in layers, turned to the place, one object for all that are the same."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from feedplan.dose.strength import LabelShare, PpmN
from feedplan.load import load_collection
from feedplan.load.folder import shipped_names
from feedplan.model.hold import Action, CauseKind
from feedplan.model.moment import AtStage, DayOfYear, FirstOf, LastOf
from feedplan.model.schedule import Schedule
from feedplan.model.source import Source
from feedplan.words.stages import moment_words
from tests.load.helpers import COLLECTION, PLACE, SCHEDULE, SOUTH, complaints, load, small


def schedule(changes: str = "", name: str = "mine", place: str = PLACE, **own: str) -> Schedule:
    more = f", changes: {changes}" if changes else ""
    text = small(f"{{g: {{schedule: {name}{more}}}}}", place=place)
    return load(text, schedules=own).collection.groups["g"].schedule


def test_a_period_is_read_as_written() -> None:
    (summer,) = schedule().periods
    assert (summer.start, summer.stop) == (AtStage("leaves open"), DayOfYear(8, 15))
    assert (summer.every_days, summer.strength) == (10, PpmN(Decimal(150)))
    assert summer.source == Source("schedules/mine.yaml", 7)


@pytest.mark.parametrize(("every", "gap"), [("10 days", 7), ("7 days", 5), ("3 weeks", 15), ("1 day", 1)])
def test_the_least_gap_is_seven_tenths_of_the_interval_rounded_up(every: str, gap: int) -> None:
    assert schedule(f"{{feeding: {{summer: {{every: {every}}}}}}}").periods[0].min_gap_days == gap


@pytest.mark.parametrize(
    ("written", "moment"),
    [
        ("leaves open", AtStage("leaves open")),
        ("Leafed out", AtStage("leaves open")),
        ("leaves open + 10 days", AtStage("leaves open", 10)),
        ("leaves open - 2 weeks", AtStage("leaves open", -14)),
        ("autumn build-up", AtStage("autumn build-up")),
        ("15 August", DayOfYear(8, 15)),
        ("1 may", DayOfYear(5, 1)),
        ("30 Sept or leaves colouring", FirstOf((DayOfYear(9, 30), AtStage("leaves colouring")))),
        ("needles hardened and 20 August", LastOf((AtStage("needles hardened"), DayOfYear(8, 20)))),
    ],
)
def test_moments_are_said_in_words(written: str, moment: object) -> None:
    assert schedule(f"{{feeding: {{summer: {{to: {written}}}}}}}").periods[0].stop == moment


@pytest.mark.parametrize(
    ("words", "per_week"),
    [
        ("3 times a day", Decimal(21)),
        ("twice a day", Decimal(14)),
        ("daily", Decimal(7)),
        ("once a day", Decimal(7)),
        ("every 2 days", Decimal("3.5")),
        ("every 3 days", Decimal(7) / 3),
        ("twice a week", Decimal(2)),
        ("once a week", Decimal(1)),
        ("every 2 weeks", Decimal("0.5")),
    ],
)
def test_check_rates_are_said_in_words(words: str, per_week: Decimal) -> None:
    assert schedule(f"{{water: {{dormant: {{deep: {words}}}}}}}").water[0].deep.per_week == per_week


def test_strength_may_be_a_share_of_the_label_rate() -> None:
    assert schedule("{feeding: {summer: {strength: half label rate}}}").periods[0].strength == LabelShare(
        Decimal("0.5")
    )


def test_a_schedule_may_feed_nothing() -> None:
    assert schedule("{feeding: none}").periods == ()
    assert schedule(mine=SCHEDULE.replace("feeding:\n  summer: ", "feeding: none\n# ")).periods == ()


def test_group_and_tree_change_single_keys_and_each_change_is_recorded() -> None:
    text = small(
        "{g: {schedule: mine, changes: {feeding: {summer: {every: 14 days}}}}}",
        ", changes: {feeding: {summer: {strength: 50 ppm N, air_below: 30 °C}}, root_work_counts: one band up}",
    )
    collection = load(text).collection
    group, tree = collection.groups["g"].schedule, collection.trees[0].schedule
    assert tree is not None
    assert (group.periods[0].every_days, group.periods[0].strength) == (14, PpmN(Decimal(150)))
    assert (tree.periods[0].every_days, tree.periods[0].strength) == (14, PpmN(Decimal(50)))
    assert (group.bands_up, tree.bands_up) == (0, 1)
    assert [f"{layer.kind} {layer.name}" for layer in tree.layers] == [
        "schedule mine",
        "group g",
        "tree Brindle",
    ]
    assert tree.layers[1].changed == {"feeding / summer / every": "14 days (was 10 days)"}
    assert tree.layers[2].changed == {
        "feeding / summer / strength": "50 ppm N (was 150 ppm N)",
        "feeding / summer / air_below": "30 °C (was not set)",
        "root_work_counts": "one band up (was not set)",
    }
    assert [layer.source.line for layer in tree.layers] == [2, 2, 4]


def test_none_takes_away_a_feeding_period_or_one_of_its_gates() -> None:
    assert [p.name for p in schedule("{feeding: {autumn: none}}", "vigorous").periods] == [
        "spring and summer"
    ]
    changed = schedule("{feeding: {spring and summer: {root_zone_above: none}}}", "vigorous")
    assert changed.periods[0].root_zone_min_c is None
    assert changed.layers[1].changed == {"feeding / spring and summer / root_zone_above": "none (was 8 °C)"}


def test_a_change_may_add_a_whole_period() -> None:
    added = "{feeding: {late: {from: 1 September, to: 1 October, every: 20 days, strength: 30 ppm N}}}"
    assert [p.name for p in schedule(added).periods] == ["summer", "late"]


def test_days_of_shipped_schedules_are_turned_by_half_years_in_the_south() -> None:
    north, south = schedule(name="vigorous"), schedule(name="vigorous", place=SOUTH)
    assert [moment_words(p.stop) for p in north.periods] == ["15 August", "30 September or leaves colouring"]
    assert [moment_words(p.stop) for p in south.periods] == ["15 February", "31 March or leaves colouring"]


def test_days_of_own_schedules_are_the_places_own_unless_they_say_otherwise() -> None:
    mine = SCHEDULE.replace("15 August", "15 February")
    assert schedule(place=SOUTH, mine=mine).periods[0].stop == DayOfYear(2, 15)
    north = SCHEDULE.replace("schedule: mine\n", "schedule: mine\nwritten_for: north\n")
    assert schedule(place=SOUTH, mine=north).periods[0].stop == DayOfYear(2, 15)
    south = north.replace("north", "south").replace("15 August", "15 February")
    assert schedule(mine=south).periods[0].stop == DayOfYear(8, 15)


def test_days_in_changes_are_the_places_own_even_over_a_turned_schedule() -> None:
    changed = schedule("{feeding: {spring and summer: {to: 1 February}}}", "vigorous", SOUTH)
    assert changed.periods[0].stop == DayOfYear(2, 1)
    assert changed.periods[1].start == DayOfYear(2, 16)


def test_last_feeds_of_holds_are_turned_too() -> None:
    severe = schedule(place=SOUTH).holds["repotted, severe"]
    assert severe.last_feed == DayOfYear(2, 15)
    own = schedule('{holds: {"repotted, severe": {last_feed: 1 February}}}', place=SOUTH)
    assert own.holds["repotted, severe"].last_feed == DayOfYear(2, 1)


def test_typical_dates_are_turned_too() -> None:
    calendars = load(small(place=SOUTH)).collection.vocabulary.calendars
    assert dict(calendars["middle leafing"].dates)["leaves open"] == DayOfYear(10, 24)


def test_trees_of_a_group_share_one_schedule_and_equal_groups_too() -> None:
    text = PLACE + (
        "groups: {g: {schedule: mine}, h: {schedule: mine}, i: {schedule: mine, changes: {budget: 200 mg N per L}}}\n"
        "trees:\n"
        "  - {name: A, species: elm, group: i, pot: 1 L, changes: &few {feeding: {summer: {every: 20 days}}}}\n"
        "  - {name: B, species: elm, group: i, pot: 1 L, changes: *few}\n"
        "  - {name: C, species: elm, group: g, pot: 1 L, changes: *few}\n"
        "  - {name: D, species: elm, group: h, pot: 1 L}\n"
    )
    collection = load(text).collection
    groups, trees = collection.groups, collection.trees
    assert groups["g"].schedule is groups["h"].schedule
    assert groups["g"].schedule is not groups["i"].schedule
    assert trees[0].schedule is trees[1].schedule
    assert trees[0].schedule is not trees[2].schedule
    assert groups["g"].schedule.holds is groups["i"].schedule.holds


def test_standing_holds_are_changed_by_the_collections_own_file_then_the_schedule_then_changes() -> None:
    own = {
        "holds": "holds:\n  frost: {at_least: 20 days, do: [Wait.]}\n"
        "  hail: {trouble: hail, stops: [pruning], at_least: 3 days}\n",
        "mine": SCHEDULE + "holds:\n  frost: {at_least: 30 days}\n",
    }
    frost = schedule(**own).holds["frost"]
    assert (frost.min_days, frost.do) == (30, ("Wait.",))
    assert schedule("{holds: {frost: {at_least: 40 days}}}", **own).holds["frost"].min_days == 40
    assert schedule(holds=own["holds"]).holds["frost"].min_days == 20
    assert schedule(**own).holds["hail"].stops == {Action.PRUNING}
    assert schedule().holds["frost"].min_days == 14
    assert "hail" not in schedule().holds


def test_a_changed_hold_is_recorded_with_what_was_in_force_before() -> None:
    own = SCHEDULE + "holds:\n  frost: {at_least: 30 days}\n"
    changes = "{holds: {frost: {at_least: 40 days, ramp_step: 12 days}, scorch: {at_least: 20 days}}}"
    assert schedule(changes, mine=own).layers[1].changed == {
        "holds / frost / at_least": "40 days (was 30 days)",
        "holds / frost / ramp_step": "12 days (was 10 days)",
        "holds / scorch / at_least": "20 days (was 14 days)",
    }


def test_a_group_may_add_a_hold_that_a_sign_opens() -> None:
    found = schedule("{holds: {mine: {seen: pale, stops: [wiring], at_least: 7 days}}}").holds["mine"]
    assert (found.kind, found.cause, found.stops) == (CauseKind.SEEN, "pale", frozenset({Action.WIRING}))


def test_words_for_actions_and_counts_are_spelled_out() -> None:
    rule = (
        "{holds: {mine: {work: mine, stops: [all feed, wiring], at_least: 0 days, "
        "until_seen: [limp, clean check twice]}}}"
    )
    found = schedule(rule).holds["mine"]
    assert found.stops == {Action.LIQUID, Action.SOLID, Action.FOLIAR, Action.WIRING}
    assert [(need.sign, need.times) for need in found.needs] == [("limp", 1), ("clean check", 2)]
    assert found.min_days == 0


def test_own_words_and_typical_years_stand_beside_the_shipped_ones() -> None:
    own = (
        "stages:\n  lanterns lit: {looks_like: Lanterns.}\n"
        "calendars:\n  middle leafing: {dates: {leaves open: 1 May}}\n"
    )
    vocabulary = load(schedules={"stages": own}).collection.vocabulary
    assert vocabulary.words["lanterns lit"].is_stage
    dates = dict(vocabulary.calendars["middle leafing"].dates)
    assert dates["leaves open"] == DayOfYear(5, 1)
    assert dates["dormant"] == DayOfYear(11, 15)


def test_a_file_of_the_collections_own_wins_over_a_shipped_one(tmp_path: Path) -> None:
    (tmp_path / "schedules").mkdir()
    own = SCHEDULE.replace("schedule: mine", "schedule: vigorous")
    (tmp_path / "schedules" / "vigorous.yaml").write_text(own, encoding="utf-8")
    (tmp_path / "other.yaml").write_text(
        SCHEDULE.replace("schedule: mine", "schedule: other"), encoding="utf-8"
    )
    text = COLLECTION.replace("schedule: mine", "schedule: vigorous").replace(
        "schedule: refined", "schedule: other.yaml"
    )
    (tmp_path / "collection.yaml").write_text(text, encoding="utf-8")
    groups = load_collection(tmp_path).collection.groups
    assert groups["growing-on"].schedule.about == "As short as a schedule can be."
    assert groups["refined"].schedule.name == "other"


@pytest.mark.parametrize("name", shipped_names())
@pytest.mark.parametrize("place", [PLACE, SOUTH], ids=["north", "south"])
def test_every_shipped_schedule_loads_in_both_hemispheres_without_a_warning(name: str, place: str) -> None:
    loaded = load(small(f"{{g: {{schedule: {name}}}}}", place=place))
    assert loaded.collection.groups["g"].schedule.name == name
    assert loaded.warnings == ()


def test_periods_that_overlap_are_warned_of() -> None:
    text = SCHEDULE.replace("from: leaves open", "from: 1 May") + "\n"
    later = "  late: {from: 15 August, to: 1 October, every: 14 days, strength: 50 ppm N}\nwater:"
    loaded = load(schedules={"mine": text.replace("water:", later)})
    assert [str(warning) for warning in loaded.warnings] == [
        "schedules/mine.yaml:8:3: feeding period 'late' overlaps 'summer'; the one written first counts"
    ]


def test_the_growing_year_of_the_south_runs_over_new_year() -> None:
    over = "{feeding: {summer: {from: 1 November, to: 1 March}}}"
    assert schedule(over, place=SOUTH).periods[0].stop == DayOfYear(3, 1)
    assert complaints(small(f"{{g: {{schedule: mine, changes: {over}}}}}")) != []


def test_a_shipped_file_is_named_the_same_wherever_it_is_installed() -> None:
    assert schedule(name="refined").source.file == "feedplan/schedules/refined.yaml"
