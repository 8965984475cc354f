"""What holds for every test: random order that can be repeated, and properties that are checked without a stopwatch."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, settings

# A busy machine is no counterexample. What fails is printed as something to paste: @reproduce_failure(...).
# On top of hypothesis' own profile, which draws the same examples in every run of CI.
settings.register_profile(
    "unhurried",
    parent=settings(),
    deadline=None,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("unhurried")


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """Says in which order tests ran when one failed; pytest's own header is left out by -q."""
    seed = config.getoption("randomly_seed", None)
    if seed is not None and terminalreporter.stats.keys() & {"failed", "error"}:
        terminalreporter.write_line(f"The same order again: --randomly-seed={seed}")
