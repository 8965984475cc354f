"""The year book as a table for a spreadsheet, and the same events as facts for `--json`."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from feedplan.engine.answers.year_book import Brought, TreeYear, YearBook
from feedplan.model.course import FeedEvent
from feedplan.model.history import Outcome
from feedplan.model.journal import Caused, Entry, Gone, Seen
from feedplan.words.writing import number

COLUMNS = (
    "tree", "species", "event", "date", "end", "what", "outcome", "days", "roots_percent", "product", "ppm_n",
    "n_mg_per_l_of_pot", "budget_n_mg_per_l_of_pot", "every_years", "due",
)  # fmt: skip
"""The columns, in an order that stays. README tells what each holds."""


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
        outcome = "open" if hold.end is None else "ended"
        told = {"what": hold.rule.name, "outcome": outcome, "days": held.over_days}
        yield {"event": "hold", "date": hold.start, "end": hold.end, **told}
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
