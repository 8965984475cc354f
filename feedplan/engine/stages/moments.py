"""The day a moment of the year falls on among the growth stages of one season."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta

from feedplan.engine.growing_year import DAY, day_in_season
from feedplan.model.course import StageDate
from feedplan.model.moment import AtStage, DayOfYear, FirstOf, Hemisphere, LastOf, Moment
from feedplan.model.stage import Origin


def moment_day(
    moment: Moment,
    stages: Mapping[str, StageDate],
    season: int,
    hemisphere: Hemisphere,
    *,
    stopping: bool = False,
    instead: date | None = None,
) -> date | None:
    """The day a moment falls on among the stages of a season, or with `stopping` the last day of what stops at it.

    instead: as for `Record.resolve`.
    """
    match moment:
        case DayOfYear():
            return day_in_season(moment, season, hemisphere)
        case AtStage(stage, offset, seen_only):
            at = stages.get(stage)
            if seen_only and instead is not None:
                seen = moment_day(moment, stages, season, hemisphere, stopping=stopping)
                return instead if seen is None else min(seen, instead)
            if at is None:
                return None
            is_counted = at.day is not None and (at.origin is Origin.SEEN or not seen_only)
            if at.proved is not None and (not is_counted or at.day is None or at.day > at.proved):
                return at.proved + timedelta(days=offset - stopping)
            if at.day is None or not is_counted:
                return None
            day = at.day + timedelta(days=offset)
            late = at.origin in (Origin.SEEN, Origin.INFORMED)
            return day - DAY if stopping else max(day, at.known if late else day)
        case FirstOf(moments) | LastOf(moments):
            days = [
                moment_day(inner, stages, season, hemisphere, stopping=stopping, instead=instead)
                for inner in moments
            ]
            known = [day for day in days if day is not None]
            if isinstance(moment, LastOf) and len(known) < len(days):
                return None
            return (max if isinstance(moment, LastOf) else min)(known, default=None)
