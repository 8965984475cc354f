"""How the engine writes days and shares in its reasons."""

from __future__ import annotations

from datetime import date
from decimal import Decimal


def day_month(day: date) -> str:
    """A day as "26 Apr"."""
    return f"{day.day} {day:%b}"


def percent(share: Decimal) -> str:
    """A share as "25 %"."""
    return f"{(share * 100).normalize():f} %"
