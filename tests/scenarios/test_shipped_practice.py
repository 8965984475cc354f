"""The shipped schedules and holds against common practice, dates worked out by hand. No source, where none is named."""

from __future__ import annotations

from datetime import date

import pytest

from feedplan.engine.answers.prompts import planned_work
from feedplan.engine.answers.warnings import warnings_of
from feedplan.engine.day import day_of
from feedplan.export.round_text import advice_lines, round_lines
from feedplan.load.collection import load_text
from feedplan.model.course import Hold
from feedplan.model.warning import WorkOutOfSeason
from feedplan.words.reasons import hold_words
from feedplan.words.warnings import warning_words
from tests.scenarios.planning import KORORUA_BAY, WRENMOOR, Plan, plan


def garden(schedule: str, species: str = "hornbeam", tree: str = "", place: str = WRENMOOR) -> str:
    return (
        place
        + "since: 2027-01-01\n"
        + "feeds: {powder: {grade: 20-10-20, form: soluble}}\n"
        + f"groups: {{all: {{schedule: {schedule}, feed: powder}}}}\n"
        + f"trees: [{{name: Corbel, species: {species}, group: all, pot: 12 L{tree}}}]\n"
    )


def shipped(collection: str, journal: str = "", *, today: str, days: int = 200) -> Plan:
    return plan(collection, journal, today=today, days=days, schedules={})


def first_hold(year: Plan) -> Hold:
    return year.season.timelines[0].holds[0]


def repotted(day: str, roots: int) -> str:
    return f"- {{date: {day}, tree: Corbel, work: repotted, roots: {roots} %}}\n"


def out_of_season(collection: str, journal: str, today: str) -> list[str]:
    loaded = load_text(collection, journal, {})
    year = shipped(collection, journal, today=today)
    found = warnings_of(year.season, loaded.collection, loaded.journal)
    return [
        warning_words(d.fact, date.fromisoformat(today)) for d in found if isinstance(d.fact, WorkOutOfSeason)
    ]


# --- root work: raised one band out of season, on weak and on old trees (common practice, no source)


@pytest.mark.parametrize(
    ("day", "roots", "rule"),
    [
        ("2027-03-20", 30, "repotted, moderate"),  # buds swell
        ("2027-06-10", 30, "repotted, severe"),  # in leaf
        ("2027-06-10", 10, "repotted, moderate"),
        ("2027-07-10", 60, "repotted, severe"),  # nothing is heavier
        ("2027-12-01", 30, "repotted, moderate"),  # leaves are down
    ],
)
def test_root_work_in_leaf_counts_one_band_heavier(day: str, roots: int, rule: str) -> None:
    assert first_hold(shipped(garden("vigorous"), repotted(day, roots), today=day)).rule.name == rule


def test_what_raised_it_is_said_with_the_hold() -> None:
    year = shipped(garden("vigorous"), repotted("2027-06-10", 30), today="2027-06-10")
    assert hold_words(first_hold(year), date(2027, 6, 10)) == (
        "repotted, severe, 30 % of roots, counted heavier for the time of year, 10 Jun"
    )
    assert str(first_hold(year).minimum) == "2027-08-05"  # 56 days


def test_sixty_percent_in_july_is_remarked_until_the_hold_is_over() -> None:
    (said,) = out_of_season(garden("vigorous"), repotted("2027-07-10", 60), "2027-07-10")
    assert said.startswith("Corbel: repotted on 10 Jul is out of season for its kind")
    assert "counts as repotted, severe" in said
    assert out_of_season(garden("vigorous"), repotted("2027-03-20", 60), "2027-07-10") == []
    ended = repotted("2027-06-10", 10) + "- {date: 2027-07-20, tree: Corbel, seen: hardened}\n"
    assert out_of_season(garden("vigorous"), ended, "2027-07-19") != []
    assert out_of_season(garden("vigorous"), ended, "2027-07-20") == []


def test_work_planned_out_of_season_is_told_as_the_band_it_would_count_in() -> None:
    planned = "- {date: 2027-05-01, tree: Corbel, planned: repotted, roots: 30 %, on: 2027-06-10}\n"
    year = shipped(garden("vigorous"), planned, today="2027-05-01")
    assert [told.rule for _, told in planned_work(year.season.timelines[0], date(2027, 5, 1))] == [
        "repotted, severe"
    ]
    assert len(out_of_season(garden("vigorous"), planned, "2027-05-01")) == 1


def test_in_the_south_the_season_of_root_work_is_that_of_its_own_spring() -> None:
    south = garden("vigorous", place=KORORUA_BAY)
    for day, rule in (("2027-08-20", "repotted, moderate"), ("2028-01-10", "repotted, severe")):
        assert first_hold(shipped(south, repotted(day, 30), today=day)).rule.name == rule


def test_pine_is_worked_before_candles_move_and_a_fig_in_its_growth() -> None:
    for species, schedule, day, outside in (
        ("Scots pine", "conifer", "2027-04-01", False),
        ("Scots pine", "conifer", "2027-07-01", True),
        ("fig", "indoor-tropical", "2027-07-01", False),
        ("fig", "indoor-tropical", "2027-12-01", True),
    ):
        year = shipped(garden(schedule, species), repotted(day, 10), today=day)
        assert first_hold(year).out_of_season is outside


def test_growth_seen_after_the_work_does_not_make_it_heavier() -> None:
    """Shoots of hornbeam lengthen from about 4 May; seen on 3 May they do not touch work of 30 April."""
    later = "- {date: 2027-05-03, tree: Corbel, seen: first flush extending}\n"
    year = shipped(garden("vigorous"), repotted("2027-04-30", 30) + later, today="2027-05-10")
    assert first_hold(year).rule.name == "repotted, moderate"


@pytest.mark.parametrize("tree", [", weak: true", ", old: true", ", weak: true, old: true"])
def test_root_work_on_a_weak_or_old_tree_counts_one_band_heavier(tree: str) -> None:
    year = shipped(garden("vigorous", tree=tree), repotted("2027-03-20", 10), today="2027-03-20")
    assert first_hold(year).rule.name == "repotted, moderate"


def test_weak_and_sound_trees_of_one_group_repotted_together_are_held_each_as_it_stands() -> None:
    two = garden("vigorous").replace(
        "trees: [", "trees: [{name: Frail, species: hornbeam, group: all, pot: 12 L, old: true}, "
    )
    journal = "- {date: 2027-03-20, group: all, work: repotted, roots: 10 %}\n"
    year = shipped(two, journal, today="2027-03-20")
    assert {t.names: t.holds[0].rule.name for t in year.season.timelines} == {
        ("Frail",): "repotted, moderate",
        ("Corbel",): "repotted, light",
    }


def test_root_work_on_a_tree_recorded_as_weak_counts_heavier_while_that_holds_it() -> None:
    weak = "- {date: 2027-02-20, tree: Corbel, trouble: weak}\n"
    year = shipped(garden("vigorous"), weak + repotted("2027-03-20", 10), today="2027-03-20")
    assert [hold.rule.name for hold in year.season.timelines[0].holds[:2]] == [
        "weakened",
        "repotted, moderate",
    ]


def test_a_weak_tree_in_the_schedule_for_weak_trees_is_raised_once() -> None:
    year = shipped(garden("recovering", tree=", weak: true"), repotted("2027-03-20", 10), today="2027-03-20")
    assert first_hold(year).rule.name == "repotted, moderate"


# --- the schedule for newly repotted trees lets each hold decide


def test_a_light_repot_is_fed_from_new_growth_on_and_into_autumn() -> None:
    """15 % on 13 March: 21 days to 3 April, new growth on 26 April; half of 75, each 14 days, from 16 August 50."""
    seen = "- {date: 2027-04-26, tree: Corbel, seen: new growth}\n"
    year = shipped(garden("newly-repotted"), repotted("2027-03-13", 15) + seen, today="2027-04-26")
    assert year.feeds("Corbel") == [
        "2027-04-26 38", "2027-05-10 75", "2027-05-24 75", "2027-06-07 75", "2027-06-21 75", "2027-07-05 75",
        "2027-07-19 75", "2027-08-02 75", "2027-08-16 50", "2027-08-30 50", "2027-09-13 50", "2027-09-27 50",
    ]  # fmt: skip


def test_a_moderate_repot_still_waits_for_growth_that_has_hardened() -> None:
    """30 % on 13 March, extension alone frees nothing; hardened on 20 June: 25, 50 and 100 % of 75."""
    seen = "- {date: 2027-04-26, tree: Corbel, seen: extension}\n"
    held = shipped(garden("newly-repotted"), repotted("2027-03-13", 30) + seen, today="2027-04-26")
    assert held.feeds("Corbel") == []
    hardened = "- {date: 2027-06-20, tree: Corbel, seen: hardened}\n"
    year = shipped(garden("newly-repotted"), repotted("2027-03-13", 30) + seen + hardened, today="2027-06-20")
    assert year.feeds("Corbel")[:3] == ["2027-06-20 19", "2027-07-04 38", "2027-07-18 75"]


def test_a_severe_cut_there_is_fed_no_later_than_15_august() -> None:
    """60 % on 13 March, hardened on 10 July: 25 % of 75, then half from 21 days on; 21 August is too late."""
    hardened = "- {date: 2027-07-10, tree: Corbel, seen: hardened}\n"
    year = shipped(garden("newly-repotted"), repotted("2027-03-13", 60) + hardened, today="2027-07-10")
    assert year.feeds("Corbel") == ["2027-07-10 19", "2027-07-31 38"]


# --- treatments, scorch, second flush


def test_a_routine_spray_stops_no_feed_on_the_roots() -> None:
    """Leaves open on 24 April; sprayed on 10 May and each month: every 10 days all the same."""
    journal = "- {date: 2027-04-24, tree: Corbel, seen: leaves open}\n"
    sprayed = "- {date: 2027-05-10, tree: Corbel, work: treated}\n- {date: 2027-06-07, tree: Corbel, work: treated}\n"
    year = shipped(garden("vigorous"), journal + sprayed, today="2027-06-07")
    assert [f for f in year.feeds("Corbel") if "2027-05-05" < f < "2027-06-24"] == [
        "2027-05-14 150", "2027-05-24 150", "2027-06-03 150", "2027-06-13 150", "2027-06-23 150",
    ]  # fmt: skip
    assert [str(hold.end) for hold in year.season.timelines[0].holds] == ["2027-05-17", "2027-06-14"]
    assert (
        day_of(year.season, date(2027, 6, 13)).held == ()
    )  # it is in the mix, and not also among those left out


def test_sap_suckers_still_hold_feed_until_two_clean_checks() -> None:
    journal = """
- {date: 2027-05-10, tree: Corbel, trouble: pests}
- {date: 2027-05-20, tree: Corbel, seen: clean check}
"""
    fed = shipped(garden("vigorous"), journal, today="2027-06-07").feeds("Corbel")
    assert [feed for feed in fed if feed > "2027-05-10"] == []


def test_scorch_of_a_tree_of_one_flush_ends_without_new_leaves() -> None:
    """Scorched on 10 July, none since by 24 July: half of 100 ppm that day. Said: shade, and keep it watered."""
    journal = "- {date: 2027-07-10, tree: Corbel, seen: scorched}\n"
    calm = "- {date: 2027-07-24, tree: Corbel, seen: no new scorch}\n"
    pine = garden("conifer", "Scots pine")
    held = shipped(pine, journal, today="2027-07-24")
    assert [f for f in held.feeds("Corbel") if f > "2027-07-10"] == []
    said = " ".join(first_hold(held).rule.do).lower()
    assert "shade" in said and "watered" in said
    assert next(
        f for f in shipped(pine, journal + calm, today="2027-07-24").feeds("Corbel") if f > "2027-07-10"
    ) == ("2027-07-24 50")


@pytest.mark.parametrize("schedule", ["recovering", "collected"])
def test_a_second_flush_says_that_the_first_has_hardened(schedule: str) -> None:
    journal = "- {date: 2027-07-12, tree: Corbel, seen: second flush}\n"
    year = shipped(garden(schedule), journal, today="2027-07-12")
    assert year.feeds("Corbel")[0] == "2027-07-12 30"
    assert [p for p in year.season.prompts if p.stage == "first flush hardened" and p.day.year == 2027] == []


def test_a_second_flush_makes_no_soft_growth_hard_after_root_work() -> None:
    journal = repotted("2027-03-20", 30) + "- {date: 2027-07-12, tree: Corbel, seen: second flush}\n"
    assert shipped(garden("vigorous"), journal, today="2027-07-12").feeds("Corbel") == []


# --- refined trees


def test_a_refined_tree_gets_most_of_its_feed_in_late_summer_and_autumn() -> None:
    """Hardened 6 June: every 28 days at 40 ppm; from 29 August each 14 at 70, then 50, to colour about 8 October."""
    journal = "- {date: 2027-06-06, tree: Corbel, seen: first flush hardened}\n"
    year = shipped(garden("refined"), journal, today="2027-06-06")
    fed = year.feeds("Corbel")
    assert fed == [
        "2027-06-06 40", "2027-07-04 40", "2027-08-01 40", "2027-08-29 70", "2027-09-12 70", "2027-09-26 50",
    ]  # fmt: skip
    by_august, later = (
        [int(f.split()[1]) for f in fed if (f < "2027-08-16") is early] for early in (True, False)
    )
    assert sum(later) > 1.5 * sum(by_august)


def test_a_refined_pine_of_one_flush_is_fed_from_hard_needles_to_mid_november() -> None:
    """Needles hard on 10 August: every 21 days at 60 ppm, the last on 2 November; 23 November would be too late."""
    pine = garden("conifer-refined", "Scots pine").replace("since: 2027-01-01", "since: 2027-08-10")
    journal = "- {date: 2027-08-10, tree: Corbel, seen: needles hardened}\n"
    year = shipped(pine, journal, today="2027-08-10")
    assert year.feeds("Corbel") == [
        "2027-08-10 60", "2027-08-31 60", "2027-09-21 60", "2027-10-12 60", "2027-11-02 60",
    ]  # fmt: skip


# --- looks at held trees


def looks(collection: str, journal: str, today: str) -> list[str]:
    """What a round asks to be looked for at held trees."""
    year = shipped(collection, journal, today=today)
    return [
        " and ".join(met.need.sign for met in review.hold.missing)
        for review in day_of(year.season, date.fromisoformat(today)).looks
    ]


def test_nobody_is_asked_in_winter_whether_a_bare_tree_has_grown() -> None:
    """A weak tree that never grew is asked after until it hardens off, and then from the next spring on."""
    weak = "- {date: 2027-04-17, tree: Corbel, trouble: weak}\n"
    assert looks(garden("recovering"), weak, "2027-08-20") == ["extension and hardened"]
    for day in ("2027-09-15", "2027-12-31", "2028-02-20"):
        assert looks(garden("recovering"), weak, day) == []
    assert looks(garden("recovering"), weak, "2028-06-20") == ["extension and hardened"]


def test_what_can_be_seen_of_a_tree_at_rest_is_still_asked() -> None:
    """Whether a bent branch died back shows in autumn as well."""
    bent = "- {date: 2027-06-01, tree: Corbel, work: bent}\n"
    assert looks(garden("vigorous"), bent, "2027-10-02") == ["turgid at dawn and no die-back"]


def test_a_sign_recorded_again_is_one_hold_with_one_look() -> None:
    """Limp in May and limp in June: the later record counts, and one answer is asked for."""
    limp = "".join(f"- {{date: 2027-{day}, tree: Corbel, seen: limp}}\n" for day in ("05-22", "06-05"))
    (left,) = day_of(shipped(garden("vigorous"), limp, today="2027-06-09").season, date(2027, 6, 9)).not_fed
    assert [str(hold.start) for hold in left.holds] == ["2027-06-05"]
    assert looks(garden("vigorous"), limp, "2027-06-12") == ["turgid at dawn"]


# --- feeds that a hold kept away


def test_a_feed_is_overdue_from_the_day_its_hold_let_it_be_given() -> None:
    """Scorched on 14 June, no new scorch recorded on 1 July: nothing was missed in between, and nothing is made up."""
    collection = "habits: {unlogged_feeds: missed}\n" + garden("vigorous").replace("2027-01-01", "2027-06-06")
    journal = (
        "- {date: 2027-06-06, tree: Corbel, fed: as planned}\n"
        "- {date: 2027-06-14, tree: Corbel, trouble: scorch}\n"
        "- {date: 2027-07-01, tree: Corbel, seen: no new scorch}\n"
    )
    year = shipped(collection, journal, today="2027-07-05")
    said = list(round_lines(day_of(year.season, date(2027, 7, 5)), year.collection))
    assert "  Overdue since Thu 1 Jul: all. Give it once, never doubled." in said


# --- what to look for belongs to stage, season, kind and health


def advice(collection: str, journal: str, today: str) -> list[str]:
    year = shipped(collection, journal, today=today)
    return [each.text for each in day_of(year.season, date.fromisoformat(today)).advice]


@pytest.mark.parametrize(
    ("schedule", "species", "said"),
    [
        ("refined", "hornbeam", "Feeding starts when this is seen."),
        ("conifer", "Scots pine", "Feed starts once the root zone is warm enough."),
    ],
)
def test_that_feed_is_to_start_is_not_said_of_a_tree_that_is_fed(
    schedule: str, species: str, said: str
) -> None:
    """A word about the first feed has no sense from its day on; before it the word is there to be said."""
    cold = "- {date: 2027-04-15, tree: Corbel, root_zone: 5 °C}\n" if schedule == "conifer" else ""
    first = shipped(garden(schedule, species), cold, today="2027-03-01").feeds("Corbel")[0].split()[0]
    assert not any(said in line for line in advice(garden(schedule, species), cold, first))


@pytest.mark.parametrize("schedule", ["recovering", "collected"])
def test_in_october_nobody_is_told_that_a_little_feed_may_be_given_now(schedule: str) -> None:
    """Feed of such trees stops on 15 August; a juniper shows no later stage than its firm foliage until September."""
    for species in ("juniper", "hornbeam", "holly"):
        said = advice(garden(schedule, species), "", "2027-10-02")
        assert all("feed be given" not in each for each in said)
    assert any("feed be given" in each for each in advice(garden(schedule), "", "2027-06-14"))


@pytest.mark.parametrize(
    ("schedule", "species", "stage", "day"),
    [
        ("recovering", "hornbeam", "first flush hardened", "2027-06-14"),
        ("collected", "hornbeam", "first flush extending", "2027-05-10"),
        ("newly-repotted", "hornbeam", "first flush hardened", "2027-06-14"),
        ("refined", "hornbeam", "first flush hardened", "2027-06-14"),
        ("conifer-decandled", "Japanese black pine", "needles hardened", "2027-08-28"),
    ],
)
def test_nobody_is_asked_to_record_what_is_recorded(
    schedule: str, species: str, stage: str, day: str
) -> None:
    """Limp trees, so that no feed makes it needless to ask."""
    limp = "- {date: 2027-05-01, tree: Corbel, seen: limp}\n"
    seen = f"- {{date: {day}, tree: Corbel, seen: {stage}}}\n"
    assert len(advice(garden(schedule, species), limp, day)) == 1
    assert advice(garden(schedule, species), limp + seen, day) == []


@pytest.mark.parametrize(
    ("schedule", "species", "told", "too_late"),
    [
        (
            "conifer",
            "juniper",
            "2027-05-10",
            "2027-06-02",
        ),  # tips move from early May; roots are warm by June
        ("broadleaf-evergreen", "box", "2027-09-10", "2027-10-02"),  # feed stops in the middle of September
        ("conifer-decandled", "Japanese black pine", "2027-06-12", "2027-07-20"),  # candles are cut in June
    ],
)
def test_a_word_for_a_part_of_a_stage_is_not_said_to_its_end(
    schedule: str, species: str, told: str, too_late: str
) -> None:
    """A limp juniper, so that no feed makes a word about its start needless; a limp pine is not decandled."""
    limp = "- {date: 2027-05-01, tree: Corbel, seen: limp}\n" if schedule == "conifer" else ""
    assert len(advice(garden(schedule, species), limp, told)) == 1
    assert advice(garden(schedule, species), limp, too_late) == []


@pytest.mark.parametrize(
    ("schedule", "species", "day"),
    [
        ("vigorous", "hornbeam", "2027-03-25"),
        ("broadleaf-evergreen", "box", "2027-04-10"),
        ("conifer-refined", "Scots pine", "2027-04-10"),
    ],
)
def test_a_tree_just_repotted_is_not_called_to_be_repotted(schedule: str, species: str, day: str) -> None:
    assert "Repot now" in advice(garden(schedule, species), "", day)[0]
    assert advice(garden(schedule, species), repotted("2027-03-22", 15), day) == []


def test_only_a_sound_pine_with_its_candles_on_is_called_to_be_decandled() -> None:
    """A weak tree is not decandled at all, and one that was keeps the rest of its summer in peace."""
    pine, cut = garden("conifer-decandled", "Japanese black pine"), "decandled"
    weak = garden("conifer-decandled", "Japanese black pine", ", weak: true")
    done = f"- {{date: 2027-06-12, tree: Corbel, work: {cut}}}\n"
    assert cut in advice(pine, "", "2027-06-13")[0]
    assert advice(pine, done, "2027-06-13") == advice(weak, "", "2027-06-13") == []


@pytest.mark.parametrize(
    ("place", "days"),
    [
        (WRENMOOR, ("2027-12-31", "2028-01-01", "2028-02-20")),
        (KORORUA_BAY, ("2028-06-30", "2028-07-01", "2028-07-31")),
    ],
)
def test_the_word_for_winter_stands_until_the_buds_swell(place: str, days: tuple[str, ...]) -> None:
    """A growing year begins in the middle of winter: the cautions about frozen balls go on all the same."""
    for day in days:
        (said,) = advice(garden("vigorous", place=place), "", day)
        assert "Do not water a frozen ball" in said


def test_each_word_names_the_trees_it_is_for_and_every_group_it_is_for() -> None:
    """Larch is not defoliated, hornbeam may be: in one group each is named; groups told the same stand together."""
    trees = (
        WRENMOOR
        + "since: 2027-01-01\n"
        + "groups: {rough: {schedule: vigorous}, fine: {schedule: refined}}\n"
        + "trees:\n"
        + "  - {name: Fennel, species: larch, group: rough, pot: 6 L}\n"
        + "  - {name: Corbel, species: hornbeam, group: rough, pot: 6 L}\n"
        + "  - {name: Vesper, species: hornbeam, group: fine, pot: 6 L}\n"
    )

    def said(day: str) -> list[str]:
        return list(advice_lines(day_of(shipped(trees, today=day).season, date.fromisoformat(day))))

    assert said("2027-06-14")[:2] == [
        "rough (Fennel), first flush hardened: Time to prune strong trees.",
        "rough (Corbel), first flush hardened: Time to prune, or defoliate strong trees.",
    ]
    (winter,) = said("2027-12-10")
    assert winter.startswith("rough and fine, dormant: Moist, never sodden")


@pytest.mark.parametrize(
    ("species", "tree", "said"),
    [
        ("hornbeam", "", ["Time to prune, or defoliate strong trees."]),
        ("larch", "", ["Time to prune strong trees."]),
        ("silver birch", "", ["Time to prune strong trees."]),
        ("hornbeam", ", weak: true", []),
    ],
)
def test_leaves_are_cut_only_of_strong_broad_leaved_trees(species: str, tree: str, said: list[str]) -> None:
    hardened = "- {date: 2027-06-12, tree: Corbel, seen: first flush hardened}\n"
    assert advice(garden("vigorous", species, tree), hardened, "2027-06-14") == said


def test_a_held_tree_is_not_called_to_be_pruned() -> None:
    hardened = "- {date: 2027-06-12, tree: Corbel, seen: first flush hardened}\n"
    held = "- {date: 2027-06-10, tree: Corbel, trouble: drought}\n"
    assert advice(garden("vigorous"), held + hardened, "2027-06-14") == []
