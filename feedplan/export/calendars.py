"""Which calendars there are: that of the rounds, and behind it one for each kind of thing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import time

from feedplan.engine.season import Season
from feedplan.export.entries import calendar_entries
from feedplan.export.entry import CalendarEntry, CalendarName, Kind
from feedplan.export.hold_rows import hold_rows
from feedplan.export.ics import CalendarSettings
from feedplan.export.rounds_calendar import rounds_entries
from feedplan.export.water_rows import water_rows
from feedplan.model.collection import Collection
from feedplan.words.language import say

COLOURS = {
    CalendarName.ROUNDS: "forestgreen",
    CalendarName.FEEDING: "teal",
    CalendarName.WATER: "steelblue",
    CalendarName.HOLDS: "firebrick",
    CalendarName.LOOKS: "darkorange",
    CalendarName.ALERTS: "goldenrod",
    CalendarName.DETAIL: "seagreen",
}
GROUP_COLOUR = "slateblue"
_TITLES = {
    CalendarName.ROUNDS: "Rounds",
    CalendarName.FEEDING: "Feeding",
    CalendarName.WATER: "Water checks",
    CalendarName.HOLDS: "Holds",
    CalendarName.LOOKS: "Looks and questions",
    CalendarName.ALERTS: "Alerts and notes",
    CalendarName.DETAIL: "Everything",
}
_KINDS = {
    CalendarName.ROUNDS: {Kind.ROUND, Kind.WATER},
    CalendarName.WATER: {Kind.WATER},
    CalendarName.HOLDS: {Kind.HOLD},
    CalendarName.FEEDING: {Kind.FEEDING},
    CalendarName.LOOKS: {Kind.REVIEW, Kind.STAGE},
    CalendarName.ALERTS: {Kind.ALERT, Kind.NOTE},
    CalendarName.DETAIL: set(Kind) - {Kind.ROUND},
}


def kinds_of(name: CalendarName) -> frozenset[Kind]:
    """The kinds of entries that a calendar has."""
    return frozenset(_KINDS[name])


def title_of(name: CalendarName) -> str:
    """What a calendar is called, beside the name of the place."""
    return say(_TITLES[name])


@dataclass(frozen=True, slots=True)
class Entries:
    """What the calendars of a season hold. detail: each thing by itself; rounds, water, holds: brought together."""

    detail: list[CalendarEntry]
    rounds: list[CalendarEntry]
    holds: list[CalendarEntry]

    @property
    def all(self) -> list[CalendarEntry]:
        """Everything that any calendar holds, each entry once."""
        return [*self.detail, *self.rounds, *self.holds]

    def of(self, name: CalendarName) -> list[CalendarEntry]:
        """What one calendar holds."""
        match name:
            case CalendarName.ROUNDS:
                return self.rounds
            case CalendarName.HOLDS:
                return self.holds
            case CalendarName.WATER:
                return [
                    *_timed(self.rounds),
                    *(e for e in self.detail if e.kind is Kind.WATER and e.at is None),
                ]
        return [entry for entry in self.detail if entry.kind in _KINDS[name]]


def _timed(entries: list[CalendarEntry]) -> list[CalendarEntry]:
    return [entry for entry in entries if entry.at is not None]


def all_entries(season: Season, collection: Collection) -> Entries:
    """What all calendars hold."""
    return Entries(
        calendar_entries(season, collection), rounds_entries(season, collection), list(hold_rows(season))
    )


def entries_of(name: CalendarName, season: Season, collection: Collection) -> list[CalendarEntry]:
    """What one calendar holds, and nothing worked out for the others."""
    makers: dict[CalendarName, Callable[[], list[CalendarEntry]]] = {
        CalendarName.ROUNDS: lambda: rounds_entries(season, collection),
        CalendarName.HOLDS: lambda: list(hold_rows(season)),
    }
    if name in makers:
        return makers[name]()
    rows = list(water_rows(season)) if name is CalendarName.WATER else []
    return Entries(calendar_entries(season, collection), rows, []).of(name)


def settings_of(
    name: CalendarName,
    collection: Collection,
    *,
    group: str = "",
    alarm_at: time | None = None,
    site: str = "",
    has_day_pages: bool = True,
    source: str = "",
) -> CalendarSettings:
    """How a calendar is known: name, identity, colour, and where it and its pages are found. group: one group's."""
    place = collection.place
    title = group or ("" if name is CalendarName.DETAIL else title_of(name))
    return CalendarSettings(
        identity=collection.identity,
        name=f"{place.name}: {title}" if title else place.name,
        time_zone=place.time_zone,
        description=say(
            "Feeding and watering plan of trees in containers. The labels of products come first."
        ),
        colour=GROUP_COLOUR if group else COLOURS[name],
        alarm_at=alarm_at,
        calendar=f"group/{group}" if group else "" if name is CalendarName.DETAIL else str(name),
        site=site,
        has_day_pages=has_day_pages,
        source=source,
    )
