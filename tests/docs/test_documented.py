"""README, the guide, DEVELOPERS and CHANGELOG against the program: nothing left out, nothing that is no longer so."""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click
import pytest

from feedplan import errors
from feedplan.cli.main import COMMANDS
from feedplan.guide.contents import PAGE_OF_COMMAND
from feedplan.load import collection_models, schedule_models
from feedplan.load.fields import FileModel
from tests.docs.pages import (
    DEVELOPERS,
    GUIDE,
    PACKAGE,
    PAGES,
    README,
    ROOT,
    SCHEMAS,
    every_command,
    render,
    schema_text,
    with_ids_of,
)

PROJECT: dict[str, Any] = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


@pytest.fixture(scope="module")
def guide() -> str:
    """All its pages."""
    return "\n".join(path.read_text(encoding="utf-8") for path in GUIDE.values())


@pytest.fixture(scope="module")
def developers() -> str:
    return DEVELOPERS.read_text(encoding="utf-8")


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
    for module in (collection_models, schedule_models):
        for value in vars(module).values():
            if isinstance(value, type) and issubclass(value, FileModel) and value is not FileModel:
                yield value


def test_every_key_of_every_file_is_in_the_guide(guide: str) -> None:
    keys = {field.alias or name for model in _models() for name, field in model.model_fields.items()}
    assert len(keys) > 80
    assert sorted(key for key in keys if f"`{key}`" not in guide) == []


def test_every_command_has_a_page_that_speaks_of_it() -> None:
    assert PAGE_OF_COMMAND.keys() == COMMANDS.keys()
    spoken = {name: GUIDE[page].read_text(encoding="utf-8") for name, page in PAGE_OF_COMMAND.items()}
    assert [name for name, text in spoken.items() if f"feedplan {name}" not in text] == []


def test_every_page_of_the_guide_is_listed_has_a_title_and_links_to_pages_alone() -> None:
    """So that a link leads on wherever the guide is read: as files, on the terminal, from the server."""
    assert set(GUIDE.values()) == set((PACKAGE / "guide").glob("*.md"))
    for path in GUIDE.values():
        text = path.read_text(encoding="utf-8")
        assert re.match(r"# \S.*\n\n", text), path.name
        assert set(re.findall(r"\]\(([^)]+)\)", text)) <= {f"{name}.md" for name in GUIDE}, path.name


@pytest.mark.parametrize("page", [README, *GUIDE.values()], ids=lambda page: page.name)
def test_what_growers_read_is_short(page: Path) -> None:
    text = page.read_bytes()
    assert len(text) <= 10_000
    assert page != README or text.count(b"\n") <= 200


def test_the_readme_opens_with_the_job_in_one_paragraph_then_the_two_commands() -> None:
    title, job, commands, *_ = README.read_text(encoding="utf-8").split("\n\n")
    assert title == "# feedplan"
    assert job.startswith("You grow trees in pots.")
    shown = [line.partition("#")[0].split() for line in commands.splitlines()[1:-1]]
    assert shown == [["sh", "demo/run.sh"], ["sh", "tests/run.sh"]]


def test_every_option_of_every_command_is_in_the_guide(guide: str) -> None:
    missing = [
        (words, option)
        for words, command in every_command()
        for param in command.params
        if isinstance(param, click.Option)
        for option in param.opts
        if not re.search(rf"(?<![\w-]){re.escape(option)}(?![\w-])", guide)
    ]
    assert missing == []


def test_every_exit_code_is_in_the_guide(guide: str) -> None:
    codes = {value for name, value in vars(errors).items() if name.startswith("EXIT_")}
    assert codes == {0, 1, 2, 3}
    assert [code for code in codes if f"| {code} | " not in guide] == []


@pytest.mark.parametrize("page", [*PAGES, ROOT / "CHANGELOG.md"], ids=lambda page: page.name)
def test_every_link_leads_somewhere(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    anchors = {
        re.sub(r"[^\w -]", "", head.lower()).replace(" ", "-")
        for head in re.findall(r"^#+ (.+)$", text, re.M)
    }
    for target in re.findall(r"\]\(([^)]+)\)", text):
        assert target[1:] in anchors if target.startswith("#") else (page.parent / target).exists(), target


def test_every_dependency_says_why_it_is_there(developers: str) -> None:
    wanted = [*PROJECT["dependencies"], *PROJECT["optional-dependencies"]["test"]]
    names = {re.split(r"[<>=]", wish)[0] for wish in wanted}
    plain = {name for name in names if not name.startswith(("pytest", "types-"))}
    assert sorted(name for name in plain if not re.search(rf"\b{name}\b", developers, re.IGNORECASE)) == []


def test_every_package_is_on_the_map(developers: str) -> None:
    """Also what stands beside the packages, and a package that has no docstring to say what it is for."""
    folders = {path.parent for path in PACKAGE.rglob("*.py")} - {PACKAGE}
    beside = {path for path in PACKAGE.glob("*.py") if path.name not in ("__init__.py", "__main__.py")}
    assert len(folders) > 10
    rows = dict(re.findall(r"^\| `([\w/.]+)` \| (.*) \|$", developers, re.M))
    assert sorted(rows) == sorted(str(path.relative_to(ROOT)) for path in folders | beside)
    assert [name for name, said in rows.items() if not said] == []


def test_developers_can_be_read_in_one_sitting() -> None:
    assert len(DEVELOPERS.read_bytes()) <= 15_000


def test_every_file_named_for_developers_is_there(developers: str) -> None:
    """Those that a new command and a new page would be are not."""
    named = set(re.findall(r"`((?:[\w.-]+/)+[\w.-]*)`", developers))
    words = [word.replace(".", "/") for word in re.findall(r"python -m (tests\.[\w.]+)", developers)]
    run = {f"{word}/__main__.py" if (ROOT / word).is_dir() else f"{word}.py" for word in words}
    assert len(named) > 30
    missing = {name for name in named | run if not any((top / name).exists() for top in (ROOT, PACKAGE))}
    assert missing == {"feedplan/cli/NAME.py", "feedplan/guide/NAME.md"}


def test_the_changelog_names_the_version() -> None:
    assert f"\n## {PROJECT['version']} " in (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")


BELOW: dict[str, set[str]] = {
    "weather": {"weather"},
    "dose": {"dose"},
    "model": {"model", "dose", "weather"},
    "engine": {"engine", "model", "dose", "weather"},
    "words": {"words", "engine", "model", "dose", "weather"},
    "export": {"export", "files", "words", "engine", "model", "dose", "weather"},
    "load": {"load", "files", "words", "engine", "model", "dose", "weather"},
    "memory": {"load", "files", "words", "engine", "model", "dose", "weather"},
    "files": set(),
    "guide": set(),
}
"""The layers of DEVELOPERS.md: what each part of feedplan, a package or one module, may import."""


@pytest.mark.parametrize("layer", BELOW)
def test_imports_go_one_way(layer: str) -> None:
    wrong = [
        f"{path.relative_to(ROOT)}: {named}"
        for path in sorted([*(PACKAGE / layer).rglob("*.py"), *PACKAGE.glob(f"{layer}.py")])
        for named in re.findall(
            r"^\s*(?:from|import) feedplan\.(\w+)", path.read_text(encoding="utf-8"), re.M
        )
        if named not in BELOW[layer] | {"errors"}
    ]
    assert wrong == []


def test_only_what_publishes_and_what_records_writes_files() -> None:
    writers = [
        str(path.relative_to(ROOT / "feedplan"))
        for layer in ("export", "load")
        for path in sorted((ROOT / "feedplan" / layer).rglob("*.py"))
        if "feedplan.files" in path.read_text(encoding="utf-8")
    ]
    assert writers == ["export/publish.py", "load/journal_file.py"]


def test_no_class_name_stands_twice() -> None:
    """Two kinds of thing under one name make a reader look twice."""
    where: dict[str, list[str]] = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                where.setdefault(node.name, []).append(path.name)
    assert len(where) > 200
    assert {name: files for name, files in where.items() if len(files) > 1} == {}


def test_every_source_that_a_schedule_or_the_physics_names_is_among_those_to_cite() -> None:
    """By the name it begins with and its year, where it has one."""
    shipped = "".join(path.read_text(encoding="utf-8") for path in (ROOT / "schedules").glob("*.yaml"))
    physics = "".join(path.read_text(encoding="utf-8") for path in (PACKAGE / "weather").glob("*.py"))
    named = re.findall(r"^#   ([A-Z]\w+)[^(\n]*?((?:19|20)\d\d)", shipped, re.MULTILINE)
    named += re.findall(r"^\[\d\] ((?:van )?[A-Z]\w+).*?((?:19|20)\d\d)", physics, re.MULTILINE | re.DOTALL)
    assert len(set(named)) > 15
    cited = GUIDE["licence"].read_text(encoding="utf-8")
    assert sorted({(name, year) for name, year in named if name not in cited or year not in cited}) == []


def test_the_guide_names_every_substrate_that_is_known() -> None:
    from feedplan.guide import contents
    from feedplan.weather.substrate import COMPONENTS, NAMED_MIXES

    page = (Path(contents.__file__).parent / "files.md").read_text(encoding="utf-8")
    told = page[page.index("- Mixes:") : page.index("- In quotes")].replace("\n  ", " ")
    assert [name for name in (*COMPONENTS, *NAMED_MIXES) if name not in told] == []


def test_the_guide_tells_every_hold_that_ships() -> None:
    page = (Path(__file__).parents[2] / "feedplan" / "guide" / "words.md").read_text(encoding="utf-8")
    for name in (
        "limp",
        "bought",
        "imported",
        "gift",
        "decandled",
    ):  # opened by a sign, an arrival, one schedule's work
        assert f"\n| {name} | " in page
