"""How often trees are looked at, asked of a season in both its forms: as rates, and as the looks of its calendar."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

from feedplan.engine.season import Season, Watch

WEEK = [timedelta(days=n) for n in range(7)]


def watch_of(season: Season, name: str) -> Watch:
    """The one answer to how often a tree is looked at."""
    [watch] = [w for w in season.watches if any(tree.name == name for tree in w.trees)]
    return watch


def rate_of(season: Season, name: str, day: date) -> Decimal:
    """How many looks a week are asked for a tree on a day; 0 while it is not there."""
    rate = watch_of(season, name).rate_on(day)
    return Decimal(0) if rate is None else rate.per_week


def looks_of(season: Season, name: str, day: date) -> tuple[int, ...]:
    """The looks at a tree on a day as the calendar has them, 0 for the first of the day, in order."""
    return tuple(
        sorted(c.look for c in season.checks if c.falls_on(day) and any(t.name == name for t in c.trees))
    )


def looks_in_week(season: Season, name: str, day: date) -> int:
    """How many looks the calendar has for a tree in the seven days from one on."""
    return sum(len(looks_of(season, name, day + n)) for n in WEEK)


def looked_at(season: Season, day: date) -> set[str]:
    """The trees at which the calendar has a look in the seven days from one on."""
    return {t.name for c in season.checks for n in WEEK if c.falls_on(day + n) for t in c.trees}
