"""How well a mistake is answered: from 0 (passed in silence) to 3 (taken as meant, or mended by what is told)."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cache
from pathlib import Path

from feedplan.cli.check import findings
from feedplan.cli.options import Opened
from feedplan.errors import FilesHaveProblems, Problem
from feedplan.load.collection import Loaded, load_text
from feedplan.model.stage import Vocabulary
from tests.load.remedies import remedy, tried

TODAY = date(2027, 6, 14)
SILENT, MISLEADING, SAID, MENDED = range(4)

_PLACE = {"name": "X", "latitude": "53.5", "time_zone": "Europe/London"}
_OAK = {"name": "Oak", "species": "English oak", "group": "g", "pot": "9 L"}
_FEED = {
    "grade": "24-8-16",
    "form": "soluble",
    "label_rate": "1 g per L",
    "label_maximum": "2 g per L",
}
_GROUP = {"schedule": "vigorous", "feed": "powder", "bench": "south wall"}
_REPLACES = {"npk": "grade", "size": "pot", "container": "pot"}
_WHOLE = {
    "since": "2027-01-01",
    "benches": "{south wall: {wind: exposed}, shade: {sun: full shade}}",
}


def _mapping(usual: Mapping[str, str], part: str) -> str:
    keys = set(re.findall(r"(?:^|, )([a-z_]+):", part))
    keys |= {_REPLACES.get(key, key) for key in keys}
    items = [f"{key}: {value}" for key, value in usual.items() if key not in keys]
    return ", ".join([*items, *([part] if part else [])])


def files_with(where: str, written: str) -> tuple[str, str]:
    """A sound collection and journal, but for one part of one of them."""

    def part(name: str) -> str:
        return written if where == name else ""

    whole = {key: value for key, value in _WHOLE.items() if not written.startswith(f"{key}:")}
    lines = [
        f"place: {{{_mapping(_PLACE, part('place'))}}}",
        *(f"{key}: {value}" for key, value in whole.items()),
    ]
    if where == "habits":
        lines.append(f"habits: {{{written}}}")
    if where == "collection":
        lines.append(written)
    if not written.startswith("feeds:"):
        lines += [
            "feeds:",
            f"  powder: {{{_mapping(_FEED, part('feed'))}}}",
            "  beads: {grade: 16-8-12, form: coated, longevity: 150 days}",
        ]
    if not written.startswith("groups:"):
        lines += ["groups:", f"  g: {{{_mapping(_GROUP, part('group'))}}}"]
        lines.append("  pines: {schedule: conifer-decandled, feed: powder, bench: shade}")
    lines += [
        "trees:",
        f"  - {{{_mapping(_OAK, part('oak'))}}}",
        "  - {name: Elm, species: wych elm, group: g, pot: 9 L, since: 2027-01-01}",
        "  - {name: Maple, species: field maple, group: g, pot: 9 L, solid_feed: beads}",
        "  - {name: Pine, species: Japanese black pine, group: pines, pot: 9 L}",
    ]
    entry = f"- {{date: 2027-06-10, id: abc, {written}}}\n" if where == "entry" else ""
    return "\n".join(lines) + "\n", entry


@dataclass(frozen=True)
class Answer:
    """What is said of some files: problems, then whatever else check finds."""

    problems: tuple[Problem, ...]
    doubts: tuple[Problem, ...] = ()
    loaded: Loaded | None = None

    @property
    def all(self) -> list[Problem]:
        return [*self.problems, *self.doubts]

    @property
    def meaning(self) -> object:
        """What the files say, but for the names of files, lines and words as written."""
        if self.loaded is None:
            return None
        said = replace(self.loaded.collection, vocabulary=Vocabulary())
        told = repr((said, self.loaded.journal))
        return re.sub(r"Source\(.*?\)|words='.*?'|note='.*?'|text='.*?'|id='.*?'| at 0x\w+", "", told)


@cache
def answer(
    collection: str, journal: str, climate: tuple[tuple[str, str], ...] = (), *, planned: bool = True
) -> Answer:
    """What check says of some files. climate: text by name. planned: also what only a plan shows."""
    try:
        loaded = load_text(collection, journal, climate=dict(climate))
    except FilesHaveProblems as refusal:
        return Answer(refusal.problems)
    return Answer((), tuple(all_doubts(loaded)) if planned else (), loaded)


def all_doubts(loaded: Loaded) -> list[Problem]:
    """All that check asks about or warns of."""
    found = findings(Opened(Path("nowhere/collection.yaml"), loaded, TODAY))
    return [*found.questions, *found.warnings]


@dataclass
class Graded:
    """A grade, with what was said and what came of doing it."""

    grade: int
    said: list[str] = field(default_factory=list)
    why: str = ""


@cache
def graded(where: str, wrong: str, right: str) -> Graded:
    """The grade of what is said of one slip."""
    collection, journal = files_with(where, wrong)
    found = answer(collection, journal)
    said = [str(p) for p in found.all]
    meant = answer(*files_with(where, right), planned=False) if right else None
    assert meant is None or not meant.problems, (right, meant.problems)
    if not found.all:
        same = meant is not None and found.meaning == meant.meaning
        return Graded(MENDED if same else SILENT, said, "taken")
    tries = [(p, w, (text, journal)) for p, w, text in tried(collection, _of(found, "collection.yaml"))]
    tries += [(p, w, (collection, text)) for p, w, text in tried(journal, _of(found, "journal.yaml"))]
    if not tries:
        return Graded(SAID, said, "no remedy to try")
    grades = [
        _of_mended(answer(*files, planned=not found.problems), meant, problem, written)
        for problem, written, files in tries
    ]
    return min(grades, key=lambda grade: grade.grade)


def _of(found: Answer, file: str) -> list[Problem]:
    return [p for p in found.all if p.file == file]


def _of_mended(after: Answer, meant: Answer | None, problem: Problem, written: str) -> Graded:
    here = [
        p
        for p in after.all
        if (p.file, p.line) == (problem.file, problem.line) and p.message == problem.message
    ]
    wrong = [p for p in after.problems if (p.file, p.line) == (problem.file, problem.line)]
    said = [str(problem)]
    if wrong and not here and remedy(wrong[0].message) is not None:
        return Graded(SAID, said, f"{written!r} -> {wrong[0]}")
    if here or wrong:
        return Graded(MISLEADING, said, f"{written!r} -> {(here or wrong)[0]}")
    if meant is not None and after.loaded is not None and after.meaning != meant.meaning:
        return Graded(MISLEADING, said, f"{written!r} means something else")
    return Graded(MENDED, said, f"{written!r} is taken")
