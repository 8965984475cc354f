"""The feeds on the shelf and the grower's habits alone: what a hand at the sink needs, whatever else is amiss."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from pydantic import ConfigDict, Field, TypeAdapter

from feedplan.errors import FilesHaveProblems
from feedplan.load.collection_models import FeedModel, HabitsModel
from feedplan.load.collection_parts import feed_of, habits_of
from feedplan.load.fields import FileModel, Name
from feedplan.load.findings import Findings
from feedplan.load.folder import COLLECTION, DiskFolder
from feedplan.load.shape import check_shape
from feedplan.model.collection import Feed, Habits


class _ShelfModel(FileModel):
    """The two parts of a collection that a dose needs; the others are passed over."""

    model_config = ConfigDict(extra="ignore")

    feeds: dict[Name, FeedModel] = Field(default_factory=dict)
    habits: HabitsModel | None = None


_SHELF = TypeAdapter(_ShelfModel)


@dataclass(frozen=True, slots=True)
class Shelf:
    """Feeds by name, and habits."""

    feeds: dict[str, Feed]
    habits: Habits


def load_shelf(path: str | Path) -> Shelf:
    """The shelf of the collection in a folder, or whose collection.yaml that is.

    Raises FilesHaveProblems with what is wrong with feeds, habits or the file as YAML; slips in groups, trees,
    schedules or the journal are for load_collection to tell.
    """
    page = DiskFolder(path).page(COLLECTION)
    assert page is not None
    findings = Findings()
    findings.add_misread(page.problems)
    model: _ShelfModel | None = check_shape(_SHELF, page.value or {}, page.spot, findings)
    found = model.feeds if model is not None else {}
    feeds = {
        name: feed_of(name, part, page.spot.at(("feeds", name)), findings) for name, part in found.items()
    }
    if findings.problems or model is None:
        raise FilesHaveProblems(findings.problems)
    return Shelf({name: feed for name, feed in feeds.items() if feed is not None}, habits_of(model.habits))
