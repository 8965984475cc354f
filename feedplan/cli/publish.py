"""`feedplan publish`: the calendars and pages as files, for any web host or synced folder."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from feedplan.cli.options import Asked, print_json, shared_options, tell_once
from feedplan.cli.serve import need_server, prepare
from feedplan.errors import EXIT_PROBLEMS
from feedplan.words.language import say, say_count

if TYPE_CHECKING:
    from feedplan.server.static_site import Published


@click.command(short_help="Write calendars and pages as files for a web host.")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option(
    "--address", metavar="URL", help="Where the folder will be found, to print whole addresses on its pages."
)
@click.option(
    "--state",
    metavar="DIR",
    type=click.Path(),
    help="Where is kept what was published; .feedplan in the collection if not set.",
)
@click.option("--trust-clock", is_flag=True, help="Believe a clock that has gone back behind the plan.")
@shared_options
def publish(asked: Asked, folder: Path, *, address: str | None, state: str | None, trust_clock: bool) -> None:
    """Write calendars and pages to read as files into DIR.

    DIR must be new, empty, or made by an earlier run. Run it again each day and after changes: files that stay the same
    are not touched. Whoever knows the address can read them: put DIR under a long name nobody can guess.

    \b
    feedplan publish ~/site/trees-8fk2vq71
    """
    need_server()
    from feedplan.server.addresses import read_address
    from feedplan.server.static_site import publish_site

    found = read_address(address) if address else None
    service = prepare(asked, state, new_secret=False, trust_clock=trust_clock)
    snapshot = service.snapshots.current()
    tell_once(*map(str, snapshot.loaded.copies))
    published = publish_site(folder, snapshot, service.calendars, found)
    trouble = snapshot.trouble
    if asked.as_json:
        print_json(_facts(published, is_stale=trouble is not None))
    else:
        _say(published)
    if trouble is not None:
        where = f"{trouble.file}:{trouble.line}: " if trouble.file else ""
        told = say("Not up to date, the last good plan stays: {problem}", problem=f"{where}{trouble.message}")
        click.echo(told, err=True)
        click.get_current_context().exit(EXIT_PROBLEMS)


def _say(published: Published) -> None:
    from feedplan.load.problems import visible

    if not published.is_changed:
        files = say_count("{count} file", "{count} files", published.kept)
        click.echo(
            say(
                "{file} is up to date: {size}, nothing changed.",
                file=visible(str(published.folder)),
                size=files,
            )
        )
        return
    click.echo(
        say(
            "Wrote {folder}: {files} written, {removed} removed, {kept} as before; {events} in the calendar.",
            folder=visible(str(published.folder)),
            files=say_count("{count} file", "{count} files", published.written),
            removed=published.removed,
            kept=published.kept,
            events=say_count("{count} event", "{count} events", published.events),
        )
    )


def _facts(published: Published, *, is_stale: bool) -> dict[str, object]:
    return {
        "folder": published.folder,
        "written": published.written,
        "removed": published.removed,
        "kept": published.kept,
        "events": published.events,
        "stale": is_stale,
    }
