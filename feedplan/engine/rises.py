"""A few days that ask for more than the usual checks: heat, wind, dry air; and days on which root balls are frozen.

Only days on record count, and only spells that still last: nothing here reaches back to make an event of the past.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, timedelta

from feedplan.engine.balance import is_frozen, is_hot, is_windy, step_on
from feedplan.engine.check_courses import PotsAlike, WeatherCourses
from feedplan.engine.check_rates import LADDER
from feedplan.engine.checks import Kind, label_of
from feedplan.engine.demand import demand_of, thirstiest
from feedplan.engine.growing_year import DAY
from feedplan.engine.skies import Skies, SkyDay
from feedplan.engine.words import day_month
from feedplan.model.schedule import CheckRate
from feedplan.model.season import CheckStretch, FrostSpell

LOOK_BACK_DAYS = 30
"""How far back a spell that still lasts may have begun (judgement)."""

Asked = tuple[SkyDay, int]


def rises(
    kinds: Mapping[Kind, Sequence[PotsAlike]],
    courses: WeatherCourses,
    usual: Sequence[CheckStretch],
    today: date,
) -> tuple[CheckStretch, ...]:
    """Spells on record from today on for which a kind of pot is looked at oftener than usual, each whole."""
    skies = courses.balance.skies
    last = skies.climate.forecast_to
    if last is None or skies.is_stale:
        return ()
    days = skies.recorded(today - timedelta(days=LOOK_BACK_DAYS), last)
    found: list[CheckStretch] = []
    for kind, members in sorted(kinds.items()):
        stretches = [s for s in usual if s.key.startswith(f"{label_of(kind)}/") and s.hold is None]
        found += _of_kind(kind, _asked(members, courses, days), stretches, today)
    return tuple(found)


def _asked(members: Sequence[PotsAlike], courses: WeatherCourses, days: Sequence[SkyDay]) -> Sequence[Asked]:
    """The step each day asks of the thirstiest of some trees; none indoors."""
    outdoors = [(pots, vessels) for pots in members if (vessels := courses.vessels(pots)) is not None]
    if not outdoors:
        return ()
    demands = [
        (pots, thirstiest(d for vessel in vessels if (d := demand_of(vessel)) is not None))
        for pots, vessels in outdoors
    ]
    asked = []
    for sky in days:
        day = sky.weather.day
        steps = [0]
        for pots, known in demands:
            if pots.timeline.here(day):
                leaf = courses.leaf_on(pots.timeline, day)
                thirst = max((demand.on(sky.et0_mm, leaf) for demand in known), default=float("inf"))
                steps.append(step_on(sky, thirst, leaf, pots.pot_class, weak=pots.weak))
        asked.append((sky, max(steps)))
    return asked


def _of_kind(
    kind: Kind, asked: Iterable[Asked], usual: Sequence[CheckStretch], today: date
) -> Iterator[CheckStretch]:
    above = [(sky, step) for sky, step in asked if step > _usual_step(usual, sky.weather.day)]
    for spell in _spells(above):
        first, last = spell[0][0].weather.day, spell[-1][0].weather.day
        if last < today:
            continue
        stands_in_for = [s for s in usual if s.start <= last and s.end >= first]
        step = max(step for _, step in spell)
        trees = max(stands_in_for, key=lambda s: len(s.trees)).trees
        group, pot_class, weak = kind
        yield CheckStretch(
            key=f"{label_of(kind)}/rise/{first}",
            group=group,
            pot_class=pot_class,
            rate=LADDER[step],
            start=first,
            end=last,
            trees=trees,
            surface_dry=tuple(tree.name for tree in trees) if weak else (),
            cause=_cause([sky for sky, _ in spell]),
            raises=tuple(s.key for s in stands_in_for),
            dries_first=stands_in_for[0].dries_first,
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


def _cause(days: Sequence[SkyDay]) -> str:
    """What the weather does, in words: heat before wind before dry air."""
    hottest = max(days, key=lambda sky: sky.weather.tmax_c)
    if is_hot(hottest):
        return f"{hottest.weather.tmax_c:.0f} °C on {day_month(hottest.weather.day)}"
    windiest = max(days, key=lambda sky: sky.weather.weather.wind_m_per_s or 0.0)
    if is_windy(windiest):
        wind = windiest.weather.weather.wind_m_per_s or 0.0
        return f"wind of {wind:.0f} m/s on {day_month(windiest.weather.day)}"
    driest = max(days, key=lambda sky: sky.et0_mm)
    return f"dry days, {driest.et0_mm:.1f} mm evaporate on {day_month(driest.weather.day)}"


def frost_spells(skies: Skies, today: date) -> tuple[FrostSpell, ...]:
    """Spells on record from today on in which root balls outdoors are likely frozen, each whole."""
    last = skies.climate.forecast_to
    if last is None or skies.is_stale:
        return ()
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
