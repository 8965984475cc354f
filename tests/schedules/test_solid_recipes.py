"""Solid feed by the shipped schedules: a group only has to name one, and gets layings that fit the season.

The rows are those of the trade's own table, common practice where nothing else is said: solids every five to six weeks
for trees in development, small doses for refined ones, off by June where candles are cut, none where roots are weak.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from feedplan.engine.answers.warnings import warnings_of
from feedplan.engine.feeding.budget import nitrogen_mg_per_l
from feedplan.engine.plan import plan_season
from feedplan.engine.season import Season, Timeline
from feedplan.load import load_text
from feedplan.load.collection import Loaded
from feedplan.model.course import Act
from feedplan.model.warning import NeverLaid
from tests.schedules.shipped_files import SCHEDULES, days, solid_periods, text

SPECIES = {
    "conifer": "larch",
    "conifer-decandled": "Japanese black pine",
    "broadleaf-evergreen": "box",
    "ericaceous": "azalea",
    "flowering": "crab apple",
    "indoor-tropical": "fig",
}
WITHOUT = {"recovering", "newly-repotted", "collected", "seedlings", "cuttings"}
ORGANIC = ("organic", "pellets", "cake")
KINDS = {name: ("coated",) if name == "indoor-tropical" else ("coated", *ORGANIC) for name in SCHEDULES}
CASES = [(name, kind) for name in SCHEDULES if name not in WITHOUT for kind in KINDS[name]]


def loaded(schedule: str, kind: str, latitude: float = 53.5, journal: str = "") -> Loaded:
    longevity = ", longevity: 150 days" if kind == "coated" else ""
    return load_text(
        f"place: {{name: Mill Bank, latitude: {latitude}, time_zone: UTC}}\n"
        f"feeds: {{powder: {{grade: 20-10-20, form: soluble}}, it: {{grade: 6-4-2, form: {kind}{longevity}}}}}\n"
        f"groups: {{g: {{schedule: {schedule}, feed: powder, solid_feed: it}}}}\n"
        f"trees: [{{name: Moth, species: {SPECIES.get(schedule, 'hornbeam')}, group: g, pot: 9 L}}]\n",
        journal,
    )


def planned(of: Loaded, today: date) -> tuple[Season, Timeline]:
    season = plan_season(of.collection, of.journal, today)
    return season, season.timelines[0]


def test_every_schedule_has_a_recipe_or_says_why_it_has_none() -> None:
    for name in SCHEDULES:
        kinds = {kind for period in solid_periods(name).values() for kind in period["kinds"]}
        assert kinds == (set() if name in WITHOUT else set(KINDS[name])), name
        assert ("No solid feed" in text(name)) is (name in WITHOUT), name


@pytest.mark.parametrize("latitude", [53.5, -41.2])
@pytest.mark.parametrize(("schedule", "kind"), CASES)
def test_a_feed_that_is_named_is_laid_and_fits_the_season_with_the_can_beside_it(
    schedule: str, kind: str, latitude: float
) -> None:
    of = loaded(schedule, kind, latitude)
    _, timeline = planned(of, date(2027, 2, 1) if latitude > 0 else date(2027, 8, 1))
    laid = [e for e in timeline.solid_events if e.act is Act.LAY and e.season == 2027]
    assert laid
    solid = sum((s.mg_n_per_l for s in timeline.solids if s.season == 2027), Decimal(0))
    share = of.collection.habits.feed_share
    here = [feed for feed in timeline.feeds if feed.season == 2027]
    liquid = sum((nitrogen_mg_per_l(feed, share) for feed in here), Decimal(0))
    wanted = sum((feed.plan_ppm * share for feed in here), Decimal(0))
    budget = of.collection.groups["g"].schedule.budget_mg_n_per_l
    assert solid + liquid <= budget
    assert liquid >= wanted / 2  # "if both, halve liquid": common practice, no source


@pytest.mark.parametrize("schedule", [name for name in SCHEDULES if name not in WITHOUT])
def test_solids_come_every_five_to_six_weeks_and_coated_feed_once(schedule: str) -> None:
    for period in solid_periods(schedule).values():
        every = days(period["every"])
        assert every >= 12 * 7 if period["kinds"] == ["coated"] else 5 * 7 <= every <= 6 * 7
    _, timeline = planned(loaded(schedule, "coated"), date(2027, 2, 1))
    assert len([e for e in timeline.solid_events if e.act is Act.LAY and e.season == 2027]) == 1


def test_vigorous_trees_get_theirs_in_spring_and_refined_ones_after_the_first_flush() -> None:
    _, vigorous = planned(loaded("vigorous", "coated"), date(2027, 2, 1))
    _, refined = planned(loaded("refined", "cake"), date(2027, 2, 1))
    spring = next(event.day for event in vigorous.solid_events if event.season == 2027)
    assert date(2027, 3, 1) <= spring <= date(2027, 4, 30)
    hardened = next(at.day for at in refined.stage_dates(2027) if at.stage == "first flush hardened")
    first = next(event.day for event in refined.solid_events if event.season == 2027)
    assert hardened is not None
    assert first >= hardened


@pytest.mark.parametrize("kind", ["coated", "cake"])
def test_before_candles_are_cut_solid_feed_counts_what_it_gives_until_it_is_lifted(kind: str) -> None:
    """Solids come off at decandling in June (common practice, no source)."""
    journal = "- {date: 2027-03-31, tree: Moth, laid: it, rate: 2 g per L}\n"
    of = loaded("conifer-decandled", kind, journal=journal)
    _, timeline = planned(of, date(2027, 4, 21))
    off = [str(e.day) for e in timeline.solid_events if e.act is Act.LIFT and e.lift_on is None]
    # Of the cake nothing is left by then.
    assert ("2027-06-10" in off) is (kind == "coated")
    spring = next(s for s in timeline.solids if s.laid == date(2027, 3, 31))
    feed = of.collection.feeds["it"]
    # Without weather a label's time runs evenly: 71 of 150 days of coated feed; of cake, after 28 days, 42 of 42.
    gives = 2 * feed.n_mg_per_g * feed.released
    assert float(spring.mg_n_per_l) == pytest.approx(float(gives) * (71 / 150 if kind == "coated" else 1))


@pytest.mark.parametrize("schedule", sorted(WITHOUT))
def test_a_schedule_that_lays_none_says_so_when_one_is_named(schedule: str) -> None:
    of = loaded(schedule, "pellets")
    season, timeline = planned(of, date(2027, 2, 1))
    assert timeline.solid_events == ()
    found = [d.fact for d in warnings_of(season, of.collection, of.journal) if isinstance(d.fact, NeverLaid)]
    assert [(never.schedule, never.kinds) for never in found] == [(schedule, ())]


def test_a_kind_no_period_is_for_is_told() -> None:
    of = loaded("vigorous", "compost")
    season, _ = planned(of, date(2027, 2, 1))
    found = [d.fact for d in warnings_of(season, of.collection, of.journal) if isinstance(d.fact, NeverLaid)]
    assert [(never.form, never.kinds) for never in found] == [("compost", (*ORGANIC, "coated"))]


def test_a_period_of_the_growers_own_takes_the_place_of_the_recipe() -> None:
    own = "{pellets: {from: 1 April, to: 30 June, every: 5 weeks, solid: 1 g per L}}"
    of = load_text(
        "place: {name: Mill Bank, latitude: 53.5, time_zone: UTC}\n"
        "feeds: {it: {grade: 6-4-2, form: pellets}}\n"
        f"groups: {{g: {{schedule: vigorous, solid_feed: it, changes: {{feeding: {own}}}}}}}\n"
        "trees: [{name: Moth, species: hornbeam, group: g, pot: 9 L}]\n"
    )
    assert [p.name for p in of.collection.groups["g"].schedule.solid_periods] == ["pellets"]
