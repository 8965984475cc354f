"""What has been published in a calendar file before: the memory behind SEQUENCE, LAST-MODIFIED and CANCELLED.

One ledger belongs to one calendar file and remembers every event ever written to it for as long as that event
may matter. An event that an export leaves out because it was narrowed (other groups or kinds, a shorter window)
keeps its record as it is; only an event that the export would show and the plan no longer has is cancelled.
A lost ledger is made again from the calendar file it belonged to.
"""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from typing import Any

from feedplan.errors import UsageError
from feedplan.export.entry import Kind
from feedplan.export.zone_file import read_zone
from feedplan.words.language import say

CANCELLED_FOR = timedelta(days=60)  # long enough for a file imported every month
REMEMBERED_FOR = timedelta(days=400)  # after its last day; an export that reaches further back numbers from 0
_GIVING_WAY = (Kind.WATER, Kind.HOLD)  # spans, which the plan cuts anew
_FORMAT = "feedplan ledger 1"
_UID = re.compile("[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")
_STAMP = re.compile(r"\d{8}T\d{6}Z")
_BODY = re.compile(r"(?:.*\r\n)?DTSTART[:;].*\r\n", re.DOTALL)
_EVENT = re.compile(r"^BEGIN:VEVENT\r\n(.*?)^END:VEVENT\r\n", re.MULTILINE | re.DOTALL)
_LOGICAL_LINE = re.compile(r"[^\r\n]*\r\n(?:[ \t][^\r\n]*\r\n)*")
_OF_THE_REVISION = re.compile(r"(UID|DTSTAMP|LAST-MODIFIED|SEQUENCE|STATUS)[:;]", re.IGNORECASE)
TIME_ZONE = re.compile(r"^DTSTART;TZID=([^:;\r\n]+):", re.MULTILINE)


class LedgerError(ValueError):
    """A ledger that cannot be used; the message completes "the ledger ..."."""


@dataclass(frozen=True, slots=True)
class Draft:
    """What an event says now. body: its lines but for identity and revision; first, last: its days.

    told: the ids of the journal's entries that say what became of it.
    """

    kind: Kind
    group: str | None
    first: date
    last: date
    body: str
    told: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PublishedEvent:
    """What an event said when last written.

    sequence: goes up with every change. changed: when that was, in UTC, as "20270314T000000Z".
    gone: the day the plan no longer had it, None while it has.
    """

    draft: Draft
    sequence: int
    changed: str
    gone: date | None = None


@dataclass(frozen=True, slots=True)
class Ledger:
    """The records of one calendar by UID. calendar: the calendar's own UID."""

    calendar: str
    records: Mapping[str, PublishedEvent] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Scope:
    """What an export shows: a window of days, both ends included, and some kinds and groups (None for all).

    The window must not reach further back than the plan does: what it covers and the plan lacks is cancelled.
    An entry of no group concerns every tree and is in the calendar of each group.
    """

    first: date
    last: date
    kinds: frozenset[Kind] | None = None
    groups: frozenset[str] | None = None

    def is_about(self, kind: Kind, group: str | None) -> bool:
        """Whether entries of this kind and group are shown at all."""
        is_kind_shown = self.kinds is None or kind in self.kinds
        return is_kind_shown and (self.groups is None or group is None or group in self.groups)

    def covers(self, draft: Draft) -> bool:
        """Whether an event is shown: of a kind and group shown, with a day in the window."""
        is_in_window = draft.first <= self.last and draft.last >= self.first
        return is_in_window and self.is_about(draft.kind, draft.group)


@dataclass(frozen=True, slots=True)
class Revised:
    """A ledger brought up to date, and how many events are new, changed and newly cancelled."""

    ledger: Ledger
    new: int
    changed: int
    cancelled: int


def revise(
    ledger: Ledger,
    drafts: Mapping[str, Draft],
    scope: Scope,
    *,
    today: date,
    changed: str,
    elsewhere: Collection[str] = (),
) -> Revised:
    """The ledger after publishing `drafts`, which are all that the plan has for `scope`, by UID.

    An event that says what it said keeps its numbers; a changed or returned one gets the next SEQUENCE and
    `changed` as its time. One that `scope` covers and the plan no longer has is gone from `today` on; one that
    only fell out of the window is not. One that is over stays as it was, until the journal tells more of it, and
    none is made for a day that was published and is over. elsewhere: UIDs that the plan still has, under other kinds
    or groups.
    """
    old = ledger.records
    since = min((r.draft.first for r in old.values() if r.draft.kind not in _GIVING_WAY), default=date.max)
    drafts = {
        uid: draft
        for uid, draft in drafts.items()
        if uid in old or draft.kind in _GIVING_WAY or not since <= draft.last < today
    }
    written = {uid: _written(old.get(uid), draft, today, changed) for uid, draft in drafts.items()}
    missing = {
        uid: _gone(record, today, changed)
        for uid, record in old.items()
        if record.gone is None
        and uid not in drafts
        and uid not in elsewhere
        and scope.covers(record.draft)
        and not _stays(record, today)
    }
    kept = {uid: record for uid, record in old.items() if not _is_forgotten(record, today)}
    return Revised(
        ledger=replace(ledger, records={**kept, **missing, **written}),
        new=sum(uid not in old for uid in written),
        changed=sum(uid in old and old[uid].sequence != record.sequence for uid, record in written.items()),
        cancelled=len(missing),
    )


def is_kept(record: PublishedEvent, scope: Scope, today: date) -> bool:
    """Whether an event that is over is shown as it was, whatever the plan makes of its day now."""
    return record.gone is None and _stays(record, today) and scope.covers(record.draft)


def _stays(record: PublishedEvent, today: date) -> bool:
    """Whether an event is over, and none that took its place stands on the same days."""
    return record.draft.last < today and record.draft.kind not in _GIVING_WAY


def is_shown_cancelled(record: PublishedEvent, scope: Scope, today: date) -> bool:
    """Whether a file for import still says that this event is off."""
    return record.gone is not None and today < record.gone + CANCELLED_FOR and scope.covers(record.draft)


def _written(old: PublishedEvent | None, draft: Draft, today: date, changed: str) -> PublishedEvent:
    if old is None:
        return PublishedEvent(draft, 0, changed)
    is_over = max(old.draft.last, draft.last) < today
    if old.gone is None and is_over and old.draft.told == draft.told:
        return old
    if old.gone is None and old.draft.body == draft.body:
        return replace(old, draft=draft)
    # The later of the two times: a clock set back, or a past --today, does not take LAST-MODIFIED back.
    return PublishedEvent(draft, old.sequence + 1, max(changed, old.changed))


def _gone(old: PublishedEvent, today: date, changed: str) -> PublishedEvent:
    return PublishedEvent(old.draft, old.sequence + 1, max(changed, old.changed), gone=today)


def _is_forgotten(record: PublishedEvent, today: date) -> bool:
    """Whether a record is too old to matter."""
    return record.draft.last + REMEMBERED_FOR < today


def is_sound(uid: str, record: PublishedEvent) -> bool:
    """Whether a record from outside has the form that the calendar needs, line for line."""
    is_numbered = record.sequence >= 0 and bool(_STAMP.fullmatch(record.changed))
    return is_numbered and bool(_UID.fullmatch(uid) and _BODY.fullmatch(record.draft.body))


def dump_ledger(ledger: Ledger) -> bytes:
    """The ledger as JSON, the same bytes for the same records."""
    rows = {uid: _row(record) for uid, record in ledger.records.items()}
    content = {"format": _FORMAT, "calendar": ledger.calendar, "events": rows}
    return json.dumps(content, sort_keys=True, separators=(",", ":")).encode() + b"\n"


def parse_ledger(raw: bytes, calendar: str) -> Ledger:
    """The ledger of a calendar from its JSON. Raises LedgerError when it is damaged or another calendar's."""
    try:
        content = json.loads(raw)
    except (ValueError, RecursionError) as error:
        raise LedgerError(say("is cut off or damaged")) from error
    match content:
        case {"format": str(written_as)} if written_as != _FORMAT:
            raise LedgerError(say("was written by another version of feedplan"))
        case {"calendar": str(other), "format": str()} if other != calendar:
            raise LedgerError(say("belongs to another calendar"))
        case {"format": str(), "calendar": str(), "events": dict(rows)}:
            return Ledger(calendar, {uid: _record(uid, row) for uid, row in rows.items()})
        case _:
            raise LedgerError(say("is damaged"))


def _row(record: PublishedEvent) -> dict[str, str | int | None]:
    draft = record.draft
    return {
        "sequence": record.sequence,
        "changed": record.changed,
        "gone": record.gone.isoformat() if record.gone else None,
        "kind": draft.kind.value,
        "group": draft.group,
        "first": draft.first.isoformat(),
        "last": draft.last.isoformat(),
        "body": draft.body,
        "told": " ".join(draft.told),
    }


def _record(uid: str, row: object) -> PublishedEvent:
    """A record from its JSON. Raises LedgerError when a value is missing or of the wrong kind."""
    try:
        match row:
            case {
                "sequence": int(sequence),
                "changed": str(changed),
                "gone": str() | None as gone,
                "kind": str(kind),
                "group": str() | None as group,
                "first": str(first),
                "last": str(last),
                "body": str(body),
                **more,
            } if not isinstance(sequence, bool):
                told = tuple(str(more.get("told", "")).split())
                draft = Draft(
                    Kind(kind), group, date.fromisoformat(first), date.fromisoformat(last), body, told
                )
                went = date.fromisoformat(gone) if gone else None
                record = PublishedEvent(draft, sequence, changed, went)
                if is_sound(uid, record):
                    return record
    except ValueError:
        pass
    raise LedgerError(say("has a wrong value for the event {uid}", uid=uid))


def recover_ledger(raw: bytes, calendar: str) -> Ledger:
    """What can still be read of a calendar's events; nothing when the file is another calendar's.

    A file cut off half way gives its whole events. An event whose lines another program has put in another
    form keeps its SEQUENCE but counts as changed.
    """
    text = re.sub(r"\r*\n", "\r\n", raw.decode("utf-8", errors="replace"))
    head = text.partition("BEGIN:VEVENT\r\n")[0]
    if f"\r\nX-WR-RELCALID:{calendar}\r\n" not in head:
        return Ledger(calendar)
    records = {}
    for match in _EVENT.finditer(text):
        # Anything may stand in a damaged event, and what a parser makes of it is not foreseeable; one that
        # cannot be read is left out.
        with suppress(ValueError, KeyError, TypeError, AttributeError, IndexError, UsageError):
            uid, record = _event(match[0], match[1])
            if is_sound(uid, record):
                records[uid] = record
    return Ledger(calendar, records)


def _event(block: str, lines: str) -> tuple[str, PublishedEvent]:
    """The UID and record of one VEVENT."""
    from icalendar import Event  # noqa: PLC0415 - 45 ms to load, and only a lost ledger needs it

    event: Any = Event.from_ical(block)
    body = "".join(line for line in _LOGICAL_LINE.findall(lines) if not _OF_THE_REVISION.match(line))
    if match := TIME_ZONE.search(body):
        read_zone(match[1])
    changed = event["LAST-MODIFIED"].to_ical().decode()
    is_cancelled = str(event.get("STATUS", "")).upper() == "CANCELLED"
    gone = event["LAST-MODIFIED"].dt.date() if is_cancelled else None
    kind, group = _kind_and_group([str(word) for word in event["CATEGORIES"].cats])
    draft = Draft(kind, group, *_days(event), body)
    return str(event["UID"]), PublishedEvent(draft, int(event.get("SEQUENCE", 0)), changed, gone)


def _kind_and_group(words: list[str]) -> tuple[Kind, str | None]:
    """The kind comes first in CATEGORIES, then the group."""
    return Kind(words[0]), words[1] if len(words) > 1 else None


def _days(event: Any) -> tuple[date, date]:
    """The first and last day of an event, repeats included."""
    start = event["DTSTART"].dt
    first = _day(start)
    end = first if isinstance(start, datetime) else _day(event["DTEND"].dt) - timedelta(days=1)
    if "RRULE" not in event:
        return first, end
    return first, _day(event["RRULE"]["UNTIL"][0], start) + (end - first)


def _day(moment: date, like: date | None = None) -> date:
    """The day of a date or of an instant, on the wall clock that `like` is shown on."""
    if not isinstance(moment, datetime):
        return moment
    zone = like.tzinfo if isinstance(like, datetime) else None
    return moment.astimezone(zone).date() if zone else moment.date()
