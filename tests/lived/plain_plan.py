"""A plan so plain that it keeps its word: 100 ppm every ten days in summer, and a memory of what it told.

It stands in for feedplan when the checks themselves are tested. It shares no code with feedplan or with the book.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Set
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal

from tests.lived.asking import History
from tests.lived.garden import DAY, Garden, Written
from tests.lived.told import Awaited, Care, PastFeed, Told, ToldFeed, Why

EVERY, GAP = timedelta(days=10), timedelta(days=7)
PPM, SHARE, BUDGET = Decimal(100), Decimal("0.1"), Decimal(150)
HELD = timedelta(days=60)
FROM, TO = (5, 1), (9, 30)


@dataclass(frozen=True, slots=True)
class Said:
    """One feed as it was told first. ppm: [mg N/L]."""

    day: date
    due: date
    ppm: Decimal = PPM


Memory = Mapping[str, tuple[Said, ...]]
"""What was told to each tree so far."""


def asks_plainly(
    garden: Garden, day: date, history: History = None, expected: Set[str] = frozenset()
) -> tuple[Told, History]:
    """The plain plan of a morning, and what it remembers for the next."""
    memory: Memory = history or {}
    files = garden.files
    unlogged = files["habits"]["unlogged_feeds"]
    names = [row["name"] for row in files["trees"]]
    trees = {name: _Tree(garden, name, day, memory.get(name, ()), unlogged) for name in names}
    today = {name: feed for name, tree in trees.items() if (feed := tree.today())}
    told = Told(
        day=day,
        today=tuple(today.values()),
        past={name: tuple(tree.past()) for name, tree in trees.items()},
        ahead={name: tuple(tree.ahead()) for name, tree in trees.items()},
        events={
            f"feed/{f.tree}/{f.due}": (f.day, f.ppm, (f.tree,)) for t in trees.values() for f in t.to_come
        },
        mixed={
            f"feed/{n}/{s.due}": (s.day, s.ppm, (n,)) for n, t in trees.items() for s in t.said if s.day < day
        },
        care={name: tree.care() for name, tree in trees.items()},
        withheld={name: (tree.why(),) for name, tree in trees.items() if name not in today},
        awaited=tuple(awaited for tree in trees.values() for awaited in tree.awaits()),
        stages={name: {} for name in trees},
        share=SHARE,
    )
    return told, {name: tree.remembered(today.get(name)) for name, tree in trees.items()}


class _Tree:
    """One tree on one morning."""

    def __init__(self, garden: Garden, name: str, day: date, said: tuple[Said, ...], unlogged: str) -> None:
        self.name, self.day = name, day
        # What was told earlier this same day and has not been poured yet may be told otherwise now.
        self.said = tuple(s for s in said if s.day < day)
        gone = {note.undoes for note in garden.journal}
        self.notes = [n for n in garden.journal if name in n.about and n.id not in gone and not n.undoes]
        self.takes_given = unlogged == "given"
        self.given = self._given()
        self.to_come = self._to_come()

    def _given(self) -> dict[date, Decimal]:
        """Every feed that counts."""
        fed = [note for note in self.notes if note.is_of_feed]
        found: dict[date, Decimal] = {}
        for said in self.said:
            answers = [
                n for n in fed if said.day <= n.day <= max(said.day, self._last_offered(said)) + 3 * DAY
            ]
            if answers:
                fed.remove(answers[0])
                if not answers[0].is_of_none_given:
                    found[answers[0].day] = _ppm(answers[0], said.ppm)
            elif self.takes_given:
                found[said.day] = said.ppm
        return found | {note.day: _ppm(note, PPM) for note in fed if not note.is_of_none_given}

    def _last_offered(self, said: Said) -> date:
        """The last day on which a feed was still offered: until the next one was due."""
        return said.day if self.takes_given else said.due + EVERY - DAY

    def past(self) -> Iterator[PastFeed]:
        given = {day: ppm for day, ppm in self.given.items() if day < self.day}
        yield from (PastFeed(day, ppm, "powder", True) for day, ppm in sorted(given.items()))

    def _due(self) -> date:
        """When the next feed is due: an interval after the last given, or after the day the last missed one was due."""
        from_given = [day + EVERY for day in self.given]
        from_missed = [said.due + EVERY for said in self.said]
        start = date(self.day.year, *FROM)
        return max([start, *from_given, *from_missed])

    def _hold(self) -> tuple[date, date | None] | None:
        """The first day held and the first day free again, None while nothing was seen since."""
        causes = [note.day for note in self.notes if "work" in note.says or "trouble" in note.says]
        if not causes:
            return None
        seen = [note for note in self.notes if "seen" in note.says and note.day > max(causes)]
        free = max(max(causes) + HELD, *(note.written for note in seen)) if seen else None
        return min(causes), free

    def _from(self) -> date | None:
        """The first day from today on that nothing stands in the way of."""
        hold = self._hold()
        last = max(self.given, default=None)
        free = None if hold is None else hold[1]
        if hold is not None and free is None:
            return None
        return max([self.day, *([free] if free else []), *([last + GAP] if last else [])])

    def _to_come(self) -> list[ToldFeed]:
        """Today's feed, and those after it."""
        first = self._from()
        if first is None:
            return []
        due, used, found = self._due(), self._used(), list[ToldFeed]()
        overdue = self._overdue()
        if overdue is not None and first == self.day < due and used + PPM * SHARE <= BUDGET:
            found.append(ToldFeed(self.name, self.day, overdue, PPM, "powder"))
            used += PPM * SHARE
        day = max(due, first)
        while day <= date(self.day.year, *TO) and used + PPM * SHARE <= BUDGET:
            found.append(ToldFeed(self.name, day, day, PPM, "powder"))
            used += PPM * SHARE
            day += EVERY
        return found

    def _overdue(self) -> date | None:
        """The day on which a feed was due that nobody wrote down."""
        if self.takes_given or not self.said:
            return None
        last = self.said[-1]
        return None if any(day >= last.day for day in self.given) else last.due

    def today(self) -> ToldFeed | None:
        return next((feed for feed in self.to_come if feed.day == self.day), None)

    def ahead(self) -> list[ToldFeed]:
        return [feed for feed in self.to_come if feed.day > self.day]

    def _used(self) -> Decimal:
        return sum((ppm * SHARE for ppm in self.given.values()), Decimal(0))

    def care(self) -> Care:
        is_open = FROM <= (self.day.month, self.day.day) <= TO
        every, gap = (EVERY.days, GAP.days) if is_open else (None, None)
        return Care("all", every, gap, BUDGET, Decimal(0), self._used())

    def why(self) -> Why:
        hold = self._hold()
        if hold is not None and (hold[1] is None or hold[1] > self.day):
            return Why("hold", f"held since {hold[0]}")
        if self._used() + PPM * SHARE > BUDGET:
            return Why("budget", "the budget is used up")
        return Why("interval", f"next due {self._due()}")

    def awaits(self) -> Iterator[Awaited]:
        hold = self._hold()
        if hold is not None and hold[1] is None:
            yield Awaited(self.name, hold[0], "extension")

    def remembered(self, feed: ToldFeed | None) -> tuple[Said, ...]:
        """What was said so far, with a feed told today unless it is one told again."""
        is_again = feed is None or any(said.due == feed.due for said in self.said)
        return self.said if is_again or feed is None else (*self.said, Said(feed.day, feed.due))


def _ppm(note: Written, as_planned: Decimal) -> Decimal:
    words = str(note.says["fed"]).split(maxsplit=1)
    return Decimal(words[0]) if words[0].isdigit() else as_planned


def shifted(told: Told, days: int) -> Told:
    """The same plan with every feed to come so many days later."""
    later = {
        tree: tuple(replace(feed, day=feed.day + days * DAY) for feed in feeds)
        for tree, feeds in told.ahead.items()
    }
    return replace(told, ahead=later)
