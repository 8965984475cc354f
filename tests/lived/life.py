"""One year lived. Each day has an order of its own.

The plan is asked in the morning. The grower looks about, works, edits the files and writes of it; whoever wrote asks
the plan again, and goes by its last word of that day. Then they feed, and in the evening write of the feeds.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from decimal import Decimal
from random import Random
from typing import Any

from feedplan.model.climate import Climate, Normals
from tests.lived.asking import Asks, History, asks
from tests.lived.book import Book, Pour
from tests.lived.checks import EVERY_MORNING, Morning, News, Violation
from tests.lived.deeds import do
from tests.lived.garden import DAY, NOT_FED, Garden, Written
from tests.lived.growers import Deed, Grower
from tests.lived.nature import Nature, Sky, outages
from tests.lived.told import Told, ToldFeed

Script = Mapping[int, tuple[Deed, ...]]
"""Deeds by the number of their day, in place of those drawn by lot."""


@dataclass(slots=True)
class Life:
    """What came of one lived year. diary: what was done that was not told, one line each."""

    violations: list[Violation] = field(default_factory=list)
    diary: list[str] = field(default_factory=list)
    asked: int = 0
    pours: int = 0


def live(
    garden: Garden,
    grower: Grower,
    seed: int,
    *,
    normals: Normals | None = None,
    script: Script | None = None,
    ask: Asks = asks,
    coming: tuple[Written, ...] = (),
) -> Life:
    """Lives a garden's days as a grower would. The same arguments give the same year.

    normals: what the weather is drawn around, for a grower with a record. script: the deeds to do, in place of
    those of the grower's own lot. coming: entries that will be written on their own days besides.
    """
    year = _Year(garden, grower, f"{garden.name} {grower.name} {seed}", normals, script)
    year.will_write(coming)
    history: History = None
    for number, day in enumerate(garden.days()):
        year.wake(day)
        told, history = ask(year.garden, day, history, year.expected(day))
        year.weigh(told)
        if year.look_about(told, number):
            told, history = ask(year.garden, day, history, year.expected(day))
            year.weigh(told)
        year.feed(told)
    return year.life


class _Year:
    """The state of a year being lived: the garden, the book, and what is still to be written."""

    def __init__(
        self, garden: Garden, grower: Grower, seed: str, normals: Normals | None, script: Script | None
    ) -> None:
        self.garden = garden.edited(lambda files: _set_habit(files, grower.unlogged))
        self.grower, self.seed, self.script = grower, seed, script
        self.book = Book(unlogged_given=grower.unlogged == "given")
        self.nature = Nature(seed)
        self.sky = _sky(garden, grower, seed, normals)
        self.seen: Climate | None = None
        self.life = Life()
        self.to_write: list[Written] = []
        self.news = News()
        self.before: Told | None = None
        self.found: set[tuple[object, ...]] = set()
        self.count = 0

    def will_write(self, coming: tuple[Written, ...]) -> None:
        """Entries to be written on their days; those of before the first day are in the journal already."""
        early = tuple(note for note in coming if note.written < self.garden.first)
        self.to_write += [note for note in coming if note.written >= self.garden.first]
        self.garden = self.garden.with_notes(early)
        for note in early:
            self.book.note(note)

    def expected(self, day: date) -> frozenset[str]:
        """The trees that are fed today by what was told last."""
        if self.before is None:
            return frozenset()
        ahead = (feed for feeds in self.before.ahead.values() for feed in feeds[:1])
        return frozenset(feed.tree for feed in (*self.before.today, *ahead) if feed.day == day)

    def wake(self, day: date) -> None:
        """The morning: what was written yesterday is known, and the weather record as it came."""
        if self.sky is not None:
            self.garden = replace(self.garden, sky=self.sky.known(day))
        seen = None if self.garden.sky is None else self.garden.sky.as_of(day)
        self.news = replace(self.news, weather=not _same_weather(self.seen, seen))
        self.seen = seen

    def weigh(self, told: Told) -> None:
        """Hold what is told against the book and against what was told before."""
        life = self.life
        morning = Morning(told, self.before, self.news, self.book)
        for check in EVERY_MORNING:
            for violation in check(morning):
                if violation.key not in self.found:
                    self.found.add(violation.key)
                    life.violations.append(violation)
        self.before, self.news = told, News()
        life.asked += 1

    def look_about(self, told: Told, number: int) -> bool:
        """See what there is to see, do what else there is, and write of it. True when the plan has news to take in."""
        chance = Random(f"{self.seed} {told.day} about")
        for tree, stage in self.nature.stages_come(told):
            self._perhaps_write(told.day, {"tree": tree, "seen": stage}, chance)
        for sign in self.nature.signs_show(told):
            self._perhaps_write(told.day, {"tree": sign.tree, "seen": sign.sign}, chance)
        deeds = self.grower.deeds_of(chance) if self.script is None else self.script.get(number, ())
        for deed, lot in deeds:
            self._do(deed, lot, told, chance)
        self._write_up(told)
        return not self.news.none

    def feed(self, told: Told) -> None:
        """Write down what is told, feed, and write of it in the evening."""
        chance = Random(f"{self.seed} {told.day} feed")
        self.book.hear(told)
        for feed in told.today:
            self._feed(feed, told, chance)
        self._write_up(told)

    def _feed(self, feed: ToldFeed, told: Told, chance: Random) -> None:
        """Pour what is told, or not, or otherwise; a feed that is in the book already is not poured again."""
        telling = self.book.telling(feed)
        if self.book.was_poured_since(feed.tree, telling.day):
            return
        if chance.random() >= self.grower.pours:
            if NOT_FED is not None:
                self._perhaps_write(told.day, {"tree": feed.tree, **NOT_FED}, chance)
            return
        day, says = told.day, {"tree": feed.tree, "fed": "as planned"}
        ppm = feed.ppm
        if chance.random() < self.grower.otherwise:
            if chance.random() < 0.5:
                day += DAY
            else:
                ppm = (feed.ppm * chance.choice([Decimal("0.7"), Decimal("1.3")])).quantize(Decimal(1))
                says["fed"] = f"{ppm} ppm N"
        self._pour(Pour(feed.tree, day, ppm))
        self._perhaps_write(day, says, chance)

    def _pour(self, pour: Pour) -> None:
        self.book.pour(pour)
        self.life.pours += 1

    def _do(self, deed: str, lot: int, told: Told, chance: Random) -> None:
        done = do(deed, lot, self.garden, told)
        if not done.words or (deed == "neighbour" and self._is_fresh(str((done.says or {})["tree"]), told)):
            return
        self.life.diary.append(f"{told.day} {done.words}")
        if done.garden is not self.garden:
            self.garden, self.news = done.garden, replace(self.news, edited=True)
        if done.says is not None:
            if deed == "neighbour":
                self._pour(
                    Pour(done.says["tree"], told.day, Decimal(done.says["fed"].split()[0]), told=False)
                )
            # What is done without a word cannot be known, so that nothing is done that will not be written.
            self._write(done.day or told.day, done.says, chance, known=told.day)

    def _is_fresh(self, tree: str, told: Told) -> bool:
        """Whether a tree is told a feed these days, so that an entry of another would be taken for its answer."""
        days = [telling.last for telling in self.book.tellings.get(tree, ())]
        days += [feed.day for feed in (*told.today, *told.ahead.get(tree, ())) if feed.tree == tree]
        return any(abs((told.day - day).days) < 7 for day in days)

    def _perhaps_write(self, day: date, says: Mapping[str, Any], chance: Random) -> None:
        if chance.random() < self.grower.writes:
            self._write(day, says, chance)

    def _write(self, day: date, says: Mapping[str, Any], chance: Random, known: date | None = None) -> None:
        """Put an entry down to be written on its day; moves, losses and what takes another back at once.

        known: the day it can be written from, its own where None.
        """
        at_once = "undo" in says or "moved" in says or "gone" in says
        late = 0 if at_once else chance.randint(*self.grower.late)
        self.count += 1
        about = frozenset({says["tree"]} if "tree" in says else ())
        self.to_write.append(
            Written(f"n{self.count}", day, (known or day) + timedelta(days=late), says, about)
        )

    def _write_up(self, told: Told) -> None:
        """Everything whose time has come goes into the journal and the book."""
        due = [note for note in self.to_write if note.written <= told.day]
        self.to_write = [note for note in self.to_write if note.written > told.day]
        notes = tuple(replace(n, about=n.about or _about(n, told, self.garden)) for n in due)
        self.garden = self.garden.with_notes(notes)
        for note in notes:
            self.book.note(note)
        self.news = replace(self.news, notes=self.news.notes + notes)


def _about(note: Written, told: Told, garden: Garden) -> frozenset[str]:
    """The trees that an entry about several speaks of."""
    says = note.says
    named = frozenset(says.get("trees", ()))
    if "group" in says:
        named = frozenset(name for name, care in told.care.items() if care.group == says["group"])
    elif "species" in says:
        rows = garden.files["trees"]
        named = frozenset(row["name"] for row in rows if says["species"].lower() in row["species"].lower())
    elif says.get("everything"):
        named = frozenset(told.trees)
    left_out = says.get("but_not", ())
    return named - frozenset([left_out] if isinstance(left_out, str) else left_out)


def _same_weather(before: Climate | None, now: Climate | None) -> bool:
    """Whether a morning knows no more of the weather than the one before, nor finds the record grown too old."""
    if before is None or now is None:
        return before is now
    return before.days == now.days and before.is_stale == now.is_stale


def _set_habit(files: dict[str, Any], unlogged: str) -> None:
    files.setdefault("habits", {})["unlogged_feeds"] = unlogged


def _sky(garden: Garden, grower: Grower, seed: str, normals: Normals | None) -> Sky | None:
    if not grower.has_sky or normals is None:
        return None
    fails = outages(seed, len(garden.days())) if grower.sky_fails else frozenset()
    return Sky(seed, normals, garden.first, fails)
