"""What the JSON Schema of a model says about the value at a path: the keys that may stand there, good examples."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from feedplan.load.findings import shown

Node = Mapping[str, Any]
Path = tuple[str | int, ...]


def nodes_at(schema: Node, path: Path) -> list[Node]:
    """The parts of a schema that a value at a path may follow, alternatives side by side."""
    nodes = [schema]
    for step in path:
        nodes = [inner for node in flat(schema, nodes) for inner in _step(node, step)]
    return nodes


def flat(schema: Node, nodes: Sequence[Node]) -> list[Node]:
    """The nodes with references followed and alternatives laid side by side."""
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
    more = node.get("additionalProperties")
    return [more] if isinstance(more, dict) else []


def keys_at(schema: Node, path: Path) -> list[str]:
    """The keys that may stand in a mapping at a path."""
    return [key for node in flat(schema, nodes_at(schema, path)) for key in node.get("properties", {})]


def example_at(schema: Node, path: Path) -> str:
    """A good value to write at a path; empty when none is told."""
    for node in flat(schema, nodes_at(schema, path)):
        if node.get("examples"):
            return shown(node["examples"][0])
        if node.get("enum"):
            return str(node["enum"][0])
        if node.get("type") == "integer":
            return str(node.get("minimum", 1))
    return ""
