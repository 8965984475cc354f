"""Changes figures and operators of the program, one at a time in memory, and says which no test notices.

By hand: `python -m tests.mutation --count 200 --seed 1`. First each file of tests runs once by itself (ten minutes;
`--reach FILE` keeps what it reached for the next time). A mutant then meets the tests that run its function, the
quickest first. Those that lived are named at the end. Changes that no test could notice are among them: each wants a
look.
"""

from __future__ import annotations

import argparse
import importlib
import os
import random
import re
import tempfile
import time
from bisect import bisect_right
from collections import Counter
from collections.abc import Iterator
from itertools import accumulate
from pathlib import Path

from tests.mutation.mutants import Mutant, mutants
from tests.mutation.runs import ROOT, Reach, reached, run

# How many of twenty mutants are from each folder.
PLACES = {"engine": 8, "export": 5, "dose": 4, "weather": 3}
# What is imported once for all mutants; nothing of the program, which is imported anew with each.
HEAVY = (
    "hypothesis.strategies",
    "pydantic",
    "icalendar",
    "flask",
    "click.testing",
    "mistune",
    "segno",
    "yaml",
)


def mutants_of(place: str) -> list[Mutant]:
    """All mutants that a folder of the program can give."""
    files = sorted((ROOT / "feedplan" / place).rglob("*.py"))
    return [mutant for file in files for mutant in mutants(ROOT, file.relative_to(ROOT))]


def picked(count: int, seed: int) -> list[Mutant]:
    """So many mutants, spread over the folders, half of each figures and half operators."""
    rng = random.Random(seed)
    found: list[Mutant] = []
    for place, share in PLACES.items():
        made = mutants_of(place)
        for is_figure in (True, False):
            of_kind = [mutant for mutant in made if mutant.is_figure == is_figure]
            wanted = round(count * share / sum(PLACES.values()) / 2)
            found += rng.sample(of_kind, min(wanted, len(of_kind)))
    rng.shuffle(found)
    return found


def tests_of(mutant: Mutant, reach: dict[str, Reach]) -> list[str]:
    """The tests that run its function, or for what stands outside functions any of its file.

    First those whose path shares a word with its file's name, then with its folder's, the quickest of each first.
    """
    named, around = _words(mutant.path.stem), _words(mutant.path.parent.as_posix())

    def order(test: str) -> tuple[bool, bool, float]:
        words = _words(test)
        return named.isdisjoint(words), around.isdisjoint(words), reach[test].seconds

    def running(names: set[str]) -> list[str]:
        tests = [test for test, each in reach.items() if not names.isdisjoint(each.functions)]
        return sorted(tests, key=order)

    module = f"{mutant.path.as_posix()}:"
    if mutant.in_function:
        return running({module + mutant.scope})
    return running({name for each in reach.values() for name in each.functions if name.startswith(module)})


def _words(path: str) -> set[str]:
    return set(re.findall(r"[a-z]{3,}", path)) - {"feedplan", "tests", "test", "the", "text"}


def fate(mutant: Mutant, reach: dict[str, Reach], seconds: float, green: set[str]) -> str:
    """What became of a mutant: killed and by what, lived, or run by no test. seconds: of tests; green: known to be."""

    def changed(path: Path, source: bytes) -> bytes:
        return mutant.written_into(source) if path == mutant.path else source

    tests = tests_of(mutant, reach)
    taken = list(accumulate(reach[test].seconds for test in tests))
    near = tests[: max(1, bisect_right(taken, seconds))]
    if not near:
        return "run by no test"
    allowed = 60 + 10 * sum(reach[test].seconds for test in near)
    failing = run(near, allowed, changed).failing
    file = failing.partition("::")[0] if failing else ""
    if file in reach and file not in green:
        if run([file], allowed).failing:
            return f"not tried, fails unchanged: {file}"
        green.add(file)
    return f"killed by {failing}" if failing else "lived"


def _shares(fates: dict[Mutant, str]) -> Iterator[str]:
    """How many of each folder and kind were killed."""
    tried, killed = Counter[str](), Counter[str]()
    for mutant, told in fates.items():
        for name in ("all", mutant.path.parts[1], "figures" if mutant.is_figure else "operators"):
            tried[name] += 1
            killed[name] += told.startswith("killed")
    for name, count in tried.items():
        yield f"{name}: {killed[name]} of {count} killed, {killed[name] / count:.0%}"


def main() -> None:
    """Picks, tries and tells."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument(
        "--only", nargs="+", help="instead of a choice, all that are named so: path:line:column"
    )
    parser.add_argument("--seconds", type=float, default=30, help="of tests that a mutant meets")
    parser.add_argument("--reach", type=Path, help="file that keeps which tests run which function")
    given = parser.parse_args()
    chosen = picked(given.count, given.seed)
    if given.only:
        everyone = [mutant for place in PLACES for mutant in mutants_of(place)]
        chosen = [mutant for mutant in everyone if str(mutant).startswith(tuple(given.only))]
    os.environ["FEEDPLAN_EXAMPLES"] = "few"
    for library in HEAVY:
        importlib.import_module(library)
    with tempfile.TemporaryDirectory() as folder:
        reach = reached(given.reach or Path(folder) / "reach.json")
    fates: dict[Mutant, str] = {}
    green = set[str]()
    for mutant in chosen:
        begun = time.monotonic()
        fates[mutant] = fate(mutant, reach, given.seconds, green)
        print(f"{fates[mutant]} in {time.monotonic() - begun:.0f} s: {mutant}", flush=True)
    print(*_shares(fates), sep="\n")
    print(*(mutant for mutant, told in fates.items() if not told.startswith("killed")), sep="\n")


if __name__ == "__main__":
    main()
