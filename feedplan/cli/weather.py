"""`feedplan weather`: what the climate folder holds, what is estimated, and the thirst of the year."""

from __future__ import annotations

import click

from feedplan.cli.options import Asked, print_json, shared_options
from feedplan.engine.outdoors.skies import site_of, summarise
from feedplan.engine.water.watches import checks_basis
from feedplan.export.weather_text import weather_facts, weather_lines
from feedplan.words.language import say
from feedplan.words.outdoors import checks_by_words

NO_FOLDER = (
    "No weather is known: there is no climate folder beside collection.yaml.",
    "Make climate/normals.csv with a header and 12 lines: month,tmin_c,tmax_c,rain_mm",
    "Add climate/daily.csv to know the days ahead: date,tmin_c,tmax_c,rain_mm",
)


@click.command(short_help="Say what weather is known, what is estimated, and the year's evaporation.")
@shared_options
def weather(asked: Asked) -> None:
    """Say what weather is known, what is estimated, and the year's evaporation.

    \b
    feedplan weather
    feedplan weather --json
    """
    opened = asked.open()
    climate = opened.loaded.climate
    climate = climate.as_of(opened.today) if climate is not None else None
    checks_by = checks_by_words(checks_basis(opened.collection, climate))
    if climate is None:
        if asked.as_json:
            print_json({"sources": [], "checks_by": checks_by})
        else:
            click.echo("\n".join([*map(say, NO_FOLDER), checks_by]))
        return
    summary = summarise(climate, site_of(opened.collection.place))
    if asked.as_json:
        print_json(weather_facts(summary, checks_by))
    else:
        click.echo("\n".join(weather_lines(summary, checks_by)))
