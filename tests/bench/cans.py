"""What a year at the sink comes to, on the northern demo from March to November, seen from three days.

python -m tests.bench.cans    prints for each, with every feed on the feeding day nearest to it and then with days of
mixing (`feed_together`): feeding days, and the nitrogen all trees get; weighings, litres mixed and left over, with each
mix in half cans of its own ("apart") and with the day's cans planned together; how long the cans of a day take to plan.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from itertools import groupby

from feedplan.engine.day import SHOWN_STATUSES
from feedplan.engine.feeding.budget import nitrogen_mg_per_l
from feedplan.engine.plan import plan_season
from feedplan.engine.season import RoundItem, Season
from feedplan.engine.sink.mixing import cans_of
from feedplan.load.collection import load_collection
from tests.bench.speed import DEMO

FIRST, LAST = date(2027, 3, 1), date(2027, 11, 30)
CAN_L = Decimal(10)
SEEN_FROM = (FIRST, date(2027, 6, 5), LAST)


def season_seen_from(today: date, *, on_days_of_mixing: bool) -> Season:
    """The demo as planned on a day."""
    loaded = load_collection(DEMO)
    habits = loaded.collection.habits
    habits = habits if on_days_of_mixing else replace(habits, feed_together_days=0)
    collection = replace(loaded.collection, habits=habits)
    return plan_season(collection, loaded.journal, today, FIRST, LAST, climate=loaded.climate)


def days_of(season: Season) -> list[list[RoundItem]]:
    """The mixes of each feeding day that something is known of."""
    items = [item for item in season.rounds if item.status in SHOWN_STATUSES and item.can is not None]
    return [list(of_day) for _, of_day in groupby(items, key=lambda item: item.day)]


def nitrogen_of(season: Season) -> dict[str, Decimal]:
    """What the trees of each group get from liquid feed, all added up [mg N per L of container]."""
    found: dict[str, Decimal] = {}
    for timeline in season.timelines:
        for event in timeline.feeds:
            if FIRST <= event.day <= LAST:
                mg = nitrogen_mg_per_l(event, season.collection.habits.feed_share) * len(timeline.trees)
                found[event.group] = found.get(event.group, Decimal(0)) + mg
    return found


def apart(days: Sequence[Sequence[RoundItem]]) -> tuple[int, Decimal, Decimal]:
    """Weighings, litres mixed and left over when each mix is made in half cans of its own."""
    items = [item for day in days for item in day]
    halves = [(item.poured_litres * 2 / CAN_L).to_integral_value("ROUND_CEILING") for item in items]
    mixed = sum(halves, Decimal(0)) * CAN_L / 2
    return len(items), mixed, mixed - sum((item.poured_litres for item in items), Decimal(0))


def together(days: Sequence[Sequence[RoundItem]]) -> tuple[int, Decimal, Decimal, float]:
    """The same with the day's cans planned together, and the median time for a day [ms]."""
    collection = load_collection(DEMO).collection
    took, plans = [], []
    for day in days:
        begun = time.perf_counter()
        plans.append(cans_of(day, collection))
        took.append((time.perf_counter() - begun) * 1000)
    return (
        sum(len(plan.batches) for plan in plans),
        sum((plan.mixed_litres for plan in plans), Decimal(0)),
        sum((plan.left_litres for plan in plans), Decimal(0)),
        statistics.median(took),
    )


def rows() -> list[str]:
    """Lines for each day it is seen from, without and with days of mixing, apart and together."""
    lines = []
    for today in SEEN_FROM:
        nearest = season_seen_from(today, on_days_of_mixing=False)
        mixing = season_seen_from(today, on_days_of_mixing=True)
        for name, season in (("nearest feeding day", nearest), ("days of mixing", mixing)):
            days, mg = days_of(season), sum(nitrogen_of(season).values())
            weighed, mixed_l, left_l, ms = together(days)
            lines.append(f"{today}, {name}: {len(days)} feeding days, {mg:.0f} mg N per L over all trees")
            for way, (weighings, mixed, left) in (
                ("apart", apart(days)),
                ("together", (weighed, mixed_l, left_l)),
            ):
                litres = f"{mixed:7.1f} L mixed {left:7.1f} L left over, {left / mixed:.0%}"
                lines.append(f"  {way:<9} {weighings:4} weighings {litres}")
            lines.append(f"  {ms:.1f} ms for the cans of a day (median)")
        before, after = nitrogen_of(nearest), nitrogen_of(mixing)
        less = [group for group in before if after.get(group, Decimal(0)) < before[group]]
        lines.append(f"  less nitrogen on days of mixing: {', '.join(less) or 'no group'}")
    return lines


if __name__ == "__main__":
    print("\n".join(rows()))
