"""The sheet for whoever waters while the grower is away: one page of checks by bench, and never any feed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any

from feedplan.engine.water.checks import EVERY_DAY, HelperSheet, SheetRow
from feedplan.export.entries import HOW_TO_WATER
from feedplan.export.glance_text import WIDTH, columns, filled
from feedplan.export.water_text import own_water_sentences
from feedplan.model.collection import Away, Collection
from feedplan.words.language import say
from feedplan.words.writing import WEEKDAYS_SHORT, day_month, day_words, listed, tree_words, trees_words

_DAYS_A_ROW = 16
"""So many days to tick off stand beside each other."""


def helper_lines(sheet: HelperSheet) -> Iterator[str]:
    """A sheet for whoever waters during an absence: how, the trees by bench and time, whom to ask, days to tick off."""
    yield from _told(how_sentences(sheet))
    for bench, rows in sheet.benches:
        yield ""
        yield bench
        for look, at in enumerate(sheet.checks_at):
            if parts := [row_words(row, sheet) for row in rows if row.look == look]:
                yield from _beside(f"  {at:%H:%M}  ", "; ".join(parts))
    yield ""
    yield from _told(caution_sentences(sheet))
    yield from _boxes(sheet)


def next_away(collection: Collection, today: date) -> Away | None:
    """The absence that is, or comes next; None when none is written down."""
    return min((a for a in collection.away if a.end >= today), key=lambda a: a.start, default=None)


def helper_facts(sheet: HelperSheet) -> dict[str, Any]:
    """The same facts for `--json`."""
    return {
        "from": sheet.away.start,
        "to": sheet.away.end,
        "count": sheet.head_count,
        "ask": sheet.away.ask,
        "surface_dry": list(sheet.must_dry),
        "benches": [
            {"bench": bench, "looks": [_row_facts(row, sheet) for row in rows]}
            for bench, rows in sheet.benches
        ],
        "lines": list(helper_lines(sheet)),
    }


def _row_facts(row: SheetRow, sheet: HelperSheet) -> dict[str, Any]:
    return {
        "at": f"{sheet.checks_at[row.look]:%H:%M}",
        "from": row.start,
        "to": row.end,
        "weekdays": [WEEKDAYS_SHORT[day] for day in row.weekdays],
        "trees": [tree.name for tree in row.trees],
    }


def _told(sentences: Iterable[str]) -> Iterator[str]:
    for sentence in sentences:
        yield from filled(sentence, WIDTH, after="  ")


def _beside(head: str, text: str) -> Iterator[str]:
    """A text beside what it is about, broken to the page's width."""
    for line in filled(text, WIDTH - columns(head)):
        yield head + line
        head = " " * columns(head)


def how_sentences(sheet: HelperSheet) -> Iterator[str]:
    """Which days it is for, how to look and to water, and what a mark means."""
    yield say(
        "Water checks {start} to {end}: {trees}. Check and water; mix no feed.",
        start=day_words(sheet.away.start),
        end=day_words(sheet.away.end),
        trees=trees_words(sheet.head_count),
    )
    yield say(
        "Look at each tree at the times under its bench. Moist just under the surface: leave it till its next look."
    )
    yield say(HOW_TO_WATER)
    yield from own_water_sentences(sheet.own_waters)
    if sheet.must_dry:
        yield say(
            "* Weak, or roots cut: dies wet, not dry. Let the surface dry before watering, even if it takes days."
        )


def caution_sentences(sheet: HelperSheet) -> Iterator[str]:
    """What is never done, what may look like thirst, and whom to ask."""
    yield say("Never: feed, repot, prune, spray, stand a pot in water, water by the clock.")
    yield say("In heat, shade first. A limp tree in wet mix needs shade, not more water.")
    yield say("In doubt, ask {whom}.", whom=sheet.away.ask or "_" * 40)


def row_words(row: SheetRow, sheet: HelperSheet) -> str:
    """A row's trees, after its days where they are not all those of the absence."""
    names = ", ".join(tree_words(t) + "*" * (t.name in sheet.must_dry) for t in row.trees)
    days = _days_words(row, sheet)
    return say("{days}: {names}", days=days, names=names) if days else names


def _days_words(row: SheetRow, sheet: HelperSheet) -> str:
    """The days of a row: "to 15 Aug", "from 9 Aug", "Mon, Wed, Fri and Sun from 9 Aug"; nothing for every day."""
    start, end = day_month(row.start, row.start), day_month(row.end, row.start)
    begins, ends = row.start == sheet.away.start, row.end == sheet.away.end
    if row.start == row.end:
        return end
    span = "" if begins and ends else "to {end}" if begins else "from {start}" if ends else "{start} to {end}"
    words = [] if row.weekdays == EVERY_DAY else [listed([say(WEEKDAYS_SHORT[day]) for day in row.weekdays])]
    return " ".join([*words, say(span, start=start, end=end)]).strip()


def _boxes(sheet: HelperSheet) -> Iterator[str]:
    """A box to tick for each look of each day."""
    for first in range(0, len(sheet.days), _DAYS_A_ROW):
        days = sheet.days[first : first + _DAYS_A_ROW]
        yield ""
        yield _box_row("", (say(WEEKDAYS_SHORT[day.weekday()])[:3] for day in days))
        yield _box_row("", (f"{day.day}" for day in days))
        for look, at in enumerate(sheet.checks_at):
            if any(look in sheet.looks_on(day) for day in days):
                yield _box_row(f"{at:%H:%M}", (_box(sheet, look, day) for day in days))


def _box(sheet: HelperSheet, look: int, day: date) -> str:
    return "[ ]" if look in sheet.looks_on(day) else ""


def _box_row(head: str, cells: Iterable[str]) -> str:
    padded = (" " * (4 - columns(cell)) + cell for cell in cells)
    return f"  {head:5}{''.join(padded)}".rstrip()
