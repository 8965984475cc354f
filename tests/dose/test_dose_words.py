"""The words of doses: all of them in one place, where another language can take their place."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from gettext import NullTranslations
from pathlib import Path

import pytest
from click.testing import CliRunner

from feedplan.cli.dose import dose
from feedplan.words.language import speaking

ROOT = Path(__file__).parents[2]


class Marked(NullTranslations):
    """A language that is English between marks."""

    def gettext(self, message: str) -> str:
        return f"«{message}»"


def spoken(*words: str) -> list[str]:
    with speaking(Marked()):
        result = CliRunner().invoke(dose, words)
    assert result.exit_code == 0, result.stderr
    return [line for line in result.stdout.splitlines() if line]


LABEL = ("--grade", "20-10-20", "--litres", "10", "--ppm")
STOCK = ("--dilution", "1:100", "--bottle", "2")
MIX = ("--mix", "--ratio", "3-1-2 oxide", "--ppm", "100", "--litres", "10")


@pytest.mark.parametrize(
    "words",
    [
        (*LABEL, "100", "--spoon", "5"),
        (*LABEL, "5"),
        (*LABEL, "400", "--label-maximum", "1 g/L", "--cap"),
        (*LABEL, "100", "--dilution", "1:500"),
        (*LABEL, "300", *STOCK),
        ("--grade", "7-3-6", "--by-volume", "--ppm", "1", "--litres", "1"),
        ("--salt", "potassium nitrate", "--ppm", "60", "--litres", "10", *STOCK),
        (*MIX, "--of", "20-10-20", "--of", "calcium nitrate tetrahydrate", "--at", "10"),
        ("20-20-20", "1", "tsp", "1", "gal"),
        ("20-20-20", "5", "g", "10", "L"),
        ("potash", "100", "ppm", "K", "10", "L"),
        ("20-20-20", "EC", "1.2", "10", "L"),
        ("20-20-20", "120", "ppm", "P", "2", "gal"),
        ("fish emulsion 5-1-1", "50", "ppm", "10", "L"),
        (*MIX, "--of", "20-20-20"),
        (*MIX, "--of", "urea", "--of", "0-52-34"),
    ],
    ids=" ".join,
)
def test_nothing_is_said_outside_the_language_spoken(words: tuple[str, ...]) -> None:
    for line in spoken(*words):
        told = line.removeprefix("calcium nitrate tetrahydrate: ").strip()
        assert told.startswith("«"), line
        assert told.endswith("»"), line


def sentences(path: Path) -> Iterator[str]:
    """Texts in a module that read as sentences, docstrings and error messages left out."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    left_out: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Raise) or (
            isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
        ):
            left_out |= {id(part) for part in ast.walk(node)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in left_out:
            text = node.value.strip()
            if text.endswith((".", "!")) and " " in text:
                yield f"{path.name}:{node.lineno}: {text}"


def test_the_arithmetic_holds_no_sentence_but_refusals() -> None:
    modules = sorted((ROOT / "feedplan" / "dose").glob("*.py"))
    assert [found for path in modules for found in sentences(path)] == []


def test_a_sentence_would_be_found() -> None:
    found = list(sentences(ROOT / "feedplan" / "words" / "dose.py"))
    assert any("Weigh {amount} into {volume}." in text for text in found)
