"""Holds of one timeline: which entries open one, what has been seen since, when it ends and when to look."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from functools import partial

from feedplan.engine.care import Care
from feedplan.engine.growing_year import season_end, season_of
from feedplan.engine.holds.looks import Looks, growth_since, release_stage, review_days, unseen_from
from feedplan.engine.holds.root_work import heavier, is_out_of_season
from feedplan.engine.stages.stages import Record
from feedplan.model.course import Hold, NeedMet
from feedplan.model.hold import CauseKind, Heavier, HoldRule, Need
from feedplan.model.journal import Caused, Entry, PutOff, Seen
from feedplan.model.moment import Hemisphere
from feedplan.model.stage import Origin, Vocabulary


def rule_for(
    fact: Caused, rules: Mapping[str, HoldRule], raised_by: Sequence[Heavier]
) -> tuple[HoldRule | None, tuple[Heavier, ...]]:
    """The rule a cause falls under, and what raised it there; None when nothing is held for it.

    Unknown root loss counts as the middle band. Each reason raises the band by one, never past the top.
    """
    bands = sorted(
        (r for r in rules.values() if (r.kind, r.cause) == (fact.kind, fact.cause)), key=lambda r: r.band
    )
    if len(bands) < 2:
        return (bands[0] if bands else None), ()
    index = (len(bands) - 1) // 2 if fact.roots is None else _band_of(fact.roots, bands)
    raised = min(index + len(raised_by), len(bands) - 1)
    return bands[raised], tuple(raised_by) if raised > index else ()


def _band_of(roots: Decimal, bands: Sequence[HoldRule]) -> int:
    """The index of the band a root share lies in; a share beyond every bound takes the heaviest."""
    for index, rule in enumerate(bands):
        above = rule.roots_from is None or roots >= rule.roots_from
        below = rule.roots_below is None or roots < rule.roots_below
        if above and below:
            return index
    return len(bands) - 1


def open_holds(record: Record, care: Care, leaves: date | None, last_season: int) -> tuple[Hold, ...]:
    """Every hold the entries open, in order of start, with looks up to the end of `last_season`.

    leaves: the day the trees go, which ends any hold.
    """
    holds: list[Hold] = []
    for entry in record.entries:
        outside = _is_out_of_season(entry, record)
        for rule, raised_by in _rules_opened(entry, care, record.vocabulary, holds, outside):
            hold = _hold(rule, entry, record, leaves, last_season)
            if raised_by or outside:
                hold = replace(hold, heavier=raised_by, out_of_season=outside)
            takes_over = care.schedule_on(entry.day).holds.get(rule.turns_into or "")
            holds += [hold] if takes_over is None else _turned(hold, takes_over, record, leaves, last_season)
    return by_start(holds)


def _is_out_of_season(entry: Entry, record: Record) -> bool:
    """Whether an entry tells of root work out of season, by what had been seen by its day.

    What is seen later does not make work heavier that was in season when it was done.
    """
    if not isinstance(entry.fact, Caused) or entry.fact.kind is not CauseKind.WORK:
        return False
    by_then = tuple(e for e in record.entries if e.day <= entry.day)
    then = replace(record, entries=by_then, _stages={}, _sightings={})
    stages = partial(then.round_by, entry.day)
    return is_out_of_season(record.typical.calendar, stages, record.hemisphere, entry.day)


def _rules_opened(
    entry: Entry, care: Care, vocabulary: Vocabulary, holds: Sequence[Hold], outside: bool
) -> Iterator[tuple[HoldRule, tuple[Heavier, ...]]]:
    """The rules an entry falls under: that of a cause, or those of the signs of a tree that is not well, each once.

    holds: those opened so far. outside: it tells of work out of season. With each rule goes what made it heavier.
    """
    schedule = care.schedule_on(entry.day)
    if isinstance(entry.fact, Caused):
        held = [hold for hold in holds if hold.covers(entry.day)]
        reasons = heavier(entry.fact, schedule, care.trees, held, out_of_season=outside)
        rule, raised_by = rule_for(entry.fact, schedule.holds, reasons)
        if rule is not None:
            yield rule, raised_by
    elif isinstance(entry.fact, Seen):
        shown = {sign for word in entry.fact.words for sign in vocabulary.shown_by(word)}
        for rule in schedule.holds.values():
            if rule.kind is CauseKind.SEEN and rule.cause in shown:
                yield rule, ()


def by_start(*some: Iterable[Hold]) -> tuple[Hold, ...]:
    """All holds in order of start."""
    holds = (hold for each in some for hold in each)
    return tuple(sorted(holds, key=lambda hold: (hold.start, hold.rule.name, hold.entry.id)))


def told_of(holds: Iterable[Hold], day: date) -> tuple[Hold, ...]:
    """The holds to tell of on a day: of several under one rule the last, which asks for all that the others do."""
    return tuple({hold.rule.name: hold for hold in by_start(holds) if hold.covers(day)}.values())


def _hold(rule: HoldRule, entry: Entry, record: Record, leaves: date | None, last_season: int) -> Hold:
    start = entry.day
    minimum = start + timedelta(days=rule.min_days)
    after = [e for e in record.entries if isinstance(e.fact, Seen) and e.day > start]
    put_off = _put_off(rule, start, after, record)
    spring = None if put_off is None else season_of(start, record.hemisphere) + 1
    counts = [e for e in after if spring is None or season_of(e.day, record.hemisphere) >= spring]
    needs = tuple(_met_by(need, counts, record.vocabulary) for need in rule.needs)
    end = _end(minimum, needs)
    if end is None and rule.instead:
        end = _end_by_other_evidence(rule, minimum, after, record)
    if leaves is not None and (end is None or leaves < end):
        end = max(leaves, start)
    since = growth_since(start, record)
    asks_from = None
    if rule.carry_days is not None and put_off is None and not any(met.seen for met in needs):
        asked = since + timedelta(days=rule.carry_days)
        # Never beyond the next spring: work at rest has that one to show what it did.
        this_year = season_of(asked, record.hemisphere) == season_of(start, record.hemisphere)
        asks_from = asked if this_year and (end is None or end > asked) else None
    answers = tuple(e.day for e in after if e.day >= minimum or record.is_adverse(e))
    unseen = unseen_from((met for met in needs if not met.seen), record.vocabulary)
    looks = Looks(since, answers, asks_from, None if put_off is None else put_off.day, unseen)
    days = tuple(d for d in review_days(rule, looks, record, last_season) if end is None or d < end)
    return Hold(rule, entry, start, minimum, needs, end, days, asks_from, put_off, spring)


def _put_off(rule: HoldRule, start: date, after: Sequence[Entry], record: Record) -> Entry | None:
    """The entry that puts a hold off to next spring: while it waited for a sign, and never beyond that spring."""
    season = season_of(start, record.hemisphere)
    for entry in record.entries if rule.needs else ():
        if not isinstance(entry.fact, PutOff) or entry.day < start:
            continue
        before = [each for each in after if each.day <= entry.day]
        met = [_met_by(need, before, record.vocabulary).entry for need in rule.needs]
        if None in met and season_of(entry.day, record.hemisphere) == season:
            return entry
    return None


def _turned(
    hold: Hold, heavier: HoldRule, record: Record, leaves: date | None, last_season: int
) -> Iterator[Hold]:
    """A hold, and where none of its signs was seen in time the one that takes it over from then on.

    Work on a bare tree at rest counts from its open leaves, as looks do.
    """
    turn = growth_since(hold.start, record) + timedelta(days=hold.rule.turns_days or 0)
    seen = [e for e in record.entries if isinstance(e.fact, Seen) and hold.start < e.day <= turn]
    is_gone = leaves is not None and leaves <= turn
    if (
        is_gone
        or (hold.put_off is not None and hold.put_off.day <= turn)
        or not hold.rule.needs
        or any(_met_by(n, seen, record.vocabulary).seen for n in hold.rule.needs)
    ):
        yield hold
        return
    needs = tuple(NeedMet(need, 0, None) for need in hold.rule.needs)
    looks = tuple(day for day in hold.reviews if day < turn)
    yield replace(hold, needs=needs, end=None, reviews=looks, put_off=None, spring=None, turned=turn)
    after = _hold(heavier, hold.entry, record, leaves, last_season)
    yield replace(
        after,
        start=turn,
        minimum=max(turn, after.minimum),
        reviews=tuple(day for day in after.reviews if day >= turn),
        follows=hold.rule,
    )


def _met_by(need: Need, after: Sequence[Entry], vocabulary: Vocabulary) -> NeedMet:
    """A need and the entry that completes it: its sign seen on as many different days as it asks."""
    days: set[date] = set()
    for entry in sorted(after, key=lambda e: (e.day, e.known)):
        assert isinstance(entry.fact, Seen)
        if any(need.sign in vocabulary.shown_by(word) for word in entry.fact.words):
            days.add(entry.day)
            if len(days) == need.times:
                return NeedMet(need, len(days), entry)
    return NeedMet(need, len(days), None)


def _end(minimum: date, needs: Sequence[NeedMet]) -> date | None:
    """The first free day: the minimum and the day every sign was known, whichever is later."""
    known = [met.entry.known for met in needs if met.entry is not None]
    return max([minimum, *known]) if len(known) == len(needs) else None


def _end_by_other_evidence(
    rule: HoldRule, minimum: date, after: Sequence[Entry], record: Record
) -> date | None:
    """Release at next season's release stage once that is seen, when the signs that may stand in have all been."""
    met = [_met_by(need, after, record.vocabulary).entry for need in rule.instead]
    if rule.release_stage is None or None in met:
        return None
    seen = max(entry.known for entry in met if entry is not None)
    release = release_stage(rule, record, season_of(seen, record.hemisphere) + 1)
    if release is None or release.day is None or release.origin is not Origin.SEEN:
        return None
    return max(minimum, release.day, release.known)


@dataclass(frozen=True, slots=True)
class SeasonLimit:
    """Ceilings a hold leaves behind for the season of release. first, last: days it applies, both included."""

    hold: Hold
    first: date
    last: date


def _seen_by(hold: Hold, end: date) -> date:
    """The day by which all signs of a hold had been seen, known or not; its end where they never were."""
    seen = [met.entry.day for met in hold.needs if met.entry is not None]
    return min(end, max([hold.minimum, *seen])) if not hold.missing else end


def season_limits(holds: Sequence[Hold], hemisphere: Hemisphere) -> tuple[SeasonLimit, ...]:
    """The limits that outlast their holds, for those already released, to the end of the season of release.

    That is the one in which the signs were seen, though the hold ends when they are known.
    """
    limits = []
    for hold in holds:
        rule = hold.rule
        limited = (rule.cap_share, rule.cap_ppm, rule.feed_every_days, rule.last_feed) != (
            None,
            None,
            None,
            None,
        )
        if limited and hold.end is not None:
            last = season_end(season_of(_seen_by(hold, hold.end), hemisphere), hemisphere)
            limits += [SeasonLimit(hold, hold.end, last)] if hold.end <= last else []
    return tuple(limits)
