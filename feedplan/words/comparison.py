"""What differs between two plans, as text and as facts for `--json`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from typing import Any

from feedplan.engine.answers.differences import Change, Difference, Event, EventKind, told_in_short
from feedplan.words.language import say, say_count
from feedplan.words.reasons import reason_words
from feedplan.words.writing import capital, day_month, day_words, listed, ppm_words

MOST_NAMES = 6
A_WEEK = timedelta(days=7)


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
    EventKind.HEAT: "heat alert",
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
