"""The web application behind the gate: pages, records and health, each a call that the command line makes too."""

from __future__ import annotations

import gzip
import logging
import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from flask import Flask, Response, abort, jsonify, request
from werkzeug.exceptions import HTTPException

from feedplan.errors import CannotWriteError, FeedplanError, FilesHaveProblems, UsageError
from feedplan.server.addresses import (
    HEALTH,
    AccessFile,
    AccessMiddleware,
    Address,
    Rights,
    helper_in,
    rights_in,
)
from feedplan.server.calendars import Calendars, SiteAddress, takes_gzip, with_calendars
from feedplan.server.pages import KeptPages, PageRequest, page
from feedplan.server.recording import (
    RecordForm,
    is_written,
    puts_back,
    record,
    recorded_entry,
    take_back,
    taking_back,
    wants_a_yes,
)
from feedplan.server.rendering import Layout, assets, manifest, render
from feedplan.server.snapshots import Snapshot, Snapshots
from feedplan.words.language import say

if TYPE_CHECKING:
    from _typeshed.wsgi import WSGIApplication

log = logging.getLogger("feedplan")

_UNDO_S = 60
_LARGEST_FORM = 32 * 1024
_A_YEAR = "private, max-age=31536000, immutable"
_AN_HOUR = "private, max-age=3600"
# What a helper may read: the round of any day, the sheet, the trees, and what the pages need. Nothing else is there.
_OF_HELPERS = re.compile(
    r"/(?:(?:day|tree)-[^/]+\.html|(?:helper|trees|sink|not-here)\.html|guide(?:-[a-z]+)?\.html|app\.webmanifest)?"
)
_LEAST_PACKED = 500  # bytes; less grows by packing
_PAGE_NAME = re.compile(r"(?:[a-z]+(?:-[a-z0-9-]+)?\.html)?")
_HOST = re.compile(r"[A-Za-z0-9.-]+(?::\d{1,5})?|\[[0-9A-Fa-f:]+\](?::\d{1,5})?")


@dataclass(frozen=True, slots=True)
class Service:
    """One collection served. now: the clock. address: where phones find it, without a secret, "" if not told.

    links: the same where it is only likely, for the links in calendars.
    """

    snapshots: Snapshots
    calendars: Calendars
    access: AccessFile
    now: Callable[[], datetime]
    prefix: str = ""
    address: str = ""
    links: str = ""

    @property
    def site(self) -> SiteAddress:
        """Where the calendars' links lead: the pages that only read, for calendars are passed on."""
        base = self.address or self.links
        return SiteAddress(f"{base}/{self.access.current().read}/") if base else SiteAddress()

    def at(self, address: Address | None) -> Service:
        """The same behind a proxy that phones find at an address."""
        return self if address is None else replace(self, prefix=address.prefix, address=address.base)


def make_app(service: Service) -> WSGIApplication:
    """The whole application, ready for a WSGI server."""
    app = Flask("feedplan.server", static_folder=None, template_folder=None)
    app.url_map.strict_slashes = False
    app.url_map.merge_slashes = False
    app.config["MAX_CONTENT_LENGTH"] = _LARGEST_FORM
    app.before_request(_refuse_strangers)
    app.before_request(lambda: _refuse_helpers(service))
    app.after_request(_packed)
    app.after_request(_keep_private)
    app.register_error_handler(Exception, _refusal)
    _add_health(app, service)
    _add_pages(app, service)
    _add_recording(app, service)
    inside = with_calendars(
        app.wsgi_app,
        service.snapshots,
        service.calendars,
        service.now,
        lambda: service.site,
        refusal=_refusal,
    )
    return AccessMiddleware(inside, service.access, service.prefix)


def _add_health(app: Flask, service: Service) -> None:
    @app.get(f"/{HEALTH}")
    def health() -> Response:
        facts = _health_facts(service.snapshots, service.calendars)
        if _rights() not in (Rights.READ, Rights.WRITE):
            facts = {"status": facts["status"]}
        answer = jsonify(facts)
        answer.status_code = 200 if facts["status"] == "ok" else 503
        answer.headers["Cache-Control"] = "no-store"
        return answer


def _health_facts(snapshots: Snapshots, calendars: Calendars) -> dict[str, Any]:
    """`status`: "ok", or "stale" while a last good plan stands in; then what is wrong, where and since when.

    "cannot record" when nothing can be written down, and in `cannot_record` why.
    """
    try:
        snapshot = snapshots.current()
        changed = calendars.changed(snapshot)
    except FeedplanError as problem:
        return {"status": "broken", "message": str(problem)}
    facts: dict[str, Any] = {
        "status": "ok",
        "today": snapshot.today.isoformat(),
        "plan_made": snapshot.made.isoformat(),
        "calendar_changed": changed.isoformat(),
        "events": calendars.event_count(snapshot),
    }
    trouble = snapshot.trouble
    if trouble is not None:
        facts |= {
            "status": "stale",
            "message": trouble.message,
            "file": trouble.file,
            "line": trouble.line,
            "more_problems": trouble.more,
            "since": trouble.since.isoformat(),
        }
    hindrance = snapshots.why_not_recording()
    if hindrance:
        facts |= {"status": "cannot record", "cannot_record": hindrance}
    return facts


def _add_pages(app: Flask, service: Service) -> None:
    """The pages and the files that belong to them."""

    kept = KeptPages()

    @app.get("/")
    @app.get("/<name>")
    def some_page(name: str = "") -> Response:
        asset = assets().by_name.get(name)
        if asset is not None:
            answer = Response(asset.data, content_type=asset.content_type)
            answer.headers["Cache-Control"] = _A_YEAR if asset.is_lasting else _AN_HOUR
            return answer
        snapshot = service.snapshots.current()
        if name == "app.webmanifest":
            data = manifest(snapshot.place, assets().names)
            answer = Response(data, content_type="application/manifest+json")
            answer.headers["Cache-Control"] = _AN_HOUR
            return answer
        if name == "entry.json":
            return jsonify(_entry_facts(snapshot, request.args.get("id", "")))
        layout, asked = _layout(service, snapshot), _page_request(service, snapshot)
        made = kept.get(name, layout, asked) if not asked.fields else page(name, layout, asked)
        if made is None:
            abort(404)
        answer = Response(made, content_type="text/html; charset=utf-8")
        answer.headers["X-Plan"] = snapshot.stamp
        return answer


def _entry_facts(snapshot: Snapshot, entry_id: str) -> dict[str, Any]:
    """What an entry says and changes, for the answer beside the button; empty when it does not stand."""
    found = recorded_entry(snapshot, entry_id)
    if found is None:
        return {}
    return {
        "said": say("Recorded: {entry}.", entry=found.words),
        "changes": found.changes,
        "flags": found.flags,
        "do": found.do,
    }


def _layout(service: Service, snapshot: Snapshot) -> Layout:
    helper = helper_in(request.environ)
    may_record = _rights() is Rights.WRITE or (helper is not None and helper.may_tick)
    token = service.access.current().form_token if may_record else ""
    if helper is None:
        return Layout(snapshot, token)
    return Layout(snapshot, token, helper.name, helper.until)


def _page_request(service: Service, snapshot: Snapshot) -> PageRequest:
    fields = {name: value[:200] for name, value in request.args.items()}
    entry_id, _, at = fields.get("done", "").partition(".")
    is_recent = at.isascii() and at.isdigit() and 0 <= service.now().timestamp() - int(at) <= _UNDO_S
    is_recent = is_recent and entry_id != ""
    recorded = recorded_entry(snapshot, entry_id) if is_recent else None
    is_waiting = is_recent and recorded is None and is_written(service.snapshots.watch.journal, entry_id)
    return PageRequest(
        fields=fields,
        recorded=recorded,
        is_back="back" in fields,
        undone=fields["undone"].partition(".")[0] if "undone" in fields else None,
        is_waiting=is_waiting,
        calendar_base=_calendar_base(service),
    )


def _calendar_base(service: Service) -> str:
    """The address before a calendar's file name, always with the secret that only reads; "" on a helper's pages."""
    if _rights() is Rights.HELP:
        return ""
    base = service.address or (f"http://{request.host}" if _HOST.fullmatch(request.host) else "")
    return f"{base}/{service.access.current().read}/" if base else ""


def _add_recording(app: Flask, service: Service) -> None:
    """Writing down and taking back."""

    @app.post("/record")
    def write_down() -> Response:
        return _write(service, "done")

    @app.post("/undo")
    def undo() -> Response:
        return _write(service, "undone")


def _write(service: Service, outcome: str) -> Response:
    """Record or take back what a form says, then go back to its page."""
    _refuse_foreign_forms(service, outcome)
    form = RecordForm(tuple((n, v) for n, v in request.form.items(multi=True) if n != "token"))
    back = form.one("back")
    back = back if _PAGE_NAME.fullmatch(back) else ""
    is_recording = outcome == "done"
    snapshot, is_current = service.snapshots.latest() if is_recording else (service.snapshots.current(), True)
    if service.snapshots.is_clock_doubtful and snapshot.trouble is not None:
        return _not_recorded(service, snapshot, CannotWriteError(snapshot.trouble.message), back)
    if outcome == "undone" and puts_back(form, snapshot):
        outcome = "back"
    if outcome == "undone" and wants_a_yes(form, snapshot):
        if _wants_json():
            return jsonify(question=taking_back(snapshot, form.one("id")))
        return _go_to(f"undo.html?{urlencode({'id': form.one('id'), 'back': back})}")
    file, journal = service.snapshots.file, service.snapshots.watch.journal
    try:
        if is_recording:
            helper = helper_in(request.environ)
            entry_id = record(form, snapshot, file, journal, may_name_group=is_current, helper=helper)
        else:
            entry_id = take_back(form, snapshot, file, journal)
    except FeedplanError as problem:
        return _not_recorded(service, snapshot, problem, back)
    moment = int(service.now().timestamp())
    target = f"{back or './'}?{urlencode({outcome: f'{entry_id}.{moment}'})}"
    if _wants_json():
        said = {"done": say("Recorded."), "undone": say("Taken back."), "back": say("Put back.")}[outcome]
        return jsonify(id=entry_id, said=said, next=target)
    return _go_to(target)


def _go_to(target: str) -> Response:
    """Lead a browser without script on to another page."""
    return Response(status=303, headers={"Location": target})


def _refuse_foreign_forms(service: Service, outcome: str) -> None:
    """404 without a secret that records, 403 for a form that no page of this server made."""
    helper = helper_in(request.environ)
    may_tick = helper is not None and helper.may_tick and outcome == "done"
    if _rights() is not Rights.WRITE and not may_tick:
        abort(404)
    came_from = request.headers.get("Sec-Fetch-Site", "same-origin")
    if came_from not in ("same-origin", "none"):
        abort(403)
    if request.mimetype not in ("application/x-www-form-urlencoded", "multipart/form-data"):
        abort(403)
    if not service.access.current().is_form_token(request.form.get("token", "")):
        abort(403)


def _not_recorded(service: Service, snapshot: Snapshot, problem: FeedplanError, back: str) -> Response:
    """What stands in the way, as a page or as JSON. What may pass by itself has a code of 500 or more."""
    lines = (
        [p.message for p in problem.problems] if isinstance(problem, FilesHaveProblems) else [str(problem)]
    )
    if _wants_json():
        answer = jsonify(problem="; ".join(lines))
    else:
        heading = say("Not recorded")
        text = render(
            "message.html", _layout(service, snapshot), heading=heading, lines=lines, back=back or "./"
        )
        answer = Response(text, content_type="text/html; charset=utf-8")
    answer.status_code = (
        503 if isinstance(problem, CannotWriteError) else 400 if isinstance(problem, UsageError) else 409
    )
    return answer


def _rights() -> Rights | None:
    return rights_in(request.environ)


def _wants_json() -> bool:
    return request.headers.get("Accept", "").startswith("application/json")


def _refuse_strangers() -> None:
    """404 for whoever has no right secret, before anything else is looked at."""
    if _rights() is None and request.path != f"/{HEALTH}":
        abort(404)


def _refuse_helpers(service: Service) -> Response | None:
    """410 and why for a helper whose time is over, 404 where helpers have nothing to look for."""
    helper = helper_in(request.environ)
    if helper is None:
        return None
    why = helper.why_ended(service.snapshots.current().today)
    if why:
        return _plain(why, 410)
    is_theirs = _OF_HELPERS.fullmatch(request.path) or request.path[1:] in assets().by_name
    if not is_theirs and not (helper.may_tick and request.path in ("/record", "/entry.json")):
        abort(404)
    return None


def _keep_private(answer: Response) -> Response:
    answer.headers.setdefault("Cache-Control", "private, no-cache")
    return answer


def _packed(answer: Response) -> Response:
    """The answer under an ETag, nothing where the caller has it already, and small where the caller takes that."""
    if request.method not in ("GET", "HEAD") or answer.status_code != 200 or request.path == f"/{HEALTH}":
        return answer
    answer.vary.add("Accept-Encoding")
    answer.add_etag(weak=True)
    answer.make_conditional(request)
    is_worth_it = (answer.mimetype or "").startswith(("text/", "application/", "image/svg"))
    if answer.status_code == 200 and is_worth_it and takes_gzip(request.headers.get("Accept-Encoding")):
        data = answer.get_data()
        if len(data) >= _LEAST_PACKED:
            answer.set_data(gzip.compress(data, 6, mtime=0))
            answer.headers["Content-Encoding"] = "gzip"
    return answer


def _refusal(problem: Exception) -> Any:
    """A short plain answer; a stranger's and a wrong page's are the same to the byte."""
    if isinstance(problem, HTTPException):
        code = problem.code or 500
        if code < 400:
            return problem
        allowed = [(name, value) for name, value in problem.get_headers() if name == "Allow"]
        return _plain(_what_is_wrong(code) or problem.name, code, allowed)
    if isinstance(problem, FeedplanError):
        return _plain(str(problem), 503)
    log.error(say("A request ended in a fault"), exc_info=problem)
    return _plain(say("feedplan itself has failed here."), 500)


def _plain(text: str, code: int, headers: list[tuple[str, str]] | None = None) -> Response:
    answer = Response(f"{text}\n", code, headers, content_type="text/plain; charset=utf-8")
    answer.headers["Cache-Control"] = "no-store"
    return answer


def _what_is_wrong(code: int) -> str:
    """What a request of no use has wrong, "" for what seldom is."""
    return {
        400: say("This request cannot be understood."),
        404: say("There is nothing here."),
        405: say("This address takes no such request."),
        413: say("This is too much to send at once."),
    }.get(code, "")
