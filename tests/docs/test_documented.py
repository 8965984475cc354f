"""README, DEVELOPERS and CHANGELOG against the program: nothing left out, nothing that is no longer so."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click
import pytest

from feedplan import errors
from feedplan.cli.main import COMMANDS
from feedplan.load.models import collection_models, journal_models, schedule_models
from feedplan.load.models.fields import FileModel
from tests.docs.pages import PAGES, README, ROOT, SCHEMAS, every_command, render, schema_text, with_ids_of

PROJECT: dict[str, Any] = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


@pytest.fixture(scope="module")
def readme() -> str:
    return README.read_text(encoding="utf-8")


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_outputs_help_and_tables_are_as_feedplan_gives_them_now(page: Path) -> None:
    """Regression values. When a change is meant: python -m tests.docs.refresh, then read the difference."""
    text = page.read_text(encoding="utf-8")
    assert render(text) == text


@pytest.mark.parametrize("path", SCHEMAS, ids=lambda path: path.name)
def test_the_shipped_schemas_are_as_feedplan_gives_them_now(path: Path) -> None:
    """Regression values, written by python -m tests.docs.refresh."""
    assert path.read_text(encoding="utf-8") == schema_text(SCHEMAS[path])


def test_an_output_that_is_no_longer_so_is_replaced() -> None:
    assert with_ids_of("6.2 g in 10 L\n", "6.3 g in 10 L\n") == "6.3 g in 10 L\n"


def test_an_id_drawn_by_lot_stays_as_shown_while_the_rest_is_the_same() -> None:
    shown = "Recorded. Undo: feedplan record --undo k7f3q\n"
    assert with_ids_of(shown, "Recorded. Undo: feedplan record --undo w4m7t\n") == shown


def _models() -> Iterator[type[FileModel]]:
    for module in (collection_models, journal_models, schedule_models):
        for value in vars(module).values():
            if isinstance(value, type) and issubclass(value, FileModel) and value is not FileModel:
                yield value


def test_every_key_of_every_file_is_in_the_readme(readme: str) -> None:
    keys = {field.alias or name for model in _models() for name, field in model.model_fields.items()}
    assert len(keys) > 80
    assert sorted(key for key in keys if f"`{key}`" not in readme) == []


def test_every_command_has_a_section_in_the_readme(readme: str) -> None:
    assert [name for name in COMMANDS if f"\n### feedplan {name}\n" not in readme] == []


def test_every_option_of_every_command_is_in_the_readme(readme: str) -> None:
    missing = [
        (words, option)
        for words, command in every_command()
        for param in command.params
        if isinstance(param, click.Option)
        for option in param.opts
        if not re.search(rf"(?<![\w-]){re.escape(option)}(?![\w-])", readme)
    ]
    assert missing == []


def test_every_exit_code_is_in_the_readme(readme: str) -> None:
    codes = {value for name, value in vars(errors).items() if name.startswith("EXIT_")}
    assert codes == {0, 1, 2, 3}
    assert [code for code in codes if f"| {code} | " not in readme] == []


@pytest.mark.parametrize("page", [*PAGES, ROOT / "CHANGELOG.md"], ids=lambda page: page.name)
def test_every_link_leads_somewhere(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    anchors = {
        re.sub(r"[^\w -]", "", head.lower()).replace(" ", "-")
        for head in re.findall(r"^#+ (.+)$", text, re.M)
    }
    for target in re.findall(r"\]\(([^)]+)\)", text):
        assert target[1:] in anchors if target.startswith("#") else (ROOT / target).exists(), target


def test_every_dependency_says_why_it_is_there() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    wanted = [*PROJECT["dependencies"], *PROJECT["optional-dependencies"]["test"]]
    names = {re.split(r"[<>=]", wish)[0] for wish in wanted}
    plain = {name for name in names if not name.startswith(("pytest", "types-"))}
    assert sorted(name for name in plain if not re.search(rf"\b{name}\b", text, re.IGNORECASE)) == []


def test_the_changelog_names_the_version() -> None:
    assert f"\n## {PROJECT['version']} " in (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")


BELOW = {
    "weather": {"weather"},
    "dose": {"dose"},
    "model": {"model", "dose", "weather"},
    "engine": {"engine", "model", "dose", "weather"},
    "words": {"words", "engine", "model", "dose", "weather"},
    "export": {"export", "words", "engine", "model", "dose", "weather"},
    "load": {"load", "engine", "model", "dose", "weather"},
}
"""The layers of DEVELOPERS.md: what each part of the package may import."""


@pytest.mark.parametrize("layer", BELOW)
def test_imports_go_one_way(layer: str) -> None:
    wrong = [
        f"{path.relative_to(ROOT)}: {named}"
        for path in sorted((ROOT / "feedplan" / layer).rglob("*.py"))
        for named in re.findall(
            r"^\s*(?:from|import) feedplan\.(\w+)", path.read_text(encoding="utf-8"), re.M
        )
        if named not in BELOW[layer] | {"errors"}
    ]
    assert wrong == []


def test_the_readme_says_that_no_thermometer_is_read_for_as_long_as_that_is_so(readme: str) -> None:
    engine = "".join(
        path.read_text(encoding="utf-8") for path in (ROOT / "feedplan" / "engine").rglob("*.py")
    )
    assert ("reads no thermometer" in readme) == ("root_zone_min_c" not in engine)
