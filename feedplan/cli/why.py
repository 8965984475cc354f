"""`feedplan why`: what is planned for a tree on a day, and every reason behind it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

import click

from feedplan.cli.main import nearest
from feedplan.cli.options import Asked, Opened, as_day, print_json, shared_options
from feedplan.cli.round import check_in_reach
from feedplan.engine.answers.explain import explain
from feedplan.engine.plan import LONGEST_AHEAD
from feedplan.errors import UsageError
from feedplan.export.why_text import why_facts, why_lines
from feedplan.memory import first_on_record
from feedplan.model.collection import Tree
from feedplan.words.language import say

# How far past the day to look for the next feed.
LOOK_ON = timedelta(days=400)


@click.command(short_help="Say what is planned for a tree, and every reason behind it.")
@click.argument("words", nargs=-1, required=True, metavar="TREE [DATE]")
@shared_options
def why(asked: Asked, words: tuple[str, ...]) -> None:
    """Say what is planned for a tree, and every reason behind it.

    \b
    feedplan why Brindle
    feedplan why Brindle 2027-06-14
    """
    opened = asked.open()
    found, day = _meant(words, opened)
    is_long_ago = day < opened.today - LONGEST_AHEAD  # only then is the whole history read for its first day
    earliest = first_on_record(opened.loaded, opened.file) if is_long_ago else None
    if earliest is None or day < earliest:
        check_in_reach(day, opened.today)
    season = opened.plan(min(day, opened.today), day + LOOK_ON)
    answer = explain(season, found, day)
    if asked.as_json:
        print_json(why_facts(answer))
    else:
        click.echo("\n".join(why_lines(answer)))


def _meant(words: Sequence[str], opened: Opened) -> tuple[Tree, date]:
    """The tree of that name, with or without quotes, and the day behind it or today. Raises UsageError for no tree."""
    names = {found.name.casefold(): found for found in opened.collection.trees}
    for length in range(len(words), 0, -1):
        found = names.get(" ".join(words[:length]).casefold())
        if found is not None:
            rest = " ".join(words[length:])
            return found, as_day(rest) if rest else opened.today
    typed = [word for word in words if not word[:4].isdigit()] or words
    known, tree = [each.name for each in names.values()], " ".join(typed)
    raise UsageError(say("there is no tree '{tree}'; {choices}", tree=tree, choices=nearest(tree, known)))
