"""What must hold whenever the plan of a lived year is asked. Each check returns what is wrong as values."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from functools import lru_cache

import yaml

from feedplan.load.folder import shipped_folder
from tests.lived.book import Book, Given
from tests.lived.garden import Written
from tests.lived.told import Event, Told, ToldFeed

SLACK_DAYS = 7
"""How much later than its interval and a half a feed may be before someone must say why."""

NO_REASON = frozenset({"interval"})
"""Rules that only say that a feed is not due: no reason for one that was due yesterday."""


@dataclass(frozen=True, slots=True)
class Violation:
    """One thing that must not be. kind: which; day: when it was found; about: the day it is about."""

    kind: str
    day: date
    tree: str
    text: str
    about: date | str = ""

    @property
    def key(self) -> tuple[object, ...]:
        """What makes two findings the same one, though found on two days."""
        lasting = (HISTORY_INVENTED, HISTORY_MISSED, HISTORY_LOST, HISTORY_STRENGTH, WAITS)
        return (self.kind, self.tree, self.about, None if self.kind in lasting else self.day)


@dataclass(frozen=True, slots=True)
class News:
    """What became known since the plan was asked last."""

    notes: tuple[Written, ...] = ()
    edited: bool = False
    weather: bool = False

    @property
    def none(self) -> bool:
        """Whether nothing did."""
        return not (self.notes or self.edited or self.weather)


@dataclass(frozen=True, slots=True)
class Morning:
    """What is told, what was told before, what became known between, and the book up to then."""

    told: Told
    before: Told | None
    news: News
    book: Book
    _given: dict[str, list[Given]] = field(default_factory=dict)

    @property
    def day(self) -> date:
        """The day it is."""
        return self.told.day

    @property
    def lapsed(self) -> frozenset[str]:
        """The trees whose feed was told yesterday, is not written down, and is not offered any more: it was missed."""
        if self.before is None or self.book.unlogged_given:
            return frozenset()
        offered = {(feed.tree, feed.due) for feed in self.told.today}
        return frozenset(
            f.tree for f in self.before.today if f.day < self.day and (f.tree, f.due) not in offered
        )

    def given(self, tree: str) -> list[Given]:
        """What the plan must count as given to a tree, as far as it can know, in order of day."""
        if tree not in self._given:
            self._given[tree] = sorted(self.book.given(tree, self.day), key=lambda g: g.day)
        return self._given[tree]


TOO_SOON = "told closer than the least gap"
IN_HOLD = "told inside a known hold"
OVER_BUDGET = "told over the budget"
PAST_CHANGED = "past changed: a feed"
MIX_CHANGED = "past changed: a calendar event"
FEED_MOVED = "nothing new: a feed's day or dose changed"
EVENT_MOVED = "nothing new: a calendar event changed"
NO_WORD = "withheld without a reason"
HISTORY_INVENTED = "history: given, yet never told nor written"
HISTORY_MISSED = "history: missed, yet never told"
HISTORY_LOST = "history: told or written, yet not there"
HISTORY_STRENGTH = "history: another strength"
WAITS = "kept waiting without a reason"


def told_too_soon(morning: Morning) -> Iterator[Violation]:
    """No two feeds really poured closer than the least gap, as far as pours could be known.

    Where a tree comes from one period or group into another, the smaller of their gaps counts.
    """
    for feed in morning.told.today:
        gap = morning.told.care[feed.tree].least_gap_days
        last = max((g.day for g in morning.given(feed.tree)), default=None)
        before = morning.book.last_told(feed.tree)
        if gap is not None and before is not None:
            gap = min(gap, before.least_gap_days)
        if gap is not None and last is not None and (morning.day - last).days < gap:
            days = (morning.day - last).days
            yield _violation(
                TOO_SOON, morning, feed.tree, f"poured {last}, told again after {days} of {gap} days"
            )


def told_in_hold(morning: Morning) -> Iterator[Violation]:
    """No feed told within the least days of a hold whose cause was written, nor before anything was seen since."""
    known = morning.book.known() if morning.told.today else []
    for feed in morning.told.today:
        about = [note for note in known if feed.tree in note.about]
        for note in about:
            rule = _least_hold(note)
            if rule is None:
                continue
            days, needs_sign = rule
            what = f"{note.says.get('work') or note.says.get('trouble')} on {note.day}"
            seen = any("seen" in n.says and n.day > note.day for n in about)
            if (morning.day - note.day).days < days:
                yield _violation(IN_HOLD, morning, feed.tree, f"{what}, held for {days} days at least")
            elif needs_sign and not seen:
                yield _violation(IN_HOLD, morning, feed.tree, f"{what}, and nothing seen since")


def told_over_budget(morning: Morning) -> Iterator[Violation]:
    """What was given, as far as it could be known, with today's feed stays within the season's budget."""
    share = morning.told.share
    for feed in morning.told.today:
        care = morning.told.care[feed.tree]
        had = sum(((g.ppm or Decimal(0)) * share for g in morning.given(feed.tree)), Decimal(0))
        would_be = had + feed.ppm * share + care.solids
        if would_be > care.budget:
            text = f"{had:.1f} given, {care.solids:.1f} solid, {feed.ppm * share:.1f} told, of {care.budget:.0f} mg N/L"
            yield _violation(OVER_BUDGET, morning, feed.tree, text)


def past_changed(morning: Morning) -> Iterator[Violation]:
    """What counts as given is as it was yesterday, but for a feed that an entry written since is about."""
    before = morning.before
    if before is None:
        return
    for tree in set(before.past) | set(morning.told.past):
        touched = set(_days_touched(morning, tree))
        old = {p.day: p.ppm for p in before.past.get(tree, ()) if p.given}
        new = {p.day: p.ppm for p in morning.told.past.get(tree, ()) if p.given and p.day < before.day}
        for day in sorted((old.keys() | new.keys()) - touched):
            if old.get(day) != new.get(day):
                text = f"{day}: {_ppm_words(old.get(day))} given, now {_ppm_words(new.get(day))}"
                yield _violation(PAST_CHANGED, morning, tree, text, about=day)


def mixes_changed(morning: Morning) -> Iterator[Violation]:
    """A mix of a day that is past stays in the calendar as it was, but for one that an entry written since is about."""
    before = morning.before
    if before is None:
        return
    old = {**before.mixed, **_mixed_yesterday(morning)}
    for key in sorted(old.keys() | morning.told.mixed.keys() - before.events.keys()):
        was, now = old.get(key), morning.told.mixed.get(key)
        # A mix of two trees becomes two when an entry is about one of them, and two of a day become one.
        mixed_with = [e for e in old.values() if now and e[0] == now[0] and _trees_of(e) & _trees_of(now)]
        if was is not None and now is None:
            told = morning.told.mixed.values()
            mixed_with += [e for e in told if e[0] == was[0] and _trees_of(was) <= _trees_of(e)]
        names = _trees_of(was) | _trees_of(now) | frozenset().union(*map(_trees_of, mixed_with))
        if was != now and not any(set(_days_touched(morning, name)) for name in names):
            text = f"{key}: {_event_words(was)}, now {_event_words(now)}"
            yield _violation(MIX_CHANGED, morning, ", ".join(sorted(names)), text, about=key)


def feeds_moved(morning: Morning) -> Iterator[Violation]:
    """With nothing new known, each feed to come keeps its day and its dose.

    One overdue may be told again today; a feed settled as missed is news to the budget of its tree.
    """
    before = morning.before
    if before is None or not morning.news.none:
        return
    for tree in set(morning.told.trees) - morning.lapsed:
        old = {f.day: f.ppm for f in before.ahead.get(tree, ()) if f.day >= morning.day}
        told_before = before.fed_today(tree)
        again = {told_before.due} if told_before is not None else set()
        new = {
            f.day: f.ppm for f in _from_today(morning.told, tree) if f.day > morning.day or f.due not in again
        }
        for day in sorted(old.keys() | new.keys()):
            if old.get(day) != new.get(day):
                text = f"{day}: {_ppm_words(old.get(day))}, now {_ppm_words(new.get(day))}"
                yield _violation(FEED_MOVED, morning, tree, text, about=day)


def events_moved(morning: Morning) -> Iterator[Violation]:
    """With nothing new known, every event of the calendar stays as it is, and so does its identity."""
    before = morning.before
    if before is None or not morning.news.none:
        return
    overdue = {feed.tree for feed in morning.told.today if feed.due < morning.day}
    for key in sorted(before.events.keys() | morning.told.events.keys()):
        old, new = before.events.get(key), morning.told.events.get(key)
        is_over = new is None and _is_over(old, morning.day)
        if old == new or is_over or _comes_again(key, old, new, morning.day):
            continue
        if key.startswith("feed/") and (_trees_of(old) | _trees_of(new)) & morning.lapsed:
            continue
        if key.startswith("feed/") and _trees_of(old) | _trees_of(new) <= overdue:
            continue  # offered again, by itself now or beside another
        if old is None and new is not None and _as_beside_lapsed(new, before, morning.lapsed):
            continue  # told what it was, without the one whose strength fell
        if new is None and old is not None and _as_beside_lapsed(old, morning.told, morning.lapsed):
            continue
        if key.startswith("solid/") and _was_beside(new, before):
            continue
        text = f"{key}: {_event_words(old)}, now {_event_words(new)}"
        yield _violation(EVENT_MOVED, morning, key.partition("/")[0], text, about=key)


def withheld_without_reason(morning: Morning) -> Iterator[Violation]:
    """A tree that yesterday's plan feeds today and today's does not, or that stands beside one fed, is told why."""
    before = morning.before
    for tree, reasons in morning.told.withheld.items():
        if not reasons or not all(why.text for why in reasons):
            yield _violation(NO_WORD, morning, tree, "not fed, and no reason given")
        elif (
            before is not None
            and morning.news.none
            and _was_due(before, tree, morning.day)
            and {why.rule for why in reasons} <= NO_REASON
        ):
            text = f"due today by yesterday's plan, now only: {reasons[0].text}"
            yield _violation(NO_WORD, morning, tree, text)


def history_differs(morning: Morning) -> Iterator[Violation]:
    """What the plan counts as given is what was told and settled, or written: no more, no less, at that strength."""
    for tree in morning.told.trees:
        lived = {g.day: g for g in morning.given(tree) if g.day < morning.day}
        counted = {p.day: p.ppm for p in morning.told.past.get(tree, ()) if p.given}
        for day in sorted(counted.keys() - lived.keys()):
            text = f"{day} counts as given at {_ppm_words(counted[day])}"
            yield _violation(HISTORY_INVENTED, morning, tree, text, about=day)
        tellings = {t.day for t in morning.book.tellings.get(tree, ())}
        for past in morning.told.past.get(tree, ()):
            if not past.given and past.day not in tellings:
                yield _violation(
                    HISTORY_MISSED, morning, tree, f"{past.day} counts as missed", about=past.day
                )
        for day in sorted(lived.keys() - counted.keys()):
            told = f"told {lived[day].told}" if lived[day].told else "never told"
            text = f"{day} was given at {_ppm_words(lived[day].ppm)}, {told}"
            yield _violation(HISTORY_LOST, morning, tree, text, about=day)
        for day in sorted(lived.keys() & counted.keys()):
            ppm = lived[day].ppm
            if ppm is not None and abs(ppm - counted[day]) > Decimal("0.5"):
                text = f"{day} was given at {_ppm_words(ppm)}, counts as {_ppm_words(counted[day])}"
                yield _violation(HISTORY_STRENGTH, morning, tree, text, about=day)


def kept_waiting(morning: Morning) -> Iterator[Violation]:
    """A tree in an open period is not left without feed long past its interval when nothing is said to hold it."""
    for tree, reasons in morning.told.withheld.items():
        every = morning.told.care[tree].every_days if tree in morning.told.care else None
        before = morning.book.last_told(tree)
        told = [before.last] if before is not None else []
        last = max([*told, *(g.day for g in morning.given(tree))], default=None)
        if every is None or last is None or {why.rule for why in reasons} - NO_REASON:
            continue
        days = (morning.day - last).days
        if days > every * 3 // 2 + SLACK_DAYS:
            text = f"last told or given {last}, {days} days ago, every {every} days; only: "
            text += "; ".join(why.text for why in reasons)
            yield _violation(WAITS, morning, tree, text, about=last)


EVERY_MORNING: tuple[Callable[[Morning], Iterator[Violation]], ...] = (
    told_too_soon,
    told_in_hold,
    told_over_budget,
    past_changed,
    mixes_changed,
    feeds_moved,
    events_moved,
    withheld_without_reason,
    history_differs,
    kept_waiting,
)
KINDS = (
    TOO_SOON,
    IN_HOLD,
    OVER_BUDGET,
    PAST_CHANGED,
    MIX_CHANGED,
    FEED_MOVED,
    EVENT_MOVED,
    NO_WORD,
    HISTORY_INVENTED,
    HISTORY_MISSED,
    HISTORY_LOST,
    HISTORY_STRENGTH,
    WAITS,
)
"""Every kind of violation, in the order in which a report lists them."""


def _violation(kind: str, morning: Morning, tree: str, text: str, about: date | str = "") -> Violation:
    return Violation(kind, morning.day, tree, text, about)


def _from_today(told: Told, tree: str) -> list[ToldFeed]:
    today = told.fed_today(tree)
    return [*([today] if today is not None else []), *told.ahead.get(tree, ())]


def _was_due(before: Told, tree: str, day: date) -> bool:
    return any(feed.day == day for feed in _from_today(before, tree))


def _days_touched(morning: Morning, tree: str) -> Iterator[date]:
    """The days whose feed an entry written since yesterday is about: its own, and that of the telling it answers."""
    for note in morning.news.notes:
        about = morning.book.notes.get(note.undoes, note) if note.undoes else note
        if tree in about.about and about.is_of_feed:
            yield about.day
            yield from (t.day for t in morning.book.tellings.get(tree, ()) if about in t.answers)


def _least_hold(note: Written) -> tuple[int, bool] | None:
    """How long an entry's hold stops liquid feed at least [days], and whether it waits for a sign."""
    cause = note.says.get("work") or note.says.get("trouble")
    share = str(note.says.get("roots", ""))
    roots = int(share.split(maxsplit=1)[0]) / 100 if share else None
    return _shipped_holds(str(cause), roots) if cause else None


@lru_cache(maxsize=64)
def _shipped_holds(cause: str, roots: float | None) -> tuple[int, bool] | None:
    """From the shipped rules as they are written, not as feedplan reads them."""
    text = (shipped_folder() / "holds.yaml").read_text(encoding="utf-8")
    rules = [r for r in yaml.safe_load(text)["holds"].values() if cause in (r.get("work"), r.get("trouble"))]
    rules = [r for r in rules if {"liquid feed", "all feed"} & set(r["stops"])]
    if roots is not None:
        rules = [r for r in rules if _share(r, "roots_from", 0.0) <= roots < _share(r, "roots_below", 1.01)]
    if not rules:
        return None
    return min(int(r["at_least"].split()[0]) for r in rules), all(r.get("until_seen") for r in rules)


def _share(rule: dict[str, str], key: str, otherwise: float) -> float:
    return int(rule[key].split()[0]) / 100 if key in rule else otherwise


def _is_over(event: Event | None, today: date) -> bool:
    """Whether an event's days lie before today, so that it is past and no longer listed."""
    days = [part for part in event or () if isinstance(part, date)]
    return bool(days) and max(days) < today


def _mixed_yesterday(morning: Morning) -> dict[str, Event]:
    """The mixes of yesterday that are taken as given, but for those of overdue feeds."""
    before = morning.before
    if before is None or before.day == morning.day or not morning.book.unlogged_given:
        return {}
    told = [morning.book.tellings[feed.tree][-1] for feed in before.today]
    overdue = {telling.tree for telling in told if telling.day < before.day}
    overdue |= {feed.tree for feed in morning.told.today if feed.due < morning.day}
    mixes = {
        key: event
        for key, event in before.events.items()
        if key.startswith("feed/") and event[0] == before.day
    }
    return {key: event for key, event in mixes.items() if not _trees_of(event) & overdue}


def _trees_of(event: Event | None) -> frozenset[str]:
    """The trees of a mix."""
    names = event[-1] if event else ()
    return frozenset(names) if isinstance(names, tuple) else frozenset()


def _comes_again(key: str, old: Event | None, new: Event | None, today: date) -> bool:
    """Whether what was for a day that is over is told again: a look, a question, or something overdue."""
    was, now = (event[0] if event else None for event in (old, new))
    if not isinstance(was, date) or was >= today:
        return False
    is_put_again = key.startswith(("look/", "question/"))
    return is_put_again or (key.startswith(("feed/", "solid/")) and now == today)


def _was_beside(event: Event | None, before: Told) -> bool:
    """Whether a solid feed due today was due for its trees yesterday too, beside others that were seen to since."""
    return event is not None and any(
        key.startswith("solid/") and was[0] == before.day and _trees_of(event) < _trees_of(was)
        for key, was in before.events.items()
    )


def _as_beside_lapsed(mix: Event, told: Told, lapsed: frozenset[str]) -> bool:
    """Whether a plan tells the trees of a mix the same feed that day, in one mix with a tree whose feed lapsed."""
    trees = _trees_of(mix)
    return any(
        mix[:3] == other[:3] and trees < _trees_of(other) and _trees_of(other) - trees <= lapsed
        for key, other in told.events.items()
        if key.startswith("feed/")
    )


def _ppm_words(ppm: Decimal | None) -> str:
    return "nothing" if ppm is None else f"{ppm:.0f} ppm"


def _event_words(event: Event | None) -> str:
    return "nothing" if event is None else " ".join(str(part) for part in event[:3])
