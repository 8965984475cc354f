"""An invented collection's entries, and ways to make more of them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, time, timedelta

from hypothesis import strategies as st

from feedplan.export.entry import CalendarEntry, Kind, Repeat
from feedplan.export.ics import CalendarSettings, last_day, one_line
from feedplan.export.ledger import Ledger, Scope
from feedplan.export.publish import calendar_bytes

TODAY = date(2027, 3, 14)
SCOPE = Scope(TODAY - timedelta(days=30), TODAY + timedelta(days=400))
SETTINGS = CalendarSettings(identity="mill-yard", name="Mill Yard trees", time_zone="Europe/London")

FEED = CalendarEntry(
    key="feed/growing-on/2027/3",
    kind=Kind.FEEDING,
    start=date(2027, 4, 6),
    title="Feed growing-on: 6.2 g in 10 L, 12 trees",
    text=(
        "Per can of 10 L: 6.2 g of the 24-8-16 powder.\n"
        "Trees: Bramble, Fiddler, Quill.\n"
        "Not Tansy: roots cut 2027-03-12."
    ),
    group="growing-on",
)
HOLD = CalendarEntry(
    key="hold/tansy/roots/2027-03-12",
    kind=Kind.HOLD,
    start=date(2027, 3, 12),
    title="No feed for Tansy: roots cut",
    text="Ends no earlier than 2027-04-16, and only once new growth is seen.",
    group="growing-on",
    days=36,
)
WATER = CalendarEntry(
    key="water/refined/2027/2",
    kind=Kind.WATER,
    start=date(2027, 3, 20),
    title="Check water: refined",
    group="refined",
    at=time(7),
    repeat=Repeat(until=date(2027, 4, 10)),
)
TWICE_A_WEEK = CalendarEntry(
    key="water/growing-on/2027/1",
    kind=Kind.WATER,
    start=date(2027, 3, 16),
    title="Check water: growing-on",
    group="growing-on",
    at=time(7, 30),
    repeat=Repeat(until=date(2027, 5, 31), weekdays=(0, 3)),
)
REVIEW = CalendarEntry(
    key="review/tansy/roots/2027-03-12/1",
    kind=Kind.REVIEW,
    start=date(2027, 4, 16),
    title="Look at Tansy: new growth?",
    text="If it grows: feedplan record Tansy growing",
    group="growing-on",
)
STAGE = CalendarEntry(
    key="stage/larch/bud-burst/2027",
    kind=Kind.STAGE,
    start=date(2027, 3, 25),
    title="Buds open on the larches?",
    repeat=Repeat(until=date(2027, 4, 24), every_days=3),
)
ENTRIES = (FEED, HOLD, WATER, TWICE_A_WEEK, REVIEW, STAGE)

# What a grower, or a bad copy and paste, may put in a name: right-to-left text, characters beyond the Basic
# Multilingual Plane, everything that a calendar escapes, and what other programs take for a line break.
NASTY_TEXTS = (
    "Acer, 'Ōsakazuki'; the red one",
    "back\\slash \\n \\N \\, \\; end\\",
    "🌳🌲 " * 40 + "forest",
    "עץ זית ותיק (اللوز)",
    "é" * 200,
    "e\u0301 joined\u200dup",
    'quote " and colon: and =',
    "BEGIN:VEVENT END:VEVENT",
    "\\" * 151,
    ",;" * 100,
)
HOSTILE_TEXTS = (
    "one\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nUID:x",
    "one\nATTACH:http://example.org/",
    "one\rX-A:b",
    "one\x85X-A:b\u2028X-B:c\u2029X-C:d\x0bX-D:e\x0cX-E:f",
    "bell\x07 nul\x00 del\x7f esc\x1b[31m",
    "half a pair \ud83c",
)


def built(
    entries: Iterable[CalendarEntry],
    settings: CalendarSettings = SETTINGS,
    scope: Scope | None = None,
    ledger: Ledger | None = None,
) -> bytes:
    """A snapshot of entries wherever they lie, as bytes."""
    entries = list(entries)
    days = [TODAY, *(entry.start for entry in entries), *(last_day(entry) for entry in entries)]
    whole = Scope(min(days), max(days))
    return calendar_bytes(entries, settings, scope or whole, TODAY, ledger=ledger).data


_ANY_TEXT = st.text(
    st.one_of(
        st.characters(),  # lone surrogates included
        st.sampled_from("\\,;:\"'\n\r\t \x00\x07\x1f\x7f\x85\u2028\u202e\ufeffעא🌳é"),
    ),
    max_size=160,
)
_DAYS = st.dates(date(2026, 1, 1), date(2041, 12, 31))


@st.composite
def repeats(draw: st.DrawFn, start: date) -> Repeat:
    """A recurrence from a day that is itself an occurrence."""
    until = start + timedelta(days=draw(st.integers(0, 200)))
    if draw(st.booleans()):
        return Repeat(until, every_days=draw(st.integers(1, 20)))
    others = draw(st.sets(st.integers(0, 6), max_size=4))
    return Repeat(until, weekdays=tuple(sorted(others | {start.weekday()})))


@st.composite
def entries_of(draw: st.DrawFn, texts: st.SearchStrategy[str] = _ANY_TEXT) -> CalendarEntry:
    """An entry of any kind and shape, its texts as bad as they come."""
    start = draw(_DAYS)
    at = draw(st.none() | st.times().map(lambda at: at.replace(microsecond=0)))
    return CalendarEntry(
        key=draw(st.text(min_size=1, max_size=40)),
        kind=draw(st.sampled_from(Kind)),
        start=start,
        title=draw(texts),
        text=draw(texts),
        group=draw(st.none() | texts.filter(one_line)),
        at=at,
        days=draw(st.integers(1, 90)) if at is None else 1,
        minutes=draw(st.integers(1, 3000)) if at else 15,
        repeat=draw(st.none() | repeats(start)),
    )


def collections_of_entries(
    texts: st.SearchStrategy[str] = _ANY_TEXT,
) -> st.SearchStrategy[list[CalendarEntry]]:
    """Some entries with keys of their own."""
    return st.lists(entries_of(texts), max_size=5, unique_by=lambda entry: entry.key)
