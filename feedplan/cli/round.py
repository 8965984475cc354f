"""`feedplan round`: the day's work, from the one line a phone would show to what to look for."""

from __future__ import annotations

from datetime import date, timedelta

import click

from feedplan.cli.options import DAY, Asked, Opened, print_json, shared_options
from feedplan.engine.day import day_of
from feedplan.engine.plan import LONGEST_AHEAD
from feedplan.engine.water.checks import sheet_of
from feedplan.errors import UsageError
from feedplan.export.round_facts import round_facts
from feedplan.export.round_text import helper_lines, round_lines
from feedplan.words.language import say


@click.command(name="round", short_help="Say what to do today: what to mix, which trees, which not.")
@click.option("--date", "day", type=DAY, metavar="DATE", help="The round of another day, such as 2027-06-14.")
@click.option("--helper", is_flag=True, help="The sheet for whoever waters while you are away.")
@shared_options
def round(asked: Asked, day: date | None, helper: bool) -> None:
    """Say what to do today: what to mix, which trees, which not.

    \b
    feedplan round
    feedplan round --date 2027-06-14
    feedplan round --helper
    """
    opened = asked.open()
    day = day or opened.today
    check_in_reach(day, opened.today)
    if helper:
        _print_helper_sheet(opened, as_json=asked.as_json)
        return
    season = opened.plan(min(day, opened.today), day)
    found = day_of(season, day)
    if asked.as_json:
        print_json(round_facts(found, opened.collection))
    else:
        click.echo("\n".join(round_lines(found, opened.collection)))


def check_in_reach(day: date, today: date) -> None:
    """Refuse a day the plan does not reach. Raises UsageError."""
    if day > today + LONGEST_AHEAD:
        last = today + LONGEST_AHEAD
        raise UsageError(say("{day} is too far ahead; a plan reaches 5 years, to {last}", day=day, last=last))
    if day < today - timedelta(days=5 * 366):
        raise UsageError(say("{day} is too far back; a plan reaches 5 years", day=day))


def _print_helper_sheet(opened: Opened, *, as_json: bool) -> None:
    collection, today = opened.collection, opened.today
    away = min((a for a in collection.away if a.end >= today), key=lambda a: a.start, default=None)
    if away is None:
        raise UsageError(
            say("no days away are coming; write them in collection.yaml: away: [{from: DATE, to: DATE}]")
        )
    season = opened.plan(away.start, away.end)
    lines = list(helper_lines(sheet_of(season, away)))
    if as_json:
        print_json({"from": away.start, "to": away.end, "lines": lines})
    else:
        click.echo("\n".join(lines))
