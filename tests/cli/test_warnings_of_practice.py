"""Doubtful practice: each case beside the sentence it brings."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest

from feedplan.engine.answers.plausibility import meant_by_year
from feedplan.engine.answers.warnings import warnings_of
from feedplan.engine.plan import plan_season
from feedplan.load.collection import load_text
from feedplan.model.warning import AwayFromOthers, PlanWarning
from feedplan.words.warnings import problem_of

TODAY = date(2027, 6, 14)
HEAD = """\
place: {name: Mill Bank, latitude: 53.5, time_zone: Europe/London}
since: 2027-01-01
feeds:
  powder: {grade: 20-10-20, form: soluble, label_rate: 1 g per L, label_maximum: 2 g per L}
  coated-16: {grade: 16-8-12, form: coated, longevity: 150 days}
"""
GROUPS = """\
groups:
  growing-on: {schedule: vigorous, feed: powder}
trees:
  - {name: Brindle, species: larch, group: growing-on, pot: 10 L}
"""


def found(
    collection: str, journal: str = "", today: date = TODAY, climate: dict[str, str] | None = None
) -> list[PlanWarning]:
    loaded = load_text(collection, journal, climate=climate)
    season = plan_season(loaded.collection, loaded.journal, today, climate=loaded.climate)
    return list(warnings_of(season, loaded.collection, loaded.journal))


def said(warning: PlanWarning) -> str:
    return str(problem_of(warning, TODAY))


def test_ordinary_care_raises_no_warning() -> None:
    assert found(HEAD + GROUPS, "- {date: 2027-05-04, tree: Brindle, fed: as planned}\n") == []


# Nitrogen by hand: 40 g x 16 % = 6400 mg, in 10 L of pot 640 per litre; 60 g likewise 960. The leaves opened on 10
# April, so two feeds came before, 15 mg per litre each (150 ppm on a tenth of the pot); none comes after, since the
# budget of 360 is spent.
@pytest.mark.parametrize(
    ("grams", "mg", "limit", "is_grave"),
    [(40, 670, "above 600", False), (60, 990, "above 900", True)],
)
def test_much_nitrogen_on_a_pot_is_warned_of_and_very_much_strongly_warned_of(
    grams: int, mg: int, limit: str, is_grave: bool
) -> None:
    (warning,) = found(
        HEAD + GROUPS, f"- {{date: 2027-04-26, tree: Brindle, laid: coated-16, grams: {grams} g}}\n"
    )
    assert f"Brindle: {mg} mg N per litre of pot in 2027, {limit}" in said(warning)
    assert said(warning).startswith(
        "journal.yaml:1:1: CAUTION, " if is_grave else "journal.yaml:1:1: Brindle"
    )
    assert ("allow_over: true" in said(warning)) == is_grave


def test_a_budget_passed_by_facts_is_said() -> None:
    journal = "- {date: 2027-04-26, tree: Brindle, laid: coated-16, grams: 24 g}\n"
    (warning,) = found(HEAD + GROUPS, journal)
    assert "414 mg N per litre of pot in 2027, above the budget of 360" in said(warning)
    assert "CAUTION" not in said(warning)


def test_of_coated_feed_on_the_pot_that_is_too_much_some_is_to_be_lifted_until_it_is_nearly_spent() -> None:
    """Coated feed on the surface can be lifted, mixed in it cannot (practice.md, solid against liquid)."""
    laid = "- {date: 2027-04-26, tree: Brindle, laid: coated-16, grams: 24 g}\n"
    (early,) = found(HEAD + GROUPS, laid)
    # 24 g x 16 % = 384 mg to each of 10 litres in 150 days, of which 49 are over.
    assert "259 mg of it is still to come from the coated-16 on the pot: lift some" in said(early)
    (mixed_in,) = found(HEAD + GROUPS, laid.replace("24 g", "24 g, mixed_in: true"))
    assert "lift" not in said(mixed_in)
    assert found(HEAD + GROUPS, laid, date(2027, 10, 1)) == []


MOVED = GROUPS.replace("trees:", "  refined: {schedule: refined, feed: powder}\ntrees:")


@pytest.mark.parametrize("today", [date(2027, 7, 20), date(2027, 11, 20)])
def test_feeds_that_the_plan_itself_asked_for_are_no_fault_of_a_tree_moved_to_a_smaller_budget(
    today: date,
) -> None:
    """What was given cannot be undone: nothing is warned of that nobody can change. Judgement."""
    moved = "- {date: 2027-07-14, tree: Brindle, seen: hardened}\n- {date: 2027-07-14, tree: Brindle, moved: refined}\n"
    assert found(HEAD + MOVED, moved, today) == []


@pytest.mark.parametrize("today", [date(2027, 7, 1), date(2027, 8, 15), date(2027, 11, 28)])
def test_a_warm_summer_makes_no_fault_of_pellets_that_the_plan_asked_for(today: date) -> None:
    """Solids release with warmth (practice.md); the feeds before it left room for what the normals say."""
    normals = "month,tmin_c,tmax_c\n" + "".join(f"{month},5,13\n" for month in range(1, 13))
    days = [date(2027, 4, 1) + timedelta(days=n) for n in range((today - date(2027, 4, 1)).days)]
    warm = "date,tmin_c,tmax_c\n" + "".join(f"{day},16,26\n" for day in days)
    collection = HEAD.replace("  coated-16", "  pellets: {grade: 5-5-5, form: pellets}\n  coated-16")
    groups = GROUPS.replace("vigorous, feed: powder", "conifer, feed: powder, solid_feed: pellets").replace(
        "larch", "juniper"
    )
    assert found(collection + groups, "", today, {"normals.csv": normals, "daily.csv": warm}) == []


def test_a_label_passed_by_a_shipped_schedule_is_put_down_to_the_group_that_can_change_it() -> None:
    (warning, *_) = found(
        HEAD.replace("1 g per L, label_maximum: 2 g", "0.5 g per L, label_maximum: 0.5 g") + GROUPS
    )
    assert said(warning).startswith("collection.yaml:")
    assert "label" in said(warning)


def test_a_group_that_says_so_may_have_more() -> None:
    groups = GROUPS.replace(
        "feed: powder}", "feed: powder, changes: {budget: 1000 mg N per L, allow_over: true}}"
    )
    (warning,) = found(HEAD + groups, "- {date: 2027-04-26, tree: Brindle, laid: coated-16, grams: 60 g}\n")
    assert "CAUTION" not in said(warning)


def test_a_nursery_budget_is_taken_with_a_strong_warning() -> None:
    """Yew and lilac grew best with 1050 g N per m3 of mix (Clark and Zheng, J. Environ. Hort., abstract)."""
    (warning,) = found(
        HEAD + GROUPS.replace("feed: powder}", "feed: powder, changes: {budget: 1050 mg N per L}}")
    )
    assert "CAUTION, the budget of 'vigorous' is 1050 mg N per litre of pot, above 900" in said(warning)
    meant = GROUPS.replace(
        "feed: powder}", "feed: powder, changes: {budget: 1050 mg N per L, allow_over: true}}"
    )
    assert found(HEAD + meant) == []


def test_a_group_without_a_product_gives_no_grams() -> None:
    (warning,) = found(HEAD + GROUPS.replace(", feed: powder", ""))
    assert said(warning) == (
        "collection.yaml:7:1: the group 'growing-on' names no feed, so the plan gives ppm N and no grams; "
        "add feed: and a product; for no liquid feed write each of 'autumn' and 'spring and summer' as none under "
        "changes: and feeding:"
    )
    none = ", changes: {feeding: {autumn: none, spring and summer: none}}"
    assert found(HEAD + GROUPS.replace(", feed: powder", none)) == []


def test_a_stage_of_another_kind_of_tree_is_warned_of() -> None:
    (warning,) = found(HEAD + GROUPS.replace("vigorous", "conifer"))
    assert "of the group 'growing-on' starts from 'candles extending'" in said(warning)
    assert "which larch ('early leafing') does not have; its date is that of 'needle conifer'" in said(
        warning
    )


def test_own_dates_for_that_stage_settle_it() -> None:
    own = "stages:\n  larch: {candles extending: 24 April}\n"
    assert found(HEAD + GROUPS.replace("vigorous", "conifer") + own) == []


def test_a_species_no_calendar_knows_names_the_dates_it_gets() -> None:
    (warning,) = found(HEAD + GROUPS.replace("larch", "moonwood"))
    assert said(warning) == (
        "collection.yaml:9:1: no calendar knows the species 'moonwood' (Brindle); its dates are those of "
        "'middle leafing'. Record the stages you see, or write your own dates under stages:"
    )


def test_a_species_nearly_known_is_asked_about_once_with_the_nearest_name() -> None:
    twice = "  - {name: Tern, species: Larc, group: growing-on, pot: 10 L}\n"
    (warning,) = found(HEAD + GROUPS.replace("larch", "larc") + twice)
    assert said(warning) == (
        "collection.yaml:9:1: no calendar knows the species 'larc' (Brindle); its dates are those of 'middle leafing'. "
        "If it is 'larch', write that; else record the stages you see, or write your own dates under stages:"
    )


def test_a_species_whose_kinds_differ_in_winter_is_asked_about() -> None:
    (warning,) = found(HEAD + GROUPS.replace("larch", "oak"))
    assert said(warning) == (
        "collection.yaml:9:1: some kinds of oak (Brindle) keep their leaves in winter and some do not; its dates are "
        "those of 'late leafing'. Write its whole name, such as English holly or holm oak, or list it under species: "
        "of a calendar in schedules/stages.yaml"
    )
    assert found(HEAD + GROUPS.replace("larch", "English oak")) == []


def test_own_dates_settle_a_species_nothing_knows() -> None:
    own = "stages:\n  moonwood: {leaves open: 24 April}\n"
    assert found(HEAD + GROUPS.replace("larch", "moonwood") + own) == []


@pytest.mark.parametrize(
    ("cause", "held"),
    [
        ("work: repotted, roots: 30 %", "repotted, moderate on 26 Apr"),
        ("trouble: frost", "frost on 26 Apr"),
    ],
)
def test_a_feed_recorded_inside_a_hold_is_said_with_the_way_to_take_it_back(cause: str, held: str) -> None:
    journal = (
        f"- {{date: 2027-04-26, tree: Brindle, {cause}}}\n"
        "- {date: 2027-05-04, tree: Brindle, fed: as planned, id: abcde}\n"
    )
    (warning,) = found(HEAD + GROUPS, journal)
    assert said(warning) == (
        f"journal.yaml:2:1: Brindle: fed 4 May although held: {held}; if it was not fed, take it back: "
        "feedplan record --undo abcde"
    )


@pytest.mark.parametrize(("today", "count"), [(date(2027, 6, 1), 1), (date(2027, 6, 2), 0)])
def test_a_feed_inside_a_hold_that_is_over_is_said_for_four_weeks(today: date, count: int) -> None:
    """Judgement: later nothing can be done about it."""
    journal = (
        "- {date: 2027-04-26, tree: Brindle, trouble: aphids}\n"
        "- {date: 2027-05-04, tree: Brindle, fed: as planned}\n"
        "- {date: 2027-05-06, tree: Brindle, seen: clean check}\n"
        "- {date: 2027-05-14, tree: Brindle, seen: clean check}\n"
    )
    assert len(found(HEAD + GROUPS, journal, today)) == count


def test_a_feed_allowed_on_purpose_raises_no_warning() -> None:
    journal = (
        "- {date: 2027-04-26, tree: Brindle, trouble: frost}\n"
        "- {date: 2027-05-04, tree: Brindle, allow: feed, because: growing again}\n"
        "- {date: 2027-05-04, tree: Brindle, fed: as planned}\n"
    )
    assert found(HEAD + GROUPS, journal) == []


def test_a_plan_above_the_label_is_said_once_with_what_it_stays_at() -> None:
    # 0.5 g of a 20 % powder in a litre is 100 mg N: 0.5 x 200.
    weak = HEAD.replace(
        "label_rate: 1 g per L, label_maximum: 2 g per L",
        "label_rate: 0.5 g per L, label_maximum: 0.5 g per L",
    )
    (warning,) = found(weak + GROUPS)
    assert "'spring and summer' of the group 'growing-on' asks more than the label allows" in said(warning)
    assert said(warning).endswith("the plan stays at 100 ppm N")


@pytest.mark.parametrize(
    ("first", "last", "count"),
    [
        ("2027-07-01", "2027-07-21", 0),
        ("2027-07-01", "2027-07-22", 1),
        ("2027-12-01", "2028-01-31", 0),
        ("2027-05-01", "2027-06-13", 0),
    ],
)
def test_a_long_absence_in_growth_is_said_and_one_in_winter_or_past_is_not(
    first: str, last: str, count: int
) -> None:
    warnings = found(HEAD + GROUPS + f"away: [{{from: {first}, to: {last}}}]\n")
    assert len(warnings) == count
    assert all("away for 22 days in the growing season" in said(warning) for warning in warnings)


def test_entries_after_today_are_said_in_one_line() -> None:
    journal = (
        "- {date: 2028-05-04, tree: Brindle, fed: as planned}\n"
        "- {date: 2027-07-04, tree: Brindle, fed: as planned}\n"
    )
    (warning,) = found(HEAD + GROUPS, journal)
    assert said(warning) == (
        "journal.yaml:1:1: this entry is dated 2028-05-04, after today (1 more is too); it counts from that day on"
    )


def test_one_entry_of_next_year_is_taken_for_a_slip_of_the_year() -> None:
    (warning,) = found(HEAD + GROUPS, "- {date: 2028-05-04, tree: Brindle, fed: as planned}\n")
    assert "2027-05-04" in said(warning)


def test_a_day_a_century_ahead_is_taken_for_the_same_day_of_this_one() -> None:
    assert meant_by_year(date(2126, 5, 4), TODAY) == date(2026, 5, 4)


@pytest.mark.parametrize(("day", "is_asked"), [("2024-04-20", True), ("2024-05-10", False)])
def test_an_entry_more_than_three_years_from_both_its_neighbours_is_asked_about(
    day: str, is_asked: bool
) -> None:
    """Judgement: a journal is written on from day to day, and a slip of the year stands out."""
    journal = "".join(
        f"- {{date: {each}, tree: Brindle, seen: buds swelling}}\n"
        for each in ("2027-05-01", day, "2027-05-03")
    )
    asked = [warning for warning in found(HEAD + GROUPS, journal) if isinstance(warning.fact, AwayFromOthers)]
    assert len(asked) == is_asked


NORMALS = "month,tmin_c,tmax_c\n" + "".join(f"{month},5,15\n" for month in range(1, 13))


def with_climate(collection: str, journal: str = "", **files: str) -> list[str]:
    climate = {f"{name}.csv": text for name, text in files.items()}
    loaded = load_text(collection, journal, climate=climate)
    season = plan_season(loaded.collection, loaded.journal, TODAY, climate=loaded.climate)
    return [said(warning) for warning in warnings_of(season, loaded.collection, loaded.journal)]


@pytest.mark.parametrize(("last", "is_said"), [("2027-06-11", False), ("2027-06-10", True)])
def test_a_weather_record_that_stopped_is_said_with_its_file_and_last_day(last: str, is_said: bool) -> None:
    """Today is the 14th: a reading of the 11th is three days old, one of the 10th older (judgement)."""
    daily = f"date,tmin_c,tmax_c\n2027-06-09,9,19\n{last},9,19\n"
    assert with_climate(HEAD + GROUPS, daily=daily, normals=NORMALS) == is_said * [
        "climate/daily.csv:3:1: the weather record stops here, 10 Jun, so heat, frost, rain and cold roots go unseen; "
        "copy the file anew, with its forecast"
    ]


def test_a_root_zone_no_day_of_the_year_brings_is_said() -> None:
    """Normals of 10 °C all year; the shipped schedule of cuttings asks for 15 °C of the root zone."""
    slips = GROUPS.replace("schedule: vigorous", "schedule: cuttings")
    journal = "- {date: 2027-06-01, tree: Brindle, seen: rooted}\n"
    warning = "collection.yaml:7:1: 'rooted' of the group 'growing-on' asks for a root zone of 15 °C, and no day this"
    assert any(each.startswith(warning) for each in with_climate(HEAD + slips, journal, normals=NORMALS))
    measured = journal + "- {date: 2027-06-14, tree: Brindle, root_zone: 17 °C}\n"
    assert not any(each.startswith(warning) for each in with_climate(HEAD + slips, measured, normals=NORMALS))


def test_trees_that_are_gone_raise_no_doubts() -> None:
    journal = (
        "- {date: 2027-04-26, tree: Brindle, laid: coated-16, grams: 60 g}\n"
        "- {date: 2027-05-01, tree: Brindle, gone: sold}\n"
    )
    assert found(HEAD + GROUPS, journal) == []


def test_a_hold_open_since_an_earlier_year_names_all_its_signs_and_asks_for_their_day() -> None:
    journal = "- {date: 2025-03-22, tree: Brindle, work: repotted, roots: 25 %}\n"
    (warning,) = found(HEAD.replace("2027-01-01", "2025-01-01") + GROUPS, journal)
    assert said(warning) == (
        "journal.yaml:1:1: Brindle: held by repotted, severe since 2025, for want of extension and hardened: seen, "
        'perhaps in 2025? Write, with its day for DATE: feedplan record seen "extension, hardened" Brindle --date DATE'
    )


ONE_CLEAN_CHECK = "- {date: 2025-07-01, tree: Brindle, seen: clean check}\n"


@pytest.mark.parametrize(
    ("entry", "seen", "wanted"),
    [
        ("arrived: bought", "", "settled and clean check, 2 times"),
        (
            "arrived: bought",
            ONE_CLEAN_CHECK,
            "settled and clean check once more",
        ),
        ("trouble: aphids", "", "clean check, 2 times"),
        ("trouble: root rot", "", "clean check, 2 times and white root tips"),
    ],
)
def test_what_check_offers_to_end_an_old_hold_ends_it(entry: str, seen: str, wanted: str) -> None:
    """A clean check counts twice, on two days (practice.md, pests and new arrivals)."""
    journal = f"- {{date: 2025-05-10, tree: Brindle, {entry}}}\n{seen}"
    collection = HEAD.replace("2027-01-01", "2025-01-01") + GROUPS
    (warning,) = [each for each in found(collection, journal) if "held by" in said(each)]
    assert f"for want of {wanted}: seen" in said(warning)
    commands = re.findall(r'record seen "?([a-z, ]+?)"? Brindle --date DATE', said(warning))
    assert len(commands) == (1 if "once more" in wanted else 2)
    assert ("a day apart or more" in said(warning)) == (len(commands) == 2)
    typed = [
        f"- {{date: 2025-07-{10 + day}, tree: Brindle, seen: [{signs}]}}\n"
        for day, signs in enumerate(commands)
    ]
    assert [each for each in found(collection, journal + "".join(typed)) if "held by" in said(each)] == []


BENCHES = "benches: {wall: {sun: full sun}, shade: {sun: full shade}}\n"


@pytest.mark.parametrize(
    ("moves", "is_asked"),
    [
        ("- {date: 2027-05-20, tree: Brindle, moved: growing-on}", True),
        ("- {date: 2027-05-20, group: growing-on, moved: growing-on}", True),
        ("- {date: 2027-05-20, tree: Brindle, moved: growing-on, bench: wall}", True),
        ("- {date: 2027-05-20, tree: Brindle, moved: growing-on, bench: shade}", False),
        ("- {date: 2027-05-20, tree: Brindle, moved: refined}", False),
        (
            "- {date: 2027-05-10, tree: Brindle, moved: refined}\n"
            "- {date: 2027-05-20, tree: Brindle, moved: growing-on}",
            False,
        ),
        (
            "- {date: 2027-05-10, tree: Brindle, bench: shade}\n"
            "- {date: 2027-05-20, tree: Brindle, moved: growing-on}",
            False,
        ),
    ],
)
def test_a_move_to_where_a_tree_stands_is_asked_about(moves: str, is_asked: bool) -> None:
    """A grower who writes the new group into the collection and the move, too, loses the old one. Judgement."""
    collection = HEAD + BENCHES + MOVED.replace("pot: 10 L", "pot: 10 L, bench: wall")
    asked = [said(warning) for warning in found(collection, moves) if "there already" in said(warning)]
    assert bool(asked) is is_asked
    for words in asked:
        assert "Brindle: moved to 'growing-on' on 2027-05-20, and there already" in words
        assert "write that group there, or take the move back: feedplan record --undo" in words


def test_a_feed_above_the_label_names_all_the_trees_that_got_it() -> None:
    """2 g/L of 20-10-20 is 400 ppm N; the kinds have years of their own."""
    collection = (
        HEAD
        + GROUPS
        + (
            "  - {name: Moth, species: crab apple, group: growing-on, pot: 5 L}\n"
            "  - {name: Reed, species: Chinese elm, group: growing-on, pot: 3 L}\n"
            "  - {name: Gone, species: crab apple, group: growing-on, pot: 5 L}\n"
        )
    )
    journal = (
        "- {date: 2027-05-01, tree: Gone, gone: sold}\n"
        "- {date: 2027-06-07, group: growing-on, fed: 600 ppm N, id: abcde}\n"
    )
    assert [said(each) for each in found(collection, journal) if "above the label" in said(each)] == [
        "journal.yaml:2:1: Brindle, Reed and Moth: fed 600 ppm N 2027-06-07, above the label of 'powder', at most 400 "
        "ppm N; give plain water until it runs through, or take it back if it is a slip: feedplan record --undo abcde"
    ]
