"""The calendars over HTTP, answered without the web framework: phones ask for them all day, mostly for nothing new."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime
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


class CalendarMiddleware:
    """A WSGI application that answers for calendars and leaves everything else to the one inside.

    now: the clock. refusal: the answer that tells what went wrong.
    """

    def __init__(
        self,
        inside: WSGIApplication,
        snapshots: Snapshots,
        calendars: Calendars,
        now: Callable[[], datetime],
        refusal: Callable[[Exception], Response],
    ) -> None:
        self._inside = inside
        self._snapshots = snapshots
        self._calendars = calendars
        self._now = now
        self._refusal = refusal

    def __call__(self, environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        """Answer one request."""
        path: str = environ["PATH_INFO"]
        if not path.endswith(".ics") or rights_in(environ) is None:
            return self._inside(environ, start_response)
        try:
            answer = self._answer(path[1:], environ)
        except Exception as problem:
            return self._refusal(problem)(environ, start_response)
        if answer is None:
            return self._inside(environ, start_response)
        start_response(answer.status, answer.headers)
        return [] if environ["REQUEST_METHOD"] == "HEAD" else [answer.body]

    def _answer(self, file: str, environ: WSGIEnvironment) -> CalendarAnswer | None:
        """The calendar of that name; None when there is none."""
        if environ["REQUEST_METHOD"] not in ("GET", "HEAD"):
            raise MethodNotAllowed(["GET", "HEAD"])
        snapshot = self._snapshots.current()
        version = self._calendars.version(snapshot, file)
        if version is None:
            return None
        place = address_part(snapshot.loaded.collection.place.name)
        return _calendar_answer(environ, version, f"{place}-{file}", self._now())


def _calendar_answer(
    environ: WSGIEnvironment, version: Version, file_name: str, now: datetime
) -> CalendarAnswer:
    """A calendar, or 304 when the caller holds these very bytes already, packed or not.

    Last-Modified is left out for as long as it would lie in the future (RFC 9110, section 8.8.2.1).
    """
    is_packed = parse_accept_header(environ.get("HTTP_ACCEPT_ENCODING"))["gzip"] > 0
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
