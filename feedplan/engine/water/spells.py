"""Spells of weather on record: heat, wind and dry air that ask for more looks than usual, and frozen root balls.

A spell is told whole while it lasts or is still to come, however long ago it began, so that it stays one event.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date, timedelta

from feedplan.engine.growing_year import DAY, season_of
from feedplan.engine.outdoors.skies import Skies, SkyDay
from feedplan.engine.season import FrostSpell, Rise
from feedplan.engine.water.balance import is_frozen, is_hot, is_windy
from feedplan.engine.water.check_rates import LADDER
from feedplan.model.alert import DryDays, HotDays, WindyDays
from feedplan.model.moment import Hemisphere
from feedplan.model.statement import Statement

MOST_BETWEEN = timedelta(days=2)
"""Days of one spell lie so near to each other: a single quieter day does not end it (judgement)."""

Asked = tuple[SkyDay, int]
"""A day and what it asks for, above 0."""


def spells_from(
    today: date,
    coming: Iterable[SkyDay],
    past: Iterable[SkyDay],
    asks: Callable[[SkyDay], int],
    hemisphere: Hemisphere | None = None,
) -> Iterator[Sequence[Asked]]:
    """The spells that last or come. asks: what a day asks for, 0 for nothing.

    coming: the days on record from today on; past: those before, the last first. hemisphere: no spell goes on where
    one of its seasons begins.
    """
    days = [(sky, asked) for sky in coming if (asked := asks(sky))]
    if not days:
        return
    begun: list[Asked] = []
    first = days[0][0].weather.day
    for sky in past:
        if first - sky.weather.day > MOST_BETWEEN:
            break
        if asked := asks(sky):
            begun.append((sky, asked))
            first = sky.weather.day
    for spell in _runs([*reversed(begun), *days], hemisphere):
        if spell[-1][0].weather.day >= today:
            yield spell


def _runs(days: Sequence[Asked], hemisphere: Hemisphere | None) -> Iterator[Sequence[Asked]]:
    run: list[Asked] = []
    for sky, asked in days:
        if run and not _are_joined(run[-1][0].weather.day, sky.weather.day, hemisphere):
            yield run
            run = []
        run.append((sky, asked))
    if run:
        yield run


def _are_joined(one: date, other: date, hemisphere: Hemisphere | None) -> bool:
    is_cut = hemisphere is not None and season_of(one, hemisphere) != season_of(other, hemisphere)
    return other - one <= MOST_BETWEEN and not is_cut


def rise_of(spell: Sequence[Asked]) -> Rise:
    """A spell at the highest step any of its days asks for, and what asks most: heat before wind before dry air."""
    skies = [sky for sky, _ in spell]
    first, last = skies[0].weather.day, skies[-1].weather.day
    rate = LADDER[max(step for _, step in spell)]
    hottest = max(skies, key=lambda sky: sky.weather.tmax_c)
    windiest = max(skies, key=lambda sky: sky.weather.weather.wind_m_per_s or 0.0)
    driest = max(skies, key=lambda sky: sky.et0_mm)
    cause: Statement = DryDays(round(driest.et0_mm, 1), driest.weather.day)
    if is_hot(hottest):
        cause = HotDays(round(hottest.weather.tmax_c), hottest.weather.day)
    elif is_windy(windiest):
        cause = WindyDays(round(windiest.weather.weather.wind_m_per_s or 0.0), windiest.weather.day)
    return Rise(first, last, rate, cause)


def frost_spells(skies: Skies, today: date) -> tuple[FrostSpell, ...]:
    """Spells on record from today on in which root balls outdoors are likely frozen, each whole."""
    if skies.climate.is_stale or not skies.climate.days:
        return ()
    coming = skies.recorded(today, skies.climate.forecast_to or today)
    found = []
    for spell in spells_from(today, coming, _days_before(skies, today), is_frozen):
        first, last = spell[0][0].weather.day, spell[-1][0].weather.day
        lowest = min(sky.weather.tmin_c for sky, _ in spell)
        found.append(FrostSpell(f"frozen/{first}", first, last, lowest))
    return tuple(found)


def _days_before(skies: Skies, today: date) -> Iterator[SkyDay]:
    """The days on record before today, the last first."""
    for back in range(1, (today - min(skies.climate.days)).days + 1):
        yield from skies.recorded(today - DAY * back, today - DAY * back)
