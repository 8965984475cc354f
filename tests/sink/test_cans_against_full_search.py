"""The day's cans against the best there is, found by a full search of its own, on days drawn at random."""

from __future__ import annotations

from decimal import Decimal
from random import Random

import pytest

from feedplan.dose.arithmetic import Product
from feedplan.dose.grade import parse_grade
from feedplan.engine.sink.cans import FeedToMix, TreePour
from feedplan.engine.sink.day_cans import plan_cans
from feedplan.model.measures import Measures
from tests.properties import times
from tests.sink.full_search import FullSearch

EVEN = Product(parse_grade("20-20-20"), name="even")
Day = dict[int, list[str]]
DAYS = times(35, 100)


def drawn_day(number: int) -> Day:
    """Up to four strengths [ppm N], each with what its trees are poured [L]; two days in three are small."""
    draw = Random(number)
    most = draw.choice([8, 20, 40])
    strengths = draw.sample([20, 30, 40, 50, 60, 75, 80, 100, 120, 125, 150], draw.choice([1, 1, 2, 2, 3]))
    return {
        ppm: [f"{draw.randint(1, most) * 0.05:.2f}" for _ in range(draw.choice([1, 1, 2]))]
        for ppm in strengths
    }


def planned(day: Day, measures: Measures) -> tuple[int, Decimal]:
    feeds = [
        FeedToMix(
            key=str(ppm),
            parts=((EVEN, Decimal(ppm) / 200),),
            water=(),
            ppm=Decimal(ppm),
            most_ppm=Decimal(ppm) * Decimal("1.05"),
            pours=tuple(TreePour(f"{ppm}/{n}", Decimal(litres)) for n, litres in enumerate(trees)),
        )
        for ppm, trees in day.items()
    ]
    plan = plan_cans(feeds, measures)
    assert not plan.not_made
    return len(plan.batches), plan.left_litres


@pytest.mark.parametrize("block", [0, 1, 2])
def test_no_day_takes_more_weighings_or_leaves_more_over_than_need_be(block: int) -> None:
    measures = Measures(jug_l=Decimal(5), cans_l=(Decimal(4),))
    search = FullSearch(200, 0.1, 0.5, 0.05, 4)
    left, least = 0.0, 0.0
    for number in range(block * DAYS, (block + 1) * DAYS):
        day = drawn_day(number)
        best = search.best([(ppm, float(litres)) for ppm, trees in day.items() for litres in trees])
        weighings, over = planned(day, measures)
        assert best is not None, (number, day)
        assert weighings <= best[0], (number, day)
        if weighings == best[0]:
            assert float(over) <= 1.05 * best[1] + 1e-6, (number, day, best)
            left, least = left + float(over), least + best[1]
    assert least > DAYS / 10
    assert left <= 1.05 * least
