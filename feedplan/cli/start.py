"""`feedplan start`: a new collection to edit, with comments. It asks nothing and overwrites nothing."""

from __future__ import annotations

import os
import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from shlex import quote
from zoneinfo import ZoneInfo

import click

from feedplan.cli.first_groups import FirstGroup, Guesser, first_groups
from feedplan.cli.options import print_json, today_in
from feedplan.cli.schema import schema_texts
from feedplan.cli.start_text import Start, collection_text, journal_text
from feedplan.engine.growing_year import season_of
from feedplan.errors import CannotWriteError, Problem, UsageError
from feedplan.files import reason_of, write_together
from feedplan.guide.contents import PAGE_OF_COMMAND
from feedplan.load.folder import COLLECTION, JOURNAL, TABLE_FILE, TextFolder, read_raw, shipped_names
from feedplan.load.globe import zone_coordinates
from feedplan.load.journal_file import new_id
from feedplan.load.problems import Findings, visible
from feedplan.load.read_words import parse_name
from feedplan.load.tree_table import read_tree_table
from feedplan.load.vocabulary import read_vocabulary
from feedplan.model.moment import Hemisphere
from feedplan.words.language import say, say_count
from feedplan.words.writing import listed, trees_words

# Taken when neither an option nor the machine's time zone tells. The middle of the latitudes the shipped dates are for.
DEFAULT_LATITUDE = Decimal("52.5")
_LINK = Path("/etc/localtime")
_NAME_FILE = Path("/etc/timezone")


@click.command()
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option(
    "--from",
    "table",
    metavar="TABLE",
    type=click.Path(path_type=Path),
    help="Your trees as a table (CSV): columns name, species, pot and, if you like, group, bench, count, notes.",
)
@click.option("--name", metavar="NAME", help="What you call the place; the folder's name if not given.")
@click.option(
    "--latitude",
    metavar="DEGREES",
    help="South below zero; that of your time zone's city if not given.",
)
@click.option("--time-zone", metavar="ZONE", help="Such as Europe/London; your machine's if not given.")
@click.option("--json", "as_json", is_flag=True, help="Print the same facts as JSON.")
def start(folder: Path, as_json: bool, table: Path | None, **told: str | None) -> None:
    """Make a new collection to edit, with comments.

    From a table each tree gets a group and a schedule by its species and the words beside it (weak, seedling,
    repotted 2027); what was guessed stands beside it.

    \b
    feedplan start my-trees
    feedplan start my-trees --from trees.csv
    feedplan start my-trees --name "Skerry Court" --latitude 55.6 --time-zone Europe/London
    """
    start = _start(folder, **told)
    groups, left_out = _groups(table, start) if table is not None else ([], ())
    texts = {JOURNAL: journal_text(), COLLECTION: collection_text(start, groups)}
    texts = {**schema_texts(TextFolder(texts)), **texts}
    _write(folder, texts)
    steps = [f"cd {quote(str(folder))}", "feedplan check", "feedplan round"]
    if str(folder) == ".":
        steps = steps[1:]
    if as_json:
        print_json(_facts(folder, texts, start, steps) | _guesses(groups, left_out))
        return
    click.echo(_made(folder, groups))
    if left_out:
        click.echo(say("Not read: {columns}.", columns=listed([f"'{heading}'" for heading in left_out])))
    if start.time_zone_note:
        click.echo(f"{say('Time zone {zone}.', zone=start.time_zone)} {start.time_zone_note}")
    if start.latitude_note:
        click.echo(f"{say('Latitude {latitude}.', latitude=start.latitude)} {start.latitude_note}")
    click.echo("\n".join([say("Next, type:"), *(f"  {step}" for step in steps)]))
    click.echo(say("Then read on: {command}", command=f"feedplan guide {PAGE_OF_COMMAND['start']}"))


def _groups(table: Path, start: Start) -> tuple[list[FirstGroup], tuple[str, ...]]:
    """The groups of the trees in a table, and the headings not read. Raises FeedplanError with all that is wrong."""
    raw = read_raw(table, str(table), TABLE_FILE)
    if isinstance(raw, Problem):
        raise UsageError(str(raw))
    found = read_tree_table(raw, str(table))
    hemisphere = Hemisphere.SOUTH if start.latitude.startswith("-") else Hemisphere.NORTH
    vocabulary = read_vocabulary(TextFolder({}), hemisphere, Findings())
    today = date.fromisoformat(start.since)
    guesser = Guesser(
        vocabulary.kinds, vocabulary.flags, shipped_names(), season_of(today, hemisphere), today
    )
    return first_groups(found.rows, guesser), found.left_out


def _made(folder: Path, groups: Sequence[FirstGroup]) -> str:
    """What was made, in a sentence or two."""
    helps = say("schemas/ helps an editor complete and check what you write.")
    if not groups:
        made = say(
            "Made {folder} with {collection} and {journal}: six invented trees to put yours in place of.",
            folder=visible(str(folder)),
            collection=COLLECTION,
            journal=JOURNAL,
        )
        return f"{made} {helps}"
    made = say(
        "Made {folder} with {collection} and {journal}: {trees} in {groups}. Each schedule is a guess, and what it was "
        "guessed from stands beside it; the feed on the shelf is invented.",
        folder=visible(str(folder)),
        collection=COLLECTION,
        journal=JOURNAL,
        trees=trees_words(sum(tree.row.count for group in groups for tree in group.trees)),
        groups=say_count("{count} group", "{count} groups", len(groups)),
    )
    return f"{made} {helps}"


def _guesses(groups: Sequence[FirstGroup], left_out: Sequence[str]) -> dict[str, object]:
    """What was guessed, for --json; nothing without a table."""
    if not groups:
        return {}
    guesses = [
        {"tree": tree.row.name, "group": group.name, "schedule": group.schedule, "why": tree.guess.why}
        for group in groups
        for tree in group.trees
    ]
    return {"guesses": guesses, "not_read": list(left_out)}


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


@dataclass(frozen=True, slots=True)
class City:
    """The principal place of a time zone. latitude: [degrees, north positive], to one decimal."""

    name: str
    latitude: Decimal


def machine_time_zone(
    environment: Mapping[str, str] = os.environ, link: Path = _LINK, name_file: Path = _NAME_FILE
) -> str | None:
    """The IANA name of the machine's time zone: from TZ, else /etc/localtime, else /etc/timezone; None if untold."""
    told = (environment.get("TZ", "").removeprefix(":"), _name_in_link(link), _first_line(name_file))
    return next((name for name in told if name and is_zone(name)), None)


def is_zone(name: str) -> bool:
    """Whether a name is that of a time zone."""
    try:
        ZoneInfo(name)
    except (LookupError, ValueError, OSError):
        return False
    return True


def _name_in_link(link: Path) -> str:
    """The zone a link points at: "Europe/London" for /usr/share/zoneinfo/Europe/London."""
    try:
        target = os.path.realpath(link, strict=True)
    except OSError:
        return ""
    name = target.partition("zoneinfo/")[2]
    return name.removeprefix("posix/").removeprefix("right/")


def _first_line(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8").strip().partition("\n")[0]
    except (OSError, ValueError):
        return ""


def city_of(time_zone: str) -> City | None:
    """The city a time zone is named after, as the time zone database (zone.tab, public domain) places it."""
    coordinates = zone_coordinates(time_zone)
    if coordinates is None:
        return None
    return City(time_zone.rpartition("/")[2].replace("_", " "), _degrees(coordinates))


def _degrees(coordinates: str) -> Decimal:
    """The latitude in "+513030-0000731" or "+4230+00131", degrees then minutes, to one decimal."""
    degrees, minutes = int(coordinates[1:3]), int(coordinates[3:5])
    value = (Decimal(degrees) + Decimal(minutes) / 60).quantize(Decimal("0.1"))
    return -value if coordinates[0] == "-" else value
