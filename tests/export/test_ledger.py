"""What a calendar remembers: numbers that only go up, cancellations that are real, damage that does no harm."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedplan.export.entry import CalendarEntry, Kind
from feedplan.export.ics import calendar_uid, event_uid
from feedplan.export.ledger import (
    Draft,
    Ledger,
    LedgerError,
    PublishedEvent,
    Scope,
    dump_ledger,
    parse_ledger,
)
from feedplan.export.publish import Built, calendar_bytes
from tests.properties import examples

from .samples import ENTRIES, FEED, HOLD, REVIEW, SCOPE, SETTINGS, STAGE, TODAY, WATER

CALENDAR = calendar_uid(SETTINGS.identity)


def publish(
    entries: Iterable[CalendarEntry],
    ledger: Ledger | None = None,
    after_days: int = 0,
    scope: Scope | None = None,
    **options: Any,
) -> Built:
    """The import file of a day; the window moves along unless given."""
    today = TODAY + timedelta(days=after_days)
    moved = Scope(today - timedelta(days=30), today + timedelta(days=400))
    options.setdefault("with_cancelled", True)
    return calendar_bytes(entries, SETTINGS, scope or moved, today, ledger=ledger, **options)


def record_of(built: Built, entry: CalendarEntry) -> PublishedEvent:
    return built.ledger.records[event_uid(SETTINGS.identity, entry.key)]


def is_shown(built: Built, entry: CalendarEntry) -> bool:
    return f"UID:{event_uid(SETTINGS.identity, entry.key)}\r\n".encode() in built.data


def counts(built: Built) -> tuple[int, int, int, int]:
    return built.report.events, built.report.new, built.report.changed, built.report.cancelled


def test_the_first_time_everything_is_new_and_numbered_0() -> None:
    first = publish(ENTRIES)
    assert counts(first) == (6, 6, 0, 0)
    assert {record.sequence for record in first.ledger.records.values()} == {0}


def test_an_unchanged_plan_gives_the_same_bytes_on_a_later_day() -> None:
    first = publish(ENTRIES)
    later = publish(ENTRIES, first.ledger, after_days=1)
    assert later.data == first.data
    assert later.ledger == first.ledger
    assert counts(later) == (6, 0, 0, 0)


@pytest.mark.parametrize(
    "change",
    [
        {"start": FEED.start + timedelta(days=1)},
        {"title": "Feed growing-on: 3.1 g in 10 L, 12 trees"},
        {"text": "shorter"},
        {"at": time(7)},
        {"days": 2},
        {"kind": Kind.NOTE},
        {"group": "refined"},
    ],
)
def test_a_change_goes_up_by_one_and_is_stamped(change: dict[str, Any]) -> None:
    first = publish(ENTRIES)
    changed = replace(FEED, **change)
    second = publish([changed, *ENTRIES[1:]], first.ledger, after_days=3)
    assert counts(second) == (6, 0, 1, 0)
    assert record_of(second, FEED).sequence == 1
    assert record_of(second, FEED).changed == "20270317T000000Z"
    assert record_of(second, HOLD) == record_of(first, HOLD)


def test_a_text_that_differs_only_in_what_no_calendar_shows_is_no_change() -> None:
    first = publish([FEED])
    second = publish(
        [replace(FEED, text=FEED.text.replace("\n", "\r\n") + " \n")], first.ledger, after_days=1
    )
    assert second.data == first.data


def test_two_changes_on_one_day_are_two_numbers() -> None:
    ledger = publish([FEED]).ledger
    ledger = publish([replace(FEED, title="two")], ledger).ledger
    third = publish([FEED], ledger)
    assert record_of(third, FEED).sequence == 2


def test_a_given_stamp_is_used_in_utc() -> None:
    stamp = datetime.fromisoformat("2027-03-14T21:30:00-05:00")
    assert record_of(publish([FEED], stamp=stamp), FEED).changed == "20270315T023000Z"


def test_a_clock_set_back_does_not_take_the_stamp_back() -> None:
    first = publish([FEED], after_days=10)
    second = publish([replace(FEED, title="other")], first.ledger, after_days=0)
    assert record_of(second, FEED).changed == record_of(first, FEED).changed


def test_what_is_gone_is_cancelled_once_and_loses_its_alarm() -> None:
    with_alarm = replace(SETTINGS, alarm_at=time(8))
    first = calendar_bytes([FEED, REVIEW], with_alarm, SCOPE, TODAY)
    second = calendar_bytes([FEED], with_alarm, SCOPE, TODAY, ledger=first.ledger, with_cancelled=True)
    assert second.data.count(b"STATUS:CANCELLED") == 1
    assert (first.data.count(b"BEGIN:VALARM"), second.data.count(b"BEGIN:VALARM")) == (2, 1)
    record = record_of(second, REVIEW)
    assert (record.sequence, record.gone) == (1, TODAY)
    third = calendar_bytes([FEED], with_alarm, SCOPE, TODAY, ledger=second.ledger, with_cancelled=True)
    assert third.data == second.data
    assert third.report.cancelled == 0


@pytest.mark.parametrize(("after_days", "shown"), [(1, True), (60, True), (61, False)])
def test_a_cancelled_event_stays_60_days_from_when_it_went(after_days: int, shown: bool) -> None:
    """Gone on day 1, so shown up to and with day 60; its own day lies further ahead."""
    ahead = replace(FEED, start=date(2027, 8, 1))
    ledger = publish([ahead, HOLD]).ledger
    ledger = publish([HOLD], ledger, after_days=1).ledger
    later = publish([HOLD], ledger, after_days=after_days)
    assert is_shown(later, ahead) == shown


def test_cancelled_events_can_be_left_out() -> None:
    ledger = publish(ENTRIES).ledger
    second = publish(ENTRIES[1:], ledger, with_cancelled=False)
    assert not is_shown(second, FEED)
    assert second.report.cancelled == 1


@pytest.mark.parametrize("away_days", [10, 100, 300])
def test_what_comes_back_is_live_again_under_a_higher_number(away_days: int) -> None:
    far = replace(FEED, start=date(2028, 2, 1))
    ledger = publish([far, HOLD]).ledger
    ledger = publish([HOLD], ledger, after_days=1).ledger
    for day in range(2, away_days, 30):
        ledger = publish([], ledger, after_days=day).ledger
    back = publish([far], ledger, after_days=away_days)
    record = record_of(back, far)
    assert (record.sequence, record.gone) == (2, None)
    uid = event_uid(SETTINGS.identity, far.key)
    shown = back.data.decode().partition(f"UID:{uid}\r\n")[2].partition("END:VEVENT")[0]
    assert "SEQUENCE:2\r\nSTATUS:CONFIRMED\r\n" in shown
    assert counts(back)[:3] == (1, 0, 1)


def test_what_falls_out_of_the_past_end_of_the_window_just_leaves() -> None:
    ledger = publish([STAGE, FEED]).ledger  # the last question of STAGE is on 24 April
    gone = (date(2027, 4, 24) - TODAY).days + 31
    later = publish([FEED], ledger, after_days=gone)
    assert not is_shown(later, STAGE)
    assert later.report.cancelled == 0
    assert record_of(later, STAGE).gone is None


def test_what_the_plan_has_no_more_is_off_while_it_is_not_over() -> None:
    ledger = publish([STAGE, FEED]).ledger
    last = (date(2027, 4, 24) - TODAY).days  # of the questions of STAGE
    assert publish([FEED], ledger, after_days=last).report.cancelled == 1
    over = publish([FEED], ledger, after_days=last + 1)
    assert (over.report.cancelled, over.report.events, is_shown(over, STAGE)) == (0, 2, True)


def test_what_is_over_says_what_it_said_until_the_journal_tells_more_of_it() -> None:
    first = publish([FEED])
    over = (FEED.start - TODAY).days + 1
    reworded = replace(FEED, title="Feed growing-on: 3.1 g in 10 L, 11 trees")
    assert publish([reworded], first.ledger, after_days=over - 1).report.changed == 1
    same = publish([reworded], first.ledger, after_days=over)
    assert (same.data, same.report.changed) == (first.data, 0)
    told = publish([replace(reworded, told=("2x7kq",))], same.ledger, after_days=over)
    assert told.report.changed == 1
    later = publish(
        [replace(FEED, told=("2x7kq",))], parse_ledger(dump_ledger(told.ledger), CALENDAR), over + 9
    )
    assert (later.data, later.report.changed) == (told.data, 0)


def test_a_late_record_makes_no_event_of_a_day_that_was_published_and_is_over() -> None:
    first = publish([FEED])
    late = replace(FEED, key="feed/growing-on/2027/late", start=FEED.start + timedelta(days=2))
    after = (late.start - TODAY).days + 1
    assert publish([FEED, late], first.ledger, after_days=after - 1).report.new == 1
    assert publish([FEED, late], first.ledger, after_days=after).data == first.data
    earlier = replace(late, start=FEED.start - timedelta(days=2))  # a window that reaches further back
    assert publish([FEED, earlier], first.ledger, after_days=after).report.new == 1


def test_what_is_over_may_be_put_off_to_a_day_to_come() -> None:
    first = publish([FEED])
    over = (FEED.start - TODAY).days + 1
    moved = replace(FEED, start=FEED.start + timedelta(days=over + 3))
    assert publish([moved], first.ledger, after_days=over).report.changed == 1


@pytest.mark.parametrize("kind", [Kind.WATER, Kind.HOLD])
def test_checks_and_holds_that_are_over_give_way_to_those_that_took_their_days(kind: Kind) -> None:
    span = replace(FEED, kind=kind)
    ledger = publish([span]).ledger
    over = (FEED.start - TODAY).days + 1
    assert publish([], ledger, after_days=over).report.cancelled == 1


@pytest.mark.parametrize(
    "narrow",
    [
        replace(SCOPE, groups=frozenset({"refined"})),
        replace(SCOPE, kinds=frozenset({Kind.WATER})),
        replace(SCOPE, last=date(2027, 3, 22)),
        replace(SCOPE, first=date(2027, 5, 1)),
    ],
    ids=["one group", "one kind", "fewer days ahead", "from later on"],
)
def test_a_narrowed_export_cancels_nothing_and_the_whole_one_is_as_before(narrow: Scope) -> None:
    first = publish(ENTRIES, scope=SCOPE)
    narrowed = publish(ENTRIES, first.ledger, after_days=1, scope=narrow)
    assert narrowed.report.events < len(ENTRIES)
    assert b"STATUS:CANCELLED" not in narrowed.data
    whole = publish(ENTRIES, narrowed.ledger, after_days=2, scope=SCOPE)
    assert whole.data == first.data


def test_a_narrowed_export_still_cancels_what_is_gone_of_its_own() -> None:
    ledger = publish(ENTRIES, scope=SCOPE).ledger
    without = [entry for entry in ENTRIES if entry not in (WATER, FEED)]
    narrowed = publish(without, ledger, scope=replace(SCOPE, groups=frozenset({"refined"})))
    assert narrowed.report.cancelled == 1
    assert record_of(narrowed, WATER).gone == TODAY
    assert record_of(narrowed, FEED).gone is None


def test_what_went_while_left_out_is_cancelled_when_it_would_be_shown_again() -> None:
    ledger = publish(ENTRIES, scope=SCOPE).ledger
    ledger = publish(ENTRIES[1:], ledger, scope=replace(SCOPE, kinds=frozenset({Kind.WATER}))).ledger
    whole = publish(ENTRIES[1:], ledger, after_days=5, scope=SCOPE)
    assert record_of(whole, FEED).gone == TODAY + timedelta(days=5)


def test_what_a_narrowed_export_never_showed_is_not_cancelled_later() -> None:
    narrow = replace(SCOPE, kinds=frozenset({Kind.WATER}))
    ledger = publish(ENTRIES, scope=narrow).ledger
    assert publish([WATER], ledger, scope=SCOPE).report.cancelled == 1  # the other water check alone


def test_an_event_put_off_beyond_the_window_is_cancelled_at_its_old_day() -> None:
    """A calendar imported before must not go on showing a feed on a day that it was moved from."""
    short = replace(SCOPE, last=TODAY + timedelta(days=40))
    ledger = publish([FEED], scope=short).ledger
    moved = replace(FEED, start=TODAY + timedelta(days=60))
    second = publish([moved], ledger, scope=short)
    assert record_of(second, FEED).gone == TODAY
    third = publish([moved], second.ledger, scope=SCOPE)
    assert (record_of(third, FEED).sequence, record_of(third, FEED).gone) == (2, None)


def test_an_event_handed_to_another_group_is_not_cancelled_in_the_calendar_of_the_first() -> None:
    """The calendar of the other group has it under the same UID, and a cancellation would win over that."""
    mine = replace(SCOPE, groups=frozenset({"growing-on"}))
    ledger = publish([FEED, HOLD], scope=mine).ledger
    second = publish([replace(FEED, group="refined"), HOLD], ledger, scope=mine)
    assert not is_shown(second, FEED)
    assert second.report.cancelled == 0


def test_an_entry_of_no_group_is_in_the_calendar_of_each() -> None:
    assert is_shown(publish(ENTRIES, scope=replace(SCOPE, groups=frozenset({"refined"}))), STAGE)


def test_calendars_of_one_collection_can_share_a_ledger() -> None:
    whole = publish(ENTRIES, scope=SCOPE)
    group = publish(ENTRIES, whole.ledger, scope=replace(SCOPE, groups=frozenset({"growing-on"})))
    assert group.ledger == whole.ledger
    assert publish(ENTRIES, group.ledger, scope=SCOPE).data == whole.data


def test_a_snapshot_has_no_cancelled_events() -> None:
    ledger = publish(ENTRIES).ledger
    snapshot = calendar_bytes(ENTRIES[1:], SETTINGS, SCOPE, TODAY, ledger=ledger)
    assert b"STATUS:CANCELLED" not in snapshot.data
    assert not is_shown(snapshot, FEED)


@pytest.mark.parametrize(
    ("first", "last", "is_covered"),
    [(-3, -1, False), (-3, 0, True), (0, 9, True), (9, 12, True), (10, 12, False)],
)
def test_an_event_with_any_day_of_the_window_is_shown_both_ends_included(
    first: int, last: int, is_covered: bool
) -> None:
    draft = Draft(Kind.NOTE, None, TODAY + timedelta(days=first), TODAY + timedelta(days=last), "")
    assert Scope(TODAY, TODAY + timedelta(days=9)).covers(draft) == is_covered


def test_records_long_past_are_forgotten() -> None:
    ledger = publish([FEED]).ledger
    assert len(publish([], ledger, after_days=400).ledger.records) == 1
    assert len(publish([], ledger, after_days=430).ledger.records) == 0


def test_a_zone_no_longer_used_by_the_collection_stays_for_what_is_cancelled_in_it() -> None:
    ledger = publish([WATER]).ledger
    moved = replace(SETTINGS, time_zone="Asia/Tokyo")
    data = calendar_bytes([], moved, SCOPE, TODAY, ledger=ledger, with_cancelled=True).data
    assert b"TZID:Europe/London\r\n" in data
    assert b"TZID:Asia/Tokyo\r\n" not in data


PLANS = st.lists(
    st.tuples(
        st.lists(st.sampled_from(ENTRIES), unique=True),
        st.sampled_from(["", " (moved)", " (weaker)"]),
        st.sampled_from([SCOPE, replace(SCOPE, groups=frozenset({"refined"})), replace(SCOPE, last=TODAY)]),
        st.integers(0, 40),
    ),
    min_size=1,
    max_size=7,
)


@given(PLANS)
@examples(60)
def test_numbers_and_stamps_never_go_down_and_rise_with_each_change(plans: list[Any]) -> None:
    ledger, day = Ledger(CALENDAR), 0
    for entries, suffix, scope, days in plans:
        day += days
        named = [replace(entry, title=entry.title + suffix) for entry in entries]
        built = publish(named, ledger, after_days=day, scope=scope)
        for uid, before in ledger.records.items():
            after = built.ledger.records[uid]
            differs = (after.draft.body, after.gone) != (before.draft.body, before.gone)
            assert after.sequence == before.sequence + differs
            assert after.changed >= before.changed
        assert publish(named, built.ledger, after_days=day, scope=scope).data == built.data
        ledger = built.ledger


@given(PLANS)
@examples(30)
def test_a_ledger_read_back_is_the_ledger_written(plans: list[Any]) -> None:
    ledger = Ledger(CALENDAR)
    for entries, suffix, scope, days in plans:
        named = [replace(entry, title=entry.title + suffix) for entry in entries]
        ledger = publish(named, ledger, after_days=days, scope=scope).ledger
    raw = dump_ledger(ledger)
    assert parse_ledger(raw, CALENDAR) == ledger
    assert dump_ledger(parse_ledger(raw, CALENDAR)) == raw


def spoiled(**values: Any) -> bytes:
    """A ledger with one wrong value in its one event."""
    content = json.loads(dump_ledger(publish([FEED]).ledger))
    (event,) = content["events"].values()
    event.update(values)
    return json.dumps(content).encode()


@pytest.mark.parametrize(
    "raw",
    [
        b"",
        b"{",
        b"null",
        b"[]",
        b"\xff\xfe",
        b'{"format": 1}',
        b"[" * 100_000,
        dump_ledger(publish(ENTRIES).ledger)[:-200],
        spoiled(sequence="1"),
        spoiled(sequence=-1),
        spoiled(sequence=True),
        spoiled(sequence=1.5),
        spoiled(changed="yesterday"),
        spoiled(first="2027-02-30"),
        spoiled(kind="feast"),
        spoiled(group=7),
        spoiled(gone=0),
        spoiled(body=""),
        spoiled(body="DTSTART:20270101\n"),
        spoiled(body=None),
    ],
)
def test_a_damaged_ledger_is_known_as_such(raw: bytes) -> None:
    with pytest.raises(LedgerError, match=r"damaged|wrong value for the event"):
        parse_ledger(raw, CALENDAR)


def test_a_ledger_of_another_version_or_collection_is_not_used() -> None:
    raw = dump_ledger(publish([FEED]).ledger)
    with pytest.raises(LedgerError, match="belongs to another calendar"):
        parse_ledger(raw, calendar_uid("other-yard"))
    with pytest.raises(LedgerError, match="written by another version of feedplan"):
        parse_ledger(raw.replace(b"feedplan ledger 1", b"feedplan ledger 9"), CALENDAR)


def test_stamps_are_midnight_utc_unless_given() -> None:
    given_as = datetime(2027, 3, 14, tzinfo=UTC)
    assert publish([FEED]).data == publish([FEED], stamp=given_as).data
