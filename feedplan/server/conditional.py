"""Answers that a client can ask again for cheaply: validators, 304, gzip (RFC 9110, sections 8.8, 12.5 and 13)."""

from __future__ import annotations

from datetime import UTC, datetime
from email.utils import format_datetime, parsedate_to_datetime

from flask import Request, Response

from feedplan.server.calendars import Version

_PACKED = "-gzip"


def calendar_answer(request: Request, version: Version, file_name: str, now: datetime) -> Response:
    """A calendar, or 304 when the caller holds these very bytes already.

    The packed form has an ETag of its own, since a strong one stands for bytes as sent. Last-Modified is left out
    for as long as it would lie in the future (RFC 9110, 8.8.2.1).
    """
    is_packed = _takes_gzip(request)
    headers = {
        "ETag": f'"{version.etag}{_PACKED if is_packed else ""}"',
        "Cache-Control": "private, no-cache",
        "Vary": "Accept-Encoding",
    }
    if version.changed <= now:
        headers["Last-Modified"] = format_datetime(version.changed, usegmt=True)
    if _is_fresh(request, version):
        return Response(status=304, headers=headers)
    body = version.packed if is_packed else version.data
    if is_packed:
        headers["Content-Encoding"] = "gzip"
    headers["Content-Disposition"] = f'inline; filename="{file_name}"'
    return Response(body, headers=headers, content_type="text/calendar; charset=utf-8")


def _is_fresh(request: Request, version: Version) -> bool:
    """Whether the caller's copy is this version. If-None-Match, where given, decides alone (RFC 9110, 13.1.3)."""
    wanted = request.headers.get("If-None-Match")
    if wanted is not None:
        return wanted.strip() == "*" or version.etag in map(_bare_tag, wanted.split(","))
    since = _date(request.headers.get("If-Modified-Since"))
    return since is not None and version.changed <= since


def _bare_tag(tag: str) -> str:
    """An entity tag without weakness mark, quotes and packing."""
    return tag.strip().removeprefix("W/").strip('"').removesuffix(_PACKED)


def _date(text: str | None) -> datetime | None:
    """The time of an HTTP date; None, so that the whole answer is sent, for anything else."""
    try:
        found = parsedate_to_datetime(text or "")
    except (ValueError, TypeError, OverflowError):
        return None
    return found if found.tzinfo is not None else found.replace(tzinfo=UTC)


def _takes_gzip(request: Request) -> bool:
    accepted = request.headers.get("Accept-Encoding", "")
    return "gzip" in accepted and request.accept_encodings["gzip"] > 0
