"""A few days that ask for more than the usual checks: heat, wind, dry air; and days on which root balls are frozen.

Only days on record count, and only spells that still last: nothing here reaches back to make an event of the past.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from math import inf

from feedplan.engine.growing_year import DAY
from feedplan.engine.outdoors.skies import Skies, SkyDay
from feedplan.engine.water.balance import PotKind, is_frozen, is_hot, is_windy
from feedplan.engine.water.check_courses import PotsAlike, WeatherCourses
from feedplan.engine.water.check_rates import LADDER
from feedplan.engine.water.checks import Kind, label_of
from feedplan.engine.water.demand import demand_of, thirstiest
from feedplan.model.reason import DryDays, HotDays, WindyDays
from feedplan.model.schedule import CheckRate
from feedplan.model.season import CheckStretch, FrostSpell
from feedplan.model.statement import Statement

LOOK_BACK_DAYS = 30
"""How far back a spell that still lasts may have begun (judgement)."""

Asked = tuple[SkyDay, int]
"""A day and the step it asks for."""


def rises(
    kinds: Mapping[Kind, Sequence[PotsAlike]],
    courses: WeatherCourses,
    checks: Sequence[CheckStretch],
    today: date,
) -> tuple[CheckStretch, ...]:
    """Spells on record from today on for which pots are looked at oftener than usual, each whole.

    For each kind of pot, and for each tree that a hold has looked at oftener already.
    """
    skies = courses.balance.skies
    if skies.climate.is_stale:
        return ()
    last = skies.climate.forecast_to or today
    days = skies.recorded(today - timedelta(days=LOOK_BACK_DAYS), last)
    found: list[CheckStretch] = []
    for label, members, usual in (*_shared(kinds, checks), *_held(kinds, checks)):
        asked = _asked(members, courses, days, usual)
        above = [(sky, step) for sky, step in asked if step > _usual_step(usual, sky.weather.day)]
        spells = (spell for spell in _spells(above) if spell[-1][0].weather.day >= today)
        found += [_rise(label, spell, usual) for spell in spells]
    return tuple(found)


Watched = tuple[str, Sequence[PotsAlike], Sequence[CheckStretch]]
"""What keys begin with, the pots, and the stretches in which they are looked at as usual."""


def _shared(kinds: Mapping[Kind, Sequence[PotsAlike]], checks: Sequence[CheckStretch]) -> Iterator[Watched]:
    for kind, members in sorted(kinds.items()):
        label = label_of(kind)
        yield label, members, [s for s in checks if s.hold is None and s.key.startswith(f"{label}/")]


def _held(kinds: Mapping[Kind, Sequence[PotsAlike]], checks: Sequence[CheckStretch]) -> Iterator[Watched]:
    """The trees under a hold that asks for more looks; they count as weak."""
    extra: dict[tuple[str, str], list[CheckStretch]] = {}
    for stretch in checks:
        if stretch.hold is not None:
            extra.setdefault((stretch.hold.entry.id, stretch.trees[0].name), []).append(stretch)
    by_first = {pots.trees[0].name: pots for members in kinds.values() for pots in members}
    for (entry, name), usual in extra.items():
        pots = by_first[name]
        label = f"water/{pots.timeline.lineage}/{entry}/{pots.pot_class}"
        yield label, [replace(pots, weak=True)], usual


def _asked(
    members: Sequence[PotsAlike],
    courses: WeatherCourses,
    days: Sequence[SkyDay],
    usual: Sequence[CheckStretch],
) -> Iterator[Asked]:
    """The step each day asks of the thirstiest of some trees; nothing where they are indoors."""
    outdoors = [(pots, vessels) for pots in members if (vessels := courses.vessels(pots)) is not None]
    demands = [
        (pots, thirstiest(d for vessel in vessels if (d := demand_of(vessel)) is not None))
        for pots, vessels in outdoors
    ]
    for sky in days:
        day = sky.weather.day
        usual_step = _usual_step(usual, day)
        for pots, known in demands:
            if pots.timeline.here(day):
                leaf = courses.leaf_on(pots.timeline, day)
                thirst = max((demand.on(sky.et0_mm, leaf) for demand in known), default=inf)
                yield sky, PotKind(pots.pot_class, pots.weak).step_under(sky, thirst, leaf, usual_step)


def _rise(label: str, spell: Sequence[Asked], usual: Sequence[CheckStretch]) -> CheckStretch:
    """One spell as a stretch of its own, at the highest rate any of its days asks for."""
    first, last = spell[0][0].weather.day, spell[-1][0].weather.day
    stands_in_for = [s for s in usual if s.start <= last and s.end >= first]
    return replace(
        max(stands_in_for, key=lambda s: len(s.trees)),
        key=f"{label}/rise/{first}",
        rate=LADDER[max(step for _, step in spell)],
        start=first,
        end=last,
        cause=_cause([sky for sky, _ in spell]),
        raises=tuple(s.key for s in stands_in_for),
        litres_per_day=None,
    )


def _usual_step(usual: Sequence[CheckStretch], day: date) -> int:
    """The step of the usual stretch on a day; the highest where there is none, so that nothing rises above it."""
    rates = [stretch.rate for stretch in usual if stretch.start <= day <= stretch.end]
    return max((_step_of(rate) for rate in rates), default=len(LADDER))


def _step_of(rate: CheckRate) -> int:
    return max((step for step, known in enumerate(LADDER) if known.per_week <= rate.per_week), default=0)


def _spells(above: Sequence[Asked]) -> Iterator[list[Asked]]:
    """Runs of days, one quieter day between two of them passed over."""
    spell: list[Asked] = []
    for sky, step in above:
        if spell and sky.weather.day - spell[-1][0].weather.day > 2 * DAY:
            yield spell
            spell = []
        spell.append((sky, step))
    if spell:
        yield spell


def _cause(days: Sequence[SkyDay]) -> Statement:
    """What the weather does: heat before wind before dry air."""
    hottest = max(days, key=lambda sky: sky.weather.tmax_c)
    if is_hot(hottest):
        return HotDays(round(hottest.weather.tmax_c), hottest.weather.day)
    windiest = max(days, key=lambda sky: sky.weather.weather.wind_m_per_s or 0.0)
    if is_windy(windiest):
        return WindyDays(round(windiest.weather.weather.wind_m_per_s or 0.0), windiest.weather.day)
    driest = max(days, key=lambda sky: sky.et0_mm)
    return DryDays(round(driest.et0_mm, 1), driest.weather.day)


def frost_spells(skies: Skies, today: date) -> tuple[FrostSpell, ...]:
    """Spells on record from today on in which root balls outdoors are likely frozen, each whole."""
    if skies.climate.is_stale:
        return ()
    last = skies.climate.forecast_to or today
    days = skies.recorded(today - timedelta(days=LOOK_BACK_DAYS), last)
    spells = _spells([(sky, 0) for sky in days if is_frozen(sky)])
    return tuple(
        FrostSpell(
            f"frozen/{spell[0][0].weather.day}",
            spell[0][0].weather.day,
            spell[-1][0].weather.day,
            min(sky.weather.tmin_c for sky, _ in spell),
        )
        for spell in spells
        if spell[-1][0].weather.day >= today
    )
