"""The sheet for whoever waters during an absence, as a value: looks by bench, and never any feed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, time
from itertools import groupby

from feedplan.engine.growing_year import DAY
from feedplan.engine.season import Season, Watch
from feedplan.model.collection import Away, Tree
from feedplan.model.schedule import CheckRate


@dataclass(frozen=True, slots=True)
class SheetRow:
    """Trees of a bench that are looked at equally often between two days, both included."""

    start: date
    end: date
    rate: CheckRate
    trees: tuple[Tree, ...]


@dataclass(frozen=True, slots=True)
class HelperSheet:
    """What somebody who waters during an absence must know.

    checks_at: the times of a day's looks. must_dry: trees whose surface is to dry, by name.
    """

    away: Away
    benches: tuple[tuple[str, tuple[SheetRow, ...]], ...]
    checks_at: tuple[time, ...]
    must_dry: tuple[str, ...]
    head_count: int


def sheet_of(season: Season, away: Away) -> HelperSheet:
    """The helper's sheet for an absence that the season covers: looks by bench, and never any feed."""
    days = [away.start + DAY * n for n in range((away.end - away.start).days + 1)]
    rows: dict[str, dict[tuple[date, date, CheckRate], list[Tree]]] = {}
    dry: set[str] = set()
    for watch in season.watches:
        if any(watch.rate_on(day) is not None and watch.must_dry_on(day) for day in days):
            dry.update(tree.name for tree in watch.trees)
        for start, end, rate in _equal_rates(watch, days):
            for tree in watch.trees:
                bench = rows.setdefault(watch.timeline.care.place_of(tree, start), {})
                bench.setdefault((start, end, rate), []).append(tree)
    benches = []
    for name, found in sorted(rows.items()):
        ordered = sorted(found.items(), key=lambda pair: (-pair[0][2].per_week, pair[0][:2]))
        benches.append((name, tuple(SheetRow(*span, tuple(trees)) for span, trees in ordered)))
    count = sum(timeline.head_count for timeline in season.timelines if timeline.here(away.start))
    checks_at = season.collection.habits.checks_at
    return HelperSheet(away, tuple(benches), checks_at, tuple(sorted(dry)), count)


def _equal_rates(watch: Watch, days: Sequence[date]) -> Iterator[tuple[date, date, CheckRate]]:
    """The runs of days with one rate."""
    for rate, run in groupby(days, key=watch.rate_on):
        here = list(run)
        if rate is not None:
            yield here[0], here[-1], rate
