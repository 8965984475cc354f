"""How the engine writes days, shares and lists in its reasons."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal


def day_month(day: date) -> str:
    """A day as "26 Apr"."""
    return f"{day.day} {day:%b}"


def percent(share: Decimal) -> str:
    """A share as "25 %"."""
    return f"{(share * 100).normalize():f} %"


def listed(words: Sequence[str], last: str = "and") -> str:
    """Words as a person lists them: "a", "a and b", "a, b and c"."""
    return f" {last} ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
