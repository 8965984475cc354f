"""Whether the plan shown is that of the files, for a monitor."""

from __future__ import annotations

from typing import Any

from feedplan.errors import FeedplanError
from feedplan.server.calendars import Calendars
from feedplan.server.snapshots import Snapshots


def health_facts(snapshots: Snapshots, calendars: Calendars) -> dict[str, Any]:
    """`status`: "ok", or "stale" while a last good plan stands in; then what is wrong, where and since when."""
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
    return facts
