"""`feedplan serve`: calendars to subscribe to and a page for the phone, from one small server."""

from __future__ import annotations

import os
import sys
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from feedplan.cli.options import DAY, Asked, collection_file, print_json, shared_options
from feedplan.errors import UsageError
from feedplan.words.language import say

if TYPE_CHECKING:
    from feedplan.server.addresses import Address
    from feedplan.server.app import Service

PORT = 8377
NEEDS = (
    "flask, mistune, waitress and segno are missing here; "
    "type: {python} -m pip install flask mistune segno waitress"
)


@click.command(short_help="Serve calendars and a page to your phone.")
@click.option(
    "--host",
    default="127.0.0.1",
    show_default=True,
    metavar="ADDRESS",
    help="Where to listen; 0.0.0.0 for all.",
)
@click.option("--port", type=click.IntRange(0, 65535), default=PORT, show_default=True, help="The port.")
@click.option(
    "--address",
    metavar="URL",
    help="What phones must open, when a proxy stands in front: https://HOST/PREFIX.",
)
@click.option(
    "--new-secret", is_flag=True, help="Replace the secrets: every address given out stops working."
)
@click.option("--show", is_flag=True, help="Print the addresses and codes, then stop.")
@click.option("--quiet", is_flag=True, help="Print no addresses, as for a service whose output is kept.")
@click.option(
    "--state",
    metavar="DIR",
    type=click.Path(),
    help="Where secrets are kept; .feedplan in the collection if not set.",
)
@click.option("--share", metavar="NAME", help="Make an address for a helper, print it, then stop.")
@click.option("--until", type=DAY, metavar="DATE", help="With --share: the last day it works.")
@click.option("--may-tick", is_flag=True, help="With --share: it also records water and feeds, nothing else.")
@click.option("--take-back", metavar="NAME", help="End a helper's address, then stop.")
@click.option("--helpers", is_flag=True, help="List the helpers and their addresses, then stop.")
@click.option("--trust-clock", is_flag=True, help="Believe a clock that has gone back behind the plan.")
@shared_options
def serve(
    asked: Asked,
    *,
    host: str,
    port: int,
    address: str | None,
    new_secret: bool,
    show: bool,
    quiet: bool,
    state: str | None,
    trust_clock: bool,
    **about_helpers: Any,
) -> None:
    """Serve calendars to subscribe to and a page for the phone.

    Listens on this computer alone until you name --host. Edits of your files are followed at once.

    \b
    feedplan serve
    feedplan serve --host 0.0.0.0
    feedplan serve --address https://trees.example.org/plan
    feedplan serve --share Anna --until 2027-08-20 --may-tick
    """
    need_server()
    service = prepare(asked, state, new_secret=new_secret, trust_clock=trust_clock)
    from feedplan.server.addresses import address_here, read_address

    told = read_address(address) if address else None
    if _see_to_helpers(asked, service, (told or address_here(host, port)).base, **about_helpers):
        return
    if show:
        _say(asked, service, told or address_here(host, port), whole=True)
        return
    from feedplan.server.app import make_app
    from feedplan.server.run import Limits, Server, quiet_logs

    quiet_logs()
    likely = address_here(host, port).base if port else ""
    server = Server(make_app(replace(service.at(told), links=likely)), host, port, Limits())
    here = told or address_here(host, int(server.effective_port))
    if not quiet and "JOURNAL_STREAM" not in os.environ:
        _say(asked, service, here)
    if not asked.as_json:
        _say_who_can_reach(host, int(server.effective_port))
    server.run_until_told()


def need_server() -> None:
    """Refuse, with what to type, when the parts of the server are not installed. Raises UsageError."""
    from importlib.util import find_spec

    if any(find_spec(name) is None for name in ("flask", "mistune", "waitress", "segno")):
        raise UsageError(say(NEEDS, python=sys.executable))


def prepare(asked: Asked, state: str | None, *, new_secret: bool, trust_clock: bool) -> Service:
    """The collection, its state folder and its secrets, ready to serve. Raises what is wrong with any of them."""
    from feedplan.server.addresses import AccessFile
    from feedplan.server.app import Service
    from feedplan.server.calendars import Calendars
    from feedplan.server.snapshots import Snapshots
    from feedplan.server.state import FOLDER, StateFolder

    file = collection_file(asked.place)
    folder = StateFolder(Path(state) if state else file.parent / FOLDER)
    folder.make()
    access = AccessFile(folder)
    if new_secret:
        access.replace()
    access.make_if_missing()
    snapshots = Snapshots(file, folder, _now, asked.today, trust_clock=trust_clock)
    snapshots.current()
    return Service(snapshots, Calendars(folder), access, _now)


def _see_to_helpers(
    asked: Asked,
    service: Service,
    base: str,
    *,
    share: str | None,
    until: date | None,
    may_tick: bool,
    take_back: str | None,
    helpers: bool,
) -> bool:
    """Give or take back a helper's address, or list them; False when none of it was asked for. Raises UsageError."""
    from feedplan.server.helpers import helper_facts, helper_lines, with_helper, without_helper

    if (share is None) != (until is None) or (may_tick and share is None):
        raise UsageError(say("a helper needs a name and a last day: --share NAME --until DATE"))
    if share is None and take_back is None and not helpers:
        return False
    today, known = service.snapshots.current().today, service.access.current().helpers
    found = known
    if take_back is not None:
        found = without_helper(found, take_back, today)
    if share is not None and until is not None:
        found = with_helper(found, share, today, until, may_tick=may_tick)
    if found != known:
        service.access.replace_helpers(found)
    shown = [each for each in found if not each.why_ended(today) and (helpers or each not in known)]
    if asked.as_json:
        print_json({"helpers": [helper_facts(each, base) for each in shown]})
        return True
    if take_back is not None:
        click.echo(say("The address of {name} works no more.", name=take_back))
    for helper in shown:
        click.echo("\n".join(helper_lines(helper, base)))
    if helpers and not shown:
        click.echo(say("No helper has an address."))
    return True


def _now() -> datetime:
    """The moment it is. The server's one look at the clock."""
    return datetime.now(UTC)


def _say(asked: Asked, service: Service, address: Address, *, whole: bool = False) -> None:
    """The addresses, and what is wrong with the files if something is."""
    from feedplan.server.addresses import welcome_facts, welcome_lines
    from feedplan.server.calendars import calendar_files

    snapshot = service.snapshots.current()
    titles = {file: each.title for file, each in calendar_files(snapshot.loaded.collection).items()}
    access = service.access.current()
    if asked.as_json:
        print_json(welcome_facts(address, access, titles))
        return
    is_seen = sys.stdout.isatty()
    for line in welcome_lines(address, access, titles, codes=is_seen, whole=whole):
        click.echo(line)
    if snapshot.trouble is not None:
        problem = f"{snapshot.trouble.where}: {snapshot.trouble.message}"
        click.echo(say("Not up to date: {problem}", problem=problem), err=True)


def _say_who_can_reach(host: str, port: int) -> None:
    from feedplan.server.addresses import is_loopback

    if is_loopback(host):
        told = say(
            "Listening on {host} port {port}: only this computer can reach it. For phones at home add "
            "--host 0.0.0.0: then whoever is in your network and has an address gets in.",
            host=host,
            port=port,
        )
    else:
        told = say(
            "Listening on {host} port {port}: whoever can reach this computer and has an address gets in, and "
            "what is sent can be read on the way. Do not open the port to the internet without HTTPS.",
            host=host,
            port=port,
        )
    click.echo(told)
    click.echo(say("Stop it with Ctrl-C."))
