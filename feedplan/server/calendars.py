"""The calendars to subscribe to: which there are, their bytes, and when those last changed."""

from __future__ import annotations

import gzip
import hashlib
import json
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from threading import Lock

from feedplan.errors import CannotWriteError
from feedplan.export.entries import calendar_entries, narrowed
from feedplan.export.entry import CalendarEntry, Kind
from feedplan.export.ics import CalendarSettings, calendar_uid
from feedplan.export.ledger import Ledger, LedgerError, Scope, dump_ledger, parse_ledger
from feedplan.export.publish import calendar_bytes
from feedplan.model.collection import Collection
from feedplan.server.names import address_parts
from feedplan.server.snapshots import Snapshot, Trouble
from feedplan.server.state import StateFolder

LEDGER = "calendars.ledger.json"
VERSIONS = "calendars.json"
_FORMAT = "feedplan calendars 1"
_EVERYTHING = "everything.ics"
_SECOND = timedelta(seconds=1)
_DESCRIPTION = "Feeding and watering plan of trees in containers. The labels of products come first."


@dataclass(frozen=True, slots=True)
class Offer:
    """One calendar to subscribe to. kinds, groups: what is in it, None for all."""

    file: str
    title: str
    kinds: frozenset[Kind] | None = None
    groups: frozenset[str] | None = None


_BY_KIND = (
    Offer(_EVERYTHING, "Everything"),
    Offer("feeding.ics", "Feeding", frozenset({Kind.FEEDING})),
    Offer("water.ics", "Water checks", frozenset({Kind.WATER})),
    Offer("reviews.ics", "Looks and questions", frozenset({Kind.REVIEW, Kind.STAGE})),
    Offer("holds.ics", "Holds", frozenset({Kind.HOLD})),
)


@dataclass(frozen=True, slots=True)
class Version:
    """A calendar's bytes now. packed: the same under gzip; etag: of the bytes, without quotes; changed: since when."""

    data: bytes
    packed: bytes
    etag: str
    changed: datetime


def offers_of(collection: Collection) -> dict[str, Offer]:
    """Every calendar of a collection by file name."""
    offers = {offer.file: offer for offer in _BY_KIND}
    for part, name in address_parts(collection.groups).items():
        file = f"group-{part}.ics"
        offers[file] = Offer(file, name, groups=frozenset({name}))
    return offers


class Calendars:
    """Gives calendars to any number of threads, worked out once for each plan and remembered between runs."""

    def __init__(self, state: StateFolder) -> None:
        self._state = state
        self._lock = Lock()
        self._ledger: Ledger | None = None
        self._stamps: dict[str, tuple[str, datetime]] = {}
        self._marks: dict[str, object] = {}
        self._of: Snapshot | None = None
        self._entries: list[CalendarEntry] = []
        self._versions: dict[str, Version] = {}

    def version(self, snapshot: Snapshot, file: str) -> Version | None:
        """A calendar of a plan; None when there is no calendar of that name."""
        if self._of is snapshot and file in self._versions:
            return self._versions[file]
        offer = offers_of(snapshot.loaded.collection).get(file)
        if offer is None:
            return None
        with self._lock:
            if self._of is not snapshot:
                self._begin(snapshot)
            if file not in self._versions:
                self._versions[file] = self._make(snapshot, offer)
            return self._versions[file]

    def changed(self, snapshot: Snapshot) -> datetime:
        """When the plan last changed in anything a calendar shows."""
        version = self.version(snapshot, _EVERYTHING)
        assert version is not None
        return version.changed

    def event_count(self, snapshot: Snapshot, file: str = _EVERYTHING) -> int:
        """How many events a calendar holds."""
        version = self.version(snapshot, file)
        return 0 if version is None else version.data.count(b"\r\nBEGIN:VEVENT\r\n")

    def _begin(self, snapshot: Snapshot) -> None:
        """Take up a new plan: its entries, and the ledger of all that was ever in a calendar of it."""
        collection = snapshot.loaded.collection
        uid = calendar_uid(collection.identity)
        self._recall(uid)
        assert self._ledger is not None
        self._of, self._versions = None, {}
        self._entries = calendar_entries(snapshot.season, collection)
        before = self._ledger
        everything = _BY_KIND[0]
        built = calendar_bytes(
            self._entries,
            _settings(collection, everything),
            _scope(snapshot, everything),
            snapshot.today,
            ledger=before,
            stamp=snapshot.made,
        )
        self._ledger = built.ledger
        if built.ledger != before:
            self._remember(LEDGER, dump_ledger(built.ledger))
        if snapshot.trouble is None:
            self._versions[everything.file] = self._seal(everything.file, built.data, snapshot.made)
        self._of = snapshot

    def _make(self, snapshot: Snapshot, offer: Offer) -> Version:
        collection = snapshot.loaded.collection
        entries = narrowed(self._entries, offer.groups or (), offer.kinds or ())
        stamp = snapshot.made
        if snapshot.trouble is not None:
            entries.append(_trouble_entry(snapshot.trouble, snapshot, offer))
            start = datetime(
                snapshot.today.year, snapshot.today.month, snapshot.today.day, tzinfo=snapshot.zone
            )
            stamp = max(snapshot.trouble.since, start.astimezone(UTC))
        built = calendar_bytes(
            entries,
            _settings(collection, offer),
            _scope(snapshot, offer),
            snapshot.today,
            ledger=self._ledger,
            stamp=stamp,
        )
        return self._seal(offer.file, built.data, snapshot.made)

    def _seal(self, file: str, data: bytes, made: datetime) -> Version:
        """The bytes with their validators. The time of change never goes back and never stays the same."""
        etag = hashlib.sha256(data).hexdigest()[:32]
        known = self._stamps.get(file)
        if known is None or known[0] != etag:
            changed = made.astimezone(UTC).replace(microsecond=0)
            changed = changed if known is None else max(changed, known[1] + _SECOND)
            self._stamps[file] = etag, changed
            self._remember(VERSIONS, _dump_stamps(self._stamps))
        return Version(data, gzip.compress(data, compresslevel=6, mtime=0), etag, self._stamps[file][1])

    def _recall(self, uid: str) -> None:
        """Take up what an earlier run, or another server on the same collection, has remembered."""
        if self._ledger is None or self._ledger.calendar != uid or self._is_news(LEDGER):
            self._ledger = _read_ledger(self._state.read(LEDGER), uid)
        if self._is_news(VERSIONS):
            self._stamps = _read_stamps(self._state.read(VERSIONS))

    def _is_news(self, name: str) -> bool:
        """Whether a file of the state folder is not as this run last read or wrote it."""
        before, self._marks[name] = self._marks.get(name), self._state.mark(name)
        return self._marks[name] is not None and self._marks[name] != before

    def _remember(self, name: str, data: bytes) -> None:
        """Keep for the next run. Without room for it the calendars go on, and a restart counts anew."""
        with suppress(CannotWriteError):
            self._state.write(name, data)
            self._marks[name] = self._state.mark(name)


def _settings(collection: Collection, offer: Offer) -> CalendarSettings:
    place = collection.place
    title = "" if offer.file == _EVERYTHING else f": {offer.title}"
    return CalendarSettings(
        identity=collection.identity,
        name=f"{place.name}{title}",
        time_zone=place.time_zone,
        description=_DESCRIPTION,
        alarm_at=collection.habits.alarm_at,
    )


def _scope(snapshot: Snapshot, offer: Offer) -> Scope:
    return Scope(snapshot.season.start, snapshot.season.end, offer.kinds, offer.groups)


def _trouble_entry(trouble: Trouble, snapshot: Snapshot, offer: Offer) -> CalendarEntry:
    """One event today that says the plan is not the latest; its kind is one that the calendar shows."""
    since = trouble.since.astimezone(snapshot.zone)
    what = f"mend {trouble.where}" if trouble.file else "look at the computer it comes from"
    place = f"{trouble.file}:{trouble.line}: " if trouble.file else ""
    more = f" And {trouble.more} more." if trouble.more else ""
    return CalendarEntry(
        key="trouble",
        kind=min(offer.kinds) if offer.kinds else Kind.NOTE,
        start=snapshot.today,
        title=f"The plan is not up to date: {what}",
        text=(
            f"{place}{trouble.message}{more}\n"
            f"So since {since.day} {since:%B %Y %H:%M}. Until it is mended the last good plan stays."
        ),
    )


def _read_ledger(raw: bytes | None, uid: str) -> Ledger:
    """What an earlier run remembered; nothing when that is lost, which only numbers the events anew."""
    with suppress(LedgerError):
        return parse_ledger(raw or b"", uid)
    return Ledger(uid)


def _read_stamps(raw: bytes | None) -> dict[str, tuple[str, datetime]]:
    try:
        content = json.loads(raw or b"{}")
        rows: Mapping[str, tuple[str, str]] = content.get("calendars", {})
        return {str(file): (str(etag), datetime.fromisoformat(when)) for file, (etag, when) in rows.items()}
    except (ValueError, TypeError, AttributeError):
        return {}


def _dump_stamps(stamps: Mapping[str, tuple[str, datetime]]) -> bytes:
    rows = {file: [etag, changed.isoformat()] for file, (etag, changed) in sorted(stamps.items())}
    return json.dumps({"format": _FORMAT, "calendars": rows}, indent=1).encode() + b"\n"
