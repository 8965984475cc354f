"""Examples in `--help` with the trees of the collection one stands in, so that they can be typed as they stand."""

from __future__ import annotations

import re
from itertools import cycle
from pathlib import Path
from shlex import quote

import click

_TREES = re.compile(
    r'"Old Kelp"|\b(?:Brindle|Kettle|Moth|Lodestar|Anvil|Ember|Sexton|Pippin|Seedlings)\b(?=[^a-z]|$)'
)
_NAMES = re.compile(
    r"""^\s*-\s*\{?\s*name:\s*(?:"([^"\\]+)"|'([^']+)'|([^\s"'{}\[\],#][^{}\[\],#\n]*))""", re.MULTILINE
)
_MOST_BYTES = 200_000
_MOST_NAMES = 10


class ExampleFormatter(click.HelpFormatter):
    """Help whose examples name the grower's own trees."""

    def getvalue(self) -> str:
        """The whole help."""
        from feedplan.cli.options import COLLECTION_FILE

        text = super().getvalue()
        names = _own_trees(Path(COLLECTION_FILE)) if _TREES.search(text) else []
        return _with_trees(text, names) if names else text


class HelpContext(click.Context):
    """A run of a command whose help has the grower's own trees."""

    formatter_class = ExampleFormatter


def _own_trees(file: Path) -> list[str]:
    """The first few trees of a collection, found without reading it as YAML; none where there is no such file."""
    try:
        with file.open("rb") as stream:
            text = stream.read(_MOST_BYTES).decode("utf-8", "replace")
    except OSError:
        return []
    trees = re.search(r"^trees:", text, re.MULTILINE)
    found = _NAMES.finditer(text, trees.end()) if trees is not None else ()
    return [
        next(filter(None, match.groups())).strip()
        for match, _ in zip(found, range(_MOST_NAMES), strict=False)
    ]


def _with_trees(text: str, names: list[str]) -> str:
    """The text with the trees of its examples replaced, each by the same one throughout."""
    own = cycle(names)
    chosen: dict[str, str] = {}
    lines = []
    for line in text.split("\n"):
        if line.lstrip().startswith("feedplan "):
            for tree in _TREES.findall(line):
                if tree not in chosen:
                    chosen[tree] = _typed(next(own))
            lines.append(_TREES.sub(lambda found: chosen[found[0]], line))
        else:
            lines.append(line)
    return "\n".join(lines)


def _typed(name: str) -> str:
    """A name as one types it after a command."""
    return (
        name
        if name.replace("-", "").isalnum()
        else f'"{name}"'
        if not set(name) & set('"$`\\!')
        else quote(name)
    )
