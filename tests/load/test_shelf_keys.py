"""Keys of the shelf: stock, keeping, price, what a label says of nitrogen and conductivity, salts and ratios."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedplan.dose.grade import parse_npk_ratio
from feedplan.dose.salts import SALTS
from feedplan.load import load_text
from feedplan.load.read_feeds import (
    Keeping,
    parse_conductivity,
    parse_feed_ec,
    parse_keeping,
    parse_longevity,
    parse_price,
    parse_product_amount,
    parse_solid_rate,
)
from feedplan.model.collection import Feed
from tests.load.helpers import PLACE


def feed(written: str) -> Feed:
    """The one feed of a collection, from what is written of it."""
    text = PLACE + f"feeds: {{it: {{{written}}}}}\n"
    rest = "groups: {g: {schedule: refined}}\ntrees: [{name: Brindle, species: larch, group: g, pot: 1 L}]\n"
    return load_text(text + rest).collection.feeds["it"]


def test_a_tub_keeps_from_the_day_it_was_opened_and_counts_from_then() -> None:
    tub = feed("grade: 20-10-20, form: soluble, stock: 0.8 kg, opened: 2027-01-31, keeps: 13 months").on_hand
    assert tub.stock == 800
    assert tub.counted == date(2027, 1, 31)
    assert tub.best_before == date(2028, 2, 29)  # 31 January and 13 months: the last of February


def test_a_bottle_sold_by_weight_is_counted_in_millilitres() -> None:
    bottle = feed(
        "grade: 7-3-6, form: liquid, density: 1.2 kg per L, stock: 1.2 kg, price: 12 EUR for 1.2 kg"
    ).on_hand
    assert bottle.stock == 1000
    assert bottle.price == Decimal("0.012")
    assert bottle.currency == "EUR"


def test_a_label_that_gives_conductivity_for_a_rate_is_turned_into_nitrogen() -> None:
    # 1 g/L of a 20 % N feed is 200 ppm N: 1.30 mS/cm at that is 0.65 per 100 ppm N.
    assert feed("grade: 20-10-20, form: soluble, ec: 1.30 mS/cm at 1 g per L").ec_per_100_ppm_n == Decimal(
        "0.65"
    )
    assert feed("grade: 20-10-20, form: soluble, ec: 0.65 mS/cm per 100 ppm N").ec_per_100_ppm_n == Decimal(
        "0.65"
    )


def test_a_salt_brings_its_grade_and_its_forms_of_nitrogen() -> None:
    it = feed("salt: urea, form: soluble")
    assert it.product.grade == SALTS["urea"].grade
    assert dict(it.nitrogen) == {"urea": SALTS["urea"].percent("N")}


def test_an_organic_feed_gives_two_thirds_of_its_nitrogen_in_eight_weeks_unless_told_otherwise() -> None:
    meal = feed("grade: 5-3-2, form: organic")
    assert (meal.longevity_days, meal.released) == (56, Decimal("0.66"))
    told = feed("grade: 5-3-2, form: organic, released: 45 %, longevity: 3 months")
    assert (told.longevity_days, told.released) == (91, Decimal("0.45"))


def test_a_label_that_says_five_to_six_months_keeps_its_range() -> None:
    coated = feed("grade: 16-8-12, form: coated, longevity: 5 to 6 months, longevity_at: 25 °C")
    assert (coated.longevity_days, coated.longest_days, str(coated.longevity_c)) == (152, 183, "25")


def test_keeping_without_the_day_of_opening_is_warned_of() -> None:
    text = PLACE + "feeds: {it: {grade: 20-10-20, form: soluble, keeps: 24 months}}\n"
    rest = "groups: {g: {schedule: refined}}\ntrees: [{name: Brindle, species: larch, group: g, pot: 1 L}]\n"
    (warning,) = load_text(text + rest).warnings
    assert warning.message == "feed 'it' keeps 24 months, but from when? add opened:"


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("3-1-2 oxide", ("3", "1", "2", "oxide")),
        ("100:13:65 as elements", ("100", "13", "65", "elemental")),
        ("1-0-0 elemental", ("1", "0", "0", "elemental")),
    ],
)
def test_a_ratio_says_how_phosphorus_and_potassium_are_counted(text: str, parts: tuple[str, ...]) -> None:
    ratio = parse_npk_ratio(text)
    assert (*map(str, ratio.parts), ratio.basis) == parts
    assert parse_npk_ratio(str(ratio)) == ratio


@pytest.mark.parametrize("text", ["3-1-2", "0-1-2 oxide", "3-1 oxide", "3-1-2 salts", "NPK", ""])
def test_a_ratio_without_nitrogen_or_basis_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="write"):
        parse_npk_ratio(text)


def test_keeping_times_are_whole_months_or_days() -> None:
    assert parse_keeping("2 years") == parse_keeping("24 months") == Keeping(months=24)
    assert parse_keeping("26 weeks").until(date(2027, 1, 1)) == date(2027, 7, 2)


def test_readings_of_a_pen_are_kept_in_millisiemens() -> None:
    assert parse_conductivity("850 uS/cm") == parse_conductivity("0.85 mS/cm") == Decimal("0.85")


READERS = [
    parse_keeping,
    parse_price,
    parse_product_amount,
    parse_feed_ec,
    parse_conductivity,
    parse_longevity,
    parse_solid_rate,
    parse_npk_ratio,
]
TEXTS = st.one_of(
    st.text(max_size=30),
    st.from_regex(
        r"[0-9.]{1,6} ?(g|kg|mS/cm|months|days|EUR)( (per|for|at|to|-) ?[0-9.]{0,4} ?(g|L|kg|ppm N|months))?"
    ),
)


@given(st.sampled_from(READERS), TEXTS)
def test_a_reader_gives_a_value_or_one_sentence(reader: object, text: str) -> None:
    assert callable(reader)
    try:
        reader(text)
    except ValueError as refusal:
        assert str(refusal)
        assert "\n" not in str(refusal).replace(text, "")
