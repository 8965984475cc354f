"""What holds for every test: random order that can be repeated, and properties that are checked without a stopwatch.

Properties draw the same examples in every run, so that a change alone turns a run red, and half as many as they name.
FEEDPLAN_EXAMPLES=nightly: they are tried on ten times as many as they name, other ones each time.
FEEDPLAN_EXAMPLES=few: on a tenth, and what fails is not made simpler.
"""

from __future__ import annotations

import gc
import os
import sys

import pytest
from hypothesis import HealthCheck, Phase, settings

# Dozens of tests start feedplan, or another program, in a process of its own; each would compile all it imports anew.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False

# As the program itself does: looking for garbage among all that tests keep took an eighth of their time.
gc.set_threshold(100_000)

# A busy machine is no counterexample. What fails is printed as something to paste: @reproduce_failure(...).
settings.register_profile(
    "unhurried",
    parent=settings(),
    deadline=None,
    max_examples=50,
    derandomize=True,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile(
    "nightly", parent=settings.get_profile("unhurried"), max_examples=1000, derandomize=False
)
settings.register_profile(
    "few",
    parent=settings.get_profile("unhurried"),
    max_examples=10,
    phases=(Phase.explicit, Phase.generate),
)
settings.load_profile(os.environ.get("FEEDPLAN_EXAMPLES", "unhurried"))


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """Says in which order tests ran when one failed; pytest's own header is left out by -q."""
    seed = config.getoption("randomly_seed", None)
    if seed is not None and terminalreporter.stats.keys() & {"failed", "error"}:
        terminalreporter.write_line(f"The same order again: --randomly-seed={seed}")
