"""The calendars over HTTP, answered without the web framework: phones ask for them all day, mostly for nothing new."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from werkzeug.exceptions import MethodNotAllowed
from werkzeug.http import http_date, is_resource_modified, parse_accept_header, parse_etags, quote_etag
from werkzeug.wrappers import Response

from feedplan.server.access import rights_in
from feedplan.server.addresses import address_part
from feedplan.server.calendars import Calendars, Version
from feedplan.server.snapshots import Snapshots

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment


class CalendarAnswer(NamedTuple):
    """A whole answer, as WSGI has it."""

    status: str
    headers: list[tuple[str, str]]
    body: bytes


def with_calendars(
    inside: WSGIApplication,
    snapshots: Snapshots,
    calendars: Calendars,
    now: Callable[[], datetime],
    refusal: Callable[[Exception], Response],
) -> WSGIApplication:
    """A WSGI application that answers for calendars and leaves everything else to the one inside.

    now: the clock. refusal: the answer that tells what went wrong.
    """

    def find(file: str, environ: WSGIEnvironment) -> CalendarAnswer | None:
        if environ["REQUEST_METHOD"] not in ("GET", "HEAD"):
            raise MethodNotAllowed(["GET", "HEAD"])
        snapshot = snapshots.current()
        version = calendars.version(snapshot, file)
        file_name = f"{address_part(snapshot.place)}-{file}"
        return None if version is None else _calendar_answer(environ, version, file_name, now())

    def answer_one(environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        path: str = environ["PATH_INFO"]
        found = None
        if path.endswith(".ics") and rights_in(environ) is not None:
            try:
                found = find(path[1:], environ)
            except Exception as problem:
                return refusal(problem)(environ, start_response)
        if found is None:
            return inside(environ, start_response)
        start_response(found.status, found.headers)
        return [] if environ["REQUEST_METHOD"] == "HEAD" else [found.body]

    return answer_one


def _calendar_answer(
    environ: WSGIEnvironment, version: Version, file_name: str, now: datetime
) -> CalendarAnswer:
    """A calendar, or 304 when the caller holds these very bytes already, packed or not.

    Last-Modified is left out for as long as it would lie in the future (RFC 9110, section 8.8.2.1).
    """
    is_packed = _takes_gzip(environ.get("HTTP_ACCEPT_ENCODING"))
    # A strong tag stands for bytes as sent (8.8.3), so the packed form has one of its own.
    tags = [version.etag, f"{version.etag}-gzip"]
    headers = [
        ("ETag", quote_etag(tags[is_packed])),
        ("Cache-Control", "private, no-cache"),
        ("Vary", "Accept-Encoding"),
    ]
    if version.changed <= now:
        headers.append(("Last-Modified", http_date(version.changed)))
    if not _is_modified(environ, tags, version.changed):
        return CalendarAnswer("304 NOT MODIFIED", headers, b"")
    body = version.packed if is_packed else version.data
    headers += [
        ("Content-Type", "text/calendar; charset=utf-8"),
        ("Content-Disposition", f'inline; filename="{file_name}"'),
        ("Content-Length", str(len(body))),
    ]
    if is_packed:
        headers.append(("Content-Encoding", "gzip"))
    return CalendarAnswer("200 OK", headers, body)


def _is_modified(environ: WSGIEnvironment, tags: list[str], changed: datetime) -> bool:
    """Whether the caller's copy is none of these. If-None-Match, where given, decides alone (13.1.3)."""
    held = parse_etags(environ.get("HTTP_IF_NONE_MATCH"))
    if held:
        return not any(map(held.contains_weak, tags))
    try:
        return is_resource_modified(environ, last_modified=changed)
    except OverflowError:  # a date beyond all years, which werkzeug does not catch
        return True


@lru_cache(maxsize=64)  # phones say the same few things all day
def _takes_gzip(accepted: str | None) -> bool:
    return bool(parse_accept_header(accepted)["gzip"] > 0)
