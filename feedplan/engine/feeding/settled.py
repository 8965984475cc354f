"""What became of each feed and laying that was asked for, by the journal: an entry changes what it is about alone."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from feedplan.model.course import STATUS_OF, Status
from feedplan.model.history import Outcome, ToldFeed, ToldLaying
from feedplan.model.journal import Entry, Fed, NotFed, NotLaid, SolidLaid

NEARLY_DUE = timedelta(days=3)
"""A record so near to a feed asked for means that feed: half a week, to either side. Judgement."""

ONE = Decimal(1)


@dataclass(frozen=True, slots=True)
class Became:
    """A feed whose day has come, and what became of it.

    day: when it was given, or else the day it was asked for. feed: as given. part: of the pour [0-1].
    """

    told: ToldFeed
    status: Status
    day: date
    feed: str | None
    part: Decimal = ONE
    entry: Entry | None = None

    @classmethod
    def unrecorded(cls, told: ToldFeed) -> Became:
        """A feed nobody wrote anything about."""
        return cls(told, STATUS_OF[told.unrecorded], told.told, told.feed)

    @classmethod
    def by(cls, told: ToldFeed, entry: Entry) -> Became:
        """A feed that an entry is about."""
        fact = entry.fact
        if isinstance(fact, NotFed):
            return cls(told, Status.NOT_GIVEN, told.told, told.feed, entry=entry)
        assert isinstance(fact, Fed)
        return cls(told, Status.RECORDED, entry.day, fact.feed or told.feed, fact.part, entry)


def what_became(
    told: Sequence[ToldFeed],
    entries: Iterable[Entry],
    offered_to: Callable[[ToldFeed], date],
    may_be_near: Callable[[Entry], bool],
) -> tuple[tuple[Became, ...], tuple[Entry, ...]]:
    """What became of every feed asked for, in day order; and the records that are about none of them.

    A record answers the feed asked for on its day; else the last one missed, given late; else one nobody wrote about
    within half a week, before it alone where nothing was given. Each feed is answered once, each record answers one. A
    feed that only an entry told of is there as long as that entry stands. offered_to: the last day on which a missed
    one may be given late. may_be_near: whether a record may mean a feed of another day that was not missed.
    """
    logs = sorted(
        (e for e in entries if isinstance(e.fact, Fed | NotFed)), key=lambda e: (e.day, e.known, e.id)
    )
    answers: dict[int, Entry] = {}
    unmatched = []
    for log in logs:
        if any(other.day == log.day and other.fact == log.fact for other in answers.values()):
            continue  # the same thing written twice
        place = _answered_by(log, told, answers, offered_to)
        if place is None and may_be_near(log):
            place = _near(log, told, answers)
        if place is None:
            unmatched.append(log)
        else:
            answers[place] = log
    became = tuple(
        Became.by(feed, answers[place]) if place in answers else Became.unrecorded(feed)
        for place, feed in enumerate(told)
        if place in answers or not feed.extra
    )
    return became, tuple(unmatched)


def _answered_by(
    log: Entry,
    told: Sequence[ToldFeed],
    answers: dict[int, Entry],
    offered_to: Callable[[ToldFeed], date],
) -> int | None:
    """The place of the feed asked for on the day of a record, or offered again then; None for none."""
    free = [place for place in range(len(told)) if place not in answers]
    asked = [place for place in free if not told[place].extra]
    on_the_day = [n for n in (free if isinstance(log.fact, Fed) else asked) if told[n].told == log.day]
    if on_the_day:
        return on_the_day[0]
    before = [place for place in range(len(told)) if told[place].told < log.day]
    last = told[before[-1]] if before and before[-1] in asked else None
    is_missed = last is not None and last.unrecorded is Outcome.MISSED and log.day <= offered_to(last)
    return before[-1] if is_missed else None


def _near(log: Entry, told: Sequence[ToldFeed], answers: dict[int, Entry]) -> int | None:
    """The place of the feed within half a week that a record is about; None for none.

    That nothing was given is no word on a feed still to come.
    """
    known = [place for place in range(len(told)) if place not in answers and not told[place].extra]
    if isinstance(log.fact, NotFed):
        known = [place for place in known if told[place].told < log.day]
    near = [place for place in known if abs(told[place].told - log.day) <= NEARLY_DUE]
    return min(near, key=lambda place: (abs(told[place].told - log.day), told[place].told), default=None)


def is_about_trees(log: Entry) -> bool:
    """Whether a record is sure to mean each tree it speaks of: it names them, or tells what they got."""
    return bool(log.subject.trees) or (isinstance(log.fact, Fed) and log.fact.ppm is not None)


@dataclass(frozen=True, slots=True)
class BecameLaid:
    """A laying whose day has come, and what became of it. entry: the one about it, None for none."""

    told: ToldLaying
    entry: Entry | None = None

    @property
    def status(self) -> Status:
        """What is known of it."""
        if self.entry is None:
            return STATUS_OF[self.told.unrecorded]
        return Status.NOT_GIVEN if isinstance(self.entry.fact, NotLaid) else Status.RECORDED


def what_was_laid(
    told: Sequence[ToldLaying], entries: Iterable[Entry], interval_of: Callable[[ToldLaying], timedelta]
) -> tuple[tuple[BecameLaid, ...], tuple[Entry, ...]]:
    """What became of every laying asked for, in day order; and the records of laying that are about none of them.

    A record answers the laying asked for on its day; else the last one, until its interval is over; else, when it was
    written down late, the one asked for next. That nothing was laid may be written a little before its day too.
    """
    answers: dict[int, Entry] = {}
    unmatched = []
    for log in entries:
        if isinstance(log.fact, SolidLaid | NotLaid):
            place = _laying_answered_by(log, told, answers, interval_of)
            if place is not None:
                answers[place] = log
            elif isinstance(log.fact, SolidLaid):
                unmatched.append(log)
    became = tuple(
        BecameLaid(laying, answers.get(place))
        for place, laying in enumerate(told)
        if place in answers or not laying.extra
    )
    return became, tuple(unmatched)


def _laying_answered_by(
    log: Entry,
    told: Sequence[ToldLaying],
    answers: dict[int, Entry],
    interval_of: Callable[[ToldLaying], timedelta],
) -> int | None:
    on_the_day = [n for n, laying in enumerate(told) if laying.told == log.day and n not in answers]
    if on_the_day:
        return on_the_day[0]
    before = [n for n, laying in enumerate(told) if laying.told < log.day]
    after = [n for n, laying in enumerate(told) if laying.told > log.day]
    last = told[before[-1]] if before and before[-1] not in answers else None
    if last is not None and not last.extra and log.day < last.told + interval_of(last):
        return before[-1]
    if not after or after[0] in answers or told[after[0]].extra:
        return None
    upcoming = told[after[0]].told
    is_late = log.known >= upcoming if isinstance(log.fact, SolidLaid) else upcoming - log.day <= NEARLY_DUE
    return after[0] if is_late else None
