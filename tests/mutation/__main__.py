"""Changes figures and operators of the program, one at a time in memory, and says which no test notices.

By hand: `python -m tests.mutation --count 200 --seed 1`. First each file of tests runs once by itself (half an hour;
`--reach FILE` keeps what it reached for the next time). A mutant then meets the tests that run its function, the
quickest first. Those that lived are named at the end. Changes that no
test could notice are among them: each wants a look.
"""

from __future__ import annotations

import argparse
import contextlib
import gc
import importlib
import importlib.util
import os
import random
import re
import sys
import tempfile
import time
from bisect import bisect_right
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date, timedelta
from decimal import Decimal
from itertools import accumulate
from pathlib import Path
from types import CodeType, FunctionType, ModuleType

from tests.mutation.mutants import Mutant, mutants
from tests.mutation.reach import ROOT, Reach, first_failing, reached

# How many of twenty mutants are from each folder.
PLACES = {"engine": 8, "export": 5, "dose": 4, "weather": 3}
# Those of the program are for mutants within functions alone: others must meet it before it is imported.
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

    First those whose path shares a word with its file, the quickest of each first.
    """
    words = _words(mutant.path.as_posix())

    def running(names: set[str]) -> list[str]:
        tests = [test for test, each in reach.items() if not names.isdisjoint(each.functions)]
        return sorted(tests, key=lambda test: (words.isdisjoint(_words(test)), reach[test].seconds))

    module = f"{mutant.path.as_posix()}:"
    if mutant.in_function:
        return running({module + mutant.scope})
    named = {name for each in reach.values() for name in each.functions if name.startswith(module)}
    return running(named - {f"{module}<module>"}) or running(named)


def _words(path: str) -> set[str]:
    return set(re.findall(r"[a-z]{3,}", path)) - {"feedplan", "tests", "test", "the", "text"}


def put_in_place(mutant: Mutant) -> None:
    """Changes the program in this process: a function or a constant as it is, or a module before it is imported."""
    name, file = ".".join(mutant.path.with_suffix("").parts), str(ROOT / mutant.path)
    changed = compile(mutant.written_into(Path(file).read_bytes()), file, "exec", dont_inherit=True)
    if name not in sys.modules:
        spec = importlib.util.find_spec(name)
        assert spec is not None
        module = sys.modules[name] = importlib.util.module_from_spec(spec)
        exec(changed, module.__dict__)
        package, _, last = name.rpartition(".")
        setattr(sys.modules[package], last, module)
    elif mutant.in_function:
        outer = mutant.scope.partition(".<locals>")[0]
        named = [code for code in _codes(changed) if code.co_qualname == outer]
        new = max((code for code in named if code.co_firstlineno <= mutant.line), key=_first_line)
        for function in gc.get_objects():
            if isinstance(function, FunctionType) and _place(function.__code__) == _place(new):
                function.__code__ = new
    else:
        fresh = {"__name__": name, "__file__": file}
        exec(changed, fresh)
        for constant, value in _constants(fresh, sys.modules[name]).items():
            old = vars(sys.modules[name])[constant]
            for module in [each for each in sys.modules.values() if vars(each).get(constant) is old]:
                setattr(module, constant, value)


def _constants(fresh: Mapping[str, object], module: ModuleType) -> dict[str, object]:
    """The plain values of a module that a change to it changes."""
    return {
        name: value
        for name, value in fresh.items()
        if isinstance(value, int | float | Decimal | date | timedelta | tuple | dict)
        and repr(value) != repr(vars(module).get(name))
    }


def _codes(code: CodeType) -> Iterator[CodeType]:
    yield code
    for each in code.co_consts:
        if isinstance(each, CodeType):
            yield from _codes(each)


def _first_line(code: CodeType) -> int:
    return code.co_firstlineno


def _place(code: CodeType) -> tuple[str, str, int]:
    return code.co_filename, code.co_qualname, code.co_firstlineno


def fate(mutant: Mutant, reach: dict[str, Reach], seconds: float, green: set[str]) -> str:
    """What became of a mutant: killed and by what, lived, or run by no test. seconds: of tests; green: known to be."""

    def with_mutant(run: Callable[[], int]) -> int:
        put_in_place(mutant)
        return run()

    tests = tests_of(mutant, reach)
    taken = list(accumulate(reach[test].seconds for test in tests))
    near = tests[: max(1, bisect_right(taken, seconds))]
    allowed = 60 + 10 * sum(reach[test].seconds for test in near)
    failing = first_failing(near, allowed, with_mutant) if near else None
    file = failing.partition("::")[0] if failing else ""
    if file in reach and file not in green:
        if first_failing([file], allowed) is not None:
            return f"not tried, fails unchanged: {file}"
        green.add(file)
    return f"killed by {failing}" if failing else "lived" if tests else "run by no test"


def _can_wait(mutant: Mutant) -> bool:
    """Whether a mutant may be put in place after the program was imported, which is quicker where imports are many."""
    return mutant.in_function or (not mutant.scope and mutant.path.parts[1] in ("engine", "export"))


def _import_all(tests: Sequence[str]) -> None:
    for test in ("tests/conftest.py", *tests):
        with contextlib.suppress(ImportError):
            importlib.import_module(".".join(Path(test).with_suffix("").parts))


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
    fates: dict[Mutant, str] = {}
    is_warm, green = False, set[str]()
    with tempfile.TemporaryDirectory() as folder:
        reach = reached(given.reach or Path(folder) / "reach.json")
    for mutant in sorted(chosen, key=_can_wait):
        if _can_wait(mutant) and not is_warm:
            _import_all(list(reach))
            is_warm, green = True, set()
        begun = time.monotonic()
        fates[mutant] = fate(mutant, reach, given.seconds, green)
        print(f"{fates[mutant]} in {time.monotonic() - begun:.0f} s: {mutant}", flush=True)
    print(*_shares(fates), sep="\n")
    print(*(mutant for mutant, told in fates.items() if not told.startswith("killed")), sep="\n")


if __name__ == "__main__":
    main()
