"""The calendars to subscribe to: which there are, their bytes, and when those last changed.

They are answered without the web framework: phones ask for them all day, mostly for nothing new.
"""

from __future__ import annotations

import gzip
import hashlib
import json
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time, timedelta
from functools import lru_cache
from threading import Lock
from typing import TYPE_CHECKING, NamedTuple

from werkzeug.exceptions import MethodNotAllowed
from werkzeug.http import http_date, is_resource_modified, parse_accept_header, parse_etags, quote_etag
from werkzeug.wrappers import Response

from feedplan.errors import CannotWriteError
from feedplan.export.calendars import Entries, all_entries, kinds_of, settings_of, title_of
from feedplan.export.entries import narrowed
from feedplan.export.entry import CalendarEntry, CalendarName, Kind
from feedplan.export.ics import calendar_uid
from feedplan.export.ledger import Ledger, LedgerError, Scope, dump_ledger, parse_ledger
from feedplan.export.publish import Built, calendar_bytes
from feedplan.model.collection import Collection
from feedplan.server.addresses import EVERYTHING, ROUNDS, Rights, address_part, address_parts, rights_in
from feedplan.server.snapshots import Snapshot, Snapshots, Trouble
from feedplan.server.state import StateFolder
from feedplan.words.language import say
from feedplan.words.writing import full_day

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment


LEDGER = "calendars.ledger.json"
VERSIONS = "calendars.json"
_FORMAT = "feedplan calendars 1"
_SECOND = timedelta(seconds=1)


@dataclass(frozen=True, slots=True)
class CalendarFile:
    """One calendar to subscribe to. group: the one whose trees it is about, "" for all."""

    file: str
    title: str
    name: CalendarName
    group: str = ""


@dataclass(frozen=True, slots=True)
class SiteAddress:
    """Where calendars and pages are found. address: with / at its end, "" where it is not known.

    has_day_pages: each day has a page there.
    """

    address: str = ""
    has_day_pages: bool = True


@dataclass(frozen=True, slots=True)
class Version:
    """A calendar's bytes now. packed: the same under gzip; etag: of the bytes, without quotes; changed: since when."""

    data: bytes
    packed: bytes
    etag: str
    changed: datetime


_FILES = {
    CalendarName.ROUNDS: ROUNDS,
    CalendarName.FEEDING: "feeding.ics",
    CalendarName.WATER: "water.ics",
    CalendarName.HOLDS: "holds.ics",
    CalendarName.LOOKS: "reviews.ics",
    CalendarName.ALERTS: "alerts.ics",
    CalendarName.DETAIL: EVERYTHING,
}


def calendar_files(collection: Collection) -> dict[str, CalendarFile]:
    """Every calendar of a collection by file name, that of the rounds first, that of everything last."""
    files = [CalendarFile(file, title_of(name), name) for name, file in _FILES.items()]
    for part, name in address_parts(collection.groups).items():
        files.insert(-1, CalendarFile(f"group-{part}.ics", name, CalendarName.DETAIL, name))
    return {each.file: each for each in files}


class Calendars:
    """Gives calendars to any number of threads, worked out once for each plan and remembered between runs."""

    def __init__(self, state: StateFolder) -> None:
        self._state = state
        self._site = SiteAddress()
        self._lock = Lock()
        self._ledger: Ledger | None = None
        self._stamps: dict[str, tuple[str, datetime]] = {}
        self._marks: dict[str, object] = {}
        self._of: Snapshot | None = None
        self._entries = Entries([], [], [])
        self._versions: dict[str, Version] = {}

    def at(self, site: SiteAddress) -> None:
        """Link to pages at an address from now on. What was published elsewhere is remembered apart."""
        with self._lock:
            if site != self._site:
                self._site, self._of, self._ledger, self._stamps, self._marks = site, None, None, {}, {}

    def version(self, snapshot: Snapshot, file: str) -> Version | None:
        """A calendar of a plan; None when there is no calendar of that name."""
        if self._of is snapshot and file in self._versions:
            return self._versions[file]
        calendar = calendar_files(snapshot.loaded.collection).get(file)
        if calendar is None:
            return None
        with self._lock:
            if self._of is not snapshot:
                self._begin(snapshot)
            if file not in self._versions:
                self._versions[file] = self._make(snapshot, calendar)
            return self._versions[file]

    def changed(self, snapshot: Snapshot) -> datetime:
        """When the plan last changed in anything a calendar shows."""
        version = self.version(snapshot, EVERYTHING)
        assert version is not None
        return version.changed

    def event_count(self, snapshot: Snapshot, file: str = EVERYTHING) -> int:
        """How many events a calendar holds."""
        version = self.version(snapshot, file)
        return 0 if version is None else version.data.count(b"\r\nBEGIN:VEVENT\r\n")

    def _begin(self, snapshot: Snapshot) -> None:
        """Take up a new plan: its entries, and the ledger of all that was ever in a calendar of it."""
        collection = snapshot.loaded.collection
        self._recall(calendar_uid(collection.identity))
        self._of, self._versions = None, {}
        self._entries = all_entries(snapshot.season, collection)
        before = self._ledger
        everything = calendar_files(collection)[EVERYTHING]
        self._ledger = self._build(snapshot, everything, self._entries.all, snapshot.made).ledger
        if self._ledger != before:
            self._remember(self._named(LEDGER), dump_ledger(self._ledger))
        self._of = snapshot

    def _make(self, snapshot: Snapshot, calendar: CalendarFile) -> Version:
        entries = self._entries.of(calendar.name)
        if calendar.group:
            entries = narrowed(entries, [calendar.group])
        stamp = snapshot.made
        if snapshot.trouble is not None:
            entries = [*entries, _trouble_entry(snapshot.trouble, snapshot)]
            midnight = datetime.combine(snapshot.today, time(), snapshot.zone)
            stamp = max(snapshot.trouble.since, midnight.astimezone(UTC))
        built = self._build(snapshot, calendar, entries, stamp)
        return self._seal(calendar.file, built.data, snapshot.made)

    def _build(
        self, snapshot: Snapshot, calendar: CalendarFile, entries: list[CalendarEntry], stamp: datetime
    ) -> Built:
        season, collection = snapshot.season, snapshot.loaded.collection
        settings = settings_of(
            calendar.name,
            collection,
            group=calendar.group,
            alarm_at=collection.habits.alarm_at,
            site=self._site.address,
            has_day_pages=self._site.has_day_pages,
            source=f"{self._site.address}{calendar.file}" if self._site.address else "",
        )
        scope = Scope(season.start, season.end)
        groups = frozenset([calendar.group]) if calendar.group else None
        keeps = replace(scope, kinds=kinds_of(calendar.name), groups=groups)
        return calendar_bytes(
            entries, settings, scope, snapshot.today, ledger=self._ledger, stamp=stamp, keeps=keeps
        )

    def _seal(self, file: str, data: bytes, made: datetime) -> Version:
        """The bytes with their validators. The time of change never goes back and never stays the same."""
        etag = hashlib.sha256(data).hexdigest()[:32]
        known = self._stamps.get(file)
        if known is None or known[0] != etag:
            changed = made.astimezone(UTC).replace(microsecond=0)
            changed = changed if known is None else max(changed, known[1] + _SECOND)
            self._stamps[file] = etag, changed
            self._remember(self._named(VERSIONS), _dump_stamps(self._stamps))
        return Version(data, gzip.compress(data, compresslevel=6, mtime=0), etag, self._stamps[file][1])

    def _recall(self, uid: str) -> None:
        """Take up what an earlier run, or another server on the same collection, has remembered."""
        if self._ledger is None or self._ledger.calendar != uid or self._is_news(self._named(LEDGER)):
            self._ledger = _read_ledger(self._state.read(self._named(LEDGER)), uid)
        if self._is_news(self._named(VERSIONS)):
            self._stamps = _read_stamps(self._state.read(self._named(VERSIONS)))

    def _named(self, name: str) -> str:
        """The file for what was published at this address: links of another would count as changes, back and forth."""
        if not self._site.address:
            return name
        return f"{hashlib.sha256(self._site.address.encode()).hexdigest()[:8]}-{name}"

    def _is_news(self, name: str) -> bool:
        """Whether a file of the state folder is not as this run last read or wrote it."""
        before, self._marks[name] = self._marks.get(name), self._state.mark(name)
        return self._marks[name] is not None and self._marks[name] != before

    def _remember(self, name: str, data: bytes) -> None:
        """Keep for the next run. Without room for it the calendars go on, and a restart counts anew."""
        with suppress(CannotWriteError):
            self._state.write(name, data)
            self._marks[name] = self._state.mark(name)


def _trouble_entry(trouble: Trouble, snapshot: Snapshot) -> CalendarEntry:
    """One event today that says the plan is not the latest."""
    since = trouble.since.astimezone(snapshot.zone)
    place = f"{trouble.file}:{trouble.line}: " if trouble.file else ""
    more = " " + say("And {count} more.", count=trouble.more) if trouble.more else ""
    lasts = say(
        "So since {day} {time}. Until it is mended the last good plan stays.",
        day=full_day(since.date()),
        time=f"{since:%H:%M}",
    )
    return CalendarEntry(
        key="trouble",
        kind=Kind.NOTE,
        start=snapshot.today,
        title=say("The plan is not up to date: mend {place}", place=trouble.where)
        if trouble.file
        else say("The plan is not up to date: look at the computer it comes from"),
        text=f"{place}{trouble.message}{more}\n{lasts}",
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


class CalendarAnswer(NamedTuple):
    """A whole answer, as WSGI has it."""

    status: str
    headers: list[tuple[str, str]]
    body: bytes


def with_calendars(
    inside: WSGIApplication,
    snapshots: Snapshots,
    calendars: Calendars,
    now: Callable[[], datetime],
    site: Callable[[], SiteAddress],
    *,
    refusal: Callable[[Exception], Response],
) -> WSGIApplication:
    """A WSGI application that answers for calendars and leaves everything else to the one inside.

    now: the clock. site: where its pages are found now. refusal: the answer that tells what went wrong.
    """

    def find(file: str, environ: WSGIEnvironment) -> CalendarAnswer | None:
        if environ["REQUEST_METHOD"] not in ("GET", "HEAD"):
            raise MethodNotAllowed(["GET", "HEAD"])
        snapshot = snapshots.current()
        calendars.at(site())
        version = calendars.version(snapshot, file)
        file_name = f"{address_part(snapshot.place)}-{file}"
        return None if version is None else _calendar_answer(environ, version, file_name, now())

    def answer_one(environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        path: str = environ["PATH_INFO"]
        found = None
        if path.endswith(".ics") and rights_in(environ) in (Rights.READ, Rights.WRITE):
            try:
                found = find(path[1:], environ)
            except Exception as problem:
                return refusal(problem)(environ, start_response)
        if found is None:
            return inside(environ, start_response)
        start_response(found.status, found.headers)
        return [] if environ["REQUEST_METHOD"] == "HEAD" else [found.body]

    return answer_one


def _calendar_answer(
    environ: WSGIEnvironment, version: Version, file_name: str, now: datetime
) -> CalendarAnswer:
    """A calendar, or 304 when the caller holds these very bytes already, packed or not.

    Last-Modified is left out for as long as it would lie in the future (RFC 9110, section 8.8.2.1).
    """
    is_packed = takes_gzip(environ.get("HTTP_ACCEPT_ENCODING"))
    # A strong tag stands for bytes as sent (8.8.3), so the packed form has one of its own.
    tags = [version.etag, f"{version.etag}-gzip"]
    headers = [
        ("ETag", quote_etag(tags[is_packed])),
        ("Cache-Control", "private, no-cache"),
        ("Vary", "Accept-Encoding"),
    ]
    if version.changed <= now:
        headers.append(("Last-Modified", http_date(version.changed)))
    if not _is_modified(environ, tags, version.changed):
        return CalendarAnswer("304 NOT MODIFIED", headers, b"")
    body = version.packed if is_packed else version.data
    headers += [
        ("Content-Type", "text/calendar; charset=utf-8"),
        ("Content-Disposition", f'inline; filename="{file_name}"'),
        ("Content-Length", str(len(body))),
    ]
    if is_packed:
        headers.append(("Content-Encoding", "gzip"))
    return CalendarAnswer("200 OK", headers, body)


def _is_modified(environ: WSGIEnvironment, tags: list[str], changed: datetime) -> bool:
    """Whether the caller's copy is none of these. If-None-Match, where given, decides alone (13.1.3)."""
    held = parse_etags(environ.get("HTTP_IF_NONE_MATCH"))
    if held:
        return not any(map(held.contains_weak, tags))
    try:
        return is_resource_modified(environ, last_modified=changed)
    except OverflowError:  # a date beyond all years, which werkzeug does not catch
        return True


@lru_cache(maxsize=64)  # phones say the same few things all day
def takes_gzip(accepted: str | None) -> bool:
    """Whether a caller's Accept-Encoding lets an answer be packed."""
    return bool(parse_accept_header(accepted)["gzip"] > 0)
