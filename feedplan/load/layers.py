"""One mapping laid over another: a collection's own file over the shipped one, changes over a schedule."""

from __future__ import annotations

from typing import Any, NamedTuple

from pydantic import TypeAdapter

from feedplan.load.folder import SCHEDULES, SHIPPED, Folder, shipped_page
from feedplan.load.problems import Findings, Passage, Spot, shown
from feedplan.load.shape import check_shape

NONE = "none"
"""Written over a feeding period, or over an optional key of one, it takes that away."""

Changed = dict[str, str]
"""What was changed: each path of keys with the value as written and what it replaced."""


class Written(NamedTuple):
    """A mapping as written, and the place of every part of it."""

    value: dict[str, Any]
    spot: Spot

    def inner(self, key: str) -> Written:
        """The mapping under a key."""
        return Written(self.value[key], self.spot.child(key) or self.spot)


def lay_over(
    base: Written, over: Written, changed: Changed | None = None, path: tuple[str, ...] = ()
) -> Written:
    """The base with every key of `over` in place of its own; mappings are merged, anything else is replaced.

    changed: filled with what is changed. path: the keys that lead here.
    """
    value, keys = dict(base.value), dict(base.spot.keys or {})
    inner = dict(base.spot.inner) if isinstance(base.spot.inner, dict) else {}
    for key, new in over.value.items():
        here, was = (*path, key), base.value.get(key)
        if isinstance(new, dict) and isinstance(was, dict):
            value[key], inner[key] = lay_over(base.inner(key), over.inner(key), changed, here)
            continue
        if changed is not None:
            changed[" / ".join(here)] = f"{shown(new)} (was {'not set' if was is None else shown(was)})"
        if new == NONE and was is not None and len(here) >= 2 and here[0] == "feeding":
            for part in (value, keys, inner):
                part.pop(key, None)
            continue
        value[key], keys[key], inner[key] = new, over.spot.key(key), over.spot.child(key) or over.spot
    return Written(value, Spot(base.spot.file, base.spot.mark, keys, inner))


def read_layered(
    adapter: TypeAdapter[Any], folder: Folder, name: str, findings: Findings
) -> tuple[Any, Written] | None:
    """A shipped file with the collection's own of that name laid over it: its model, and all of it as written.

    When the own file is unsound, its problems are noted and the shipped one is used alone.
    """
    page, own = shipped_page(name), folder.page(f"{SCHEDULES}/{name}.yaml")
    if page is None or not isinstance(page.value, dict):
        findings.at(Spot.start_of(f"{SHIPPED}/{name}.yaml"), "is missing; install feedplan again")
        return None
    layers = [Written(page.value, page.spot)]
    if own is not None:
        findings.add_misread(own.problems)
        if isinstance(own.value, dict):
            layers.insert(0, lay_over(layers[0], Written(own.value, own.spot)))
        elif own.value is not None:
            findings.at(own.spot, "is not a mapping; write keys with values")
    for whole in layers:
        model = check_shape(adapter, whole.value, Passage(whole.spot, findings))
        if model is not None:
            return model, whole
    return None
