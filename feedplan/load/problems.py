"""From what pydantic says to what a grower can act on: one sentence, at one place, naming the thing by its id."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from pydantic import TypeAdapter, ValidationError

from feedplan.errors import Problem
from feedplan.load.spots import Spot

Path = tuple[str | int, ...]

# What the named things of each file are called, by the key they stand under.
NOUNS: Mapping[str, str] = {
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


class Findings:
    """All that was found wrong, and all that is doubtful, over every file."""

    def __init__(self) -> None:
        self._problems: dict[Problem, None] = {}
        self._warnings: dict[Problem, None] = {}

    @property
    def problems(self) -> tuple[Problem, ...]:
        """Everything wrong, in the order of files and lines."""
        return tuple(sorted(self._problems))

    @property
    def warnings(self) -> tuple[Problem, ...]:
        """Everything doubtful, in the order of files and lines."""
        return tuple(sorted(self._warnings))

    def add(self, *problems: Problem) -> None:
        """Notes problems, each once."""
        self._problems.update(dict.fromkeys(problems))

    def at(self, spot: Spot, message: str) -> None:
        """Notes a problem at a place."""
        self.add(spot.problem(message))

    def warn(self, spot: Spot, message: str) -> None:
        """Notes something doubtful at a place."""
        self._warnings[spot.problem(message)] = None


def near_miss(word: str, known: Iterable[str]) -> str:
    """ "; did you mean 'every'?" when a known word is close, else the known words when they are few."""
    from difflib import get_close_matches

    words = sorted(set(known))
    folded = {w.casefold(): w for w in words}
    close = get_close_matches(word.casefold(), folded, 1, 0.6)
    if close:
        return f"; did you mean '{folded[close[0]]}'?"
    return f"; known: {', '.join(words)}" if 0 < len(words) <= 12 else ""


def check_shape(
    adapter: TypeAdapter[Any], value: object, spot: Spot, findings: Findings, path: Path = ()
) -> Any | None:
    """The validated model, or None with its problems noted.

    path: where the value stands in its file; spot: the place of the whole file.
    """
    try:
        return adapter.validate_python(value)
    except ValidationError as error:
        root = _at_path(value, path)
        findings.add(*_explain(error, adapter, root, spot, path))
        return None


def _at_path(value: object, path: Path) -> object:
    """The value as if it stood at the end of a path."""
    for step in reversed(path):
        value = {step: value}
    return value


def _explain(
    error: ValidationError, adapter: TypeAdapter[Any], root: object, spot: Spot, prefix: Path
) -> Iterator[Problem]:
    schema = adapter.json_schema()
    for found in error.errors(include_url=False):
        loc = found["loc"]
        inside = _real_steps(loc, _value_at(root, prefix))
        path = (*prefix, *inside)
        known = _Known(schema, inside)
        yield from _sentence(found["type"], found, root, spot, path, known)


def _real_steps(loc: Sequence[str | int], value: object) -> Path:
    """The steps of a location that are in the file: pydantic adds the names of union members and keys."""
    steps: list[str | int] = []
    for step in loc:
        if (isinstance(value, dict) and step in value) or (
            isinstance(value, list) and isinstance(step, int) and step < len(value)
        ):
            value = value[step]
        else:
            continue
        steps.append(step)
    return tuple(steps)


def _value_at(value: object, path: Path) -> object:
    for step in path:
        value = value[step]  # type: ignore[index]
    return value


class _Known:
    """What the schema says about the value at a path: its keys and good examples."""

    def __init__(self, schema: Mapping[str, Any], path: Path) -> None:
        self._schema = schema
        self._nodes = [schema]
        for step in path:
            self._nodes = [inner for node in self._flat() for inner in self._step(node, step)]

    def _flat(self) -> list[Mapping[str, Any]]:
        """The nodes with references followed and alternatives side by side."""
        found, pending = [], list(self._nodes)
        while pending:
            node = pending.pop()
            if "$ref" in node:
                pending.append(self._schema["$defs"][node["$ref"].rsplit("/", 1)[1]])
                continue
            pending += [*node.get("anyOf", ()), *node.get("oneOf", ())]
            found.append(node)
        return found

    def _step(self, node: Mapping[str, Any], step: str | int) -> list[Mapping[str, Any]]:
        if isinstance(step, int):
            return [node["items"]] if "items" in node else []
        if step in node.get("properties", {}):
            return [node["properties"][step]]
        more = node.get("additionalProperties")
        return [more] if isinstance(more, dict) else []

    @property
    def keys(self) -> list[str]:
        """The keys that may stand here."""
        return [key for node in self._flat() for key in node.get("properties", {})]

    def example(self, key: str | None = None) -> str:
        """A good value to write here, or under a key; empty when none is told."""
        inner = self
        if key is not None:
            inner = _Known(self._schema, ())
            inner._nodes = [found for node in self._flat() for found in self._step(node, key)]
        for node in inner._flat() + inner._nodes:
            if node.get("examples"):
                return shown(node["examples"][0])
            if node.get("enum"):
                return str(node["enum"][0])
        return ""


def shown(value: object) -> str:
    """A value as it would be written on one line of YAML."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {shown(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(shown, value)) + "]"
    return f"{value:f}" if isinstance(value, Decimal) else str(value)


def thing_at(path: Path, root: object) -> tuple[str, Path]:
    """What the grower calls the thing that holds a path ("tree 'Anvil'"), and the rest of the path inside it."""
    if isinstance(root, list) and path and isinstance(path[0], int):
        return f"entry {_entry_name(root[path[0]], path[0])}", path[1:]
    if not path:
        return "", ()
    first = str(path[0])
    inner = root.get(first) if isinstance(root, dict) else None
    if len(path) == 1 or first not in NOUNS or not isinstance(inner, (dict, list)):
        return (first, path[1:]) if isinstance(inner, dict) and first not in NOUNS else ("", path)
    if isinstance(inner, list):
        return f"{NOUNS[first]} {_item_name(inner, int(path[1]))}", path[2:]
    return f"{NOUNS[first]} '{path[1]}'", path[2:]


def _item_name(items: list[Any], index: int) -> str:
    item = items[index]
    name = item.get("name") if isinstance(item, dict) else None
    return f"'{name}'" if isinstance(name, str) else f"number {index + 1}"


def _entry_name(entry: object, index: int) -> str:
    """What a journal entry is known by: its day and whom it speaks of, else its place in the list."""
    if not isinstance(entry, dict):
        return f"number {index + 1}"
    day = entry.get("date")
    whom = next((entry[key] for key in ("tree", "group", "species") if isinstance(entry.get(key), str)), None)
    words = [
        f"of {day}" if isinstance(day, (date, str)) else f"number {index + 1}",
        f"for '{whom}'" if whom else "",
    ]
    return " ".join(word for word in words if word)


def _sentence(
    kind: str, found: Any, root: object, spot: Spot, path: Path, known: _Known
) -> Iterator[Problem]:
    """The Problem for one of pydantic's findings."""
    if kind == "missing":
        yield _missing(str(found["loc"][-1]), root, spot, path, known)
    elif kind == "extra_forbidden":
        yield _unknown_key(str(path[-1]), root, spot, path, known)
    else:
        where = spot.at(path)
        if found["loc"] and found["loc"][-1] == "[key]":
            where = spot.at(path[:-1]).key(str(path[-1]))
        yield where.problem(f"{_field(path, root)}{_complaint(kind, found, known)}")


def _missing(field: str, root: object, spot: Spot, path: Path, known: _Known) -> Problem:
    owner, rest = thing_at((*path, field), root)
    holder = " of ".join(
        [*(str(s) for s in reversed(rest[:-1]) if isinstance(s, str)), *([owner] if owner else [])]
    )
    example = known.example(field)
    write = f"write for example {field}: {example}" if example else f"write {field}:"
    return spot.at(path).problem(f"{holder or 'the file'} has no '{field}'; {write}")


def _unknown_key(key: str, root: object, spot: Spot, path: Path, known: _Known) -> Problem:
    owner, rest = thing_at(path, root)
    holder = " of ".join(
        [*(str(s) for s in reversed(rest[:-1]) if isinstance(s, str)), *([owner] if owner else [])]
    )
    parent = _Known(known._schema, path[:-1]) if known else None
    name, colon, value = key.partition(":")
    if colon and parent is not None and name in parent.keys:
        hint = f"; write a space after the colon: {name}: {value}"
    else:
        hint = near_miss(key, parent.keys if parent is not None else ())
    place = spot.at(path[:-1]).key(key)
    return place.problem(f"unknown key '{key}'{f' in {holder}' if holder else ''}{hint}")


def _field(path: Path, root: object) -> str:
    """ "every of feeding period 'autumn': " or as much of it as there is."""
    owner, rest = thing_at(path, root)
    names = [str(step) for step in rest if isinstance(step, str)]
    words = " of ".join([*reversed(names), *([owner] if owner else [])])
    return f"{words}: " if words else ""


def _complaint(kind: str, found: Any, known: _Known) -> str:
    """What is wrong with one value and what to write."""
    value = found["input"]
    example = known.example()
    hint = f"; write for example {example}" if example else ""
    if value is None:
        return f"nothing is written{hint or '; write a value'}"
    if kind == "value_error":
        return str(found["ctx"]["error"])
    if kind == "literal_error":
        allowed = found["ctx"]["expected"].replace("'", "")
        if allowed == "True":
            return f"{shown(value)} means nothing here; write true, or leave the key out"
        return f"'{shown(value)}' is not known; write {allowed}"
    if kind == "bool_type":
        return f"'{shown(value)}' is neither true nor false; write true or false"
    if kind == "list_type":
        return "is not a list; write items in [ ] or on lines that start with -"
    if kind in ("dict_type", "model_type", "model_attributes_type"):
        return "is not a mapping; write keys with values, such as name: value"
    return str(found["msg"]).lower()
