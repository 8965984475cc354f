"""What differs between two plans: which events moved, were weakened, appeared or went, each with its reason."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from feedplan.engine.answers.check_differences import check_differences
from feedplan.engine.answers.differences import Change, Difference, Event, EventKind
from feedplan.engine.answers.explain import timeline_of, why_not
from feedplan.engine.answers.work import work_prompts
from feedplan.engine.season import Season, Timeline
from feedplan.engine.stages.rounds import numbered
from feedplan.model.alert import FrozenBalls
from feedplan.model.collection import Collection
from feedplan.model.course import FeedEvent, Hold, StageDate
from feedplan.model.journal import (
    Allowed,
    Checked,
    EcRead,
    Fed,
    Noted,
    NotFed,
    NotLaid,
    RootZone,
    SolidLaid,
    SolidLifted,
)
from feedplan.model.reason import (
    EarlierFeedChanged,
    FilesDiffer,
    InJournal,
    NoLonger,
    NotInLaterPlan,
    Reason,
    Rule,
    StageMoved,
    TimeWentOn,
    WeatherDiffers,
    WeatherOnRecord,
)
from feedplan.model.stage import Origin
from feedplan.model.statement import Statement


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two plans."""

    season: Season
    collection: Collection


def compare(before: Side, after: Side, first: date, last: date) -> tuple[Difference, ...]:
    """Every difference that touches the days from `first` to `last`, in order of day; equal ones of several trees once.

    Days gone by make no difference: a planned feed that is now taken as given stays the same event.
    """
    causes = _Causes(before, after)
    found = [
        *_together(_of_trees(before, after, causes)),
        *_together(check_differences(before.season, after.season, causes.of)),
        *events_by_key(before.season, after.season, causes.of),
    ]
    shown = [
        each for each in found if any(d is not None and first <= d <= last for d in (each.before, each.after))
    ]
    return tuple(sorted(shown, key=lambda each: (each.day, each.what, each.group, each.trees)))


def _of_trees(before: Side, after: Side, causes: _Causes) -> Iterator[Difference]:
    """What differs tree by tree: feeds, stages and holds."""
    for name in _names(before, after):
        old, new = timeline_of(before.season, name), timeline_of(after.season, name)
        if old is not None and new is not None and old == new:
            continue
        yield from _stages(name, old, new, causes)
        yield from _holds(name, old, new, causes)
        yield from _feeds(name, old, new, after, causes)


def _names(before: Side, after: Side) -> list[str]:
    """Every tree of either plan, by name, in the order of the later one."""
    return list(dict.fromkeys(n for side in (after, before) for t in side.season.timelines for n in t.names))


def _feeds(
    name: str, old: Timeline | None, new: Timeline | None, after: Side, causes: _Causes
) -> Iterator[Difference]:
    """Feeds matched by their place in the season; one that nobody asked for, and an answered one, by the journal."""
    was, now = _feeds_of(old), _feeds_of(new)
    pairs = [(was.get(key), now.get(key)) for key in was.keys() | now.keys()]
    earlier_moved = False
    for one, other in sorted(pairs, key=_place):
        change = _change(one, other)
        event = other or one
        if change is None or event is None:
            continue
        by = max(each.day for each in (one, other) if each is not None)
        reasons = _why_feed(one, other, new, old, after) or (
            (_cascade(),) if earlier_moved else (causes.of((name,), "feed", by),)
        )
        earlier_moved = earlier_moved or change in (Change.MOVED, Change.APPEARED, Change.WENT)
        yield Difference(
            change,
            "feed",
            Event(EventKind.FEED, event.group),
            event.group,
            (name,),
            one.day if one is not None else None,
            other.day if other is not None else None,
            one.ppm if one is not None else None,
            other.ppm if other is not None else None,
            reasons,
        )


def _place(pair: tuple[FeedEvent | None, FeedEvent | None]) -> tuple[int, date, int]:
    """Where a feed stands among others, as the earlier plan has it."""
    event = pair[0] or pair[1]
    assert event is not None
    return event.season, event.day, event.ordinal


def _feeds_of(timeline: Timeline | None) -> dict[tuple[int, int, str], FeedEvent]:
    """The feeds given or to give, by what makes them the same feed in two plans.

    One that no plan asked for takes the next number that is free, which is another in each plan, and all later feeds
    are counted on from it; so it goes by its entry, and the others by their numbers without such ones.
    """
    feeds = timeline.feeds if timeline is not None else ()
    extra = [(f.season, f.ordinal) for f in feeds if f.is_extra]
    found = {}
    for f in feeds:
        if f.is_extra and f.entry is not None:
            key = (f.season, 0, f.entry.id)
        else:
            key = (f.season, f.ordinal - sum(s == f.season and n < f.ordinal for s, n in extra), "")
        if not f.status.is_without_feed:
            found[key] = f
    return found


def _change(one: FeedEvent | None, other: FeedEvent | None) -> Change | None:
    if one is None or other is None:
        return Change.APPEARED if one is None else Change.WENT
    if one.day != other.day and not (other.entry is not None and one.told == other.told):
        return Change.MOVED
    if one.ppm != other.ppm:
        return Change.WEAKENED if other.ppm < one.ppm else Change.STRENGTHENED
    return None


def _why_feed(
    one: FeedEvent | None, other: FeedEvent | None, new: Timeline | None, old: Timeline | None, after: Side
) -> tuple[Reason, ...]:
    """Why a feed is not what it was: what newly stands in its way, or the stage or hold that changed; may be empty."""
    if new is None:
        return (Reason(Rule.NOT_HERE, NotInLaterPlan()),)
    if other is not None and other.entry is not None and (one is None or one.entry is not other.entry):
        return (Reason(Rule.STAGE, InJournal((other.entry,)), entry=other.entry),)
    if other is not None:
        return _fresh(one, other) or tuple(_opened_otherwise(old, new, other))
    assert one is not None
    blocking = why_not(new, one.day)
    barred = tuple(reason for reason in blocking if reason.rule is not Rule.INTERVAL)
    return barred or tuple(_opened_otherwise(old, new, one))


def _fresh(one: FeedEvent | None, other: FeedEvent) -> tuple[Reason, ...]:
    """The reasons that only the later plan has; else those that only the earlier one had, as gone."""
    had = {reason.fact: reason for reason in one.reasons} if one is not None else {}
    has = {reason.fact: reason for reason in other.reasons}
    fresh = tuple(has[fact] for fact in has if fact not in had and has[fact].rule is not Rule.WEEKDAY)
    if fresh or (one is not None and other.day > one.day):
        return fresh
    gone = [had[fact] for fact in had if fact not in has and had[fact].rule is not Rule.WEEKDAY]
    return tuple(replace(reason, fact=NoLonger(reason.fact), ends=None) for reason in gone)


def _opened_otherwise(old: Timeline | None, new: Timeline, event: FeedEvent) -> Iterator[Reason]:
    """The stages from which the event's period starts that have another date now."""
    was = {at.stage: at for at in old.stage_dates(event.season)} if old is not None else {}
    for window in new.windows:
        if window.season == event.season and window.period.name == event.period:
            for at in window.opened_by:
                before = was.get(at.stage)
                if before is not None and before.day != at.day:
                    yield _stage_reason(at, before)


def _stage_reason(at: StageDate, before: StageDate) -> Reason:
    moved = StageMoved(at.stage, at.origin, at.day, before.day)
    return Reason(Rule.STAGE, moved, at.source, at.entry)


def _cascade() -> Reason:
    return Reason(Rule.INTERVAL, EarlierFeedChanged())


def _stages(name: str, old: Timeline | None, new: Timeline | None, causes: _Causes) -> Iterator[Difference]:
    """Stages from which feeding starts that were seen, or are expected on another day."""
    if old is None or new is None:
        return
    wanted = {at.stage for w in (*old.windows, *new.windows) for at in w.opened_by}
    wanted |= {stage for w in (*old.waiting, *new.waiting) for stage in w.stages}
    for season, stages in new.stages:
        was = {(at.stage, number): at for number, at in numbered(old.stage_dates(season))}
        for number, at in numbered(stages):
            before = was.get((at.stage, number))
            if at.stage not in wanted or before is None or before.day == at.day:
                continue
            entry = at.entry if at.origin in (Origin.SEEN, Origin.AWAITED) else None
            by = max(filter(None, (before.day, at.day)), default=date.max)
            fact = (
                InJournal((entry,)) if entry is not None else at.basis or causes.of((name,), "stage", by).fact
            )
            reason = Reason(Rule.STAGE, fact, at.source, entry)
            change = Change.MOVED if at.day and before.day else Change.APPEARED if at.day else Change.WENT
            yield Difference(
                change,
                "stage",
                Event(EventKind.STAGE, at.stage),
                "",
                (name,),
                before.day,
                at.day,
                reasons=(reason,),
            )


def _holds(name: str, old: Timeline | None, new: Timeline | None, causes: _Causes) -> Iterator[Difference]:
    # One that takes over from a lighter one is told by the day on which that one is over.
    was, now = ({h.key: h for h in t.holds if h.follows is None} if t else {} for t in (old, new))
    for key in sorted(was.keys() | now.keys()):
        one, other = was.get(key), now.get(key)
        if one is not None and other is not None and (one.end, one.turned) == (other.end, other.turned):
            continue
        hold = other or one
        assert hold is not None
        change = Change.APPEARED if one is None else Change.WENT if other is None else Change.MOVED
        yield Difference(
            change,
            "hold",
            Event(EventKind.HOLD, hold.rule.name, hold.start),
            "",
            (name,),
            _end_of(one),
            _end_of(other),
            reasons=(_why_hold(hold, one, other, causes.of((name,), "hold")),),
        )


def _end_of(hold: Hold | None) -> date | None:
    """The day a hold ends; its earliest end while it is open."""
    return None if hold is None else hold.end or hold.minimum


def _why_hold(hold: Hold, one: Hold | None, other: Hold | None, fallback: Reason) -> Reason:
    if other is None:
        return replace(fallback, rule=Rule.HOLD)
    if one is None:
        opened = WeatherOnRecord() if hold.by_weather else InJournal((hold.entry,))
        return Reason(Rule.HOLD, opened, hold.rule.source, hold.entry)
    met = {need.entry.id for need in one.needs if need.entry is not None}
    answers = [need.entry for need in other.needs if need.entry is not None and need.entry.id not in met]
    fact = InJournal(tuple(answers)) if answers else fallback.fact
    return Reason(Rule.HOLD, fact, hold.rule.source, answers[0] if answers else None)


def _together(found: Iterable[Difference]) -> list[Difference]:
    """The differences, those that only the tree tells apart put together."""
    alike: dict[tuple[object, ...], Difference] = {}
    for each in found:
        said = tuple((reason.fact, reason.ends) for reason in each.reasons)
        key = (each.change, each.event, each.before, each.after, each.ppm_before, each.ppm_after, said)
        first = alike.setdefault(key, each)
        if first is not each:
            alike[key] = replace(first, trees=tuple(dict.fromkeys((*first.trees, *each.trees))))
    return list(alike.values())


_OF_FEED = (NotFed, EcRead, RootZone, SolidLaid, NotLaid, SolidLifted, Allowed, Noted)
_NO_CAUSE: Mapping[str, tuple[type, ...]] = {"check": _OF_FEED, "stage": (*_OF_FEED, Fed, Checked)}
"""What in a journal changes no events of a kind; a can poured is water, too."""


class _Causes:
    """What changed between the plans as a whole, for events that name no reason of their own."""

    def __init__(self, before: Side, after: Side) -> None:
        self._before, self._after = before, after
        known = {entry.id for timeline in before.season.timelines for entry in timeline.entries}
        self._fresh = {
            name: [entry for entry in timeline.entries if entry.id not in known]
            for timeline in after.season.timelines
            for name in timeline.names
        }

    def of(self, names: Sequence[str], what: str, by: date = date.max) -> Reason:
        """The likeliest cause of a difference for some trees: their journal, the weather, the files, the day.

        what: the kind of event, as of a Difference. by: its later day; nothing written of a day after it is its cause.
        """
        fresh = (entry for name in names for entry in self._fresh.get(name, ()))
        no_cause = _NO_CAUSE.get(what, (Noted,))
        entries = {e.id: e for e in fresh if e.day <= by and not isinstance(e.fact, no_cause)}
        if entries:
            new = InJournal(tuple(entries.values())[:3], is_new=True)
            return Reason(Rule.STAGE, new, entry=new.entries[0])
        if self._before.collection != self._after.collection:
            return Reason(Rule.PERIOD, FilesDiffer(), self._after.collection.source)
        one, other = self._before.season.climate, self._after.season.climate
        if (one is None) != (other is None) or (one and other and one.days != other.days):
            return Reason(Rule.STAGE, WeatherDiffers())
        return Reason(Rule.PERIOD, TimeWentOn())


@dataclass(frozen=True, slots=True)
class _Dated:
    """An event known by its key alone. why: its own reason."""

    what: str
    event: Event
    group: str
    day: date
    trees: tuple[str, ...]
    why: Statement | None = None


def events_by_key(
    before: Season, after: Season, cause_of: Callable[[Sequence[str], str, date], Reason]
) -> Iterator[Difference]:
    """Events that keep their key: looks, questions, alerts, solid feed, flushes and notes."""
    was, now = _events(before), _events(after)
    for key in sorted(was.keys() | now.keys()):
        one, other = was.get(key), now.get(key)
        change = _change_of(one, other)
        it = other or one
        if change is None or it is None:
            continue
        days = [each.day if each is not None else None for each in (one, other)]
        cause = cause_of(it.trees, it.what, max(day for day in days if day is not None))
        reason = replace(cause, fact=it.why or cause.fact)
        yield Difference(change, it.what, it.event, it.group, it.trees, days[0], days[1], reasons=(reason,))


def _change_of(one: _Dated | None, other: _Dated | None) -> Change | None:
    if one is None or other is None:
        return Change.APPEARED if one is None else Change.WENT
    return Change.MOVED if one.day != other.day else None


def _events(season: Season) -> Mapping[str, _Dated]:
    found: dict[str, _Dated] = {}
    for r in season.reviews:
        group = r.timeline.group_on(r.day)
        found[r.key] = _Dated(
            "look", Event(EventKind.LOOK_AFTER, r.hold.rule.name), group, r.day, r.timeline.names
        )
    for p in season.prompts:
        trees = tuple(name for timeline in p.timelines for name in timeline.names)
        found[p.key] = _Dated("question", Event(EventKind.LOOK_FOR, p.stage), p.group, p.expected, trees)
    for a in season.alerts:
        trees = tuple(name for timeline in a.timelines for name in timeline.names)
        found[a.key] = _Dated("alert", Event(EventKind[a.kind.name]), "", a.start, trees, why=a.fact)
    for f in season.frosts:
        found[f.key] = _Dated(
            "alert", Event(EventKind.BALLS_FROZEN), "", f.start, (), why=FrozenBalls(round(f.lowest_c))
        )
    for s in season.solids:
        trees = tuple(name for timeline in s.timelines for name in timeline.names)
        found[s.key] = _Dated("solid feed", Event(EventKind[s.act.name]), s.group, s.day, trees)
    for flush in season.flushes:
        found[flush.key] = _Dated("flush", Event(EventKind.FLUSH), flush.group, flush.day, ())
    for w in work_prompts(season):
        trees = tuple(tree.name for tree in w.trees)
        found[w.key] = _Dated("note", Event(EventKind.TITLED, w.work), w.group, w.day, trees)
    for n in season.notes:
        found[n.key] = _Dated("note", Event(EventKind.TITLED, n.note.say), "", n.day, ())
    return found
