"""Completion with the Tab key: names and words from the collection, and silence when there is none."""

from __future__ import annotations

from collections.abc import Iterable

import click
from click.shell_completion import CompletionItem

from feedplan.cli.options import collection_file
from feedplan.errors import FeedplanError
from feedplan.load.collection import load_collection
from feedplan.model.collection import Collection


def complete_groups(context: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """The groups whose names begin like that."""
    collection = _collection(context)
    return _beginning(incomplete, () if collection is None else collection.groups)


def complete_words(context: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """The trees, and for `seen` the stages and signs, that begin like that."""
    collection = _collection(context)
    if collection is None:
        return []
    words = collection.vocabulary.words if context.info_name == "seen" else ()
    return _beginning(incomplete, [*words, *(tree.name for tree in collection.trees)])


def _collection(context: click.Context) -> Collection | None:
    place = next((c.params["collection"] for c in _outwards(context) if c.params.get("collection")), None)
    try:
        return load_collection(collection_file(place)).collection
    except (FeedplanError, OSError):
        return None


def _outwards(context: click.Context | None) -> list[click.Context]:
    return [] if context is None else [context, *_outwards(context.parent)]


def _beginning(incomplete: str, names: Iterable[str]) -> list[CompletionItem]:
    folded = incomplete.casefold()
    return [CompletionItem(name) for name in names if name.casefold().startswith(folded)]
