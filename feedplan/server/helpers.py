"""Helpers: people with an address of their own for a time, to read what is to do or to tick water and feeds too."""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

from feedplan.errors import UsageError
from feedplan.words.language import say
from feedplan.words.writing import full_day

SECRET_BYTES = 24  # 192 bits, 32 characters: cannot be guessed, and a calendar's address stays short
SHORTEST_SECRET = 24
_LONGEST_NAME = 40
_LONGEST_TIME = timedelta(days=400)


@dataclass(frozen=True, slots=True)
class Helper:
    """Somebody with an address of their own. since, until: its first and last day. may_tick: record water and feeds."""

    name: str
    secret: str
    since: date
    until: date
    may_tick: bool = False
    is_taken_back: bool = False

    def why_ended(self, today: date) -> str:
        """Why the address works no more on a day, "" while it works."""
        if self.is_taken_back:
            return say("This address was taken back. Ask whoever gave it to you for another.")
        if today > self.until:
            day = full_day(self.until)
            return say("This address ended on {day}. Ask whoever gave it to you for another.", day=day)
        return ""

    @property
    def note(self) -> str:
        """What stands beside each entry that came by this address."""
        return say("by {name}", name=self.name)


def helper_of(secret: bytes, helpers: Iterable[Helper]) -> Helper | None:
    """Whose address a secret is, None for nobody's; takes equally long whoever's it is."""
    found = None
    for helper in helpers:
        if hmac.compare_digest(secret, helper.secret.encode()):
            found = helper
    return found


def with_helper(
    helpers: tuple[Helper, ...], name: str, today: date, until: date, *, may_tick: bool
) -> tuple[Helper, ...]:
    """The helpers with one more. Raises UsageError for a name that has an address, and for a day of no use."""
    name = " ".join(name.split())
    if not 0 < len(name) <= _LONGEST_NAME or not name.isprintable():
        raise UsageError(say("name the helper in 1 to {most} signs", most=_LONGEST_NAME))
    if any(each.name == name and not each.why_ended(today) for each in helpers):
        raise UsageError(say("{name} has an address already; take it back first: --take-back", name=name))
    if not today <= until <= today + _LONGEST_TIME:
        last = today + _LONGEST_TIME
        raise UsageError(
            say(
                "{day} cannot be the last day; choose one from {today} to {last}",
                day=until,
                today=today,
                last=last,
            )
        )
    return (*helpers, Helper(name, secrets.token_urlsafe(SECRET_BYTES), today, until, may_tick))


def without_helper(helpers: tuple[Helper, ...], name: str, today: date) -> tuple[Helper, ...]:
    """The helpers with one's address taken back. Raises UsageError for a name that has none."""
    if not any(each.name == name and not each.why_ended(today) for each in helpers):
        raise UsageError(say("{name} has no address; --helpers lists who has one", name=name))
    return tuple(replace(each, is_taken_back=True) if each.name == name else each for each in helpers)


def helper_facts(helper: Helper, base: str) -> dict[str, object]:
    """A helper and the address for `--json`. base: where the server is found."""
    return {
        "name": helper.name,
        "address": f"{base}/{helper.secret}/",
        "from": helper.since,
        "until": helper.until,
        "may_tick": helper.may_tick,
    }


def helper_lines(helper: Helper, base: str) -> Iterator[str]:
    """A helper and what the address allows, as text. base: where the server is found."""
    told = (
        "{name}, to {day}: reads, and ticks water and feeds."
        if helper.may_tick
        else "{name}, to {day}: reads."
    )
    yield say(told, name=helper.name, day=full_day(helper.until))
    yield f"  {base}/{helper.secret}/"


def kept_helper(helper: Helper) -> dict[str, object]:
    """A helper as the state folder keeps it."""
    return {
        "name": helper.name,
        "secret": helper.secret,
        "since": helper.since.isoformat(),
        "until": helper.until.isoformat(),
        "may_tick": helper.may_tick,
        "taken_back": helper.is_taken_back,
    }


def read_helper(kept: Mapping[str, object]) -> Helper:
    """The same read again. Raises ValueError for what was not written by feedplan."""
    match kept:
        case {
            "name": str(name),
            "secret": str(secret),
            "since": str(since),
            "until": str(until),
            "may_tick": bool(may_tick),
            "taken_back": bool(is_taken_back),
        } if len(secret) >= SHORTEST_SECRET:
            days = date.fromisoformat(since), date.fromisoformat(until)
            return Helper(name, secret, *days, may_tick, is_taken_back)
    raise ValueError("no helper")
