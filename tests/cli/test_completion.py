"""The Tab key: commands, trees, groups and signs, and silence where there is nothing to offer."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest


def offered(*words: str) -> set[str]:
    """What bash would be offered for the last of the words."""
    result = subprocess.run(
        [sys.executable, "-m", "feedplan"],
        env={
            **os.environ,
            "_FEEDPLAN_COMPLETE": "bash_complete",
            "COMP_WORDS": " ".join(("feedplan", *words)),
            "COMP_CWORD": str(len(words)),
        },
        capture_output=True,
        text=True,
        check=False,
    )
    assert result.stderr == ""
    return {line.partition(",")[2] for line in result.stdout.splitlines() if line}


def test_commands_and_options_complete(folder: Path) -> None:
    assert offered("c") == {"check", "calendar", "compare"}
    assert "--json" in offered("check", "--")
    assert offered("record", "mo") == {"moved"}


def test_trees_groups_and_signs_complete_from_the_collection(folder: Path) -> None:
    assert offered("record", "fed", "m") == {"Moth"}
    assert offered("record", "fed", "--group", "g") == {"growing-on"}
    assert {"first flush hardened", "first flush extending"} <= offered("record", "seen", "first")


def test_a_collection_named_with_c_is_used(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir("/")
    assert offered("record", "fed", "-c", str(folder), "m") == {"Moth"}


def test_without_a_collection_nothing_is_offered_and_nothing_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert offered("record", "fed", "m") == set()
