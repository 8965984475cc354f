"""From what pydantic says to what a grower can act on: one sentence, at one place, naming the thing by its id."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any, TypeVar

from pydantic import BaseModel, TypeAdapter, ValidationError

from feedplan.errors import Problem
from feedplan.load.findings import Findings, cut, near_miss, shown
from feedplan.load.models.schema_walk import Path, example_at, keys_at
from feedplan.load.text.spots import Spot

Model = TypeVar("Model", bound=BaseModel)

# What the named things of each file are called, by the key they stand under.
_NOUNS: Mapping[str, str] = {
    "trees": "tree",
    "feeds": "feed",
    "groups": "group",
    "away": "away",
    "notes": "note",
    "feeding": "feeding period",
    "water": "water row",
    "look_for": "look_for",
    "holds": "hold",
    "signs": "sign",
    "stages": "stages of",
    "calendars": "calendar",
}


def check_shape(
    adapter: TypeAdapter[Any], value: object, spot: Spot, findings: Findings, path: Path = ()
) -> Any:
    """The validated model, or None with its problems noted.

    path: where the value stands in its file; spot: the place of the whole file.
    """
    try:
        return adapter.validate_python(value)
    except ValidationError as error:
        explainer = _Explainer(adapter.json_schema(), value, spot, path)
        for found in error.errors(include_url=False):
            for problem in explainer.problems(found):
                findings.add(problem)
        return None


def sound_part(kind: type[Model], value: object) -> Model | None:
    """The part, if it is sound; its problems are already noted."""
    try:
        return kind.model_validate(value)
    except ValidationError:
        return None


class _Explainer:
    """Turns pydantic's findings about one value into Problems."""

    def __init__(self, schema: Mapping[str, Any], value: object, spot: Spot, prefix: Path) -> None:
        self._schema = schema
        self._value = value
        self._root = value
        for step in reversed(prefix):
            self._root = {step: self._root}
        self._spot = spot
        self._prefix = prefix
        self._examples: dict[Path, str] = {}
        self._keys: dict[Path, list[str]] = {}

    def problems(self, found: Any) -> Iterator[Problem]:
        """The Problem for one finding."""
        kind, loc = found["type"], found["loc"]
        steps = _steps_in_file(loc, self._value)
        if kind == "missing":
            yield self._missing(str(loc[-1]), steps)
        elif kind == "extra_forbidden":
            yield self._unknown_key(str(loc[-1]), steps[:-1])
        else:
            path = (*self._prefix, *steps)
            place = self._spot.at(path)
            if loc and loc[-1] == "[key]":
                place = self._spot.key_at(path)
            yield place.problem(f"{self._field(path)}{self._complaint(kind, found, steps)}")

    def _missing(self, field: str, steps: Path) -> Problem:
        path = (*self._prefix, *steps)
        example = self._example((*steps, field))
        write = f"write for example {field}: {example}" if example else f"write {field}:"
        holder = self._holder((*path, field)) or "the file"
        return self._spot.at(path).problem(f"{holder} has no '{field}'; {write}")

    def _unknown_key(self, key: str, steps: Path) -> Problem:
        path = (*self._prefix, *steps)
        known = self._known_keys(steps)
        name, colon, value = key.partition(":")
        if colon and name in known:
            hint = f"; write a space after the colon: {name}: {value}"
        else:
            hint = near_miss(key, known)
            if not hint and "work" in known and "seen" in known:
                hint = f"; for work that was done write work: {cut(key)}"
        holder = self._holder((*path, key))
        inside = f" in {holder}" if holder else ""
        return self._spot.key_at((*path, key)).problem(f"unknown key '{cut(key)}'{inside}{hint}")

    def _example(self, steps: Path) -> str:
        """A good value at a path, looked up once for all items of a list."""
        general = tuple(0 if isinstance(step, int) else step for step in steps)
        if general not in self._examples:
            self._examples[general] = example_at(self._schema, general)
        return self._examples[general]

    def _known_keys(self, steps: Path) -> list[str]:
        """The keys that may stand at a path, looked up once for all items of a list."""
        general = tuple(0 if isinstance(step, int) else step for step in steps)
        if general not in self._keys:
            self._keys[general] = keys_at(self._schema, general)
        return self._keys[general]

    def _holder(self, path: Path) -> str:
        """What a grower calls the thing that holds the last step of a path."""
        owner, rest = thing_at(path, self._root)
        return _of([*rest[:-1]], owner)

    def _field(self, path: Path) -> str:
        """ "every of feeding period 'autumn': " or as much of it as there is."""
        owner, rest = thing_at(path, self._root)
        words = _of(rest, owner)
        return f"{words}: " if words else ""

    def _complaint(self, kind: str, found: Any, steps: Path) -> str:
        """What is wrong with one value and what to write."""
        value = found["input"]
        if value is None:
            example = self._example(steps)
            return (
                f"nothing is written; write for example {example}"
                if example
                else "nothing is written; write a value"
            )
        if kind == "value_error":
            return str(found["ctx"]["error"])
        if kind == "literal_error":
            allowed = found["ctx"]["expected"].replace("'", "")
            if allowed == "True":
                return f"'{cut(shown(value))}' means nothing here; write true, or leave the key out"
            hint = (
                near_miss(shown(value), allowed.replace(" or ", ", ").split(", "))
                if len(allowed) > 60
                else ""
            )
            return f"'{cut(shown(value))}' is not known; write {allowed}{hint}"
        if kind == "bool_type":
            return f"'{cut(shown(value))}' is neither true nor false; write true or false"
        if kind == "list_type":
            return "is not a list; write items in [ ] or on lines that start with -"
        if kind in ("dict_type", "model_type", "model_attributes_type"):
            return "is not a mapping; write keys with values, such as name: value"
        return str(found["msg"]).lower()


def _of(steps: Sequence[str | int], owner: str) -> str:
    """ "pot of tree 'Anvil'": the keys from the innermost out, then the thing they belong to."""
    names = [str(step) for step in reversed(steps) if isinstance(step, str)]
    return " of ".join([*names, *([owner] if owner else [])])


def _steps_in_file(loc: Sequence[str | int], value: object) -> Path:
    """The steps of a location that are in the file: pydantic adds the names of union members and keys."""
    steps: list[str | int] = []
    for step in loc:
        in_list = isinstance(value, list) and isinstance(step, int) and step < len(value)
        if in_list or (isinstance(value, dict) and step in value):
            value = value[step]  # type: ignore[index]
            steps.append(step)
    return tuple(steps)


def thing_at(path: Path, root: object) -> tuple[str, Path]:
    """What the grower calls the thing that holds a path ("tree 'Anvil'"), and the rest of the path inside it."""
    if not path:
        return "", ()
    first = path[0]
    if isinstance(root, list) and isinstance(first, int):
        return f"entry {_entry_name(root[first], first)}", path[1:]
    inner = root.get(first) if isinstance(root, dict) else None
    if len(path) == 1 or not isinstance(inner, (dict, list)):
        return "", path
    noun = _NOUNS.get(str(first))
    if first == "stages" and isinstance(root, dict) and not {"place", "trees"} & root.keys():
        noun = "stage"
    if noun is None:
        return str(first), path[1:]
    name = _item_name(inner, path[1]) if isinstance(inner, list) else f"'{cut(str(path[1]))}'"
    return f"{noun} {name}", path[2:]


def _item_name(items: list[Any], index: str | int) -> str:
    item = items[index] if isinstance(index, int) and index < len(items) else None
    name = item.get("name") if isinstance(item, dict) else None
    return f"'{cut(name)}'" if isinstance(name, str) else f"number {int(index) + 1}"


def _entry_name(entry: object, index: int) -> str:
    """What a journal entry is known by: its day and whom it speaks of, else its place in the list."""
    if not isinstance(entry, dict):
        return f"number {index + 1}"
    day = entry.get("date")
    whom = next((entry[key] for key in ("tree", "group", "species") if isinstance(entry.get(key), str)), None)
    words = [f"of {day}" if isinstance(day, (date, str)) else f"number {index + 1}"]
    return " ".join([*words, *([f"for '{cut(whom)}'"] if whom else [])])
