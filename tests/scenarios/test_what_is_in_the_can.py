"""What the can really holds is what is told, booked and counted; and no can brings more than trees in pots bear.

Contents are worked out by hand from the label's numbers: P is 0.4364 of P2O5, K 0.8301 of K2O. The ceilings are those
of schedules/vigorous.yaml (judgement).
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from click.testing import CliRunner

from feedplan.cli.main import feedplan
from feedplan.engine.answers.explain import nitrogen_by
from feedplan.engine.answers.warnings import warnings_of
from feedplan.engine.day import day_of
from feedplan.engine.plan import plan_season
from feedplan.engine.season import Season
from feedplan.engine.sink.can import can_of
from feedplan.export.round_text import round_lines
from feedplan.load.collection import Loaded, load_text
from feedplan.model.course import FeedEvent
from feedplan.model.reason import LittleNitrogen, OverCeiling, Rule
from feedplan.model.warning import FallsShort, NeverUsed
from feedplan.words.warnings import warning_words

FED_ON = date(2027, 4, 24)
HEAD = """\
place: {name: Skerry Yard, latitude: 52, time_zone: Europe/London}
since: 2027-01-01
feeds:
  no-n: {grade: 0-52-34, form: soluble}
  potash: {grade: 0-0-50, form: soluble}
  start: {grade: 10-52-10, form: soluble}
  fruit: {grade: 4-15-37, form: soluble}
  ripen: {grade: 3-0-40, form: soluble}
  even: {grade: 20-20-20, form: soluble}
  weak: {grade: 0.1-0-0, form: soluble}
groups:
"""
TREE = "trees:\n  - {name: Brindle, species: hornbeam, group: g, pot: 10 L}\n"


def planned(group: str, today: date = FED_ON, journal: str = "") -> tuple[Season, Loaded]:
    loaded = load_text(f"{HEAD}  g: {{schedule: vigorous, {group}}}\n{TREE}", journal)
    return plan_season(loaded.collection, loaded.journal, today), loaded


def first_feed(season: Season) -> FeedEvent:
    return min(season.timelines[0].feeds, key=lambda feed: feed.day)


# By hand, at 150 ppm N: 10-52-10 takes 1.5 g/L, P 1.5 x 520 x 0.4364 = 340; 4-15-37 takes 3.75 g/L, K 3.75 x 370 x
# 0.8301 = 1152; 3-0-40 takes 5 g/L, K 5 x 400 x 0.8301 = 1660. To the ceilings: 150 x 90 / 340, 150 x 300 / 1152, ...
@pytest.mark.parametrize(
    ("group", "nutrient", "holds", "ppm"),
    [
        ("ratio: 3-1-2 oxide, mix_of: [start]", "P", 340, 39.7),
        ("feed: fruit", "K", 1152, 39.1),
        ("feed: ripen", "K", 1660, 27.1),
    ],
)
def test_a_feed_too_rich_in_p_or_k_is_told_and_booked_at_what_it_may_be(
    group: str, nutrient: str, holds: int, ppm: float
) -> None:
    season, loaded = planned(group)
    feed = first_feed(season)
    (fact,) = (reason.fact for reason in feed.reasons if reason.rule is Rule.CEILING)
    assert isinstance(fact, OverCeiling)
    assert (fact.what, round(fact.holds), fact.asked) == (nutrient, holds, Decimal(150))
    assert float(feed.ppm) == pytest.approx(ppm, abs=0.1)
    (item,) = (item for item in season.rounds if item.day == FED_ON)
    can = can_of(item, loaded.collection)
    assert can is not None
    assert float(can.contents["N"]) == pytest.approx(float(feed.ppm))
    assert can.contents[nutrient] <= fact.most
    # A tenth of the pot is poured.
    assert float(nitrogen_by(season.timelines[0], FED_ON)) == pytest.approx(ppm / 10, abs=0.01)
    text = "\n".join(round_lines(day_of(season, FED_ON), loaded.collection))
    assert f"{round(ppm)} ppm N" in text
    assert f"150 ppm N would bring {holds} mg {nutrient} per litre, the ceiling is {fact.most}" in text


def test_a_shelf_without_nitrogen_makes_no_feed_and_round_why_and_check_say_so() -> None:
    season, loaded = planned("ratio: 3-1-2 oxide, mix_of: [no-n, potash]")
    assert season.timelines[0].feeds == ()
    assert nitrogen_by(season.timelines[0], date(2027, 12, 1)) == 0
    for day in (FED_ON, FED_ON + timedelta(days=3)):
        later = plan_season(loaded.collection, loaded.journal, day)
        text = "\n".join(round_lines(day_of(later, day), loaded.collection))
        assert "Brindle: no nitrogen in no-n and potash, so no feed of 150 ppm N" in text
    found = warnings_of(season, loaded.collection, loaded.journal)
    words = [warning_words(d.fact, FED_ON) for d in found if isinstance(d.fact, FallsShort)]
    assert len(words) == 2  # the two periods
    assert all("no nitrogen in no-n and potash" in each for each in words)


def test_a_feed_so_weak_that_a_litre_cannot_hold_enough_is_booked_at_what_it_reaches() -> None:
    season, _ = planned("feed: weak")
    feed = first_feed(season)
    assert [r.fact for r in feed.reasons] == [LittleNitrogen(("weak",), Decimal(150), Decimal(50))]
    assert feed.ppm == 50  # 50 g of 0.1 % N in a litre


def test_an_ordinary_feed_is_as_asked_and_raises_no_warning() -> None:
    season, loaded = planned("feed: even")
    assert (first_feed(season).ppm, first_feed(season).reasons) == (Decimal(150), ())
    found = warnings_of(season, loaded.collection, loaded.journal)
    assert [w for w in found if not isinstance(w.fact, NeverUsed)] == []  # the shelf has more than is used


def test_the_ceilings_are_keys_of_the_schedule() -> None:
    season, _ = planned(
        "feed: fruit, changes: {ceilings: {potassium: 600 mg per L, phosphorus: 200 mg per L}}"
    )
    assert float(first_feed(season).ppm) == pytest.approx(150 * 600 / 1152, abs=0.1)
    season, _ = planned("feed: even, changes: {ceilings: {ec: 0.2 mS/cm}}")
    (fact,) = (reason.fact for reason in first_feed(season).reasons)
    assert isinstance(fact, OverCeiling)
    assert (fact.what, fact.most) == ("EC", Decimal("0.2"))


def test_what_was_told_before_keeps_its_strength() -> None:
    """A feed told at 150 ppm N stays so, though what is on the shelf from the next day on reaches less."""
    before, _ = planned("feed: even")
    salty = load_text(f"{HEAD}  g: {{schedule: vigorous, feed: fruit}}\n{TREE}", "")
    season = plan_season(salty.collection, salty.journal, FED_ON + timedelta(days=1), history=before.history)
    told, following = sorted(season.timelines[0].feeds, key=lambda feed: feed.day)[:2]
    assert (told.day, told.ppm, told.feed) == (FED_ON, Decimal(150), "even")
    assert following.ppm < 40


def test_a_feed_without_nitrogen_given_in_place_of_the_one_asked_for_books_none() -> None:
    given = "- {date: 2027-04-24, tree: Brindle, fed: as planned, feed: potash}\n"
    for today in (FED_ON, FED_ON + timedelta(days=3)):
        season, _ = planned("feed: even", today, given)
        assert (first_feed(season).feed, first_feed(season).ppm) == ("potash", Decimal(0))


# By hand as above; what dose says alone, without a collection, goes by the usual ceilings.
@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("--grade 4-15-37 --ppm 150 --litres 10", ("1152 mg K per litre, above 300", "39 ppm N")),
        ("--grade 3-0-40 --ppm 150 --litres 10", ("1660 mg K per litre, above 300", "27 ppm N")),
        ("--mix --ratio 3-1-2 --ppm 150 --litres 10 --of 10-52-10", ("a feed of 40 ppm N, not of 150",)),
        ("--mix --ratio 3-1-2 --ppm 150 --litres 10 --of 0-52-34 --of 0-0-50", ("no feed of 150 ppm N",)),
    ],
)
def test_dose_names_a_feed_as_what_it_is(typed: str, said: tuple[str, ...]) -> None:
    words = ["3-1-2 oxide" if word == "3-1-2" else word for word in typed.split(" ")]
    output = CliRunner().invoke(feedplan, ["dose", *words]).output
    assert all(part in output for part in said), output


def test_dose_has_no_caution_for_an_ordinary_feed() -> None:
    words = ["dose", "--grade", "20-20-20", "--ppm", "200", "--litres", "10"]
    assert "Too rich" not in CliRunner().invoke(feedplan, words).output
