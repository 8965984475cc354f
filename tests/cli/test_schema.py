"""`feedplan schema`: with the names of the collection one stands in, kept up to date by check."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from feedplan.load.json_schema import file_schema
from tests.cli.conftest import COLLECTION, Run


def names(text: str, what: str) -> dict[str, str]:
    """The names a schema offers for one kind of thing, with what each means."""
    part = json.loads(text)["$defs"][what]
    enum = part if "enum" in part else part["anyOf"][0]
    return dict(zip(enum["enum"], enum["enumDescriptions"], strict=True))


def test_in_a_collection_its_own_names_are_offered(run: Run, folder: Path) -> None:
    printed = run("schema").stdout
    assert names(printed, "GroupName") == {"growing-on": "vigorous, powder", "shown": "refined, powder"}
    assert names(run("schema", "journal").stdout, "TreeName")["Old Kelp"] == "field maple, shown, 3 L"


def test_elsewhere_only_what_ships_is_offered_and_any_name_will_do(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert json.loads(run("schema", "journal").stdout) == file_schema("journal")
    assert {"type": "string"} in file_schema("journal")["$defs"]["SignName"]["anyOf"]


def test_a_collection_with_problems_still_has_its_names(run: Run, folder: Path) -> None:
    (folder / "collection.yaml").write_text(COLLECTION.replace("9 L", "9"))
    assert "Brindle" in names(run("schema", "journal").stdout, "TreeName")


def test_check_keeps_the_schemas_beside_a_collection_up_to_date(run: Run, folder: Path) -> None:
    run("check")
    assert not (folder / "schemas").exists()
    assert run("schema", "--write").stdout == "Wrote schemas.\n"
    schema, collection = folder / "schemas" / "journal.schema.json", folder / "collection.yaml"
    collection.write_text(COLLECTION.replace("Brindle", "Bramble"))
    os.utime(collection, (later := schema.stat().st_mtime + 5, later))
    run("check")
    assert "Bramble" in names(schema.read_text(encoding="utf-8"), "TreeName")


def test_without_a_collection_nothing_is_written(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run("schema", "--write").exit_code == 2
    assert list(tmp_path.iterdir()) == []
