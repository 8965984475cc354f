"""From what pydantic says to what a grower can act on: one sentence, at one place, naming the thing by its id."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from functools import cache, lru_cache
from typing import Any, TypeVar

from pydantic import BaseModel, TypeAdapter, ValidationError

from feedplan.load.meanings import NOT_NEEDED, amount_meant, key_meant, meant_by
from feedplan.load.problems import Passage, cut, near_miss, shown

Model = TypeVar("Model", bound=BaseModel)
Node = Mapping[str, Any]
Path = tuple[str | int, ...]

# What the named things of each file are called, by the key they stand under.
_NOUNS: Mapping[str, str] = {
    "trees": "tree", "feeds": "feed", "groups": "group", "away": "away", "notes": "note",
    "feeding": "feeding period", "water": "water row", "look_for": "look_for", "holds": "hold", "signs": "sign",
    "stages": "stages of", "calendars": "calendar",
}  # fmt: skip


def check_shape(adapter: TypeAdapter[Any], value: object, file: Passage) -> Any:
    """The validated model of a whole file, or None with its problems noted."""
    try:
        return adapter.validate_python(value)
    except ValidationError as error:
        explainer = _Explainer(_schema_of(adapter), value, file)
        for found in error.errors(include_url=False):
            explainer.note(found)
        return None


@cache
def _schema_of(adapter: TypeAdapter[Any]) -> Node:
    """The JSON Schema of a kind of file: a server explains slips for days, a check of many files again and again."""
    return adapter.json_schema()


def sound_part(kind: type[Model], value: object) -> Model | None:
    """The part, if it is sound; its problems are already noted."""
    try:
        return kind.model_validate(value)
    except ValidationError:
        return None


class _Explainer:
    """Turns pydantic's findings about one value into problems of the file it stands in."""

    def __init__(self, schema: Node, value: object, file: Passage) -> None:
        self._value = value
        self._file = file
        # Looked up once for all items of a list.
        self._example_at = lru_cache(maxsize=None)(lambda path: _example_at(schema, path))
        self._keys_at = lru_cache(maxsize=None)(lambda path: _keys_at(schema, path))

    def note(self, found: Any) -> None:
        """Notes the problem behind one finding."""
        kind, loc = found["type"], found["loc"]
        path = _steps_in_file(loc, self._value)
        if kind == "missing":
            if not self._is_written_otherwise(str(loc[-1]), path):
                self._file.wrong(self._missing(str(loc[-1]), path), *path)
        elif kind == "extra_forbidden":
            key, holder = str(loc[-1]), path[:-1]
            self._file.named(*holder, key).wrong(self._unknown_key(key, holder))
        else:
            place = self._file.named(*path) if loc and loc[-1] == "[key]" else self._file.at(*path)
            place.wrong(f"{self._field(path)}{self._complaint(kind, found, path)}")

    def _is_written_otherwise(self, field: str, path: Path) -> bool:
        """Whether a missing key stands there under another name, which is told of already."""
        holder = self._value
        for step in path:
            holder = holder[step]  # type: ignore[index]
        keys = [str(key) for key in holder] if isinstance(holder, dict) else []
        known = self._keys_at(_general(path))
        return any(key not in known and key_meant(key, known) == field for key in keys)

    def _missing(self, field: str, path: Path) -> str:
        example = self._example_at(_general((*path, field)))
        write = f"write for example {field}: {example}" if example else f"write {field}:"
        return f"{self._holder((*path, field)) or 'the file'} has no '{field}'; {write}"

    def _unknown_key(self, key: str, path: Path) -> str:
        known = self._keys_at(_general(path))
        name, colon, value = key.partition(":")
        if colon and name in known:
            hint = f"; write a space after the colon: {name}: {value.strip()}"
        elif key in NOT_NEEDED and "latitude" in known:
            hint = "; feedplan does not need it: remove it"
        elif key == "pot" and "work" in known:
            hint = "; write the new pot in collection.yaml, and here work: slip-potted, or work: repotted"
        elif "work" in known and "seen" in known and (amount := self._amount_meant(key, path)):
            hint = f"; write {amount}"
        elif "work" in known and "seen" in known and (meant := meant_by(key)):
            hint = f"; write {meant}"
        elif meant_key := key_meant(key, known):
            hint = f"; did you mean '{meant_key}'?"
        else:
            hint = near_miss(key, known)
            if not hint and "work" in known and "seen" in known:
                hint = "; write what happened under one of seen, work, trouble, fed and note"
        holder = self._holder((*path, key))
        return f"unknown key '{cut(key)}'{f' in {holder}' if holder else ''}{hint}"

    def _amount_meant(self, key: str, path: Path) -> str | None:
        """What to write for a key that tells how much was poured or laid."""
        holder = self._value
        for step in path:
            holder = holder[step]  # type: ignore[index]
        return amount_meant(key, shown(holder[key]), holder) if isinstance(holder, dict) else None

    def _holder(self, path: Path) -> str:
        """What a grower calls the thing that holds the last step of a path."""
        owner, rest = thing_at(path, self._value)
        return _of([*rest[:-1]], owner)

    def _field(self, path: Path) -> str:
        """ "every of feeding period 'autumn': " or as much of it as there is."""
        owner, rest = thing_at(path, self._value)
        words = _of(rest, owner)
        return f"{words}: " if words else ""

    def _complaint(self, kind: str, found: Any, path: Path) -> str:
        """What is wrong with one value and what to write."""
        value = found["input"]
        if value is None:
            example = self._example_at(_general(path))
            return f"nothing is written; write {f'for example {example}' if example else 'a value'}"
        if kind == "value_error":
            return str(found["ctx"]["error"])
        if kind == "literal_error":
            return _not_allowed(cut(shown(value)), shown(value), found["ctx"]["expected"].replace("'", ""))
        if kind == "bool_type":
            truth = {"yes": "true", "y": "true", "no": "false", "n": "false"}.get(shown(value).lower())
            return f"'{cut(shown(value))}' is neither true nor false; write {truth or 'true or false'}"
        if kind == "list_type":
            return "is not a list; write items in [ ] or on lines that start with -"
        if kind in ("dict_type", "model_type", "model_attributes_type"):
            if isinstance(value, list) and (by_name := _by_name(value, "benches" in path[-1:])):
                return f"is a list; each stands under its name: write {by_name}"
            return "is not a mapping; write keys with values, such as name: value"
        return str(found["msg"]).lower()


def _by_name(items: Sequence[object], needs_nothing: bool) -> str:
    """A list of mappings with a name as the mapping by name that is meant; empty for another list.

    needs_nothing: a name alone may stand there, too.
    """
    pairs = []
    for item in items:
        if isinstance(item, dict) and isinstance(item.get("name"), str):
            pairs.append(f"{item['name']}: {shown({k: v for k, v in item.items() if k != 'name'})}")
        elif isinstance(item, str) and needs_nothing:
            pairs.append(f"{item}: {{}}")
        else:
            return ""
    return "{" + ", ".join(pairs) + "}" if pairs else ""


def _not_allowed(short: str, written: str, allowed: str) -> str:
    """What to say of a word that is none of a few. allowed: "a, b or c"."""
    if allowed == "True":
        return f"'{short}' means nothing here; write true, or leave the key out"
    words = allowed.replace(" or ", ", ").split(", ")
    meant = _CHOICES_MEANT.get(written.lower()) or next(
        (found.value for key in ("gone", "check", "allow") if (found := meant_by(written, (key,)))), ""
    )
    if meant in words:
        return f"'{short}' is not known; did you mean '{meant}'?"
    hint = near_miss(written, words, few=0) or (
        f"; write {allowed}" if len(words) > 1 else f"; did you mean '{allowed}'?"
    )
    return f"'{short}' is not known{hint}"


_CHOICES_MEANT = {
    **dict.fromkeys(("powder", "crystals", "water-soluble", "water soluble"), "soluble"),
    **dict.fromkeys(("fluid", "concentrate"), "liquid"),
    **dict.fromkeys(
        (
            "slow release",
            "slow-release",
            "controlled release",
            "crf",
            "beads",
            "prills",
            "granules",
            "osmotic",
        ),
        "coated",
    ),
    **dict.fromkeys(("meal", "natural"), "organic"),
    **dict.fromkeys(("rapeseed", "cakes"), "cake"),
    "feeding": "feed",
}
"""Words of few, by what people write in their place."""


def _general(path: Path) -> Path:
    """A path with every item of a list taken for its first."""
    return tuple(0 if isinstance(step, int) else step for step in path)


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


def _keys_at(schema: Node, path: Path) -> list[str]:
    """The keys that may stand in a mapping at a path, by the JSON Schema of its file."""
    return [key for node in _nodes_at(schema, path) for key in node.get("properties", {})]


def _example_at(schema: Node, path: Path) -> str:
    """A good value to write at a path, by the JSON Schema of its file; empty when none is told."""
    for node in _nodes_at(schema, path):
        if node.get("examples"):
            return shown(node["examples"][0])
        if node.get("enum"):
            return str(node["enum"][0])
        if node.get("type") == "integer":
            return str(node.get("minimum", 1))
    return ""


def _nodes_at(schema: Node, path: Path) -> list[Node]:
    """The parts of a schema that a value at a path may follow, references followed, alternatives side by side."""
    nodes = _flat(schema, [schema])
    for step in path:
        nodes = _flat(schema, [inner for node in nodes for inner in _step(node, step)])
    return nodes


def _flat(schema: Node, nodes: Sequence[Node]) -> list[Node]:
    found, pending = [], list(nodes)
    while pending:
        node = pending.pop(0)
        if "$ref" in node:
            pending.append(schema["$defs"][node["$ref"].rsplit("/", 1)[1]])
        pending += [*node.get("anyOf", ()), *node.get("oneOf", ())]
        found.append(node)
    return found


def _step(node: Node, step: str | int) -> list[Node]:
    if isinstance(step, int):
        return [node["items"]] if "items" in node else []
    if step in node.get("properties", {}):
        return [node["properties"][step]]
    more = [node.get("additionalProperties"), *node.get("patternProperties", {}).values()]
    return [part for part in more if isinstance(part, dict)]
