"""feedplan schema: the JSON Schemas of the files, for an editor, with the names of the collection one stands in."""

from __future__ import annotations

import contextlib
import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from feedplan.cli.options import COLLECTION_FILE, collection_file
from feedplan.errors import CannotWriteError
from feedplan.words.language import say

if TYPE_CHECKING:
    from feedplan.load.folder import Folder

KINDS = ("collection", "journal", "schedule", "holds", "stages", "genera")
IN_COLLECTION = ("collection", "journal", "schedule")
"""The kinds that lie beside a collection, as schemas/KIND.schema.json."""
FOLDER = "schemas"


@click.command()
@click.argument("kind", type=click.Choice(KINDS), default="collection")
@click.option(
    "-c",
    "--collection",
    "place",
    metavar="DIR",
    type=click.Path(),
    help="The collection whose names to offer; the folder you stand in if not given.",
)
@click.option(
    "--write", is_flag=True, help="Write schemas/ of that collection anew, in place of printing one."
)
def schema(kind: str, place: str | None, write: bool) -> None:
    """Print the JSON Schema of a kind of file, for completion and checking in an editor.

    Where you stand in a collection, it offers your groups, trees, feeds and benches, and marks names that nothing
    has. "feedplan check" keeps schemas/ up to date.

    \b
    feedplan schema --write
    feedplan schema journal > journal.schema.json

    Then write as first line of the file:
    # yaml-language-server: $schema=schemas/collection.schema.json
    """
    from feedplan.load.folder import DiskFolder

    if write:
        click.echo(say("Wrote {folder}.", folder=write_schemas(collection_file(place))))
        return
    here = place is not None or Path(COLLECTION_FILE).is_file()
    click.echo(_text(kind, DiskFolder(collection_file(place)) if here else None), nl=False)


def schema_texts(folder: Folder) -> dict[str, str]:
    """The schemas of a collection with its names in them, by their file."""
    return {f"{FOLDER}/{kind}.schema.json": _text(kind, folder) for kind in IN_COLLECTION}


def write_schemas(file: Path) -> Path:
    """Write the schemas beside a collection.yaml anew; the folder they are in. Raises CannotWriteError."""
    from feedplan.files import write_together
    from feedplan.load.folder import DiskFolder

    folder = file.parent / FOLDER
    folder.mkdir(exist_ok=True)
    texts = schema_texts(DiskFolder(file))
    write_together([(file.parent / name, text.encode()) for name, text in texts.items()])
    return folder


def refresh_schemas(file: Path) -> None:
    """Write the schemas beside a collection.yaml anew, if they are there and older than it, and can be written."""
    made = file.parent / FOLDER / "collection.schema.json"
    with contextlib.suppress(OSError, CannotWriteError):
        if made.stat().st_mtime < file.stat().st_mtime:
            write_schemas(file)


def _text(kind: str, folder: Folder | None) -> str:
    from feedplan.load.json_schema import file_schema
    from feedplan.load.own_names import own_names

    return json.dumps(file_schema(kind, own_names(folder)), indent=2, ensure_ascii=False) + "\n"
