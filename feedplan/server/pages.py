"""Every page by its name, for the server and for `publish` alike."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal, InvalidOperation

from feedplan.dose.grade import OXIDE_FACTORS
from feedplan.engine.season import Season, Timeline
from feedplan.engine.water.checks import HelperSheet, SheetRow, sheet_of
from feedplan.export.helper_sheet import caution_sentences, how_sentences, next_away, row_words
from feedplan.guide.contents import PAGES
from feedplan.model.collection import Away, Collection
from feedplan.model.course import Status
from feedplan.server.addresses import ROUNDS, page_code, webcal
from feedplan.server.calendars import calendar_files
from feedplan.server.recording import RecordedEntry, taking_back
from feedplan.server.rendering import OUT_OF_SIGHT, Layout, guide_markup, render
from feedplan.server.round_page import round_page
from feedplan.server.sink_page import (
    LABEL_SHARES,
    STRENGTHS_PPM,
    can_choices,
    rich_figures,
    sink_page,
    sink_sentences,
)
from feedplan.server.snapshots import Snapshot
from feedplan.server.tree_links import TreeLink, TreeLinks
from feedplan.server.tree_page import collection_ribbon, tree_page
from feedplan.words.language import say
from feedplan.words.reasons import hold_end_words
from feedplan.words.writing import WEEKDAYS_SHORT, day_words

_MOST_LITRES = Decimal(1000)
_MOST_KEPT = 64  # pages of one plan
_LATEST_ENTRIES = 40  # of the journal on one page


@dataclass(frozen=True, slots=True)
class PageRequest:
    """What a page shows besides the plan: what was just done, and the fields of its address.

    recorded: what was written down. undone: the entry that took another back, None for none; is_back: an entry was put
    back. is_waiting: something was written down that the plan cannot show yet. calendar_base: the address before a
    calendar's file name, "" where it is not known.
    """

    fields: Mapping[str, str]
    recorded: RecordedEntry | None = None
    undone: str | None = None
    is_back: bool = False
    is_waiting: bool = False
    calendar_base: str = ""


@dataclass(frozen=True, slots=True)
class TreeRow:
    """One tree. state: held, next or nothing, for the mark beside it. words: what that is."""

    link: TreeLink
    species: str
    state: str
    words: str


def page(name: str, layout: Layout, asked: PageRequest) -> str | None:
    """A page by the last part of its address, "" for today's round; None when there is no such page."""
    if name == "":
        return _round(layout, asked, layout.snapshot.today)
    if name.startswith("day-") and name.endswith(".html"):
        return _day(name[4:-5], layout, asked)
    if name.startswith("tree-") and name.endswith(".html"):
        return _tree(name[5:-5], layout, asked)
    if name == "undo.html":
        return _undo(layout, asked)
    if name in guide_pages():
        part = name[6:-5]
        text = guide_markup(part) if part else None
        return render("guide.html", layout, title=PAGES.get(part, ""), text=text, pages=PAGES)
    make = {
        "sink.html": _sink,
        "trees.html": _trees,
        "journal.html": _journal,
        "calendars.html": _calendars,
        "not-here.html": _not_here,
        "helper.html": _helper_sheet,
    }
    return make[name](layout, asked) if name in make else None


def _not_here(layout: Layout, asked: PageRequest) -> str:
    """What a phone without a connection shows for a page that it has not kept."""
    lines = [say("This page is not on this phone yet. Open it again with a connection.")]
    return render("message.html", layout, heading=say("Not on this phone yet"), lines=lines, back="./")


def _helper_sheet(layout: Layout, asked: PageRequest) -> str:
    """What whoever waters must know, with boxes to tick once printed.

    It is about the days of a helper's own address, else about the absence that is, or comes next.
    """
    season, collection = layout.snapshot.season, layout.snapshot.loaded.collection
    away = next_away(collection, season.today)
    if layout.helper_until is not None:
        until = min(layout.helper_until, season.end)
        ask = away.ask if away is not None else None
        is_own = layout.helper.casefold() in (ask or "").casefold()  # nobody is told to ask themselves
        away = Away(season.today, until, None if is_own else ask)
    if away is None or away.end > season.end:
        lines = [say("No days away are written down. The round says what to do on each day.")]
        return render("message.html", layout, heading=say("Helper's sheet"), lines=lines, back="./")
    sheet = sheet_of(season, away)
    return render(
        "helper.html",
        layout,
        how=list(how_sentences(sheet)),
        cautions=list(caution_sentences(sheet)),
        benches=[(bench, list(_by_look(rows, sheet))) for bench, rows in sheet.benches],
        weeks=list(_weeks(sheet)),
    )


def _by_look(rows: Iterable[SheetRow], sheet: HelperSheet) -> Iterator[tuple[str, list[str]]]:
    """The rows of a bench in words, by time of day."""
    listed = list(rows)
    for look, at in enumerate(sheet.checks_at):
        if found := [row_words(row, sheet) for row in listed if row.look == look]:
            yield f"{at:%H:%M}", found


def _weeks(sheet: HelperSheet) -> Iterator[tuple[list[str], list[tuple[str, list[bool]]]]]:
    """Seven days beside each other, and for each time whether there is a look on each of them."""
    for first in range(0, len(sheet.days), 7):
        days = sheet.days[first : first + 7]
        looks = [
            (f"{at:%H:%M}", [look in sheet.looks_on(day) for day in days])
            for look, at in enumerate(sheet.checks_at)
        ]
        words = [f"{say(WEEKDAYS_SHORT[day.weekday()])} {day.day}" for day in days]
        yield words, [(at, boxes) for at, boxes in looks if any(boxes)]


def _undo(layout: Layout, asked: PageRequest) -> str | None:
    """Whether to take back an entry that opened a hold, with what that changes; None when it does not stand."""
    entry_id = asked.fields.get("id", "")
    question = taking_back(layout.snapshot, entry_id) if layout.may_tell else ""
    back = asked.fields.get("back", "")
    is_ours = back.endswith(".html") and "/" not in back
    return (
        render("undo.html", layout, question=question, entry_id=entry_id, back=back if is_ours else "./")
        if question
        else None
    )


def tree_pages(snapshot: Snapshot) -> list[str]:
    """The names of all trees' pages."""
    return [f"tree-{part}.html" for part in TreeLinks(snapshot.loaded.collection).names_by_part]


def guide_pages() -> list[str]:
    """The names of the guide's pages, the list of them first."""
    return ["guide.html", *(f"guide-{name}.html" for name in PAGES)]


def _day(text: str, layout: Layout, asked: PageRequest) -> str | None:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        return None
    if not layout.snapshot.season.start <= day <= layout.snapshot.season.end or text != day.isoformat():
        return None
    return _round(layout, asked, day)


def _round(layout: Layout, asked: PageRequest, day: date) -> str:
    collection = layout.snapshot.loaded.collection
    return render(
        "round.html",
        layout,
        page=round_page(layout.snapshot.season, collection, day),
        ribbon=collection_ribbon(layout.snapshot.season, collection),
        asked=asked,
    )


def _litres(text: str, usual: Decimal) -> Decimal:
    """The can asked for [L], the usual one when that is no sensible volume."""
    try:
        litres = Decimal(text.replace(",", "."))
    except InvalidOperation:
        return usual
    return litres if litres.is_finite() and Decimal("0.1") <= litres <= _MOST_LITRES else usual


def _tree(part: str, layout: Layout, asked: PageRequest) -> str | None:
    collection = layout.snapshot.loaded.collection
    name = TreeLinks(collection).names_by_part.get(part)
    tree = next((tree for tree in collection.trees if tree.name == name), None)
    found = tree_page(layout.snapshot.season, collection, tree) if tree is not None else None
    if found is None:
        return None
    if not layout.is_dated:
        found = replace(found, ribbon=replace(found.ribbon, today=OUT_OF_SIGHT))
    days = [("", say("Today")), (layout.snapshot.today - timedelta(days=1), say("Yesterday"))]
    days += [
        (day, day_words(day, layout.snapshot.today))
        for day in (layout.snapshot.today - timedelta(days=ago) for ago in (2, 3))
    ]
    return render("tree.html", layout, page=found, back=f"tree-{part}.html", days=days, asked=asked)


def _sink(layout: Layout, asked: PageRequest) -> str:
    collection = layout.snapshot.loaded.collection
    found = sink_page(collection, asked.fields)
    chosen = _litres(found.form["can"], collection.habits.can_litres)
    return render(
        "sink.html",
        layout,
        page=found,
        ppms=STRENGTHS_PPM,
        shares=LABEL_SHARES,
        cans=can_choices(collection.habits.can_litres, chosen),
        factors={name: str(OXIDE_FACTORS[name]) for name in ("P", "K")},
        sentences=sink_sentences(),
        rich=rich_figures(),
    )


def _trees(layout: Layout, asked: PageRequest) -> str:
    wanted = asked.fields.get("q", "").strip()
    groups = _tree_rows(layout.snapshot.season, layout.snapshot.loaded.collection)
    found = {
        group: kept
        for group, rows in groups.items()
        if (kept := [row for row in rows if wanted.casefold() in row.link.name.casefold()])
    }
    return render("trees.html", layout, groups=found, wanted=wanted)


def _tree_rows(season: Season, collection: Collection) -> dict[str, list[TreeRow]]:
    """Every tree that is here, by group as of today."""
    links = TreeLinks(collection)
    rows: dict[str, list[TreeRow]] = {name: [] for name in collection.groups}
    for timeline in season.timelines:
        if not timeline.here(season.today):
            continue
        state, words = _state(timeline, season)
        for tree in timeline.trees:
            rows[timeline.group_on(season.today)].append(TreeRow(links.of(tree), tree.species, state, words))
    return {name: found for name, found in rows.items() if found}


def _state(timeline: Timeline, season: Season) -> tuple[str, str]:
    hold = next((hold for hold in timeline.holds if hold.covers(season.today)), None)
    if hold is not None:
        return "held", f"{hold.rule.name}: {hold_end_words(hold, season.today)}"
    coming = (Status.PLANNED, Status.OVERDUE)
    feed = next((f for f in timeline.feeds if f.day >= season.today and f.status in coming), None)
    if feed is None:
        return "nothing", say("no feed in sight")
    return "next", say("next feed {day}", day=day_words(feed.day, season.today))


def _journal(layout: Layout, asked: PageRequest) -> str:
    """The entries that stand on the day, the last in the file first."""
    journal, today = layout.snapshot.loaded.journal, layout.snapshot.today
    known = sorted((e for e in journal.entries if e.known <= today), key=lambda e: -e.source.line)
    asked_from = asked.fields.get("from", "")
    first = int(asked_from) if re.fullmatch(r"[0-9]{1,6}", asked_from) else 0
    last = len(known) if layout.is_static else first + _LATEST_ENTRIES
    older = last if last < len(known) else None
    return render("journal.html", layout, entries=known[first:last], older=older, asked=asked)


def _calendars(layout: Layout, asked: PageRequest) -> str:
    base, calendars = asked.calendar_base, calendar_files(layout.snapshot.loaded.collection)
    code = page_code(webcal(f"{base}{ROUNDS}")) if base else ""
    return render("calendars.html", layout, calendars=calendars.values(), base=base, code=code)


class KeptPages:
    """The pages of one plan, each made once however often it is asked for."""

    def __init__(self) -> None:
        self._of: tuple[Snapshot | None, dict[tuple[str, str, str, str], str]] = (None, {})

    def get(self, name: str, layout: Layout, asked: PageRequest) -> str | None:
        """A page without anything said in its address; None when there is no such page."""
        snapshot, pages = self._of
        if snapshot is not layout.snapshot or len(pages) >= _MOST_KEPT:
            pages = {}
            self._of = layout.snapshot, pages
        which = (name, layout.token, f"{layout.helper} {layout.helper_until}", asked.calendar_base)
        made = pages.get(which) or page(name, layout, asked)
        if made is not None:
            pages[which] = made
        return made
