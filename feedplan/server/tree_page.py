"""A tree's page: its year, its next feed or why none, its nitrogen so far, and what can be written down about it.

A year at a glance is a ribbon, here of one tree or of a collection, in units of one day by one line.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from feedplan.engine.answers.expected import expected_feeding
from feedplan.engine.answers.explain import Explanation, explain
from feedplan.engine.growing_year import season_end, season_of, season_start
from feedplan.engine.season import Season, Timeline
from feedplan.model.collection import Collection, Tree
from feedplan.model.course import Hold, StageDate, Status
from feedplan.model.hold import CauseKind, HoldRule
from feedplan.model.stage import Origin
from feedplan.words.entries import entry_words
from feedplan.words.language import say
from feedplan.words.reasons import hold_end_words, hold_words, reason_words
from feedplan.words.stages import origin_words
from feedplan.words.writing import MONTHS_SHORT, day_words, full_day, number, ppm_words

ROOT_SHARES = ("10 %", "20 %", "30 %", "40 %", "50 %")
_ROOT_WORK = ("repotted",)


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
    expected = expected_feeding(timeline, today)
    holds = _held(year, timeline.holds, year.last if expected is None else expected.end - timedelta(days=1))
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


def today_on_ribbons(collection: Collection, today: date) -> int | None:
    """Where today stands on every ribbon of its year."""
    return _YearScale(today, collection).x(today)


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


def _held(year: _YearScale, holds: Iterable[Hold], open_to: date) -> tuple[YearSpan, ...]:
    """The holds of a year; one that waits for a sign reaches to a day, and to its earliest end at least."""
    spans = []
    for hold in holds:
        end = hold.until or max(hold.minimum, open_to + timedelta(days=1))
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


@dataclass(frozen=True, slots=True)
class StageRow:
    """One stage of the year. when: its date in words; how: where the date comes from; is_past: it has come."""

    stage: str
    when: str
    how: str
    is_past: bool


@dataclass(frozen=True, slots=True)
class TreePage:
    """Everything on a tree's page.

    next_feed, last_feed: in words, empty when there is none. why_not: what stands in the way today, empty when the
    tree is fed today. reasons: what weakens or moves today's feed. nitrogen: so far of the season's budget.
    choices: what can be recorded, see RecordChoices.
    """

    tree: Tree
    group: str
    bench: str
    about: str
    is_here: bool
    today_feed: str
    why_not: tuple[str, ...]
    next_feed: str
    last_feed: str
    nitrogen: str
    nitrogen_share: int
    holds: tuple[tuple[str, str, tuple[str, ...]], ...]
    ribbon: Ribbon
    stages: tuple[StageRow, ...]
    feeds: tuple[tuple[str, str, str], ...]
    entries: tuple[tuple[str, str], ...]
    choices: RecordChoices


@dataclass(frozen=True, slots=True)
class RecordChoices:
    """What can be tapped. root_work: words that take a share of roots; shares: those to choose from."""

    stages: tuple[str, ...]
    signs: tuple[str, ...]
    root_work: tuple[str, ...]
    shares: tuple[str, ...]
    work: tuple[str, ...]
    trouble: tuple[str, ...]
    groups: tuple[str, ...]
    benches: tuple[str, ...]


def tree_page(season: Season, collection: Collection, tree: Tree) -> TreePage | None:
    """The page of a tree; None when it is in the collection no more."""
    try:
        why = explain(season, tree, season.today)
    except KeyError:
        return None
    timeline, today = why.timeline, season.today
    budget = why.schedule.budget_mg_n_per_l
    season_now = season_of(today, collection.place.hemisphere)
    year = [feed for feed in timeline.feeds if feed.season == season_now]
    return TreePage(
        tree=next(each for each in timeline.trees if each.name == tree.name),
        group=why.group,
        bench=timeline.care.place_of(tree, today),
        about=tree.about,
        is_here=timeline.here(today),
        today_feed="" if why.feed is None else f"{_verb(why.feed.status)}: {ppm_words(why.feed.ppm)}",
        why_not=tuple(reason_words(reason, today) for reason in why.reasons),
        next_feed="" if why.next is None else f"{day_words(why.next.day, today)}, {ppm_words(why.next.ppm)}",
        last_feed="" if why.last is None else f"{day_words(why.last.day, today)}, {ppm_words(why.last.ppm)}",
        nitrogen=say(
            "{given} of {budget} mg N per litre of pot",
            given=f"{why.n_mg_per_l:.0f}",
            budget=number(budget),
        ),
        nitrogen_share=min(100, round(100 * why.n_mg_per_l / budget)) if budget else 0,
        holds=tuple(
            (hold_words(hold, today), hold_end_words(hold, today), tuple(map(say, hold.rule.do)))
            for hold in timeline.holds
            if hold.covers(today)
        ),
        ribbon=tree_ribbon(timeline, collection, today),
        stages=tuple(_stage_rows(why)),
        feeds=tuple((day_words(feed.day, today), ppm_words(feed.ppm), _verb(feed.status)) for feed in year),
        entries=tuple(
            (full_day(entry.day), entry_words(entry))
            for entry in sorted(timeline.entries, key=lambda entry: entry.day, reverse=True)
            if entry.is_about(tree.name)
        ),
        choices=_choices(why, collection, today),
    )


def _verb(status: Status) -> str:
    return {
        Status.PLANNED: say("planned"),
        Status.OVERDUE: say("overdue"),
        Status.RECORDED: say("given"),
        Status.ASSUMED: say("given, as far as the plan knows"),
        Status.MISSED: say("missed"),
        Status.NOT_GIVEN: say("not given"),
    }[status]


def _stage_rows(why: Explanation) -> Iterator[StageRow]:
    for at in why.stages:
        has_come = at.day is not None and at.day <= why.day
        yield StageRow(at.stage, _when(at, why.day), _how(at, why.day), has_come)


def _when(at: StageDate, today: date) -> str:
    return day_words(at.day, today) if at.day is not None else say("not yet")


def _how(at: StageDate, today: date) -> str:
    if at.origin is Origin.AWAITED:
        return say("awaited, typically {day}", day=day_words(at.typical, today))
    return origin_words(at.origin)


def _choices(why: Explanation, collection: Collection, today: date) -> RecordChoices:
    rules = why.schedule.holds
    work = _causes(rules, CauseKind.WORK)
    missing = [met.need.sign for hold in why.timeline.holds if hold.covers(today) for met in hold.missing]
    adverse = [word.name for word in collection.vocabulary.words.values() if word.adverse]
    benches = {tree.bench or collection.groups[tree.group].bench for tree in collection.trees}
    return RecordChoices(
        stages=tuple(dict.fromkeys(at.stage for at in why.stages)),
        signs=tuple(dict.fromkeys([*missing, *adverse])),
        root_work=tuple(cause for cause in work if cause in _ROOT_WORK),
        shares=ROOT_SHARES,
        work=tuple(cause for cause in work if cause not in _ROOT_WORK),
        trouble=tuple(_causes(rules, CauseKind.TROUBLE)),
        groups=tuple(name for name in collection.groups if name != why.group),
        benches=tuple(sorted(benches - {""})),
    )


def _causes(rules: Mapping[str, HoldRule], kind: CauseKind) -> list[str]:
    return list(dict.fromkeys(rule.cause for rule in rules.values() if rule.kind is kind))
