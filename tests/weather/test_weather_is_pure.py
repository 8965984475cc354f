"""The physics imports nothing but the standard library, itself and the error classes: no numpy, no input or output."""

import ast
import sys
from pathlib import Path

import pytest

import feedplan.weather

MODULES = sorted(Path(feedplan.weather.__path__[0]).glob("*.py"))
OUTSIDE_WORLD = {"os", "io", "pathlib", "socket", "time", "subprocess", "urllib", "random"}


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.stem)
def test_module_reaches_for_nothing_outside(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    names = {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names}
    names |= {node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    for name in names:
        ours = name == "feedplan.errors" or name.startswith("feedplan.weather")
        assert ours or name.split(".")[0] in sys.stdlib_module_names - OUTSIDE_WORLD, name
    called = {
        node.func.id
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }
    assert not called & {"open", "print", "input"}
