"""How often the plan breaks its word to a grower who lives by it, counted over lived years.

python -m tests.lived.report [--years N] [--gardens NAME ...] [--growers NAME ...] [--show N] [--jobs N]

N years for each kind of grower in each garden, seeds from 0. --show prints the first so many of each kind with dates.
The nightly size is --years 96 --gardens yard terrace frames: 2,016 lived years.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

from tests.lived.checks import KINDS, Violation
from tests.lived.gardens import AS_WRITTEN, PLOTS, SMALL
from tests.lived.growers import GROWERS
from tests.lived.life import Life, live

Job = tuple[str, str, int]
"""A garden, a grower and a seed."""


@dataclass(frozen=True, slots=True)
class Tally:
    """What came of some lived years of one kind. seconds: to live them."""

    years: int
    seconds: float
    pours: int
    found: tuple[Violation, ...]

    def __add__(self, other: Tally) -> Tally:
        return Tally(
            self.years + other.years,
            self.seconds + other.seconds,
            self.pours + other.pours,
            self.found + other.found,
        )


def lived(garden: str, grower: str, seed: int) -> Life:
    """One year of a kind of grower in a garden."""
    plot = PLOTS[garden]()
    return live(plot.garden, GROWERS[grower], seed, normals=plot.normals, coming=plot.coming)


def tally(job: Job) -> Tally:
    """One lived year, counted."""
    begin = time.process_time()
    life = lived(*job)
    return Tally(1, time.process_time() - begin, life.pours, tuple(life.violations))


def jobs_of(gardens: list[str], growers: list[str], years: int, first: int = 0) -> Iterator[Job]:
    """Every year to live, by seeds from the first. A demo as written is lived by the obedient grower alone, once."""
    for garden in gardens:
        if garden in AS_WRITTEN:
            yield garden, "obedient", 0
            continue
        for grower in growers:
            yield from ((garden, grower, seed) for seed in range(first, first + years))


def table(tallies: dict[tuple[str, str], Tally]) -> Iterator[str]:
    """A row for each garden and grower: years, seconds a year, feeds poured, then violations of each kind."""
    yield (
        "garden / grower".ljust(42)
        + "years  s/year  pours  "
        + " ".join(f"[{n}]".rjust(6) for n in range(1, len(KINDS) + 1))
    )
    for (garden, grower), total in tallies.items():
        counts = Counter(violation.kind for violation in total.found)
        row = f"{garden} / {grower}".ljust(42)
        row += f"{total.years:5}  {total.seconds / total.years:6.1f}  {total.pours:5}  "
        yield row + " ".join(f"{counts[kind]:6}" for kind in KINDS)
    everything = Counter(v.kind for total in tallies.values() for v in total.found)
    yield "all".ljust(64) + " ".join(f"{everything[kind]:6}" for kind in KINDS)
    yield from (f"[{number}] {kind}" for number, kind in enumerate(KINDS, start=1))


def shown(tallies: dict[tuple[str, str], Tally], most: int) -> Iterator[str]:
    """The first violations of each kind, with the day they were found, the garden and the grower."""
    for kind in KINDS:
        rows = [(v, where) for where, total in tallies.items() for v in total.found if v.kind == kind]
        if rows:
            yield f"\n{kind}: {len(rows)}"
        for violation, (garden, grower) in rows[:most]:
            yield f"  {garden} / {grower}, {violation.day}, {violation.tree}: {violation.text}"


def main() -> None:
    """Live, count and print."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--years", type=int, default=1)
    parser.add_argument("--first", type=int, default=0, help="the seed of the first year")
    parser.add_argument("--gardens", nargs="+", choices=PLOTS, default=list(SMALL))
    parser.add_argument("--growers", nargs="+", choices=GROWERS, default=list(GROWERS))
    parser.add_argument("--show", type=int, default=3)
    parser.add_argument("--jobs", type=int, default=1)
    asked = parser.parse_args()
    jobs = list(jobs_of(asked.gardens, asked.growers, asked.years, asked.first))
    tallies: dict[tuple[str, str], Tally] = {}
    with ProcessPoolExecutor(asked.jobs) as pool:
        for (garden, grower, _), found in zip(jobs, pool.map(tally, jobs), strict=True):
            before = tallies.get((garden, grower))
            tallies[garden, grower] = found if before is None else before + found
    print("\n".join([*table(tallies), *shown(tallies, asked.show)]))


if __name__ == "__main__":
    main()
