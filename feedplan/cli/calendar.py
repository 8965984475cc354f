"""`feedplan calendar`: the plan as an iCalendar file to import or to put on a web server."""

from __future__ import annotations

import time as clock
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from feedplan.cli.options import DAY, Asked, Opened, print_json, shared_options, today_in
from feedplan.cli.words import one_of
from feedplan.errors import UsageError
from feedplan.export.entry import CalendarName, Kind
from feedplan.export.unchanged import SpanShown, inputs_of, standing_calendar
from feedplan.words.language import say, say_count

if TYPE_CHECKING:
    from feedplan.engine.season import Season
    from feedplan.export.entry import CalendarEntry
    from feedplan.export.ics import CalendarSettings
    from feedplan.export.ledger import Scope
    from feedplan.export.publish import Report
    from feedplan.model.collection import Collection

STDOUT = "-"
_FIRST_LINE = b"BEGIN:VCALENDAR"


def _as_alarm(text: str) -> time | str:
    """A time of day, or "none" for no alarm. Raises BadParameter."""
    from feedplan.load.read_words import parse_time

    try:
        return text if text == "none" else parse_time(text)
    except ValueError as refusal:
        raise click.BadParameter(say("{refusal}, or none", refusal=refusal)) from None


@click.command()
@click.option(
    "-o", "--output", required=True, metavar="FILE", help="The file to write; - for standard output."
)
@click.option(
    "--show",
    type=click.Choice([name.value for name in CalendarName]),
    help="Which calendar: rounds if not given; detail for each thing by itself.",
)
@click.option(
    "--group", "groups", multiple=True, metavar="GROUP", help="Only this group, in detail; may be repeated."
)
@click.option(
    "--kind",
    "kinds",
    multiple=True,
    type=click.Choice([kind.value for kind in Kind]),
    help="Only this kind, in detail; may be repeated.",
)
@click.option(
    "--from", "first", type=DAY, metavar="DATE", help="First day; the month of 30 days back if not given."
)
@click.option(
    "--to", "last", type=DAY, metavar="DATE", help="Last day; the month of 400 days ahead if not given."
)
@click.option(
    "--alarm", type=_as_alarm, metavar="TIME", help="Ring at this time, such as 07:00; none for never."
)
@click.option(
    "--without-cancelled", is_flag=True, help="Leave out what is off, instead of marking it cancelled."
)
@shared_options
def calendar(asked: Asked, output: str, without_cancelled: bool, **narrowed: Any) -> None:
    """Write the plan as a calendar file for your phone.

    One row for a day with something to do, one for each time of checks; --show has what is behind it. Import FILE for
    once; to subscribe, use an address of "feedplan serve" or "feedplan publish".

    Beside FILE stands a small ledger, FILE.ledger.json: it lets the next run say what has changed or is off. Keep the
    two together.

    \b
    feedplan calendar -o trees.ics
    feedplan calendar -o holds.ics --show holds
    feedplan calendar -o feeding.ics --kind feeding --group growing-on --alarm 07:00
    """
    if output == STDOUT and asked.as_json:
        raise UsageError(say("-o - and --json both want standard output; give one"))
    if output == STDOUT:
        _print(asked, narrowed)
        return
    path = Path(output)
    options = (asked.place, output, without_cancelled, sorted(narrowed.items()))
    standing = standing_calendar(path, lambda zone: _told(options, asked.today or today_in(zone)))
    if standing is not None:
        _answer(asked, path, standing)
        return
    _publish(asked, path, options, narrowed, with_cancelled=not without_cancelled)


def _publish(
    asked: Asked, path: Path, options: object, narrowed: Mapping[str, Any], *, with_cancelled: bool
) -> None:
    """Make the calendar in full, write it and say what changed."""
    from feedplan.export.publish import publish_calendar
    from feedplan.memory import files_of

    begun_ns = clock.time_ns()
    opened = asked.open()
    season, scope = _planned(opened, narrowed)
    _check_target(path)
    zone = opened.collection.place.time_zone
    read = (*opened.loaded.files, *files_of(opened.file))
    report = publish_calendar(
        path,
        _entries(season, narrowed),
        _settings(opened.collection, narrowed),
        scope,
        opened.today,
        with_cancelled=with_cancelled,
        inputs=inputs_of(read, zone, _told(options, opened.today), begun_ns),
    )
    for warning in report.warnings:
        click.echo(say("Warning: {warning}", warning=warning), err=True)
    _answer(asked, path, SpanShown(report.events, scope.first, scope.last), report)


def _told(options: object, today: date) -> str:
    """Every option and the day, as a text to compare."""
    return repr((options, today))


def _print(asked: Asked, narrowed: Mapping[str, Any]) -> None:
    """The calendar on standard output."""
    from feedplan.export.publish import calendar_bytes

    opened = asked.open()
    season, scope = _planned(opened, narrowed)
    entries = _entries(season, narrowed)
    settings = _settings(opened.collection, narrowed)
    click.echo(calendar_bytes(entries, settings, scope, opened.today).data, nl=False)


def _planned(opened: Opened, narrowed: Mapping[str, Any]) -> tuple[Season, Scope]:
    """The season for the days asked for, and what of it to show. Raises UsageError."""
    from feedplan.export.ledger import Scope

    first: date | None = narrowed["first"]
    last: date | None = narrowed["last"]
    shown = frozenset(one_of(group, opened.collection.groups, "group") for group in narrowed["groups"])
    if first is not None and last is not None and last < first:
        raise UsageError(
            say("--to {last} comes before --from {first}; turn them round", last=last, first=first)
        )
    _asked_for(narrowed)
    season = opened.plan(first, last)
    if last is not None and last > season.end:
        click.echo(
            say("Note: {last} is too far ahead; the plan reaches to {end}.", last=last, end=season.end),
            err=True,
        )
    if first is not None and first > season.end:
        raise UsageError(
            say("--from {first} is too far ahead; the plan reaches to {end}", first=first, end=season.end)
        )
    scope = Scope(
        first or season.start,
        min(last or season.end, season.end),
        frozenset(Kind(kind) for kind in narrowed["kinds"]) or None,
        shown or None,
    )
    return season, scope


def _asked_for(narrowed: Mapping[str, Any]) -> CalendarName:
    """The calendar asked for; what is narrowed to groups or kinds is told in detail. Raises UsageError."""
    is_narrowed = bool(narrowed["groups"] or narrowed["kinds"])
    name = CalendarName(narrowed["show"] or ("detail" if is_narrowed else "rounds"))
    if is_narrowed and name is not CalendarName.DETAIL:
        raise UsageError(
            say("--group and --kind narrow what --show detail has; leave out --show {name}", name=name)
        )
    return name


def _entries(season: Season, narrowed: Mapping[str, Any]) -> list[CalendarEntry]:
    from feedplan.export.calendars import entries_of

    return entries_of(_asked_for(narrowed), season, season.collection)


def _settings(collection: Collection, narrowed: Mapping[str, Any]) -> CalendarSettings:
    """How the calendar is named, and when it rings."""
    from feedplan.export.calendars import settings_of

    groups: tuple[str, ...] = narrowed["groups"]
    alarm: time | str | None = narrowed["alarm"]
    alarm_at = collection.habits.alarm_at if alarm is None else alarm
    settings = settings_of(
        _asked_for(narrowed), collection, alarm_at=alarm_at if isinstance(alarm_at, time) else None
    )
    return replace(settings, name=f"{settings.name}: {', '.join(groups)}") if groups else settings


def _check_target(path: Path) -> None:
    """Refuse to write over something that is not a calendar. Raises UsageError."""
    if path.is_dir():
        raise UsageError(
            say("{path} is a folder; name a file in it, such as {file}", path=path, file=path / "trees.ics")
        )
    if not path.exists():
        return
    if not path.is_file():
        raise UsageError(
            say(
                "{path} is not an ordinary file; name one such as trees.ics, or write -o - to print",
                path=path,
            )
        )
    with path.open("rb") as file:
        head = file.read(len(_FIRST_LINE))
    if head not in (b"", _FIRST_LINE):
        raise UsageError(
            say(
                "{path} is there already and is not a calendar; name another file, such as trees.ics",
                path=path,
            )
        )


def _answer(asked: Asked, path: Path, standing: SpanShown, report: Report | None = None) -> None:
    """What was written, and how to get it onto a phone; without a report nothing was."""
    if asked.as_json:
        print_json(_facts(path, standing, report))
        return
    from feedplan.load.problems import visible

    size = say_count(
        "{count} entry from {first} to {last}",
        "{count} entries from {first} to {last}",
        standing.entries,
        first=standing.first,
        last=standing.last,
    )
    if report is None or not report.is_rewritten:
        click.echo(say("{file} is up to date: {size}, nothing changed.", file=visible(str(path)), size=size))
        return
    click.echo(
        say(
            "Wrote {file}: {size}; {new} new, {changed} changed, {cancelled} cancelled.",
            file=visible(str(path)),
            size=size,
            new=report.new,
            changed=report.changed,
            cancelled=report.cancelled,
        )
    )
    click.echo(
        say(
            "Open it on the phone to import it. It stays as it is there: to see changes by themselves, subscribe to "
            "an address of feedplan serve or feedplan publish."
        )
    )


def _facts(path: Path, standing: SpanShown, report: Report | None) -> dict[str, object]:
    return {
        "file": path,
        "first_day": standing.first,
        "last_day": standing.last,
        "entries": standing.entries,
        "new": report.new if report else 0,
        "changed": report.changed if report else 0,
        "cancelled": report.cancelled if report else 0,
        "rewritten": report.is_rewritten if report else False,
        "warnings": list(report.warnings) if report else [],
    }
