"""The year book as a page to print, as a table for a spreadsheet, and as facts for `--json`.

The page is the year as a picture, then what was told and done, tree by tree; table and facts have the same events.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import groupby
from textwrap import wrap
from typing import Any

from feedplan.engine.answers.year_book import Brought, HeldFor, TreeYear, YearBook
from feedplan.engine.season import Season
from feedplan.export.season_text import KEY, picture_lines, season_words
from feedplan.model.course import FeedEvent, Solid, StageDate, Stay
from feedplan.model.history import Outcome
from feedplan.model.hold import CauseKind
from feedplan.model.journal import Caused, Entry, Gone, Seen
from feedplan.model.moment import Hemisphere
from feedplan.words.entries import happened_words
from feedplan.words.feeds import details_words
from feedplan.words.language import say, say_count
from feedplan.words.reasons import hold_words, signs_words
from feedplan.words.writing import day_month, full_day, number, tree_words, whole_ppm

WIDTH = 80
_INDENT = " " * 11
_UNBROKEN = "\u00a0"
_MARKS = {
    Outcome.ASKED: ">",
    Outcome.GIVEN: "",
    Outcome.OTHERWISE: "*",
    Outcome.NOT_GIVEN: "x",
    Outcome.TAKEN: "?",
    Outcome.MISSED: "!",
}
COLUMNS = (
    "tree", "species", "event", "date", "end", "what", "outcome", "days", "roots_percent", "product", "ppm_n",
    "n_mg_per_l_of_pot", "budget_n_mg_per_l_of_pot", "every_years", "due",
)  # fmt: skip
"""The columns, in an order that stays. The guide tells what each holds."""


def year_book_lines(book: YearBook, planned: Season) -> Iterator[str]:
    """The page: the picture, the trees by place, those alike told once, and what the next year asks for.

    planned: the plan the book was made from.
    """
    place = planned.collection.place
    page = _Page(book, place.hemisphere)
    yield say("{place}, year book {year}", place=place.name, year=page.called(book.season))
    yield say("{first} to {last}", first=full_day(book.first), last=full_day(book.told_to))
    yield from ("", *picture_lines(planned, planned.collection, book.season, book.told_to))
    yield from _parted(say(KEY).split("   "), "   ")
    yield ""
    for where, trees in groupby(book.trees, key=lambda tree: tree.place):
        yield from (where, "-" * len(where))
        for (species, rows), alike in groupby(trees, key=lambda t: (t.tree.species, tuple(page.rows(t)))):
            names = ", ".join(tree_words(tree.tree) for tree in alike)
            yield from wrap(say("{trees}: {species}", trees=names, species=species), WIDTH)
            for label, text in rows:
                yield from _row(label, text)
            yield ""
    yield from page.summary()
    yield say("Feeds: day and ppm N as given; N: mg per L of pot.")
    marks = ("? nothing written, taken as given", "! missed", "x not given", "* given otherwise")
    yield from _parted([say(mark) for mark in (*marks, "& not told", "> not answered yet")], "   ")


@dataclass(frozen=True, slots=True)
class _Page:
    """What all rows share: the book's year, in which a day needs no year of its own."""

    book: YearBook
    hemisphere: Hemisphere

    def called(self, season: int) -> str:
        return season_words(season, self.hemisphere)

    def day(self, day: date) -> str:
        read_on = day if self.book.first <= day <= self.book.last else date.min
        return day_month(day, read_on).replace(" ", _UNBROKEN)

    def rows(self, tree: TreeYear) -> Iterator[tuple[str, str]]:
        """The labelled rows of one tree; an empty text has no row."""
        work = [e for e in tree.happened if _kind(e) is CauseKind.WORK]
        coming = [e for e in tree.happened if isinstance(e.fact, Gone) or _kind(e) is CauseKind.ARRIVED]
        damage = [e for e in tree.happened if e not in (*work, *coming)]
        yield say("Group"), "; ".join([*map(self._stay, tree.stays), *map(self._entry, coming)])
        yield say("Seen"), "; ".join(map(self._stage, tree.stages))
        yield say("Work"), "; ".join(map(self._entry, work))
        yield say("Damage"), "; ".join(map(self._entry, damage))
        yield say("Feeds"), "; ".join(self._feeds(tree.feeds)) or say("none")
        yield from (("", text) for text in self._details(tree.feeds))
        yield say("Solids"), "; ".join(map(self._solid, tree.solids))
        yield say("N"), _nitrogen(tree)
        yield from ((say("Held"), self._held(held)) for held in tree.holds)
        yield say("Repot"), self._repot(tree)

    def _stay(self, stay: Stay) -> str:
        if stay.start == self.book.first:
            return stay.group
        return say("{group} from {day}", group=stay.group, day=self.day(stay.start))

    def _entry(self, entry: Entry) -> str:
        return say("{day} {what}", day=self.day(entry.day), what=happened_words(entry.fact))

    def _stage(self, at: StageDate) -> str:
        assert at.day is not None
        days, how = (at.day - at.typical).days, say("as typical")
        if days:
            late = ("{count} day late", "{count} days late")
            early = ("{count} day early", "{count} days early")
            how = say_count(*(late if days > 0 else early), abs(days))
        return say("{stage} {day} ({how})", stage=at.stage, day=self.day(at.day), how=how)

    def _feeds(self, feeds: Iterable[Brought[FeedEvent]]) -> Iterator[str]:
        """The feeds as cells of day, strength and mark, after their product."""
        for product, run in groupby((each.feed for each in feeds), key=lambda event: event.product):
            told = ", ".join(f"{self.day(_day_of(e))}{_UNBROKEN}{whole_ppm(e.ppm)}{_mark(e)}" for e in run)
            yield say("{feed}: {cells}", feed=product, cells=told) if product else told

    def _details(self, feeds: Iterable[Brought[FeedEvent]]) -> Iterator[str]:
        """What a mark cannot tell, feeds of which the same is to be told together."""
        days: dict[str, list[str]] = {}
        for each in feeds:
            if details := details_words(each.feed):
                days.setdefault(details, []).append(self.day(each.feed.day))
        for details, marked in days.items():
            yield say("{days}: {details}", days=", ".join(marked), details=details)

    def _solid(self, counted: Brought[Solid]) -> str:
        solid, feed = counted.feed, counted.feed.feed or say("coated feed it came with")
        laid = "{feed} mixed in {day}" if solid.mixed_in else "{feed} laid {day}"
        words = say(laid, feed=feed, day=self.day(solid.laid))
        if solid.lifted is not None and solid.lifted <= self.book.told_to:
            words = say("{laid}, lifted {day}", laid=words, day=self.day(solid.lifted))
        return say("{laid}: {mg} mg N", laid=words, mg=f"{counted.n_mg_per_l:.0f}")

    def _held(self, held: HeldFor) -> str:
        start = held.hold.start
        hold = hold_words(held.hold, start if start >= self.book.first else date.min)
        signs = signs_words(met.left for met in held.hold.missing)
        if held.end is not None:
            words = say("{hold} to {day}", hold=hold, day=self.day(held.end))
        elif signs:
            words = say("{hold}, still open: {signs} not seen", hold=hold, signs=signs)
        else:
            words = say("{hold}, still open", hold=hold)
        if not held.over_days:
            return words
        over = say_count("{count} day over", "{count} days over", held.over_days)
        return say("{held}; {over} {earliest}", held=words, over=over, earliest=self.day(held.hold.minimum))

    def _repot(self, tree: TreeYear) -> str:
        """When it was repotted last and is to be again; empty where neither is known."""
        every = tree.repot_every_years
        if tree.repotted is None and every is None:
            return ""
        words = say("no repot on record")
        if tree.repotted is not None:
            words = say("last {day}", day=self.day(tree.repotted))
        if every is not None:
            words = say_count("{last}, every {count} year", "{last}, every {count} years", every, last=words)
        if tree.repot_due is None:
            return words
        return say("{repot}: due {year}", repot=words, year=self.called(tree.repot_due))

    def summary(self) -> Iterator[str]:
        """What to repot, which budgets were passed, and which holds overran."""
        book, following = self.book, self.book.season + 1
        due, unknown, over, held = [], [], [], []
        for tree in book.trees:
            name, due_in = tree.tree.name, tree.repot_due
            if due_in is not None and due_in <= following:
                due.append(say("{tree} ({year})", tree=name, year=self.called(due_in)))
            if tree.repot_every_years is not None and tree.repotted is None:
                unknown.append(name)
            if tree.n_mg_per_l > tree.budget_mg_n_per_l:
                over.append(name)
            if days := max((each.over_days for each in tree.holds), default=0):
                held.append(say_count("{tree} {count} day", "{tree} {count} days", days, tree=name))
        yield from _listed(say("To repot by the end of {year}", year=self.called(following)), due)
        yield from _listed(say("To repot, but no repot on record"), unknown)
        yield from _listed(say("More N than the budget"), over)
        yield from _listed(say("Holds that overran"), held)


def _listed(head: str, names: Sequence[str]) -> Iterator[str]:
    """Names after a head, none of them broken; nothing for no names."""
    if names:
        yield from _parted([say("{head}: {name}", head=head, name=names[0]), *names[1:]], "; ")


def _nitrogen(tree: TreeYear) -> str:
    got, budget = f"{tree.n_mg_per_l:.0f}", number(tree.budget_mg_n_per_l)
    return say("{mg} of {budget} mg per L of pot", mg=got, budget=budget)


def _row(label: str, text: str) -> Iterator[str]:
    """A row under its label, wrapped; none for an empty text."""
    for number_, line in enumerate(wrap(text, WIDTH - len(_INDENT), break_on_hyphens=False)):
        start = _INDENT if number_ else f"  {label:<8} "
        yield f"{start}{line}".replace(_UNBROKEN, " ")


def _parted(parts: Iterable[str], between: str) -> Iterator[str]:
    """Parts in lines, none of them broken."""
    text = between.join(part.replace(" ", _UNBROKEN) for part in parts)
    yield from (line.replace(_UNBROKEN, " ") for line in wrap(text, WIDTH, break_on_hyphens=False))


def _kind(entry: Entry) -> CauseKind | None:
    return entry.fact.kind if isinstance(entry.fact, Caused) else None


def _day_of(feed: FeedEvent) -> date:
    """The day it was given, or else told."""
    return feed.told if feed.outcome is Outcome.ASKED else feed.day


def _mark(feed: FeedEvent) -> str:
    """What became of a feed, as a sign."""
    if feed.is_extra:
        return "&"
    is_as_told = feed.outcome is not Outcome.GIVEN or not details_words(feed)
    return _MARKS[feed.outcome] if is_as_told else _MARKS[Outcome.OTHERWISE]


def year_book_table(book: YearBook) -> str:
    """The book as CSV: a head, and a line for each tree and event."""
    stream = io.StringIO()
    table = csv.DictWriter(stream, COLUMNS, restval="", lineterminator="\n")
    table.writeheader()
    for tree in book.trees:
        named = {"tree": tree.tree.name, "species": tree.tree.species}
        for event in _events(tree, book):
            cells = {
                key: number(value) if isinstance(value, Decimal) else value for key, value in event.items()
            }
            table.writerow(named | cells)
    return stream.getvalue()


def year_book_facts(book: YearBook) -> dict[str, Any]:
    """The same facts for `--json`: each tree with its events, without the cells that are empty."""
    return {
        "season": book.season,
        "from": book.first,
        "to": book.last,
        "told_to": book.told_to,
        "trees": [
            {
                "tree": tree.tree.name,
                "species": tree.tree.species,
                "place": tree.place,
                "n_mg_per_l_of_pot": tree.n_mg_per_l,
                "budget_n_mg_per_l_of_pot": tree.budget_mg_n_per_l,
                "events": [
                    {key: value for key, value in event.items() if value not in (None, "")}
                    for event in _events(tree, book)
                ],
            }
            for tree in book.trees
        ],
    }


def _events(tree: TreeYear, book: YearBook) -> Iterator[dict[str, Any]]:
    """Everything told of a tree, each as column and value."""
    for stay in tree.stays:
        yield {"event": "group", "date": stay.start, "end": stay.end, "what": stay.group}
    for at in tree.stages:
        days = None if at.day is None else (at.day - at.typical).days
        yield {"event": "stage", "date": at.day, "what": at.stage, "days": days}
    for entry in tree.happened:
        yield {"date": entry.day, **_happened(entry)}
    for feed in tree.feeds:
        yield _feed(feed)
    for each in tree.solids:
        yield {
            "event": "solid feed",
            "date": each.feed.laid,
            "end": each.feed.lifted,
            "outcome": each.feed.status.value,
            "product": each.feed.feed,
            "n_mg_per_l_of_pot": each.n_mg_per_l,
        }
    yield {
        "event": "nitrogen",
        "date": book.told_to,
        "n_mg_per_l_of_pot": tree.n_mg_per_l,
        "budget_n_mg_per_l_of_pot": tree.budget_mg_n_per_l,
    }
    for held in tree.holds:
        hold = held.hold
        outcome = "open" if held.end is None else "ended"
        told = {"what": hold.rule.name, "outcome": outcome, "days": held.over_days}
        yield {"event": "hold", "date": hold.start, "end": held.end, **told}
    every, due = tree.repot_every_years, tree.repot_due
    if tree.repotted is not None or every is not None:
        yield {"event": "last repot", "date": tree.repotted, "every_years": every, "due": due}


def _happened(entry: Entry) -> dict[str, Any]:
    match entry.fact:
        case Caused(kind, cause, roots):
            return {
                "event": kind.value,
                "what": cause,
                "roots_percent": None if roots is None else roots * 100,
            }
        case Gone(how):
            return {"event": "gone", "what": how}
        case Seen(words):
            return {"event": "sign", "what": "; ".join(words)}
    raise TypeError(type(entry.fact).__name__)


def _feed(counted: Brought[FeedEvent]) -> dict[str, Any]:
    feed = counted.feed
    is_given = not feed.status.is_without_feed and feed.outcome is not Outcome.ASKED
    return {
        "event": "feed",
        "date": feed.told,
        "end": feed.day if is_given else None,
        "what": feed.period,
        "outcome": "not asked for" if feed.is_extra else feed.outcome.value,
        "product": feed.product,
        "ppm_n": feed.ppm,
        "n_mg_per_l_of_pot": counted.n_mg_per_l,
    }
