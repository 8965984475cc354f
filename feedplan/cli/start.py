"""`feedplan start`: a new collection to edit, with comments. It asks nothing and overwrites nothing."""

from __future__ import annotations

import json
import re
import unicodedata
from decimal import Decimal
from pathlib import Path
from shlex import quote

import click

from feedplan.cli.here import city_of, is_zone, machine_time_zone
from feedplan.cli.options import print_json, today_in
from feedplan.cli.template import Start, collection_text, journal_text
from feedplan.errors import CannotWriteError, UsageError
from feedplan.files import reason_of, write_together
from feedplan.load.folder import COLLECTION, JOURNAL
from feedplan.load.journal_file import new_id
from feedplan.load.json_schema import file_schema
from feedplan.load.read_words import parse_name
from feedplan.words.language import say

# Taken when neither an option nor the machine's time zone tells. The middle of the latitudes the shipped dates are for.
DEFAULT_LATITUDE = Decimal("52.5")
SCHEMAS = ("collection", "journal", "schedule")


@click.command()
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--name", metavar="NAME", help="What you call the place; the folder's name if not given.")
@click.option(
    "--latitude",
    metavar="DEGREES",
    help="South below zero; that of your time zone's city if not given.",
)
@click.option("--time-zone", metavar="ZONE", help="Such as Europe/London; your machine's if not given.")
@click.option("--json", "as_json", is_flag=True, help="Print the same facts as JSON.")
def start(folder: Path, name: str | None, latitude: str | None, time_zone: str | None, as_json: bool) -> None:
    """Make a new collection to edit, with comments.

    \b
    feedplan start my-trees
    feedplan start my-trees --name "Skerry Court" --latitude 55.6 --time-zone Europe/London
    """
    start = _start(folder, name, latitude, time_zone)
    schemas = {f"schemas/{kind}.schema.json": _schema_text(kind) for kind in SCHEMAS}
    texts = {**schemas, JOURNAL: journal_text(), COLLECTION: collection_text(start)}
    _write(folder, texts)
    steps = [f"cd {quote(str(folder))}", "feedplan check", "feedplan round"]
    if str(folder) == ".":
        steps = steps[1:]
    if as_json:
        print_json(_facts(folder, texts, start, steps))
        return
    click.echo(
        say(
            "Made {folder} with {collection} and {journal}: six invented trees to put yours in place of. "
            "schemas/ helps an editor complete and check what you write.",
            folder=folder,
            collection=COLLECTION,
            journal=JOURNAL,
        )
    )
    if start.time_zone_note:
        click.echo(f"{say('Time zone {zone}.', zone=start.time_zone)} {start.time_zone_note}")
    if start.latitude_note:
        click.echo(f"{say('Latitude {latitude}.', latitude=start.latitude)} {start.latitude_note}")
    click.echo("\n".join([say("Next, type:"), *(f"  {step}" for step in steps)]))


def _start(folder: Path, name: str | None, latitude: str | None, time_zone: str | None) -> Start:
    """What to fill in, from the options, else from the folder's name and the machine. Raises UsageError."""
    zone, zone_note = _time_zone(time_zone)
    degrees, degrees_note = _latitude(latitude, zone)
    called = _name(name or folder.resolve().name or "My trees")
    return Start(
        name=called,
        identity=_identity(called),
        latitude=f"{degrees:f}",
        latitude_note=degrees_note,
        time_zone=zone,
        time_zone_note=zone_note,
        since=today_in(zone).isoformat(),
    )


def _name(text: str) -> str:
    try:
        return parse_name(text)
    except ValueError as refusal:
        raise UsageError(f"--name {refusal}") from None


def _time_zone(given: str | None) -> tuple[str, str]:
    """The zone and where it comes from."""
    if given is not None:
        if not is_zone(given):
            raise UsageError(
                say(
                    "--time-zone '{given}' is not a time zone; write its IANA name, such as Europe/London",
                    given=given,
                )
            )
        return given, ""
    found = machine_time_zone()
    if found is not None:
        return found, say("That of this machine; change it if the trees stand elsewhere.")
    return "UTC", say("WARNING: this machine did not tell its time zone. Write yours, such as Europe/London.")


def _latitude(given: str | None, time_zone: str) -> tuple[Decimal, str]:
    """The latitude [degrees] and where it comes from."""
    if given is not None:
        if not re.fullmatch(r"[+-]?[0-9]{1,2}(\.[0-9]+)?", given) or abs(Decimal(given)) > 90:
            raise UsageError(
                say(
                    "--latitude '{given}' is not a latitude; write -90 to 90, south below zero, such as 55.6",
                    given=given,
                )
            )
        return Decimal(given), ""
    city = city_of(time_zone)
    if city is not None:
        return city.latitude, say(
            "That is {city}, the city of your time zone; write your own.", city=city.name
        )
    return (
        DEFAULT_LATITUDE,
        say("WARNING: a guess, since your time zone names no city. Write your own; it decides the seasons."),
    )


def _identity(name: str) -> str:
    """A word made from the name and a few random letters, so that two growers' calendars never mix."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    word = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:40] or "trees"
    return f"{word}-{new_id()}"


def _schema_text(kind: str) -> str:
    return json.dumps(file_schema(kind), indent=2, ensure_ascii=False) + "\n"


def _write(folder: Path, texts: dict[str, str]) -> None:
    """Put the files into the folder, making it if need be. Raises UsageError when one is there already."""
    for name in (COLLECTION, *texts):
        if (folder / name).exists() or (folder / name).is_symlink():
            raise UsageError(
                say(
                    "there is a {file} in {folder} already; nothing was changed. Name another folder",
                    file=name,
                    folder=folder,
                )
            )
    try:
        for name in texts:
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise CannotWriteError(
            say("cannot make the folder {folder}: {why}", folder=folder, why=reason_of(error))
        ) from error
    write_together([(folder / name, text.encode()) for name, text in texts.items()])


def _facts(folder: Path, texts: dict[str, str], start: Start, steps: list[str]) -> dict[str, object]:
    return {
        "folder": folder,
        "files": list(texts),
        "name": start.name,
        "latitude": Decimal(start.latitude),
        "time_zone": start.time_zone,
        "id": start.identity,
        "next": steps,
    }
