"""A year at a glance: the geometry of the ribbon drawn on the pages, in units of one day by one line."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from feedplan.engine.growing_year import season_end, season_of, season_start
from feedplan.engine.season import Season, Timeline
from feedplan.model.collection import Collection
from feedplan.model.course import Hold, Status
from feedplan.words.language import say
from feedplan.words.writing import MONTHS_SHORT, day_words


@dataclass(frozen=True, slots=True)
class YearSpan:
    """A stretch of the ribbon. x, width: [days from its start]. is_open: how long it goes on is not known."""

    x: int
    width: int
    what: str = ""
    is_open: bool = False


@dataclass(frozen=True, slots=True)
class YearMark:
    """A day on the ribbon. x: [days from its start]. what: given, planned or missed; a stage; a number."""

    x: int
    what: str
    height: int = 0


@dataclass(frozen=True, slots=True)
class Ribbon:
    """One growing year. today: None when it lies outside. words: the same in a sentence, for who cannot see it."""

    days: int
    months: tuple[YearMark, ...]
    today: int | None
    windows: tuple[YearSpan, ...]
    holds: tuple[YearSpan, ...]
    feeds: tuple[YearMark, ...]
    stages: tuple[YearMark, ...]
    words: str


class _YearScale:
    """The growing year that a day lies in."""

    def __init__(self, day: date, collection: Collection) -> None:
        hemisphere = collection.place.hemisphere
        self.number = season_of(day, hemisphere)
        self.first, self.last = season_start(self.number, hemisphere), season_end(self.number, hemisphere)
        self.days = (self.last - self.first).days + 1

    def x(self, day: date) -> int:
        return (day - self.first).days

    def holds(self, day: date) -> bool:
        return self.first <= day <= self.last

    def span(self, start: date, end: date, what: str = "", *, is_open: bool = False) -> YearSpan | None:
        """The part of a stretch that lies in the year; end is its last day."""
        start, end = max(start, self.first), min(end, self.last)
        return YearSpan(self.x(start), (end - start).days + 1, what, is_open) if start <= end else None

    def months(self) -> Iterator[YearMark]:
        day = self.first
        while day <= self.last:
            yield YearMark(self.x(day), say(MONTHS_SHORT[day.month - 1])[0])
            day = (day + timedelta(days=31)).replace(day=1)


def tree_ribbon(timeline: Timeline, collection: Collection, today: date) -> Ribbon:
    """The year of one tree: when it may be fed, its holds, its feeds and its stages."""
    year = _YearScale(today, collection)
    feeds = [feed for feed in timeline.feeds if year.holds(feed.day)]
    given = sum(_kind(feed.status) == "given" for feed in feeds)
    planned = sum(_kind(feed.status) == "planned" for feed in feeds)
    holds = _held(year, timeline.holds, today)
    return Ribbon(
        days=year.days,
        months=tuple(year.months()),
        today=year.x(today),
        windows=_present(year.span(window.first, window.last) for window in timeline.windows),
        holds=holds,
        feeds=tuple(YearMark(year.x(feed.day), _kind(feed.status)) for feed in feeds),
        stages=tuple(
            YearMark(year.x(at.day), at.stage)
            for at in timeline.stage_dates(year.number)
            if at.day is not None and year.holds(at.day)
        ),
        words=say(
            "{given} feeds given and {planned} planned; {holds} holds. The lists below say when.",
            given=given,
            planned=planned,
            holds=len(holds),
        ),
    )


def collection_ribbon(season: Season, collection: Collection) -> Ribbon:
    """The year of the whole collection: how many trees are fed each week, and when any tree is held."""
    year = _YearScale(season.today, collection)
    weeks: dict[int, int] = {}
    for timeline in season.timelines:
        for feed in timeline.feeds:
            if year.holds(feed.day) and not feed.status.is_without_feed:
                week = year.x(feed.day) // 7
                weeks[week] = weeks.get(week, 0) + timeline.head_count_on(feed.day)
    most = max(weeks.values(), default=1)
    busiest = max(weeks, key=lambda week: weeks[week], default=0)
    start = year.first + timedelta(weeks=busiest)
    held = _held(year, [hold for timeline in season.timelines for hold in timeline.holds], season.today)
    return Ribbon(
        days=year.days,
        months=tuple(year.months()),
        today=year.x(season.today),
        windows=(),
        holds=_merged(held),
        feeds=tuple(
            YearMark(7 * week, str(count), round(100 * count / most)) for week, count in sorted(weeks.items())
        ),
        stages=(),
        words=say(
            "Feeds by week through the year; most in the week of {day}, {count} of them.",
            day=day_words(start),
            count=most,
        ),
    )


def _kind(status: Status) -> str:
    if status is Status.MISSED:
        return "missed"
    return "given" if status in (Status.RECORDED, Status.ASSUMED) else "planned"


def _held(year: _YearScale, holds: Iterable[Hold], today: date) -> tuple[YearSpan, ...]:
    """The holds of a year; one that waits for a sign reaches to today and to its earliest end at least."""
    spans = []
    for hold in holds:
        end = hold.until or max(hold.minimum, today + timedelta(days=1))
        last = max(hold.start, end - timedelta(days=1))
        spans.append(year.span(hold.start, last, hold.rule.name, is_open=hold.until is None))
    return _present(spans)


def _merged(spans: Iterable[YearSpan]) -> tuple[YearSpan, ...]:
    """Overlapping stretches as one each."""
    merged: list[YearSpan] = []
    for span in sorted(spans, key=lambda span: span.x):
        if merged and span.x <= merged[-1].x + merged[-1].width:
            last = merged.pop()
            end = max(last.x + last.width, span.x + span.width)
            merged.append(YearSpan(last.x, end - last.x))
        else:
            merged.append(YearSpan(span.x, span.width))
    return tuple(merged)


def _present(spans: Iterable[YearSpan | None]) -> tuple[YearSpan, ...]:
    return tuple(span for span in spans if span is not None)
