"""Reading what a grower writes: exact units from their definitions, and refusals that say what to write."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from feedplan.dose.grade import parse_grade
from feedplan.dose.measures import (
    REFUSED,
    UNITS,
    parse_days,
    parse_length,
    parse_mass,
    parse_percent,
    parse_rate,
    parse_ratio,
    parse_volume,
)
from feedplan.dose.size import parse_size
from feedplan.dose.strength import parse_share, parse_strength
from tests.dose.published import rows

PARSERS: list[Callable[[str], object]] = [
    parse_volume,
    parse_mass,
    parse_length,
    parse_size,
    parse_days,
    parse_percent,
    parse_ratio,
    parse_rate,
    parse_grade,
    parse_share,
    parse_strength,
]


@pytest.mark.parametrize("row", rows("volumes"))
def test_volumes_are_exact_by_definition(row: dict[str, Any]) -> None:
    assert parse_volume(row["text"]) == Decimal(row["litres"])


@pytest.mark.parametrize("row", rows("masses"))
def test_masses_are_exact_by_definition(row: dict[str, Any]) -> None:
    assert parse_mass(row["text"]) == Decimal(row["grams"])


@pytest.mark.parametrize("row", rows("lengths"))
def test_lengths_are_exact_by_definition(row: dict[str, Any]) -> None:
    assert parse_length(row["text"]) == Decimal(row["cm"])


def test_a_us_gallon_is_231_cubic_inches() -> None:
    cubic_inch_l = parse_length("1 inch") ** 3 / 1000
    assert parse_volume("1 US gal") == 231 * cubic_inch_l


@pytest.mark.parametrize("row", rows("imperial_over_us_gallon"))
def test_an_imperial_gallon_is_a_fifth_larger(row: dict[str, Any]) -> None:
    ratio = parse_volume("1 imperial gal") / parse_volume("1 US gal")
    assert float(ratio) == pytest.approx(row["ratio"], abs=row["tolerance"])


@pytest.mark.parametrize("row", rows("household_teaspoon"))
@pytest.mark.parametrize("spoon", ["1 tsp", "1 US tsp"])
def test_both_teaspoons_are_household_teaspoons(row: dict[str, Any], spoon: str) -> None:
    assert float(parse_volume(spoon) * 1000) == pytest.approx(row["ml"], abs=row["tolerance"])


@pytest.mark.parametrize(
    ("text", "litres"),
    [
        ("9 L", "9"),
        ("10L", "10"),
        ("250 ml", "0.25"),
        (".5 l", "0.5"),
        ("0 L", "0"),
        ("9\u00a0L", "9"),
        ("2 U.S. gallons", "7.570823568"),
        ("1 imp. gal", "4.54609"),
        ("75 cl", "0.75"),
    ],
)
def test_volumes_are_read_however_they_are_spaced(text: str, litres: str) -> None:
    assert parse_volume(text) == Decimal(litres)


@pytest.mark.parametrize(
    ("parser", "text", "message"),
    [
        (parse_volume, "9", "'9' has no unit; write the unit: 9 L"),
        (parse_mass, "5.5", "'5.5' has no unit; write the unit: 5.5 g"),
        (parse_volume, "", "nothing is written; write for example 9 L"),
        (
            parse_volume,
            "2,5 L",
            "'2,5 L' has a comma; decimals have a point: write 2.5 L",
        ),
        (parse_volume, "-3 L", "'-3 L' is below zero; write for example 9 L"),
        (parse_volume, "−3 L", "'−3 L' is below zero; write for example 9 L"),
        (parse_volume, "nan L", "'nan L' does not start with a number; write for example 9 L"),
        (parse_volume, "inf L", "'inf L' does not start with a number; write for example 9 L"),
        (parse_volume, "٣ L", "'٣ L' does not start with a number; write for example 9 L"),
        (parse_volume, "1e3 L", "'1e3 L' has an exponent; write the number out, such as 9 L"),
        (parse_volume, "1234567890123 L", "'1234567890123 L' has too long a number; write for example 9 L"),
        (
            parse_volume,
            "2 gallons",
            "'2 gallons': a gallon is 3.785 L (US) or 4.546 L (imperial); write 2 US gal or 2 imperial gal",
        ),
        (
            parse_volume,
            "4 fl. oz.",
            "'4 fl. oz.': a fluid ounce is 29.57 ml (US) or 28.41 ml (imperial); "
            "write 4 US fl oz or 4 imperial fl oz",
        ),
        (parse_volume, "4 oz", "'4 oz': an ounce is a weight; write 4 US fl oz or 4 imperial fl oz"),
        (
            parse_volume,
            "20 drops",
            "'20 drops': a drop is anything from 0.05 to 0.08 ml; measure with a syringe and write ml, such as 1 ml",
        ),
        (parse_volume, "5 kg", "'5 kg' is a mass; expected a volume such as 9 L"),
        (
            parse_volume,
            "5-10 L",
            "'5-10 L' has an unknown unit '-10 L' (known: L, ml, US gal, imperial gal); write for example 5 L",
        ),
        (parse_mass, "1 tsp", "'1 tsp' is a volume, not a weight; weigh it and write grams, such as 5.5 g"),
        (
            parse_length,
            "3 furlongs",
            "'3 furlongs' has an unknown unit 'furlongs' (known: cm, mm, m, inch); write for example 3 cm",
        ),
        (parse_days, "10", "'10' has no unit; write the unit: 10 days"),
        (
            parse_days,
            "3 months",
            "'3 months': a month is not a number of days; write days or weeks, such as 90 days",
        ),
        (parse_days, "1.5 weeks", "'1.5 weeks' is not a whole number of days; write for example 10 days"),
        (parse_percent, "30", "'30' is not a percentage; write 30 %"),
        (parse_percent, "130 %", "'130 %' is more than the whole; write 0 % to 100 %"),
        (
            parse_ratio,
            "110",
            "'110' is not a dilution; write \"1:100\", meaning 1 part in 100 of the mixed feed",
        ),
        (
            parse_ratio,
            "1 to 100",
            "'1 to 100' is not a dilution; write \"1:100\", meaning 1 part in 100 of the mixed feed",
        ),
        (
            parse_ratio,
            "2:100",
            "'2:100' is not a dilution; write \"1:100\", meaning 1 part in 100 of the mixed feed",
        ),
        (
            parse_ratio,
            "1:1",
            "'1:1' does not dilute anything; write \"1:100\", meaning 1 part in 100 of the mixed feed",
        ),
        (parse_rate, "1 g", "'1 g' is not a rate; write for example 1 g per L"),
        (parse_rate, "1 cm/L", "'1 cm/L' is not a rate; write for example 1 g per L or 5 ml per 10 L"),
        (
            parse_rate,
            "1 g per gallon",
            "'1 g per gallon': a gallon is 3.785 L (US) or 4.546 L (imperial); "
            "write 1 g per US gal or 1 g per imperial gal",
        ),
        (parse_size, "30 x 22 x 7", "'30 x 22 x 7' has no unit; write the unit: 30 x 22 x 7 cm"),
        (parse_size, "25 x 9 cm", "'25 x 9 cm' has two measures; if it is round, write round 25 x 9 cm"),
        (
            parse_size,
            "30 cm x 22 x 7 cm",
            "'30 cm x 22 x 7 cm' has a unit on some measures only; write 30 x 22 x 7 cm",
        ),
        (
            parse_size,
            "30 x 0 x 7 cm",
            "'30 x 0 x 7 cm' has a measure of zero; write for example 30 x 22 x 7 cm",
        ),
        (
            parse_size,
            "big",
            "'big' is not a size; write for example 30 x 22 x 7 cm",
        ),
    ],
)
def test_what_cannot_be_taken_is_refused_with_what_to_write(
    parser: Callable[[str], object], text: str, message: str
) -> None:
    with pytest.raises(ValueError) as refusal:
        parser(text)
    assert str(refusal.value) == message


@pytest.mark.parametrize("unit", [name for name in UNITS if UNITS[name].kind == "volume"])
def test_every_spelling_of_a_volume_is_read(unit: str) -> None:
    assert parse_volume(f"3 {unit}") == 3 * UNITS[unit].worth
    assert parse_volume(f"3 {unit.upper()}") == 3 * UNITS[unit].worth


@pytest.mark.parametrize("unit", REFUSED)
def test_every_two_faced_unit_is_refused(unit: str) -> None:
    with pytest.raises(ValueError, match=r"; (write|measure)"):
        parse_volume(f"3 {unit}")


def test_days_and_weeks_are_whole_days() -> None:
    assert parse_days("10 days") == 10
    assert parse_days("2 weeks") == 14
    assert parse_days("1 day") == 1
    assert parse_days("0 days") == 0


def test_a_percentage_is_read_with_and_without_space() -> None:
    assert parse_percent("30 %") == parse_percent("30%") == parse_percent("30 per cent") == 30


@pytest.mark.parametrize("text", ["1:100", "1 : 100", "1 in 100", "1∶100"])
def test_a_dilution_is_one_part_in_the_whole(text: str) -> None:
    assert parse_ratio(text) == 100


@pytest.mark.parametrize(
    ("text", "per_l", "unit"),
    [
        ("1 g/L", "1", "g"),
        ("15 g per 10 L", "1.5", "g"),
        ("5 ml per 10 L", "0.5", "ml"),
        ("2 tsp per 5 L", "2", "ml"),
        ("3.785411784 g per US gal", "1", "g"),
    ],
)
def test_a_label_rate_is_product_per_litre(text: str, per_l: str, unit: str) -> None:
    assert parse_rate(text)[:2] == (Decimal(per_l), unit)


def test_a_rectangular_pot_holds_its_box() -> None:
    size = parse_size("30 x 22 x 7 cm")
    assert size == parse_size("30cm × 22cm × 7cm") == parse_size("300 x 220 x 70 mm")
    assert size.area_cm2 == 660
    assert size.litres == Decimal("4.62")
    assert (
        parse_size("square 30 x 7 cm") == parse_size("30 x 30 x 7 cm") == parse_size("square 30 x 30 x 7 cm")
    )


def test_a_round_pot_and_an_oval_pot_hold_their_cylinder() -> None:
    # Area of a circle and of an ellipse; 3.14159 x 12.5 x 12.5 x 9 / 1000 = 4.418 L by hand.
    assert float(parse_size("round 25 x 9 cm").litres) == pytest.approx(4.418, abs=0.001)
    oval, box = parse_size("oval 30 x 22 x 7 cm"), parse_size("30 x 22 x 7 cm")
    assert float(oval.litres / box.litres) == pytest.approx(0.785398, abs=1e-6)


_WORDS = "1 2.5 . , - / : x % ½ e nan inf L ml US gal g per cm round oval days ppm N label half of ( ) in"
_PIECES = st.sampled_from([*_WORDS.split(), " ", "\u00a0", "9" * 30])


@pytest.mark.parametrize("parser", PARSERS)
@given(text=st.text(max_size=20) | st.lists(_PIECES, max_size=8).map("".join))
@example(text="1/0 label")
@example(text="/")
@example(text="1 g/")
def test_a_reader_answers_or_refuses_with_one_sentence(parser: Callable[[str], object], text: str) -> None:
    try:
        parser(text)
    except ValueError as refusal:
        assert "\n" not in str(refusal)
        assert len(str(refusal)) < 200


@given(number=st.decimals(0, 99999, places=3), unit=st.sampled_from(sorted(UNITS)))
def test_a_written_measure_reads_back_as_its_number_of_units(number: Decimal, unit: str) -> None:
    parser = {"volume": parse_volume, "mass": parse_mass, "length": parse_length}.get(UNITS[unit].kind)
    if parser is not None:
        assert parser(f"{number:f} {unit}") == number * UNITS[unit].worth
