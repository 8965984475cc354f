"""The parts of a collection that could be read, so that one slip does not hide the rest."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from pydantic import TypeAdapter

from feedplan.load.collection_models import CollectionModel, FeedModel, GroupModel, PlaceModel, TreeModel
from feedplan.load.problems import Passage
from feedplan.load.shape import check_shape, sound_part

_COLLECTION = TypeAdapter(CollectionModel)


@dataclass(slots=True)
class SoundParts:
    """What could be read. whole: the model when all of it is sound; trees by their place in the list.

    Names of unsound groups and feeds stand with None, so that what refers to them is not called unknown.
    """

    whole: CollectionModel | None = None
    place: PlaceModel | None = None
    feeds: dict[str, FeedModel | None] = field(default_factory=dict)
    groups: dict[str, GroupModel | None] = field(default_factory=dict)
    trees: dict[int, TreeModel] = field(default_factory=dict)
    tree_names: frozenset[str] = frozenset()
    is_south: bool = False
    has_trees: bool = False


def sound_parts(value: object, file: Passage) -> SoundParts:
    """The parts of a collection's value, problems of shape noted, so that one slip does not hide the rest."""
    whole = check_shape(_COLLECTION, value, file)
    if whole is not None:
        return SoundParts(
            whole,
            whole.place,
            dict(whole.feeds),
            dict(whole.groups),
            dict(enumerate(whole.trees)),
            frozenset(tree.name for tree in whole.trees),
            whole.place.latitude < 0,
            True,
        )
    raw: Mapping[str, Any] = value if isinstance(value, dict) else {}
    trees, latitude = raw.get("trees"), _mapping(raw.get("place")).get("latitude")
    items = dict(enumerate(trees)) if isinstance(trees, list) else {}
    named = (item["name"] for item in items.values() if isinstance(item, dict) and "name" in item)
    return SoundParts(
        None,
        sound_part(PlaceModel, raw.get("place")),
        {name: sound_part(FeedModel, part) for name, part in _mapping(raw.get("feeds")).items()},
        {name: sound_part(GroupModel, part) for name, part in _mapping(raw.get("groups")).items()},
        {i: model for i, item in items.items() if (model := sound_part(TreeModel, item)) is not None},
        frozenset(str(name).strip() for name in named),
        isinstance(latitude, (int, Decimal)) and latitude < 0,
        isinstance(trees, list),
    )


def _mapping(value: object) -> Mapping[str, object]:
    return value if isinstance(value, dict) else {}
