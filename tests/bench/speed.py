"""How fast feedplan is, as ratios within one run, so that a slow machine slows both sides alike.

python -m tests.bench.speed        prints these ratios, each a median over alternating runs:

calendar  `feedplan calendar` on the northern demo, first export, against a floor that imports the same libraries,
          parses the same YAML and serialises as many events (aim: at most 1.3); and again with nothing changed
dose      `feedplan dose` against `python -c "import click"` (aim: at most 1.3)
trees     the engine for 10,000 trees against 100 in the same groups with the same 50 journal entries (at most 2)
entry     planning the northern demo anew when one entry is new, after the plan before it against alone (at most 0.2)
history   planning the northern demo with ten years of history on hand against none and one year (at most 1.2)
"""

from __future__ import annotations

import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # imported where it is used, so that what is timed starts cold
    from feedplan.engine.season import Season

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "demo" / "northern"
TODAY = "2027-06-05"
RUNS = 7


def seconds(run: Callable[[], object]) -> float:
    """Wall-clock time of one call [s]."""
    begun = time.perf_counter()
    run()
    return time.perf_counter() - begun


def ratio(
    first: Callable[[], object], second: Callable[[], object], runs: int = RUNS
) -> tuple[float, float, float]:
    """Median times of both, run in turn after one warm-up [s], and the median of their ratios."""
    first(), second()
    pairs = [(seconds(first), seconds(second)) for _ in range(runs)]
    return (
        statistics.median(a for a, _ in pairs),
        statistics.median(b for _, b in pairs),
        statistics.median(a / b for a, b in pairs),
    )


def command(*words: str) -> Callable[[], object]:
    """A whole process of this Python, its output thrown away, its bytecode kept as an installed program's is."""
    env = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return lambda: subprocess.run(
        [sys.executable, *words], check=True, capture_output=True, cwd=ROOT, env=env
    )


def yaml_files() -> Sequence[Path]:
    """Every YAML file the demo's calendar reads."""
    from feedplan.load.collection import load_collection

    return [file for file in load_collection(DEMO).files if file.suffix == ".yaml" and file.is_file()]


def calendar_against_floor() -> list[str]:
    """The first export, and one with nothing changed."""
    with tempfile.TemporaryDirectory() as folder:
        output = Path(folder) / "trees.ics"
        export = command("-m", "feedplan", "calendar", "-c", str(DEMO), "-o", str(output), "--today", TODAY)
        export()
        events = output.read_bytes().count(b"BEGIN:VEVENT")
        floor_words = [str(events), str(Path(folder) / "floor.ics"), *map(str, yaml_files())]
        floor = command(str(ROOT / "tests" / "bench" / "floor.py"), *floor_words)

        def first_export() -> None:
            for file in Path(folder).iterdir():
                file.unlink()
            export()

        first = ratio(first_export, floor)
        first_export()
        again = ratio(export, floor)
    return [
        _row(f"calendar, {events} events, first", *first),
        _row(f"calendar, {events} events, unchanged", *again),
    ]


def dose_against_click() -> list[str]:
    """The command at the sink against importing its one library."""
    dose = command("-m", "feedplan", "dose", "20-20-20", "100ppm", "10L")
    return [_row("dose", *ratio(dose, command("-c", "import click"), runs=15))]


def many_trees_against_few() -> list[str]:
    """The engine alone: 10,000 trees and 100 trees, the same groups and journal."""
    from feedplan.engine.plan import plan_season
    from feedplan.load.collection import load_text

    def loaded(count: int) -> Callable[[], object]:
        species = ("larch", "hornbeam", "oak", "maple", "scots pine")
        groups = ("growing-on", "show", "pines")
        trees = "".join(
            f"  - {{name: T{n}, species: {species[n % 5]}, group: {groups[n % 3]}, pot: {1 + n % 9} L}}\n"
            for n in range(count)
        )
        journal = "".join(
            f"- {{date: 2027-{3 + n % 3:02}-{1 + n % 28:02}, tree: T{n}, work: repotted, roots: {10 + n} %}}\n"
            for n in range(50)
        )
        found = load_text(_COLLECTION + trees, journal)
        return lambda: plan_season(found.collection, found.journal, date.fromisoformat(TODAY))

    return [_row("engine, 10,000 trees / 100", *ratio(loaded(10_000), loaded(100)))]


def entry_against_whole_plan() -> list[str]:
    """What a server does after a tap, once the files are read, with the plan made before the tap and without it."""
    from feedplan.engine.plan import plan_season
    from feedplan.load.collection import load_collection
    from feedplan.model.journal import Entry, Journal, Seen, Subject

    found, today = load_collection(DEMO), date.fromisoformat(TODAY)
    before = plan_season(found.collection, found.journal, today, climate=found.climate)
    about = Subject(trees=(found.collection.trees[0].name,))
    journal = Journal((*found.journal.entries, Entry("new", today, today, about, Seen(("limp",)))))

    def planned(earlier: Season | None) -> Callable[[], object]:
        return lambda: plan_season(
            found.collection,
            journal,
            today,
            climate=found.climate,
            history=before.history,
            earlier=earlier,
        )

    return [_row("plan after an entry / a whole plan", *ratio(planned(before), planned(None)))]


def history_against_none() -> list[str]:
    """Reading and planning, with the files of ten years beside the collection, of this year alone, and without."""
    from feedplan import memory
    from feedplan.load.collection import load_collection

    today = date(2027, 11, 1)

    def planned(folder: Path) -> Callable[[], object]:
        file = folder / "collection.yaml"
        return lambda: memory.plan(load_collection(file), today, file=file)

    with tempfile.TemporaryDirectory() as parent:
        none, one, ten = (shutil.copytree(DEMO, Path(parent) / name) for name in ("none", "one", "ten"))
        for day in (today - timedelta(days=n) for n in range(240, -1, -10)):
            memory.plan(load_collection(one), day, file=one / "collection.yaml", keep=True)
        for name in ("history.csv", "told.json"):
            shutil.copy(one / name, ten / name)
        head, *lines = (one / "history.csv").read_text(encoding="utf-8").splitlines(keepends=True)
        before = [
            line.replace(f"{today.year}-", f"{year}-").replace(f",{today.year},", f",{year},")
            for year in range(today.year - 9, today.year)
            for line in lines
        ]
        (ten / "history.csv").write_text("".join([head, *before, *lines]), encoding="utf-8")
        return [
            _row(f"history, {10 * len(lines):,} lines / none", *ratio(planned(ten), planned(none))),
            _row(f"history, {10 * len(lines):,} lines / {len(lines):,}", *ratio(planned(ten), planned(one))),
        ]


_COLLECTION = """
place: {name: Bench, latitude: 53, time_zone: UTC}
feeds: {powder: {grade: 24-8-16, form: soluble}}
groups:
  growing-on: {schedule: vigorous, feed: powder}
  show: {schedule: refined, feed: powder}
  pines: {schedule: conifer, feed: powder}
trees:
"""


def _row(name: str, first: float, second: float, median_ratio: float) -> str:
    return f"{name:<40} {first * 1000:8.0f} ms {second * 1000:8.0f} ms   ratio {median_ratio:.2f}"


if __name__ == "__main__":
    for measure in (
        calendar_against_floor,
        dose_against_click,
        many_trees_against_few,
        entry_against_whole_plan,
        history_against_none,
    ):
        print("\n".join(measure()), flush=True)
