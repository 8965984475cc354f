"""What differs between two plans, or between a calendar as last written and today's, as text and for `--json`."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from typing import Any

from feedplan.engine.answers.comparison import Side
from feedplan.engine.answers.differences import Change, Difference, Event, EventKind, told_in_short
from feedplan.engine.answers.explain import timeline_of, why_not
from feedplan.export.calendars import entries_of
from feedplan.export.entry import CalendarEntry, CalendarName, Kind
from feedplan.export.ics import event_uid
from feedplan.export.ledger import Draft, Ledger
from feedplan.model.reason import NoLongerPlanned, Quoted, Reason, Rule
from feedplan.words.language import say, say_count
from feedplan.words.reasons import reason_words
from feedplan.words.writing import capital, day_month, day_words, listed, ppm_words, trees_line

MOST_NAMES = 6
A_WEEK = timedelta(days=7)
_FOLD = re.compile(r"\r\n[ \t]")
_SUMMARY = re.compile(r"^SUMMARY[^:]*:(.*)$", re.MULTILINE)


def comparison_lines(found: Sequence[Difference], read_on: date) -> Iterator[str]:
    """One line for each difference and one for its reason; what only follows is counted, not listed."""
    if not found:
        yield say("Nothing differs.")
        return
    slight = [each for each in found if each.what == "check" and _is_slight(each)]
    for each, along in told_in_short([each for each in found if not _is_slight(each)]):
        change = say("{what}: {change}.", what=_what(each, read_on), change=_change(each, read_on))
        yield f"{change} {_following(each.what, along)}" if along else change
        yield from (f"  {reason_words(reason, read_on)}" for reason in each.reasons)
    if slight:
        groups = listed(sorted({each.group for each in slight}))
        yield say("Water checks change their pace up to a week sooner or later in {groups}.", groups=groups)


def _is_slight(each: Difference) -> bool:
    """Whether a water check changes its pace, or a question comes, only some days sooner or later."""
    if each.what not in ("check", "question") or each.before is None or each.after is None:
        return False
    return each.change is Change.MOVED and abs(each.after - each.before) <= A_WEEK


_FOLLOWING = {
    "check": ("{count} later change follows.", "{count} later changes follow."),
    "feed": ("{count} later feed follows.", "{count} later feeds follow."),
    "look": ("{count} later look follows.", "{count} later looks follow."),
}


def _following(what: str, count: int) -> str:
    return say_count(*_FOLLOWING[what], count)


def _what(each: Difference, read_on: date) -> str:
    names = list(each.trees[:MOST_NAMES])
    left = len(each.trees) - len(names)
    event = event_words(each.event, read_on)
    if left:
        names.append(say("{count} more", count=left))
    whom = listed(names) or ("" if each.group in event else each.group)
    return say("{event}, {whom}", event=capital(event), whom=whom) if whom else capital(event)


EVENTS = {
    EventKind.FEED: "feed of {name}",
    EventKind.STAGE: "{name}",
    EventKind.HOLD: "{name} from {start}",
    EventKind.FIRST_CHECK: "first water check",
    EventKind.SECOND_CHECK: "second water check",
    EventKind.THIRD_CHECK: "third water check",
    EventKind.LOOK_AFTER: "look after {name}",
    EventKind.LOOK_FOR: "look for {name}",
    EventKind.FROST: "frost alert",
    EventKind.FROSTED: "look for frost damage",
    EventKind.HEAT: "heat alert",
    EventKind.HOT_ROOTS: "alert of heat at the roots",
    EventKind.WIND: "wind alert",
    EventKind.STALE: "weather record alert",
    EventKind.SIGHTING: "question about a sighting",
    EventKind.BALLS_FROZEN: "root balls frozen",
    EventKind.LAY: "lay solid feed",
    EventKind.LIFT: "lift solid feed",
    EventKind.FLUSH: "flush with plain water",
    EventKind.TITLED: "{name}",
}


def event_words(event: Event, read_on: date) -> str:
    """Which event it is: "feed of growing-on", "second water check"."""
    start = "" if event.start is None else day_month(event.start, read_on)
    return say(EVENTS[event.kind], name=event.name, start=start)


def _change(each: Difference, read_on: date) -> str:
    """The change in words: "moved from Fri 30 Apr to Sun 6 Jun, 38 ppm N instead of 150 ppm N"."""
    change = _moved(each, read_on)
    before, after = each.ppm_before, each.ppm_after
    if before is None or after is None or before == after:
        return change
    return say("{change}, {ppm} instead of {was}", change=change, ppm=ppm_words(after), was=ppm_words(before))


_CHANGES = {
    Change.MOVED: "moved from {before} to {after}",
    Change.APPEARED: "new on {after}",
    Change.WENT: "no longer on {before}",
    Change.WEAKENED: "weakened on {after}",
    Change.STRENGTHENED: "strengthened on {after}",
    Change.LESS_OFTEN: "less often from {after}",
    Change.MORE_OFTEN: "more often from {after}",
    Change.REWORDED: "reworded on {after}",
}


def _moved(each: Difference, read_on: date) -> str:
    if each.change is Change.APPEARED and each.after is None:
        return say("new")
    if each.change is Change.WENT and each.before is None:
        return say("gone")
    before, after = ("" if day is None else day_words(day, read_on) for day in (each.before, each.after))
    return say(_CHANGES[each.change], before=before, after=after)


def comparison_facts(found: Sequence[Difference], read_on: date) -> list[dict[str, Any]]:
    """The same for `--json`, every feed listed."""
    return [
        {
            "change": str(each.change),
            "what": each.what,
            "words": event_words(each.event, read_on),
            "group": each.group or None,
            "trees": list(each.trees),
            "date_before": _iso(each.before),
            "date_after": _iso(each.after),
            "n_mg_per_l_before": None if each.ppm_before is None else float(each.ppm_before),
            "n_mg_per_l_after": None if each.ppm_after is None else float(each.ppm_after),
            "reasons": [
                {
                    "rule": str(reason.rule),
                    "text": reason_words(reason, read_on),
                    "source": str(reason.source),
                    "journal": None if reason.entry is None else str(reason.entry.source),
                }
                for reason in each.reasons
            ],
        }
        for each in found
    ]


def _iso(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


def compare_with_ledger(
    ledger: Ledger, name: CalendarName, side: Side, days: tuple[date, date]
) -> tuple[Difference, ...]:
    """Every entry between two days that the calendar's memory has otherwise than the plan, or not at all.

    What the calendar was narrowed to is not known: an entry it never had is told as new.
    """
    now = {
        event_uid(side.collection.identity, entry.key): entry
        for entry in entries_of(name, side.season, side.collection)
    }
    was = {uid: record.draft for uid, record in ledger.records.items() if record.gone is None}
    found = []
    first, last = days
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
