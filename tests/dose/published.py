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


def grid() -> list[dict[str, str]]:
    """The cells of the injector grid."""
    lines = (HERE / "injector_grid.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))
