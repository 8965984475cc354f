"""What the weather and the journal ask a grower to see to: statements, not sentences."""

from __future__ import annotations

from datetime import date

from feedplan.model.statement import Statement


class HeatWave(Statement):
    """Hot days on end. peak_c: the hottest [°C]; end: first day after."""

    start: date
    peak_c: int
    end: date


class ColdNight(Statement):
    """A night that may harm soft growth [°C]. dawn: the day it ends on, about whose dawn it is coldest."""

    tmin_c: int
    dawn: date


class FrostyNight(Statement):
    """A night just over in which the air froze [°C]."""

    tmin_c: int


class HotRoots(Statement):
    """Root zones that may get hot enough for harm. peak_c: on the sunny side of the hottest pot [°C]."""

    peak_c: int


class StrongWind(Statement):
    """Wind that may harm soft growth [m/s]."""

    m_per_s: int


class RecordEnds(Statement):
    """The last day observed of a weather record too old to foretell from."""

    last: date


class FrozenBalls(Statement):
    """Root balls likely frozen. lowest_c: the coldest night [°C]."""

    lowest_c: int


class SeenAgain(Statement):
    """A stage seen once more in a year. first, entry: the earlier sighting and its id; day, again: the later one."""

    stage: str
    first: date
    day: date
    entry: str
    again: str


class SeenOutOfOrder(Statement):
    """A stage seen after a later one of the year. later, first, entry: that one, its day and id; again: this one."""

    stage: str
    day: date
    later: str
    first: date
    entry: str
    again: str


class SeenTooEarly(Statement):
    """A stage seen before any year's `earliest` day for it."""

    stage: str
    day: date
    earliest: date
    entry: str


class HotDays(Statement):
    """The hottest of some days [°C]."""

    tmax_c: int
    day: date


class WindyDays(Statement):
    """The windiest of some days [m/s]."""

    m_per_s: int
    day: date


class DryDays(Statement):
    """The day on which most evaporates of some. et0_mm: to a tenth [mm]."""

    et0_mm: float
    day: date
