"""What the weather asks for, and how often to look at pots and to flush them, in words."""

from __future__ import annotations

from datetime import date

from feedplan.engine.season import Alert, AlertKind, ChecksBasis
from feedplan.model.reason import (
    AlertFact,
    ColdNight,
    DryDays,
    HeatWave,
    HotDays,
    RecordEnds,
    StrongWind,
    ThirstFact,
    WindyDays,
)
from feedplan.model.schedule import CheckRate
from feedplan.model.water import FlushPace
from feedplan.words.language import say, say_count
from feedplan.words.writing import day_month, days_words, places

_ADVICE = {
    AlertKind.FROST: "Bring soft growth under cover or fleece it for the night; record frost damage if there is any.",
    AlertKind.WIND: "Shelter soft growth and trees not tied in; look at noon, for wind dries like heat.",
    AlertKind.STALE: "Copy the weather file anew, with its forecast.",
}
_ALERTS = {
    AlertKind.FROST: "frost alert",
    AlertKind.HEAT: "heat alert",
    AlertKind.WIND: "wind alert",
    AlertKind.STALE: "weather record alert",
}


def alert_kind_words(kind: AlertKind) -> str:
    """What an alert is about: "heat alert"."""
    return say(_ALERTS[kind])


def alert_advice(alert: Alert) -> tuple[str, ...]:
    """What to do, one instruction each: the rule's own words, or the usual ones for its kind."""
    if alert.do:
        return alert.do
    return (say(_ADVICE[alert.kind]),) if alert.kind in _ADVICE else ()


def alert_words(fact: AlertFact, read_on: date) -> str:
    """What comes, in a sentence without its full stop."""
    match fact:
        case HeatWave(start, peak_c, end):
            return say(
                "Heat wave from {start}, up to {temp} °C: no feed, no work and no spraying before {end}",
                start=day_month(start, read_on),
                temp=places(peak_c),
                end=day_month(end, read_on),
            )
        case ColdNight(tmin_c):
            return say("{temp} °C at night: frost may reach soft growth", temp=places(tmin_c))
        case StrongWind(m_per_s):
            return say("Wind {speed} m/s on soft growth", speed=places(m_per_s))
        case RecordEnds(last):
            return say(
                "The weather record ends {day}; its forecast counts for nothing any more",
                day=day_month(last, read_on),
            )


def thirst_words(fact: ThirstFact, read_on: date) -> str:
    """Why pots dry faster for some days: heat, wind or dry air."""
    day = day_month(fact.day, read_on)
    match fact:
        case HotDays(tmax_c):
            return say("{temp} °C on {day}", temp=places(tmax_c), day=day)
        case WindyDays(m_per_s):
            return say("wind of {speed} m/s on {day}", speed=places(m_per_s), day=day)
        case DryDays(et0_mm):
            return say("dry days, {mm} mm evaporate on {day}", mm=places(et0_mm, 1), day=day)


_CHECKS_BY = {
    ChecksBasis.FORECAST: "Checks go by the weather: normals for the year, the forecast for the days ahead.",
    ChecksBasis.NORMALS: "Checks go by the weather: normals for the year; no forecast is at hand.",
    ChecksBasis.TABLE_BY_HABIT: "Checks go by each schedule's table: the habits say checks_by: schedule.",
    ChecksBasis.TABLE_NO_CLIMATE: "Checks go by each schedule's table: there is no climate folder.",
    ChecksBasis.TABLE_NO_NORMALS: (
        "Checks go by each schedule's table: the climate folder has no normals, and its record is too short to make "
        "them."
    ),
}


def checks_by_words(basis: ChecksBasis) -> str:
    """What water checks go by, one sentence."""
    return say(_CHECKS_BY[basis])


def indoors_words() -> str:
    """What checks go by for a tree that the weather does not reach."""
    return say("Indoors the weather does not count, so checks go by the schedule's table.")


def rate_words(rate: CheckRate) -> str:
    """How often to look: "twice a day", "every 3 days", "once a week"."""
    a_day, apart = rate.per_week / 7, round(7 / rate.per_week)
    if rate.per_week >= 7:
        return (
            say_count("once a day", "{count} times a day", round(a_day)) if a_day != 2 else say("twice a day")
        )
    if rate.per_week == 1:
        return say("once a week")
    if rate.per_week == int(rate.per_week):
        count = int(rate.per_week)
        return say("twice a week") if count == 2 else say("{count} times a week", count=count)
    if apart % 7 == 0:
        return say("every {weeks} weeks", weeks=apart // 7)
    return say("every {days}", days=days_words(apart))


def pace_words(pace: FlushPace) -> str:
    """How often pots are flushed: "every 6 feeds", "every 42 days of feeding", "never"."""
    if pace.every_feeds is not None:
        return say_count("every feed", "every {count} feeds", pace.every_feeds)
    if pace.every_days is not None:
        return say_count("every {count} day of feeding", "every {count} days of feeding", pace.every_days)
    return say("never")
