"""The tables of published values beside this file, as rows."""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path
from typing import Any

import yaml

HERE = Path(__file__).parent


@cache
def _tables(name: str) -> Any:
    return yaml.safe_load((HERE / name).read_text(encoding="utf-8"))


def rows(table: str, name: str = "published.yaml") -> list[dict[str, Any]]:
    """The rows of a table, each with its source, class and tolerance."""
    found = _tables(name)[table]
    return [found] if isinstance(found, dict) else list(found)


def agrees(ours: float, published: float, tolerance: float, miss: float | None = None) -> bool:
    """Whether a value is as published, within what the source prints; or misses it by just as much as is listed.

    tolerance, miss: relative. A listed miss that is no longer missed, or is missed by more, does not agree.
    """
    off = ours / published - 1
    return abs(off) <= tolerance if miss is None else abs(off) > tolerance and abs(off - miss) <= 0.0005


def grid() -> list[dict[str, str]]:
    """The cells of the injector grid."""
    lines = (HERE / "injector_grid.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))
