"""What one journal entry changes: the plan before it beside the plan after it, in short sentences."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

from feedplan.engine.entry_words import listed
from feedplan.engine.words import day_month
from feedplan.model.hold import Action
from feedplan.model.season import FeedEvent, Hold, Rule, Season, Status, Timeline

_AGAINST = frozenset({Rule.HOLD, Rule.SEASON_LIMIT, Rule.DRY, Rule.NOT_HERE})


@dataclass(frozen=True, slots=True)
class Effects:
    """What an entry changes. names: the trees it is about; changes: from now on; flags: what speaks against it."""

    names: tuple[str, ...]
    changes: tuple[str, ...]
    flags: tuple[str, ...]
    do: tuple[str, ...]


def effects_of(before: Season, after: Season, entry_id: str) -> Effects:
    """What differs between two plans of the same day, for the trees of the entry that only one of them has."""
    touched = [t for t in after.timelines if _is_about(t, entry_id)] or [
        t for t in after.timelines if any(name in _names_about(before, entry_id) for name in t.names)
    ]
    changes: dict[str, list[str]] = {}
    flags: dict[str, list[str]] = {}
    for timeline in touched:
        for sentence in _changes(_same(before, timeline), timeline, after.today, entry_id):
            changes.setdefault(sentence, []).extend(timeline.names)
        for sentence in _flags(timeline, entry_id):
            flags.setdefault(sentence, []).extend(timeline.names)
    names = tuple(dict.fromkeys(name for timeline in touched for name in timeline.names))
    opened = [hold for t in touched for hold in t.holds if hold.entry.id == entry_id]
    return Effects(
        names,
        tuple(_told(changes, len(names))),
        tuple(_told(flags, len(names))),
        tuple(dict.fromkeys(line for hold in opened for line in hold.rule.do)),
    )


def _is_about(timeline: Timeline, entry_id: str) -> bool:
    return any(entry.id == entry_id for entry in timeline.entries)


def _names_about(season: Season, entry_id: str) -> set[str]:
    return {name for t in season.timelines if _is_about(t, entry_id) for name in t.names}


def _same(season: Season, timeline: Timeline) -> Timeline | None:
    """The timeline that the first of the trees followed in another plan."""
    return next((t for t in season.timelines if timeline.names[0] in t.names), None)


def _told(sentences: dict[str, list[str]], all_names: int) -> Iterator[str]:
    """Each sentence, led by the trees it is true of unless that is all of them."""
    for sentence, names in sentences.items():
        yield sentence if len(names) >= all_names else f"{listed(names)}: {sentence}"


def _changes(before: Timeline | None, after: Timeline, today: date, entry_id: str) -> Iterator[str]:
    old_holds = {hold.entry.id: hold for hold in before.holds} if before else {}
    for hold in after.holds:
        if hold.entry.id == entry_id:
            yield hold_sentence(hold)
        elif (hold.end, hold.missing) != _standing(old_holds.get(hold.entry.id)):
            yield _progress(hold)
    for gone in old_holds.keys() - {hold.entry.id for hold in after.holds}:
        yield f"The hold '{old_holds[gone].rule.name}' is lifted."
    was, now = (_next_feed(t, today) for t in (before, after))
    if (was is None, was and (was.day, was.ppm)) != (now is None, now and (now.day, now.ppm)):
        yield _next_sentence(was, now)


def _standing(hold: Hold | None) -> tuple[date | None, tuple[object, ...]] | None:
    return None if hold is None else (hold.end, hold.missing)


def hold_sentence(hold: Hold) -> str:
    """What a hold stops, until when, and on what it waits: "No feed before 31 May, and once hardened is seen."."""
    stops = hold.rule.stops
    feeds = {Action.LIQUID: "liquid feed", Action.SOLID: "solid feed", Action.FOLIAR: "foliar feed"}
    held = ["feed"] if set(feeds) <= stops else [word for action, word in feeds.items() if action in stops]
    held += [action.value for action in Action if action in stops and action not in feeds]
    missing = listed([str(need) for need in hold.missing])
    ends = f", and once {missing} {'is' if len(hold.missing) == 1 else 'are'} seen" if missing else ""
    if hold.end is not None:
        return f"No {listed(held, 'or')} before {day_month(hold.end)}."
    return f"No {listed(held, 'or')} before {day_month(hold.minimum)}{ends}."


def _progress(hold: Hold) -> str:
    if hold.end is not None:
        return f"The hold '{hold.rule.name}' ends {day_month(hold.end)}."
    return f"The hold '{hold.rule.name}' still waits for {listed([str(need) for need in hold.missing])}."


def _next_feed(timeline: Timeline | None, today: date) -> FeedEvent | None:
    coming = (Status.PLANNED, Status.OVERDUE)
    feeds = timeline.feeds if timeline is not None else ()
    return next((f for f in feeds if f.day >= today and f.status in coming), None)


def _next_sentence(was: FeedEvent | None, now: FeedEvent | None) -> str:
    if now is None:
        return "No further feed is planned."
    text = f"Next feed {_feed(now)}"
    return f"{text}, not {_feed(was)}." if was is not None and was.day != now.day else f"{text}."


def _feed(event: FeedEvent) -> str:
    return f"{day_month(event.day)} at {event.ppm.quantize(Decimal(1), ROUND_HALF_UP)} ppm N"


def _flags(timeline: Timeline, entry_id: str) -> Iterator[str]:
    """What speaks against the entry itself: a feed given inside a hold, onto a dry ball, to a tree not here."""
    for feed in timeline.feeds:
        if feed.entry is not None and feed.entry.id == entry_id:
            yield from (f"{reason.text}." for reason in feed.reasons if reason.rule in _AGAINST)
