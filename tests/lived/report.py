"""How often the plan breaks its word to a grower who lives by it, counted over lived years.

python -m tests.lived.report [--years N] [--first SEED] [--gardens NAME ...] [--growers NAME ...] [--show N] [--jobs N]

N years for each kind of grower in each garden, seeds from --first. Each year is told as it is done; the counts follow
at the end, or when it is stopped. --show prints the first so many of each kind with dates.
The nightly size is --years 96 --gardens yard terrace frames: 2,016 lived years.
"""

from __future__ import annotations

import argparse
import signal
import time
import traceback
from collections import Counter
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from itertools import product

from tests.lived.checks import KINDS, Violation
from tests.lived.gardens import AS_WRITTEN, PLOTS, SMALL
from tests.lived.growers import GROWERS
from tests.lived.life import Life, live

Job = tuple[str, str, int]
"""A garden, a grower and a seed."""


@dataclass(frozen=True, slots=True)
class Year:
    """What came of one lived year. seconds: to live it. crash: what went wrong in living it, empty for nothing."""

    garden: str
    grower: str
    seed: int
    seconds: float
    pours: int = 0
    found: tuple[Violation, ...] = ()
    crash: str = ""

    @property
    def name(self) -> str:
        """Which year it was."""
        return f"{self.garden} / {self.grower} / {self.seed}"

    @property
    def outcome(self) -> str:
        """How it went, on one line and one more for each thing wrong."""
        lines = [f"{self.name}: {self.pours} pours, {len(self.found)} broken, {self.seconds:.0f} s"]
        lines += [f"  {v.day} {v.tree}: {v.kind}: {v.text}" for v in self.found]
        return "\n".join(lines) if not self.crash else f"{self.name}: crashed\n{self.crash}"


def lived(garden: str, grower: str, seed: int) -> Life:
    """One year of a kind of grower in a garden."""
    plot = PLOTS[garden]()
    return live(plot.garden, GROWERS[grower], seed, normals=plot.normals, coming=plot.coming)


def year_of(job: Job) -> Year:
    """One lived year, counted. One that crashes is told of, so that the others go on."""
    begin = time.process_time()
    try:
        life = lived(*job)
    except Exception:
        return Year(*job, time.process_time() - begin, crash=traceback.format_exc(limit=-3))
    return Year(*job, time.process_time() - begin, life.pours, tuple(life.violations))


def years_of(jobs: Iterable[Job], at_once: int) -> Iterator[Year]:
    """Every year as it is done, so many lived at once."""
    if at_once == 1:
        yield from map(year_of, jobs)
        return
    with ProcessPoolExecutor(at_once) as pool:
        try:
            yield from (done.result() for done in as_completed([pool.submit(year_of, job) for job in jobs]))
        finally:
            pool.shutdown(cancel_futures=True)


def jobs_of(gardens: list[str], growers: list[str], years: int, first: int = 0) -> Iterator[Job]:
    """Every year to live, each seed in all gardens before the next.

    A demo as written is lived once, by the obedient grower.
    """
    yield from ((garden, "obedient", 0) for garden in gardens if garden in AS_WRITTEN)
    drawn = [garden for garden in gardens if garden not in AS_WRITTEN]
    kinds = product(range(first, first + years), drawn, growers)
    yield from ((garden, grower, seed) for seed, garden, grower in kinds)


def table(years: list[Year]) -> Iterator[str]:
    """A row for each garden and grower: years, seconds a year, feeds poured, crashes, then violations of each kind."""
    yield (
        "garden / grower".ljust(42)
        + "years  s/year  pours  crashed  "
        + " ".join(f"[{n}]".rjust(6) for n in range(1, len(KINDS) + 1))
    )
    alike: dict[str, list[Year]] = {}
    for year in years:
        alike.setdefault(f"{year.garden} / {year.grower}", []).append(year)
    yield from (_row(name, some) for name, some in alike.items())
    if years:
        yield _row("all", years)
    yield from (f"[{number}] {kind}" for number, kind in enumerate(KINDS, start=1))


def _row(name: str, years: list[Year]) -> str:
    counts = Counter(violation.kind for year in years for violation in year.found)
    seconds, pours = sum(year.seconds for year in years), sum(year.pours for year in years)
    row = f"{name.ljust(42)}{len(years):5}  {seconds / len(years):6.1f}  {pours:5}  "
    row += f"{sum(bool(year.crash) for year in years):7}  "
    return row + " ".join(f"{counts[kind]:6}" for kind in KINDS)


def shown(years: list[Year], most: int) -> Iterator[str]:
    """The years that crashed; the first violations of each kind, with the day they were found and the year."""
    yield from (f"crashed: {year.name}" for year in years if year.crash)
    for kind in KINDS:
        rows = [(v, year.name) for year in years for v in year.found if v.kind == kind]
        if rows:
            yield f"\n{kind}: {len(rows)}"
        yield from (f"  {name}, {v.day}, {v.tree}: {v.text}" for v, name in rows[:most])


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
    done: list[Year] = []
    try:
        for year in years_of(jobs_of(asked.gardens, asked.growers, asked.years, asked.first), asked.jobs):
            done.append(year)
            print(year.outcome, flush=True)
    except KeyboardInterrupt:
        print("stopped", flush=True)
    print("\n".join([*table(done), *shown(done, asked.show)]))


if __name__ == "__main__":
    for stop in (signal.SIGINT, signal.SIGTERM):  # a job in the background ignores the first
        signal.signal(stop, signal.default_int_handler)
    main()
