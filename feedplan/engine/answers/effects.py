"""What one journal entry changes: the plan before it beside the plan after it, in short sentences."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from itertools import pairwise

from feedplan.engine.feeding.barriers import barriers, barring_of
from feedplan.engine.feeding.solids import budget_of
from feedplan.engine.growing_year import season_of
from feedplan.engine.season import Season, Timeline
from feedplan.engine.sink.pen import readings_of
from feedplan.engine.words import day_month, listed
from feedplan.model.collection import Collection
from feedplan.model.course import FeedEvent, Hold, Status
from feedplan.model.hold import Action
from feedplan.model.journal import Checked, Fed, SolidLaid
from feedplan.model.reason import Reason

_FEEDS = (Action.LIQUID, Action.SOLID, Action.FOLIAR)


@dataclass(frozen=True, slots=True)
class Effects:
    """What an entry changes. names: the trees it is about; changes: from now on; flags: what speaks against it."""

    names: tuple[str, ...]
    changes: tuple[str, ...]
    flags: tuple[str, ...]
    do: tuple[str, ...]


def effects_of(before: Season, after: Season, entry_id: str, collection: Collection) -> Effects:
    """What differs between two plans of the same day, one of which has the entry and one has not."""
    about = {name for season in (before, after) for name in _names_about(season, entry_id)}
    touched = [t for t in after.timelines if not about.isdisjoint(t.names)]
    changes: dict[str, list[str]] = {}
    flags: dict[str, list[str]] = {}
    for timeline in touched:
        names = [name for name in timeline.names if name in about]
        for sentence in _changes(_same(before, names[0]), timeline, after.today, entry_id):
            changes.setdefault(sentence, []).extend(names)
        for sentence in (
            *_flags(timeline, entry_id, collection),
            *_solid_flags(timeline, entry_id, collection),
        ):
            flags.setdefault(sentence, []).extend(names)
    opened = [hold for t in touched for hold in t.holds if hold.entry.id == entry_id]
    return Effects(
        tuple(name for timeline in touched for name in timeline.names if name in about),
        tuple(_told(changes, len(about))),
        (*_told(flags, len(about)), *_of_the_pen(after, collection, entry_id)),
        tuple(dict.fromkeys(line for hold in opened for line in hold.rule.do)),
    )


def _solid_flags(timeline: Timeline, entry_id: str, collection: Collection) -> Iterator[str]:
    """What speaks against solid feed just laid: a hold that stops it, or a season's nitrogen that is too much."""
    entry = next((e for e in timeline.entries if e.id == entry_id and isinstance(e.fact, SolidLaid)), None)
    if entry is None:
        return
    for hold in timeline.holds:
        if Action.SOLID in hold.rule.stops and hold.covers(entry.day):
            yield f"Laid although held: {hold.rule.name} on {day_month(hold.start)} stops solid feed."
    budget = budget_of(timeline.care.schedule_on(entry.day))
    laid = sum((s.mg_n_per_l for s in timeline.solids if s.entry is entry), Decimal(0))
    year = season_of(entry.day, collection.place.hemisphere)
    total = sum((s.mg_n_per_l for s in timeline.solids if s.season == year), Decimal(0))
    if laid and total > budget:
        yield f"Solid feed alone gives {total:.0f} mg N per litre of pot this season, above the budget of {budget:.0f}."


def _of_the_pen(season: Season, collection: Collection, entry_id: str) -> Iterator[str]:
    """What a pen's reading asks for, when the entry is one."""
    for reading in readings_of(season, collection):
        if reading.entry.id == entry_id and reading.words:
            yield f"{reading.words[0].upper()}{reading.words[1:]}."


def _is_about(timeline: Timeline, entry_id: str) -> bool:
    return any(entry.id == entry_id for entry in timeline.entries)


def _names_about(season: Season, entry_id: str) -> set[str]:
    return {name for t in season.timelines if _is_about(t, entry_id) for name in t.names}


def _same(season: Season, name: str) -> Timeline | None:
    """The timeline that a tree followed in another plan."""
    return next((t for t in season.timelines if name in t.names), None)


def _told(sentences: dict[str, list[str]], all_names: int) -> Iterator[str]:
    """Each sentence, led by the trees it is true of unless that is all of them."""
    for sentence, names in sentences.items():
        whole = len(names) >= all_names
        yield sentence if whole else f"{listed(names)}: {sentence[0].lower()}{sentence[1:]}"


def _changes(before: Timeline | None, after: Timeline, today: date, entry_id: str) -> Iterator[str]:
    old_holds = {hold.entry.id: hold for hold in before.holds} if before else {}
    for hold in after.holds:
        if hold.entry.id == entry_id:
            yield hold_sentence(hold, today)
        elif (hold.end, hold.missing) != _standing(old_holds.get(hold.entry.id)):
            yield _progress(hold, today)
    for gone in old_holds.keys() - {hold.entry.id for hold in after.holds}:
        yield f"The hold '{old_holds[gone].rule.name}' is lifted."
    if any(entry.id == entry_id and entry.fact == Checked("dry") for entry in after.entries):
        yield "Water it first; feed once it is evenly moist."
    was, now = (_next_feed(timeline, today) for timeline in (before, after))
    if now is not None and (was is None or (was.day, was.ppm) != (now.day, now.ppm)):
        yield _next_sentence(was, now, today)
    elif was is not None and now is None and not any(hold.missing for hold in after.holds):
        yield "No further feed is planned."


def _standing(hold: Hold | None) -> tuple[date | None, tuple[object, ...]] | None:
    return None if hold is None else (hold.end, hold.missing)


def hold_sentence(hold: Hold, today: date) -> str:
    """What a hold stops, until when, and on what it waits: "No feed before 31 May, and once seen: hardened."."""
    stops = hold.rule.stops
    feeds = [action.value for action in _FEEDS if action in stops]
    held = ["feed"] if len(feeds) == len(_FEEDS) else feeds
    held += [action.value for action in Action if action in stops and action not in _FEEDS]
    missing = listed([str(need) for need in hold.missing])
    seen = f", and once seen: {missing}" if missing and hold.end is None else ""
    return f"No {listed(held, 'or')} before {_day(hold.end or hold.minimum, today)}{seen}."


def _progress(hold: Hold, today: date) -> str:
    if hold.end is not None:
        return f"The hold '{hold.rule.name}' ends {_day(hold.end, today)}."
    return f"The hold '{hold.rule.name}' still waits for {listed([str(need) for need in hold.missing])}."


def _next_feed(timeline: Timeline | None, today: date) -> FeedEvent | None:
    feeds = timeline.feeds if timeline is not None else ()
    return next((f for f in feeds if f.day >= today and f.status in (Status.PLANNED, Status.OVERDUE)), None)


def _next_sentence(was: FeedEvent | None, now: FeedEvent, today: date) -> str:
    text = f"Next feed {_day(now.day, today)} at {_ppm(now)} ppm N"
    if was is None or was.day == now.day:
        return f"{text}." if was is None else f"{text}, not {_ppm(was)}."
    return f"{text}, not {_day(was.day, today)}."


def _ppm(event: FeedEvent) -> Decimal:
    return event.ppm.quantize(Decimal(1), ROUND_HALF_UP)


def _day(day: date, today: date) -> str:
    """A day, with its year when that is not this one."""
    return day_month(day) if day.year == today.year else f"{day_month(day)} {day.year}"


def _flags(timeline: Timeline, entry_id: str, collection: Collection) -> Iterator[str]:
    """What speaks against the entry itself: a feed given inside a hold, onto a dry ball, or too soon."""
    entry = next((e for e in timeline.entries if e.id == entry_id and isinstance(e.fact, Fed)), None)
    if entry is None:
        return
    for reason in against_feeding(timeline, collection, entry.day):
        yield f"Fed although held: {reason.text}{f', {reason.ends}' if reason.ends else ''}."
    fed = sorted((f for f in timeline.feeds if f.status is not Status.MISSED), key=lambda f: f.day)
    for last, this in pairwise(fed):
        gap = min(
            (w.period.min_gap_days for w in timeline.windows if w.first <= this.day <= w.last), default=0
        )
        days = (this.day - last.day).days
        if this.entry is entry and days < gap:
            soon = f"{days} days after {day_month(last.day)}" if days else "twice that day"
            yield f"Fed {soon}; {gap} days is the least between feeds."


def against_feeding(timeline: Timeline, collection: Collection, day: date) -> tuple[Reason, ...]:
    """What spoke against a liquid feed on a day because of the trees themselves; being away does not."""
    here = (timeline.arrives, timeline.leaves)
    barring = barring_of(timeline.entries, timeline.holds, (), here, collection.place.hemisphere)
    return barriers(barring, day)
