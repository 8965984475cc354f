"""feedplan schema: the JSON Schema of the files, for an editor."""

from __future__ import annotations

import click

KINDS = ("collection", "journal", "schedule", "holds", "stages", "genera")


@click.command()
@click.argument("kind", type=click.Choice(KINDS), default="collection")
def schema(kind: str) -> None:
    """Print the JSON Schema of a kind of file, for completion and checking in an editor.

    \b
    feedplan schema > collection.schema.json
    feedplan schema journal > journal.schema.json

    Then write as first line of the file:
    # yaml-language-server: $schema=collection.schema.json
    """
    import json

    from feedplan.load.json_schema import file_schema

    click.echo(json.dumps(file_schema(kind), indent=2, ensure_ascii=False))
