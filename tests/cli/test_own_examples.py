"""Examples in `--help` name the trees of the collection one stands in."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.conftest import Run


@pytest.mark.parametrize(
    ("trees", "line"),
    [
        ("- {name: Tern, species: larch}\n  - name: Cobble", "record seen first flush hardened Tern Cobble"),
        ('- {name: "Old Fen"}', 'record seen first flush hardened "Old Fen" "Old Fen"'),
        ("[]", "record seen first flush hardened Brindle Kettle"),
    ],
)
def test_they_are_the_growers_own(
    trees: str, line: str, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "collection.yaml").write_text(f"place: {{name: Moth}}\ntrees:\n  {trees}\n")
    assert f"feedplan {line}\n" in run("record", "seen", "--help").stdout


def test_elsewhere_they_are_invented(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert "feedplan record repotted Brindle" in run("record", "--help").stdout
