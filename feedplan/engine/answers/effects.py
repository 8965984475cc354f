"""What one journal entry changes, or taking it back: the plan before beside the plan after."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

from feedplan.engine.answers.cautions import cautions
from feedplan.engine.answers.prompts import planned_work
from feedplan.engine.feeding.restrictions import end_of
from feedplan.engine.plan import plan_season
from feedplan.engine.season import Season, Timeline
from feedplan.engine.sink.pen import readings_of
from feedplan.model.climate import Climate
from feedplan.model.collection import Collection
from feedplan.model.course import FeedEvent, Hold, Status
from feedplan.model.hold import Action, CauseKind, SignLeft
from feedplan.model.journal import (
    Caused,
    Checked,
    Entry,
    Fed,
    Gone,
    Journal,
    NotFed,
    Seen,
)
from feedplan.model.reason import DryBall, GoneSince
from feedplan.model.statement import Statement


class HoldOpened(Statement):
    """A hold the entry puts on trees. day: its end, or its earliest while signs are missing."""

    stops: frozenset[Action]
    day: date
    missing: tuple[SignLeft, ...]


class HoldMoved(Statement):
    """A hold that ends on another day, or with day None waits for other signs than before."""

    rule: str
    day: date | None
    missing: tuple[SignLeft, ...]


class HoldPutOff(Statement):
    """A hold that the entry puts off to a spring, whose signs count then."""

    rule: str
    spring: int
    missing: tuple[SignLeft, ...]


class SomeLeft(Statement):
    """So many are left under a name after some of them went."""

    count: int


class HoldLifted(Statement):
    """A hold that is no more."""

    rule: str


class NextFeed(Statement):
    """The next feed. ppm: in whole [mg N/L]. day_before, else ppm_before: what it was, None where it is the same."""

    day: date
    ppm: Decimal
    day_before: date | None = None
    ppm_before: Decimal | None = None


class FedUnasked(Statement):
    """A feed recorded where none was asked for, which counts as one of its own. ppm: in whole [mg N/L]."""

    ppm: Decimal


class NoneAskedFor(Statement):
    """A feed not given where none was asked for, which changes nothing. day: it was written of."""

    day: date


class NoFeedAhead(Statement):
    """No further feed is planned."""


@dataclass(frozen=True, slots=True)
class OfTrees:
    """Something true of some of the trees. trees: by name, empty for all."""

    what: Statement
    trees: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Effects:
    """What an entry changes. today: seen from which day; names: the trees it is about; changes: from now on.

    flags: what speaks against it. do: what the rules of the holds it opens, and the signs it tells of, have the
    grower do.
    """

    today: date
    names: tuple[str, ...]
    changes: tuple[OfTrees, ...]
    flags: tuple[OfTrees, ...]
    do: tuple[str, ...]


def effects_of(before: Season, after: Season, entry_id: str, collection: Collection) -> Effects:
    """What differs between two plans of the same day, one of which has the entry and one has not."""
    about = {name for season in (before, after) for name in _names_about(season, entry_id)}
    touched = [t for t in after.timelines if not about.isdisjoint(t.names)]
    there = [t for t in touched if not _is_gone_before(t, entry_id)]
    changes: list[OfTrees] = []
    flags: list[OfTrees] = []
    gone = [
        OfTrees(GoneSince(t.leaves), t.names if there else ())
        for t in touched
        if t not in there and t.leaves is not None and (e := t.entry(entry_id)) and e.subject.trees
    ]
    for timeline in there:
        names = tuple(name for name in timeline.names if name in about)
        was = _same(before, names[0])
        found = _changes(was, timeline, after.today, entry_id)
        changes += (OfTrees(each, names) for each in found)
        against = cautions(was, timeline, entry_id, collection)
        flags += (OfTrees(each, names) for each in against)
    changes = _without_those_never_asked(changes, there, entry_id)
    opened = [hold for t in there for hold in _begun(t, after.today) if hold.entry.id == entry_id]
    all_names = tuple(name for timeline in there or touched for name in timeline.names if name in about)
    return Effects(
        after.today,
        all_names,
        tuple(_together(changes, len(all_names))),
        (*gone, *_together(flags, len(all_names)), *_of_the_pen(after, collection, entry_id)),
        tuple(dict.fromkeys((*(line for hold in opened for line in hold.rule.do), *_to_do(there, entry_id)))),
    )


def _to_do(touched: Iterable[Timeline], entry_id: str) -> Iterator[str]:
    """What to do about the signs that an entry tells of."""
    for timeline in touched:
        entry = timeline.entry(entry_id)
        words = timeline.care.collection.vocabulary.words
        if entry is not None and isinstance(entry.fact, Seen):
            yield from (line for word in entry.fact.words if word in words for line in words[word].do)


def _is_gone_before(timeline: Timeline, entry_id: str) -> bool:
    """Whether the trees of a timeline had gone when something else was written of them."""
    entry, leaves = timeline.entry(entry_id), timeline.leaves
    return (
        entry is not None
        and leaves is not None
        and leaves <= entry.day
        and not isinstance(entry.fact, Fed | Gone)
    )


def _without_those_never_asked(
    changes: list[OfTrees], touched: Iterable[Timeline], entry_id: str
) -> list[OfTrees]:
    """The changes; where a group was not fed, those of its trees that were not asked for are passed over."""
    entries = ((t, t.entry(entry_id)) for t in touched)
    is_answer = any(e is not None and not e.subject.trees and _is_answer(e, t) for t, e in entries)
    return [each for each in changes if not (is_answer and isinstance(each.what, NoneAskedFor))]


def _of_the_pen(season: Season, collection: Collection, entry_id: str) -> Iterator[OfTrees]:
    """What a pen's reading asks for, when the entry is one."""
    for reading in readings_of(season, collection):
        if reading.entry.id == entry_id and not reading.is_fine:
            yield OfTrees(reading)


def _names_about(season: Season, entry_id: str) -> set[str]:
    return {name for t in season.timelines for name in t.names_about(entry_id)}


def _same(season: Season, name: str) -> Timeline | None:
    """The timeline that a tree followed in another plan."""
    return next((t for t in season.timelines if name in t.names), None)


def _together(found: Iterable[OfTrees], all_names: int) -> Iterator[OfTrees]:
    """Each thing once, with the trees it is true of unless that is all of them."""
    alike: dict[Statement, list[str]] = {}
    for each in found:
        alike.setdefault(each.what, []).extend(each.trees)
    for what, names in alike.items():
        yield OfTrees(what, () if len(names) >= all_names else tuple(names))


def _changes(before: Timeline | None, after: Timeline, today: date, entry_id: str) -> Iterator[Statement]:
    old_holds, new_holds = ({hold.key: hold for hold in _begun(t, today)} for t in (before, after))
    for hold in new_holds.values():
        if hold.put_off is not None and hold.put_off.id == entry_id:
            yield HoldPutOff(hold.rule.name, hold.spring or 0, end_of(hold).missing)
        elif hold.entry.id == entry_id and hold.key not in old_holds:
            missing = () if hold.end is not None else end_of(hold).missing
            yield HoldOpened(hold.rule.stops, hold.end or hold.minimum, missing)
        elif (hold.end, hold.missing) != _standing(old_holds.get(hold.key)):
            yield HoldMoved(hold.rule.name, hold.end, end_of(hold).missing)
    for gone in old_holds.keys() - new_holds.keys():
        yield HoldLifted(old_holds[gone].rule.name)
    yield from (work for entry, work in planned_work(after, today) if entry.id == entry_id)
    entry = after.entry(entry_id)
    if entry is not None and isinstance(entry.fact, Gone) and entry.fact.count is not None:
        yield SomeLeft(after.head_count)
    if entry is not None and entry.fact == Checked("dry"):
        yield DryBall()
    if entry is not None and isinstance(entry.fact, NotFed) and not _is_answer(entry, after):
        yield NoneAskedFor(entry.day)
    unasked = (feed for feed in after.feeds if feed.is_extra and feed.entry is entry is not None)
    yield from (FedUnasked(_whole(feed)) for feed in unasked)
    was, now = (_next_feed(timeline, today) for timeline in (before, after))
    if now is not None and (was is None or (was.day, _whole(was)) != (now.day, _whole(now))):
        yield _next_as(was, now)
    elif was is not None and now is None and not any(hold.missing for hold in after.holds):
        yield NoFeedAhead()


def _is_answer(entry: Entry, timeline: Timeline) -> bool:
    """Whether an entry, or one that says the same, tells what became of some feed."""
    answers = ((f.entry.day, f.entry.fact) for f in timeline.feeds if f.entry is not None)
    return (entry.day, entry.fact) in answers


def _begun(timeline: Timeline | None, today: date) -> Iterator[Hold]:
    """The holds of a timeline, without those that would take over from others later, or that others took over."""
    for hold in timeline.holds if timeline is not None else ():
        has_turned = hold.turned is not None and hold.turned <= today
        if not has_turned and (hold.follows is None or hold.start <= today):
            yield hold


def _standing(hold: Hold | None) -> tuple[date | None, tuple[object, ...]] | None:
    return None if hold is None else (hold.end, hold.missing)


def _next_feed(timeline: Timeline | None, today: date) -> FeedEvent | None:
    feeds = timeline.feeds if timeline is not None else ()
    return next((f for f in feeds if f.day >= today and f.status in (Status.PLANNED, Status.OVERDUE)), None)


def _next_as(was: FeedEvent | None, now: FeedEvent) -> NextFeed:
    """The next feed beside what it was: the other day, or on the same day the other strength."""
    now_ppm = _whole(now)
    if was is None:
        return NextFeed(now.day, now_ppm)
    if was.day != now.day:
        return NextFeed(now.day, now_ppm, day_before=was.day)
    return NextFeed(now.day, now_ppm, ppm_before=_whole(was))


def _whole(event: FeedEvent) -> Decimal:
    return event.ppm.quantize(Decimal(1), ROUND_HALF_UP)


def lifts_a_hold(season: Season, journal: Journal, entry_id: str) -> bool:
    """Whether an entry that stands is work, or opened a hold that is not over: then taking it back wants a yes."""
    entry = journal.entry(entry_id)
    if entry is None:
        return False
    if isinstance(entry.fact, Caused) and entry.fact.kind is CauseKind.WORK:
        return True
    holds = (hold for timeline in season.timelines for hold in timeline.holds if hold.entry.id == entry_id)
    return any(hold.until is None or hold.until > season.today for hold in holds)


def effects_of_taking_back(
    season: Season, journal: Journal, entry_id: str, climate: Climate | None
) -> Effects:
    """What changes in a plan when an entry that stands is taken back on the day of the plan."""
    without = journal.without(entry_id, season.today)
    after = plan_season(
        season.collection, without, season.today, climate=climate, history=season.history, earlier=season
    )
    return effects_of(season, after, entry_id, season.collection)
