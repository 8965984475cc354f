"""A pot's day and season: growers' worked examples, agreement of two ways to the same thirst, conservation of water."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedplan.engine.answers.explain import timeline_of
from feedplan.engine.day import day_of
from feedplan.engine.outdoors.daily_et import DailyEt, normal_et0, site_of
from feedplan.engine.plan import plan_season
from feedplan.engine.season import Season
from feedplan.engine.water.balance import Balance, PotDay, rain_reaching_l
from feedplan.engine.water.thirst import IN_LEAF, Vessel, demand_of, position_factor, vessel_of
from feedplan.load import load_text
from feedplan.model.collection import (
    DEFAULT_SUBSTRATE,
    OPEN_BENCH,
    Bench,
    Collection,
    Pot,
    Substrate,
    Tree,
    Wind,
)
from feedplan.weather.container import BARE_SHARE, size_from_litres
from feedplan.weather.evapotranspiration import reference_et
from feedplan.weather.substrate import read_mix
from tests.looks import looks_of, rate_of
from tests.properties import examples

SIZES = st.builds(size_from_litres, st.floats(0.1, 50))
VESSELS = st.builds(
    Vessel,
    SIZES,
    st.floats(0.01, 8),
    st.sampled_from([0.0, 0.1, 0.4]),
    st.floats(0.3, 1.2),
    st.sampled_from([1.0, 1.3]),
)
ET0, LEAF = st.floats(0, 9), st.floats(0, 1.5)


def pot(litres: str, depth: str, top_cm2: str, *, open_sided: bool = False) -> Pot:
    return Pot(Decimal(litres), "a pot", Decimal(depth), Decimal(top_cm2), open_sided)


def test_a_shallow_pot_of_a_litre_and_a_half_dries_twice_a_day() -> None:
    """Growers' worked example: 20 x 15 x 5 cm, 1.5 L, 0.18 L available, 30 % of it; 3 mm x 0.03 m2 x 1.2 = 108 mL."""
    size = size_from_litres(1.5, depth_cm=5, top_cm2=300)
    vessel = Vessel(size, 0.18, 0.0, 1.0, 1.0)
    assert vessel.use_l(3, 1.2) == pytest.approx(0.108)
    assert vessel.allowed_l(dormant=False) == pytest.approx(0.054)
    assert vessel.thirst(0.108, dormant=False) == pytest.approx(2)


def test_a_ten_litre_basket_lasts_about_two_days() -> None:
    """Growers' worked example: 10 L, 0.06 m2, open sides 1.3; 1.2 L available, 45 %; 0.28 L a day."""
    vessel = Vessel(size_from_litres(10, depth_cm=16.7, top_cm2=600), 1.2, 0.0, 1.0, 1.3)
    assert vessel.use_l(3, 1.2) == pytest.approx(0.281, abs=0.001)
    assert 1 / vessel.thirst(vessel.use_l(3, 1.2), dormant=False) == pytest.approx(1.92, abs=0.01)


def test_the_default_mix_holds_what_practice_gives_for_coarse_mineral_ones() -> None:
    """10 to 15 % of the volume, from memory; shallow pots hold the larger share."""
    shares = []
    for depth in (5, 8, 12, 20):
        tree = Tree("T", "larch", "g", pot("3", str(depth), str(3000 / depth)))
        shares.append(vessel_of(tree, DEFAULT_SUBSTRATE, OPEN_BENCH).available_l / 3)
    assert shares == sorted(shares, reverse=True)
    assert all(0.07 <= share <= 0.20 for share in shares)
    assert 0.10 <= shares[1] <= 0.15


def test_a_peaty_mix_lasts_longer_than_a_mineral_one() -> None:
    tree = Tree("T", "larch", "g", pot("3", "10", "330"))
    peaty = vessel_of(tree, Substrate("peaty", read_mix("peaty")), OPEN_BENCH)
    assert peaty.available_l > 1.5 * vessel_of(tree, DEFAULT_SUBSTRATE, OPEN_BENCH).available_l


@pytest.mark.parametrize(("shade", "factor"), [("0.3", 0.76), ("0.5", 0.6)])
def test_shade_of_thirty_to_fifty_per_cent_leaves_three_quarters_to_six_tenths(
    shade: str, factor: float
) -> None:
    """Common practice, no source: x0.6 to 0.75 for 30 to 50 % shade."""
    assert position_factor(Bench("b", Decimal(shade))) == pytest.approx(factor, abs=0.011)


def test_an_exposed_bench_drinks_more_and_a_sheltered_one_less() -> None:
    exposed, sheltered = (position_factor(Bench("b", wind=wind)) for wind in (Wind.EXPOSED, Wind.SHELTERED))
    assert exposed > position_factor(OPEN_BENCH) > sheltered


def test_a_vast_crown_drinks_no_more_than_was_ever_measured_on_the_area_of_a_pot() -> None:
    """Schuch and Burger: coefficients of 12 woody species on pot area from 1.0 to 4.7 (abstract read)."""
    tree = Tree("T", "larch", "g", pot("3", "10", "330"), canopy_cm2=Decimal(40_000))
    vessel = vessel_of(tree, DEFAULT_SUBSTRATE, OPEN_BENCH)
    assert vessel.use_l(4, 1.3) / (4 * 0.033) == pytest.approx(4.7)


@given(VESSELS, ET0, LEAF)
def test_the_quick_thirst_is_that_of_daily_use(vessel: Vessel, et0: float, leaf: float) -> None:
    """feedplan.weather.container.PotUse, itself checked against practice, over what the pot may lose."""
    demand = demand_of(vessel)
    assert demand is not None
    expected = vessel.thirst(vessel.use_l(et0, leaf), dormant=leaf < IN_LEAF)
    assert demand.on(et0, leaf) == pytest.approx(expected, rel=1e-9)


NORMALS = """month,tmin_c,tmax_c,rain_mm,wind_10m_m_per_s
1,1,7,90,5
2,1,7,70,5
3,2,10,65,5
4,4,13,60,4
5,7,16,60,4
6,10,19,70,4
7,12,21,75,4
8,12,20,85,4
9,9,18,80,4
10,6,14,95,4
11,3,10,100,5
12,1,7,105,5
"""
PLACE = "place: {name: Wrenmoor, latitude: 53.4, elevation: 60 m, time_zone: Europe/London}\n"
TREES = """
feeds: {powder: {grade: 20-10-20, form: soluble}}
benches: {wall: {wind: exposed}, net: {sun: part shade 40 %}, room: {sun: indoors}}
groups: {g: {schedule: vigorous, feed: powder}}
trees:
  - {name: Shallow, species: maple, group: g, pot: 20 x 15 x 5 cm}
  - {name: Basket, species: maple, group: g, pot: {volume: 10 L, depth: 20 cm, open_sided: true}, bench: wall}
  - {name: Cut, species: maple, group: g, pot: 3 L}
  - {name: Whole, species: maple, group: g, pot: 3 L}
  - {name: Shaded, species: maple, group: g, pot: 3 L, bench: net}
  - {name: Roomy, species: maple, group: g, pot: 3 L, bench: room}
"""
JOURNAL = """
- {date: 2027-06-01, tree: Cut, work: repotted, roots: 50 %}
- {date: 2027-07-08, tree: Whole, check: watered}
"""
TODAY = date(2027, 7, 10)


def planned(daily: str = "") -> tuple[Season, Collection, Balance]:
    climate = {"normals.csv": NORMALS} | ({"daily.csv": daily} if daily else {})
    loaded = load_text(PLACE + TREES, JOURNAL, climate=climate)
    season = plan_season(loaded.collection, loaded.journal, TODAY, climate=loaded.climate)
    assert season.climate is not None
    return (
        season,
        loaded.collection,
        Balance(loaded.collection, DailyEt(season.climate, loaded.collection.place)),
    )


def test_reference_evapotranspiration_of_a_normal_day_is_that_of_its_smoothed_weather() -> None:
    _, collection, balance = planned()
    normals = balance.daily_et.climate.normals
    assert normals is not None
    day = date(2024, 7, 10)
    direct = reference_et(normals.on(day).weather, site_of(collection.place), day.timetuple().tm_yday)
    assert normal_et0(normals, site_of(collection.place))[191] == direct.et0_mm_per_day
    assert balance.daily_et.normal_et0(TODAY, 1)[0] == direct.et0_mm_per_day


def pot_of(name: str, day: date = TODAY) -> PotDay:
    season, collection, balance = planned()
    timeline = timeline_of(season, name)
    assert timeline is not None
    tree = next(tree for tree in collection.trees if tree.name == name)
    found = balance.pot_day(timeline, tree, day)
    assert found is not None
    return found


def use_of(name: str, day: date = TODAY) -> float:
    return pot_of(name, day).use_l


def test_cut_roots_drink_less_and_a_shaded_pot_too() -> None:
    assert 0.4 * use_of("Whole") < use_of("Cut") < use_of("Whole")
    assert use_of("Shaded") == pytest.approx(0.68 * use_of("Whole"))


def test_thirst_comes_back_over_a_hold() -> None:
    days = [date(2027, 6, 1), date(2027, 6, 20), date(2027, 7, 20)]
    shares = [use_of("Cut", day) / use_of("Whole", day) for day in days]
    # Half of what it drew; no less than the bare mix loses, six tenths of the reference (see BARE_SHARE).
    assert shares[0] == pytest.approx(max(0.5, BARE_SHARE / pot_of("Whole", days[0]).leaf))
    assert shares == sorted(shares)


def test_indoors_there_is_no_balance() -> None:
    season, collection, balance = planned()
    timeline = timeline_of(season, "Roomy")
    assert timeline is not None
    assert balance.pot_day(timeline, collection.trees[5], TODAY) is None


def test_a_watering_written_down_starts_the_count_of_what_is_missing() -> None:
    season, collection, balance = planned()
    timeline = timeline_of(season, "Whole")
    assert timeline is not None
    days = [date(2027, 7, 8), date(2027, 7, 9)]
    depletions = [balance.depletion_on(timeline, collection.trees[3], day) for day in days]
    missing = [each.missing_l for each in depletions if each is not None]
    assert missing[0] == pytest.approx(use_of("Whole", days[0]))
    assert missing[1] > missing[0]


@examples(10)
@given(st.floats(0, 40))
def test_rain_that_reaches_a_pot_is_told_and_never_fewer_looks(rain_mm: float) -> None:
    daily = f"date,tmin_c,tmax_c,rain_mm\n2027-07-10,12,21,{rain_mm:.1f}\n"
    season, collection, balance = planned(daily)
    dry_season, dry_collection, dry = planned("date,tmin_c,tmax_c,rain_mm\n2027-07-10,12,21,0\n")
    for tree, dry_tree in zip(collection.trees[:4], dry_collection.trees[:4], strict=True):
        timeline, dry_timeline = timeline_of(season, tree.name), timeline_of(dry_season, dry_tree.name)
        assert timeline is not None
        assert dry_timeline is not None
        wet_day = balance.pot_day(timeline, tree, TODAY)
        dry_day = dry.pot_day(dry_timeline, dry_tree, TODAY)
        assert wet_day is not None
        assert dry_day is not None
        assert rate_of(season, tree.name, TODAY) == rate_of(dry_season, tree.name, TODAY)
        assert looks_of(season, tree.name, TODAY) == looks_of(dry_season, tree.name, TODAY) != ()
        assert (wet_day.rain_l > 0) == (round(rain_mm, 1) >= 5)


def test_half_of_the_rain_reaches_a_pot_under_leaves_and_nine_tenths_one_under_bare_twigs() -> None:
    """By hand: 20 mm on 20 x 15 cm are 0.6 L. The shares are judgement."""
    season, collection, balance = planned("date,tmin_c,tmax_c,rain_mm\n2027-07-10,12,21,20\n")
    timeline = timeline_of(season, "Shallow")
    assert timeline is not None
    pot = balance.pot_day(timeline, collection.trees[0], TODAY)
    assert pot is not None
    assert pot.rain_l == pytest.approx(0.3)
    assert rain_reaching_l(pot.et_day, pot.vessel, pot.bench, leaf=0.3) == pytest.approx(0.54)


def test_the_trees_looked_at_most_often_on_a_day_are_counted() -> None:
    season, collection, _ = planned()
    for day in (TODAY, date(2027, 8, 30), date(2027, 9, 20), date(2027, 10, 25)):
        looks = [len(looks_of(season, tree.name, day)) for tree in collection.trees]
        found = day_of(season, day)
        assert found.thirstiest_count == (looks.count(max(looks)) if max(looks) else 0)
        assert found.checked_count == len(looks) - looks.count(0)
