"""How a morning's question is put to feedplan: the one place that knows the engine.

What a plan must remember of earlier mornings goes in and comes back as the text of its two files, which nobody else
looks into.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence, Set
from dataclasses import replace
from datetime import date
from decimal import Decimal
from functools import lru_cache
from typing import Any, Protocol, TypeVar

from feedplan.engine.answers.explain import left_out, nitrogen_by, why_not
from feedplan.engine.feeding.windows import Windows
from feedplan.engine.growing_year import season_of, season_start
from feedplan.engine.plan import plan_season
from feedplan.engine.season import AlertKind, RoundItem, Season, Timeline
from feedplan.load.collection import Loaded, load_text
from feedplan.load.history import NOTHING_KEPT, Memory, read_history
from feedplan.load.history_cells import header_text
from feedplan.load.journal_file import entry_line
from feedplan.memory import what_to_keep
from feedplan.model.course import FeedEvent, Status
from feedplan.model.journal import Entry, Journal
from feedplan.model.source import Source
from feedplan.words.reasons import reason_words
from tests.lived.garden import Garden, Written
from tests.lived.told import Awaited, Care, Event, PastFeed, Told, ToldFeed, Why

T = TypeVar("T")

History = Any
"""What the plan of one morning hands to that of the next."""


class Asks(Protocol):
    """Asks for the plan of a day, once in the morning and again after something was written; its last word counts.

    history: what the asking before gave back, None at first. expected: trees that were to be fed today by what was
    told last, to be explained if they are not.
    """

    def __call__(
        self, garden: Garden, day: date, history: History, expected: Set[str] = frozenset()
    ) -> tuple[Told, History]: ...


def asks(
    garden: Garden, day: date, history: History = None, expected: Set[str] = frozenset()
) -> tuple[Told, History]:
    """What feedplan tells on a morning, planned afresh from the files. Raises FilesHaveProblems."""
    collection, journal, known = _loaded(garden).collection, journal_of(garden), history or NOTHING_KEPT
    since = season_start(season_of(day, collection.place.hemisphere) - 1, collection.place.hemisphere)
    remembered = read_history(known, since)
    season = plan_season(
        collection,
        journal,
        day,
        garden.first,
        garden.last,
        climate=garden.sky,
        history=remembered.history,
    )
    settled, told = what_to_keep(season, journal, remembered, {})
    return told_of(season, expected), Memory((known.history or header_text()) + settled, told)


def told_of(season: Season, expected: Set[str]) -> Told:
    """A season as its grower hears of it."""
    today, collection = season.today, season.collection
    feeds = [(name, t, feed) for t in season.timelines for name in t.names for feed in t.feeds]
    pairs = [(name, t, feed) for name, t, feed in feeds if t.here(today)]
    fed = {name for name, _, feed in pairs if feed.day == today and not feed.status.is_without_feed}
    given = [mix for mix in season.rounds if mix.day < today and not mix.status.is_without_feed]
    return Told(
        day=today,
        today=tuple(_told(n, f) for n, _, f in pairs if f.day == today and _is_to_do(f)),
        past=_by_tree((n, _past(f)) for n, _, f in feeds if season.start <= f.day < today),
        ahead=_by_tree((n, _told(n, f)) for n, _, f in pairs if today < f.day <= season.end),
        events=dict(_events(season)),
        mixed={f"feed/{mix.key}": _mix(mix) for mix in given},
        care={name: _care(t, today) for t in season.timelines if t.here(today) for name in t.names},
        withheld=_withheld(season, expected - fed),
        awaited=tuple(_awaited(season)),
        stages={
            name: {at.stage: at.day for at in t.stage_dates(season_of(today, collection.place.hemisphere))}
            for t in season.timelines
            for name in t.names
        },
        share=collection.habits.feed_share,
    )


def journal_of(garden: Garden) -> Journal:
    """The journal as its loader reads it: entries that were taken back stand apart, with the day of that."""
    entries = [(note, _entry(garden, note)) for note in garden.journal]
    undone: dict[str, date] = {}
    for note, _ in reversed(entries):
        if note.undoes and note.id not in undone:
            undone[note.undoes] = note.written
    placed = [
        replace(entry, source=Source("journal.yaml", line), undone=undone.get(note.id))
        for line, (note, entry) in enumerate(entries, start=1)
        if entry is not None
    ]
    standing = tuple(entry for entry in placed if entry.undone is None)
    return Journal(standing, tuple(entry for entry in placed if entry.undone is not None))


def line_of(note: Written) -> str:
    """One entry as a line of journal.yaml."""
    late = {"recorded": note.written} if note.written > note.day else {}
    return f"- {entry_line({'date': note.day, **late, 'id': note.id, **note.says})}\n"


def _loaded(garden: Garden, journal: str = "") -> Loaded:
    return _load(garden.collection, journal, tuple(sorted(garden.schedules.items())))


@lru_cache(maxsize=32)
def _load(collection: str, journal: str, schedules: tuple[tuple[str, str], ...]) -> Loaded:
    return load_text(collection, journal, dict(schedules))


_entries: dict[tuple[str, str], Entry | None] = {}
"""Entries read before, by garden and line: reading a whole journal each morning takes longer than a plan."""


def _entry(garden: Garden, note: Written) -> Entry | None:
    """An entry as feedplan reads it by itself; None for one that only takes another back."""
    if note.undoes:
        return None
    key = (garden.name, line_of(note))
    if key not in _entries:
        _entries[key] = next(iter(_loaded(garden, line_of(note)).journal.entries), None)
    return _entries[key]


def _is_to_do(feed: FeedEvent) -> bool:
    return feed.status in (Status.PLANNED, Status.OVERDUE)


def _told(tree: str, feed: FeedEvent) -> ToldFeed:
    return ToldFeed(tree, feed.day, feed.due, feed.ppm, feed.feed)


def _past(feed: FeedEvent) -> PastFeed:
    return PastFeed(feed.day, feed.ppm, feed.feed, feed.status in (Status.RECORDED, Status.ASSUMED))


def _by_tree(pairs: Iterable[tuple[str, T]]) -> dict[str, tuple[T, ...]]:
    found: dict[str, list[T]] = {}
    for name, value in pairs:
        found.setdefault(name, []).append(value)
    return {name: tuple(values) for name, values in found.items()}


def _care(timeline: Timeline, day: date) -> Care:
    window = Windows(timeline.windows, timeline.waiting).at(day)
    period = None if window is None else window.period
    year = season_of(day, timeline.care.collection.place.hemisphere)
    return Care(
        group=timeline.group_on(day),
        every_days=None if period is None else period.every_days,
        least_gap_days=None if period is None else period.min_gap_days,
        budget=timeline.care.schedule_on(day).budget_mg_n_per_l,
        solids=sum((_known(s.counts, day) for s in timeline.solids if s.season == year), Decimal(0)),
        used=nitrogen_by(timeline, day),
    )


def _known(counts: Sequence[tuple[date, Decimal]], day: date) -> Decimal:
    """What a solid feed was known on a day to give in its season [mg per L of container]."""
    return next((mg for since, mg in reversed(counts) if since <= day), Decimal(0))


def _mix(mix: RoundItem) -> Event:
    return (mix.day, mix.ppm, mix.feed, mix.poured_litres, tuple(sorted(mix.names)))


def _events(season: Season) -> Iterator[tuple[str, Event]]:
    """What the calendar shows from today on; of what repeats, all that has not ended."""
    today = season.today
    for mix in season.rounds:
        if mix.day >= today:
            yield f"feed/{mix.key}", _mix(mix)
    for solid in season.solids:
        if solid.day >= today:
            names = tuple(name for timeline in solid.timelines for name in timeline.names)
            yield f"solid/{solid.key}", (solid.day, solid.act, solid.grams_per_l, names)
    for check in season.checks:
        if check.end >= today:
            names = tuple(tree.name for tree in check.trees)
            yield f"check/{check.key}", (check.start, check.end, check.look, check.weekdays, names)
    for look in season.reviews:
        if look.day >= today:
            yield f"look/{look.key}", (look.day, look.carry_to)
    yield from _questions(season)
    for flush in season.flushes:
        if flush.day >= today:
            yield f"flush/{flush.key}", (flush.day, flush.litres)


def _questions(season: Season) -> Iterator[tuple[str, Event]]:
    """What is asked from today on: whether a stage has come, and which of two sightings is right."""
    for question in season.prompts:
        if question.day >= season.today:
            yield f"question/{question.key}", (question.day, question.stage)
    for alert in season.alerts:
        if alert.kind is AlertKind.SIGHTING:
            yield f"question/{alert.key}", (alert.start, alert.end)


def _withheld(season: Season, expected: Set[str]) -> dict[str, tuple[Why, ...]]:
    today = season.today
    found: dict[str, tuple[Why, ...]] = {}
    for item in season.rounds:
        if item.day == today and item.status in (Status.PLANNED, Status.OVERDUE):
            for timeline, stands in left_out(season, item.group, today):
                reasons = tuple(Why(str(r.rule), reason_words(r, today)) for r in stands)
                found |= dict.fromkeys(timeline.names, reasons)
    for timeline in season.timelines:
        asked = (expected & set(timeline.names)) - found.keys()
        if asked:
            ahead = next((feed.reasons for feed in timeline.feeds if feed.day > today), ())
            stands = (*why_not(timeline, today), *ahead)
            why = tuple(Why(str(r.rule), reason_words(r, today)) for r in stands)
            found |= dict.fromkeys(asked, why)
    return found


def _awaited(season: Season) -> Iterator[Awaited]:
    for timeline in season.timelines:
        for hold in timeline.holds:
            if hold.covers(season.today) and not hold.by_weather and timeline.here(season.today):
                for met in hold.missing:
                    yield from (Awaited(name, hold.start, met.need.sign) for name in timeline.names)
