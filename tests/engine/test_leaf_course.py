"""How much of reference evapotranspiration a tree draws through its year: FAO-56, and the shares of practice."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from feedplan.engine.water.balance import leaf_course, leaf_on
from feedplan.load import load_text
from feedplan.load.collection import Loaded

FIRST = date(2027, 4, 1)


def season_day(number: int) -> date:
    return FIRST + timedelta(days=number)


@pytest.mark.parametrize(("day", "published"), [(12, 0.15), (37, 0.63), (65, 1.14), (90, 0.70)])
def test_use_between_stages_is_that_of_example_30(day: int, published: float) -> None:
    # FAO-56, Allen and others 1998, Example 30, p. 141: stages of 25, 25, 30 and 20 days; 0.15, 1.14, 0.25.
    leaf_points = tuple(
        (season_day(at), share) for at, share in ((25, 0.15), (50, 1.14), (80, 1.14), (100, 0.25))
    )
    assert leaf_on(leaf_points, season_day(day)) == pytest.approx(published, abs=0.006)
    assert leaf_course(leaf_points, FIRST, 101)[day] == leaf_on(leaf_points, season_day(day))


@pytest.fixture(scope="module")
def shipped() -> Loaded:
    return load_text(
        "place: {name: W, latitude: 53, time_zone: UTC}\n"
        "groups: {g: {schedule: vigorous}}\ntrees: [{name: A, species: elm, group: g, pot: 5 L}]"
    )


@pytest.mark.parametrize(
    ("stage", "least", "most"),
    [
        ("dormant", 0.3, 0.3),
        ("leaves open", 0.6, 0.6),
        ("first flush extending", 1.0, 1.5),
        ("first flush hardened", 1.0, 1.5),
    ],
)
def test_the_shares_of_stages_lie_within_the_ranges_of_practice(
    shipped: Loaded, stage: str, least: float, most: float
) -> None:
    # Common practice, no source: leafless 0.3, opening 0.6, in leaf 1.0 to 1.5 of reference evapotranspiration.
    share = shipped.collection.vocabulary.words[stage].water_use
    assert share is not None
    assert least <= float(share) <= most


@pytest.mark.parametrize("hold", ["repotted, severe", "defoliated"])
def test_severe_work_leaves_half_of_the_thirst_as_practice_has_it(shipped: Loaded, hold: str) -> None:
    # Common practice, no source: 0.4 to 0.6 of full use after severe root work or defoliation.
    share = shipped.collection.groups["g"].schedule.holds[hold].water_use
    assert share is not None
    assert 0.4 <= float(share) <= 0.6
