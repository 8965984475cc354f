"""The JSON Schema of each kind of file, made from the models, for completion and checking in an editor."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from functools import cache
from typing import Any

from pydantic import BaseModel, RootModel

from feedplan.load.collection_models import CollectionModel, EntryModel
from feedplan.load.fields import IN_QUOTES
from feedplan.load.own_names import OwnNames, own_names
from feedplan.load.schedule_models import FIXED, GeneraModel, HoldsModel, ScheduleModel, VocabularyModel
from feedplan.load.schema_names import add_names
from feedplan.words.language import say
from feedplan.words.writing import listed

Schema = dict[str, Any]


class JournalModel(RootModel[list[EntryModel]]):
    """What happened, one entry a line."""


DRAFT = "https://json-schema.org/draft/2020-12/schema"


def file_schema(kind: str, names: OwnNames | None = None) -> Schema:
    """The schema of one kind of file, one of KINDS. names: those to offer; the shipped ones if not given.

    Raises KeyError for another kind.
    """
    schema: Schema = _readable(_MAKERS[kind]())
    for name, part in schema["$defs"].items():
        part.setdefault("title", say(_in_words(name)))
    add_names(schema, names or own_names())
    return {"$schema": DRAFT, "title": f"feedplan: {kind}.yaml", **schema}


def _collection() -> Schema:
    """A collection, whose `changes` take any part of a schedule."""
    schema = _of(CollectionModel)
    schema["properties"]["trees"]["minItems"] = 1
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
    """A model's schema, plain: pydantic makes titles out of Python names."""
    schema: Schema = _plain(_as_pydantic_has_it(model))
    schema.setdefault("$defs", {})
    return schema


@cache
def _as_pydantic_has_it(model: type[BaseModel]) -> Schema:
    return model.model_json_schema()


_SENTENCES = ("description", "errorMessage")
"""The keys under which a field tells something to a person."""
_NOTHING = {"not": {"type": ["string", "number", "boolean", "object", "array"]}}
"""A key with nothing behind it. An editor would offer the word null for the type of that name."""


def _readable(node: Any) -> Any:
    """The node in the words of a person: no null to choose, and a sentence beside what a text must look like."""
    if isinstance(node, list):
        return [_readable(item) for item in node]
    if not isinstance(node, dict):
        return node
    if node == {"type": "null"}:
        return _NOTHING
    if "oneOf" in node:  # which an editor completes without a colon
        node = {"anyOf" if key == "oneOf" else key: part for key, part in node.items()}
    if "anyOf" in node:  # the first is what an editor says was expected
        node = node | {"anyOf": sorted(node["anyOf"], key=lambda part: part.get("type") == "array")}
    node = node | {key: say(node[key]) for key in _SENTENCES if isinstance(node.get(key), str)}
    left_out = [key for key in ("default", "examples") if key in node and node[key] in (None, [])]
    found = {key: _readable(part) for key, part in node.items() if key not in left_out}
    if found.get("type") == "string" and isinstance(found.get("type"), str):
        sentence = _sentence(found)
        found = {"errorMessage": sentence} | found
        if "pattern" in found:
            found.setdefault("patternErrorMessage", found["errorMessage"])
    return found


def _in_words(model: str) -> str:
    """What a part is called, from the name of its model: "water source" for WaterSourceModel."""
    words = re.findall("[A-Z][a-z]+", model.removesuffix("Change").removesuffix("Model"))
    return " ".join(words).lower()


def _sentence(text: Schema) -> str:
    """What to write, where a text will not do."""
    if "examples" in text:
        return say("Write for example {values}.", values=_or(text["examples"]))
    if "enum" in text or "const" in text:
        return say("Write {values}.", values=_or(text.get("enum") or [text["const"]]))
    return say(IN_QUOTES)


def _or(values: Iterable[object]) -> str:
    return listed([str(value) for value in values], "or")


def _plain(node: Any) -> Any:
    """The node without titles, and with one form of named things: any name that will do, and what stands below it."""
    if isinstance(node, list):
        return [_plain(item) for item in node]
    if not isinstance(node, dict):
        return node
    found = {key: _plain(part) for key, part in node.items() if key != "title" or not isinstance(part, str)}
    if len(patterns := found.pop("patternProperties", {})) == 1:
        ((pattern, part),) = patterns.items()
        found |= {"additionalProperties": part, "propertyNames": {"type": "string", "pattern": pattern}}
    return found


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
