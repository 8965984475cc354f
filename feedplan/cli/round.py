"""`feedplan round`: the day's work, from the one line a phone would show to what to look for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from functools import partial
from typing import TYPE_CHECKING

import click

from feedplan.cli.main import nearest
from feedplan.cli.options import DAY, Asked, Opened, print_json, shared_options
from feedplan.engine.answers.part_of_day import part_of_day, whereabouts
from feedplan.engine.day import Day, day_of
from feedplan.engine.plan import LONGEST_AHEAD
from feedplan.engine.water.checks import sheet_of
from feedplan.errors import UsageError
from feedplan.export.glance_text import glance_lines
from feedplan.export.helper_sheet import helper_facts, helper_lines, next_away
from feedplan.export.round_facts import round_facts
from feedplan.export.round_text import round_lines
from feedplan.export.rounds_calendar import coming_words
from feedplan.words.language import say

if TYPE_CHECKING:
    from feedplan.engine.season import Season

_AHEAD = timedelta(days=120)
"""So far a day with nothing to do looks for what comes next: longer than a winter."""
_UNKNOWN = {
    "tree": "there is no tree '{word}' here that day; {choices}",
    "bench": "there is no bench '{word}'; {choices}",
    "group": "there is no group '{word}'; {choices}",
}


@click.command(name="round", short_help="Say what to do today: what to mix, which trees, which not.")
@click.option("--date", "day", type=DAY, metavar="DATE", help="The round of another day, such as 2027-06-14.")
@click.option("--all", "whole", is_flag=True, help="Everything there is to say, not one screen of it.")
@click.option("--tree", multiple=True, metavar="NAME", help="Only what concerns a tree; may be repeated.")
@click.option("--bench", multiple=True, metavar="NAME", help="Only what concerns a bench.")
@click.option("--group", multiple=True, metavar="NAME", help="Only what concerns a group.")
@click.option("--helper", is_flag=True, help="The sheet for whoever waters while you are away.")
@click.argument("more_of_name", nargs=-1, metavar="")
@shared_options
def round(
    asked: Asked,
    day: date | None,
    whole: bool,
    helper: bool,
    more_of_name: Sequence[str],
    **narrowed_by: Sequence[str],
) -> None:
    """Say what to do today: what to mix, which trees, which not.

    \b
    feedplan round
    feedplan round --bench "south wall"
    feedplan round --date 2027-06-14 --all
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
    if any(narrowed_by.values()):
        found = part_of_day(season, found, _names_meant(season, day, narrowed_by, more_of_name))
    elif more_of_name:
        raise UsageError(
            say("say what '{words}' is: --tree, --bench or --group", words=" ".join(more_of_name))
        )
    if asked.as_json:
        print_json(round_facts(found, opened.collection))
    elif whole:
        click.echo("\n".join(round_lines(found, opened.collection)))
    else:
        bold = partial(click.style, bold=True)
        coming = () if any(narrowed_by.values()) else _coming(opened, found)
        click.echo("\n".join(glance_lines(found, opened.collection, coming=coming, marked=bold)))


def _coming(opened: Opened, day: Day) -> tuple[str, ...]:
    """What comes next after a day with nothing to do."""
    if not day.is_quiet:
        return ()
    season = opened.plan(min(day.day, opened.today), min(day.day + _AHEAD, opened.today + LONGEST_AHEAD))
    return coming_words(season, opened.collection, day.day)


def _names_meant(
    season: Season, day: date, wanted: Mapping[str, Sequence[str]], more: Sequence[str] = ()
) -> set[str]:
    """The trees asked for by name, bench or group. Raises UsageError for a word that is none of these.

    more: what stands behind a name without quotes; it belongs to the last of those asked for.
    """
    here, names = whereabouts(season, day), set()
    last = [kind for kind, words in wanted.items() if words][-1]
    for kind, words in wanted.items():
        known = {word.casefold(): members for word, members in here[kind].items()}
        whole = [*words[:-1], " ".join([words[-1], *more])] if kind == last else words
        for word in whole:
            if word.casefold() not in known:
                choices = nearest(word, here[kind])
                raise UsageError(say(_UNKNOWN[kind], word=word, choices=choices))
            names |= known[word.casefold()]
    return names


def check_in_reach(day: date, today: date) -> None:
    """Refuse a day the plan does not reach. Raises UsageError."""
    if day > today + LONGEST_AHEAD:
        last = today + LONGEST_AHEAD
        raise UsageError(say("{day} is too far ahead; a plan reaches 5 years, to {last}", day=day, last=last))
    if day < today - timedelta(days=5 * 366):
        raise UsageError(say("{day} is too far back; a plan reaches 5 years", day=day))


def _print_helper_sheet(opened: Opened, *, as_json: bool) -> None:
    away = next_away(opened.collection, opened.today)
    if away is None:
        raise UsageError(
            say("no days away are coming; write them in collection.yaml: away: [{from: DATE, to: DATE}]")
        )
    season = opened.plan(away.start, away.end)
    sheet = sheet_of(season, away)
    if as_json:
        print_json(helper_facts(sheet))
    else:
        click.echo("\n".join(helper_lines(sheet)))
