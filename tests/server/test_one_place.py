"""Where a tree stands after a move: round, page, helper's sheet, thirst list, tree's page and why name one place."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from feedplan.cli.main import feedplan
from tests.server.world import World

DEMO = Path(__file__).parents[2] / "demo" / "northern"
TODAY = date(2027, 6, 5)
TREE = "Corbel"  # of the group growing-on, whose bench is the south wall
TO_BENCH = f"- {{date: 2027-06-03, tree: {TREE}, bench: cold frame}}\n"
TO_GROUP = f"- {{date: 2027-06-04, tree: {TREE}, moved: show-bench}}\n"
BACK = f"- {{date: 2027-06-05, tree: {TREE}, moved: growing-on, bench: shade house}}\n"


@dataclass(frozen=True)
class Asked:
    """Some of the demo with a journal of its own, asked in every way there is."""

    folder: Path

    def said(self, *words: str) -> str:
        given = [*words, "-c", str(self.folder), "--today", str(TODAY)]
        result = CliRunner().invoke(feedplan, given, prog_name="feedplan", catch_exceptions=False)
        assert result.exit_code == 0, result.output
        return result.stdout

    def places(self) -> Mapping[str, str]:
        """What each of them calls the place of the tree."""
        world = World(self.folder, fixed_day=TODAY)
        facts = json.loads(self.said("round", "--json"))
        return {
            "round --json, rates": next(r["bench"] for r in facts["rates"] if r["tree"] == TREE),
            "round --json, checks": _holder(facts["checks"][0]["benches"]),
            "round --json, thirst": _holder(facts["benches"]),
            "round": _named_in(_section(self.said("round", "--all"), "Check water")),
            "helper's sheet": _heading_over(self.said("round", "--helper")),
            "page": _bench_of_page(world.get("", write=True).text),
            "page, read only": _bench_of_page(world.get("").text),
            "tree's page": _bench_of_tree_page(world.get(f"tree-{TREE.lower()}.html").text),
            "why": _bench_of_why(self.said("why", TREE)),
            "why --json": json.loads(self.said("why", TREE, "--json"))["bench"],
        }


def _holder(benches: list[dict[str, object]]) -> str:
    [name] = [
        str(bench["bench"])
        for bench in benches
        if TREE in str(bench["trees"])  # a list of names, or of facts with names
    ]
    return name


def _section(text: str, title: str) -> str:
    return text.split(f"\n{title}\n")[1].split("\n\n", maxsplit=1)[0]


def _named_in(checks: str) -> str:
    """The place in a line such as "07:00  cold frame: all 5; south wall: Corbel, Tansy"."""
    first = checks.splitlines()[0].split("  ", 2)[-1]
    places = [part.partition(": ") for part in first.split("; ")]
    named = [place for place, _, trees in places if TREE in trees]
    return named[0] if named else "only counted"


def _heading_over(sheet: str) -> str:
    heading, found = "", set()
    for line in sheet.splitlines():
        if line and not line.startswith(" "):
            heading = line
        elif re.search(rf"\b{TREE}\b", line):
            found.add(heading)
    [place] = found
    return place


def _bench_of_page(page: str) -> str:
    benches = [after.split("</section>")[0] for after in page.split('<h3 class="bench">')[1:]]
    [name] = [bench.split("</h3>")[0] for bench in benches if re.search(rf"\b{TREE}\b", bench)]
    return name


def _bench_of_tree_page(page: str) -> str:
    found = re.search(r'<p class="line">[^<]*; [^<,]*, ([^<.]*)\.', page)
    assert found is not None
    return found[1]


def _bench_of_why(text: str) -> str:
    found = re.search(r"^Group .*?, bench (.*?), schedule ", text, re.M)
    assert found is not None
    return found[1]


def _few_trees() -> str:
    """The demo without the one-line trees of groups that neither the tree nor the frame is in."""
    lines = (DEMO / "collection.yaml").read_text(encoding="utf-8").splitlines(keepends=True)
    other = re.compile(r"  - \{name: .* group: (?!growing-on|show-bench|nursery)")
    return "".join(line for line in lines if not other.match(line))


@pytest.mark.parametrize(
    ("moves", "place"),
    [
        ("", "south wall"),
        (TO_BENCH, "cold frame"),
        (TO_BENCH + TO_GROUP, "show bench"),
        (TO_GROUP, "show bench"),
        (TO_BENCH + TO_GROUP + BACK, "shade house"),
    ],
)
def test_all_name_the_same_place(tmp_path: Path, moves: str, place: str) -> None:
    """The fault this keeps out: three rules for a moved tree's bench, and three places named for it."""
    folder = tmp_path / "northern"
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns(".feedplan"))
    (folder / "collection.yaml").write_text(_few_trees(), encoding="utf-8")
    (folder / "journal.yaml").write_text(moves, encoding="utf-8")
    found = Asked(folder).places()
    assert {who: where for who, where in found.items() if where not in (place, "only counted")} == {}
    assert sum(where == place for where in found.values()) >= 9
