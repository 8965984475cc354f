"""What commands that read a collection share: where it is, which day it is, and in which form to answer."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import click

from feedplan.errors import UsageError
from feedplan.words.language import say

if TYPE_CHECKING:
    from feedplan.engine.season import Season
    from feedplan.load.collection import Loaded
    from feedplan.memory import RememberedPlan
    from feedplan.model.collection import Collection
    from feedplan.model.journal import Journal

COLLECTION_FILE = "collection.yaml"


def as_day(text: str) -> date:
    """A day as a command line option, written year-month-day. Raises BadParameter, which says how to write one."""
    from feedplan.load.bounds import checked_day
    from feedplan.load.read_words import parse_date

    try:
        return checked_day(parse_date(text))
    except ValueError as refusal:
        raise click.BadParameter(str(refusal)) from None


DAY = as_day
"""The type of an option that is a day."""


def as_amount(option: str, text: str, unit: str, place: str | None) -> str:
    """A bare number, or one with its own unit, as the journal writes it. place: whose gallons. Raises UsageError."""
    from feedplan.dose.measures import measured_in, parse_mass, parse_volume, read_amount
    from feedplan.load.bounds import within

    try:
        rest = read_amount(text, "10")[1]
        written = text if rest else f"{text.strip()} {unit}"
        with measured_in(place):
            amount = (parse_mass if unit == "g" else parse_volume)(written)
    except ValueError as refusal:
        raise UsageError(f"{option} {refusal}") from None
    if amount <= 0:
        raise UsageError(say("{option} {text} is nothing; write more than 0", option=option, text=text))
    try:
        within("poured" if unit == "L" else "laid", amount, written)
    except ValueError as refusal:
        raise UsageError(f"{option} {refusal}") from None
    return written


def as_solid_rate(option: str, text: str, place: str | None) -> str:
    """A rate of solid feed as the journal writes it; grams, or a bare number of them, are for each litre of pot.

    place: whose gallons. Raises UsageError.
    """
    from feedplan.dose.measures import NUMBER, measured_in
    from feedplan.load.read_feeds import parse_solid_rate

    grams = re.fullmatch(rf"({NUMBER}) ?g?", text.strip(), re.IGNORECASE)
    written = f"{grams[1]} g per L" if grams else text
    try:
        with measured_in(place):
            parse_solid_rate(written)
    except ValueError as refusal:
        raise UsageError(f"{option} {refusal}") from None
    return written


def as_percent(option: str, text: str) -> str:
    """A share as the journal writes it. Raises UsageError."""
    from feedplan.dose.measures import parse_percent

    try:
        return f"{parse_percent(text).normalize():f} %"
    except ValueError as refusal:
        raise UsageError(f"{option} {refusal}") from None


def as_reading(text: str) -> str:
    """A pen's reading as the journal writes it, in mS/cm unless another unit is written. Raises UsageError."""
    from feedplan.load.read_feeds import parse_conductivity

    written = f"{text} mS/cm" if text.replace(".", "", 1).isdecimal() else text
    try:
        parse_conductivity(written)
    except ValueError as refusal:
        raise UsageError(str(refusal)) from None
    return written


@dataclass(frozen=True, slots=True)
class Opened:
    """A collection as read from its files, and the day the plan is seen from. file: its collection.yaml.

    is_real_day: that day is the clock's own, not one that stands in for it.
    """

    file: Path
    loaded: Loaded
    today: date
    is_real_day: bool = False

    def plan(
        self, start: date | None = None, end: date | None = None, *, earlier: Season | None = None
    ) -> Season:
        """The season from `start` to `end`, planned after what was told before; it is remembered on the real day.

        earlier: a plan made before, from which what did not change is taken.
        """
        planned = self.draft(start, end, earlier=earlier)
        self.keep(planned)
        return planned.season

    def draft(
        self, start: date | None = None, end: date | None = None, *, earlier: Season | None = None
    ) -> RememberedPlan:
        """The same, not remembered yet."""
        from feedplan.memory import plan

        planned = plan(
            self.loaded,
            self.today,
            start,
            end,
            file=self.file,
            earlier=earlier,
            is_real_day=self.is_real_day,
        )
        tell_once(*planned.notes, *map(str, self.loaded.copies))
        return planned

    def keep(self, planned: RememberedPlan) -> None:
        """Remember what a plan tells, on the real day alone."""
        if self.is_real_day:
            tell_once(*planned.keep(self.file))

    @property
    def collection(self) -> Collection:
        """The collection itself."""
        return self.loaded.collection

    @property
    def journal(self) -> Journal:
        """What has happened so far."""
        return self.loaded.journal


@dataclass(frozen=True, slots=True)
class Asked:
    """The shared options as given: place and today None when they were not."""

    place: str | None
    today: date | None
    as_json: bool

    def open(self) -> Opened:
        """The collection, read now. Raises UsageError when there is none, FilesHaveProblems when it is wrong."""
        from feedplan.load.collection import load_collection

        path = collection_file(self.place)
        loaded = load_collection(path)
        today = self.today or today_in(loaded.collection.place.time_zone)
        return Opened(path, loaded, today, is_real_day=self.today is None)


def shared_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Adds -c, --today and --json to a command, which gets them as its first argument, an Asked.

    Options not given are those of the command it belongs to, if that has them too.
    """

    @click.option(
        "-c",
        "--collection",
        metavar="DIR",
        type=click.Path(),
        help="The collection: a folder or its collection.yaml; the folder you stand in if not given.",
    )
    @click.option("--today", type=DAY, metavar="DATE", help="Plan as on this day, such as 2027-06-14.")
    @click.option("--json", "as_json", is_flag=True, help="Print the same facts as JSON.")
    @wraps(command)
    def with_asked(collection: str | None, today: date | None, as_json: bool, **rest: Any) -> Any:
        context = click.get_current_context()
        above = context.parent.obj if context.parent is not None else None
        asked = Asked(collection, today, as_json)
        if isinstance(above, Asked):
            asked = Asked(collection or above.place, today or above.today, as_json or above.as_json)
        context.obj = asked
        return command(asked, **rest)

    return with_asked


def collection_file(place: str | None) -> Path:
    """The collection.yaml meant by -c, or the one here. Raises UsageError when there is none."""
    given = Path(place or ".")
    path = given / COLLECTION_FILE if given.is_dir() else given
    if path.is_file() or (path.exists() and not path.is_dir()):
        return path
    if place is None:
        raise UsageError(
            say("no collection.yaml here. Make one: feedplan start my-trees, or name a folder with -c")
        )
    if given.is_dir():
        raise UsageError(
            say("no collection.yaml in {folder}. Make one: feedplan start {folder}", folder=given)
        )
    raise UsageError(
        say("there is no {folder}; name the folder that holds your collection.yaml", folder=given)
    )


def tell_once(*notes: str) -> None:
    """Notes on standard error, each once in a command that plans several times."""
    context = click.get_current_context(silent=True)
    told: set[str] = set() if context is None else context.meta.setdefault("feedplan.told", set())
    for note in notes:
        if note not in told:
            told.add(note)
            click.echo(say("Note: {note}.", note=note), err=True)


def today_in(time_zone: str) -> date:
    """The day it is now at a place. The one look at the clock."""
    return datetime.now(ZoneInfo(time_zone)).date()


def print_json(facts: Mapping[str, Any]) -> None:
    """Facts on stdout as JSON: dates as text, decimals as numbers."""
    click.echo(json.dumps(facts, indent=2, ensure_ascii=False, default=_plain))


def _plain(value: object) -> object:
    match value:
        case date():
            return value.isoformat()
        case Decimal():
            return int(value) if value == value.to_integral_value() else float(value)
        case Path():
            return str(value)
    raise TypeError(f"{type(value).__name__} has no place in JSON")
