"""The engine and the model give facts; what a person reads is written in feedplan.words alone."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import feedplan
from feedplan.engine.water.thirst import LADDER
from feedplan.load.collection import load_text
from feedplan.load.read_words import parse_check_rate
from tests.scenarios.planning import GROUPS, SCHEDULES, WRENMOOR

PACKAGE = Path(feedplan.__path__[0])
MODULES = sorted(path for layer in ("engine", "model") for path in (PACKAGE / layer).rglob("*.py"))

STAGES = {"leaves open", "first flush hardened", "hardening off", "autumn build-up", "growth stopped"}
STAGES |= {"leaves colouring", "leaves fallen"}
"""Stages by name, as schedules/stages.yaml has them."""
RATES = {rate.name for rate in LADDER}
"""Check rates as a grower writes them in a schedule; the identity of a stretch of checks is made from them."""
ONE_TREE = "trees: [{name: Moth, species: elm, group: V, pot: 2 L}]\n"
KEYS = {
    "solid feed": "what a difference is about, a key of `compare --json`",
    "no lime": "a mark of a tree's kind in species.csv",
    "not yet": "the answer to a question, as a grower writes it; a word of schedules/stages.yaml",
    "chill days": "how winter cold is counted, compared and never shown",
    "chill hours": "likewise",
    "coated feed it came with": "the product of a new tree's own feed, told by its absence and never by this name",
}
ALLOWED = STAGES | RATES | KEYS.keys()


def prose_in(source: str) -> list[str]:
    """Every text in a module's code that has a letter and a space: no docstrings, and no values of a StrEnum.

    Those are keys of the files and of `--json`.
    """
    tree = ast.parse(source)
    passed_over = set(_docstrings(tree)) | set(_enum_values(tree)) | set(_parts_of_f_strings(tree))
    texts = (_text(node) for node in ast.walk(tree) if id(node) not in passed_over)
    return [text for text in texts if " " in text.strip() and any(sign.isalpha() for sign in text)]


def _text(node: ast.AST) -> str:
    if isinstance(node, ast.JoinedStr):
        return "".join(str(part.value) for part in node.values if isinstance(part, ast.Constant))
    return node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else ""


def _docstrings(tree: ast.AST) -> Iterator[int]:
    return (id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr))


def _enum_values(tree: ast.AST) -> Iterator[int]:
    for node in ast.walk(tree):
        if isinstance(node, ast.ClassDef) and any(ast.unparse(base) == "StrEnum" for base in node.bases):
            yield from (id(line.value) for line in node.body if isinstance(line, ast.Assign))


def _parts_of_f_strings(tree: ast.AST) -> Iterator[int]:
    return (id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in node.values)


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_a_module_of_engine_or_model_holds_no_sentence(path: Path) -> None:
    assert [text for text in prose_in(path.read_text(encoding="utf-8")) if text not in ALLOWED] == []


def test_what_is_allowed_is_still_there() -> None:
    found = {text for path in MODULES for text in prose_in(path.read_text(encoding="utf-8"))}
    assert ALLOWED - found == set()


def test_what_is_allowed_is_what_it_is_said_to_be() -> None:
    words = load_text(WRENMOOR + GROUPS + ONE_TREE, "", SCHEDULES).collection.vocabulary.words
    assert {stage for stage in STAGES if not words[stage].is_stage} == set()
    assert all(parse_check_rate(rate) in LADDER for rate in RATES)


@pytest.mark.parametrize(
    ("code", "found"),
    [
        ('def f():\n    """A docstring is no sentence of ours."""\n', []),
        ("class Kind(StrEnum):\n    A = 'a key'\n", []),
        ("x = f'{a}/{b} '\n", []),
        ("x = f' {word} '\n", []),
        ("x = 'no feed'\n", ["no feed"]),
        ("x = f'no feed before {day}'\n", ["no feed before "]),
        ("def f():\n    raise ValueError('no such day')\n", ["no such day"]),
        ("class Kind(Enum):\n    A = 'no feed'\n", ["no feed"]),
    ],
)
def test_sentences_are_found_where_they_stand(code: str, found: list[str]) -> None:
    assert prose_in(code) == found
