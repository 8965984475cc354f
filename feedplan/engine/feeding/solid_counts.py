"""The nitrogen of each solid feed by season: what it gives while it lies there, and when that was known."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from feedplan.dose.arithmetic import Product
from feedplan.dose.grade import Grade
from feedplan.engine.feeding.release import Release
from feedplan.engine.growing_year import DAY, season_end, season_of, season_start
from feedplan.model.collection import Feed
from feedplan.model.course import Hold, Solid, Status
from feedplan.model.forms import FORMS
from feedplan.model.hold import CauseKind
from feedplan.model.journal import Entry, SolidLaid, SolidLifted
from feedplan.model.moment import Hemisphere
from feedplan.model.source import Source

ZERO = Decimal(0)
NONE_THERE = SolidLifted("none")

# What a new tree is taken to carry: a coated feed of unknown make, evenly released over this time [days]. Judgement.
_CARRIED_DAYS = 150
CARRIED = Feed(
    "coated feed it came with",
    FORMS["coated"],
    Product(Grade(Decimal(16), ZERO, ZERO)),
    longevity_days=_CARRIED_DAYS,
)
MOST_SEASONS = 4


@dataclass(frozen=True, slots=True)
class Laying:
    """One solid feed in one container.

    gives: all the N it can give [mg per L of container]. known: first day on which it could be counted. lifted: first
    day it no longer lies there, lift_known: first day on which that was known; None while it stays.
    void_from: the day it became known that it never was there.
    """

    feed: Feed
    gives: Decimal
    laid: date
    known: date
    status: Status
    source: Source
    entry: Entry | None = None
    mixed_in: bool = False
    carried: bool = False
    lifted: date | None = None
    lift_known: date | None = None
    void_from: date | None = None
    period: str = ""


def gives_mg_per_l(feed: Feed, grams_per_l: Decimal) -> Decimal:
    """All the N that so much of a solid feed gives [mg per L of container], at a rate [g per L of container]."""
    return grams_per_l * feed.n_mg_per_g * feed.released


def recorded_layings(
    entries: Sequence[Entry], feeds: Mapping[str, Feed], litres: Decimal
) -> tuple[Laying, ...]:
    """Every solid feed that the journal says was laid, with when it was lifted again."""
    found = []
    for entry in entries:
        fact = entry.fact
        if isinstance(fact, SolidLaid):
            feed = feeds[fact.feed]
            rate = fact.grams / litres if fact.grams_per_l is None else fact.grams_per_l
            off = None if fact.mixed_in else lift_of(feed.name, entry.day, entries, entry)
            found.append(
                Laying(
                    feed,
                    gives_mg_per_l(feed, rate),
                    entry.day,
                    entry.known,
                    Status.RECORDED,
                    entry.source,
                    entry,
                    fact.mixed_in,
                    lifted=off.day if off is not None else None,
                    lift_known=off.known if off is not None else None,
                )
            )
    return tuple(found)


def lift_of(feed: str, laid: date, entries: Sequence[Entry], laying: Entry | None = None) -> Entry | None:
    """The first entry that takes a solid feed off again after it was laid. laying: the entry that laid it, if any.

    On the day itself the order of the journal counts: old feed is lifted to lay new feed in its place.
    """
    since = entries.index(laying) if laying in entries else -1
    off = (
        entry
        for place, entry in enumerate(entries)
        if (entry.day > laid or (entry.day == laid and place > since))
        and entry.fact in (SolidLifted(feed), SolidLifted())
    )
    return min(off, key=lambda entry: entry.day, default=None)


def is_lifted_by(laying: Entry, entries: Sequence[Entry], day: date) -> bool:
    """Whether what an entry laid was taken off again by a day."""
    assert isinstance(laying.fact, SolidLaid)
    off = lift_of(laying.fact.feed, laying.day, entries, laying)
    return off is not None and off.day <= day


def carried_layings(holds: Sequence[Hold], entries: Sequence[Entry]) -> tuple[Laying, ...]:
    """The coated feed that trees which came are taken to carry, until it is written down that none is there."""
    none_there = [e for e in entries if e.fact == NONE_THERE]
    found = []
    for hold in holds:
        carries = hold.rule.carries_mg_n_per_l
        if hold.rule.kind is CauseKind.ARRIVED and carries:
            told = min((e.known for e in none_there if e.day >= hold.start), default=None)
            found.append(
                Laying(
                    CARRIED,
                    carries,
                    hold.start,
                    hold.entry.known,
                    Status.ASSUMED,
                    hold.rule.source,
                    hold.entry,
                    mixed_in=True,
                    carried=True,
                    void_from=told,
                )
            )
    return tuple(found)


class Counter:
    """Counts layings by season, as they were known on each day."""

    def __init__(self, release: Release, hemisphere: Hemisphere, today: date) -> None:
        self._release = release
        self._hemisphere = hemisphere
        self._today = today

    def solids(self, layings: Sequence[Laying]) -> tuple[Solid, ...]:
        """The nitrogen of every laying in every season it reaches, in order of laying."""
        found = [solid for laying in layings for solid in self._of(laying)]
        return tuple(sorted(found, key=lambda s: (s.laid, s.feed or "", s.season)))

    def _of(self, laying: Laying) -> Iterator[Solid]:
        first = season_of(laying.laid, self._hemisphere)
        for season in range(first, first + MOST_SEASONS):
            counts = self._counts(laying, season)
            if any(mg for _, mg in counts):
                yield self._solid(laying, season, counts)

    def _counts(self, laying: Laying, season: int) -> tuple[tuple[date, Decimal], ...]:
        """What it gives in a season, from each day on which that was known anew."""
        days = {laying.known, *self._release.recounts(max(laying.laid, laying.known), self._today)}
        days |= {day for day in (laying.lift_known, laying.void_from) if day is not None}
        counts: list[tuple[date, Decimal]] = []
        for day in sorted(day for day in days if day >= laying.known):
            mg = self.in_season(laying, season, day)
            if not counts or counts[-1][1] != mg:
                counts.append((day, mg))
        return tuple(counts)

    def share_out(self, laying: Laying, day: date) -> Decimal:
        """Share of all a laying gives that is out before a day, as known today [0 to 1]."""
        return self._release.share(laying.feed, laying.laid, day, self._today, on_surface=not laying.mixed_in)

    def in_season(self, laying: Laying, season: int, seen_from: date) -> Decimal:
        """What a laying gives in a season, as known on a day [mg per L of container]."""
        start = season_start(season, self._hemisphere)
        return self._between(laying, start, season_start(season + 1, self._hemisphere), seen_from)

    def _between(self, laying: Laying, start: date, end: date, seen_from: date) -> Decimal:
        if laying.void_from is not None and laying.void_from <= seen_from:
            return ZERO
        off = laying.lifted if laying.lift_known is not None and laying.lift_known <= seen_from else None
        last = end if off is None else min(end, off)
        out = [
            self._release.share(laying.feed, laying.laid, day, seen_from, on_surface=not laying.mixed_in)
            for day in (start, last)
        ]
        return max(out[1] - out[0], ZERO) * laying.gives

    def _solid(self, laying: Laying, season: int, counts: tuple[tuple[date, Decimal], ...]) -> Solid:
        return Solid(
            entry=laying.entry,
            feed=None if laying.carried else laying.feed.name,
            mg_n_per_l=counts[-1][1],
            season=season,
            status=laying.status,
            laid=laying.laid,
            lifted=laying.lifted,
            counts=counts,
            course=self._course(laying, season),
            spent=self._release.spent(laying.feed, laying.laid, self._today, on_surface=not laying.mixed_in),
            mixed_in=laying.mixed_in,
            source=laying.source,
        )

    def _course(self, laying: Laying, season: int) -> tuple[tuple[date, Decimal], ...]:
        """What it has given in the season by the first of each month, straight lines between."""
        start = max(season_start(season, self._hemisphere), laying.laid)
        end = season_end(season, self._hemisphere)
        stops = [laying.lifted] if laying.lifted is not None else []
        if laying.feed.longevity_days is not None and not self._release.follows_weather:
            lag_days = 0 if laying.mixed_in else laying.feed.lag_days
            begins = laying.laid + lag_days * DAY
            stops += [begins, begins + (laying.feed.longest_days or laying.feed.longevity_days) * DAY]
        months = range(start.year * 12 + start.month, end.year * 12 + end.month)
        firsts = [date(month // 12, month % 12 + 1, 1) for month in months]
        days = sorted({start, *(day for day in (*firsts, *stops) if start < day <= end), end})
        return tuple((day, self._between(laying, start, day, self._today)) for day in days)
