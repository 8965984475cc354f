"""Changes constants of the physics, the doses and the engine, one at a time, and says which no test notices.

By hand: `python -m tests.mutation.constants --count 60 --seed 1`. Works in a temporary copy, not in this tree. A mutant
first meets the tests nearest to it; only one that survives them meets the wider ones, which take minutes. 0 and 1,
indices and places to round to are left alone: they are structure, not figures. Those that lived are named at the end.
"""

from __future__ import annotations

import argparse
import ast
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from importlib.util import cache_from_source
from pathlib import Path

ROOT = Path(__file__).parents[2]
PLACES = ("weather", "dose", "engine")
COPIED = ("feedplan", "tests", "schedules", "demo", "pyproject.toml", "README.md", "DEVELOPERS.md")

# The tests nearest to a module, by the longest beginning of its path; each set takes seconds.
NEAR = {
    "weather": "tests/weather",
    "weather/meteorology": "tests/weather/test_meteorology.py tests/weather/test_evapotranspiration.py"
    " tests/weather/test_degree_days.py",
    "weather/evapotranspiration": "tests/weather/test_evapotranspiration.py tests/engine/test_balance.py",
    "weather/substrate": "tests/weather/test_substrate.py tests/weather/test_container.py tests/engine/test_balance.py",
    "weather/container": "tests/weather/test_container.py tests/weather/test_substrate.py tests/engine/test_balance.py",
    "weather/root_zone": "tests/weather/test_root_zone.py tests/stages/test_gates_by_weather.py",
    "weather/water_quality": "tests/weather/test_water_quality.py tests/engine/test_waters_and_flushes.py",
    "dose": "tests/dose",
    "dose/arithmetic": "tests/dose/test_dose_arithmetic.py tests/dose/test_dose_strength.py"
    " tests/dose/test_dose_measures.py tests/dose/test_dose_command.py tests/dose/test_published_guides.py",
    "dose/ceilings": "tests/dose/test_dose_ec.py tests/scenarios/test_what_is_in_the_can.py"
    " tests/dose/test_sink_phrasings.py",
    "dose/conductivity": "tests/dose/test_dose_ec.py tests/dose/test_published_guides.py"
    " tests/scenarios/test_at_the_sink.py",
    "dose/grade": "tests/dose/test_dose_grade.py tests/dose/test_dose_arithmetic.py tests/dose/test_dose_salts.py",
    "dose/mix": "tests/dose/test_dose_mix.py tests/dose/test_published_guides.py",
    "dose/release": "tests/dose/test_dose_release.py tests/scenarios/test_every_form_of_feed.py"
    " tests/dose/test_published_guides.py",
    "dose/salts": "tests/dose/test_dose_salts.py tests/dose/test_dose_bottles.py tests/dose/test_dose_names.py"
    " tests/dose/test_published_guides.py",
    "engine": "tests/scenarios/test_feeding_through_the_year.py tests/engine/test_order_and_horizon.py",
    "engine/answers": "tests/cli/test_warnings_of_practice.py"
    " tests/scenarios/test_planned_work.py tests/engine/test_comparison.py",
    "engine/answers/work": "tests/scenarios/test_work_prompts.py tests/engine/test_work_invariants.py",
    "engine/answers/calibration": "tests/stages/test_learning.py",
    "engine/answers/prompts": "tests/stages/test_species_seen.py tests/scenarios/test_once_seen.py",
    "engine/answers/year_book": "tests/scenarios/test_year_book.py tests/cli/test_year_book.py",
    "engine/feeding": "tests/scenarios/test_feeding_through_the_year.py tests/scenarios/test_products_and_budget.py"
    " tests/scenarios/test_solid_feed.py",
    "engine/feeding/solid_counts": "tests/dose/test_dose_release.py tests/scenarios/test_solid_feed.py"
    " tests/scenarios/test_nitrogen_against_the_usual.py",
    "engine/holds": "tests/scenarios/test_once_seen.py tests/scenarios/test_holds.py"
    " tests/schedules/test_standing_holds.py",
    "engine/outdoors": "tests/cli/test_weather_and_water.py tests/scenarios/test_weather.py"
    " tests/scenarios/test_rain.py tests/engine/test_climate.py",
    "engine/sink": "tests/dose/test_sink_phrasings.py tests/scenarios/test_at_the_sink.py tests/engine/test_shelf.py"
    " tests/scenarios/test_what_is_in_the_can.py",
    "engine/stages": "tests/stages/test_prediction.py tests/stages/test_growth_that_repeats.py",
    "engine/water": "tests/engine/test_check_rates.py tests/demo/test_one_rate.py",
    "engine/water/checks": "tests/engine/test_looks.py tests/demo/test_one_rate.py",
    "engine/water/waters": "tests/engine/test_waters_and_flushes.py",
}
WIDER = (
    "tests/dose tests/weather tests/schedules tests/engine tests/stages tests/scenarios tests/cli tests/demo"
)


@dataclass(frozen=True, slots=True)
class Mutant:
    """One constant, changed. path: from the root; old, new: as written; line, first, last: where it is [bytes]."""

    path: Path
    line: int
    first: int
    last: int
    old: str
    new: str

    def __str__(self) -> str:
        return f"{self.path}:{self.line}:{self.first + 1} {self.old} -> {self.new}"

    def written_into(self, source: bytes) -> bytes:
        """The file with the constant changed."""
        lines = source.split(b"\n")
        row = lines[self.line - 1]
        lines[self.line - 1] = row[: self.first] + self.new.encode() + row[self.last :]
        return b"\n".join(lines)

    @property
    def near(self) -> list[str]:
        """The tests that meet it first."""
        place = self.path.relative_to("feedplan").with_suffix("").as_posix()
        return NEAR[max((each for each in NEAR if place.startswith(each)), key=len)].split()


def mutants(path: Path) -> Iterator[Mutant]:
    """Every constant of a file that can be changed. path: from the root."""
    tree = ast.parse((ROOT / path).read_bytes())
    left_alone = set(_structure(tree))
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and node not in left_alone and node.lineno == node.end_lineno:
            new = _changed(node)
            if new is not None:
                source = ast.get_source_segment((ROOT / path).read_text(encoding="utf-8"), node)
                yield Mutant(path, node.lineno, node.col_offset, node.end_col_offset or 0, str(source), new)


def _structure(tree: ast.AST) -> Iterator[ast.AST]:
    """Constants that are no figures: indices, places to round to, and words that are not within Decimal("...")."""
    decimals: set[ast.AST] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Subscript):
            yield from ast.walk(node.slice)
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            if node.func.id == "Decimal":
                decimals.update(node.args)
            if node.func.id in ("round", "range", "lru_cache"):
                yield from node.args[1:] if node.func.id == "round" else ()
        if isinstance(node, ast.keyword) and node.arg == "maxsize":
            yield node.value
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and node not in decimals:
            yield node


def _changed(node: ast.Constant) -> str | None:
    """The constant as it is written when changed: small whole numbers by 1, others by a tenth; None for no figure."""
    value = node.value
    if isinstance(value, bool) or value in (0, 1):
        return None
    if isinstance(value, int):
        return str(value + 1 if abs(value) < 20 else round(value * 1.1))
    if isinstance(value, float):
        return repr(value * 1.1)
    if isinstance(value, str):
        try:
            number = Decimal(value)
        except ArithmeticError:
            return None
        return None if number in (0, 1) else f'"{number * Decimal("1.1")}"'
    return None


def is_green(tree: Path, tests: Sequence[str], seconds: int) -> bool:
    """Whether these tests pass in a tree; a run that takes longer than allowed does not."""
    options = ["-x", "-q", "-p", "no:randomly", "-p", "no:cacheprovider"]
    try:
        done = subprocess.run(
            [sys.executable, "-m", "pytest", *options, *tests],
            cwd=tree,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            timeout=seconds,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return False
    return done.returncode == 0


def _write(tree: Path, path: Path, source: bytes) -> None:
    # The compiled file is known by second and size, which a mutant may share with the one before it.
    Path(cache_from_source(str(tree / path))).unlink(missing_ok=True)
    (tree / path).write_bytes(source)


def lives(mutant: Mutant, tree: Path, seconds: int, wider: Sequence[str]) -> bool:
    """Whether no test notices a mutant, neither the near ones nor the wider ones."""
    source = (tree / mutant.path).read_bytes()
    _write(tree, mutant.path, mutant.written_into(source))
    try:
        return is_green(tree, mutant.near, seconds) and (not wider or is_green(tree, wider, 10 * seconds))
    finally:
        _write(tree, mutant.path, source)


def _copy(tree: Path) -> None:
    kept_out = shutil.ignore_patterns("__pycache__", "node_modules", ".hypothesis", ".venv")
    for name in COPIED:
        if (ROOT / name).is_dir():
            shutil.copytree(ROOT / name, tree / name, ignore=kept_out)
        else:
            shutil.copy(ROOT / name, tree / name)


def main() -> None:
    """Picks, tries and tells."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=int, default=90, help="for the near tests of one mutant")
    parser.add_argument("--near-only", action="store_true", help="do not try survivors on the wider tests")
    parser.add_argument("--only", default="", help="only those of them whose file:line:column begins so")
    given = parser.parse_args()
    files = [file.relative_to(ROOT) for place in PLACES for file in (ROOT / "feedplan" / place).rglob("*.py")]
    found = [mutant for file in sorted(files) for mutant in mutants(file)]
    picked = random.Random(given.seed).sample(found, min(given.count, len(found)))
    picked = [mutant for mutant in picked if str(mutant).startswith(given.only)]
    print(f"{len(found)} constants, {len(picked)} picked", flush=True)
    lived: list[Mutant] = []
    with tempfile.TemporaryDirectory() as folder:
        tree = Path(folder)
        _copy(tree)
        green: dict[tuple[str, ...], bool] = {}
        for mutant in picked:
            near = tuple(mutant.near)
            if near not in green:
                green[near] = is_green(tree, near, 10 * given.seconds)
            if not green[near]:
                print(f"not tried, its tests fail unchanged: {mutant}", flush=True)
                continue
            begun = time.monotonic()
            is_alive = lives(mutant, tree, given.seconds, () if given.near_only else WIDER.split())
            lived += [mutant] if is_alive else []
            told = "survived" if is_alive else "killed"
            print(f"{told} in {time.monotonic() - begun:.0f} s: {mutant}", flush=True)
    print(f"{len(lived)} survived", *lived, sep="\n")


if __name__ == "__main__":
    main()
