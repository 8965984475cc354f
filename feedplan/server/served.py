"""What the web application works with, and what a caller of it may do."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime

from flask import Request

from feedplan.server.access import AccessFile, Rights
from feedplan.server.addresses import Address
from feedplan.server.calendars import Calendars
from feedplan.server.gate import RIGHTS
from feedplan.server.snapshots import Snapshots


@dataclass(frozen=True, slots=True)
class Served:
    """One collection served. now: the clock. address: where phones find it, without a secret, "" if not told."""

    snapshots: Snapshots
    calendars: Calendars
    access: AccessFile
    now: Callable[[], datetime]
    prefix: str = ""
    address: str = ""

    def at(self, address: Address | None) -> Served:
        """The same behind a proxy that phones find at an address."""
        return self if address is None else replace(self, prefix=address.prefix, address=address.base)


def rights_of(asked: Request) -> Rights | None:
    """What the gate found the caller may do."""
    found: Rights | None = asked.environ.get(RIGHTS)
    return found
