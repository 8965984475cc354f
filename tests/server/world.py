"""A small collection on disk and a server round it, with a clock the test turns."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from werkzeug.test import Client, TestResponse

from feedplan.server.addresses import Access, AccessFile
from feedplan.server.app import Service, make_app
from feedplan.server.calendars import Calendars
from feedplan.server.snapshots import Snapshots
from feedplan.server.state import FOLDER, StateFolder

COLLECTION = """\
place: {name: Mill Yard, latitude: 52.1, elevation: 20 m, time_zone: Europe/London}
id: mill-yard
since: 2027-01-01
habits: {can: 10 L}
feeds:
  spring: {grade: 24-8-16, form: soluble, spoon: 5.5 g, label_rate: 1 g per L, label_maximum: 2 g per L}
  even: {grade: 20-20-20, form: soluble}
groups:
  growing-on: {schedule: vigorous, feed: spring, bench: south wall}
  shown: {schedule: refined, feed: even, bench: show bench}
trees:
  - {name: Fern Hill, species: larch, group: growing-on, pot: 9 L}
  - {name: Bracken, species: hornbeam, group: growing-on, pot: 12 L}
  - {name: Sorrel, species: field maple, group: growing-on, pot: 30 x 22 x 8 cm}
  - {name: Teasel, species: Japanese maple, group: shown, pot: 40 x 30 x 7 cm}
"""
JOURNAL = """\
# What happened.
- {date: 2027-03-20, tree: Bracken, work: repotted, roots: 30 %}
"""
NOON = datetime(2027, 6, 5, 11, 0, tzinfo=UTC)  # a Saturday, noon in London


@dataclass
class World:
    """The folder, and a server round it. `now` may be set; `restart` starts another server on the same folder."""

    folder: Path
    now: datetime = NOON
    fixed_day: date | None = None
    trust_clock: bool = False
    address: str = ""
    prefix: str = ""
    snapshots: Snapshots = field(init=False)
    calendars: Calendars = field(init=False)
    access: AccessFile = field(init=False)
    client: Client = field(init=False)

    def __post_init__(self) -> None:
        self.restart()

    def restart(self) -> None:
        state = StateFolder(self.folder / FOLDER)
        state.make()
        self.access = AccessFile(state)
        self.access.make_if_missing()
        self.snapshots = Snapshots(
            self.folder / "collection.yaml",
            state,
            lambda: self.now,
            self.fixed_day,
            trust_clock=self.trust_clock,
        )
        self.calendars = Calendars(state)
        service = Service(
            self.snapshots, self.calendars, self.access, lambda: self.now, self.prefix, self.address
        )
        self.client = Client(make_app(service))

    @property
    def secrets(self) -> Access:
        return self.access.current()

    def get(self, page: str, *, write: bool = False, **more: Any) -> TestResponse:
        secret = self.secrets.write if write else self.secrets.read
        return self.client.get(f"{self.prefix}/{secret}/{page}", **more)

    def later(self, **span: float) -> None:
        self.now += timedelta(**span)

    def write(self, collection: str | None = None, journal: str | None = None) -> None:
        if collection is not None:
            (self.folder / "collection.yaml").write_text(collection, encoding="utf-8")
        if journal is not None:
            (self.folder / "journal.yaml").write_text(journal, encoding="utf-8")

    def edit(self, old: str, new: str) -> None:
        text = (self.folder / "collection.yaml").read_text(encoding="utf-8")
        assert old in text
        self.write(text.replace(old, new))


def make_folder(path: Path, journal: str = JOURNAL, collection: str = COLLECTION) -> Path:
    path.mkdir(parents=True, exist_ok=True)
    (path / "collection.yaml").write_text(collection, encoding="utf-8")
    (path / "journal.yaml").write_text(journal, encoding="utf-8")
    return path


def events(calendar: bytes) -> list[dict[str, str]]:
    """The events of a calendar as unfolded properties by name; enough to count and look at them."""
    text = calendar.decode().replace("\r\n ", "")
    return [dict(_properties(block)) for block in text.split("BEGIN:VEVENT\r\n")[1:]]


def _properties(block: str) -> Iterator[tuple[str, str]]:
    for line in block.partition("END:VEVENT")[0].splitlines():
        name, _, value = line.partition(":")
        yield name.partition(";")[0], value


def titles(calendar: bytes) -> list[str]:
    return [event["SUMMARY"] for event in events(calendar)]
