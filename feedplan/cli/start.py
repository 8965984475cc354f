"""`feedplan start`: a new collection to edit, with comments. It asks nothing and overwrites nothing."""

from __future__ import annotations

import json
import os
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from shlex import quote
from zoneinfo import ZoneInfo

import click

from feedplan.cli.options import print_json, today_in
from feedplan.errors import CannotWriteError, UsageError
from feedplan.files import reason_of, write_together
from feedplan.load.folder import COLLECTION, JOURNAL
from feedplan.load.globe import zone_coordinates
from feedplan.load.journal_file import new_id
from feedplan.load.json_schema import file_schema
from feedplan.load.problems import either
from feedplan.load.read_words import parse_name
from feedplan.model.forms import FORMS
from feedplan.words.language import say

# Taken when neither an option nor the machine's time zone tells. The middle of the latitudes the shipped dates are for.
DEFAULT_LATITUDE = Decimal("52.5")
SCHEMAS = ("collection", "journal", "schedule")
_LINK = Path("/etc/localtime")
_NAME_FILE = Path("/etc/timezone")


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


@dataclass(frozen=True, slots=True)
class Start:
    """What is filled in. latitude_note, time_zone_note: where those two come from, empty when the grower said.

    since: the first day that counts, as YYYY-MM-DD.
    """

    name: str
    identity: str
    latitude: str
    latitude_note: str
    time_zone: str
    time_zone_note: str
    since: str


def collection_text(start: Start) -> str:
    """The text of collection.yaml."""
    return _filled(_COLLECTION, start)


def journal_text() -> str:
    """The text of journal.yaml: examples, none of which counts."""
    return _JOURNAL


def _filled(text: str, start: Start) -> str:
    """The text with its marks replaced. A name is written in double quotes, in which YAML reads it as JSON does."""
    marks = {
        "<name>": json.dumps(start.name, ensure_ascii=False),
        "<identity>": start.identity,
        "<latitude>": start.latitude,
        "<latitude_note>": start.latitude_note,
        "<time_zone>": start.time_zone,
        "<time_zone_note>": start.time_zone_note,
        "<since>": start.since,
        "<forms>": either(FORMS),
    }
    # All marks in one pass, so that a name that looks like a mark stays a name.
    filled = re.sub("|".join(marks), lambda found: marks[found[0]], text)
    return "\n".join(line.rstrip() for line in filled.split("\n") if line != "  # ")


_COLLECTION = """\
# yaml-language-server: $schema=schemas/collection.schema.json
#
# Your trees. What stands after a # is a note to you and changes nothing.
# The trees and feeds below are invented: put your own in their place, then type: feedplan check

place:
  name: <name>
  # Degrees, south below zero, such as -41.2. <latitude_note>
  latitude: <latitude>
  # <time_zone_note>
  time_zone: <time_zone>
  # elevation: 35 m

# Your phone knows every event by this word. Keep it once you have subscribed, even if you rename the place.
id: <identity>

# The plan counts from this day on, and knows of nothing before it. Without it, feeds of the months before are taken as
# given.
since: <since>

# How you work. These are the defaults; take a # away to change one.
habits:
  unlogged_feeds: given       # a feed nobody recorded counts as given; or: missed
  can: 10 L                   # the can you mix in
  # feed_on: [Saturday]       # feed on these days only
  # checks_at: ["07:00", "15:00", "20:00"]
  # alarm: "07:00"            # ring on the phone
  # work_prompts: true        # tell of pruning, wiring and repotting too, each in its season

# Days on which nobody feeds. Water checks stay in the calendar: ask somebody to do them.
# away:
#   - {from: 2027-08-03, to: 2027-08-16}

# The products on your shelf. Copy grade and rates from the label; it comes before anything feedplan says.
feeds:
  all-round-powder:
    grade: 20-10-20           # the three numbers on the label: N-P-K
    form: soluble             # <forms>
    label_rate: 1 g per L
    label_maximum: 2 g per L  # never exceeded
    spoon: 5 g                # what a level spoon of it weighs; a scale is surer
  # kelp-liquid: {grade: 4-2-6, form: liquid, density: 1.15 kg per L, label_rate: 5 ml per L}
  # coated: {grade: 16-8-12, form: coated, longevity: 150 days}

# Trees cared for alike. "schedule" is one that comes with feedplan: vigorous, refined, recovering,
# newly-repotted, collected, conifer, conifer-refined, conifer-decandled, broadleaf-evergreen, ericaceous, flowering,
# indoor-tropical, seedlings, cuttings; or a file of your own in a folder named schedules.
groups:
  growing-on:
    schedule: vigorous        # strong feed from open leaves to mid August
    feed: all-round-powder
    # changes:                # what is different for this group
    #   feeding: {spring and summer: {every: 14 days, strength: 100 ppm N}}
  refined:
    schedule: refined         # nothing in spring, little from hardened leaves on
    feed: all-round-powder
  recovering:
    schedule: recovering      # next to nothing, and late
    feed: all-round-powder

# One line a tree. The pot: inside length x width x depth, or diameter x depth if it is round, or a volume.
trees:
  - {name: Tern, species: larch, group: growing-on, pot: 30 x 22 x 8 cm}
  - {name: Cobble, species: hornbeam, group: growing-on, pot: 9 L}
  - {name: Wicket, species: field maple, group: growing-on, pot: round 25 x 12 cm, bench: south wall}
  - {name: Harrow, species: Japanese maple, group: refined, pot: 36 x 26 x 5 cm}
  - {name: Saltmarsh, species: hawthorn, group: refined, pot: 3 L}
  - {name: Old Fen, species: elm, group: recovering, pot: 12 L, weak: true, about: Roots cut hard two years ago.}

# Notes of your own for the calendar.
# notes:
#   - {on: 1 March, say: "Repot before the buds open: raffia, wire and fresh mix ready?"}
"""

_JOURNAL = """\
# yaml-language-server: $schema=schemas/journal.schema.json
#
# What happened, one entry a line. "feedplan record" writes here; you may too. Nothing is ever deleted: take an
# entry back with "feedplan record --undo". These are examples; without the # they would count:
#
# - {date: 2027-03-20, tree: Old Fen, work: repotted, roots: 30 %}
# - {date: 2027-04-12, tree: Tern, seen: leaves open}
# - {date: 2027-06-14, group: growing-on, fed: as planned, but_not: [Wicket]}
"""
