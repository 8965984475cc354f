"""Where a place is: degrees of latitude as people write them, and the cities of time zones to hold them against."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from functools import lru_cache
from importlib import resources

from feedplan.dose.measures import tidy

_DEGREES_MINUTES = re.compile(
    r"([+-]?[0-9]{1,2})(?:[.,]([0-9]+))? ?°? ?(?:([0-9]{1,2}(?:\.[0-9]+)?) ?['′] ?)?([ns]?)"
)


def degrees_meant(text: str) -> str | None:
    """Degrees of latitude as the file writes them, from "53,5", "53.5 N", "53°30'" or "41.2 S"; None for other text."""
    found = _DEGREES_MINUTES.fullmatch(tidy(text).lower())
    if found is None:
        return None
    whole, part, minutes, side = found.groups()
    degrees = Decimal(f"{whole}.{part or 0}") + Decimal(minutes or 0) / 60 * (
        -1 if whole.startswith("-") else 1
    )
    if abs(degrees) > 90:
        return None
    return f"{round(-abs(degrees) if side == 's' else degrees, 4).normalize():f}"


CITY_OF_ZONE: Mapping[str, str] = {
    **dict.fromkeys(("UK", "GB", "BST", "ENGLAND", "BRITAIN", "GMT+0", "UTC+0"), "Europe/London"),
    **dict.fromkeys(("GMT+1", "UTC+1", "UTC+01:00", "CEST", "MEZ", "MESZ", "GERMANY"), "Europe/Berlin"),
    **dict.fromkeys(("GMT+2", "UTC+2", "UTC+02:00", "EEST"), "Europe/Athens"),
    **dict.fromkeys(("GMT-5", "UTC-5", "UTC-05:00", "EDT", "EASTERN"), "America/New_York"),
    **dict.fromkeys(("GMT-6", "UTC-6", "UTC-06:00", "CDT", "CENTRAL"), "America/Chicago"),
    **dict.fromkeys(("GMT-7", "UTC-7", "UTC-07:00", "MDT", "MOUNTAIN"), "America/Denver"),
    **dict.fromkeys(("GMT-8", "UTC-8", "UTC-08:00", "PDT", "PST", "PACIFIC"), "America/Los_Angeles"),
    **dict.fromkeys(("GMT+9", "UTC+9", "UTC+09:00", "JST", "JAPAN"), "Asia/Tokyo"),
    **dict.fromkeys(("GMT+10", "UTC+10", "UTC+10:00", "AEST", "AEDT"), "Australia/Sydney"),
    **dict.fromkeys(("GMT+12", "UTC+12", "UTC+12:00", "NZST", "NZDT", "NZ"), "Pacific/Auckland"),
}
"""The zone of one city for what people write in its place; an offset alone knows no summer time."""

EQUATORIAL_DEGREES = 10
"""Nearer to the equator than this a zone's city says little about the hemisphere (judgement)."""


@lru_cache(maxsize=8)
def zone_coordinates(time_zone: str) -> str | None:
    """Where a time zone's city lies, as "+513030-0000731" or "+4230+00131"; None when the zone is only an alias.

    Source: zone.tab of the time zone database, public domain, as the tzdata package ships it.
    """
    table = resources.files("tzdata").joinpath("zoneinfo", "zone.tab").read_text(encoding="utf-8")
    for line in table.splitlines():
        columns = line.split("\t")
        if len(columns) > 2 and columns[2] == time_zone:
            return columns[1]
    return None


def zone_latitude(time_zone: str) -> int | None:
    """Whole degrees of latitude of a time zone's city, south below zero; None when the zone is only an alias."""
    coordinates = zone_coordinates(time_zone)
    return None if coordinates is None else int(coordinates[:3])


FAR_FROM_ZONE_DEGREES = 25
"""So far from its city no zone reaches: the longest, of Chile and China, go 22 degrees (judgement)."""


def latitude_meant(latitude: Decimal, time_zone: str) -> Decimal | None:
    """The latitude with its point moved by a place, where only that lies near a time zone's city; else None."""
    city = zone_latitude(time_zone)
    if city is None or abs(latitude - city) <= FAR_FROM_ZONE_DEGREES:
        return None
    return next((moved for moved in (latitude * 10, latitude / 10) if abs(moved - city) <= 12), None)


def is_far_from_zone(latitude: Decimal, time_zone: str) -> bool:
    """Whether a latitude lies further from a time zone's city than its zone reaches."""
    city = zone_latitude(time_zone)
    return city is not None and abs(latitude - city) > FAR_FROM_ZONE_DEGREES


def lies_in_other_hemisphere(latitude: Decimal, time_zone: str) -> bool:
    """Whether a time zone's city lies clearly on the other side of the equator."""
    city = zone_latitude(time_zone)
    return city is not None and abs(city) >= EQUATORIAL_DEGREES and latitude * city < 0
