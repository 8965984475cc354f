"""What the weather of the coming days asks of the grower: cover soft growth, shade in heat, shelter from wind."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from feedplan.engine.growing_year import DAY, season_of
from feedplan.engine.outdoors.outdoors import Outdoors
from feedplan.engine.season import Alert, AlertKind, Timeline
from feedplan.model.alert import ColdNight, HeatWave, RecordEnds, StrongWind
from feedplan.model.climate import ClimateDay
from feedplan.model.collection import Collection
from feedplan.model.course import Hold
from feedplan.model.stage import Vocabulary
from feedplan.model.statement import Statement


def alerts_of(
    timelines: Sequence[Timeline], outdoors: Outdoors, collection: Collection, end: date
) -> tuple[Alert, ...]:
    """Every alert from today to `end`, in day order. Only days observed or forecast give one."""
    found = [
        *_stale(outdoors),
        *_heat(timelines, outdoors, end),
        *_on_soft_growth(timelines, outdoors, collection, end),
    ]
    return tuple(sorted(found, key=lambda alert: (alert.start, alert.key)))


def _stale(outdoors: Outdoors) -> Iterator[Alert]:
    climate = outdoors.climate
    last = climate.last_observed if climate is not None else None
    if climate is None or last is None or not outdoors.is_stale:
        return
    day = outdoors.today
    yield Alert(f"alert/stale/{last}", AlertKind.STALE, day, day, RecordEnds(last))


def _heat(timelines: Sequence[Timeline], outdoors: Outdoors, end: date) -> Iterator[Alert]:
    """One alert for each heat wave that is not over, for all trees it holds."""
    held: dict[str, tuple[Hold, list[Timeline]]] = {}
    for timeline in timelines:
        for hold in timeline.holds:
            if hold.by_weather and hold.end is not None and outdoors.today < hold.end and hold.start <= end:
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
    """Cold nights and windy days while growth is soft, one alert a day of each kind."""
    habits = outdoors.habits
    for weather in outdoors.record:
        if not outdoors.today <= weather.day <= end:
            continue
        wind = weather.weather.wind_m_per_s
        is_cold = weather.tmin_c <= habits.frost_alert_c
        is_windy = wind is not None and wind >= habits.wind_alert_m_per_s
        soft = _soft(timelines, collection, weather.day) if is_cold or is_windy else ()
        if soft and is_cold:
            yield _of_day(AlertKind.FROST, weather, ColdNight(round(weather.tmin_c)), soft)
        if soft and wind is not None and is_windy:
            yield _of_day(AlertKind.WIND, weather, StrongWind(round(wind)), soft)


def _of_day(kind: AlertKind, weather: ClimateDay, fact: Statement, soft: tuple[Timeline, ...]) -> Alert:
    key = f"alert/{kind}/{weather.day}"
    return Alert(key, kind, weather.day, weather.day, fact, (), soft, weather.source)


def _soft(timelines: Sequence[Timeline], collection: Collection, day: date) -> tuple[Timeline, ...]:
    """The trees out of doors whose growth is soft on a day."""
    words, season = collection.vocabulary, season_of(day, collection.place.hemisphere)
    return tuple(
        timeline
        for timeline in timelines
        if timeline.here(day)
        and _is_soft(timeline, words, season, day)
        and not timeline.care.shelter_on(day).indoors
    )


def _is_soft(timeline: Timeline, words: Vocabulary, season: int, day: date) -> bool:
    reached = [at for at in timeline.stage_dates(season) if at.day is not None and at.day <= day]
    latest = max(reached, key=lambda at: at.day or day, default=None)
    return latest is not None and latest.stage in words.words and words.words[latest.stage].soft
