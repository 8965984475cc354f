"""Guide values, laws and definitions that bound what feedplan does: labels, waters, acids, rates, drained water."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from feedplan.dose.arithmetic import STRONG_PPM_N, Product, work_out_dose
from feedplan.dose.conductivity import IONS, conductivity_ms_cm, expected_ec
from feedplan.dose.grade import ELEMENTAL, OXIDE, Grade, mass_fraction, parse_grade
from feedplan.dose.measures import parse_volume
from feedplan.dose.mix import target_from_ratio
from feedplan.dose.release import coated_curve, coated_speed
from feedplan.dose.salts import SALTS
from feedplan.dose.strength import PpmN
from feedplan.engine.sink.pen import DRAIN_MOST_COATED, DRAIN_MOST_LIQUID
from feedplan.engine.water.waters import MOST_ALKALINITY_MG_PER_L, most_alkalinity
from feedplan.load import load_text
from feedplan.load.read_feeds import parse_conductivity
from feedplan.model.collection import Pot
from feedplan.weather import water_quality
from tests.dose.published import rows

GUIDES, SOLIDS, SALT_TABLE = "published_guides.yaml", "published_solids.yaml", "published_salts.yaml"
ROOT = Path(__file__).parents[2]


def guide(name: str) -> Any:
    return rows(name, GUIDES)[0]


@pytest.mark.parametrize("row", rows("nitrogen_and_sulfur_in_ions", GUIDES), ids=lambda row: row["ion"])
def test_nitrogen_and_sulfur_of_ions_are_their_share_by_weight(row: dict[str, Any]) -> None:
    element, atoms = {
        "nitrate": ("N", {"N": 1, "O": 3}),
        "ammonium": ("N", {"N": 1, "H": 4}),
        "sulfate": ("S", {"S": 1, "O": 4}),
    }[row["ion"]]
    assert float(mass_fraction(element, atoms)) == pytest.approx(row["fraction"], abs=row["tolerance"])


@pytest.mark.parametrize("row", rows("label_bases", GUIDES), ids=lambda row: row["country"])
def test_a_label_means_what_its_country_says_once_the_basis_is_told(row: dict[str, Any]) -> None:
    p = float(parse_grade("10-10-10", row["basis"]).elements["P"])
    assert p == pytest.approx(10 if row["basis"] == ELEMENTAL else 4.364, abs=0.001)


def test_without_a_word_a_label_is_read_as_oxides_as_most_label_laws_have_it() -> None:
    assert parse_grade("10-10-10") == Grade(Decimal(10), Decimal(10), Decimal(10), OXIDE)


@pytest.mark.parametrize("ph", [5.0, 6.0, 7.0, 8.0])
def test_hydrogen_hydroxide_and_carbonate_can_be_left_out_of_a_feed(ph: float) -> None:
    """Their share of a feed of 1 mS/cm is under 1 %, by handbook conductivities and plain acid-base chemistry."""
    values = {row["ion"]: row["value"] for row in rows("left_out_ions", GUIDES)}
    assert not values.keys() & IONS.keys()
    hydrogen, hydroxide = 10**-ph * 1000, 10 ** (ph - 14) * 1000  # mmol/L; ionic product of water 1e-14
    hydrogencarbonate = 2.0  # mmol/L, 100 mg/L CaCO3
    carbonate = hydrogencarbonate * 10 ** (
        ph - 10.33
    )  # second dissociation constant of carbonic acid at 25 °C
    charged = {"H+": hydrogen, "OH-": hydroxide, "CO3--": 2 * carbonate}
    left_out = sum(values[ion] * equivalents / 1000 for ion, equivalents in charged.items())
    assert left_out < 0.01


@pytest.mark.parametrize("row", rows("phosphate_ions", GUIDES), ids=lambda row: row["ion"])
def test_phosphate_lies_at_the_handbooks_value_a_tenth_above_the_databases(row: dict[str, Any]) -> None:
    ion = IONS[row["ion"]]
    ours = ion.conductivity(25.0, 0.0) / abs(ion.charge)
    assert ours == pytest.approx(row["handbook"], rel=0.02)
    assert 1.07 < ours / row["from_diffusion"] < 1.15


def test_meter_standards_come_out_within_their_rounding() -> None:
    row = guide("meter_standards")
    for mol, printed in zip(row["mol_per_l"], row["us_per_cm"], strict=True):
        ours = 1000 * conductivity_ms_cm({"K+": 1000 * mol, "Cl-": 1000 * mol})
        assert ours == pytest.approx(printed, rel=row["tolerance"])


def test_a_thousand_microsiemens_are_one_millisiemens_and_one_decisiemens_per_metre() -> None:
    assert guide("units_of_conductivity")["us_per_ms"] == 1000
    assert (
        parse_conductivity("1000 µS/cm") == parse_conductivity("1 dS/m") == parse_conductivity("1 mS/cm") == 1
    )


def test_a_meter_that_shows_ppm_is_refused_because_its_scales_differ() -> None:
    assert len(set(guide("meter_scales")["ppm_per_ms_cm"])) == 3
    with pytest.raises(ValueError, match="depends on the meter's own scale"):
        parse_conductivity("700 ppm")


def test_a_feed_that_tables_disagree_on_falls_within_their_span() -> None:
    row = guide("feeds_from_memory")
    dose = work_out_dose(Product(parse_grade(row["grade"])), PpmN(Decimal(100)), Decimal(10))
    wide = expected_ec(dose)
    assert wide.low < row["low"] < row["high"] < wide.high


def test_the_charge_rule_of_natural_waters_is_not_used_for_feeds() -> None:
    # 10 meq/L of KCl reads 1.41 mS/cm, two fifths above the rule's 1.0.
    row = guide("charge_rule")
    ours = conductivity_ms_cm({"K+": row["meq_per_l"], "Cl-": row["meq_per_l"]})
    assert ours == pytest.approx(row["kcl_ds_per_m"], rel=0.01)
    assert ours > 1.3 * row["rule_ds_per_m"]


def test_hydrogencarbonate_classes_are_milliequivalents_whatever_a_copy_prints() -> None:
    row = guide("water_classes")["hydrogencarbonate"]
    as_lime = water_quality.alkalinity_from_hydrogencarbonate(row["as_mg_per_l"])
    assert as_lime == pytest.approx(
        water_quality.alkalinity_from_meq(row["none_below_meq_per_l"]), abs=0.1 * 50 / 61
    )
    assert row["as_mg_per_l"] > 50 * row["none_below_meq_per_l"]


def test_nitrate_in_the_water_that_needs_no_care_is_less_than_the_weakest_feed() -> None:
    row = guide("water_classes")["nitrate_nitrogen"]
    assert 50 * float(mass_fraction("N", {"N": 1, "O": 3})) > row["none_below_mg_per_l"]
    assert row["none_below_mg_per_l"] < 10  # ppm N, below which a trimmed feed is left out


def test_alkalinity_converts_as_its_formula_says() -> None:
    units = guide("alkalinity_units")
    row = units["mg_hco3_per_meq"]
    mg_per_meq = water_quality.HYDROGENCARBONATE_MG_PER_MMOL
    assert mg_per_meq == pytest.approx(row["value"], abs=row["tolerance"])
    assert water_quality.alkalinity_from_hydrogencarbonate(mg_per_meq) == water_quality.alkalinity_from_meq(1)
    row = units["mg_hco3_per_mg_caco3"]
    ratio = mg_per_meq / water_quality.CACO3_MG_PER_MEQ
    assert ratio == pytest.approx(row["value"], abs=row["tolerance"])
    row = units["french_degree"]
    ten_mg_of_lime = water_quality.hardness_from_degrees(1, "french") / water_quality.CACO3_MG_PER_MMOL
    assert ten_mg_of_lime * water_quality.CALCIUM_MG_PER_MMOL == pytest.approx(row["calcium"], abs=0.05)
    assert ten_mg_of_lime * water_quality.MAGNESIUM_MG_PER_MMOL == pytest.approx(
        row["magnesium"], abs=row["tolerance"]
    )
    row = units["english_degree_misprint"]
    ours = water_quality.hardness_from_degrees(1, "english")
    assert ours == pytest.approx(row["right"], abs=row["tolerance"])
    assert abs(ours - row["printed"]) > 0.02


def test_hardness_is_calcium_and_magnesium_together() -> None:
    row = guide("hardness")
    ours = water_quality.hardness_from_ions(row["calcium"], row["magnesium"])
    assert ours == pytest.approx(row["caco3"], abs=row["tolerance"])


def test_a_blend_is_filled_by_its_share() -> None:
    row = rows("blends", GUIDES)[0]
    found = water_quality.share_for_target(row["first"], row["second"], row["target"])
    assert found.share_of_first is not None
    litres = found.share_of_first * row["litres"]
    assert litres == pytest.approx(row["of_first"], abs=row["tolerance"])
    assert row["litres"] - litres == pytest.approx(row["of_second"], abs=row["tolerance"])


def test_conductivities_of_dilute_waters_blend_in_proportion() -> None:
    row = rows("blends", GUIDES)[1]
    ours = water_quality.blend([row["first"], row["second"]], [row["share"], 1 - row["share"]])
    assert ours == pytest.approx(row["value"], abs=row["tolerance"])


SMALL, MIDDLE, LARGE = (
    Pot(Decimal(litres), f"{litres} L", depth_cm=Decimal(cm)) for litres, cm in ((1, 5), (3, 10), (12, 25))
)


def test_alkalinity_limits_shrink_with_the_pot_and_stay_within_the_guides() -> None:
    guides = {row["for"]: row for row in rows("alkalinity_guides", GUIDES)}
    assert guides["acid generally not needed below"]["value"] == MOST_ALKALINITY_MG_PER_L
    low, high = guides["small cells"]["range"]
    assert most_alkalinity(SMALL) == pytest.approx(low, abs=3)  # 0.75 meq/L is 37.5 mg/L, printed as 40
    assert most_alkalinity(SMALL) == pytest.approx(37.5, abs=0.1)
    assert most_alkalinity(LARGE) == pytest.approx(high, abs=3)  # 1.25 meq/L, the other end of the same range
    assert most_alkalinity(MIDDLE) == most_alkalinity(LARGE) <= guides["irrigation water"]["range"][1]
    assert most_alkalinity(LARGE) < guides["packs at most"]["range"][0]


@pytest.mark.parametrize("row", rows("acid_for_information", GUIDES), ids=lambda row: row["acid"])
def test_an_acids_strength_is_told_by_its_equivalents_alone(row: dict[str, Any]) -> None:
    """The printed figure follows from equivalents; nothing in feedplan turns it into a dose of acid."""
    ml, litres = float(parse_volume("1 US fl oz")) * 1000, float(parse_volume("100 US gal"))
    mmol = ml * row["kg_per_l"] * row["percent"] / 100 / row["molar_mass"] * 1000
    neutralised = water_quality.alkalinity_from_meq(mmol * row["protons"] / litres)
    assert neutralised == pytest.approx(row["caco3"], abs=row["tolerance"])
    for path in (ROOT / "feedplan").rglob("*.py"):
        assert row["acid"] not in path.read_text(encoding="utf-8").casefold(), path


def test_calcium_and_sulfate_stay_dissolved_at_feed_strength_though_not_in_a_stock() -> None:
    most_g_per_l = guide("gypsum")["g_per_l"]
    calcium_mg = 200.0  # twice what a strong calcium feed in hard water holds [mg/L]
    gypsum_g = calcium_mg / 1000 / float(mass_fraction("Ca", {"Ca": 1, "S": 1, "O": 6, "H": 4}))
    assert gypsum_g < most_g_per_l
    assert 10 * gypsum_g > most_g_per_l  # a 1:10 stock of the same already falls out


def test_magnesium_nitrate_dissolves_as_the_handbook_says() -> None:
    row = guide("magnesium_nitrate")
    salt = SALTS["magnesium nitrate hexahydrate"]
    assert salt.solubility is not None
    hydrate = salt.solubility.at(row["temp_c"])
    assert hydrate is not None
    dry_share = 148.31 / float(salt.molar_mass)
    dry = 100 * hydrate * dry_share / (100 + hydrate * (1 - dry_share))
    assert dry == pytest.approx(row["grams"], abs=row["tolerance"])


def test_the_nursery_ratio_asks_for_about_what_leaves_hold() -> None:
    row = guide("leaf_proportions")
    target = target_from_ratio(Decimal(100), [Decimal(3), Decimal(1), Decimal(2)], OXIDE)
    assert row["p"][0] <= float(target.p) <= row["p"][1] * 1.05
    assert row["k"][0] <= float(target.k) <= row["k"][1]


def strengths_of(schedule: str) -> list[float]:
    collection = load_text(
        "place: {name: W, latitude: 53, time_zone: UTC}\n"
        f"groups: {{g: {{schedule: {schedule}}}}}\ntrees: [{{name: A, species: elm, group: g, pot: 5 L}}]"
    ).collection
    periods = collection.groups["g"].schedule.periods
    return [float(p.strength.n_mg_per_l) for p in periods if isinstance(p.strength, PpmN)]


def test_shipped_strengths_keep_to_what_container_nurseries_use() -> None:
    flowers, woody, seedlings = rows("constant_feeds", GUIDES)
    assert flowers["range"][1] == STRONG_PPM_N
    low, high = woody["low"] * (1 - woody["spread"]), woody["high"] * (1 + woody["spread"])
    assert all(low <= ppm <= high for ppm in strengths_of("vigorous"))
    first, rapid, last = strengths_of("seedlings")
    assert first == pytest.approx(seedlings["establishment"], rel=seedlings["spread"])
    assert rapid == pytest.approx(seedlings["rapid"], rel=seedlings["spread"])
    assert last == pytest.approx(seedlings["hardening"], rel=seedlings["spread"])


def test_the_seedlings_budget_lies_within_what_good_pine_seedlings_were_given() -> None:
    row = guide("seedling_nitrogen")
    collection = load_text(
        "place: {name: W, latitude: 53, time_zone: UTC}\n"
        "groups: {g: {schedule: seedlings}}\ntrees: [{name: A, species: pine, group: g, pot: 0.2 L}]"
    ).collection
    budget = float(collection.groups["g"].schedule.budget_mg_n_per_l)
    least, most = (mg * row["weeks"] for mg in row["mg_per_week"])
    assert budget * row["cell_litres"][0] < least
    assert least <= budget * row["cell_litres"][1] <= most * 1.05


def test_drained_water_is_judged_by_the_extension_ranges() -> None:
    row = guide("pour_through")
    assert row["coated_only"]["range"][1] == DRAIN_MOST_COATED
    assert row["liquid_or_both"]["range"][1] == DRAIN_MOST_LIQUID
    low, high = row["woody_ornamentals"]["compliance"]
    assert low <= DRAIN_MOST_LIQUID <= high
    method = row["method"]
    for what in ("water", "leachate"):
        ml = 1000 * float(parse_volume(f"{method[f'{what}_us_fl_oz']} US fl oz"))
        assert ml == pytest.approx(method[f"{what}_ml"], rel=0.02)


def days_at(temp_c: float, days: float, speed: Callable[[float], float]) -> float:
    """Days at a speed of 1 that pass in some days at a temperature."""
    return days * speed(temp_c)


def test_a_coated_feed_of_two_months_or_more_keeps_to_the_trades_criteria() -> None:
    # Trenkel 1997: at 25 °C not over 15 % in a day, not over 75 % in 28 days, at least 75 % at the stated time.
    row = rows("coated_criteria", SOLIDS)[0]
    for label_days in (60, 90, 150, 365):
        curve = coated_curve(label_days, label_days, row["temp_c"])
        out = [100 * curve.share(partial(days_at, row["temp_c"], days)) for days in (1, 28, label_days)]
        assert out[0] <= row["percent_24_h_most"]
        assert out[1] <= row["percent_28_d_most"]
        assert out[2] >= row["percent_at_stated_time_least"]


def test_a_pot_as_hot_as_was_measured_empties_a_coated_feed_in_a_third_of_its_time() -> None:
    row = rows("hot_containers", SOLIDS)[0]
    assert coated_speed(row["temp_c_least"]) > 3
