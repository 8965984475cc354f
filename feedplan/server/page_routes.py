"""The addresses of pages, of what they need, and of what is recorded from them."""

from __future__ import annotations

import re
from urllib.parse import urlencode

from flask import Flask, Request, Response, abort, jsonify, request

from feedplan.errors import CannotWriteError, FeedplanError, FilesHaveProblems, UsageError
from feedplan.server.access import Rights
from feedplan.server.assets import Asset, assets, manifest
from feedplan.server.pages import Shown, page
from feedplan.server.recording import Tapped, is_written, record, take_back, tell
from feedplan.server.rendering import Frame, frame_of, render
from feedplan.server.served import Served, rights_of
from feedplan.server.snapshots import Snapshot

_UNDO_S = 60
_A_YEAR = "private, max-age=31536000, immutable"
_PAGE_NAME = re.compile(r"(?:[a-z]+(?:-[a-z0-9-]+)?\.html)?")
_HOST = re.compile(r"[A-Za-z0-9.-]+(?::\d{1,5})?|\[[0-9A-Fa-f:]+\](?::\d{1,5})?")


def add_pages(app: Flask, served: Served) -> None:
    """The pages and the files that belong to them."""

    @app.get("/")
    @app.get("/<name>")
    def some_page(name: str = "") -> Response:
        asset = assets().by_name.get(name)
        if asset is not None:
            return _asset_answer(asset)
        snapshot = served.snapshots.current()
        if name == "app.webmanifest":
            data = manifest(snapshot.loaded.collection.place.name, assets().names)
            return Response(data, content_type="application/manifest+json")
        made = page(name, snapshot, _frame(served, snapshot), _shown(served, snapshot))
        if made is None:
            abort(404)
        return Response(made, content_type="text/html; charset=utf-8")


def add_recording(app: Flask, served: Served) -> None:
    """Writing down and taking back."""

    @app.post("/record")
    def write_down() -> Response:
        return _write(served, "done")

    @app.post("/undo")
    def undo() -> Response:
        return _write(served, "undone")


def _frame(served: Served, snapshot: Snapshot) -> Frame:
    may_record = rights_of(request) is Rights.WRITE
    token = served.access.current().form_token if may_record else ""
    return frame_of(snapshot, served.now(), token=token)


def _shown(served: Served, snapshot: Snapshot) -> Shown:
    fields = {name: value[:200] for name, value in request.args.items()}
    done, _, at = fields.get("done", "").partition(".")
    is_recent = at.isdigit() and 0 <= served.now().timestamp() - int(at) <= _UNDO_S
    told = tell(snapshot, done) if done and is_recent else None
    return Shown(
        fields=fields,
        told=told,
        is_undone="undone" in fields,
        is_waiting=bool(
            done and is_recent and told is None and is_written(served.snapshots.watch.journal, done)
        ),
        calendar_base=_calendar_base(served),
    )


def _calendar_base(served: Served) -> str:
    """The address before a calendar's file name, always with the secret that only reads."""
    base = served.address or (f"http://{request.host}" if _HOST.fullmatch(request.host) else "")
    return f"{base}/{served.access.current().read}/" if base else ""


def _write(served: Served, outcome: str) -> Response:
    """Record or take back what a form says, then go back to its page."""
    _refuse_foreign_forms(served)
    tapped = Tapped(tuple((n, v) for n, v in request.form.items(multi=True) if n != "token"))
    back = tapped.one("back")
    back = back if _PAGE_NAME.fullmatch(back) else ""
    snapshot = served.snapshots.current()
    act = record if outcome == "done" else take_back
    try:
        entry_id = act(tapped, snapshot, served.snapshots.file, served.snapshots.watch.journal)
    except FeedplanError as refusal:
        return _refusal(served, snapshot, refusal, back)
    moment = int(served.now().timestamp())
    target = f"{back or './'}?{urlencode({outcome: f'{entry_id}.{moment}'})}"
    if _wants_json(request):
        return jsonify(next=target)
    return Response(status=303, headers={"Location": target})


def _refuse_foreign_forms(served: Served) -> None:
    """404 without the write secret, 403 for a form that no page of this server made."""
    if rights_of(request) is not Rights.WRITE:
        abort(404)
    came_from = request.headers.get("Sec-Fetch-Site", "same-origin")
    if came_from not in ("same-origin", "none"):
        abort(403)
    if request.mimetype not in ("application/x-www-form-urlencoded", "multipart/form-data"):
        abort(403)
    if not served.access.current().is_form_token(request.form.get("token", "")):
        abort(403)


def _refusal(served: Served, snapshot: Snapshot, refusal: FeedplanError, back: str) -> Response:
    """What stands in the way, as a page or as JSON. What may pass by itself has a code of 500 or more."""
    lines = (
        [p.message for p in refusal.problems] if isinstance(refusal, FilesHaveProblems) else [str(refusal)]
    )
    code = 503 if isinstance(refusal, CannotWriteError) else 400 if isinstance(refusal, UsageError) else 409
    if _wants_json(request):
        answer = jsonify(problem="; ".join(lines))
    else:
        text = render("message.html", _frame(served, snapshot), lines=lines, back=back or "./")
        answer = Response(text, content_type="text/html; charset=utf-8")
    answer.status_code = code
    return answer


def _wants_json(asked: Request) -> bool:
    return asked.headers.get("Accept", "").startswith("application/json")


def _asset_answer(asset: Asset) -> Response:
    answer = Response(asset.data, content_type=asset.content_type)
    if asset.is_lasting:
        answer.headers["Cache-Control"] = _A_YEAR
    return answer
