"""Calendars for whoever asks: a file to import that says what is off, or a snapshot to subscribe to."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from pathlib import Path

from feedplan.export.entry import CalendarEntry
from feedplan.export.ics import (
    CalendarSettings,
    DatedEvent,
    calendar_file,
    event_block,
    event_body,
    event_uid,
    first_day,
    last_day,
    no_longer_off,
)
from feedplan.export.ledger import (
    Draft,
    Ledger,
    LedgerError,
    Scope,
    dump_ledger,
    is_kept,
    is_shown_cancelled,
    parse_ledger,
    recover_ledger,
    revise,
)
from feedplan.export.unchanged import Inputs, SpanShown, ledger_beside, with_memory
from feedplan.files import write_together
from feedplan.words.language import say


@dataclass(frozen=True, slots=True)
class Report:
    """What publishing did.

    events: how many the calendar shows, cancelled ones not counted. new, changed, cancelled: since last time.
    is_rewritten: whether the file's bytes changed. warnings: one line each.
    """

    events: int
    new: int
    changed: int
    cancelled: int
    is_rewritten: bool = True
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Built:
    """A calendar's bytes, the ledger to remember for next time, and what changed."""

    data: bytes
    ledger: Ledger
    report: Report


def calendar_bytes(
    entries: Iterable[CalendarEntry],
    settings: CalendarSettings,
    scope: Scope,
    today: date,
    *,
    ledger: Ledger | None = None,
    stamp: datetime | None = None,
    with_cancelled: bool = False,
    keeps: Scope | None = None,
) -> Built:
    """A calendar of what `scope` shows of the entries; a snapshot unless told to say what is off.

    entries: all that the plan has, not narrowed. ledger: what the last call gave back, None for a first time;
    several calendars of one collection may share one. keeps: which of those that are over are shown though the plan
    has them no more; what `scope` shows if None. stamp: when what changed counts as changed, with a zone;
    00:00 UTC of `today` if None. The same arguments give the same bytes, and while no entry changes so does
    another day. Raises UsageError for an unknown zone or colour, ValueError when two entries share a key.
    """
    shown, elsewhere = _drafts(entries, settings, scope)
    before = ledger or Ledger(settings.uid)
    revised = revise(before, shown, scope, today=today, changed=_utc(stamp, today), elsewhere=elsewhere)
    events = [
        DatedEvent(record.draft.first, record.draft.last, uid, event_block(uid, record))
        for uid, record in revised.ledger.records.items()
        if uid in shown
        or (uid not in elsewhere and is_kept(record, keeps or scope, today))
        or (with_cancelled and is_shown_cancelled(record, scope, today))
    ]
    standing = sum(revised.ledger.records[event.uid].gone is None for event in events)
    report = Report(standing, revised.new, revised.changed, revised.cancelled)
    return Built(calendar_file(settings, events, today), revised.ledger, report)


def publish_calendar(
    path: Path,
    entries: Iterable[CalendarEntry],
    settings: CalendarSettings,
    scope: Scope,
    today: date,
    *,
    stamp: datetime | None = None,
    with_cancelled: bool = True,
    ledger_path: Path | None = None,
    inputs: Inputs | None = None,
) -> Report:
    """Write a calendar file to import, and beside it the ledger that the next time builds on.

    Events published before and gone since stay in it as cancelled for 60 days. A file whose bytes would not
    change is left alone. A lost or damaged ledger is made again from the calendar file, with a warning.
    inputs: what it is made from, for the ledger to remember; None remembers nothing.
    Arguments and errors are those of `calendar_bytes`; raises CannotWriteError, and then nothing has changed.
    """
    ledger_path = ledger_path or ledger_beside(path)
    old_calendar, old_ledger = _bytes_of(path), _bytes_of(ledger_path)
    ledger, warnings = _ledger(ledger_path, old_ledger, path, old_calendar, settings)
    built = calendar_bytes(
        entries, settings, scope, today, ledger=ledger, stamp=stamp, with_cancelled=with_cancelled
    )
    new_ledger = dump_ledger(built.ledger)
    if inputs is not None:
        standing = SpanShown(built.report.events, scope.first, scope.last)
        new_ledger = with_memory(new_ledger, built.data, inputs, standing)
    # The ledger first: a crash between the two then skips a number, where the other order could give out
    # one number twice.
    files = [(ledger_path, old_ledger, new_ledger), (path, old_calendar, built.data)]
    write_together([(target, data) for target, old, data in files if data != old])
    return replace(built.report, is_rewritten=built.data != old_calendar, warnings=tuple(warnings))


def _drafts(
    entries: Iterable[CalendarEntry], settings: CalendarSettings, scope: Scope
) -> tuple[dict[str, Draft], set[str]]:
    """The events that a scope shows, by UID, and the UIDs of entries of other kinds and groups."""
    shown: dict[str, Draft] = {}
    elsewhere: set[str] = set()
    keys: set[str] = set()
    for entry in entries:
        if entry.key in keys:
            raise ValueError(f"two calendar entries have the key {entry.key!r}")
        keys.add(entry.key)
        uid = event_uid(settings.identity, entry.key)
        if not scope.is_about(entry.kind, entry.group):
            elsewhere.add(uid)
            continue
        draft = Draft(
            entry.kind,
            entry.group,
            first_day(entry),
            last_day(entry),
            event_body(entry, settings),
            entry.told,
        )
        if scope.covers(draft):
            shown[uid] = draft
    return shown, elsewhere


def _utc(stamp: datetime | None, today: date) -> str:
    """The time of a change as the calendar writes it."""
    when = (
        datetime(today.year, today.month, today.day, tzinfo=UTC) if stamp is None else stamp.astimezone(UTC)
    )
    return f"{when:%Y%m%dT%H%M%SZ}"


def _bytes_of(path: Path) -> bytes | None:
    """What a file holds; None when it is not there or cannot be read."""
    try:
        return path.read_bytes()
    except OSError:
        return None


def _as_before(ledger: Ledger) -> Ledger:
    """A ledger read back from its calendar, the titles of what is off as they were before."""
    records = {
        uid: record
        if record.gone is None
        else replace(record, draft=replace(record.draft, body=no_longer_off(record.draft.body)))
        for uid, record in ledger.records.items()
    }
    return replace(ledger, records=records)


def _ledger(
    ledger_path: Path, raw: bytes | None, path: Path, calendar: bytes | None, settings: CalendarSettings
) -> tuple[Ledger, list[str]]:
    """The ledger to build on, and a warning when it is not simply the last one."""
    uid = settings.uid
    if raw is None and calendar is None and not ledger_path.exists():
        return Ledger(uid), []
    try:
        if raw is None:
            raise LedgerError(say("cannot be read") if ledger_path.exists() else say("is missing"))
        return parse_ledger(raw, uid), []
    except LedgerError as problem:
        ledger = _as_before(recover_ledger(calendar or b"", uid))
        warning = say(
            "the ledger {ledger} {problem}; the numbering of changes was made again from {calendar}"
            if ledger.records
            else "the ledger {ledger} {problem}; the numbering of changes starts again from 0",
            ledger=ledger_path.name,
            problem=problem,
            calendar=path.name,
        )
        return ledger, [warning]
