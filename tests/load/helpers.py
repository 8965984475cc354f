"""Texts and helpers that the loader's tests share."""

from __future__ import annotations

from pathlib import Path

from feedplan.errors import FilesHaveProblems
from feedplan.load import Loaded, load_text

HERE = Path(__file__).parent

COLLECTION = (HERE / "sound" / "collection.yaml").read_text(encoding="utf-8")
"""A collection with the trees Brindle (European larch, group growing-on) and Kettle (hornbeam, group refined)."""

SCHEDULE = (HERE / "sound" / "mine.yaml").read_text(encoding="utf-8")
"""The collection's own schedule "mine", which group growing-on uses."""


def load(collection: str = COLLECTION, journal: str = "", schedules: dict[str, str] | None = None) -> Loaded:
    """What some texts hold; the sound ones stand in for those not given. Raises FilesHaveProblems."""
    return load_text(collection, journal, {"mine": SCHEDULE, **(schedules or {})})


def complaints(
    collection: str = COLLECTION, journal: str = "", schedules: dict[str, str] | None = None
) -> list[str]:
    """Every problem of some texts, as the grower reads them; empty when they are sound."""
    try:
        load(collection, journal, schedules)
    except FilesHaveProblems as error:
        return [str(problem) for problem in error.problems]
    return []


PLACE = "place: {name: X, latitude: 55.6, time_zone: Europe/London}\n"
SOUTH = "place: {name: X, latitude: -41.2, time_zone: Pacific/Auckland}\n"


def small(groups: str = "{g: {schedule: mine}}", tree: str = "", place: str = PLACE) -> str:
    """A collection with one tree, Brindle, in group g. tree: more keys of it."""
    return (
        f"{place}groups: {groups}\ntrees:\n  - {{name: Brindle, species: larch, group: g, pot: 1 L{tree}}}\n"
    )
