"""The growing year: the half-years that make a season, in either hemisphere."""

from __future__ import annotations

from datetime import date, timedelta

from feedplan.model.moment import DayOfYear, Hemisphere

DAY = timedelta(days=1)
WEEK = timedelta(days=7)


def season_of(day: date, hemisphere: Hemisphere) -> int:
    """The season a day belongs to: the calendar year in the north, July to June named by its July in the south."""
    if hemisphere is Hemisphere.SOUTH and day.month < 7:
        return day.year - 1
    return day.year


def season_start(season: int, hemisphere: Hemisphere) -> date:
    """The first day of a season."""
    return date(season, 7 if hemisphere is Hemisphere.SOUTH else 1, 1)


def season_end(season: int, hemisphere: Hemisphere) -> date:
    """The last day of a season."""
    return season_start(season + 1, hemisphere) - DAY


def day_in_season(day: DayOfYear, season: int, hemisphere: Hemisphere) -> date:
    """The date a day and month have in a season."""
    later_half = hemisphere is Hemisphere.SOUTH and day.month < 7
    return day.in_year(season + 1 if later_half else season)


def month_end(day: date) -> date:
    """The last day of a day's month."""
    return (day.replace(day=28) + 4 * DAY).replace(day=1) - DAY
