"""Events that keep their key from plan to plan, compared by it: checks, looks, questions, alerts, solids, notes."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from feedplan.engine.answers.differences import Change, Difference, Event, EventKind
from feedplan.engine.season import Season
from feedplan.model.alert import FrozenBalls
from feedplan.model.reason import Reason
from feedplan.model.statement import Statement

_LOOKS_OF_A_DAY = (EventKind.FIRST_CHECK, EventKind.SECOND_CHECK, EventKind.THIRD_CHECK)


@dataclass(frozen=True, slots=True)
class _Dated:
    """An event known by its key alone. grade: what may grow or shrink; why: its own reason."""

    what: str
    event: Event
    group: str
    day: date
    trees: tuple[str, ...]
    grade: Decimal = Decimal(0)
    why: Statement | None = None


def events_by_key(
    before: Season, after: Season, cause_of: Callable[[Sequence[str]], Reason]
) -> Iterator[Difference]:
    """Events that keep their key: water checks, looks, questions, alerts, solid feed, flushes and notes."""
    was, now = _events(before), _events(after)
    for key in sorted(was.keys() | now.keys()):
        one, other = was.get(key), now.get(key)
        change = _change_of(one, other)
        it = other or one
        if change is None or it is None:
            continue
        cause = cause_of(it.trees)
        reason = replace(cause, fact=it.why or cause.fact)
        days = [each.day if each is not None else None for each in (one, other)]
        yield Difference(change, it.what, it.event, it.group, it.trees, days[0], days[1], reasons=(reason,))


def _change_of(one: _Dated | None, other: _Dated | None) -> Change | None:
    if one is None or other is None:
        return Change.APPEARED if one is None else Change.WENT
    if one.day != other.day:
        return Change.MOVED
    if one.grade != other.grade:
        return Change.WEAKENED if other.grade < one.grade else Change.STRENGTHENED
    return None


def _events(season: Season) -> Mapping[str, _Dated]:
    found: dict[str, _Dated] = {}
    for c in season.checks:
        trees = tuple(tree.name for tree in c.trees)
        grade = Decimal(len(c.weekdays) * sum(tree.count for tree in c.trees))
        found[c.key] = _Dated("check", Event(_LOOKS_OF_A_DAY[c.look]), c.group, c.start, trees, grade)
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
    for n in season.notes:
        found[n.key] = _Dated("note", Event(EventKind.TITLED, n.note.say), "", n.day, ())
    return found
