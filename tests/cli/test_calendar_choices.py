"""Which calendar `feedplan calendar` writes, and what it says of days it cannot reach."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from feedplan.cli.main import feedplan

DEMO = Path(__file__).parents[2] / "demo" / "southern"


def written(*words: str) -> Result:
    arguments = ["calendar", "-c", str(DEMO), "-o", "-", "--today", "2027-11-10", *words]
    return CliRunner().invoke(feedplan, arguments)


@pytest.mark.parametrize(
    ("words", "categories"),
    [
        ((), {"round", "water"}),
        (("--show", "holds"), {"hold"}),
        (("--show", "feeding"), {"feeding"}),
        (("--show", "looks"), {"review", "stage"}),
        (("--show", "alerts"), {"note"}),
    ],
)
def test_each_calendar_holds_its_own_kinds(words: tuple[str, ...], categories: set[str]) -> None:
    lines = written(*words).stdout.replace("\r\n ", "").splitlines()
    kinds = {
        line.removeprefix("CATEGORIES:").split(",")[0] for line in lines if line.startswith("CATEGORIES:")
    }
    assert kinds == categories


def test_what_is_narrowed_is_told_in_detail() -> None:
    assert written("--kind", "feeding").stdout.replace("\r\n ", "").count("SUMMARY:Feed shown") > 0
    refused = written("--kind", "feeding", "--show", "holds")
    assert (refused.exit_code, "leave out --show holds" in refused.stderr) == (2, True)


def test_a_last_day_beyond_the_plan_is_told() -> None:
    assert "the plan reaches to 2032-11-" in written("--to", "2040-01-01").stderr
    assert written("--to", "2028-01-01").stderr == ""
