"""`feedplan season`: the year as a picture and a table, and a past year as it was."""

from __future__ import annotations

import click

from feedplan.cli.options import Asked, Opened, print_json, shared_options
from feedplan.engine.answers.year_book import year_book
from feedplan.engine.growing_year import season_end, season_of, season_start
from feedplan.engine.plan import LONGEST_AHEAD
from feedplan.errors import UsageError
from feedplan.export.season_text import season_facts, season_lines
from feedplan.export.year_book import year_book_facts, year_book_lines, year_book_table
from feedplan.memory import first_on_record
from feedplan.words.language import say
from feedplan.words.writing import full_day


@click.command(short_help="Show the year: every tree's feeds, holds and nitrogen; a past one as it was.")
@click.option(
    "--year", type=int, metavar="YEAR", help="The growing year, named by its first day; this one if left out."
)
@click.option("--book", is_flag=True, help="This year so far as the year book has it, tree by tree.")
@click.option("--csv", "as_table", is_flag=True, help="Print the year book as CSV: a line a tree and event.")
@shared_options
def season(asked: Asked, year: int | None, *, book: bool, as_table: bool) -> None:
    """Show the year: every tree's feeds, holds and nitrogen, week by week.

    A year that is over is shown as it was, tree by tree: the year book.

    \b
    feedplan season
    feedplan season --year 2027
    feedplan season --year 2027 --csv > 2027.csv
    """
    opened = asked.open()
    hemisphere = opened.collection.place.hemisphere
    this_year = season_of(opened.today, hemisphere)
    year = this_year if year is None else year
    if year < this_year or book or as_table:
        _show_book(asked, opened, year, as_table=as_table)
        return
    if year - this_year > LONGEST_AHEAD.days // 366:
        raise UsageError(
            say("{year} is out of reach; a plan reaches 5 years from {now}", year=year, now=this_year)
        )
    planned = opened.plan(season_start(year, hemisphere), season_end(year, hemisphere))
    if asked.as_json:
        print_json(season_facts(planned, opened.collection, year))
    else:
        click.echo("\n".join(season_lines(planned, opened.collection, year)))


def _show_book(asked: Asked, opened: Opened, year: int, *, as_table: bool) -> None:
    """Print the year book. Raises UsageError for a year to come, and for one before any record."""
    hemisphere = opened.collection.place.hemisphere
    first, last = season_start(year, hemisphere), season_end(year, hemisphere)
    if first > opened.today:
        raise UsageError(
            say("{year} is still to come; feedplan season --year {year} shows its plan", year=year)
        )
    known = first_on_record(opened.loaded, opened.file)
    if known is None or known > opened.today:
        raise UsageError(say("nothing is on record yet; a year book tells what was"))
    if known > last:
        raise UsageError(
            say("nothing is on record before {day}; {year} has no year book", day=full_day(known), year=year)
        )
    planned = opened.plan(first, last)
    told = year_book(planned, year)
    if as_table:
        click.echo(year_book_table(told), nl=False)
    elif asked.as_json:
        print_json(season_facts(planned, opened.collection, year) | year_book_facts(told))
    else:
        click.echo("\n".join(year_book_lines(told, planned)))
