"""One told feed or laying as the cells of a line: what history.csv and told.json are made of."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from feedplan.dose.grade import parse_npk_ratio
from feedplan.dose.strength import PpmN
from feedplan.load.bounds import checked_day
from feedplan.model.history import Outcome, ToldFeed, ToldLaying
from feedplan.model.reason import Quoted, Reason, Rule

_EXTRA = "not asked for"

COLUMNS = (
    "told",
    "tree",
    "product",
    "ppm_n",
    "outcome",
    "given_on",
    "poured_ml",
    "n_mg_per_l_of_pot",
    "because",
    "group",
    "period",
    "asked_product",
    "due",
    "counts_from",
    "season",
    "number",
    "asked_ppm_n",
    "planned_ppm_n",
    "share",
    "mixed",
    "unrecorded",
    "entry",
    "lineage",
    "grams_per_l_of_pot",
    "asked_n_mg_per_l_of_pot",
    "lift_on",
)
"""The first nine are for a person; the others let the plan take up where it was."""


@dataclass(frozen=True, slots=True)
class HistoryLine:
    """One line of history.csv. outcome, given_on, ppm, product: what became of it; poured_ml: into this tree's pot.

    ppm, poured_ml: None for a laying.
    """

    tree: str
    told: ToldFeed | ToldLaying
    outcome: Outcome
    given_on: date | None
    product: str
    ppm: Decimal | None
    poured_ml: Decimal | None
    n_mg_per_l: Decimal
    because: str
    entry: str

    @property
    def key(self) -> Key:
        """What tells it from other feeds and layings."""
        return key_of(self.tree, self.told)


Key = tuple[str, date, str]
SAID = ("outcome", "given_on", "product", "ppm_n", "entry", "lift_on")
"""The cells of a line that say what became of a feed; the last two before them follow from the pot."""


def key_of(tree: str, told: ToldFeed | ToldLaying) -> Key:
    """What tells a feed or laying of a tree from the others."""
    if isinstance(told, ToldLaying):
        return tree, told.told, f"{told.season}/{told.period}/{told.number}"
    return tree, told.told, f"{told.ordinal} {_EXTRA if told.extra else ''}"


def header_text() -> str:
    """The first line of history.csv."""
    return row_text(COLUMNS)


def row_text(cells: Iterable[object]) -> str:
    """A line of history.csv with its end."""
    stream = io.StringIO()
    csv.writer(stream, lineterminator="\n").writerow([str(cell) for cell in cells])
    return stream.getvalue()


def plain(value: Decimal | int) -> str:
    """A number as short as it can be written."""
    return f"{Decimal(value).normalize():f}"


def cells_of(line: HistoryLine) -> dict[str, str]:
    """All cells of a line, by column."""
    cells: dict[str, object] = {
        "told": line.told.told,
        "tree": line.tree,
        "product": line.product,
        "ppm_n": "" if line.ppm is None else plain(line.ppm),
        "outcome": line.outcome,
        "given_on": line.given_on or "",
        "poured_ml": "" if line.poured_ml is None else plain(round(line.poured_ml)),
        "n_mg_per_l_of_pot": plain(round(line.n_mg_per_l, 1)),
        "because": line.because,
        "entry": line.entry,
        **told_cells(line.told),
    }
    return {name: str(cells.get(name, "")) for name in COLUMNS}


def told_cells(told: ToldFeed | ToldLaying) -> dict[str, object]:
    """What the plan needs to take up a feed or laying again, by column."""
    if isinstance(told, ToldLaying):
        return {
            "group": told.group,
            "period": told.period,
            "asked_product": told.feed,
            "due": told.due,
            "season": told.season,
            "number": told.number,
            "mixed": _EXTRA if told.extra else "",
            "unrecorded": told.unrecorded,
            "lineage": told.lineage,
            "grams_per_l_of_pot": plain(told.grams_per_l),
            "asked_n_mg_per_l_of_pot": plain(told.gives),
            "lift_on": told.lift_on,
        }
    return {
        "group": told.group,
        "period": told.period,
        "asked_product": told.feed or "",
        "due": told.due,
        "counts_from": told.counts_from,
        "season": told.season,
        "number": told.ordinal,
        "asked_ppm_n": plain(told.ppm),
        "planned_ppm_n": plain(told.plan_ppm),
        "share": plain(told.share),
        "mixed": _EXTRA if told.extra else told.ratio or "",
        "unrecorded": told.unrecorded,
        "lineage": told.lineage,
    }


def told_feed_of(cells: Mapping[str, str]) -> ToldFeed:
    """A feed from its cells. Raises KeyError, ValueError or InvalidOperation for cells that are none."""
    extra = cells["mixed"] == _EXTRA
    quoted = cells.get("because", "")
    return ToldFeed(
        told=_day(cells["told"]),
        due=_day(cells["due"]),
        counts_from=_day(cells["counts_from"]),
        season=int(cells["season"]),
        ordinal=int(cells["number"]),
        period=cells["period"],
        group=cells["group"],
        feed=cells["asked_product"] or None,
        ratio=parse_npk_ratio(cells["mixed"]) if cells["mixed"] and not extra else None,
        ppm=_ppm(cells["asked_ppm_n"]),
        plan_ppm=_ppm(cells["planned_ppm_n"]),
        share=finite(cells["share"]),
        unrecorded=Outcome(cells["unrecorded"]),
        extra=extra,
        lineage=cells.get("lineage", ""),
        reasons=(Reason(Rule.TOLD, Quoted(quoted)),) if quoted else (),
    )


def told_laying_of(cells: Mapping[str, str]) -> ToldLaying:
    """A laying from its cells. Raises KeyError, ValueError or InvalidOperation for cells that are none."""
    quoted = cells.get("because", "")
    return ToldLaying(
        told=_day(cells["told"]),
        due=_day(cells["due"]),
        season=int(cells["season"]),
        period=cells["period"],
        number=int(cells["number"]),
        group=cells["group"],
        feed=cells["asked_product"],
        grams_per_l=finite(cells["grams_per_l_of_pot"]),
        gives=finite(cells["asked_n_mg_per_l_of_pot"]),
        lift_on=_day(cells["lift_on"]),
        unrecorded=Outcome(cells["unrecorded"]),
        extra=cells["mixed"] == _EXTRA,
        lineage=cells.get("lineage", ""),
        reasons=(Reason(Rule.TOLD, Quoted(quoted)),) if quoted else (),
    )


def finite(text: str) -> Decimal:
    """A number from a cell. Raises ValueError or InvalidOperation for none."""
    value = Decimal(text)
    if not value.is_finite():
        raise ValueError(text)
    return value


def _ppm(text: str) -> Decimal:
    """A strength from a cell [mg N/L]. Raises as `finite`, and ValueError for what nobody feeds."""
    return PpmN(finite(text)).n_mg_per_l


def _day(text: str) -> date:
    """A day from a cell. Raises ValueError for none that a plan may speak of."""
    return checked_day(date.fromisoformat(text))
