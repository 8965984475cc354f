"""Where time zones lie: a latitude with its sign forgotten turns a whole year round."""

from __future__ import annotations

from decimal import Decimal
from functools import lru_cache
from importlib import resources

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


def lies_in_other_hemisphere(latitude: Decimal, time_zone: str) -> bool:
    """Whether a time zone's city lies clearly on the other side of the equator."""
    city = zone_latitude(time_zone)
    return city is not None and abs(city) >= EQUATORIAL_DEGREES and latitude * city < 0
