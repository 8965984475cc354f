"""How many examples a property is tried on."""

from __future__ import annotations

from hypothesis import settings


def examples(usual: int) -> settings:
    """So many examples, more or fewer as the profile of tests/conftest.py has more or fewer than hypothesis' 100."""
    return settings(max_examples=max(1, usual * settings().max_examples // 100))
