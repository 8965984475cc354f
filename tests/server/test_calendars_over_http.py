"""Calendars over HTTP: the rules of RFC 9110 for validators, and what the feeds hold."""

from __future__ import annotations

import gzip
from datetime import timedelta
from email.utils import format_datetime, parsedate_to_datetime

import pytest

from feedplan.server.calendars import SiteAddress
from tests.server.world import COLLECTION, World, events, titles

EVERYTHING = "everything.ics"


def test_a_calendar_is_sent_as_one_with_a_name_to_save_it_under(world: World) -> None:
    answer = world.get(EVERYTHING)
    assert answer.status_code == 200
    assert answer.headers["Content-Type"] == "text/calendar; charset=utf-8"
    assert answer.headers["Content-Disposition"] == 'inline; filename="mill-yard-everything.ics"'
    assert answer.headers["Cache-Control"] == "private, no-cache"
    assert answer.data.startswith(b"BEGIN:VCALENDAR\r\n")


def test_each_kind_and_group_has_its_own_calendar(world: World) -> None:
    everything = {event["UID"] for event in events(world.get(EVERYTHING).data)}
    parts = {}
    names = set()
    for file in ("rounds", "feeding", "water", "reviews", "holds", "group-growing-on", "group-shown"):
        data = world.get(f"{file}.ics").data
        parts[file] = {event["UID"] for event in events(data)}
        names.add(tuple(line for line in data.splitlines() if line.startswith((b"NAME:", b"X-WR-RELCALID:"))))
        assert parts[file]
    assert len(names) == len(parts)
    for file in ("feeding", "reviews", "group-growing-on", "group-shown"):
        assert parts[file] < everything
    assert parts["rounds"].isdisjoint(everything | parts["holds"])
    assert parts["water"] < parts["rounds"]
    assert parts["group-growing-on"].isdisjoint(parts["group-shown"])


def test_the_served_calendar_is_that_of_the_command_line(world: World) -> None:
    from click.testing import CliRunner

    from feedplan.cli.main import feedplan

    arguments = ["calendar", "-o", "-", "-c", str(world.folder), "--today", "2027-06-05"]
    written = CliRunner().invoke(feedplan, arguments).stdout_bytes
    in_detail = CliRunner().invoke(feedplan, [*arguments, "--show", "detail"]).stdout_bytes
    stamps = ("DTSTAMP", "LAST-MODIFIED")

    def said(calendar: bytes) -> list[dict[str, str]]:
        return [{k: v for k, v in event.items() if k not in stamps} for event in events(calendar)]

    assert said(world.get("rounds.ics").data) == said(written)
    assert said(world.get(EVERYTHING).data) == said(in_detail)


def test_an_unknown_calendar_is_not_found(world: World) -> None:
    assert world.get("pruning.ics").status_code == 404


@pytest.mark.parametrize("weak", ["", "W/"])
def test_asking_again_with_the_tag_gives_304_without_a_body(world: World, weak: str) -> None:
    tag = world.get(EVERYTHING).headers["ETag"]
    again = world.get(EVERYTHING, headers={"If-None-Match": f'"other", {weak}{tag}'})
    assert (again.status_code, again.data) == (304, b"")
    assert again.headers["ETag"] == tag
    assert again.headers["Cache-Control"] == "private, no-cache"


def test_asking_again_with_the_date_gives_304(world: World) -> None:
    date = world.get(EVERYTHING).headers["Last-Modified"]
    assert world.get(EVERYTHING, headers={"If-Modified-Since": date}).status_code == 304
    later = format_datetime(parsedate_to_datetime(date) + timedelta(days=1), usegmt=True)
    assert world.get(EVERYTHING, headers={"If-Modified-Since": later}).status_code == 304


def test_an_older_date_or_no_date_at_all_gives_the_whole_calendar(world: World) -> None:
    date = world.get(EVERYTHING).headers["Last-Modified"]
    older = format_datetime(parsedate_to_datetime(date) - timedelta(seconds=1), usegmt=True)
    for wrong in (older, "yesterday", "", "Sat, 99 Jun 2027 00:00:00 GMT"):
        assert world.get(EVERYTHING, headers={"If-Modified-Since": wrong}).status_code == 200


def test_the_tag_wins_over_the_date(world: World) -> None:
    """RFC 9110, section 13.1.3: If-Modified-Since is ignored beside If-None-Match."""
    date = world.get(EVERYTHING).headers["Last-Modified"]
    headers = {"If-None-Match": '"another"', "If-Modified-Since": date}
    assert world.get(EVERYTHING, headers=headers).status_code == 200


def test_head_is_get_without_the_body(world: World) -> None:
    full = world.get(EVERYTHING)
    head = world.client.head(f"/{world.secrets.read}/{EVERYTHING}")
    assert (head.status_code, head.data) == (200, b"")
    assert {k: v for k, v in head.headers.items() if k != "Date"} == {
        k: v for k, v in full.headers.items() if k != "Date"
    }
    assert head.headers["Content-Length"] == str(len(full.data))


def test_gzip_is_the_same_calendar_under_a_tag_of_its_own(world: World) -> None:
    """A strong ETag stands for the bytes as sent (RFC 9110, section 8.8.3)."""
    plain = world.get(EVERYTHING)
    packed = world.get(EVERYTHING, headers={"Accept-Encoding": "br, gzip"})
    assert packed.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(packed.data) == plain.data
    assert packed.headers["ETag"] != plain.headers["ETag"]
    assert packed.headers["Vary"] == plain.headers["Vary"] == "Accept-Encoding"
    for tag in (packed.headers["ETag"], plain.headers["ETag"]):
        headers = {"If-None-Match": tag, "Accept-Encoding": "gzip"}
        assert world.get(EVERYTHING, headers=headers).status_code == 304


@pytest.mark.parametrize(
    "accepted", ["gzip;q=0, identity", "br", "", "gzip ; q=0.000", "x-gzip-not", "*;q=0"]
)
def test_gzip_that_is_not_wanted_is_not_sent(world: World, accepted: str) -> None:
    answer = world.get(EVERYTHING, headers={"Accept-Encoding": accepted})
    assert "Content-Encoding" not in answer.headers


@pytest.mark.parametrize("accepted", ["gzip", "deflate, GZIP;q=0.5", "gzip;q=1.0, *;q=0"])
def test_gzip_that_is_wanted_is_sent(world: World, accepted: str) -> None:
    answer = world.get(EVERYTHING, headers={"Accept-Encoding": accepted})
    assert answer.headers["Content-Encoding"] == "gzip"


def test_tag_and_date_stay_over_days_restarts_and_edits_that_change_nothing(world: World) -> None:
    """Bytes change from day to day only as the window of days moves; holds.ics has nothing at its ends."""
    first = world.get("holds.ics")
    world.later(hours=5)
    world.edit("id: mill-yard", "id: mill-yard  # a comment")
    world.restart()
    again = world.get("holds.ics")
    assert again.headers["ETag"] == first.headers["ETag"]
    assert again.headers["Last-Modified"] == first.headers["Last-Modified"]


def test_a_change_gives_a_new_tag_and_a_later_date_even_within_one_second(world: World) -> None:
    """Apple's calendar revalidates by date; a date that stood still would freeze it."""
    first = world.get("feeding.ics")
    world.edit("feed: spring,", "feed: even,")
    headers = {"If-Modified-Since": first.headers["Last-Modified"]}
    second = world.get("feeding.ics", headers=headers)
    assert second.status_code == 200
    assert second.headers["ETag"] != first.headers["ETag"]
    assert "Last-Modified" not in second.headers  # it would lie in the future
    world.later(seconds=1)
    third = world.get("feeding.ics")
    assert parsedate_to_datetime(third.headers["Last-Modified"]) > parsedate_to_datetime(
        first.headers["Last-Modified"]
    )


def test_only_the_events_that_changed_are_revised(world: World) -> None:
    before = {event["UID"]: event for event in events(world.get(EVERYTHING).data)}
    world.later(hours=1)
    world.edit("grade: 20-20-20", "grade: 10-10-10")
    after = {event["UID"]: event for event in events(world.get(EVERYTHING).data)}
    assert after.keys() == before.keys()
    changed = {uid for uid in after if after[uid]["SEQUENCE"] != before[uid]["SEQUENCE"]}
    assert changed == {uid for uid in after if after[uid]["DESCRIPTION"] != before[uid]["DESCRIPTION"]}
    assert 0 < len(changed) < len(after)
    assert all(after[uid]["LAST-MODIFIED"] == "20270605T120000Z" for uid in changed)
    assert all(after[uid] == before[uid] for uid in after.keys() - changed)


def test_sequence_numbers_survive_a_restart(world: World) -> None:
    world.get(EVERYTHING)
    world.later(hours=1)
    world.edit("grade: 20-20-20", "grade: 10-10-10")
    before = world.get(EVERYTHING).data
    world.restart()
    assert world.get(EVERYTHING).data == before


def test_a_broken_edit_leaves_every_event_and_adds_one_today_in_each_calendar(world: World) -> None:
    files = (EVERYTHING, "feeding.ics", "water.ics", "reviews.ics", "holds.ics", "group-shown.ics")
    good = {file: world.get(file).data for file in files}
    world.edit("group: shown", "group: shwon")
    for file in files:
        stale = world.get(file).data
        added = [event for event in events(stale) if event not in events(good[file])]
        assert [event["SUMMARY"] for event in added] == [
            "The plan is not up to date: mend collection.yaml line 15"
        ]
        assert added[0]["DTSTART"] == "20270605"
        assert "shwon" in added[0]["DESCRIPTION"]
        assert "So since " in added[0]["DESCRIPTION"]
        assert len(events(stale)) == len(events(good[file])) + 1


def test_the_event_about_a_broken_file_is_the_same_each_time_and_goes_when_mended(world: World) -> None:
    good = world.get(EVERYTHING)
    world.edit("group: shown", "group: shwon")
    first = world.get(EVERYTHING)
    world.later(minutes=30)
    assert world.get(EVERYTHING).headers["ETag"] == first.headers["ETag"]
    world.write(COLLECTION)
    mended = world.get(EVERYTHING)
    assert mended.headers["ETag"] == good.headers["ETag"]
    assert not any("not up to date" in title for title in titles(mended.data))


def test_health_tells_a_monitor_and_hides_the_files_from_strangers(world: World) -> None:
    world.snapshots.current()
    assert world.client.get("/health").get_json() == {"status": "ok"}
    world.edit("group: shown", "group: shwon")
    stranger = world.client.get("/health")
    assert (stranger.status_code, stranger.get_json()) == (503, {"status": "stale"})
    facts = world.get("health").get_json()
    assert (facts["status"], facts["line"]) == ("stale", 15)
    assert facts["file"].endswith("collection.yaml")
    assert "since" in facts


def test_a_clock_that_jumps_back_empties_no_calendar(world: World) -> None:
    before = world.get(EVERYTHING)
    world.later(days=-20000)
    after = world.get(EVERYTHING)
    assert len(events(after.data)) == len(events(before.data)) + 1
    assert "Last-Modified" not in after.headers
    world.later(days=20000)
    assert world.get(EVERYTHING).headers["ETag"] == before.headers["ETag"]


def test_a_star_stands_for_any_calendar(world: World) -> None:
    """RFC 9110, section 13.1.2: it holds for whatever representation there is."""
    assert world.get(EVERYTHING, headers={"If-None-Match": "*"}).status_code == 304


def test_a_date_beyond_all_years_gives_the_whole_calendar(world: World) -> None:
    date = f"Sat, 05 Jun {10**20} 00:00:00 GMT"
    assert world.get(EVERYTHING, headers={"If-Modified-Since": date}).status_code == 200


def test_a_calendar_can_only_be_read(world: World) -> None:
    answer = world.client.post(f"/{world.secrets.write}/{EVERYTHING}")
    assert (answer.status_code, answer.headers["Allow"]) == (405, "GET, HEAD")


def test_calendars_link_to_the_pages_that_only_read_and_say_where_they_come_from(world: World) -> None:
    plain = world.get("rounds.ics").data
    assert b"URL:" not in plain
    assert b"SOURCE" not in plain
    base = f"https://trees.example.org/plan/{world.secrets.read}/"
    world.calendars.at(SiteAddress(base))
    version = world.calendars.version(world.snapshots.current(), "rounds.ics")
    assert version is not None
    text = version.data.replace(b"\r\n ", b"").decode()
    assert f"SOURCE;VALUE=URI:{base}rounds.ics" in text
    assert text.count(f"\r\nURL:{base}") == text.count("BEGIN:VEVENT")
    assert world.secrets.write not in text


def test_two_addresses_of_one_plan_do_not_count_as_changes_of_each_other(world: World) -> None:
    snapshot = world.snapshots.current()

    def numbers(address: str) -> set[str]:
        world.calendars.at(SiteAddress(address))
        version = world.calendars.version(snapshot, "rounds.ics")
        assert version is not None
        return {event["SEQUENCE"] for event in events(version.data)}

    assert [numbers(at) for at in ("https://a.example/", "https://b.example/", "https://a.example/")] == [
        {"0"}
    ] * 3
