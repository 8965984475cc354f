"""Shipped code is checked code: nothing public in dose/ and weather/ is there for tests alone.

Published checks are worth something only where they run through the functions that plans run, so every public function,
constant, class and method of these two rooms must be reached from the rest of the package.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "feedplan"
ROOMS = ("feedplan.dose", "feedplan.weather")

Name = tuple[str, str]
"""A module and a name in it; for members of a class "Class.member"."""


@dataclass
class Definition:
    """What one definition refers to: names it could mean, and attributes it reads of anything."""

    names: set[Name] = field(default_factory=set)
    attributes: set[str] = field(default_factory=set)


def in_room(module: str) -> bool:
    return module.startswith(ROOMS)


def imported(tree: ast.Module) -> dict[str, Name]:
    """The names a module has from others, by what it calls them, imports inside functions among them."""
    return {
        alias.asname or alias.name: (node.module, alias.name)
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and node.module
        for alias in node.names
    }


def referred(node: ast.AST, module: str, known: Mapping[str, Name]) -> Definition:
    found = Definition()
    for part in ast.walk(node):
        if isinstance(part, ast.Name):
            found.names.add(known.get(part.id, (module, part.id)))
        elif isinstance(part, ast.Attribute):
            found.attributes.add(part.attr)
    return found


def definitions(tree: ast.Module, module: str) -> Iterator[tuple[Name, Definition]]:
    """Every definition at the top of a module, and every method; a class refers to what its body does beside those."""
    known = imported(tree)
    for node in tree.body:
        if isinstance(node, ast.FunctionDef):
            yield (module, node.name), referred(node, module, known)
        elif isinstance(node, ast.ClassDef):
            methods = [part for part in node.body if isinstance(part, ast.FunctionDef)]
            rest = ast.Module(
                [part for part in node.body if part not in methods or is_magic(part)]
                + [ast.Expr(base) for base in node.bases],
                [],
            )
            yield (module, node.name), referred(rest, module, known)
            for method in methods:
                if not is_magic(method):
                    yield (module, f"{node.name}.{method.name}"), referred(method, module, known)
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            for target in targets:
                for part in ast.walk(target):
                    if isinstance(part, ast.Name):
                        yield (module, part.id), referred(node, module, known)


def is_magic(node: ast.AST) -> bool:
    return isinstance(node, ast.FunctionDef) and node.name.startswith("__")


def unused(sources: Mapping[str, str], templates: str = "") -> list[str]:
    """Public names of the rooms that nothing outside reaches. sources: of every module of the package, by its name."""
    trees = {module: ast.parse(source) for module, source in sources.items()}
    reached: set[Name] = set()
    attributes = {
        word for word in templates.replace(".", " ").replace("(", " ").split() if word.isidentifier()
    }
    waiting: dict[Name, Definition] = {}
    for module, tree in trees.items():
        if in_room(module):
            waiting.update(definitions(tree, module))
        else:
            everything = referred(tree, module, imported(tree))
            reached |= everything.names | set(imported(tree).values())
            attributes |= everything.attributes
    open_names = True
    while open_names:
        live = [
            name
            for name in waiting
            if name in reached or ("." in name[1] and name[1].split(".")[1] in attributes)
        ]
        for name in live:
            definition = waiting.pop(name)
            reached |= definition.names
            attributes |= definition.attributes
        open_names = bool(live)
    return sorted(f"{module}.{name}" for module, name in waiting if not name.split(".")[-1].startswith("_"))


def test_every_public_name_of_dose_and_weather_is_reached_by_the_product() -> None:
    sources = {
        ".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts): path.read_text(encoding="utf-8")
        for path in PACKAGE.rglob("*.py")
    }
    templates = "\n".join(path.read_text(encoding="utf-8") for path in PACKAGE.rglob("*.html"))
    assert unused(sources, templates) == []


ROOM = """
LIMIT = 3
def used(): return _helper()
def _helper(): return LIMIT
def for_tests_alone(): return only_through_it()
def only_through_it(): return 1
class Thing:
    def asked(self): return self.inner()
    def inner(self): return 1
    def never_asked(self): return 2
"""


@pytest.mark.parametrize(
    ("outside", "left"),
    [
        (
            "from feedplan.dose.a import used, Thing\nThing().asked()",
            ["Thing.never_asked", "for_tests_alone", "only_through_it"],
        ),
        (
            "def later():\n    from feedplan.dose.a import for_tests_alone",
            ["LIMIT", "Thing", "Thing.asked", "Thing.inner", "Thing.never_asked", "used"],
        ),
    ],
)
def test_what_only_a_test_would_call_is_found(outside: str, left: list[str]) -> None:
    found = unused({"feedplan.dose.a": ROOM, "feedplan.cli.b": outside})
    assert found == [f"feedplan.dose.a.{name}" for name in left]
