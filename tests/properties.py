"""How many examples a property, and how many rounds a loop, is tried on."""

from __future__ import annotations

import os

from hypothesis import settings


def examples(usual: int) -> settings:
    """So many examples, more or fewer as the profile of tests/conftest.py has more or fewer than hypothesis' 100."""
    return settings(max_examples=max(1, usual * settings().max_examples // 100))


def times(usual: int, nightly: int) -> int:
    """How often something dear is tried: in every run, and with FEEDPLAN_EXAMPLES=nightly."""
    return nightly if os.environ.get("FEEDPLAN_EXAMPLES") == "nightly" else usual
