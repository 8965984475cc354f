"""`feedplan why`: what is planned for a tree on a day, and every reason behind it."""

from __future__ import annotations

from datetime import date, timedelta

import click

from feedplan.cli.main import nearest
from feedplan.cli.options import DAY, Asked, print_json, shared_options
from feedplan.cli.round import check_in_reach
from feedplan.engine.answers.explain import explain
from feedplan.engine.plan import LONGEST_AHEAD
from feedplan.errors import UsageError
from feedplan.export.why_text import why_facts, why_lines
from feedplan.memory import first_on_record
from feedplan.words.language import say

# How far past the day to look for the next feed.
LOOK_ON = timedelta(days=400)


@click.command(short_help="Say what is planned for a tree, and every reason behind it.")
@click.argument("tree")
@click.argument("day", type=DAY, required=False, metavar="[DATE]")
@shared_options
def why(asked: Asked, tree: str, day: date | None) -> None:
    """Say what is planned for a tree, and every reason behind it.

    \b
    feedplan why Brindle
    feedplan why Brindle 2027-06-14
    """
    opened = asked.open()
    day = day or opened.today
    is_long_ago = day < opened.today - LONGEST_AHEAD  # only then is the whole history read for its first day
    earliest = first_on_record(opened.loaded, opened.file) if is_long_ago else None
    if earliest is None or day < earliest:
        check_in_reach(day, opened.today)
    names = {found.name.casefold(): found for found in opened.collection.trees}
    found = names.get(tree.casefold())
    if found is None:
        known = [each.name for each in names.values()]
        raise UsageError(say("there is no tree '{tree}'; {choices}", tree=tree, choices=nearest(tree, known)))
    season = opened.plan(min(day, opened.today), day + LOOK_ON)
    answer = explain(season, found, day)
    if asked.as_json:
        print_json(why_facts(answer))
    else:
        click.echo("\n".join(why_lines(answer)))
