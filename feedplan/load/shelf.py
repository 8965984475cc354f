"""The feeds on the shelf and the grower's habits alone: what a hand at the sink needs, whatever else is amiss."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from pydantic import ConfigDict, Field, TypeAdapter

from feedplan.errors import FilesHaveProblems
from feedplan.load.building.collection_parts import feed_of, habits_of
from feedplan.load.building.water_parts import water_source_of
from feedplan.load.findings import Findings
from feedplan.load.folder import COLLECTION, DiskFolder
from feedplan.load.models.collection_models import FeedModel, HabitsModel
from feedplan.load.models.fields import FileModel, Name
from feedplan.load.models.shape import check_shape
from feedplan.load.models.water_models import WaterSourceModel
from feedplan.model.collection import Feed, Habits
from feedplan.model.water import WaterSource


class _ShelfModel(FileModel):
    """The parts of a collection that a dose needs; the others are passed over."""

    model_config = ConfigDict(extra="ignore")

    feeds: dict[Name, FeedModel] = Field(default_factory=dict)
    habits: HabitsModel | None = None
    water: dict[Name, WaterSourceModel] = Field(default_factory=dict)


_SHELF = TypeAdapter(_ShelfModel)


@dataclass(frozen=True, slots=True)
class Shelf:
    """Feeds by name, habits, and waters, the usual one first."""

    feeds: dict[str, Feed]
    habits: Habits
    waters: tuple[WaterSource, ...] = ()

    @property
    def water_ec(self) -> float | None:
        """Conductivity of the usual water [mS/cm], None when it is not told."""
        return self.waters[0].ec_ms_per_cm if self.waters else None


def load_shelf(path: str | Path) -> Shelf:
    """The shelf of the collection in a folder, or whose collection.yaml that is.

    Raises FilesHaveProblems with what is wrong with feeds, habits, waters or the file as YAML; slips in groups, trees,
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
    waters = tuple(
        water_source_of(name, part, page.spot.key_at(("water", name)), findings)
        for name, part in model.water.items()
    )
    known = {name: feed for name, feed in feeds.items() if feed is not None}
    return Shelf(known, habits_of(model.habits), waters)
