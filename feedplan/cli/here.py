"""What the machine knows of where it stands: its time zone, and the latitude of that zone's city. No network."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from zoneinfo import ZoneInfo

from feedplan.load.read_site import zone_coordinates

_LINK = Path("/etc/localtime")
_NAME_FILE = Path("/etc/timezone")


@dataclass(frozen=True, slots=True)
class City:
    """The principal place of a time zone. latitude: [degrees, north positive], to one decimal."""

    name: str
    latitude: Decimal


def machine_time_zone(
    environment: Mapping[str, str] = os.environ, link: Path = _LINK, name_file: Path = _NAME_FILE
) -> str | None:
    """The IANA name of the machine's time zone: from TZ, else /etc/localtime, else /etc/timezone; None if untold."""
    told = (environment.get("TZ", "").removeprefix(":"), _name_in_link(link), _first_line(name_file))
    return next((name for name in told if name and is_zone(name)), None)


def is_zone(name: str) -> bool:
    """Whether a name is that of a time zone."""
    try:
        ZoneInfo(name)
    except (LookupError, ValueError, OSError):
        return False
    return True


def _name_in_link(link: Path) -> str:
    """The zone a link points at: "Europe/London" for /usr/share/zoneinfo/Europe/London."""
    try:
        target = os.path.realpath(link, strict=True)
    except OSError:
        return ""
    name = target.partition("zoneinfo/")[2]
    return name.removeprefix("posix/").removeprefix("right/")


def _first_line(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8").strip().partition("\n")[0]
    except (OSError, ValueError):
        return ""


def city_of(time_zone: str) -> City | None:
    """The city a time zone is named after, as the time zone database (zone.tab, public domain) places it."""
    coordinates = zone_coordinates(time_zone)
    if coordinates is None:
        return None
    return City(time_zone.rpartition("/")[2].replace("_", " "), _degrees(coordinates))


def _degrees(coordinates: str) -> Decimal:
    """The latitude in "+513030-0000731" or "+4230+00131", degrees then minutes, to one decimal."""
    degrees, minutes = int(coordinates[1:3]), int(coordinates[3:5])
    value = (Decimal(degrees) + Decimal(minutes) / 60).quantize(Decimal("0.1"))
    return -value if coordinates[0] == "-" else value
