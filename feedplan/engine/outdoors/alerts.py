"""What the weather asks of the grower: cover, shade and shelter in the coming days, more looks in spells.

A spell of heat, wind, dry air or frozen root balls is told whole while it lasts or is still to come, however long ago
it began, so that it stays one event.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta

from feedplan.engine.growing_year import DAY, season_of
from feedplan.engine.outdoors.daily_et import DailyEt, EtDay
from feedplan.engine.outdoors.outdoors import FREEZING_C, Outdoors
from feedplan.engine.season import Alert, AlertKind, FrostSpell, Rise, Timeline
from feedplan.engine.stages.stages import is_soft
from feedplan.engine.water.balance import is_frozen, is_hot, is_windy
from feedplan.engine.water.thirst import LADDER
from feedplan.model.alert import (
    ColdNight,
    DryDays,
    FrostyNight,
    HeatWave,
    HotDays,
    HotRoots,
    RecordEnds,
    StrongWind,
    WindyDays,
)
from feedplan.model.climate import STALE_AFTER_DAYS, ClimateDay
from feedplan.model.collection import Collection, Tree
from feedplan.model.course import Hold
from feedplan.model.moment import Hemisphere
from feedplan.model.statement import Statement
from feedplan.weather.root_zone import root_zone_peak_c

MOST_BETWEEN = timedelta(days=2)
"""Days of one spell lie so near to each other: a single quieter day does not end it (judgement)."""


def alerts_of(
    timelines: Sequence[Timeline], outdoors: Outdoors, collection: Collection, end: date
) -> tuple[Alert, ...]:
    """Every alert from today to `end`, in day order. Only days observed or forecast give one."""
    found = [
        *_stale(outdoors),
        *_heat(timelines, outdoors, end),
        *_on_soft_growth(timelines, outdoors, collection, end),
        *_hot_roots(timelines, outdoors, end),
    ]
    return tuple(sorted(found, key=lambda alert: (alert.start, alert.key)))


def _stale(outdoors: Outdoors) -> Iterator[Alert]:
    climate = outdoors.climate
    last = climate.last_observed if climate is not None else None
    if climate is None or last is None or not outdoors.is_stale:
        return
    day = last + DAY * (STALE_AFTER_DAYS + 2)  # the first day on which it is, so that the alert stays there
    yield Alert(f"alert/stale/{last}", AlertKind.STALE, day, day, RecordEnds(last))


def _heat(timelines: Sequence[Timeline], outdoors: Outdoors, end: date) -> Iterator[Alert]:
    """One alert for each heat wave that is not over, for all trees it holds."""
    held: dict[str, tuple[Hold, list[Timeline]]] = {}
    for timeline in timelines:
        for hold in timeline.holds:
            is_ahead = hold.end is not None and outdoors.today < hold.end and hold.start <= end
            if hold.by_weather and is_ahead and timeline.here(max(outdoors.today, hold.start)):
                held.setdefault(hold.entry.id, (hold, []))[1].append(timeline)
    for hold, members in held.values():
        assert hold.end is not None
        bounds = hold.rule.heat
        wave = next((w for w in outdoors.waves(bounds) if w.start == hold.start), None) if bounds else None
        if wave is None:
            continue
        yield Alert(
            f"alert/heat/{wave.start}",
            AlertKind.HEAT,
            wave.start,
            hold.end - DAY,
            HeatWave(wave.start, round(wave.peak_c), wave.end),
            hold.rule.do,
            tuple(members),
            wave.days[0].source,
        )


def _on_soft_growth(
    timelines: Sequence[Timeline], outdoors: Outdoors, collection: Collection, end: date
) -> Iterator[Alert]:
    """Cold nights and windy days while growth is soft, one alert a day of each kind.

    A day is coldest about dawn, so that its frost is told the day before, while there is an evening to act in.
    """
    habits, today = outdoors.habits, outdoors.today
    for weather in outdoors.record:
        if not today <= weather.day <= end + DAY:
            continue
        wind, night, told_on = weather.weather.wind_m_per_s, round(weather.tmin_c), weather.day - DAY
        is_cold = weather.tmin_c <= habits.frost_alert_c
        is_windy = wind is not None and wind >= habits.wind_alert_m_per_s
        soft = _soft(timelines, collection, weather.day) if is_cold or is_windy else ()
        if soft and is_cold and told_on >= today:
            yield _of_day(AlertKind.FROST, told_on, weather, ColdNight(night, weather.day), soft)
        if soft and weather.day == today and weather.tmin_c <= FREEZING_C:
            yield _of_day(AlertKind.FROSTED, today, weather, FrostyNight(night), soft)
        if soft and wind is not None and is_windy and weather.day <= end:
            yield _of_day(AlertKind.WIND, weather.day, weather, StrongWind(round(wind)), soft)


def _of_day(
    kind: AlertKind, told_on: date, weather: ClimateDay, fact: Statement, soft: tuple[Timeline, ...]
) -> Alert:
    key = f"alert/{kind.name.lower()}/{weather.day}"
    return Alert(key, kind, told_on, told_on, fact, (), soft, weather.source)


def _hot_roots(timelines: Sequence[Timeline], outdoors: Outdoors, end: date) -> Iterator[Alert]:
    """Days on which roots at the sunny side of a pot may be harmed by heat, one alert a day for all such trees."""
    limit_c = float(outdoors.habits.root_heat_alert_c)
    for weather in outdoors.record:
        if not outdoors.today <= weather.day <= end:
            continue
        found: list[Timeline] = []
        hottest = limit_c
        for timeline in timelines:
            hot = [each for each in _peaks(timeline, outdoors, weather) if each[1] >= limit_c]
            if hot and timeline.here(weather.day):
                found.append(replace(timeline, trees=tuple(tree for tree, _ in hot)))
                hottest = max(hottest, *(peak_c for _, peak_c in hot))
        if found:
            fact = HotRoots(round(hottest))
            yield _of_day(AlertKind.HOT_ROOTS, weather.day, weather, fact, tuple(found))


def _peaks(timeline: Timeline, outdoors: Outdoors, weather: ClimateDay) -> Iterator[tuple[Tree, float]]:
    """How hot the root zone of each tree out of doors may get on a day [°C]."""
    for tree in timeline.trees:
        bench, pot = timeline.care.bench_on(tree, weather.day), tree.pot
        if not bench.indoors:
            solar = outdoors.solar_mj_per_m2(weather) * (1 - float(bench.shade))
            air_c, litres = weather.tmax_c + bench.warmth_c, float(pot.litres)
            yield tree, root_zone_peak_c(air_c, solar, litres, pot.colour, open_sided=pot.open_sided)


def _soft(timelines: Sequence[Timeline], collection: Collection, day: date) -> tuple[Timeline, ...]:
    """The trees out of doors whose growth is soft on a day."""
    words, season = collection.vocabulary, season_of(day, collection.place.hemisphere)
    return tuple(
        timeline
        for timeline in timelines
        if timeline.here(day)
        and is_soft(timeline.stage_dates(season), words, day)
        and not timeline.care.shelter_on(day).indoors
    )


Asked = tuple[EtDay, int]
"""A day and what it asks for, above 0."""


def spells_from(
    today: date,
    coming: Iterable[EtDay],
    past: Iterable[EtDay],
    asks: Callable[[EtDay], int],
    hemisphere: Hemisphere | None = None,
) -> Iterator[Sequence[Asked]]:
    """The spells that last or come. asks: what a day asks for, 0 for nothing.

    coming: the days on record from today on; past: those before, the last first. hemisphere: no spell goes on where
    one of its seasons begins.
    """
    days = [(et_day, asked) for et_day in coming if (asked := asks(et_day))]
    if not days:
        return
    begun: list[Asked] = []
    first = days[0][0].weather.day
    for et_day in past:
        if first - et_day.weather.day > MOST_BETWEEN:
            break
        if asked := asks(et_day):
            begun.append((et_day, asked))
            first = et_day.weather.day
    for spell in _runs([*reversed(begun), *days], hemisphere):
        if spell[-1][0].weather.day >= today:
            yield spell


def _runs(days: Sequence[Asked], hemisphere: Hemisphere | None) -> Iterator[Sequence[Asked]]:
    run: list[Asked] = []
    for et_day, asked in days:
        if run and not _are_joined(run[-1][0].weather.day, et_day.weather.day, hemisphere):
            yield run
            run = []
        run.append((et_day, asked))
    if run:
        yield run


def _are_joined(one: date, other: date, hemisphere: Hemisphere | None) -> bool:
    is_cut = hemisphere is not None and season_of(one, hemisphere) != season_of(other, hemisphere)
    return other - one <= MOST_BETWEEN and not is_cut


def rise_of(spell: Sequence[Asked]) -> Rise:
    """A spell at the highest step any of its days asks for, and what asks most: heat before wind before dry air."""
    spelled = [et_day for et_day, _ in spell]
    first, last = spelled[0].weather.day, spelled[-1].weather.day
    rate = LADDER[max(step for _, step in spell)]
    days = (first + DAY * place for place in range((last - first).days + 1))
    near = ((day, [each for each in spelled if day <= each.weather.day <= day + DAY]) for day in days)
    causes = tuple((day, _cause_of(some)) for day, some in near if some)
    return Rise(first, last, rate, _cause_of(spelled), causes)


def _cause_of(spelled: Sequence[EtDay]) -> Statement:
    """What some days bring that asks for more looks: heat before wind before dry air."""
    hottest = max(spelled, key=lambda et_day: et_day.weather.tmax_c)
    windiest = max(spelled, key=lambda et_day: et_day.weather.weather.wind_m_per_s or 0.0)
    driest = max(spelled, key=lambda et_day: et_day.et0_mm)
    cause: Statement = DryDays(round(driest.et0_mm, 1), driest.weather.day)
    if is_hot(hottest):
        cause = HotDays(round(hottest.weather.tmax_c), hottest.weather.day)
    elif is_windy(windiest):
        cause = WindyDays(round(windiest.weather.weather.wind_m_per_s or 0.0), windiest.weather.day)
    return cause


def frost_spells(daily_et: DailyEt, today: date) -> tuple[FrostSpell, ...]:
    """Spells on record from today on in which root balls outdoors are likely frozen, each whole."""
    if daily_et.climate.is_stale or not daily_et.climate.days:
        return ()
    coming = daily_et.recorded(today, daily_et.climate.forecast_to or today)
    found = []
    for spell in spells_from(today, coming, _days_before(daily_et, today), is_frozen):
        first, last = spell[0][0].weather.day, spell[-1][0].weather.day
        lowest = min(et_day.weather.tmin_c for et_day, _ in spell)
        found.append(FrostSpell(f"frozen/{first}", first, last, lowest))
    return tuple(found)


def _days_before(daily_et: DailyEt, today: date) -> Iterator[EtDay]:
    """The days on record before today, the last first."""
    for back in range(1, (today - min(daily_et.climate.days)).days + 1):
        yield from daily_et.recorded(today - DAY * back, today - DAY * back)
