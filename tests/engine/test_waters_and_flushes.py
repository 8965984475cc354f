"""Waters, blends, drainage and flushes: published arithmetic where there is any, growers' practice marked so."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedplan.cli.water import waters_lines
from feedplan.engine.answers.warnings import warnings_of
from feedplan.engine.plan import plan_season
from feedplan.engine.season import Flush
from feedplan.engine.water.flushes import flush_pace
from feedplan.engine.water.own_water import is_usual
from feedplan.engine.water.waters import (
    Drainage,
    LimeByHardness,
    LimeHaters,
    LimeWarning,
    NoLimeWarning,
    drainage_of,
    group_water,
)
from feedplan.errors import FilesHaveProblems
from feedplan.load import Loaded, load_text
from feedplan.model.course import Status
from feedplan.words.warnings import problem_of
from tests.properties import examples
from tests.scenarios.planning import SCHEDULES

PLACE = "place: {name: Wrenmoor, latitude: 53.4, time_zone: Europe/London}\n"
WATERS = """
water:
  tap: {ec: 0.8 mS/cm, alkalinity: 200 mg/L CaCO3, calcium: 92 mg/L, magnesium: 8 mg/L, sodium: 14 mg/L}
  butt: {ec: 20 µS/cm, alkalinity: 4 mg/L CaCO3}
"""
TREES = """
feeds: {powder: {grade: 20-10-20, form: soluble}}
groups:
  V: {schedule: V, feed: powder%s}
trees:
  - {name: Brindle, species: larch, group: V, pot: 10 L}
  - {name: Ember, species: larch, group: V, pot: 3 L}
"""
SEEN = "- {date: 2027-04-24, everything: true, seen: leaves open}\n"


def loaded(group: str = "", head: str = WATERS, journal: str = SEEN) -> Loaded:
    return load_text(PLACE + head + TREES % group, journal, SCHEDULES)


def refusals(group: str, head: str = WATERS) -> list[str]:
    with pytest.raises(FilesHaveProblems) as refused:
        loaded(group, head)
    return str(refused.value).splitlines()


def test_a_group_gets_the_first_water_unless_it_names_another() -> None:
    first, named = loaded().collection, loaded(", water: butt").collection
    assert first.groups["V"].water is not None
    assert first.groups["V"].water.shares == (("tap", 1.0),)
    assert named.groups["V"].water is not None
    assert named.groups["V"].water.shares == (("butt", 1.0),)


@given(st.floats(5, 199))
@examples(20)
def test_a_blend_meets_its_target(target: float) -> None:
    """c = f c1 + (1 - f) c2, the mixing rule for ions, hardness and alkalinity."""
    blend = f", water: {{blend: [tap, butt], alkalinity: {target:.1f} mg/L CaCO3}}"
    collection = loaded(blend).collection
    water = group_water(collection.groups["V"], collection.waters)
    assert water is not None
    assert water.alkalinity_mg_per_l == pytest.approx(round(target, 1))
    share = dict(water.use.shares)["tap"]
    assert share == pytest.approx((round(target, 1) - 4) / 196)
    assert water.ec_ms_per_cm == pytest.approx(share * 0.8 + (1 - share) * 0.02)


def test_a_blend_that_cannot_be_had_is_reported_and_not_moved_to_the_nearer_water() -> None:
    [message] = refusals(", water: {blend: [tap, butt], alkalinity: 300 mg/L CaCO3}")
    assert message.endswith(
        "water of group 'V': no blend gives 300 mg/L CaCO3: the waters hold 200 and 4 mg/L CaCO3"
    )


REFUSED = [
    (", water: well", "water of group 'V': no water is called 'well'; known: butt, tap"),
    (
        ", water: {blend: [tap, butt]}",
        "a blend needs one target; write alkalinity: 60 mg/L CaCO3, or ec: 0.4 mS/cm",
    ),
]


@pytest.mark.parametrize(("group", "ending"), REFUSED)
def test_a_water_that_is_not_clear_is_refused(group: str, ending: str) -> None:
    [message] = refusals(group)
    assert message.endswith(ending)


def test_a_blend_needs_both_waters_told() -> None:
    head = WATERS.replace(", alkalinity: 4 mg/L CaCO3", "")
    [message] = refusals(", water: {blend: [tap, butt], alkalinity: 60 mg/L CaCO3}", head)
    assert message.endswith("alkalinity of water 'butt' is not told; add alkalinity: to it under water:")


MEASURES = [
    ("alkalinity: 4 meq/L", "alkalinity_mg_per_l", 200.17),  # 50.04 mg CaCO3 to the meq
    (
        "alkalinity: 10 °dH",
        "alkalinity_mg_per_l",
        178.5,
    ),  # 17.85 mg/L CaCO3 to the German degree, handbook value
    ("alkalinity: 122 mg/L HCO3", "alkalinity_mg_per_l", 100.1),  # 61.016 mg to the meq
    ("hardness: 20 °f", "hardness_mg_per_l", 200.0),  # a French degree is 10 mg/L CaCO3
    ("hardness: 2 mmol/L", "hardness_mg_per_l", 200.2),
    ("ec: 650 µS/cm", "ec_ms_per_cm", 0.65),
    ("ec: 65 mS/m", "ec_ms_per_cm", 0.65),
    ("ec: 0.65 dS/m", "ec_ms_per_cm", 0.65),
]


@pytest.mark.parametrize(("written", "field", "value"), MEASURES)
def test_reports_of_any_country_are_read(written: str, field: str, value: float) -> None:
    tap = loaded(head=f"water: {{tap: {{{written}}}}}").collection.waters["tap"]
    assert getattr(tap, field) == pytest.approx(value, rel=2e-3)


def test_hardness_follows_from_calcium_and_magnesium() -> None:
    """2.497 mg CaCO3 for 1 mg Ca, 4.118 for 1 mg Mg: handbook factors."""
    tap = loaded().collection.waters["tap"]
    assert tap.hardness_mg_per_l == pytest.approx(92 * 2.497 + 8 * 4.118, rel=1e-3)


SLIPS = [
    ("ec: 400 ppm", "a meter's guess from conductivity"),
    ("ec: 60 mS/cm", "too salty for any tree"),
    ("alkalinity: 7 pH", "is not an alkalinity"),
    ("hardness: hard", "does not start with a number"),
]


@pytest.mark.parametrize(("written", "part"), SLIPS)
def test_slips_in_a_water_report_are_refused_with_a_remedy(written: str, part: str) -> None:
    [message] = refusals("", f"water: {{tap: {{{written}}}}}")
    assert part in message


@pytest.mark.parametrize("water", ["softened: true", "sodium: 120 mg/L, hardness: 10 mg/L"])
def test_softened_water_is_warned_against(water: str) -> None:
    here = loaded(head=f"water: {{tap: {{{water}}}}}")
    assert any("draw it before the softener" in str(warning) for warning in here.warnings)
    season = plan_season(here.collection, here.journal, date(2027, 5, 1))
    found = warnings_of(season, here.collection, here.journal)
    warnings = [str(problem_of(warning, season.today)) for warning in found]
    assert any("softened water, whose sodium harms" in warning for warning in warnings)


def lime_warnings(group: str, feed: str = "", butt: str = "") -> list[str]:
    """What is said of a group that gets too little calcium and magnesium. feed, butt: more of label and rain."""
    trees = (TREES % group).replace("form: soluble", f"form: soluble{feed}")
    here = load_text(PLACE + WATERS.replace("20 µS/cm", f"20 µS/cm{butt}") + trees, SEEN, SCHEDULES)
    season = plan_season(here.collection, here.journal, date(2027, 5, 1))
    found = warnings_of(season, here.collection, here.journal)
    return [str(problem_of(d, season.today)) for d in found if isinstance(d.fact, NoLimeWarning)]


def test_rain_and_a_feed_without_calcium_and_magnesium_is_pointed_out_once_with_a_remedy() -> None:
    """Common practice, no source: rain and most soluble feeds bring neither; tap water or a feed with both does."""
    (warning,) = lime_warnings(", water: butt")
    assert "'V' gets water like rain, and none of its feeds tells calcium and magnesium" in warning
    (blend,) = re.findall(r"water: {blend: .*}", warning)
    assert "[tap, butt]" in blend
    assert lime_warnings(f", {blend}") == []
    assert lime_warnings(", water: tap") == []
    assert lime_warnings(", water: {blend: [tap, butt], alkalinity: 60 mg/L CaCO3}") == []
    (half,) = lime_warnings(", water: butt", ", contains: {MgO: 1 %}")
    assert "tells calcium:" in half
    assert lime_warnings(", water: butt", ", contains: {CaO: 5 %, MgO: 1 %}") == []


@pytest.mark.parametrize(("hardness", "count"), [(19, 1), (20, 0)])
def test_water_of_twenty_milligrams_of_lime_is_no_longer_like_rain(hardness: int, count: int) -> None:
    """Judgement: that is 8 mg of calcium a litre."""
    butt = f", hardness: {hardness} mg/L CaCO3"
    assert len(lime_warnings(", water: butt", butt=butt)) == count


@pytest.mark.parametrize(("alkalinity", "usual"), [(99, "well"), (101, "tap")])
def test_a_water_of_which_conductivity_alone_is_told_counts_as_limy_as_tap_water(
    alkalinity: int, usual: str
) -> None:
    """Judgement: tap water of 0.4 mS/cm holds about 100 mg/L CaCO3. The limiest is what comes out of the tap."""
    head = f"water: {{well: {{ec: 0.4 mS/cm}}, tap: {{alkalinity: {alkalinity} mg/L CaCO3}}}}\n"
    for name in ("well", "tap"):
        here = loaded(f", water: {name}", head).collection
        use = here.groups["V"].water
        assert use is not None
        assert is_usual(use, here) == (name == usual)


def test_lime_haters_on_hard_water_are_doubted_and_on_a_blend_not() -> None:
    trees = """
feeds: {powder: {grade: 20-10-20, form: soluble}}
groups:
  hard: {schedule: ericaceous, feed: powder}
  mixed: {schedule: ericaceous, feed: powder, water: {blend: [tap, butt], alkalinity: 60 mg/L CaCO3}}
trees:
  - {name: A, species: azalea, group: hard, pot: 3 L}
  - {name: B, species: azalea, group: mixed, pot: 3 L}
"""
    here = load_text(PLACE + WATERS + trees)
    season = plan_season(here.collection, here.journal, date(2027, 5, 1))
    warnings = [
        str(problem_of(warning, season.today))
        for warning in warnings_of(season, here.collection, here.journal)
        if isinstance(warning.fact, LimeWarning)
    ]
    assert len(warnings) == 1
    assert "'hard' hates lime and gets water of 200 mg/L CaCO3" in warnings[0]
    assert "write water: butt, or water: {blend: [tap, butt], alkalinity: 60 mg/L CaCO3}" in warnings[0]


def test_lime_haters_with_no_water_but_a_hard_one_are_to_have_rain_as_it_is_written() -> None:
    def doubts(waters: str, more: str) -> list[str]:
        trees = "feeds: {powder: {grade: 20-10-20, form: soluble}}\n"
        trees += f"groups: {{acid: {{schedule: ericaceous, feed: powder{more}}}}}\n"
        trees += "trees: [{name: A, species: azalea, group: acid, pot: 3 L}]\n"
        here = load_text(PLACE + waters + trees)
        season = plan_season(here.collection, here.journal, date(2027, 5, 1))
        found = warnings_of(season, here.collection, here.journal)
        return [str(problem_of(d, season.today)) for d in found if isinstance(d.fact, LimeWarning)]

    tap = "water:\n  tap: {ec: 0.6 mS/cm, alkalinity: 200 mg/L CaCO3}\n"
    (doubt,) = doubts(tap, "")
    ((rain, group),) = re.findall(r"as (rain: {.*}), and in the group write (water: \w+)", doubt)
    assert doubts(f"{tap}  {rain}\n", f", {group}") == []


def test_acid_is_told_as_a_need_in_milliequivalents_with_its_caution_and_never_as_a_dose() -> None:
    trees = TREES.replace("schedule: V", "schedule: ericaceous") % ""
    text = "\n".join(waters_lines(load_text(PLACE + WATERS + trees).collection))
    assert "2.8 meq/L above" in text  # (200 - 60) / 50.04
    assert "information, not a dose" in text
    assert "ml" not in text.replace("mS/cm", "")


def test_drainage_is_that_of_fao_29() -> None:
    """LR = ECw / (5 ECe - ECw), Ayers and Westcot 1985, section 2.4.2, for ECe 1.0 dS/m."""
    here = loaded(head="water: {tap: {ec: 0.8 mS/cm}}")
    drainage = drainage_of(here.collection.groups["V"], here.collection)
    assert drainage is not None
    ec = 0.8 + (0.65 * 150 / 100 / 10 + 0.65 * 50 / 100 / 14) / 2
    assert drainage.ec_ms_per_cm == pytest.approx(ec)
    assert drainage.needed == pytest.approx(ec / (5 - ec))
    assert not drainage.is_enough


PACES = [
    ("", "water: {tap: {ec: 0.1 mS/cm}}", 42),
    ("", "water: {tap: {ec: 0.9 mS/cm}}", 28),
    ("", "water: {tap: {ec: 3 mS/cm}}", 14),
    (", flush: every 5 weeks", "", 35),
    ("", "habits: {flush: every 3 weeks}", 21),
    ("", "", None),
    (", flush: never", "water: {tap: {ec: 3 mS/cm}}", None),
]


@pytest.mark.parametrize(("group", "head", "days"), PACES)
def test_the_pace_of_flushes_is_told_or_follows_the_salt(group: str, head: str, days: int | None) -> None:
    here = loaded(group, head + "\n")
    assert flush_pace(here.collection.groups["V"], here.collection).every_days == days


def flushes_of(here: Loaded, today: date = date(2027, 6, 5)) -> tuple[Flush, ...]:
    shown = (date(2027, 3, 1), date(2027, 12, 31))
    return plan_season(here.collection, here.journal, today, *shown).flushes


def test_every_sixth_feed_is_followed_by_a_flush_the_day_before_the_next() -> None:
    """Feeds as told from a larch's typical 10 April, every ten days: the sixth on 30 May, the seventh on 9 June.

    Leaves seen open on 24 April undo nothing told before. The twelfth is on 29 July, the thirteenth on 8 August.
    """
    days = [str(flush.day) for flush in flushes_of(loaded(", flush: every 6 feeds"))]
    assert days == ["2027-06-08", "2027-08-07"]


def test_no_flush_falls_in_an_absence() -> None:
    """A helper waters; what washes feed out waits for the grower, or is done before leaving. Trade practice."""
    head = "away: [{from: 2027-08-05, to: 2027-08-20}]\n" + WATERS
    days = [flush.day for flush in flushes_of(loaded(", flush: every 6 feeds", head=head))]
    assert len(days) == 2
    assert not any(date(2027, 8, 5) <= day <= date(2027, 8, 20) for day in days)


def test_no_flush_washes_a_feed_out_and_none_comes_while_nothing_is_fed() -> None:
    here = loaded(", flush: every 4 weeks")
    season = plan_season(here.collection, here.journal, date(2027, 5, 1), date(2027, 3, 1), date(2028, 3, 1))
    fed = [
        feed.day
        for timeline in season.timelines
        for feed in timeline.feeds
        if feed.status is not Status.MISSED
    ]
    assert season.flushes
    for flush in season.flushes:
        assert flush.day not in fed
        assert any(flush.day - timedelta(days=30) <= day < flush.day for day in fed)


def test_a_held_tree_is_left_out_of_a_flush() -> None:
    journal = SEEN + "- {date: 2027-06-01, tree: Ember, work: repotted, roots: 50 %}\n"
    first = flushes_of(loaded(", flush: every 6 feeds", journal=journal))[0]
    assert [tree.name for tree in first.trees] == ["Brindle"]


def test_a_collection_that_tells_no_water_gets_no_flush() -> None:
    assert flushes_of(loaded(head="")) == ()


@examples(10)
@given(st.integers(1, 12))
def test_flushes_keep_their_keys_when_the_day_moves_on(feeds: int) -> None:
    here = loaded(f", flush: every {feeds} feeds")
    shown = (date(2027, 3, 1), date(2027, 12, 31))
    seen = [
        {f.key: f.day for f in plan_season(here.collection, here.journal, day, *shown).flushes}
        for day in (date(2027, 6, 1), date(2027, 6, 2))
    ]
    assert seen[0] == seen[1]


def test_a_share_that_is_too_little_never_reads_as_the_one_that_is_needed() -> None:
    assert [Drainage(1.0, needed, 0.15).needed_percent for needed in (0.15, 0.1501, 0.07, None)] == [
        15,
        16,
        7,
        None,
    ]


HATERS = """
place: {name: X, latitude: 55, time_zone: Europe/London}
feeds: {powder: {grade: 18-11-18, form: soluble, label_rate: 1 g per L}}
water: {tap: {ec: 0.5 mS/cm, TAP}, rain: {alkalinity: 5 mg/L CaCO3}}
groups: {sick bay: {schedule: recovering, feed: powderWATER}}
trees:
  - {name: A, species: satsuki azalea, group: sick bay, pot: 3 L}
  - {name: B, species: hornbeam, group: sick bay, pot: 3 L}
"""


@pytest.mark.parametrize(
    ("tap", "water", "told"),
    [
        ("alkalinity: 250 mg/L CaCO3", "water: tap", "hates lime: A; group 'sick bay' gets water of 250"),
        (
            "alkalinity: 250 mg/L CaCO3",
            "",
            "alkalinity, above 100; a group for it with water: rain",
        ),
        ("hardness: 290 mg/L CaCO3", "water: tap", "only the hardness is told, 290 mg/L"),
        ("hardness: 40 mg/L CaCO3", "water: tap", None),
        ("alkalinity: 250 mg/L CaCO3", "water: rain", None),
        ("alkalinity: 80 mg/L CaCO3", "", None),
    ],
)
def test_a_lime_hater_is_told_of_limy_water_whatever_its_schedule(
    tap: str, water: str, told: str | None
) -> None:
    """A satsuki hates lime (schedules/species.csv); 100 mg/L CaCO3 is the most that is bearable (module's source 2)."""
    of = load_text(HATERS.replace("TAP", tap).replace("WATER", water and f", {water}"))
    season = plan_season(of.collection, of.journal, date(2027, 7, 3))
    found = [
        w
        for w in warnings_of(season, of.collection, of.journal)
        if isinstance(w.fact, LimeHaters | LimeByHardness)
    ]
    lines = [str(problem_of(w, season.today)) for w in found]
    assert len(lines) == (told is not None)
    assert told is None or told in lines[0]
