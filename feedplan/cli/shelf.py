"""`feedplan shelf`: what each product will still be needed for, when it runs out, what to buy."""

from __future__ import annotations

import click

from feedplan.cli.options import Asked, print_json, shared_options


@click.command(short_help="Say what each feed is needed for, when it runs out, what to buy.")
@shared_options
def shelf(asked: Asked) -> None:
    """Say what each feed is needed for, when it runs out, what to buy.

    Counted from the planned feeds to the end of the season, 15 % to spare. Give stock:, counted:, keeps: and price: in
    the collection to see more.

    \b
    feedplan shelf
    feedplan shelf --json
    """
    from feedplan.engine.growing_year import season_end, season_of
    from feedplan.engine.sink.shelf import shelf_of
    from feedplan.export.sink_text import shelf_facts, shelf_lines

    opened = asked.open()
    season = opened.plan()
    hemisphere = opened.collection.place.hemisphere
    end = season_end(season_of(opened.today, hemisphere), hemisphere)
    lines = shelf_of(season, opened.collection)
    if asked.as_json:
        print_json(shelf_facts(lines, opened.today, end))
    else:
        click.echo("\n".join(shelf_lines(lines, opened.today, end)))
