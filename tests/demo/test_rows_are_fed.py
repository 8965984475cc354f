"""The young plants of the northern demo: roots in a cold frame are warm enough to feed when they have leaves."""

from __future__ import annotations

from datetime import date

import pytest

from feedplan.engine.plan import plan_season
from tests.demo.test_demo_collections import DEMO_DAY, NORTH, loaded


@pytest.mark.parametrize("row", ["Hornbeam row", "Larch row"])
@pytest.mark.parametrize("today", [date(2027, 5, 8), DEMO_DAY, date(2027, 7, 14)])
def test_seedling_rows_are_fed_each_week_of_their_first_summer(row: str, today: date) -> None:
    """True leaves on 8 May, holiday from 7 August: at most 13 weeks, the first of them too cold even in a frame.

    The record ends with a forecast to 15 June; in July nothing newer is known than normals.
    """
    files = loaded(NORTH)
    season = plan_season(files.collection, files.journal, today, climate=files.climate)
    timeline = next(t for t in season.timelines if row in t.names)
    days = [feed.day for feed in timeline.feeds if feed.season == 2027]
    assert 11 <= len(days) <= 13
    assert days[0] <= date(2027, 5, 22)
    assert days[-1] >= date(2027, 7, 28)
