"""Water and air in drained pots against published substrates, closed integrals and scipy.

Sources stand beside the checks. Values of akadama, pumice and lava are ranges from memory and are only checked for
lying within them.
"""

from math import asinh

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from feedplan.errors import FeedplanError
from feedplan.weather.substrate import (
    COMPONENTS,
    NAMED_MIXES,
    Evidence,
    Retention,
    SubstrateMix,
    container_capacity,
    curve_through,
    read_mix,
)
from tests.properties import examples


def water_at(curve: Retention, suction_cm: float) -> float:
    return curve.water_at_each([suction_cm])[0]


def porosity_of(mix: SubstrateMix) -> float:
    """All pores of a mix, as a share of its volume [L/L]; what of them holds no water holds air."""
    return sum(share * component.porosity for component, share in mix.parts)


def test_curve_is_van_genuchtens_for_the_sand_of_carsel_and_parrish() -> None:
    # Carsel and Parrish 1988, mean sand: 0.045, 0.43, 0.145 1/cm, 2.68. By hand at 100 cm: (1 + 14.5^2.68)^-0.62687 =
    # 0.0112, so 0.045 + 0.385 x 0.0112.
    sand = Retention(0.43, 0.045, 0.145, 2.68)
    assert water_at(sand, 100) == pytest.approx(0.0493, abs=0.0001)
    assert water_at(sand, 0) == 0.43


def test_mean_over_the_height_is_the_closed_integral_where_there_is_one() -> None:
    # n = 2 makes m = 1/2, whose integral is asinh(alpha h) / alpha.
    curve, height = Retention(0.8, 0.2, 0.35, 2.0), 12.0
    closed = 0.2 + 0.6 * asinh(0.35 * height) / (0.35 * height)
    assert container_capacity(curve, height) == pytest.approx(closed, abs=1e-6)


@examples(60)
@given(st.floats(0.02, 6), st.floats(1.2, 6), st.floats(2, 40), st.floats(0.4, 1.2))
def test_mean_over_a_tapered_pot_is_that_of_scipy(
    alpha: float, n: float, height: float, taper: float
) -> None:
    curve = Retention(0.75, 0.25, alpha, n)

    def area(level: float) -> float:
        return (taper + (1 - taper) * level / height) ** 2

    breaks = [1 / alpha] if 1 / alpha < height else None
    water, _ = quad(lambda h: water_at(curve, h) * area(h), 0, height, points=breaks, limit=200)
    volume, _ = quad(area, 0, height)
    assert container_capacity(curve, height, taper) == pytest.approx(water / volume, abs=2e-4)


@pytest.mark.parametrize(("name", "porosity", "water", "air"), [("bark", 79, 48, 31), ("peat", 98, 87, 11)])
def test_published_substrates_hold_their_published_water_and_air(
    name: str, porosity: float, water: float, air: float
) -> None:
    # Int. J. Agronomy 2012, 978528, Table 1, drained 7.6 cm cores [% of volume].
    mix = read_mix(name)
    assert 100 * porosity_of(mix) == pytest.approx(porosity)
    assert 100 * mix.water(7.6) == pytest.approx(water, abs=0.01)
    assert 100 * (porosity_of(mix) - mix.water(7.6)) == pytest.approx(air, abs=0.01)


def test_bark_loses_water_with_height_as_published_barks_do() -> None:
    # Owen and Altland 2008, HortScience 43:505-508, abstract: from 3.8 to 15.2 cm Douglas-fir bark held 20 % less
    # (under 22 mm) to 42 % less (under 9 mm). Our pine bark was fitted to one height only.
    bark = read_mix("bark")
    assert 0.20 <= 1 - bark.water(15.2) / bark.water(3.8) <= 0.42


def test_a_curve_through_a_nursery_can_predicts_the_bedding_cell() -> None:
    # J. Environ. Hort. 5(4):180, 1987, abstract: one medium holds 43 % water and 28 % air in a no. 1 container, 59 and
    # 12 % in a bedding cell, whole percent. Their heights (15 and 5 cm) are from memory, the residual and n of bark are
    # judgement. Listed miss: 2.0 points too little at 5 cm, where half a point is printed.
    curve = curve_through(0.71, 0.43, residual=0.25, n=2.0, height_cm=15)
    assert container_capacity(curve, 15) == pytest.approx(0.43, abs=1e-4)
    missed = container_capacity(curve, 5) - 0.59
    assert missed == pytest.approx(-0.020, abs=0.001)


def test_peat_releases_water_as_the_ideal_substrate_does() -> None:
    # De Boodt and Verdonck 1972, Acta Hort. 26:37-44, from memory: 20 to 30 % easily available between 10 and 50 cm,
    # 4 to 10 % between 50 and 100 cm.
    curve = COMPONENTS["peat"].curve
    assert 0.20 <= water_at(curve, 10) - water_at(curve, 50) <= 0.30
    assert 0.04 <= water_at(curve, 50) - water_at(curve, 100) <= 0.10


@pytest.mark.parametrize("name", sorted(COMPONENTS))
def test_a_shallow_pot_holds_more_water_and_less_air_per_litre(name: str) -> None:
    mix = read_mix(name)
    depths = (3, 5, 8, 12, 20, 30)
    waters = [mix.water(depth) for depth in depths]
    assert waters == sorted(waters, reverse=True)
    assert max(waters) < porosity_of(mix)


def test_a_pot_that_narrows_downwards_holds_less_per_litre() -> None:
    # More of its volume stands high above the floor.
    mix = read_mix("mineral")
    assert mix.water(20, taper=0.7) < mix.water(20, taper=1.0)


# From memory, low confidence: porosity and container capacity [%]; see the module.
REMEMBERED = [
    ("akadama", (70, 80), (25, 40)),
    ("pumice", (65, 80), (20, 35)),
    ("lava", (55, 70), (10, 25)),
    ("perlite", (80, 95), (25, 45)),
]


@pytest.mark.parametrize(("name", "porosity", "capacity"), REMEMBERED)
def test_grains_lie_within_their_remembered_ranges_and_say_so(
    name: str, porosity: tuple[int, int], capacity: tuple[int, int]
) -> None:
    component = COMPONENTS[name]
    assert porosity[0] <= 100 * component.porosity <= porosity[1]
    assert capacity[0] <= 100 * component.core_water <= capacity[1]
    assert component.known is Evidence.MEMORY


@pytest.mark.parametrize(
    ("name", "regression_water", "regression_available"),
    [
        ("akadama", (0.3680, 0.3116, 0.2815), 0.1316),
        ("kanuma", (0.4659, 0.3974, 0.3598), 0.1474),
        ("pumice", (0.3092, 0.2661, 0.2434), 0.1061),
        ("lava", (0.2046, 0.1683, 0.1494), 0.0683),
        ("perlite", (0.3975, 0.3270, 0.2893), 0.1270),
        ("fired clay", (0.4369, 0.3819, 0.3518), 0.1319),
        ("grit", (0.1241, 0.0884, 0.0696), 0.0484),
        ("bark", (0.5412, 0.4442, 0.3717), 0.1642),
        ("peat", (0.9126, 0.8344, 0.7249), 0.3344),
        ("coir", (0.7749, 0.6479, 0.5213), 0.2679),
    ],
)
def test_what_each_component_holds_is_as_before(
    name: str, regression_water: tuple[float, ...], regression_available: float
) -> None:
    """Regression values at 5, 10 and 20 cm, available at 10 cm: how steeply grains dry with height is judgement."""
    mix = read_mix(name)
    assert [mix.water(depth_cm) for depth_cm in (5, 10, 20)] == pytest.approx(regression_water, abs=0.0001)
    assert mix.available(10) == pytest.approx(regression_available, abs=0.0001)


@pytest.mark.parametrize(
    ("name", "least", "most"),
    [("mineral", 0.10, 0.15), ("mineral and organic", 0.15, 0.20), ("peaty", 0.25, 0.30)],
)
def test_named_mixes_hold_the_available_water_of_practice(name: str, least: float, most: float) -> None:
    # Growers' practice, from memory: coarse mineral 10-15 %, mineral and organic 15-20 %, peaty 25-30 % of the volume.
    assert least <= read_mix(name).available(7.6) <= most


def test_parts_are_shares_of_the_volume() -> None:
    mix = read_mix("2 akadama, 1 pumice, 1 lava")
    assert {component.name: share for component, share in mix.parts} == {
        "akadama": 0.5,
        "pumice": 0.25,
        "lava": 0.25,
    }
    assert mix == read_mix("Mineral") == read_mix("50% akadama, 25% pumice, 25% lava")
    assert mix.least_known is Evidence.MEMORY


def test_every_named_mix_can_be_read() -> None:
    for name, recipe in NAMED_MIXES.items():
        assert read_mix(name) == read_mix(recipe)


def test_a_weighed_mix_holds_what_was_weighed_at_its_depth_and_follows_its_parts_elsewhere() -> None:
    # 2.5 L, 12 cm deep: 700 g more drained than bone dry is 28 % of its volume (1 ml of water weighs 1 g).
    plain, weighed = read_mix("mineral"), read_mix("mineral, weighed 28 % at 12 cm")
    assert weighed.water(12) == pytest.approx(0.28)
    assert weighed.water(5) / weighed.water(12) == pytest.approx(plain.water(5) / plain.water(12))
    assert weighed.available(12) > plain.available(12)
    assert weighed.least_known is Evidence.WEIGHED


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "mineral, weighed 95 % at 12 cm",
            "95 % of water at 12 cm is not possible: this mix has 71 % of pores; weigh it drained and bone dry, and "
            "write (drained - dry) in g over the pot's ml: weighed 28 % at 12 cm",
        ),
        ("2 akedama, 1 pumice", "no substrate is called 'akedama'; did you mean 'akadama'?"),
        (
            "gravelly stuff",
            "no substrate is called 'gravelly stuff'; known ones are mineral, mineral and organic, peaty, akadama, "
            "kanuma, pumice, lava, perlite, fired clay, grit, bark, peat, coir",
        ),
        ("2x akadama", "'2x akadama' is no part of a mix; write a number and a name: 2 akadama"),
        ("0 akadama", "'0 akadama' is no part of a mix; write a number and a name: 2 akadama"),
    ],
)
def test_a_mix_that_cannot_be_read_says_what_to_write(text: str, message: str) -> None:
    with pytest.raises(FeedplanError) as refused:
        read_mix(text)
    assert str(refused.value) == message


def test_a_curve_that_cannot_be_is_refused() -> None:
    for water in (0.2, 0.7, 0.75):
        with pytest.raises(ValueError, match="must lie between"):
            curve_through(0.7, water, residual=0.2, n=2)
    with pytest.raises(ValueError, match="no curve"):
        Retention(0.7, 0.75, 0.1, 2)
    with pytest.raises(ValueError, match="must be above 0"):
        container_capacity(Retention(0.7, 0.2, 0.1, 2), 0)
