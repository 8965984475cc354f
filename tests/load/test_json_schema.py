"""The JSON Schema of the files: fresh, and true of every shipped file and of the demo."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from jsonschema import Draft202012Validator

from feedplan.cli.main import feedplan
from feedplan.cli.schema import KINDS as OFFERED
from feedplan.load.folder import shipped_folder
from feedplan.load.json_schema import KINDS, file_schema
from feedplan.load.yaml_tree import read_yaml
from feedplan.words.language import speaking
from tests.load.helpers import HERE, PLACE, small
from tests.words.pseudo import PSEUDO

ROOT = HERE.parent.parent
SCHEMAS = shipped_folder() / "schemas"


def plain(value: object) -> object:
    """A value as JSON has it: days as text, decimals as numbers."""
    if isinstance(value, dict):
        return {key: plain(part) for key, part in value.items()}
    if isinstance(value, list):
        return [plain(part) for part in value]
    if isinstance(value, date):
        return value.isoformat()
    return float(value) if isinstance(value, Decimal) else value


def errors(kind: str, text: str) -> list[str]:
    """What a validator of another make finds wrong with a text."""
    value, _, problems = read_yaml(text, "x.yaml")
    assert problems == []
    return [error.json_path for error in Draft202012Validator(file_schema(kind)).iter_errors(plain(value))]


def kind_of(path: Path) -> str:
    if path.stem in ("holds", "stages", "genera", "collection", "journal"):
        return path.stem
    return "schedule"


SHIPPED = sorted(shipped_folder().glob("*.yaml"))
DEMO = sorted([*(ROOT / "demo").glob("**/collection.yaml"), *(ROOT / "demo").glob("**/journal.yaml")])


@pytest.mark.parametrize("kind", KINDS)
def test_the_shipped_schema_is_fresh(kind: str) -> None:
    written = (SCHEMAS / f"{kind}.json").read_text(encoding="utf-8")
    assert json.loads(written) == file_schema(kind), f"feedplan schema {kind} > schedules/schemas/{kind}.json"


@pytest.mark.parametrize("kind", KINDS)
def test_the_command_prints_the_schema(kind: str) -> None:
    assert json.loads(CliRunner().invoke(feedplan, ["schema", kind]).output) == file_schema(kind)


def test_the_command_offers_every_kind_and_a_collection_by_default() -> None:
    assert set(OFFERED) == set(KINDS)
    assert json.loads(CliRunner().invoke(feedplan, ["schema"]).output) == file_schema("collection")


@pytest.mark.parametrize("kind", KINDS)
def test_every_schema_is_sound_and_describes_every_key(kind: str) -> None:
    found = file_schema(kind)
    Draft202012Validator.check_schema(found)
    for name, part in found["$defs"].items():
        for key, field in part.get("properties", {}).items():
            assert field.get("description") or "anyOf" in field or "$ref" in field, f"{name}.{key}"


@pytest.mark.parametrize("path", [*SHIPPED, *DEMO], ids=lambda path: f"{path.parent.name}/{path.name}")
def test_shipped_files_and_the_demo_follow_their_schema(path: Path) -> None:
    assert errors(kind_of(path), path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("path", [*SHIPPED, *DEMO], ids=lambda path: f"{path.parent.name}/{path.name}")
def test_shipped_files_and_the_demo_name_their_schema_for_editors(path: Path) -> None:
    first = path.read_text(encoding="utf-8").splitlines()[0]
    named = re.fullmatch(r"# yaml-language-server: \$schema=(\S+)", first)
    assert named is not None, "the first line names the schema"
    written = json.loads((path.parent / named[1]).read_text(encoding="utf-8"))
    assert written["title"] == file_schema(kind_of(path))["title"]


SOUND = [
    small(),
    small(
        "{g: {schedule: vigorous, changes: {feeding: {autumn: none, spring and summer: {every: 14 days}}}}}"
    ),
    small("{g: {schedule: vigorous, changes: {feeding: {autumn: {root_zone_above: none}}}}}"),
    small(
        "{g: {schedule: mine, changes: {holds: {frost: {at_least: 20 days}}}}}",
        ", changes: {budget: 90 mg N per L}",
    ),
]
UNSOUND = [
    (PLACE, "$"),
    (small("{g: {schedule: mine, changes: {feding: none}}}"), "$.groups.g.changes"),
    (small("{g: {schedule: mine, changes: {feeding: {summer: {every: often}}}}}"), "$.groups.g.changes"),
    (small("{g: {schedule: mine, changes: {schedule: other}}}"), "$.groups.g.changes"),
    (small(tree=", count: 0"), "$.trees[0].count"),
    (small(tree=", weak: 1"), "$.trees[0].weak"),
    (small(place="since: soon\n" + PLACE), "$.since"),
]


@pytest.mark.parametrize("text", SOUND)
def test_what_the_loader_takes_the_schema_takes(text: str) -> None:
    assert errors("collection", text) == []


@pytest.mark.parametrize(("text", "path"), UNSOUND)
def test_what_the_loader_refuses_by_its_shape_the_schema_refuses_at_the_same_place(
    text: str, path: str
) -> None:
    assert set(errors("collection", text)) == {path}


def test_a_journal_entry_tells_exactly_one_day() -> None:
    assert errors("journal", "- {date: 2027-04-26, tree: Brindle, seen: leaves open}") == []
    assert errors("journal", "- {tree: Brindle, seen: leaves open}") == ["$[0]"]


def told_in(node: Any) -> Iterator[tuple[str, str]]:
    """All that a schema tells a person, with the values it names."""
    if isinstance(node, list):
        for item in node:
            yield from told_in(item)
    if isinstance(node, dict):
        values = " ".join(map(str, (*node.get("examples", ()), *node.get("enum", ()), node.get("const", ""))))
        for key in ("description", "errorMessage", "patternErrorMessage"):
            if isinstance(node.get(key), str):
                yield node[key], values
        for part in node.values():
            yield from told_in(part)


@pytest.mark.parametrize("kind", KINDS)
def test_what_an_editor_tells_is_said_in_the_language_spoken(kind: str) -> None:
    with speaking(PSEUDO):
        sentences = list(told_in(file_schema(kind)))
    assert len(sentences) > 5
    left = {text for text, values in sentences if latin(text) - latin(values)}
    assert left == set()


def latin(text: str) -> set[str]:
    """The words in plain letters, which no catalogue gave."""
    return set(re.findall("[A-Za-z]+", text))
