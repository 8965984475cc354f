"""What to do about the weather, what water checks go by, how often to look and to flush, in words."""

from __future__ import annotations

from feedplan.engine.season import Alert, AlertKind, ChecksBasis
from feedplan.model.collection import FlushPace
from feedplan.model.schedule import CheckRate
from feedplan.words.language import say, say_count
from feedplan.words.writing import days_words

_ADVICE = {
    AlertKind.FROST: (
        "This evening bring soft growth under cover, or fleece it down to the ground, and water dry pots; uncover "
        "it in the morning."
    ),
    AlertKind.FROSTED: (
        "Look for limp, glassy or blackened tips; leave them on, and record frost damage if there is any."
    ),
    AlertKind.HOT_ROOTS: (
        "Shade the pots, not the crowns alone: a board or pale cloth on the sunny side, or pots set close; damp the "
        "floor. White pots stay up to 7 °C cooler. A thermometer on the sunny side says better."
    ),
    AlertKind.WIND: "Shelter soft growth and trees not tied in; look at noon, for wind dries like heat.",
    AlertKind.STALE: "Copy the weather file anew, with its forecast.",
}


def alert_advice(alert: Alert) -> tuple[str, ...]:
    """What to do, one instruction each: the rule's own words, or the usual ones for its kind."""
    if alert.do:
        return tuple(map(say, alert.do))
    return (say(_ADVICE[alert.kind]),) if alert.kind in _ADVICE else ()


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
    if a_day >= 1:
        return (
            say("twice a day") if a_day == 2 else say_count("once a day", "{count} times a day", round(a_day))
        )
    if rate.per_week == int(rate.per_week):
        a_week = int(rate.per_week)
        return (
            say("twice a week") if a_week == 2 else say_count("once a week", "{count} times a week", a_week)
        )
    return say("every {days}", days=days_words(apart)) if apart % 7 else say("every {n} weeks", n=apart // 7)


def pace_words(pace: FlushPace) -> str:
    """How often pots are flushed: "every 6 feeds", "every 42 days of feeding", "never"."""
    if pace.every_feeds is not None:
        return say_count("every feed", "every {count} feeds", pace.every_feeds)
    return (
        say("never")
        if pace.every_days is None
        else say("every {days} of feeding", days=days_words(pace.every_days))
    )
