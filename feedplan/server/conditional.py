"""Answers that a client can ask again for cheaply: validators, 304, gzip (RFC 9110, sections 8.8, 12.5 and 13)."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import UTC, datetime
from email.utils import format_datetime, parsedate_to_datetime
from typing import NamedTuple

from feedplan.server.calendars import Version

_PACKED = "-gzip"
_NO_WEIGHT = re.compile(r"q=0(\.0*)?")


class Answer(NamedTuple):
    """A whole answer, before any web framework."""

    status: str
    headers: list[tuple[str, str]]
    body: bytes


def calendar_answer(asked: Mapping[str, str], version: Version, file_name: str, now: datetime) -> Answer:
    """A calendar, or 304 when the caller holds these very bytes already.

    asked: the request's headers as a WSGI server names them. The packed form has an ETag of its own, since a strong
    one stands for bytes as sent. Last-Modified is left out for as long as it would lie in the future (8.8.2.1).
    """
    is_packed = _takes_gzip(asked.get("HTTP_ACCEPT_ENCODING", ""))
    headers = [
        ("ETag", f'"{version.etag}{_PACKED if is_packed else ""}"'),
        ("Cache-Control", "private, no-cache"),
        ("Vary", "Accept-Encoding"),
    ]
    if version.changed <= now:
        headers.append(("Last-Modified", format_datetime(version.changed, usegmt=True)))
    if _is_fresh(asked, version):
        return Answer("304 NOT MODIFIED", headers, b"")
    body = version.packed if is_packed else version.data
    headers += [
        ("Content-Type", "text/calendar; charset=utf-8"),
        ("Content-Disposition", f'inline; filename="{file_name}"'),
        ("Content-Length", str(len(body))),
    ]
    if is_packed:
        headers.append(("Content-Encoding", "gzip"))
    return Answer("200 OK", headers, body)


def _is_fresh(asked: Mapping[str, str], version: Version) -> bool:
    """Whether the caller's copy is this version. If-None-Match, where given, decides alone (13.1.3)."""
    wanted = asked.get("HTTP_IF_NONE_MATCH")
    if wanted is not None:
        return wanted.strip() == "*" or version.etag in map(_bare_tag, wanted.split(","))
    since = _date(asked.get("HTTP_IF_MODIFIED_SINCE"))
    return since is not None and version.changed <= since


def _bare_tag(tag: str) -> str:
    """An entity tag without weakness mark, quotes and packing."""
    return tag.strip().removeprefix("W/").strip('"').removesuffix(_PACKED)


def _date(text: str | None) -> datetime | None:
    """The time of an HTTP date; None, so that the whole answer is sent, for anything else."""
    if not text:
        return None
    try:
        found = parsedate_to_datetime(text)
    except (ValueError, TypeError, OverflowError):
        return None
    return found if found.tzinfo is not None else found.replace(tzinfo=UTC)


def _takes_gzip(accepted: str) -> bool:
    """Whether gzip is among the codings a caller takes, and not at weight 0 (12.5.3)."""
    for part in accepted.lower().split(","):
        coding, _, weight = part.partition(";")
        if coding.strip() == "gzip":
            return _NO_WEIGHT.fullmatch(weight.replace(" ", "")) is None
    return False
