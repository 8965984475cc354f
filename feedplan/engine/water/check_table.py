"""How often to look at some trees through their seasons, from each schedule's own table."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from feedplan.engine.stages.stages import Record
from feedplan.engine.water.check_courses import Course, PotsAlike, Step, Thirst
from feedplan.model.collection import PotClass
from feedplan.model.schedule import CheckRate, Schedule, WaterRow
from feedplan.model.season import Timeline


def rate_for(row: WaterRow, pot_class: PotClass, *, weak: bool) -> CheckRate:
    """The rate of one row for a pot; a weak or root-cut tree is looked at as often as the weak column asks too."""
    own: CheckRate = {PotClass.SHALLOW: row.shallow, PotClass.MEDIUM: row.medium, PotClass.DEEP: row.deep}[
        pot_class
    ]
    return max(own, row.weak) if weak else own


@dataclass(frozen=True, slots=True)
class DatedRow:
    """A row of the water table as it falls in one season."""

    first: date
    season: int
    row: WaterRow


Rows = Sequence[DatedRow]


def dated_rows(record: Record, schedule: Schedule, first_season: int, last_season: int) -> Rows:
    """The table's rows laid over some seasons, in day order.

    A stage still awaited counts from its typical date here, so that waiting for it never means fewer checks.
    """
    found = [
        DatedRow(stages[row.stage].day or stages[row.stage].typical, season, row)
        for season in range(first_season, last_season + 1)
        for stages in (record.stages(season),)
        for row in schedule.water
        if row.stage in stages
    ]
    return sorted(found, key=lambda dated: dated.first)


class TableCourses:
    """Courses from each schedule's own table."""

    def __init__(self, rows_of: Callable[[Timeline], Rows]) -> None:
        self._rows_of = rows_of
        self._rows: dict[str, Rows] = {}

    def course(self, pots: PotsAlike) -> Course:
        """The rates of some trees, in day order."""
        lineage = pots.timeline.lineage
        if lineage not in self._rows:
            self._rows[lineage] = self._rows_of(pots.timeline)
        return [
            Step(at.first, rate_for(at.row, pots.pot_class, weak=pots.weak), f"{at.season}/{at.row.stage}")
            for at in self._rows[lineage]
        ]

    def thirst(self, members: Sequence[PotsAlike], first: date, last: date) -> Thirst | None:
        """Not known: a table says nothing of litres."""
        return None
