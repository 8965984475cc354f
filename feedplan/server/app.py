"""The web application behind the gate: calendars, pages and records, each a call that the command line makes too."""

from __future__ import annotations

import logging
from typing import TYPE_CHECKING, Any

from flask import Flask, Response, abort, jsonify, request
from werkzeug.exceptions import HTTPException

from feedplan.errors import FeedplanError
from feedplan.server.calendar_desk import CalendarDesk
from feedplan.server.gate import HEALTH, Gate
from feedplan.server.headers import SAFE_HEADERS
from feedplan.server.health import health_facts
from feedplan.server.page_routes import add_pages, add_recording
from feedplan.server.served import Served, rights_of

if TYPE_CHECKING:
    from _typeshed.wsgi import WSGIApplication

log = logging.getLogger("feedplan")

_UNHELPFUL = {
    400: "This request cannot be understood.",
    404: "There is nothing here.",
    405: "This address takes no such request.",
    413: "This is too much to send at once.",
}


def make_app(served: Served) -> WSGIApplication:
    """The whole application, ready for a WSGI server."""
    app = Flask("feedplan.server", static_folder=None, template_folder=None)
    app.url_map.strict_slashes = False
    app.url_map.merge_slashes = False
    app.config["MAX_CONTENT_LENGTH"] = 32 * 1024
    app.before_request(_refuse_strangers)
    app.after_request(_protect)
    app.register_error_handler(Exception, _say_what_went_wrong)
    _add_health(app, served)
    add_pages(app, served)
    add_recording(app, served)
    return Gate(CalendarDesk(app.wsgi_app, served), served.access, served.prefix)


def _add_health(app: Flask, served: Served) -> None:
    @app.get(f"/{HEALTH}")
    def health() -> Response:
        facts = health_facts(served.snapshots, served.calendars)
        if rights_of(request) is None:
            facts = {"status": facts["status"]}
        answer = jsonify(facts)
        answer.status_code = 200 if facts["status"] == "ok" else 503
        answer.headers["Cache-Control"] = "no-store"
        return answer


def _refuse_strangers() -> None:
    """404 for whoever has no right secret, before anything else is looked at."""
    if rights_of(request) is None and request.path != f"/{HEALTH}":
        abort(404)


def _protect(answer: Response) -> Response:
    answer.headers.extend(SAFE_HEADERS)
    if "Cache-Control" not in answer.headers:
        answer.headers["Cache-Control"] = "private, no-cache"
    return answer


def _say_what_went_wrong(error: Exception) -> Any:
    """A short plain answer; a stranger's and a wrong page's are the same to the byte."""
    if isinstance(error, HTTPException):
        code = error.code or 500
        if code < 400:
            return error
        text = _UNHELPFUL.get(code, error.name)
        answer = Response(f"{text}\n", status=code, content_type="text/plain; charset=utf-8")
        allowed = dict(error.get_headers()).get("Allow")
        if allowed:
            answer.headers["Allow"] = allowed
        return answer
    if isinstance(error, FeedplanError):
        return Response(f"{error}\n", status=503, content_type="text/plain; charset=utf-8")
    log.error("A request ended in a fault", exc_info=error)
    return Response(
        "feedplan itself has failed here.\n", status=500, content_type="text/plain; charset=utf-8"
    )
