"""Recovery after root work and damage: what opens a hold, what ends it, how feeding is taken up again.

Lengths, signs and ramps are the shipped standing rules; common practice, no source, as marked there.
"""

from __future__ import annotations

from datetime import date

import pytest

from feedplan.engine.day import day_of
from feedplan.model.hold import Action
from tests.looks import looks_in_week
from tests.scenarios.planning import GROUPS, KORORUA_BAY, SCHEDULES, SINCE_24_APRIL, WRENMOOR, Plan, plan

TWO_LARCHES = (
    WRENMOOR
    + "since: 2027-04-20\n"
    + GROUPS
    + """
trees:
  - {name: Brindle, species: larch, group: V, pot: 10 L}
  - {name: Fennel, species: larch, group: V, pot: 6 L}
"""
)
REPOTTED = """
- {date: 2027-04-20, species: larch, seen: leaves open}
- {date: 2027-04-20, group: V, fed: as planned}
- {date: 2027-04-26, tree: Brindle, work: repotted, roots: 30 %}
"""


def test_a_repot_cancels_the_next_feed_of_that_tree_alone_and_its_share_of_the_can() -> None:
    year = plan(TWO_LARCHES, REPOTTED, today="2027-04-26")
    item = year.item("2027-04-30", "Fennel")
    assert item.names == ("Fennel",)
    assert f"{item.poured_litres:.1f}" == "0.6"
    assert year.not_fed("2027-04-30", "Brindle") == ["repotted, moderate on 26 Apr"]
    hold = year.season.timelines[0].holds[0]
    assert (str(hold.minimum), hold.end) == ("2027-05-31", None)
    assert [feed for feed in year.feeds("Brindle") if feed > "2027-04-26"] == []


def test_feeding_resumes_by_a_ramp_once_the_days_are_over_and_the_growth_is_hardened() -> None:
    year = plan(
        TWO_LARCHES, REPOTTED + "- {date: 2027-06-06, tree: Brindle, seen: hardened}", today="2027-06-06"
    )
    resumed = [feed for feed in year.feeds("Brindle") if feed > "2027-04-26"]
    assert resumed[:4] == ["2027-06-06 38", "2027-06-16 75", "2027-06-26 150", "2027-07-06 150"]


def test_a_sign_seen_before_the_days_are_over_frees_nothing_early() -> None:
    year = plan(
        TWO_LARCHES, REPOTTED + "- {date: 2027-05-20, tree: Brindle, seen: hardened}", today="2027-05-20"
    )
    assert next(feed for feed in year.feeds("Brindle") if feed > "2027-04-26") == "2027-05-31 38"


def test_overlapping_holds_end_with_the_last_and_share_one_ramp() -> None:
    collection = WRENMOOR + GROUPS + "trees: [{name: Ember, species: maple, group: V, pot: 5 L}]"
    journal = """
- {date: 2027-03-20, tree: Ember, work: repotted, roots: 30 %}
- {date: 2027-04-22, tree: Ember, trouble: frost}
"""
    hardened = "- {date: 2027-05-04, tree: Ember, seen: first flush hardened}\n"
    clean = "- {date: 2027-05-08, tree: Ember, seen: clean new leaves}\n"
    both = plan(collection, journal, today="2027-05-04")
    assert [str(hold.minimum) for hold in both.season.timelines[0].holds][:2] == ["2027-04-24", "2027-05-06"]
    assert both.feeds("Ember") == []
    assert plan(collection, journal + hardened, today="2027-05-07").feeds("Ember") == []
    freed = plan(collection, journal + hardened + clean, today="2027-05-08").feeds("Ember")
    assert freed[:3] == ["2027-05-08 38", "2027-05-18 75", "2027-05-28 150"]


def test_a_sighting_written_down_late_makes_no_event_in_the_past() -> None:
    collection = WRENMOOR + GROUPS + "trees: [{name: Moth, species: hornbeam, group: V, pot: 5 L}]"
    journal = """
- {date: 2027-04-05, tree: Moth, work: repotted, roots: 30 %}
- {date: 2027-05-12, recorded: 2027-05-20, tree: Moth, seen: first flush hardened}
"""
    year = plan(collection, journal, today="2027-05-20")
    assert str(year.season.timelines[0].holds[0].minimum) == "2027-05-10"
    assert year.feeds("Moth")[0] == "2027-05-20 38"
    met = year.season.timelines[0].holds[0].needs[-1].entry
    assert met is not None
    assert (str(met.day), str(met.recorded)) == ("2027-05-12", "2027-05-20")


LODESTAR = WRENMOOR + GROUPS + "trees: [{name: Lodestar, species: hornbeam, group: V, pot: 8 L}]"
CUT = "- {date: 2027-03-14, tree: Lodestar, work: repotted, roots: 60 %}\n"
LIMP = "- {date: 2027-05-28, tree: Lodestar, seen: [limp, no extension]}\n"
# Its leaves stand again at dawn, which ends the hold that "limp" opened, and says nothing of growth.
STANDING = "- {date: 2027-06-10, tree: Lodestar, seen: turgid at dawn}\n"


def test_ten_weeks_after_a_severe_cut_a_limp_tree_is_still_recovering() -> None:
    year = plan(LODESTAR, CUT + LIMP, today="2027-05-28")
    hold = year.season.timelines[0].holds[0]
    assert (hold.rule.name, str(hold.minimum), hold.end) == ("repotted, severe", "2027-05-09", None)
    assert {Action.LIQUID, Action.SOLID, Action.PRUNING} <= hold.rule.stops
    assert year.feeds("Lodestar") == []
    assert year.reviews("Lodestar")[0] == "2027-06-04"
    said = " ".join(hold.rule.do)
    assert all(
        word in said
        for word in ("Keep every leaf", "at dawn", "shade", "Shelter" if "Shelter" in said else "shelter")
    )


PUT_OFF = "- {id: p1, date: 2027-06-21, tree: Lodestar, put_off: next spring}\n"


def test_with_nothing_by_week_fourteen_the_plan_asks_to_carry_to_next_spring_and_goes_on_looking() -> None:
    """14 weeks from 14 March are 20 June; nobody answers, so each week it asks again, until trees come to rest."""
    for leaves in (LIMP, LIMP + STANDING):
        year = plan(LODESTAR, CUT + leaves, today="2027-06-19")
        asked = [(str(r.day), r.carry_to) for r in year.season.reviews if r.carry_to is not None]
        assert asked[:3] == [("2027-06-20", 2028), ("2027-06-27", 2028), ("2027-07-04", 2028)]
        assert all(day < "2027-09-01" for day, _ in asked)
        assert year.season.timelines[0].holds[0].put_off is None


def test_a_tree_put_off_is_looked_at_again_in_spring_alone() -> None:
    """What it was held for when it still hung its leaves does not ask either; the first flush hardens about 10 June."""
    for leaves in (LIMP, LIMP + STANDING):
        year = plan(LODESTAR, CUT + leaves + PUT_OFF, today="2027-06-21", days=400)
        assert [day for day in year.reviews("Lodestar") if "2027-06-20" < day < "2028-04-01"] == []
        assert any("2028-05-01" < day < "2028-07-01" for day in year.reviews("Lodestar"))


def test_a_look_left_open_is_not_asked_for_any_more_once_the_tree_is_put_off() -> None:
    """Nobody answered the look of 20 June; put off on the 21st, no round asks again before spring. Judgement."""
    for day in ("2027-06-21", "2027-06-22", "2027-08-01"):
        for journal, asked in ((CUT, True), (CUT + PUT_OFF, False)):
            season = plan(LODESTAR, journal, today=day).season
            open_ones = [look for look in day_of(season, season.today).looks if not look.is_answered]
            assert bool(open_ones) is asked
    spring = plan(LODESTAR, CUT + PUT_OFF, today="2028-06-20").season
    assert [look.is_answered for look in day_of(spring, spring.today).looks] == [False]


def test_a_tree_put_off_is_fed_only_on_the_signs_of_next_spring() -> None:
    seen = """
- {date: 2027-07-02, tree: Lodestar, seen: extension}
- {date: 2027-07-25, tree: Lodestar, seen: hardened}
"""
    put_off = plan(LODESTAR, CUT + PUT_OFF + seen, today="2027-07-25", days=250)
    assert put_off.feeds("Lodestar") == []
    hardened = "- {date: 2028-06-14, tree: Lodestar, seen: first flush hardened}\n"
    spring = plan(LODESTAR, CUT + PUT_OFF + seen + hardened, today="2028-06-14", days=60)
    assert spring.feeds("Lodestar")[:2] == ["2028-06-14 38", "2028-07-05 50"]
    # Taken back, what was seen counts from that day on, as in the year when nobody put it off.
    back = "- {date: 2027-07-25, undo: p1}\n"
    assert plan(LODESTAR, CUT + PUT_OFF + seen + back, today="2027-07-25", days=250).feeds("Lodestar") == [
        "2027-07-25 38",
        "2027-08-15 50",
    ]


def test_nothing_is_put_off_beyond_the_next_spring() -> None:
    """Put off once more in 2028: that spring has come, so looks go on and its signs count."""
    again = "- {date: 2028-06-20, tree: Lodestar, put_off: next spring}\n"
    year = plan(LODESTAR, CUT + PUT_OFF + again, today="2028-06-20", days=100)
    assert [day for day in year.reviews("Lodestar") if "2028-06-20" < day < "2028-08-01"] != []
    hardened = "- {date: 2028-06-25, tree: Lodestar, seen: hardened}\n"
    fed = plan(LODESTAR, CUT + PUT_OFF + again + hardened, today="2028-06-25", days=100).feeds("Lodestar")
    assert fed[0] == "2028-06-25 38"


def test_a_southern_cut_in_may_can_be_put_off_to_the_spring_of_that_year() -> None:
    """Cut 20 May 2027, put off on 1 June: its spring is that of September 2027."""
    garden = LODESTAR.replace(WRENMOOR, KORORUA_BAY)
    journal = "- {date: 2027-05-20, tree: Lodestar, work: repotted, roots: 60 %}\n"
    put_off = "- {date: 2027-06-01, tree: Lodestar, put_off: next spring}\n"
    hold = plan(garden, journal + put_off, today="2027-06-01").season.timelines[0].holds[0]
    assert hold.spring == 2027
    assert all(str(day) > "2027-09-01" for day in hold.reviews)


def test_a_severe_cut_that_recovers_late_is_fed_twice_and_never_above_the_cap() -> None:
    seen = """
- {date: 2027-07-02, tree: Lodestar, seen: extension}
- {date: 2027-07-25, tree: Lodestar, seen: hardened}
"""
    year = plan(LODESTAR, CUT + LIMP + STANDING + seen, today="2027-07-25", days=250)
    assert year.feeds("Lodestar") == ["2027-07-25 38", "2027-08-15 50"]


def test_other_evidence_releases_a_severe_cut_only_at_next_springs_hardened_flush() -> None:
    firm = "- {date: 2027-10-20, tree: Lodestar, seen: [firm green leaves to leaf fall, plump buds]}\n"
    winter = plan(LODESTAR, CUT + LIMP + STANDING + firm, today="2027-11-01", days=400)
    assert winter.season.timelines[0].holds[0].end is None
    assert winter.feeds("Lodestar") == []
    hardened = "- {date: 2028-06-14, tree: Lodestar, seen: first flush hardened}\n"
    spring = plan(LODESTAR, CUT + LIMP + STANDING + firm + hardened, today="2028-06-14", days=200)
    assert str(spring.season.timelines[0].holds[0].end) == "2028-06-14"
    assert spring.feeds("Lodestar")[:3] == ["2028-06-14 38", "2028-07-05 50", "2028-07-26 50"]


def test_a_flush_hardened_before_the_cut_does_not_stand_for_next_springs() -> None:
    """Cut on 1 July after this year's and last year's flush: firm leaves and plump buds wait for that of 2028."""
    late = """
- {date: 2026-06-12, tree: Lodestar, seen: first flush hardened}
- {date: 2027-06-10, tree: Lodestar, seen: first flush hardened}
- {date: 2027-07-01, tree: Lodestar, work: repotted, roots: 60 %}
- {date: 2027-10-20, tree: Lodestar, seen: [firm green leaves to leaf fall, plump buds]}
"""
    spring = plan(LODESTAR, late, today="2028-05-20", days=60)
    assert [hold.end for hold in spring.season.timelines[0].holds] == [None]
    assert [feed for feed in spring.feeds("Lodestar") if feed > "2027-07-01"] == []
    hardened = "- {date: 2028-06-14, tree: Lodestar, seen: first flush hardened}\n"
    freed = plan(LODESTAR, late + hardened, today="2028-06-14", days=60)
    assert [str(hold.end) for hold in freed.season.timelines[0].holds] == ["2028-06-14"]


@pytest.mark.parametrize(
    ("day", "rule"),
    [
        ("2027-03-14", "repotted, light"),
        ("2027-07-14", "repotted, moderate"),
        ("2027-08-20", "repotted, moderate"),
    ],
)
def test_root_work_in_summer_counts_one_band_heavier_than_in_spring(day: str, rule: str) -> None:
    """Common practice, no source: a hornbeam's roots are cut before its leaves open."""
    work = f"- {{date: {day}, tree: Lodestar, work: repotted, roots: 10 %}}\n"
    hold = plan(LODESTAR, work, today=day, days=60).season.timelines[0].holds[0]
    assert (hold.rule.name, hold.out_of_season) == (rule, rule != "repotted, light")


@pytest.mark.parametrize(
    ("day", "seen", "unseen"), [("05-15", "moderate", "light"), ("05-26", "moderate", "moderate")]
)
def test_root_work_after_the_flush_was_seen_counts_heavier_and_unseen_three_weeks_later(
    day: str, seen: str, unseen: str
) -> None:
    """Judgement: a hornbeam's first flush typically extends on 4 May, give or take three weeks."""
    work = f"- {{date: 2027-{day}, tree: Lodestar, work: repotted, roots: 10 %}}\n"
    flush = "- {date: 2027-04-28, tree: Lodestar, seen: first flush extending}\n"
    found = [plan(LODESTAR, text + work, today=f"2027-{day}", days=30) for text in (flush, "")]
    rules = [year.season.timelines[0].holds[0].rule.name for year in found]
    assert rules == [f"repotted, {seen}", f"repotted, {unseen}"]


@pytest.mark.parametrize(("day", "outside"), [("2027-02-14", True), ("2027-07-20", False)])
def test_a_tropical_tree_stands_root_work_in_its_warm_months_alone(day: str, outside: bool) -> None:
    """Common practice, no source."""
    work = f"- {{date: {day}, tree: Lodestar, work: repotted, roots: 10 %}}\n"
    year = plan(LODESTAR.replace("hornbeam", "ficus"), work, today=day, days=30)
    assert year.season.timelines[0].holds[0].out_of_season is outside


def test_a_tree_cut_when_bare_is_looked_at_from_its_open_leaves_on() -> None:
    """Judgement: nothing can be seen of it before; the weeks of a severe cut count from next spring's leaves."""
    cut = """
- {date: 2027-11-05, tree: Lodestar, seen: leaves fallen}
- {date: 2027-11-20, tree: Lodestar, work: repotted, roots: 60 %}
"""
    year = plan(LODESTAR, cut, today="2027-11-20", days=300)
    opens = next(at for at in year.season.timelines[0].stage_dates(2028) if at.stage == "leaves open")
    looks = [date.fromisoformat(day) for day in year.reviews("Lodestar")]
    assert opens.typical.year == 2028
    assert [(day - opens.typical).days for day in looks[:4]] == [56, 70, 84, 98]


def looks_told(year: Plan, day: str) -> list[str]:
    return [review.hold.rule.name for review in day_of(year.season, date.fromisoformat(day)).looks]


def test_nobody_is_asked_in_winter_how_the_leaves_of_a_bare_tree_stand() -> None:
    """A hornbeam seen limp in summer: asked while it has leaves, not while it is bare, and again once it has some."""
    limp = "- {date: 2027-08-20, tree: Lodestar, seen: limp}\n"
    for today, asked in (
        ("2027-09-20", True),
        ("2027-12-01", False),
        ("2028-02-10", False),
        ("2028-05-20", True),
    ):
        year = plan(LODESTAR, limp, today=today, days=60)
        assert ("limp" in looks_told(year, today)) is asked, today
        assert [hold.rule.name for hold in year.season.timelines[0].holds if hold.end is None] == ["limp"]


def test_an_evergreen_is_asked_all_winter() -> None:
    pine = LODESTAR.replace("species: hornbeam", "species: juniper")
    limp = "- {date: 2027-08-20, tree: Lodestar, seen: limp}\n"
    assert "limp" in looks_told(plan(pine, limp, today="2027-12-01", days=60), "2027-12-01")


def test_a_bought_tree_is_not_fed_before_it_settled_and_never_for_the_time_before_it_came() -> None:
    collection = WRENMOOR + GROUPS + "trees: [{name: Old Kelp, species: juniper, group: V, pot: 8 L}]"
    journal = """
- {date: 2027-06-06, tree: Old Kelp, arrived: bought}
- {date: 2027-06-20, tree: Old Kelp, seen: [settled, clean check]}
- {date: 2027-06-28, tree: Old Kelp, seen: clean check}
"""
    year = plan(collection, journal, today="2027-06-28")
    assert year.feeds("Old Kelp")[:2] == ["2027-07-04 75", "2027-07-14 150"]


def test_a_dead_tree_leaves_the_mix_and_undoing_that_restores_everything() -> None:
    trees = "trees:\n" + "".join(
        f"  - {{name: {name}, species: elm, group: V, pot: 5 L}}\n" for name in TWELVE
    )
    collection = WRENMOOR + SINCE_24_APRIL + GROUPS + trees
    opened = "- {date: 2027-04-24, species: elm, seen: leaves open}\n"
    gone = opened + "- {id: p1, date: 2027-05-30, tree: Pippin, gone: dead}\n"
    before = plan(collection, opened, today="2027-05-30")
    after = plan(collection, gone, today="2027-05-30")
    assert before.item("2027-06-03", "Pippin").head_count == 12
    assert after.item("2027-06-03", TWELVE[0]).head_count == 11
    assert [feed for feed in after.feeds("Pippin") if feed > "2027-05-30"] == []
    assert [feed for feed in after.feeds("Pippin") if feed < "2027-05-30"] == [
        feed for feed in before.feeds("Pippin") if feed < "2027-05-30"
    ]
    at_once = plan(collection, gone + "- {date: 2027-05-30, undo: p1}\n", today="2027-05-30")
    assert at_once.season == before.season
    # Taken back a day later, it stood until then; from then on everyone is fed as if it had never been written.
    undo = "- {date: 2027-05-31, undo: p1}\n"
    assert plan(collection, gone + undo, today="2027-05-30").item("2027-06-03", TWELVE[0]).head_count == 11
    undone, untouched = (plan(collection, text, today="2027-05-31") for text in (gone + undo, opened))
    assert mixes(undone) == mixes(untouched)
    assert all(undone.feeds(name) == untouched.feeds(name) for name in TWELVE)


def mixes(year: Plan) -> list[tuple[date, list[str], float]]:
    """Each mix of a plan: its day, who gets it, and the litres poured."""
    return [(item.day, sorted(item.names), float(item.poured_litres)) for item in year.season.rounds]


TWELVE = [
    "Sorrel", "Pippin", "Gannet", "Thimble", "Quill", "Marrow",
    "Saffron", "Tansy", "Wicket", "Burdock", "Juno", "Otter",
]  # fmt: skip


@pytest.mark.parametrize(
    ("signs", "strengths"),
    [
        ("", ["38", "75", "150"]),
        ("- {date: 2027-06-10, tree: Brindle, seen: yellowing}\n", ["38", "38", "75"]),
        (
            "- {date: 2027-06-18, tree: Brindle, seen: pale}\n- {date: 2027-06-20, tree: Brindle, seen: pale}\n",
            ["38", "75", "38"],
        ),
    ],
)
def test_an_adverse_sign_freezes_the_ramp_and_two_in_a_row_drop_one_step(
    signs: str, strengths: list[str]
) -> None:
    hardened = "- {date: 2027-06-06, tree: Brindle, seen: hardened}\n"
    year = plan(TWO_LARCHES, REPOTTED + hardened + signs, today="2027-06-21")
    resumed = [feed.split()[1] for feed in year.feeds("Brindle") if feed > "2027-04-26"]
    assert resumed[:3] == strengths


def test_the_last_step_of_a_ramp_left_out_moves_no_feed_that_was_told_with_it() -> None:
    """Ramps go by 10 days, the schedule here by 7: 26 June was told with 3 July after it (judgement)."""
    weekly = {**SCHEDULES, "V": SCHEDULES["V"].replace("every: 10 days", "every: 7 days")}
    journal = REPOTTED + "- {date: 2027-06-06, tree: Brindle, seen: hardened}\n"
    journal += "".join(f"- {{date: 2027-06-{day}, tree: Brindle, fed: as planned}}\n" for day in ("06", "16"))
    garden = "habits: {unlogged_feeds: missed}\n" + TWO_LARCHES
    for today, third in (("2027-06-26", "06-26"), ("2027-06-28", "06-28")):
        year = plan(garden, journal, today=today, days=30, schedules=weekly)
        coming = [feed for feed in year.feeds("Brindle") if feed >= today]
        assert coming[:2] == [f"2027-{third} 150", "2027-07-03 150"]


def test_an_override_feeds_once_inside_a_hold_and_its_reason_is_kept() -> None:
    allow = "- {date: 2027-05-10, tree: Brindle, allow: feed, because: a trial on a spare tree}\n"
    year = plan(TWO_LARCHES, REPOTTED + allow, today="2027-05-10", days=60)
    assert [feed for feed in year.feeds("Brindle") if feed > "2027-04-26"] == ["2027-05-10 150"]


def test_a_dry_root_ball_puts_the_feed_off_by_a_day_for_that_tree_alone() -> None:
    journal = """
- {date: 2027-04-24, species: larch, seen: leaves open}
- {date: 2027-05-14, tree: Brindle, check: dry}
- {date: 2027-05-15, tree: Brindle, check: moist}
"""
    larches = TWO_LARCHES.replace("since: 2027-04-20\n", SINCE_24_APRIL)
    year = plan(larches, journal, today="2027-05-15", days=60)
    assert [feed for feed in year.feeds("Brindle") if feed > "2027-05-05"][:2] == [
        "2027-05-15 150",
        "2027-05-25 150",
    ]
    assert [feed for feed in year.feeds("Fennel") if feed > "2027-05-05"][:2] == [
        "2027-05-14 150",
        "2027-05-24 150",
    ]


def test_a_root_ball_found_dry_twice_in_a_day_is_said_once() -> None:
    dry = "- {date: 2027-05-14, tree: Brindle, check: dry}\n"
    leaves = "- {date: 2027-04-24, species: larch, seen: leaves open}\n"
    larches = TWO_LARCHES.replace("since: 2027-04-20\n", SINCE_24_APRIL)
    year = plan(larches, leaves + dry + dry, today="2027-05-14", days=60)
    assert year.not_fed("2027-05-14", "Brindle") == ["dry root ball: water first, feed once evenly moist"]


def test_a_group_recorded_as_fed_means_the_trees_the_round_named_or_all_that_were_free_when_it_named_none() -> (
    None
):
    journal = REPOTTED + "- {date: 2027-04-30, group: V, fed: as planned}\n"
    year = plan(TWO_LARCHES, journal, today="2027-05-01", days=20)
    assert year.statuses("Fennel")[:2] == ["2027-04-20 recorded", "2027-04-30 recorded"]
    assert year.statuses("Brindle") == ["2027-04-20 recorded"]
    early = plan(
        TWO_LARCHES,
        REPOTTED + "- {date: 2027-04-24, group: V, fed: as planned}\n",
        today="2027-05-01",
        days=20,
    )
    assert early.statuses("Fennel")[:2] == ["2027-04-20 recorded", "2027-04-24 recorded"]


def test_root_work_asks_for_more_looks_where_the_pot_alone_asks_for_fewer() -> None:
    year = plan(TWO_LARCHES, REPOTTED, today="2027-04-26", days=60)
    opened = REPOTTED[: REPOTTED.index("- {date: 2027-04-26")]
    uncut = plan(TWO_LARCHES, opened, today="2027-04-26", days=60)
    week = date(2027, 4, 26)
    assert looks_in_week(uncut.season, "Brindle", week) == 4
    assert looks_in_week(year.season, "Brindle", week) == 7
    assert [looks_in_week(p.season, "Fennel", week) for p in (uncut, year)] == [7, 7]
    dry = [stretch for stretch in year.season.checks if stretch.surface_dry]
    assert {name for stretch in dry for name in stretch.surface_dry} == {"Brindle"}
    assert min(stretch.start for stretch in dry) == week


# Leaves open 24 April, so that shoots lengthen from 4 May on; repotted 26 April with 30 % of the roots off; 12 weeks
# later it is 19 July.
BRINDLE = (
    WRENMOOR
    + "since: 2027-04-20\n"
    + GROUPS
    + "trees: [{name: Brindle, species: larch, group: V, pot: 10 L}]"
)
MODERATE = """
- {date: 2027-04-24, tree: Brindle, seen: leaves open}
- {date: 2027-04-26, tree: Brindle, work: repotted, roots: 30 %}
"""


def seen(day: str, *signs: str) -> str:
    return f"- {{date: {day}, tree: Brindle, seen: [{', '.join(signs)}]}}\n"


def test_a_moderate_cut_that_shows_nothing_for_twelve_weeks_is_cared_for_as_a_severe_one() -> None:
    """Hardened the day after: 25 % of 150 on 20 July, 21 days on 50 ppm (half is 75), nothing after 15 August."""
    year = plan(BRINDLE, MODERATE + seen("2027-07-20", "hardened"), today="2027-07-20", days=150)
    assert [feed for feed in year.feeds("Brindle") if feed > "2027-04-26"] == [
        "2027-07-20 38",
        "2027-08-10 50",
    ]
    held = plan(BRINDLE, MODERATE, today="2027-07-19").season.timelines[0].holds[-1]
    assert (held.rule.name, str(held.start)) == ("repotted, severe", "2027-07-19")
    assert Action.FULL_SUN in held.rule.stops


@pytest.mark.parametrize("sign", ["extension", "hardened"])
def test_a_sign_seen_by_then_keeps_a_moderate_cut_moderate(sign: str) -> None:
    """Seen on the last day, hardened by 22 July: 25, 50 and 100 % ten days apart; 11 August is the last of summer."""
    signs = seen("2027-07-19", sign) + seen("2027-07-22", "hardened")
    year = plan(BRINDLE, MODERATE + signs, today="2027-07-22", days=30)
    first = "2027-07-19" if sign == "hardened" else "2027-07-22"
    fed = [feed for feed in year.feeds("Brindle") if feed > "2027-04-26"]
    assert fed[0].startswith(first)
    assert [feed.split()[1] for feed in fed[:3]] == ["38", "75", "150"]
    assert all(hold.rule.name == "repotted, moderate" for hold in year.season.timelines[0].holds)


def test_a_sign_seen_in_time_and_written_down_late_makes_it_moderate_again() -> None:
    late = "- {date: 2027-07-10, recorded: 2027-07-30, tree: Brindle, seen: hardened}\n"
    year = plan(BRINDLE, MODERATE + late, today="2027-07-30", days=40)
    assert [feed for feed in year.feeds("Brindle") if feed > "2027-04-26"][:2] == [
        "2027-07-30 38",
        "2027-08-09 75",
    ]


def test_the_looks_at_a_moderate_cut_go_on_as_those_at_a_severe_one() -> None:
    """Weeks 5, 8 and 12, then 14 with the question whether to put it off, told from the first day on."""
    looks = ["2027-05-31", "2027-06-21", "2027-07-19", "2027-08-02"]
    for today in ("2027-04-26", "2027-07-18"):
        assert plan(BRINDLE, MODERATE, today=today).reviews("Brindle")[:4] == looks
    carry = [r for r in plan(BRINDLE, MODERATE, today="2027-07-19").season.reviews if r.carry_to is not None]
    assert [(str(r.day), r.carry_to) for r in carry][:1] == [("2027-08-02", 2028)]


def test_two_signs_of_illness_in_one_entry_are_two_holds_with_calendar_rows_of_their_own() -> None:
    both = "- {date: 2027-06-01, tree: Brindle, seen: [limp, scorched]}\n"
    year = plan(BRINDLE, both, today="2027-06-01")
    assert len({hold.key for hold in year.season.timelines[0].holds}) == 2
    assert len({review.key for review in year.season.reviews}) == len(year.season.reviews)
