"""What a calendar entry is, before any file format: plain values, no library."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, time
from enum import StrEnum

from feedplan.model.course import FeedEvent, SolidEvent


class Kind(StrEnum):
    """What an entry is about; calendars can be narrowed to some of these."""

    FEEDING = "feeding"
    WATER = "water"
    HOLD = "hold"
    REVIEW = "review"
    STAGE = "stage"
    ALERT = "alert"
    NOTE = "note"
    ROUND = "round"


class CalendarName(StrEnum):
    """The calendars of a collection, the one to begin with first."""

    ROUNDS = "rounds"
    FEEDING = "feeding"
    WATER = "water"
    HOLDS = "holds"
    LOOKS = "looks"
    ALERTS = "alerts"
    DETAIL = "detail"


@dataclass(frozen=True, slots=True)
class Repeat:
    """A plain recurrence: every `every` days, or weekly on `weekdays` (0 is Monday), to `until` inclusive."""

    until: date
    every_days: int = 1
    weekdays: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class CalendarEntry:
    """One entry of the calendar.

    key: its identity within the collection, the same for ever, e.g. "feed/growing-on/2027/3".
    start: first day. at: local wall-clock time, or None for an all-day entry.
    days: length of an all-day entry [days]. minutes: length of a timed entry [min].
    title: one line, verb first. text: several lines. group: the group it belongs to, if one. answer: how to answer it
    where no page is known to answer on. told: the ids of the journal's entries that say what became of it.
    """

    key: str
    kind: Kind
    start: date
    title: str
    text: str = ""
    group: str | None = None
    at: time | None = None
    days: int = 1
    minutes: int = 15
    repeat: Repeat | None = None
    answer: str = ""
    told: tuple[str, ...] = ()


def entry_ids(events: Iterable[FeedEvent | SolidEvent]) -> tuple[str, ...]:
    """The ids of the journal's entries that say what became of feeds or layings, each once."""
    return tuple(sorted({event.entry.id for event in events if event.entry is not None}))
