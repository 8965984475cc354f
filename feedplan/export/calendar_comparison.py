"""A calendar as it was last written beside the plan of today: which entries moved, changed, appeared or went."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date

from feedplan.engine.answers.comparison import Side
from feedplan.engine.answers.differences import Change, Difference, Event, EventKind
from feedplan.engine.answers.explain import timeline_of, why_not
from feedplan.export.entries import calendar_entries
from feedplan.export.entry import CalendarEntry, Kind
from feedplan.export.ics import event_uid
from feedplan.export.ledger import Draft, Ledger
from feedplan.model.reason import NoLongerPlanned, Quoted, Reason, Rule
from feedplan.words.writing import trees_line

_FOLD = re.compile(r"\r\n[ \t]")
_SUMMARY = re.compile(r"^SUMMARY[^:]*:(.*)$", re.MULTILINE)


def compare_with_ledger(ledger: Ledger, side: Side, first: date, last: date) -> tuple[Difference, ...]:
    """Every entry between two days that the calendar's memory has otherwise than the plan, or not at all.

    What the calendar was narrowed to is not known: an entry it never had is told as new.
    """
    now = {
        event_uid(side.collection.identity, entry.key): entry
        for entry in calendar_entries(side.season, side.collection)
    }
    was = {uid: record.draft for uid, record in ledger.records.items() if record.gone is None}
    found = []
    for uid in sorted(was.keys() | now.keys()):
        each = _difference(was.get(uid), now.get(uid), side)
        if each is not None and first <= each.day <= last:
            found.append(each)
    return tuple(sorted(found, key=lambda each: (each.day, each.what, each.event.name)))


def _difference(draft: Draft | None, entry: CalendarEntry | None, side: Side) -> Difference | None:
    if entry is None:
        assert draft is not None
        reasons = tuple(_why_gone(draft, side)) or (Reason(Rule.PERIOD, NoLongerPlanned()),)
        return Difference(
            Change.WENT,
            str(draft.kind),
            Event(EventKind.TITLED, _title(draft)),
            draft.group or "",
            _trees(draft),
            draft.first,
            None,
            reasons=reasons,
        )
    reasons = tuple(_why(entry, side)) or (
        Reason(Rule.PERIOD, Quoted(entry.text.split("\n", 1)[0] or entry.title)),
    )
    if draft is None:
        change = Change.APPEARED
    elif draft.first != entry.start:
        change = Change.MOVED
    elif _title(draft) != entry.title:
        is_weaker = entry.kind is Kind.FEEDING and _is_weakened(entry, side)
        change = Change.WEAKENED if is_weaker else Change.REWORDED
    else:
        return None
    before = None if draft is None else draft.first
    return Difference(
        change,
        str(entry.kind),
        Event(EventKind.TITLED, entry.title),
        entry.group or "",
        (),
        before,
        entry.start,
        reasons=reasons,
    )


def _why(entry: CalendarEntry, side: Side) -> Iterator[Reason]:
    """The reasons of the mix that an entry stands for."""
    for item in side.season.rounds:
        if item.key == entry.key:
            reasons = {r.fact: r for event in item.events for r in event.reasons}
            yield from reasons.values()


def _is_weakened(entry: CalendarEntry, side: Side) -> bool:
    return any(item.key == entry.key and item.ppm < item.plan_ppm for item in side.season.rounds)


def _why_gone(draft: Draft, side: Side) -> Iterator[Reason]:
    """What stands in the way of the trees that a mix was for."""
    if draft.kind is not Kind.FEEDING:
        return
    found = {
        reason.fact: reason
        for name in _trees(draft)
        if (timeline := timeline_of(side.season, name)) is not None
        for reason in why_not(timeline, draft.first)
    }
    yield from found.values()


def _title(draft: Draft) -> str:
    match = _SUMMARY.search(_FOLD.sub("", draft.body).replace("\r\n", "\n"))
    return _plain(match[1]) if match else str(draft.kind)


def _trees(draft: Draft) -> tuple[str, ...]:
    # Written in the language of the file; one in another language only loses its names here.
    line = re.escape(trees_line("\0")).replace("\0", "(.*?)")
    pattern = re.compile(rf"(?:^|\\n|:){line}(?:\\n|$)", re.MULTILINE)
    match = pattern.search(_FOLD.sub("", draft.body).replace("\r\n", "\n"))
    return tuple(re.sub(r" \([0-9]+\)$", "", name) for name in _plain(match[1]).split(", ")) if match else ()


def _plain(text: str) -> str:
    """A calendar text with its escapes taken away."""
    return re.sub(r"\\([\\;,])", r"\1", text)
