"""`feedplan season`: the year as a picture and a table."""

from __future__ import annotations

import click

from feedplan.cli.options import Asked, print_json, shared_options
from feedplan.engine.growing_year import season_end, season_of, season_start
from feedplan.engine.plan import LONGEST_AHEAD
from feedplan.errors import UsageError
from feedplan.export.season_text import season_facts, season_lines
from feedplan.words.language import say


@click.command(short_help="Show the year: every tree's feeds, holds and nitrogen, week by week.")
@click.option(
    "--year", type=int, metavar="YEAR", help="The growing year, named by its first day; this one if left out."
)
@shared_options
def season(asked: Asked, year: int | None) -> None:
    """Show the year: every tree's feeds, holds and nitrogen, week by week.

    \b
    feedplan season
    feedplan season --year 2027
    """
    opened = asked.open()
    hemisphere = opened.collection.place.hemisphere
    this_year = season_of(opened.today, hemisphere)
    year = this_year if year is None else year
    if abs(year - this_year) > LONGEST_AHEAD.days // 366:
        raise UsageError(
            say("{year} is out of reach; a plan reaches 5 years from {now}", year=year, now=this_year)
        )
    first, last = season_start(year, hemisphere), season_end(year, hemisphere)
    planned = opened.plan(first, last)
    if asked.as_json:
        print_json(season_facts(planned, opened.collection, year))
    else:
        click.echo("\n".join(season_lines(planned, opened.collection, year)))
