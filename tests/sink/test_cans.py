"""The cans of a day: what must hold for every plan, and days worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from hypothesis import example, given
from hypothesis import strategies as st
from pytest import approx

from feedplan.dose.arithmetic import Product
from feedplan.dose.grade import parse_content, parse_grade, with_nutrients
from feedplan.engine.sink.cans import CanBatch, CanPlan, FeedToMix, TreePour
from feedplan.engine.sink.day_cans import plan_cans
from feedplan.model.measures import Measures
from tests.properties import examples

EVEN = Product(parse_grade("20-20-20"), name="even")
STRONG = Product(
    parse_grade("24-8-16"), name="strong", label_maximum_per_l=Decimal("0.6"), label_rate_per_l=Decimal("0.5")
)
LIQUID = Product(parse_grade("6-10-12"), form="liquid", density_kg_per_l=Decimal("1.22"), name="late")
CALCIUM = Product(with_nutrients(parse_grade("15.5-0-0"), dict([parse_content("CaO 26 %")])), name="calcium")
USUAL = Measures()


def feed(
    ppm: int | str, *litres: str, product: Product = EVEN, key: str = "", most: str | None = None
) -> FeedToMix:
    n = Decimal(ppm)
    return FeedToMix(
        key=key or f"{product.name}/{ppm}",
        parts=((product, n / product.mg_per_unit["N"]),),
        water=(("tap", 1.0),),
        ppm=n,
        most_ppm=n * Decimal("1.05") if most is None else Decimal(most),
        pours=tuple(
            TreePour(f"{key or product.name}/{ppm}/{at}", Decimal(one)) for at, one in enumerate(litres)
        ),
    )


def told(batch: CanBatch) -> list[tuple[str, str, int]]:
    """Poured aside [L], filled to [L], strength [ppm N]."""
    return [(f"{fill.aside:.2f}", f"{fill.litres:.1f}", round(float(fill.ppm))) for fill in batch.fills]


@st.composite
def days(draw: st.DrawFn) -> tuple[list[FeedToMix], Measures]:
    litres = st.decimals("0.01", "12", places=2)
    feeds = []
    for number in range(draw(st.integers(1, 4))):
        product = draw(st.sampled_from([EVEN, STRONG, LIQUID]))
        ppm = Decimal(draw(st.integers(10, 140)))
        most = min(
            ppm * draw(st.sampled_from([Decimal(1), Decimal("1.02"), Decimal("1.05")])), _label(product)
        )
        if ppm <= most:
            pours = draw(st.lists(litres, min_size=1, max_size=4))
            one = feed(str(ppm), *map(str, pours), product=product, key=f"feed {number}", most=str(most))
            feeds.append(one)
    return feeds, Measures(cans_l=draw(st.sampled_from([(Decimal(10),), (Decimal(9), Decimal(5))])))


def _label(product: Product) -> Decimal:
    return product.most_per_l * product.mg_per_unit["N"]


class TestEveryPlan:
    """Whatever the day, these hold; a feed that nothing makes is said so."""

    @given(days())
    @example(([feed(26, "10.01", product=STRONG, key="feed 0", most="26")], Measures()))
    @examples(150)
    def test_every_tree_gets_its_litres(self, day: tuple[list[FeedToMix], Measures]) -> None:
        feeds, measures = day
        plan = plan_cans(feeds, measures)
        for each in feeds:
            for pour in each.pours:
                got = sum((p.litres for p in _pours(plan, each.key) if p.tree == pour.tree), Decimal(0))
                assert got == (0 if each.key in plan.not_made else pour.litres)

    @given(days())
    @examples(150)
    def test_every_strength_is_within_5_percent_and_never_above_its_most(
        self, day: tuple[list[FeedToMix], Measures]
    ) -> None:
        feeds, measures = day
        by_key = {each.key: each for each in feeds}
        for batch in plan_cans(feeds, measures).batches:
            for fill in batch.fills:
                for serving in fill.servings:
                    asked = by_key[serving.key]
                    assert Fraction(asked.ppm) * Fraction(95, 100) <= fill.ppm * (1 + Fraction(1, 10**8))
                    assert fill.ppm <= Fraction(asked.most_ppm) * (1 + Fraction(1, 10**8))

    @given(days())
    @examples(150)
    def test_all_nitrogen_weighed_is_poured_or_left_over_to_the_last_digit(
        self, day: tuple[list[FeedToMix], Measures]
    ) -> None:
        for batch in plan_cans(*day).batches:
            weighed = sum((Fraction(p.mg_per_unit["N"]) * Fraction(g) for p, g in batch.weighed), Fraction(0))
            poured = sum((fill.ppm * Fraction(fill.poured) for fill in batch.fills), Fraction(0))
            left = sum((ppm * Fraction(litres) for litres, ppm in batch.left_over), Fraction(0))
            assert weighed == poured + left

    @given(days())
    @examples(150)
    def test_cans_stand_at_marks_and_amounts_at_steps_of_the_scale(
        self, day: tuple[list[FeedToMix], Measures]
    ) -> None:
        feeds, measures = day
        for batch in plan_cans(feeds, measures).batches:
            assert all(g % measures.scale_g == 0 and g >= measures.least_amount for _, g in batch.weighed)
            for number, fill in enumerate(batch.fills):
                assert fill.litres in (measures.fill_marks_l if fill.servings else measures.stock_marks_l)
                assert fill.aside % measures.jug_step_l == 0
                assert fill.rest >= 0
                assert number == 0 or fill.kept >= measures.least_taken_l
                assert not fill.servings or fill.litres <= batch.can_l


def _pours(plan: CanPlan, key: str) -> list[TreePour]:
    return [
        pour
        for batch in plan.batches
        for fill in batch.fills
        for serving in fill.servings
        if serving.key == key
        for pour in serving.pours
    ]


def test_three_strengths_of_a_product_are_weighed_once_and_topped_up() -> None:
    # By hand: 4.5 g x 240 mg = 1080 mg N in 7.5 L is 144; 1.8 L of it in 2.5 L is 103.7; 1.1 L of that in 1.5 L is 76.
    plan = plan_cans([feed(150, "5.7"), feed(100, "1.4"), feed(75, "1")], USUAL)
    (batch,) = plan.batches
    assert len(batch.fills) == 3
    assert plan.left_litres <= Decimal("0.6")


def test_the_same_strength_for_two_groups_is_one_mix() -> None:
    (batch,) = plan_cans([feed(100, "2", key="a"), feed(100, "2.9", key="b")], USUAL).batches
    assert told(batch) == [("0.00", "5.0", 100)]
    assert [serving.key for serving in batch.fills[0].servings] == ["a", "b"]


def test_other_water_is_another_can() -> None:
    rain = replace(feed(100, "2", key="rain"), water=(("butt", 1.0),))
    assert len(plan_cans([feed(100, "2.9"), rain], USUAL).batches) == 2


def test_what_is_too_little_to_weigh_comes_from_a_stock_where_that_wastes_less() -> None:
    # 0.5 L at 75 ppm takes 0.19 g of a 20 % feed: 1 g in a can would leave 2.2 L, a stock of half a litre a half.
    (batch,) = plan_cans([feed(75, "0.49")], USUAL).batches
    assert batch.weighed == ((EVEN, Decimal("1.0")),)
    assert not batch.fills[0].servings
    assert batch.left_litres < Decimal("0.5")


def test_what_is_too_little_to_weigh_is_a_share_of_a_stronger_mix_of_the_same_product() -> None:
    (batch,) = plan_cans([feed(100, "2.1"), feed(19, "0.76")], USUAL).batches
    assert batch.fills[0].servings[0].key == "even/100"
    assert (
        batch.fills[1].kept < batch.fills[0].rest
    )  # some of the rest is poured aside: the whole would be too strong


def test_a_day_that_no_can_holds_is_split_at_the_cans_size() -> None:
    plan = plan_cans([feed(150, *["1"] * 17)], USUAL)
    assert [batch.can_l for batch in plan.batches] == [10, 10]
    assert plan.left_litres == 0


def test_a_pot_that_drinks_more_than_a_can_gets_several() -> None:
    plan = plan_cans([feed(100, "23")], USUAL)
    assert [sum((f.poured for f in batch.fills), Decimal(0)) for batch in plan.batches].count(
        Decimal(10)
    ) == 2
    assert sum((p.litres for p in _pours(plan, "even/100")), Decimal(0)) == 23


def test_a_feed_at_its_labels_maximum_is_never_made_stronger() -> None:
    (batch,) = plan_cans([feed(144, "4.8", product=STRONG, most="144")], USUAL).batches
    assert batch.fills[0].ppm <= 144


def test_products_that_clash_are_never_made_into_a_stock() -> None:
    phosphate = Product(parse_grade("12-61-0"), name="phosphate")
    both = replace(feed(20, "0.5"), parts=((CALCIUM, Decimal("0.1")), (phosphate, Decimal("0.0375"))))
    plan = plan_cans([both], USUAL)
    assert plan.not_made == (both.key,)


def test_two_products_of_a_ratio_share_a_chain_and_keep_their_shares() -> None:
    def mixed(ppm: int, litres: str) -> FeedToMix:
        share = Decimal(ppm) / 100
        parts = ((EVEN, share * Decimal("0.3333")), (CALCIUM, share * Decimal("0.215")))
        return replace(feed(ppm, litres), parts=parts)

    (batch,) = plan_cans([mixed(100, "6.2"), mixed(50, "3.1")], USUAL).batches
    grams = dict(batch.weighed)
    assert float(grams[EVEN] / grams[CALCIUM]) == approx(0.3333 / 0.215, rel=0.05)


def test_a_can_is_rinsed_before_a_weaker_mix_of_another_product() -> None:
    weak = plan_cans([feed(100, "5"), feed(60, "9.9", product=LIQUID)], USUAL)
    assert [batch.rinse_first for batch in weak.batches] == [False, False]  # the weakest comes first
    clash = plan_cans(
        [
            feed(100, "5", product=CALCIUM),
            feed(60, "9.9", product=Product(parse_grade("12-61-0"), name="map")),
        ],
        USUAL,
    )
    assert [batch.rinse_first for batch in clash.batches] == [False, True]
