"""The JSON Schema of each kind of file, made from the models, for completion and checking in an editor."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from pydantic import BaseModel, RootModel

from feedplan.load.collection_models import CollectionModel, EntryModel
from feedplan.load.schedule_models import FIXED, GeneraModel, HoldsModel, ScheduleModel, VocabularyModel

Schema = dict[str, Any]


class JournalModel(RootModel[list[EntryModel]]):
    """What happened, one entry a line."""


DRAFT = "https://json-schema.org/draft/2020-12/schema"


def file_schema(kind: str) -> Schema:
    """The schema of one kind of file, one of KINDS. Raises KeyError for another."""
    return {"$schema": DRAFT, "title": f"feedplan: {kind}.yaml", **_MAKERS[kind]()}


def _collection() -> Schema:
    """A collection, whose `changes` take any part of a schedule."""
    schema = _of(CollectionModel)
    changes = _loosened(_schedule(), "ScheduleModel", "PeriodModel", "WaterModel")
    parts: Schema = changes.pop("$defs")
    changes["properties"] = {key: part for key, part in changes["properties"].items() if key not in FIXED}
    schema["$defs"] |= {f"{name}Change": _with_references(part, "Change") for name, part in parts.items()}
    schema["$defs"]["ScheduleChange"] = _with_references(changes, "Change")
    _allow_none(schema["$defs"])
    for owner in ("GroupModel", "TreeModel"):
        field = schema["$defs"][owner]["properties"]["changes"]
        field["anyOf"] = [{"$ref": "#/$defs/ScheduleChange"}, {"type": "null"}]
    return schema


def _allow_none(parts: Schema) -> None:
    """Lets a change take away a feeding period, or a key of one, by the word none."""
    none = {"const": "none"}
    period = parts["PeriodModelChange"]
    period["properties"] = {key: {"anyOf": [part, none]} for key, part in period["properties"].items()}
    feeding = parts["ScheduleChange"]["properties"]["feeding"]
    for branch in feeding["oneOf"]:
        if "additionalProperties" in branch:
            branch["additionalProperties"] = {"anyOf": [branch["additionalProperties"], none]}


def _schedule() -> Schema:
    """A schedule, whose holds may give a few keys of a standing rule."""
    schema = _of(ScheduleModel)
    holds = _loosened(_of(HoldsModel), "HoldModel")
    schema["$defs"] |= holds["$defs"]
    schema["properties"]["holds"] = {
        "anyOf": [holds["properties"]["holds"], {"type": "null"}],
        "description": schema["properties"]["holds"]["description"],
    }
    return schema


def _holds() -> Schema:
    return _loosened(_of(HoldsModel), "HoldModel")


def _stages() -> Schema:
    return _loosened(_of(VocabularyModel), "CalendarModel")


def _genera() -> Schema:
    return _of(GeneraModel)


def _journal() -> Schema:
    return _of(JournalModel)


_MAKERS: Mapping[str, Callable[[], Schema]] = {
    "collection": _collection,
    "journal": _journal,
    "schedule": _schedule,
    "holds": _holds,
    "stages": _stages,
    "genera": _genera,
}

KINDS = tuple(_MAKERS)
"""The kinds of file there are."""


def _of(model: type[BaseModel]) -> Schema:
    """A model's schema without the titles pydantic makes out of Python names."""
    schema: Schema = _untitled(model.model_json_schema())
    schema.setdefault("$defs", {})
    return schema


def _untitled(node: Any) -> Any:
    if isinstance(node, list):
        return [_untitled(item) for item in node]
    if isinstance(node, dict):
        return {
            key: _untitled(part) for key, part in node.items() if key != "title" or not isinstance(part, str)
        }
    return node


def _loosened(schema: Schema, *names: str) -> Schema:
    """The schema with nothing required in it, or in the named parts of it, since the rest stands elsewhere."""
    for name in names:
        part = schema["$defs"].get(name, schema)
        part.pop("required", None)
    return schema


def _with_references(node: Any, suffix: str) -> Any:
    """The node with every reference led to the part of the same name with a suffix."""
    if isinstance(node, list):
        return [_with_references(item, suffix) for item in node]
    if isinstance(node, dict):
        return {
            key: f"{part}{suffix}"
            if key == "$ref" and isinstance(part, str)
            else _with_references(part, suffix)
            for key, part in node.items()
        }
    return node
