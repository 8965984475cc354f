"""The calendars behind the gate, answered without the web framework: phones ask for them all day long."""

from __future__ import annotations

import logging
from collections.abc import Iterable
from typing import TYPE_CHECKING

from feedplan.errors import FeedplanError
from feedplan.server.conditional import Answer, calendar_answer
from feedplan.server.gate import RIGHTS
from feedplan.server.headers import SAFE_HEADERS
from feedplan.server.names import address_part
from feedplan.server.served import Served

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment

log = logging.getLogger("feedplan")
ENDING = ".ics"


class CalendarDesk:
    """A WSGI application that answers for calendars and leaves everything else to another."""

    def __init__(self, others: WSGIApplication, served: Served) -> None:
        self._others = others
        self._served = served

    def __call__(self, environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        """Answer one request."""
        path: str = environ["PATH_INFO"]
        answer = self._answer(path[1:], environ) if path.endswith(ENDING) and environ.get(RIGHTS) else None
        if answer is None:
            return self._others(environ, start_response)
        start_response(answer.status, [*answer.headers, *SAFE_HEADERS])
        return [] if environ["REQUEST_METHOD"] == "HEAD" else [answer.body]

    def _answer(self, file: str, environ: WSGIEnvironment) -> Answer | None:
        """The calendar of that name; None when there is none."""
        if environ["REQUEST_METHOD"] not in ("GET", "HEAD"):
            return _plain("405 METHOD NOT ALLOWED", "A calendar can only be read.", ("Allow", "GET, HEAD"))
        try:
            snapshot = self._served.snapshots.current()
            version = self._served.calendars.version(snapshot, file)
        except FeedplanError as refusal:
            return _plain("503 SERVICE UNAVAILABLE", str(refusal))
        except Exception as fault:
            log.error("A request ended in a fault", exc_info=fault)
            return _plain("500 INTERNAL SERVER ERROR", "feedplan itself has failed here.")
        if version is None:
            return None
        place = address_part(snapshot.loaded.collection.place.name)
        return calendar_answer(environ, version, f"{place}-{file}", self._served.now())


def _plain(status: str, text: str, *headers: tuple[str, str]) -> Answer:
    body = f"{text}\n".encode()
    usual = [("Content-Type", "text/plain; charset=utf-8"), ("Content-Length", str(len(body)))]
    return Answer(status, [*headers, *usual, ("Cache-Control", "no-store")], body)
