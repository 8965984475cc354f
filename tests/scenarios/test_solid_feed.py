"""Solid feed: when it is laid and lifted, what it leaves for the can, and what nobody may take for granted."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest

from feedplan.engine.answers.explain import explain
from feedplan.engine.answers.warnings import warnings_of
from feedplan.engine.day import day_of
from feedplan.engine.feeding.release import Release
from feedplan.engine.plan import plan_season
from feedplan.export.entries import calendar_entries
from feedplan.export.round_text import round_lines
from feedplan.export.why_text import why_lines
from feedplan.load import load_text
from feedplan.model.course import Act, SolidEvent, Status
from feedplan.model.journal import Journal
from feedplan.model.reason import Rule
from feedplan.model.warning import LaidWhenHeld, MuchNitrogen
from feedplan.words.warnings import warning_words
from feedplan.words.writing import names_words
from tests.dose.published import rows
from tests.scenarios.planning import SCHEDULES, SINCE_24_APRIL, WRENMOOR, Plan, plan

# Pellets of 5 % N, of which 60 % comes free in 50 days: 2 g a litre give 2 x 50 x 0.6 = 60 mg N per litre of pot.
SHELF = """
feeds:
  powder: {grade: 20-10-20, form: soluble}
  pellets: {grade: 5-3-2, form: organic, released: 60 %, longevity: 50 days}
  coated: {grade: 16-8-12, form: coated, longevity: 150 days}
"""
PELLETS = SCHEDULES["V"].replace(
    "feeding:", "feeding:\n  pellets: {from: 1 April, to: 15 August, every: 5 weeks, solid: 2 g per L}"
)
V = {"V": PELLETS}
GROUP = "groups: {V: {schedule: V, feed: powder, solid_feed: pellets}}\n"
BRINDLE = "trees: [{name: Brindle, species: elm, group: V, pot: 10 L}]\n"
OPEN = "- {date: 2027-04-24, tree: Brindle, seen: leaves open}\n"


def solids(year: Plan, act: Act = Act.LAY) -> list[str]:
    """Each laying or lifting of the first timeline in 2027 as "2027-04-01 planned"."""
    events = year.season.timelines[0].solid_events
    return [f"{e.day} {e.status}" for e in events if e.act is act and e.day.year == 2027]


def liquid_mg_per_l(year: Plan, season: int = 2027) -> Decimal:
    """N of the season's liquid feeds [mg per L of container]; a tenth of the pot is poured."""
    feeds = year.season.timelines[0].feeds
    return sum(
        (f.ppm / 10 for f in feeds if f.season == season and f.status is not Status.MISSED), Decimal(0)
    )


def solid_mg_per_l(year: Plan, season: int = 2027) -> Decimal:
    return sum((s.mg_n_per_l for s in year.season.timelines[0].solids if s.season == season), Decimal(0))


def test_what_a_solid_feed_has_given_is_known_by_the_first_of_each_month_of_its_season() -> None:
    """Its release bends with the weather: straight lines from laying to the year's end would hide that."""
    year = plan(WRENMOOR + SHELF + GROUP + BRINDLE, OPEN, today="2027-03-20", schedules=V)
    solid = next(s for s in year.season.timelines[0].solids if s.season == 2027)
    days = [day for day, _ in solid.course]
    assert (days[0], days[-1]) == (date(2027, 4, 1), date(2027, 12, 31))
    assert {date(2027, month, 1) for month in range(5, 13)} <= {*days}


def test_the_schedule_lays_solid_feed_at_its_interval_and_lifts_what_is_left_when_the_period_ends() -> None:
    year = plan(WRENMOOR + SHELF + GROUP + BRINDLE, OPEN, today="2027-03-20", schedules=V)
    # 1 April and every 35 days; the one due on 19 August is past the stop.
    assert solids(year) == [
        "2027-04-01 planned",
        "2027-05-06 planned",
        "2027-06-10 planned",
        "2027-07-15 planned",
    ]
    assert solids(year, Act.LIFT) == ["2027-08-16 planned"]
    first = year.season.timelines[0].solid_events
    assert [event.mg_n_per_l for event in first if event.act is Act.LAY and event.day.year == 2027] == [
        60
    ] * 4


def test_what_lies_on_the_pot_is_taken_off_what_the_can_may_bring() -> None:
    year = plan(WRENMOOR + SHELF + GROUP + BRINDLE, OPEN, today="2027-04-24", schedules=V)
    # Three layings give their 60 mg each; the fourth lies 32 of its 50 days: 38.4. Of 360 mg, 141.6 are left.
    assert solid_mg_per_l(year) == Decimal("218.4")
    assert Decimal(130) < liquid_mg_per_l(year) <= Decimal("141.6")
    alone = plan(
        WRENMOOR + SINCE_24_APRIL + SHELF + GROUP.replace(", solid_feed: pellets", "") + BRINDLE,
        OPEN,
        today="2027-04-24",
        schedules=V,
    )
    assert liquid_mg_per_l(alone) == 12 * 15 + 3 * 5  # untouched: 12 feeds of 150 and 3 of 50 ppm


def rates(year: Plan) -> list[Decimal]:
    """Grams per litre of each laying of the first timeline in 2027."""
    events = year.season.timelines[0].solid_events
    return [e.grams_per_l for e in events if e.act is Act.LAY and e.season == 2027]


def told(year: Plan, schedules: dict[str, str] = V) -> list[str]:
    """What `check` warns of."""
    loaded = load_text(WRENMOOR + SHELF + GROUP + BRINDLE, OPEN, schedules)
    return [
        warning_words(d.fact, year.season.today)
        for d in warnings_of(year.season, loaded.collection, loaded.journal)
    ]


def test_layings_that_do_not_fit_the_budget_are_all_laid_lighter_with_the_can_at_half() -> None:
    """Small doses at their interval, and with both the liquid halved: common practice, no source."""
    heavy = {"V": PELLETS.replace("solid: 2 g per L", "solid: 5 g per L")}  # 150 mg N per litre each
    year = plan(WRENMOOR + SHELF + GROUP + BRINDLE, OPEN, today="2027-04-24", schedules=heavy)
    assert solids(year)[1:] == ["2027-05-06 planned", "2027-06-10 planned", "2027-07-15 planned"]
    assert solid_mg_per_l(year) + liquid_mg_per_l(year) <= 360
    # By the typical date of open leaves, which holds on 1 April, the can alone brings 13 x 15 + 4 x 5 = 215; half of it
    # leaves 252.5 for 3.64 layings of 150 mg (the fourth lies 32 of its 50 days): 69 mg are 2.3 g each.
    assert rates(year) == [Decimal("2.3")] * 4
    assert liquid_mg_per_l(year) >= Decimal(
        "97.5"
    )  # leaves opened on 24 April: 12 x 15 + 3 x 5, and half of it
    cut = [e for e in year.season.timelines[0].solid_events if e.season == 2027 and e.act is Act.LAY]
    assert {e.reasons[-1].rule for e in cut} == {Rule.BUDGET}
    assert any("cut from 5 to 2.3 g per litre of pot" in words for words in told(year, heavy))


def test_how_much_the_can_keeps_beside_solids_is_a_key() -> None:
    heavy = PELLETS.replace("solid: 2 g per L", "solid: 5 g per L")
    none = {"V": heavy.replace("feeding:", "beside_solids: 0 %\nfeeding:", 1)}
    year = plan(WRENMOOR + SHELF + GROUP + BRINDLE, OPEN, today="2027-04-24", schedules=none)
    assert rates(year)[-1] > Decimal("2.3")
    assert liquid_mg_per_l(year) < Decimal("97.5")


def test_a_laying_cut_too_far_is_left_out_and_the_round_why_and_check_say_so() -> None:
    heavy = {"V": PELLETS.replace("solid: 2 g per L", "solid: 12 g per L")}  # a quarter of it is 3 g, 90 mg N
    year = plan(WRENMOOR + SHELF + GROUP + BRINDLE, OPEN, today="2027-03-20", schedules=heavy)
    assert solids(year) == []
    (dropped,) = [d for d in year.season.timelines[0].solid_dropped if d.due.year == 2027]
    assert (str(dropped.due), dropped.reasons[-1].rule) == ("2027-04-01", Rule.BUDGET)
    loaded = load_text(WRENMOOR + SHELF + GROUP + BRINDLE, OPEN, heavy)
    lines = round_lines(day_of(year.season, date(2027, 4, 1)), loaded.collection)
    assert any(line.strip().startswith("No solid feed on Brindle: season budget 360") for line in lines)
    (tree,) = loaded.collection.trees
    why = list(why_lines(explain(year.season, tree, date(2027, 5, 1))))
    assert any(line.startswith("No solid feed laid Thu 1 Apr: season budget 360") for line in why)
    assert any("no solid feed laid; season budget 360" in words for words in told(year, heavy))


def test_what_would_be_lifted_before_half_its_interval_is_over_is_left_out_and_says_so() -> None:
    once = "coated: {from: 1 April, to: 15 April, every: 26 weeks, solid: 1 g per L, lift: 20 April}"
    early = {"V": SCHEDULES["V"].replace("feeding:", f"feeding:\n  {once}")}
    group = GROUP.replace("solid_feed: pellets", "solid_feed: coated")
    year = plan(WRENMOOR + SHELF + group + BRINDLE, OPEN, today="2027-03-20", schedules=early)
    assert solids(year) == []
    assert any("'coated' has it lifted again on 20 Apr" in words for words in told(year, early))
    # Where no lift is told, what is laid once lies for its interval.
    lies = {"V": early["V"].replace(", lift: 20 April", "")}
    later = plan(WRENMOOR + SHELF + group + BRINDLE, OPEN, today="2027-03-20", schedules=lies)
    assert solids(later) == ["2027-04-01 planned"]


CAKE = SHELF.replace("form: organic, released: 60 %, longevity: 50 days", "form: cake")


@pytest.mark.parametrize(
    ("mixed", "lag", "least", "most"),
    [
        ("", "", 14, 42),  # 2 to 6 weeks is common practice, no source
        (", mixed_in: true", "", 0, 0),
        ("", ", lag: 0 days", 0, 0),
    ],
)
def test_cake_on_the_surface_gives_nothing_at_first_and_mixed_in_gives_at_once(
    mixed: str, lag: str, least: int, most: int
) -> None:
    journal = f"- {{date: 2027-04-01, tree: Brindle, laid: pellets, grams: 10 g{mixed}}}\n"
    shelf = CAKE.replace("form: cake", f"form: cake{lag}")
    loaded = load_text(
        WRENMOOR + shelf + GROUP + BRINDLE, journal, SCHEDULES, climate=climate(5)
    )  # mean 10 °C
    season = plan_season(loaded.collection, loaded.journal, date(2027, 4, 1), climate=loaded.climate)
    feed = loaded.collection.feeds["pellets"]
    release = Release(loaded.climate, date(2027, 1, 1), date(2028, 1, 1))
    laid = season.timelines[0].solids[0].laid
    days = [
        n
        for n in range(1, 90)
        if release.share(feed, laid, laid + timedelta(days=n), laid, on_surface=not mixed)
    ]
    assert least <= days[0] - 1 <= most


def test_repotting_keeps_solid_feed_away_until_the_tree_is_fed_in_full_again_and_asks_to_lift_what_lies_there() -> (
    None
):
    cut = OPEN + "- {date: 2027-04-26, tree: Brindle, work: repotted, roots: 30 %}\n"
    year = plan(WRENMOOR + SHELF + GROUP + BRINDLE, cut, today="2027-04-26", schedules=V)
    lifted = [e for e in year.season.timelines[0].solid_events if e.act is Act.LIFT and e.day.year == 2027]
    assert [(str(e.day), e.reasons[0].rule) for e in lifted] == [("2027-04-26", Rule.HOLD)]
    assert solids(year) == ["2027-04-01 assumed given"]  # the hold is open: nothing more is planned
    hardened = cut + "- {date: 2027-06-06, tree: Brindle, seen: [extension, hardened]}\n"
    later = plan(WRENMOOR + SHELF + GROUP + BRINDLE, hardened, today="2027-06-06", schedules=V)
    # Liquid goes 25, 50, 100 % from 6 June in steps of 10 days, so the first full feed and solids come on the 26th.
    assert solids(later) == ["2027-04-01 assumed given", "2027-06-26 planned"]


def test_a_laying_the_grower_records_answers_the_one_that_was_due_and_sets_the_next() -> None:
    journal = OPEN + "- {date: 2027-04-05, tree: Brindle, laid: pellets, rate: 2 g per L}\n"
    year = plan(WRENMOOR + SHELF + GROUP + BRINDLE, journal, today="2027-04-05", schedules=V)
    assert solids(year)[:3] == ["2027-04-05 recorded", "2027-05-10 planned", "2027-06-14 planned"]


def test_laid_grams_count_by_the_size_of_each_pot_even_when_a_whole_group_is_recorded() -> None:
    trees = BRINDLE.replace("}]", "}, {name: Ember, species: elm, group: V, pot: 2 L}]")
    journal = "- {date: 2027-04-01, group: V, laid: coated, grams: 10 g, mixed_in: true}\n"
    year = plan(WRENMOOR + SHELF + GROUP + trees, journal, today="2027-04-01")
    counted = {t.names: t.solids[0].mg_n_per_l for t in year.season.timelines}
    assert counted == {("Brindle",): 160, ("Ember",): 800}  # 1.6 g N in 10 L and in 2 L
    by_rate = "- {date: 2027-04-01, group: V, laid: coated, rate: 1 g per L, mixed_in: true}\n"
    same = plan(WRENMOOR + SHELF + GROUP + trees, by_rate, today="2027-04-01")
    assert {t.names: t.solids[0].mg_n_per_l for t in same.season.timelines} == {("Brindle", "Ember"): 160}


def test_coated_feed_laid_late_gives_part_of_its_nitrogen_in_the_next_season() -> None:
    journal = "- {date: 2027-10-03, tree: Brindle, laid: coated, grams: 20 g, mixed_in: true}\n"
    year = plan(WRENMOOR + SHELF + GROUP + BRINDLE, journal, today="2027-10-03")
    counted = {s.season: s.mg_n_per_l for s in year.season.timelines[0].solids}
    assert counted == {
        2027: 320 * Decimal(90) / 150,
        2028: 320 - 320 * Decimal(90) / 150,
    }  # 90 days to 31 December
    assert liquid_mg_per_l(year, 2028) <= 360 - counted[2028]


NEW = "- {id: came, date: 2027-06-06, tree: Old Kelp, arrived: bought}\n"
SETTLED = (
    NEW
    + """
- {date: 2027-06-20, tree: Old Kelp, seen: [settled, clean check]}
- {date: 2027-06-28, tree: Old Kelp, seen: clean check}
"""
)
OLD_KELP = "trees: [{name: Old Kelp, species: elm, group: V, pot: 8 L}]\n"
NONE = "- {date: 2027-07-10, tree: Old Kelp, lifted: none there}\n"


def test_a_new_tree_is_taken_to_carry_coated_feed_until_it_is_said_that_none_is_there() -> None:
    tight = {"V": SCHEDULES["V"].replace("budget: 360", "budget: 200")}
    group = GROUP.replace(", solid_feed: pellets", "")
    before = plan(WRENMOOR + SHELF + group + OLD_KELP, SETTLED, today="2027-07-10", schedules=tight)
    assert solid_mg_per_l(before) == 175  # holds.yaml: carries
    assert before.season.timelines[0].solids[0].feed is None
    assert liquid_mg_per_l(before) <= 25
    after = plan(WRENMOOR + SHELF + group + OLD_KELP, SETTLED + NONE, today="2027-07-10", schedules=tight)
    assert solid_mg_per_l(after) == 0
    assert liquid_mg_per_l(after) > 60
    given = [feed for feed in before.feeds("Old Kelp") if feed < "2027-07-10"]
    assert [feed for feed in after.feeds("Old Kelp") if feed < "2027-07-10"] == given


def test_what_a_new_tree_is_taken_to_carry_is_a_key_of_the_hold() -> None:
    own = "groups: {V: {schedule: V, feed: powder, changes: {holds: {bought: {carries: 60 mg N per L}}}}}\n"
    year = plan(WRENMOOR + SHELF + own + OLD_KELP, SETTLED, today="2027-07-10")
    assert solid_mg_per_l(year) == 60


def climate(low: int) -> dict[str, str]:
    """Twelve equal months, the mean 5 °C above the lowest."""
    rows = "".join(f"{month},{low},{low + 10}\n" for month in range(1, 13))
    return {"normals.csv": f"month,tmin_c,tmax_c\n{rows}"}


def counted_in(low: int, feed: str) -> tuple[Decimal, tuple[date, date] | None]:
    """N that 10 g of a feed on 10 L gives in the season of an October laying, and when it is spent."""
    journal = f"- {{date: 2027-10-03, tree: Brindle, laid: {feed}, grams: 10 g, mixed_in: true}}\n"
    loaded = load_text(WRENMOOR + SHELF + GROUP + BRINDLE, journal, SCHEDULES, climate=climate(low))
    season = plan_season(loaded.collection, loaded.journal, date(2027, 10, 3), climate=loaded.climate)
    solid = next(s for s in season.timelines[0].solids if s.season == 2027)
    return solid.mg_n_per_l, solid.spent


def test_warmth_lets_coated_feed_go_faster_so_that_more_counts_in_the_season() -> None:
    at_label, spent = counted_in(16, "coated")  # mean 21 °C, the label's own
    assert float(at_label) == pytest.approx(160 * 90 / 150, abs=0.5)
    assert spent is not None
    assert abs(spent[0] - date(2028, 3, 1)) <= timedelta(days=2)  # 150 days on, whatever the Q10
    hot, early = counted_in(26, "coated")  # mean 31 °C: twice as fast by the rule of thumb
    assert float(hot) == pytest.approx(160, abs=0.5)
    assert early is not None
    assert early[0] < date(2027, 12, 31) < early[1] < date(2028, 2, 1)
    cold, late = counted_in(1, "coated")  # mean 6 °C
    assert float(cold) < 0.45 * float(at_label)
    assert late is not None
    assert (late[1] - late[0]).days > 100  # far from the label's temperature nobody knows well


def test_a_record_without_normals_counts_the_days_it_lacks_at_the_labels_own_warmth() -> None:
    """Labels tell the time at 21 °C (published, see tests/dose/published_solids.yaml)."""
    known = {"daily.csv": "date,tmin_c,tmax_c\n2027-03-01,16,26\n"}
    loaded = load_text(WRENMOOR + SHELF + GROUP + BRINDLE, "", SCHEDULES, climate=known)
    coated, laid = loaded.collection.feeds["coated"], date(2027, 4, 1)
    release = Release(loaded.climate, date(2027, 1, 1), date(2028, 1, 1))
    assert release.follows_weather
    assert release.share(coated, laid, laid + timedelta(days=75), laid) == Decimal("0.5")


def test_meal_gives_little_below_ten_degrees() -> None:
    mild, _ = counted_in(7, "pellets")  # mean 12 °C
    cold, _ = counted_in(-4, "pellets")  # mean 1 °C
    assert cold < mild * Decimal("0.8")


def test_a_hot_summer_on_record_trims_the_later_feeds_and_leaves_the_earlier_ones_alone() -> None:
    """The release is reckoned anew on each first of a month; nothing that was planned before it changes."""
    journal = "- {date: 2027-06-01, tree: Brindle, laid: coated, grams: 32 g, mixed_in: true}\n" + OPEN
    collection = WRENMOOR + SHELF.replace("longevity: 150 days", "longevity: 360 days") + GROUP + BRINDLE
    hot_days = "".join(f"{date(2027, 6, 1) + timedelta(days=n)},24,30\n" for n in range(60))
    weather = climate(7) | {"daily.csv": f"date,tmin_c,tmax_c\n{hot_days}"}
    loaded = load_text(collection, journal, SCHEDULES, climate=weather)

    def feeds(today: date) -> list[tuple[date, Decimal]]:
        season = plan_season(loaded.collection, loaded.journal, today, climate=loaded.climate)
        return [(f.day, f.ppm) for f in season.timelines[0].feeds if f.season == 2027]

    june, august = feeds(date(2027, 6, 2)), feeds(date(2027, 8, 2))
    assert [f for f in june if f[0] < date(2027, 7, 1)] == [f for f in august if f[0] < date(2027, 7, 1)]
    assert sum(ppm for _, ppm in august) < sum(ppm for _, ppm in june)


def test_much_nitrogen_is_warned_of_and_too_much_strongly_unless_it_is_meant() -> None:
    def warnings(grams: int, schedules: dict[str, str] = SCHEDULES) -> list[str]:
        journal = f"- {{date: 2027-04-01, tree: Brindle, laid: coated, grams: {grams} g, mixed_in: true}}\n"
        year = plan(WRENMOOR + SHELF + GROUP + BRINDLE, journal, today="2027-04-01", schedules=schedules)
        loaded = load_text(WRENMOOR + SHELF + GROUP + BRINDLE, journal, schedules)
        found = warnings_of(year.season, year.collection, loaded.journal)
        return [warning_words(d.fact, year.season.today) for d in found if isinstance(d.fact, MuchNitrogen)]

    assert warnings(20) == []  # 320 mg and liquid up to 360
    (words,) = warnings(40)  # 640
    assert ("CAUTION" in words, "above 600" in words) == (False, True)
    (words,) = warnings(60)  # 960
    assert ("CAUTION" in words, "above 900" in words, "allow_over: true" in words) == (True, True, True)
    meant = {
        "V": SCHEDULES["V"].replace("budget: 360 mg N per L", "budget: 360 mg N per L\nallow_over: true")
    }
    (words,) = warnings(60, meant)
    assert "CAUTION" not in words


def test_too_much_from_feed_that_a_bought_tree_may_have_brought_is_mended_as_the_warning_tells() -> None:
    """That a nursery's tree comes with coated feed is common practice, no source; nobody can lay less of it."""
    group = GROUP.replace("schedule: V", "schedule: V, changes: {budget: 90 mg N per L}")
    collection = WRENMOOR + SHELF + group + BRINDLE

    def told(journal: str) -> list[str]:
        year = plan(collection, journal, today="2027-05-08", schedules=SCHEDULES)
        found = warnings_of(year.season, year.collection, load_text(collection, journal, SCHEDULES).journal)
        return [warning_words(d.fact, year.season.today) for d in found if isinstance(d.fact, MuchNitrogen)]

    bought = "- {date: 2027-04-03, tree: Brindle, arrived: bought}\n"
    (words,) = told(bought)
    assert words.endswith("If there is none in the pot: feedplan record lifted none there Brindle")
    assert told(bought + "- {date: 2027-05-08, tree: Brindle, lifted: none there}\n") == []


def test_coated_feed_is_not_planned_more_often_than_its_label_lasts_without_a_word() -> None:
    (law,) = rows("coated_period_rule", "published_solids.yaml")
    assert "must not exceed the interval between two applications" in law["source"]
    group = GROUP.replace("solid_feed: pellets", "solid_feed: coated")
    year = plan(WRENMOOR + SHELF + group + BRINDLE, OPEN, today="2027-03-20", schedules=V)
    found = warnings_of(
        year.season, year.collection, load_text(WRENMOOR + SHELF + group + BRINDLE, "", V).journal
    )
    assert any(
        "'coated' every 35 days, and it lasts 150" in warning_words(warning.fact, year.season.today)
        for warning in found
    )


def test_lifts_that_a_grower_who_records_everything_forgot_are_asked_for_until_they_are_done() -> None:
    habits = "habits: {unlogged_feeds: missed}\n"
    journal = OPEN + "- {date: 2027-07-20, tree: Brindle, laid: pellets, rate: 2 g per L}\n"
    late = plan(WRENMOOR + habits + SHELF + GROUP + BRINDLE, journal, today="2027-08-20", schedules=V)
    assert solids(late, Act.LIFT) == ["2027-08-20 overdue"]
    done = journal + "- {date: 2027-08-20, tree: Brindle, lifted: pellets}\n"
    after = plan(WRENMOOR + habits + SHELF + GROUP + BRINDLE, done, today="2027-08-21", schedules=V)
    assert solids(after, Act.LIFT) == ["2027-08-20 recorded"]


def test_nobody_is_asked_to_lift_solid_feed_from_a_tree_that_is_gone() -> None:
    """Laid on 1 May, to be lifted from 1 June on, since drought stops it; it dies on the 10th."""
    missed = "habits: {unlogged_feeds: missed}\n"
    journal = (
        "- {date: 2027-05-01, tree: Brindle, laid: pellets, grams: 20 g}\n"
        "- {date: 2027-06-01, tree: Brindle, trouble: drought}\n"
    )
    gone = journal + "- {date: 2027-06-10, tree: Brindle, gone: dead}\n"
    for today, asked in (("2027-06-09", True), ("2027-06-10", False), ("2027-06-12", False)):
        year = plan(WRENMOOR + missed + SHELF + GROUP + BRINDLE, gone, today=today, schedules=V)
        assert (solids(year, Act.LIFT) != []) == asked, today
    lives = plan(WRENMOOR + missed + SHELF + GROUP + BRINDLE, journal, today="2027-06-12", schedules=V)
    assert solids(lives, Act.LIFT) == ["2027-06-12 overdue"]


def test_one_lifting_that_two_things_asked_for_is_told_of_once() -> None:
    """The period ends on 1 June, a hold that stops solid feed begins on the 3rd, and on that day it is lifted."""
    schedule = V | {"V": V["V"].replace("15 August, every: 5", "31 May, lift: 1 June, every: 5")}
    journal = (
        OPEN
        + "- {date: 2027-05-10, tree: Brindle, laid: pellets, rate: 2 g per L}\n"
        + "- {date: 2027-06-03, tree: Brindle, work: repotted, roots: 30 %}\n"
        + "- {date: 2027-06-03, tree: Brindle, lifted: pellets}\n"
    )
    year = plan(WRENMOOR + SHELF + GROUP + BRINDLE, journal, today="2027-06-03", schedules=schedule)
    (item,) = [i for i in year.season.solids if i.act is Act.LIFT and i.day == date(2027, 6, 3)]
    assert names_words(item.timelines) == "Brindle"
    assert len(item.events[0].reasons) == 2


def test_the_calendar_keeps_each_laying_and_its_text_from_day_to_day() -> None:
    loaded = load_text(WRENMOOR + SHELF + GROUP + BRINDLE, OPEN, V)

    def entries(today: date) -> dict[str, tuple[object, ...]]:
        season = plan_season(loaded.collection, loaded.journal, today, today, today + timedelta(days=200))
        found = calendar_entries(season, loaded.collection)
        return {e.key: (e.start, e.title, e.text) for e in found if e.key.startswith(("solid/", "lift/"))}

    first, next_day = entries(date(2027, 4, 25)), entries(date(2027, 4, 26))
    assert first
    assert {key: first[key] for key in first} == {key: next_day[key] for key in first}


def keys(events: tuple[SolidEvent, ...]) -> list[str]:
    return [event.key for event in events]


def test_every_event_of_solid_feed_has_a_key_of_its_own() -> None:
    journal = OPEN + "- {date: 2027-04-26, tree: Brindle, work: repotted, roots: 10 %}\n"
    year = plan(WRENMOOR + SHELF + GROUP + BRINDLE, journal, today="2027-05-20", days=700, schedules=V)
    found = keys(year.season.timelines[0].solid_events)
    assert len(found) == len(set(found))


def test_two_causes_ask_for_one_lifting_once_with_both_reasons() -> None:
    """Root work written down twice, and nothing told of the pellets that lie there: they come off one pot once."""
    twice = """
- {date: 2027-04-01, tree: Brindle, laid: pellets, rate: 2 g per L}
- {date: 2027-05-01, tree: Brindle, work: repotted, roots: 30 %}
- {date: 2027-05-01, tree: Brindle, trouble: root rot}
"""
    for today, status in (("2027-05-01", Status.PLANNED), ("2027-05-05", Status.OVERDUE)):
        year = plan(WRENMOOR + SHELF + GROUP + BRINDLE, OPEN + twice, today=today, schedules=V)
        events = year.season.timelines[0].solid_events
        (lift,) = (e for e in events if e.act is Act.LIFT and e.day == date.fromisoformat(today))
        assert (lift.status, len(lift.reasons)) == (status, 2)


def test_feed_laid_anew_means_that_the_old_of_its_kind_came_off() -> None:
    """Asked for after the new was laid, the lifting would take off the new. Judgement."""
    old = "- {date: 2027-04-01, tree: Brindle, laid: pellets, rate: 2 g per L}\n"
    work = "- {date: 2027-05-01, tree: Brindle, work: repotted, roots: 30 %}\n"
    anew = "- {date: 2027-05-10, tree: Brindle, laid: pellets, rate: 2 g per L}\n"
    for journal, status, day in (
        (old + work, Status.OVERDUE, "2027-05-12"),
        (old + work + anew, Status.ASSUMED, "2027-05-10"),
    ):
        year = plan(WRENMOOR + SHELF + GROUP + BRINDLE, OPEN + journal, today="2027-05-12", schedules=V)
        events = year.season.timelines[0].solid_events
        (lift,) = (e for e in events if e.act is Act.LIFT and e.due == date(2027, 5, 1))
        assert (lift.status, lift.day) == (status, date.fromisoformat(day))


def test_a_laying_offered_again_is_no_heavier_than_it_was_asked_for() -> None:
    """Judgement: what was left out is never made up for, though the schedule asks more from the next day on."""
    text = WRENMOOR + "habits: {unlogged_feeds: missed}\n" + SHELF + GROUP + BRINDLE
    light, heavy = (
        load_text(text, OPEN, {"V": PELLETS.replace("2 g per L", f"{rate} g per L")}) for rate in (1, 2)
    )
    told = plan_season(light.collection, light.journal, date(2027, 4, 1))
    season = plan_season(heavy.collection, heavy.journal, date(2027, 4, 2), history=told.history)
    rates = [(e.status, e.grams_per_l) for e in season.timelines[0].solid_events if e.act is Act.LAY]
    again = rates.index((Status.OVERDUE, Decimal(1)))
    assert rates[again + 1] == (Status.PLANNED, Decimal(2))


def test_a_lifting_nobody_did_is_asked_for_until_the_hold_is_over() -> None:
    journal = (
        OPEN
        + """
- {date: 2027-04-28, tree: Brindle, laid: pellets, rate: 2 g per L}
- {date: 2027-05-01, tree: Brindle, work: repotted, roots: 30 %}
- {date: 2027-06-05, tree: Brindle, seen: hardened}
"""
    )
    for today, is_asked in (("2027-06-04", True), ("2027-06-05", False)):
        year = plan(WRENMOOR + SHELF + GROUP + BRINDLE, journal, today=today, schedules=V)
        events = year.season.timelines[0].solid_events
        asked = [e for e in events if e.act is Act.LIFT and e.status is Status.OVERDUE]
        assert bool(asked) is is_asked


def test_solid_feed_laid_on_cut_roots_is_asked_off_again_and_warned_of() -> None:
    """Solids on the surface can be lifted (practice of all growers who lay them; common practice, no source)."""
    cut = OPEN + "- {date: 2027-05-01, tree: Brindle, work: repotted, roots: 30 %}\n"
    laid = cut + "- {date: 2027-05-08, tree: Brindle, laid: pellets, rate: 2 g per L}\n"
    lifted = laid + "- {date: 2027-05-11, tree: Brindle, lifted: pellets}\n"
    mixed = laid.replace("g per L}", "g per L, mixed_in: true}")
    for journal, is_asked in ((laid, True), (lifted, False), (mixed, False)):
        year = plan(WRENMOOR + SHELF + GROUP + BRINDLE, journal, today="2027-05-12", schedules=V)
        events = year.season.timelines[0].solid_events
        asked = [e for e in events if e.act is Act.LIFT and e.status is Status.OVERDUE]
        assert bool(asked) is is_asked
        warned = [
            w
            for w in warnings_of(year.season, year.collection, Journal(()))
            if isinstance(w.fact, LaidWhenHeld)
        ]
        assert bool(warned) is is_asked
