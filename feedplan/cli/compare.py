"""`feedplan compare`: what changed from one day to another, or from one collection or calendar file to another."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import click

from feedplan.cli.options import DAY, Asked, Opened, collection_file, print_json, shared_options
from feedplan.engine.answers.comparison import Side
from feedplan.engine.answers.comparison import compare as differences_of
from feedplan.engine.plan import LOOK_AHEAD_DAYS
from feedplan.errors import UsageError
from feedplan.export.comparison_text import compare_with_ledger, comparison_facts, comparison_lines
from feedplan.export.entry import CalendarName
from feedplan.export.ledger import Ledger
from feedplan.load.collection import Loaded, load_collection
from feedplan.memory import plan
from feedplan.model.collection import Collection
from feedplan.words.language import say

ONE_DAY = timedelta(days=1)


@click.command(short_help="Say what changed since yesterday, or against another collection or calendar.")
@click.option(
    "--from", "first", type=DAY, metavar="DATE", help="The earlier day; the day before if left out."
)
@click.option("--to", "last", type=DAY, metavar="DATE", help="The later day; today if left out.")
@click.option(
    "--with", "other", type=click.Path(), metavar="DIR", help="Another collection, on the later day."
)
@click.option(
    "--calendar",
    "published",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="A calendar file written before.",
)
@shared_options
def compare(
    asked: Asked, first: date | None, last: date | None, other: str | None, published: Path | None
) -> None:
    """Say what changed since yesterday, or against another collection or calendar.

    Each event that moved, was weakened, appeared or went is told with its reason.

    \b
    feedplan compare
    feedplan compare --from 2027-05-01 --to 2027-05-15
    feedplan compare --with ../next-year
    feedplan compare --calendar trees.ics
    """
    opened = asked.open()
    later = last or opened.today
    if published is not None:
        if first is not None or other is not None:
            raise UsageError(say("--calendar stands for the earlier plan; leave out --from and --with"))
        _against_calendar(asked, opened, later, published)
        return
    earlier = first or (later if other is not None else later - ONE_DAY)
    if earlier > later:
        raise UsageError(say("--from {first} is after --to {last}; swap them", first=earlier, last=later))
    file = opened.file if other is None else collection_file(other)
    second = opened.loaded if other is None else load_collection(file)
    end = later + timedelta(days=LOOK_AHEAD_DAYS)
    sides = (
        _side(opened.loaded, earlier, earlier, end, opened.file),
        _side(second, later, earlier, end, file),
    )
    found = differences_of(*sides, earlier, end)
    if asked.as_json:
        print_json({"from": earlier, "to": later, "differences": comparison_facts(found, later)})
    else:
        click.echo("\n".join(comparison_lines(found, later)))


def _side(loaded: Loaded, today: date, start: date, end: date, file: Path) -> Side:
    return Side(plan(loaded, today, start, end, file=file).season, loaded.collection)


def _read(raw: bytes, collection: Collection) -> tuple[CalendarName, Ledger]:
    """Which of the collection's calendars a ledger is of, and what it remembers. Raises LedgerError for none."""
    from feedplan.export.calendars import settings_of
    from feedplan.export.ledger import LedgerError, parse_ledger

    for name in CalendarName:
        try:
            return name, parse_ledger(raw, settings_of(name, collection).uid)
        except LedgerError as refusal:
            problem = refusal
    raise problem


def _against_calendar(asked: Asked, opened: Opened, today: date, published: Path) -> None:
    from feedplan.export.ledger import LedgerError
    from feedplan.export.unchanged import ledger_beside

    memory = ledger_beside(published)
    if not memory.is_file():
        raise UsageError(
            say(
                "there is no {file}; write the calendar first: feedplan calendar -o {calendar}",
                file=memory,
                calendar=published,
            )
        )
    try:
        name, ledger = _read(memory.read_bytes(), opened.collection)
    except LedgerError as problem:
        raise UsageError(
            say(
                "{file} {problem}; write the calendar anew: feedplan calendar -o {calendar}",
                file=memory,
                problem=problem,
                calendar=published,
            )
        ) from None
    end = today + timedelta(days=LOOK_AHEAD_DAYS)
    side = _side(opened.loaded, today, today, end, opened.file)
    found = compare_with_ledger(ledger, name, side, (today, end))
    if asked.as_json:
        print_json({"calendar": str(published), "to": today, "differences": comparison_facts(found, today)})
    else:
        click.echo("\n".join(comparison_lines(found, today)))
