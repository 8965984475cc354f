"""Where in a JSON Schema names stand: each is offered with what it means, and one that nothing has is marked."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from feedplan.load.own_names import OwnNames
from feedplan.words.language import say

Schema = dict[str, Any]

_MOMENTS = {("PeriodModel", key) for key in ("from", "to", "lift")}
_MOMENTS |= {("WorkTimeModel", key) for key in ("from", "to")}
NAMED: Mapping[tuple[str, str], str] = {
    ("PlaceModel", "time_zone"): "zone",
    ("GroupModel", "schedule"): "schedule",
    **{(owner, key): "feed" for owner in ("GroupModel", "TreeModel") for key in ("feed", "solid_feed")},
    ("GroupModel", "mix_of"): "feed",
    ("FeedUseModel", "use"): "feed",
    ("GroupModel", "water"): "water",
    ("BlendModel", "blend"): "water",
    ("TreeModel", "group"): "group",
    **{(owner, "bench"): "bench" for owner in ("GroupModel", "TreeModel", "EntryModel")},
    **{("EntryModel", key): "tree" for key in ("tree", "trees", "but_not")},
    **{("EntryModel", key): "group" for key in ("group", "moved")},
    **{("EntryModel", key): key for key in ("species", "work", "trouble", "arrived")},
    ("EntryModel", "planned"): "work",
    ("EntryModel", "seen"): "sign",
    **{("EntryModel", key): "feed" for key in ("feed", "laid")},
    ("ScheduleModel", "stages"): "calendar",
    ("WorkTimeModel", "done"): "work",
    ("LookForModel", "until_seen"): "sign",
    ("HoldModel", "seen"): "sign",
    ("HoldModel", "release_at"): "stage",
    **{("HoldModel", key): "need" for key in ("until_seen", "instead_seen")},
    ("HoldModel", "turns_into"): "hold",
    ("PeriodModel", "or_after"): "hold",
    **dict.fromkeys(_MOMENTS, "moment"),
}
"""The keys that hold names, by the model they stand in, with what they name."""
KEYS_NAMED = {("ScheduleModel", "water"): "stage", ("ScheduleModel", "look_for"): "stage"}
"""The keys below which every key is a name."""
_OPEN = ("bench", "species", "hold")
"""Names that may be new: they are offered, and any other will do."""
_LISTED_AS = {"need": "sign", "moment": "stage"}
_SENTENCES = {
    "zone": "No time zone is called so. Write one that is offered, such as Europe/London.",
    "schedule": "No schedule is called so. Write one that is offered, or the path of your own, ending in .yaml.",
    "stage": "No stage is called so. Write one that is offered.",
    "sign": "No stage or sign is called so. Write one that is offered.",
    "need": "No stage or sign is called so. Write one that is offered, and behind it twice or 3 times if need be.",
    "moment": "Write a stage or a day, such as leaves open, leaves open + 10 days, 15 August, or two with or between.",
    "calendar": "No typical year is called so. Write one that is offered.",
    "work": "No hold knows this work. Write one that is offered, or tell it under note.",
    "trouble": "No hold knows this trouble. Write one that is offered, or tell it under note.",
    "arrived": "No hold knows this. Write one that is offered.",
    "tree": "No tree is called so. If it is new, write it into collection.yaml and type: feedplan schema --write",
    "group": "No group is called so. If it is new, write it under groups and type: feedplan schema --write",
    "feed": "No feed is called so. If it is new, write it under feeds and type: feedplan schema --write",
    "water": "No water is called so. If it is new, write it under water and type: feedplan schema --write",
}
_DAY_OF_YEAR = r"\d{1,2}\.?\s+[a-z]{3,9}\.?"


def add_names(schema: Schema, names: OwnNames) -> None:
    """Puts the names into a schema, wherever they stand."""
    used: set[str] = set()
    for model, part in [("", schema), *schema["$defs"].items()]:
        owner = _owner(model or _root(schema))
        for key, field in part.get("properties", {}).items():
            what, below = NAMED.get((owner, key)), KEYS_NAMED.get((owner, key))
            if what is not None and names.named.get(_LISTED_AS.get(what, what)):
                part["properties"][key] = _named(field, what)
                used.add(what)
            if below is not None:
                used.add(below)
                for branch in (field, *field.get("anyOf", ())):
                    if "additionalProperties" in branch:
                        branch["propertyNames"] = _reference(below)
    schema["$defs"] |= {_part(what): _leaf(what, names) for what in sorted(used)}


def _owner(model: str) -> str:
    """The model a part was made from, whether as it stands or for a change."""
    return "ScheduleModel" if model == "ScheduleChange" else model.removesuffix("Change")


def _root(schema: Schema) -> str:
    return "ScheduleModel" if "feeding" in schema.get("properties", {}) else ""


def _part(what: str) -> str:
    """Where a schema keeps the names of one kind."""
    return f"{what.capitalize()}Name"


def _reference(what: str) -> Schema:
    return {"$ref": f"#/$defs/{_part(what)}"}


def _named(node: Any, what: str) -> Any:
    """A field with every text in it led to the names; what is said of the field stays."""
    if not isinstance(node, dict):
        return node
    if node.get("type") == "string":
        return _reference(what) | {key: node[key] for key in ("description",) if key in node}
    found = {key: part for key, part in node.items() if key != "examples"}
    for key in ("anyOf", "oneOf"):
        if key in found:
            found[key] = [_named(part, what) for part in found[key]]
    if "items" in found:
        found["items"] = _named(found["items"], what)
    return found


def _leaf(what: str, names: OwnNames) -> Schema:
    """A text that is one of the names: those offered, then what else will do."""
    listed = names.named[_LISTED_AS.get(what, what)]
    offered: Schema = {"enum": list(listed), "enumDescriptions": list(listed.values())}
    if what in _OPEN or not names.is_whole:
        return {"anyOf": [offered, {"type": "string"}]}
    told = say(_SENTENCES[what])
    sentence = {"errorMessage": told, "patternErrorMessage": told}
    pattern = _pattern(what, listed, names)
    if not pattern:
        return offered | {"errorMessage": told}
    return {"anyOf": [offered | sentence, {"type": "string", "pattern": pattern, **sentence}]}


def _pattern(what: str, listed: Iterable[str], names: OwnNames) -> str:
    """How else a name may be written: in any letters, by its other words, with what may stand behind it."""
    if what == "schedule":
        return r"\.ya?ml$"
    if what not in ("stage", "sign", "need", "moment"):
        return ""
    spelled = [
        re.escape(word).replace(r"\ ", r"\s+")
        for name in listed
        for word in (name, *names.also.get(name, ()))
    ]
    word = f"(?:{'|'.join(spelled)})"
    if what == "need":
        word = rf"{word}(?:\s+(?:once|twice|\d+\s+times))?"
    if what == "moment":
        one = rf"(?:{_DAY_OF_YEAR}|{word}(?:\s*[+-]\s*\d+\s*[a-z]+)?(?:\s+once\s+seen)?)"
        word = rf"{one}(?:(?:\s+or\s+{one})*|(?:\s+and\s+{one})*)"
    return rf"(?i)^\s*{word}\s*$"
