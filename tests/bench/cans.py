"""What a year at the sink comes to, on the northern demo from March to November, seen from three days.

python -m tests.bench.cans    prints for each: feeding days, weighings, litres mixed and left over, with each mix in
half cans of its own ("apart") and with the day's cans planned together; and how long the cans of a day take to plan.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from itertools import groupby

from feedplan.engine.day import SHOWN_STATUSES
from feedplan.engine.plan import plan_season
from feedplan.engine.season import RoundItem
from feedplan.engine.sink.mixing import cans_of
from feedplan.load.collection import load_collection
from tests.bench.speed import DEMO

FIRST, LAST = date(2027, 3, 1), date(2027, 11, 30)
SEEN_FROM = (FIRST, date(2027, 6, 5), LAST)


def days_seen_from(today: date) -> list[list[RoundItem]]:
    """The mixes of each feeding day that something is known of."""
    loaded = load_collection(DEMO)
    season = plan_season(loaded.collection, loaded.journal, today, FIRST, LAST, climate=loaded.climate)
    items = [item for item in season.rounds if item.status in SHOWN_STATUSES and item.can is not None]
    return [list(of_day) for _, of_day in groupby(items, key=lambda item: item.day)]


def apart(days: Sequence[Sequence[RoundItem]]) -> tuple[int, Decimal, Decimal]:
    """Weighings, litres mixed and left over when each mix is made in half cans of its own."""
    items = [item for day in days for item in day]
    mixed = sum((item.litres for item in items), Decimal(0))
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
    """A line for each day it is seen from, apart and together."""
    lines = []
    for today in SEEN_FROM:
        days = days_seen_from(today)
        *before, (weighings, mixed, left, ms) = apart(days), together(days)
        lines.append(f"{today}, {len(days)} feeding days")
        for name, found in (("apart", before[0]), ("together", (weighings, mixed, left))):
            share = found[2] / found[1]
            lines.append(
                f"  {name:<9} {found[0]:4} weighings {found[1]:7.1f} L mixed {found[2]:7.1f} L left over, {share:.0%}"
            )
        lines.append(f"  {ms:.1f} ms for the cans of a day (median)")
    return lines


if __name__ == "__main__":
    print("\n".join(rows()))
