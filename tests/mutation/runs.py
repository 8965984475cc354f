"""Files of tests run in a child of this process, with the program changed as it is imported.

A child is a fork: what others wrote is imported once, and the program anew for each. What a test starts in another
process is not seen, and sees no mutant.
"""

from __future__ import annotations

import ast
import builtins
import hashlib
import json
import multiprocessing
import os
import resource
import signal
import sys
from collections.abc import Callable, Sequence
from importlib.machinery import SourceFileLoader
from multiprocessing.connection import Connection
from pathlib import Path
from types import CodeType
from typing import NamedTuple
from unittest.mock import patch

import pytest

ROOT = Path(__file__).parents[2]
# Folders of tests that take too long, or know the program from outside alone.
LEFT_OUT = {"browser", "docs", "editor", "fuzz", "lived", "load", "server"}
LONGEST_S = 120
"""A file of tests that takes longer is left out."""
OPTIONS = ("-x", "-p", "no:randomly", "-p", "no:cacheprovider", "-p", "no:xdist", "--assert=plain")
FORK = multiprocessing.get_context("fork")
Change = Callable[[Path, bytes], bytes | ast.Module]
"""What stands for a file of the program, by its path from the root and what it holds."""


class Reach(NamedTuple):
    """What one file of tests runs: for how long [s], whether it passes, and which functions as "path:name"."""

    seconds: float
    is_green: bool
    functions: list[str]


class Outcome(NamedTuple):
    """The first test that failed, if any, or that none did in time; and which functions told that they ran."""

    failing: str | None
    functions: list[str]


def run(tests: Sequence[str], seconds: float, change: Change = lambda _path, source: source) -> Outcome:
    """Runs tests on the program changed so. seconds: what is allowed [s]."""
    receiving, sending = FORK.Pipe(duplex=False)
    child = FORK.Process(target=_run_here, args=(sending, tests, change))
    child.start()
    sending.close()
    try:
        outcome = Outcome("no test in time", [])
        if receiving.poll(seconds):
            outcome = receiving.recv()
    except EOFError:
        outcome = Outcome("no test, it broke down", [])
    assert child.pid is not None
    os.killpg(child.pid, signal.SIGKILL)  # and what its tests have left running
    child.join()
    return outcome


def _run_here(sending: Connection, tests: Sequence[str], change: Change) -> None:
    os.setsid()
    os.dup2(os.open(os.devnull, os.O_RDWR), 1)
    os.dup2(1, 2)
    ran: dict[int, CodeType] = {}  # kept, so that none after it gets its number

    def note() -> None:
        code = sys._getframe(1).f_code
        ran[id(code)] = code

    def code_of(loader: SourceFileLoader, name: str) -> CodeType | None:
        if name.partition(".")[0] != "feedplan":
            return unchanged(loader, name)
        path = Path(loader.path)
        return compile(change(path.relative_to(ROOT), path.read_bytes()), path, "exec", dont_inherit=True)

    unchanged, failed = SourceFileLoader.get_code, _FirstFailed()
    with (
        patch.object(SourceFileLoader, "get_code", code_of),
        patch.object(builtins, "__ran__", note, create=True),
    ):
        code = pytest.main([*OPTIONS, *tests], plugins=[failed])
    names = {f"{Path(each.co_filename).relative_to(ROOT)}:{each.co_qualname}" for each in ran.values()}
    sending.send(
        Outcome(failed.name or (f"no test, pytest ended in {code}" if code else None), sorted(names))
    )


class _FirstFailed:
    name: str | None = None

    def pytest_runtest_logreport(self, report: pytest.TestReport | pytest.CollectReport) -> None:
        if report.failed:
            self.name = self.name or report.nodeid

    pytest_collectreport = pytest_runtest_logreport


def noting(path: Path, source: bytes) -> ast.Module:
    """A file in which each function first tells that it runs."""
    tree = ast.parse(source, path)
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef):
            has_doc = ast.get_docstring(node, clean=False) is not None
            node.body[has_doc:has_doc] = ast.parse("__ran__()").body
    return ast.fix_missing_locations(tree)


def reached(kept: Path) -> dict[str, Reach]:
    """What each file of tests reaches that passes; only files that changed since it was kept run again."""
    known = json.loads(kept.read_text(encoding="utf-8")) if kept.exists() else {}
    found: dict[str, Reach] = {}
    for file in sorted((ROOT / "tests").glob("*/test_*.py")):
        if file.parent.name in LEFT_OUT:
            continue
        test, digest = file.relative_to(ROOT).as_posix(), hashlib.sha256(file.read_bytes()).hexdigest()
        if test not in known or known[test][0] != digest:
            begun = _seconds_of_children()
            failing, functions = run([test], LONGEST_S, noting)
            known[test] = [digest, _seconds_of_children() - begun, not failing, functions]
            kept.write_text(json.dumps(known), encoding="utf-8")
        reach = Reach(*known[test][1:])
        if reach.is_green:
            found[test] = reach
        else:
            print(f"left out, fails or takes over {LONGEST_S} s: {test}", flush=True)
    return found


def _seconds_of_children() -> float:
    """The time that the processor, however busy, has spent on them."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime
