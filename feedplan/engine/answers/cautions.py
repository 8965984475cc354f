"""What speaks against a journal entry: a feed although held, too soon or too much, work out of season."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from decimal import Decimal
from itertools import pairwise

from feedplan.engine.answers.prompts import work_out_of_season
from feedplan.engine.feeding.put_off import BY_WEATHER
from feedplan.engine.feeding.restrictions import reasons_against, restrictions_of
from feedplan.engine.growing_year import season_of
from feedplan.engine.season import Timeline
from feedplan.model.collection import Collection, Feed
from feedplan.model.course import Hold
from feedplan.model.hold import Action
from feedplan.model.journal import Entry, Fed, PutOff, Seen, SolidLaid
from feedplan.model.reason import Reason
from feedplan.model.statement import Statement


class LaidAlthough(Statement):
    """Solid feed laid in spite of a hold."""

    rule: str
    start: date


class MuchSolid(Statement):
    """Solid feed alone gives more than the season's budget [mg N per L of container]."""

    total: int
    budget: Decimal


class NoHoldToPutOff(Statement):
    """Put off though nothing waits for a sign."""


class SpringHasCome(Statement):
    """Put off though the hold is of an earlier season, so that it could wait for this spring alone."""

    rule: str


class PutOffBefore(Statement):
    """Put off once more in one season."""

    rule: str
    spring: int


class SeenWhilePutOff(Statement):
    """A sign of this year, which ends nothing since the hold was put off by an entry."""

    rule: str
    spring: int
    entry: str


class FedTooSoon(Statement):
    """A feed so soon after the last one. least: the shortest time there should be."""

    after: timedelta
    last: date
    least: timedelta


class AboveItsLabel(Statement):
    """A feed stronger than its label allows. ppm, above, most: [mg N/L]."""

    ppm: Decimal
    above: int
    feed: str
    most: int


class NoneDue(Statement):
    """Trees of a group that was fed as planned, of which none was due while others were."""


class HeldWhenFed(Statement):
    """A feed given though something stood in the way."""

    fact: Statement
    ends: Statement | None


class NotMeant(Statement):
    """A held tree of a group that was fed as planned, which counts as not fed."""

    fact: Statement
    ends: Statement | None


def cautions(
    was: Timeline | None, timeline: Timeline, entry_id: str, collection: Collection
) -> Iterator[Statement]:
    """What speaks against an entry. was: the course of the trees without it."""
    entry = timeline.entry(entry_id)
    if entry is None:
        return
    match entry.fact:
        case Fed():
            yield from _of_a_feed(timeline, entry, collection)
            yield from () if was is None else _of_the_weather(was, entry)
        case SolidLaid():
            yield from _of_solid_feed(timeline, entry, collection)
        case PutOff() if (against := not_to_put_off(timeline, entry.day, entry_id)) is not None:
            yield against
        case Seen() as seen:
            yield from _of_a_sign(timeline, entry.day, seen, collection)
    yield from (told for each, told in work_out_of_season(timeline) if each.id == entry_id)


def _of_a_feed(timeline: Timeline, entry: Entry, collection: Collection) -> Iterator[Statement]:
    """That a feed was given above its label, inside a hold, onto a dry ball, or too soon."""
    if (above := above_its_label(timeline, entry, collection)) is not None:
        yield above
    is_counted = any(feed.entry is entry for feed in timeline.feeds)
    for reason in against_feeding(timeline, collection, entry.day):
        yield (HeldWhenFed if is_counted else NotMeant)(reason.fact, reason.ends)
    is_said = any(feed.entry is not None and feed.entry.day == entry.day for feed in timeline.feeds)
    if not is_said and not against_feeding(timeline, collection, entry.day):
        yield NoneDue()
    fed = sorted((f for f in timeline.feeds if not f.status.is_without_feed), key=lambda f: f.day)
    for last, this in pairwise(fed):
        gap = min(
            (w.period.min_gap_days for w in timeline.windows if w.first <= this.day <= w.last), default=0
        )
        after, least = this.day - last.day, timedelta(days=gap)
        if this.entry is entry and after < least:
            yield FedTooSoon(after, last.day, least)


def above_its_label(timeline: Timeline, entry: Entry, collection: Collection) -> AboveItsLabel | None:
    """By how much a feed recorded with its strength is above what its label allows; None where it is not."""
    if not isinstance(entry.fact, Fed) or entry.fact.ppm is None:
        return None
    named, ppm = entry.fact.feed, entry.fact.ppm
    feed = timeline.care.feed_on(entry.day) if named is None else collection.feeds.get(named)
    most = None if feed is None else most_ppm(feed)
    if feed is None or most is None or ppm <= most:
        return None
    return AboveItsLabel(ppm, round(ppm - most), feed.name, most)


def most_ppm(feed: Feed) -> int | None:
    """Nitrogen at the most a label allows [mg/L]; None where it tells no rate."""
    most = feed.product.label_maximum_per_l or feed.product.label_rate_per_l
    return None if most is None else round(most * feed.product.mg_per_unit["N"])


def _of_the_weather(was: Timeline, entry: Entry) -> Iterator[Statement]:
    """That a feed was given on a day on which the weather had put it off."""
    for dropped in was.dropped:
        if dropped.due <= entry.day < (dropped.resumed or date.max):
            yield from (
                HeldWhenFed(reason.fact, reason.ends)
                for reason in dropped.reasons
                if reason.rule in BY_WEATHER
            )
            return


def against_laying(timeline: Timeline, day: date) -> tuple[Hold, ...]:
    """The holds that spoke against solid feed on a day."""
    return tuple(h for h in timeline.holds if Action.SOLID in h.rule.stops and h.covers(day))


def against_feeding(timeline: Timeline, collection: Collection, day: date) -> tuple[Reason, ...]:
    """What spoke against a liquid feed on a day because of the trees themselves; being away does not."""
    here = (timeline.arrives, timeline.leaves)
    restrictions = restrictions_of(timeline.entries, timeline.holds, (), here, collection.place.hemisphere)
    return reasons_against(restrictions, day)


def _of_solid_feed(timeline: Timeline, entry: Entry, collection: Collection) -> Iterator[Statement]:
    """What speaks against solid feed just laid: a hold that stops it, or a season's nitrogen that is too much."""
    yield from (LaidAlthough(hold.rule.name, hold.start) for hold in against_laying(timeline, entry.day))
    budget = timeline.care.schedule_on(entry.day).budget_mg_n_per_l
    laid = sum((s.mg_n_per_l for s in timeline.solids if s.entry is entry), Decimal(0))
    year = season_of(entry.day, collection.place.hemisphere)
    total = sum((s.mg_n_per_l for s in timeline.solids if s.season == year), Decimal(0))
    if laid and total > budget:
        yield MuchSolid(round(total), budget)


def _of_a_sign(timeline: Timeline, day: date, seen: Seen, collection: Collection) -> Iterator[Statement]:
    """That a sign does not count since the hold was put off before."""
    shown = {sign for word in seen.words for sign in collection.vocabulary.shown_by(word)}
    hemisphere = collection.place.hemisphere
    for hold in _waiting(timeline, day):
        if hold.put_off is not None and hold.spring is not None and day >= hold.put_off.day:
            is_early = season_of(day, hemisphere) < hold.spring
            if is_early and any(met.need.sign in shown for met in hold.missing):
                yield SeenWhilePutOff(hold.rule.name, hold.spring, hold.put_off.id)


def not_to_put_off(timeline: Timeline, day: date, entry_id: str = "") -> Statement | None:
    """Why nothing would be put off to next spring on a day; None where a hold would. entry_id: the entry that does."""
    waiting = _waiting(timeline, day)
    if any(hold.put_off is not None and hold.put_off.id == entry_id for hold in waiting):
        return None
    hemisphere = timeline.care.collection.place.hemisphere
    this_season = season_of(day, hemisphere)
    of_now = [hold for hold in waiting if season_of(hold.start, hemisphere) == this_season]
    if not of_now:
        return SpringHasCome(waiting[0].rule.name) if waiting else NoHoldToPutOff()
    if all(hold.put_off is not None for hold in of_now):
        return PutOffBefore(of_now[0].rule.name, of_now[0].spring or 0)
    return None


def _waiting(timeline: Timeline, day: date) -> list[Hold]:
    """The holds that wait for a sign on a day."""
    return [hold for hold in timeline.holds if hold.covers(day) and hold.missing]
