"""With nothing new written down, tomorrow's calendar is today's: no event changes because a day went by."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from feedplan.engine.plan import plan_season
from feedplan.export.entries import calendar_entries
from feedplan.export.entry import CalendarEntry, Kind
from feedplan.load.collection import load_collection

DEMO = Path(__file__).parents[2] / "demo"


def entries_on(name: str, day: date) -> dict[str, CalendarEntry]:
    loaded = load_collection(DEMO / name)
    season = plan_season(loaded.collection, loaded.journal, day)
    return {entry.key: entry for entry in calendar_entries(season, loaded.collection)}


@pytest.mark.parametrize(("name", "day"), [("northern", date(2027, 12, 10)), ("southern", date(2028, 6, 10))])
def test_a_day_without_news_changes_no_feed_check_or_note(name: str, day: date) -> None:
    today, tomorrow = entries_on(name, day), entries_on(name, day + timedelta(days=1))
    moving = {Kind.REVIEW, Kind.STAGE, Kind.HOLD}  # what is overdue moves on with the day, by design
    changed = [
        key
        for key in today.keys() & tomorrow.keys()
        if today[key] != tomorrow[key] and today[key].kind not in moving
    ]
    assert changed == []
