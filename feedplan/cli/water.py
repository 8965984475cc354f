"""`feedplan water`: which water goes where, how it suits the trees, how much must drain, when to flush."""

from __future__ import annotations

import click

from feedplan.cli.options import Asked, print_json, shared_options
from feedplan.export.waters_text import waters_facts, waters_lines


@click.command(short_help="Say which water goes where, how salty it is, and when to flush.")
@shared_options
def water(asked: Asked) -> None:
    """Say which water goes where, how salty it is, and when to flush.

    \b
    feedplan water
    feedplan water --json
    """
    collection = asked.open().collection
    if asked.as_json:
        print_json(waters_facts(collection))
    else:
        click.echo("\n".join(waters_lines(collection)))
