"""One mapping laid over another, key by key, with the places of both and a record of what changed."""

from __future__ import annotations

from feedplan.load.findings import shown
from feedplan.load.text.spots import Spot

NONE = "none"
"""Written over a feeding period, or over an optional key of one, it takes that away."""

Changed = dict[str, str]


def lay_over(
    base: dict[str, object],
    base_spot: Spot,
    over: dict[str, object],
    over_spot: Spot,
    *,
    changed: Changed | None = None,
    path: tuple[str, ...] = (),
) -> tuple[dict[str, object], Spot]:
    """The base with every key of `over` in place of its own; mappings are merged, anything else is replaced.

    changed: filled with each key path and the value as written, with what it replaced.
    """
    result = dict(base)
    keys, inner = (
        dict(base_spot.keys or {}),
        dict(base_spot.inner) if isinstance(base_spot.inner, dict) else {},
    )
    for key, value in over.items():
        here = (*path, key)
        was = base.get(key)
        place = over_spot.child(key) or over_spot
        if isinstance(value, dict) and isinstance(was, dict):
            was_spot = base_spot.child(key) or base_spot
            result[key], inner[key] = lay_over(was, was_spot, value, place, changed=changed, path=here)
            continue
        if changed is not None:
            changed[" / ".join(here)] = _told(value, was)
        if value == NONE and was is not None and len(here) >= 2 and here[0] == "feeding":
            for part in (result, keys, inner):
                part.pop(key, None)
            continue
        result[key], keys[key], inner[key] = value, over_spot.key(key), place
    return result, Spot(base_spot.file, base_spot.mark, keys, inner)


def _told(value: object, was: object) -> str:
    """ "14 days (was 10 days)"."""
    return f"{shown(value)} (was {'not set' if was is None else shown(was)})"
