"""What the cans of a season bring beside what is booked: strengths asked for, within 5 % of what is mixed each time."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from decimal import Decimal
from pathlib import Path

from feedplan.engine.day import told_cans
from feedplan.engine.plan import plan_season
from feedplan.engine.sink.cans import as_decimal
from feedplan.load.collection import load_collection
from feedplan.model.reason import Rule

NORTHERN = Path(__file__).parents[2] / "demo" / "northern"


def test_what_the_cans_of_a_year_bring_is_near_what_is_booked_and_within_every_budget() -> None:
    """By the rule of 5 % for each feed; over a year no tree strays further than that, and none beyond its budget."""
    first, last = date(2027, 3, 1), date(2027, 11, 30)
    loaded = load_collection(NORTHERN)
    season = plan_season(loaded.collection, loaded.journal, first, first, last, climate=loaded.climate)
    booked: dict[str, Decimal] = defaultdict(Decimal)
    mixed: dict[str, Decimal] = defaultdict(Decimal)
    share = loaded.collection.habits.feed_share
    for item in season.rounds:
        ppm = told_cans(season, item.day).ppm_of(item.key)
        assert ppm is not None
        really = as_decimal(ppm)
        assert abs(really / item.ppm - 1) <= Decimal("0.05")
        if any(reason.rule is Rule.BUDGET for event in item.events for reason in event.reasons):
            assert really <= item.ppm
        for name in item.names:
            booked[name] += item.ppm * share
            mixed[name] += really * share
    assert len(booked) > 20
    for timeline in season.timelines:
        for name in set(timeline.names) & booked.keys():
            assert abs(mixed[name] / booked[name] - 1) <= Decimal("0.05")
            assert mixed[name] <= timeline.care.schedule_on(last).budget_mg_n_per_l
