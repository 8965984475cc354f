"""Every page by its name, for the server and for `publish` alike."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal, InvalidOperation

import segno
from markupsafe import Markup

from feedplan.dose.chemistry import OXIDE_FACTORS
from feedplan.server.addresses import webcal
from feedplan.server.calendars import offers_of
from feedplan.server.filling import can_choices
from feedplan.server.lists_pages import entry_rows, tree_rows
from feedplan.server.recording import Told
from feedplan.server.rendering import Frame, render
from feedplan.server.ribbon import collection_ribbon
from feedplan.server.round_cards import TreeLinks
from feedplan.server.round_page import round_page
from feedplan.server.sink_page import LABEL_SHARES, STRENGTHS_PPM, sink_page
from feedplan.server.snapshots import Snapshot
from feedplan.server.tree_page import tree_page
from feedplan.words.writing import day_words

_MOST_LITRES = Decimal(1000)


@dataclass(frozen=True, slots=True)
class Shown:
    """What a page shows besides the plan: what was just done, and the fields of its address.

    told: what was written down. is_undone: something was taken back. is_waiting: something was written down that
    the plan cannot show yet. calendar_base: the address before a calendar's file name, "" where it is not known.
    """

    fields: Mapping[str, str]
    told: Told | None = None
    is_undone: bool = False
    is_waiting: bool = False
    calendar_base: str = ""

    @property
    def done(self) -> dict[str, object]:
        """As the templates want it."""
        return {"told": self.told, "is_undone": self.is_undone, "is_waiting": self.is_waiting}


def page(name: str, snapshot: Snapshot, frame: Frame, shown: Shown) -> str | None:
    """A page by the last part of its address, "" for today's round; None when there is no such page."""
    if name == "":
        return _round(snapshot, frame, shown, snapshot.today)
    if name.startswith("day-") and name.endswith(".html"):
        return _day(name[4:-5], snapshot, frame, shown)
    if name.startswith("tree-") and name.endswith(".html"):
        return _tree(name[5:-5], snapshot, frame, shown)
    make = {"sink.html": _sink, "trees.html": _trees, "journal.html": _journal, "calendars.html": _calendars}
    return make[name](snapshot, frame, shown) if name in make else None


def tree_pages(snapshot: Snapshot) -> list[str]:
    """The names of all trees' pages."""
    return [f"tree-{part}.html" for part in TreeLinks(snapshot.loaded.collection).names_by_part]


def _day(text: str, snapshot: Snapshot, frame: Frame, shown: Shown) -> str | None:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        return None
    if not snapshot.season.start <= day <= snapshot.season.end or text != day.isoformat():
        return None
    return _round(snapshot, frame, shown, day)


def _round(snapshot: Snapshot, frame: Frame, shown: Shown, day: date) -> str:
    collection = snapshot.loaded.collection
    can = _litres(shown.fields.get("own") or shown.fields.get("can", ""), collection.habits.can_litres)
    return render(
        "round.html",
        frame,
        page=round_page(snapshot.season, collection, day, can),
        cans=can_choices(collection.habits.can_litres, can),
        ribbon=collection_ribbon(snapshot.season, collection),
        **shown.done,
    )


def _litres(text: str, usual: Decimal) -> Decimal:
    """The can asked for [L], the usual one when that is no sensible volume."""
    try:
        litres = Decimal(text.replace(",", "."))
    except InvalidOperation:
        return usual
    return litres if litres.is_finite() and Decimal("0.1") <= litres <= _MOST_LITRES else usual


def _tree(part: str, snapshot: Snapshot, frame: Frame, shown: Shown) -> str | None:
    collection = snapshot.loaded.collection
    name = TreeLinks(collection).names_by_part.get(part)
    tree = next((tree for tree in collection.trees if tree.name == name), None)
    found = tree_page(snapshot.season, collection, tree) if tree is not None else None
    if found is None:
        return None
    days = [("", "Today"), (snapshot.today - timedelta(days=1), "Yesterday")]
    days += [(day, day_words(day)) for day in (snapshot.today - timedelta(days=ago) for ago in (2, 3))]
    return render("tree.html", frame, page=found, back=f"tree-{part}.html", days=days, **shown.done)


def _sink(snapshot: Snapshot, frame: Frame, shown: Shown) -> str:
    collection = snapshot.loaded.collection
    found = sink_page(collection, shown.fields)
    chosen = _litres(found.asked.can, collection.habits.can_litres)
    return render(
        "sink.html",
        frame,
        page=found,
        ppms=STRENGTHS_PPM,
        shares=LABEL_SHARES,
        cans=can_choices(collection.habits.can_litres, chosen),
        factors={name: str(OXIDE_FACTORS[name]) for name in ("P", "K")},
    )


def _trees(snapshot: Snapshot, frame: Frame, shown: Shown) -> str:
    return render("trees.html", frame, groups=tree_rows(snapshot.season, snapshot.loaded.collection))


def _journal(snapshot: Snapshot, frame: Frame, shown: Shown) -> str:
    return render(
        "journal.html", frame, rows=list(entry_rows(snapshot.loaded.journal, snapshot.today)), **shown.done
    )


def _calendars(snapshot: Snapshot, frame: Frame, shown: Shown) -> str:
    base = shown.calendar_base
    offers = [
        {
            "title": offer.title,
            "file": offer.file,
            "address": f"{base}{offer.file}",
            "webcal": webcal(f"{base}{offer.file}") if base else "",
        }
        for offer in offers_of(snapshot.loaded.collection).values()
    ]
    code = _code(str(offers[0]["webcal"])) if base else ""
    return render("calendars.html", frame, offers=offers, code=code)


def _code(text: str) -> Markup:
    """A QR code as a picture inside the page."""
    drawn = segno.make(text, error="m", micro=False).svg_inline(border=3, omitsize=True)
    return Markup(drawn.replace("<svg ", '<svg role="img" aria-label="QR code of the calendar" ', 1))
