"""Loading: the grower's files in, frozen values or every problem out."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from feedplan.load.collection import Loaded, load_collection, load_text

__all__ = ["Loaded", "load_collection", "load_text"]


def __getattr__(name: str) -> object:
    """The public names, imported when one is asked for: reading a day needs none of the rest."""
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from feedplan.load import collection  # noqa: PLC0415

    return getattr(collection, name)
