"""Tests run in a child of this process, and which of them run which function.

A child is a fork: what was imported before it need not be imported for every mutant. Each file of tests is noted in a
child of its own, so that nothing a file before it has left in a cache hides a call. What a test starts in another
process is not seen, and sees no mutant.
"""

from __future__ import annotations

import hashlib
import json
import os
import resource
import signal
import sys
import threading
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from types import CodeType, FrameType
from typing import NamedTuple

import pytest

ROOT = Path(__file__).parents[2]
# Folders of tests that take too long, or know the program from outside alone.
LEFT_OUT = {"browser", "docs", "editor", "fuzz", "lived", "load", "server"}
LONGEST_S = 120
"""A file of tests that takes longer is left out."""
OPTIONS = ("-x", "-p", "no:randomly", "-p", "no:cacheprovider", "-p", "no:xdist", "--assert=plain")


class Reach(NamedTuple):
    """What one file of tests runs: for how long [s], whether it passes, and which functions as "path:name"."""

    seconds: float
    is_green: bool
    functions: list[str]


def first_failing(
    tests: Sequence[str], seconds: float, within: Callable[[Callable[[], int]], int] = lambda run: run()
) -> str | None:
    """Runs tests in a child, within something: None when all pass, else the first that fails, or that it took too long.

    seconds: what is allowed [s].
    """
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.setsid()
        os.dup2(os.open(os.devnull, os.O_RDWR), 1)
        os.dup2(1, 2)
        code = 1
        try:
            code = within(lambda: pytest.main([*OPTIONS, *tests], plugins=[_Telling(writing)]))
        finally:
            os._exit(code)
    os.close(writing)
    status, until = None, time.monotonic() + seconds
    while status is None:
        done, ended = os.waitpid(child, os.WNOHANG)
        if done:
            status = ended
        elif time.monotonic() > until:
            os.killpg(child, signal.SIGKILL)
            status = os.waitpid(child, 0)[1]
        else:
            time.sleep(0.02)
    with os.fdopen(reading, encoding="utf-8") as told:
        return told.readline().strip() or ("no test in time" if status else None)


class _Telling:
    def __init__(self, writing: int) -> None:
        self.writing = writing

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            os.write(self.writing, f"{report.nodeid}\n".encode())

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        if report.failed:
            os.write(self.writing, f"{report.nodeid}\n".encode())


def reached(kept: Path) -> dict[str, Reach]:
    """What each file of tests reaches that passes; only files that changed since it was kept run again."""
    known = json.loads(kept.read_text(encoding="utf-8")) if kept.exists() else {}
    found: dict[str, Reach] = {}
    for file in sorted((ROOT / "tests").glob("*/test_*.py")):
        if file.parent.name in LEFT_OUT:
            continue
        test, digest = file.relative_to(ROOT).as_posix(), hashlib.sha256(file.read_bytes()).hexdigest()
        if test not in known or known[test][0] != digest:
            known[test] = [digest, *_reach_of(test, kept.with_suffix(".noted"))]
            kept.write_text(json.dumps(known), encoding="utf-8")
        reach = Reach(*known[test][1:])
        if reach.is_green:
            found[test] = reach
        else:
            print(f"left out, fails or takes over {LONGEST_S} s: {test}", flush=True)
    return found


def _reach_of(test: str, noted: Path) -> Reach:
    begun = _seconds_of_children()
    passes = not first_failing([test], LONGEST_S, lambda run: _noting_calls(run, noted))
    functions = json.loads(noted.read_text(encoding="utf-8")) if passes else []
    return Reach(_seconds_of_children() - begun, passes, functions)


def _seconds_of_children() -> float:
    """The time that the processor, however busy, has spent on them."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _noting_calls(run: Callable[[], int], noted: Path) -> int:
    program = str(ROOT / "feedplan")
    met: dict[int, CodeType] = {}  # kept, so that none after it gets its number
    functions: set[str] = set()

    def on_call(frame: FrameType, _event: str, _argument: object) -> None:
        code = frame.f_code
        if id(code) not in met:
            met[id(code)] = code
            if code.co_filename.startswith(program):
                functions.add(f"{Path(code.co_filename).relative_to(ROOT).as_posix()}:{code.co_qualname}")

    sys.settrace(on_call)
    threading.settrace(on_call)
    exit_code = run()
    sys.settrace(None)
    noted.write_text(json.dumps(sorted(functions)), encoding="utf-8")
    return exit_code
