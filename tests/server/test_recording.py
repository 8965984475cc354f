"""A tap becomes one entry of the journal: once, whatever happens on the way, and only from a page of ours."""

from __future__ import annotations

import re
import threading
from datetime import UTC, date, datetime, timedelta
from html import unescape
from typing import Any
from urllib.parse import parse_qsl, urlsplit

import pytest
from werkzeug.test import TestResponse

from tests.server.test_pages import words
from tests.server.world import COLLECTION, JOURNAL, World

KEY = "aaaabbbbccccdddd"


def tap(world: World, say: str, *trees: str, to: str = "record", **fields: Any) -> TestResponse:
    """What a form sends when a button of it is tapped."""
    headers = fields.pop("headers", {})
    data: dict[str, Any] = {"key": KEY, "token": world.secrets.form_token, "back": "./", "say": say}
    data |= {"tree": list(trees)} | fields
    data = {name: value for name, value in data.items() if value is not None}
    return world.client.post(f"/{world.secrets.write}/{to}", data=data, headers=headers)


def journal(world: World) -> str:
    return (world.folder / "journal.yaml").read_text(encoding="utf-8")


def added(world: World) -> list[str]:
    """The lines that came after those the world began with, without their ids."""
    lines = journal(world).removeprefix(JOURNAL).splitlines()
    return [re.sub(r", id: \w+}$", "}", line) for line in lines]


def id_of(answer: TestResponse) -> str:
    return dict(parse_qsl(urlsplit(answer.headers["Location"]).query))["done"].partition(".")[0]


TAPS = [
    ("fed=as%20planned", {"group": "growing-on", "trees": ["Fern Hill", "Sorrel", "Bracken"]},
     "- {date: 2027-06-05, group: growing-on, fed: as planned}"),
    ("fed=as%20planned", {"group": "growing-on", "trees": ["Fern Hill", "Sorrel"]},
     "- {date: 2027-06-05, group: growing-on, but_not: [Bracken], fed: as planned}"),
    ("fed=as%20planned", {"group": "growing-on", "trees": ["Sorrel"]},
     "- {date: 2027-06-05, tree: Sorrel, fed: as planned}"),
    ("fed=as%20planned",
     {"group": "growing-on", "trees": ["Sorrel"], "of": ["Fern Hill", "Bracken", "Sorrel"]},
     "- {date: 2027-06-05, group: growing-on, but_not: [Fern Hill, Bracken], fed: as planned}"),
    ("check=moist", {"trees": ["Teasel"]}, "- {date: 2027-06-05, tree: Teasel, check: moist}"),
    ("check=dry", {"trees": ["Teasel", "Sorrel", "Teasel"]},
     "- {date: 2027-06-05, trees: [Teasel, Sorrel], check: dry}"),
    ("check=watered", {"trees": ["Sorrel"]}, "- {date: 2027-06-05, tree: Sorrel, check: watered}"),
    ("seen=first%20flush%20hardened", {"trees": ["Teasel"]},
     "- {date: 2027-06-05, tree: Teasel, seen: first flush hardened}"),
    ("work=repotted&roots=30%20%25", {"trees": ["Sorrel"]},
     "- {date: 2027-06-05, tree: Sorrel, work: repotted, roots: 30 %}"),
    ("work=repotted", {"trees": ["Sorrel"], "bare_rooted": "yes"},
     "- {date: 2027-06-05, tree: Sorrel, work: repotted, bare_rooted: true}"),
    ("seen=limp", {"trees": ["Sorrel"]}, "- {date: 2027-06-05, tree: Sorrel, seen: limp}"),
    ("trouble=scorch", {"trees": ["Sorrel"]}, "- {date: 2027-06-05, tree: Sorrel, trouble: scorch}"),
    ("trouble=pests", {"trees": ["Sorrel"]}, "- {date: 2027-06-05, tree: Sorrel, trouble: pests}"),
    ("moved=shown", {"trees": ["Sorrel"]}, "- {date: 2027-06-05, tree: Sorrel, moved: shown}"),
    ("bench=show%20bench", {"trees": ["Sorrel"]}, "- {date: 2027-06-05, tree: Sorrel, bench: show bench}"),
    ("gone=given%20away", {"trees": ["Sorrel"]}, "- {date: 2027-06-05, tree: Sorrel, gone: given away}"),
    ("gone=dead&count=1", {"trees": ["Sorrel"]}, "- {date: 2027-06-05, tree: Sorrel, gone: dead, count: 1}"),
    ("put_off=next%20spring", {"trees": ["Bracken"]}, "- {date: 2027-06-05, tree: Bracken, put_off: next spring}"),
    ("check=dry", {"trees": ["Sorrel"], "date": "2027-06-03"},
     "- {date: 2027-06-03, recorded: 2027-06-05, tree: Sorrel, check: dry}"),
    ("check=dry", {"trees": ["Sorrel"], "date": "other", "other_date": "2027-05-30"},
     "- {date: 2027-05-30, recorded: 2027-06-05, tree: Sorrel, check: dry}"),
    ("check=dry", {"trees": ["Sorrel"], "note": " left  in the\nsun "},
     "- {date: 2027-06-05, tree: Sorrel, check: dry, note: left in the sun}"),
]  # fmt: skip


@pytest.mark.parametrize(("say", "form", "line"), TAPS, ids=lambda value: str(value)[:40])
def test_a_tap_is_a_line_of_the_journal(world: World, say: str, form: dict[str, Any], line: str) -> None:
    rest = {name: value for name, value in form.items() if name != "trees"}
    answer = tap(world, say, *form["trees"], **rest)
    assert answer.status_code == 303
    assert added(world) == [line]
    assert world.snapshots.current().trouble is None
    assert id_of(answer) in [entry.id for entry in world.snapshots.current().loaded.journal.entries]


def test_a_tree_left_out_of_a_mix_for_part_of_its_group_was_not_fed_and_one_undo_takes_both_back(
    world: World,
) -> None:
    before = world.snapshots.current().loaded.journal.entries
    answer = tap(world, "fed=as%20planned", "Sorrel", group="growing-on", of=["Sorrel", "Bracken"])
    fed = [
        "- {date: 2027-06-05, tree: Sorrel, fed: as planned}",
        "- {date: 2027-06-05, tree: Bracken, not_fed: no reason}",
    ]
    assert added(world) == fed
    tap(world, "fed=as%20planned", "Sorrel", group="growing-on", of=["Sorrel", "Bracken"])
    assert added(world) == fed
    tap(world, "", to="undo", id=id_of(answer), key="bbbbccccdddd")
    undone = added(world)[2:]
    assert [line.partition("undo: ")[2] != "" for line in undone] == [True, True]
    assert world.snapshots.current().loaded.journal.entries == before


def test_a_feed_tapped_again_on_an_old_page_or_another_phone_is_written_once(world: World) -> None:
    first = tap(world, "fed=as%20planned", "Sorrel", "Fern Hill", key="phoneone1")
    world.snapshots.current()
    second = tap(world, "fed=as%20planned", "Fern Hill", "Sorrel", key="phonetwo2")
    assert id_of(first) == id_of(second)
    assert len(added(world)) == 1
    tap(
        world, "fed=as%20planned", "Teasel", key="phonetwo3"
    )  # another tree, and another day, are other feeds
    tap(world, "fed=as%20planned", "Sorrel", key="phonetwo4", date="2027-05-28")
    assert len(added(world)) == 3
    tap(world, "", to="undo", id=id_of(first), key="phoneone5")
    world.snapshots.current()
    tap(world, "fed=as%20planned", "Sorrel", key="phoneone6")
    assert len(added(world)) == 5


def test_what_is_written_late_of_a_tree_left_out_says_when_it_was_written(world: World) -> None:
    tap(world, "fed=as%20planned", "Sorrel", group="growing-on", of=["Sorrel", "Bracken"], date="2027-06-03")
    assert added(world) == [
        "- {date: 2027-06-03, recorded: 2027-06-05, tree: Sorrel, fed: as planned}",
        "- {date: 2027-06-03, recorded: 2027-06-05, tree: Bracken, not_fed: no reason}",
    ]


def test_a_look_at_a_tree_that_shows_nothing_can_be_answered_by_putting_it_off(world: World) -> None:
    """Bracken, 60 % off on 20 March: the look of 26 June, 14 weeks on, asks; tapped, it asks no more."""
    cut = JOURNAL.replace("30 %", "60 %")
    (world.folder / "journal.yaml").write_text(cut, encoding="utf-8")
    world.now = datetime(2027, 6, 26, 11, 0, tzinfo=UTC)
    assert "Put off to spring 2028" in words(world.get("", write=True).text)
    tap(world, "put_off=next+spring", "Bracken")
    assert (
        journal(world)
        .removeprefix(cut)
        .startswith("- {date: 2027-06-26, tree: Bracken, put_off: next spring")
    )
    assert "Put off to spring 2028" not in words(world.get("", write=True).text)


def test_the_next_load_shows_what_was_recorded_and_what_it_changes(world: World) -> None:
    answer = tap(world, "work=repotted&roots=30%20%25", "Sorrel", back="tree-sorrel.html")
    target = answer.headers["Location"]
    assert target.startswith("tree-sorrel.html?done=")
    page = words(world.get(target, write=True).text)
    assert "Recorded: Sorrel repotted, 30 % of roots off." in page
    # 30 % in June, out of season, counts as severe: eight weeks from 5 June.
    assert "No feed, pruning, wiring, repotting or full sun before 31 Jul" in page
    assert "Keep every leaf" in page


def test_the_way_back_is_shown_for_a_minute(world: World) -> None:
    target = tap(world, "check=dry", "Sorrel").headers["Location"].removeprefix("./")
    assert 'action="undo"' in world.get(target, write=True).text
    world.later(seconds=61)
    assert 'action="undo"' not in world.get(target, write=True).text


@pytest.mark.parametrize("at", ["²", "x.²", "a.٣", "x." + "9" * 190, "."])
def test_an_address_that_says_nonsense_of_what_was_recorded_gives_the_page(world: World, at: str) -> None:
    answer = world.get(f"?done={at}", write=True)
    assert answer.status_code == 200
    assert "Recorded" not in answer.text


def _undo_form(page: str) -> dict[str, str]:
    form = re.search(r'<form method="post" action="undo">(.*?)</form>', page, re.S)
    assert form is not None
    return {
        unescape(name): unescape(value)
        for name, value in re.findall(r'name="([^"]+)" value="([^"]*)"', form[1])
    }


def test_undo_takes_the_entry_back_and_keeps_both_lines(world: World) -> None:
    before = len(world.snapshots.current().loaded.journal.entries)
    target = tap(world, "check=dry", "Sorrel").headers["Location"].removeprefix("./")
    form = _undo_form(world.get(target, write=True).text)
    answer = world.client.post(f"/{world.secrets.write}/undo", data=form)
    assert answer.status_code == 303
    assert "Taken back." in words(world.get(answer.headers["Location"].removeprefix("./"), write=True).text)
    assert len(world.snapshots.current().loaded.journal.entries) == before
    assert added(world) == [
        "- {date: 2027-06-05, tree: Sorrel, check: dry}",
        f"- {{date: 2027-06-05, undo: {form['id']}}}",
    ]


def test_taking_back_root_work_takes_a_second_tap_that_says_what_it_lifts(world: World) -> None:
    entry = world.snapshots.current().loaded.journal.entries[0].id
    before = journal(world)
    first = tap(world, "", to="undo", id=entry, back="tree-bracken.html")
    assert first.status_code == 303
    assert journal(world) == before
    asked = world.get(first.headers["Location"], write=True).text
    assert "The hold 'repotted, moderate' is lifted. Next feed" in words(asked)
    second = world.client.post(f"/{world.secrets.write}/undo", data=_undo_form(asked))
    assert second.headers["Location"].startswith("tree-bracken.html?undone=")
    assert world.snapshots.current().loaded.journal.entries == ()
    # And that can itself be taken back, by one tap.
    undone = world.get(second.headers["Location"], write=True).text
    assert "Put it back" in words(undone)
    third = world.client.post(f"/{world.secrets.write}/undo", data=_undo_form(undone))
    assert "Put back." in words(world.get(third.headers["Location"], write=True).text)
    assert [e.id for e in world.snapshots.current().loaded.journal.entries] == [entry]


def test_the_question_is_not_for_readers_nor_for_entries_that_do_not_stand(world: World) -> None:
    entry = world.snapshots.current().loaded.journal.entries[0].id
    assert world.get(f"undo.html?id={entry}", write=False).status_code == 404
    assert world.get("undo.html?id=nobody", write=True).status_code == 404
    page = world.get(f"undo.html?id={entry}&back=//elsewhere.example/x.html", write=True).text
    assert "elsewhere" not in page


def test_undo_from_the_list_of_entries_even_of_one_written_by_hand(world: World) -> None:
    form = _undo_form(world.get("journal.html", write=True).text) | {"sure": "yes"}
    assert world.client.post(f"/{world.secrets.write}/undo", data=form).status_code == 303
    assert world.snapshots.current().loaded.journal.entries == ()


def test_undoing_twice_or_on_two_phones_undoes_once(world: World) -> None:
    form = _undo_form(world.get("journal.html", write=True).text) | {"sure": "yes"}
    other = {**form, "key": "anotherphone1234"}
    for sent in (form, form, other):
        assert world.client.post(f"/{world.secrets.write}/undo", data=sent).status_code == 303
    assert world.snapshots.current().loaded.journal.entries == ()
    assert journal(world).count("undo:") == 1


def test_a_double_tap_lands_once(world: World) -> None:
    answers = [tap(world, "check=dry", "Sorrel") for _ in range(3)]
    assert {answer.headers["Location"] for answer in answers} == {answers[0].headers["Location"]}
    assert len(added(world)) == 1


def test_a_tap_that_comes_again_after_midnight_or_a_restart_lands_once(world: World) -> None:
    tap(world, "check=dry", "Sorrel")
    world.later(days=1)
    world.restart()
    assert tap(world, "check=dry", "Sorrel").status_code == 303
    assert len(added(world)) == 1


def test_the_same_form_used_for_something_else_is_another_entry(world: World) -> None:
    """Someone goes back in the browser and ticks another tree."""
    tap(world, "check=dry", "Sorrel")
    tap(world, "check=dry", "Teasel")
    tap(world, "check=moist", "Sorrel")
    assert len(added(world)) == 3


def test_the_same_thing_from_another_form_is_another_entry(world: World) -> None:
    tap(world, "check=dry", "Sorrel")
    tap(world, "check=dry", "Sorrel", key="bbbbccccddddeeee")
    assert len(added(world)) == 2


def test_an_entry_taken_back_stays_so_when_its_tap_comes_again(world: World) -> None:
    answer = tap(world, "check=dry", "Sorrel")
    before = world.snapshots.current().loaded.journal.entries
    tap(world, "", to="undo", id=id_of(answer))
    assert tap(world, "check=dry", "Sorrel").status_code == 303
    assert len(world.snapshots.current().loaded.journal.entries) == len(before) - 1


def test_many_phones_at_once_lose_nothing_and_double_nothing(world: World) -> None:
    def phone(number: int) -> None:
        for turn in range(5):
            for _ in range(2):  # each tap arrives twice
                tap(world, "check=moist", "Sorrel", key=f"phone{number:02}turn{turn:02}")

    phones = [threading.Thread(target=phone, args=(number,)) for number in range(4)]
    for each in phones:
        each.start()
    for each in phones:
        each.join()
    assert len(added(world)) == 20
    assert len(world.snapshots.current().loaded.journal.entries) == 21


def test_comments_and_hand_edits_stay_byte_for_byte(world: World) -> None:
    by_hand = (
        JOURNAL
        + "\n# Rain all day.\n-   date:  2027-06-01\n    tree: Sorrel   # the one by the gate\n    check: dry\n"
    )
    world.write(journal=by_hand)
    tap(world, "check=dry", "Teasel")
    assert journal(world).startswith(by_hand)


REFUSED = [
    ("", ["Sorrel"], {}, "does not say what happened"),
    ("check=dry", [], {}, "tick at least one"),
    ("check=soaked", ["Sorrel"], {}, "check"),
    ("seen=purple", ["Sorrel"], {}, "no stage or sign is called 'purple'"),
    ("check=dry", ["Nobody"], {}, "no tree is called 'Nobody'"),
    ("moved=nowhere", ["Sorrel"], {}, "no group is called 'nowhere'"),
    ("work=painted", ["Sorrel"], {}, "no hold knows 'painted'"),
    ("work=repotted&roots=lots", ["Sorrel"], {}, "roots"),
    ("check=dry&seen=limp", ["Sorrel"], {}, "one thing"),
    ("undo=x", ["Sorrel"], {}, "does not say what happened"),
    ("allow=feed", ["Sorrel"], {}, "does not say what happened"),
    ("check=dry", ["Sorrel"], {"key": "short"}, "no key"),
    ("check=dry", ["Sorrel"], {"key": None}, "no key"),
    ("check=dry", ["Sorrel"], {"date": "2027-06-20"}, "is not in the last 400 days"),
    ("check=dry", ["Sorrel"], {"date": "2020-06-20"}, "is not in the last 400 days"),
    ("check=dry", ["Sorrel"], {"date": "yesterday"}, "is no date"),
    ("check=dry", ["Sorrel\n- {tree: x}"], {}, "has a line break"),
]


@pytest.mark.parametrize(("say", "trees", "fields", "said"), REFUSED)
def test_what_the_journal_cannot_hold_is_refused_in_a_sentence(
    world: World, say: str, trees: list[str], fields: dict[str, str], said: str
) -> None:
    answer = tap(world, say, *trees, **fields)
    assert answer.status_code in (400, 409)
    assert said in words(answer.text)
    assert added(world) == []
    as_json = tap(world, say, *trees, **fields, headers={"Accept": "application/json"})
    assert said in as_json.get_json()["problem"]


def test_tomorrow_on_the_phone_is_today_at_the_place(world: World) -> None:
    tap(world, "check=dry", "Sorrel", date="2027-06-06")
    assert added(world) == ["- {date: 2027-06-05, tree: Sorrel, check: dry}"]


def test_script_is_told_where_to_go_next(world: World) -> None:
    answer = tap(world, "check=dry", "Sorrel", headers={"Accept": "application/json"})
    assert answer.get_json()["next"].startswith("./?done=")


FOREIGN: dict[str, dict[str, Any]] = {
    "no token": {"token": None},
    "a wrong token": {"token": "0" * 32},
    "from another site": {"headers": {"Sec-Fetch-Site": "cross-site"}},
    "from another host of the site": {"headers": {"Sec-Fetch-Site": "same-site"}},
    "not a form": {"headers": {"Content-Type": "text/plain"}},
}


@pytest.mark.parametrize("how", FOREIGN)
def test_a_form_that_no_page_of_ours_made_is_refused(world: World, how: str) -> None:
    assert tap(world, "check=dry", "Sorrel", **FOREIGN[how]).status_code == 403
    assert added(world) == []


def test_the_read_secret_and_strangers_cannot_write(world: World) -> None:
    data = {"key": KEY, "token": world.secrets.form_token, "say": "check=dry", "tree": "Sorrel"}
    for secret in (world.secrets.read, "guess"):
        for to in ("record", "undo"):
            assert world.client.post(f"/{secret}/{to}", data=data).status_code == 404
    assert added(world) == []


@pytest.mark.parametrize("method", ["GET", "HEAD", "PUT", "DELETE"])
def test_recording_takes_only_post(world: World, method: str) -> None:
    answer = world.client.open(f"/{world.secrets.write}/record?say=check%3Ddry&tree=Sorrel", method=method)
    assert answer.status_code in (404, 405)
    assert added(world) == []


def test_a_new_secret_makes_old_forms_useless(world: World) -> None:
    old = world.secrets
    world.access.replace()
    data = {"key": KEY, "token": old.form_token, "say": "check=dry", "tree": "Sorrel"}
    assert world.client.post(f"/{world.secrets.write}/record", data=data).status_code == 403


@pytest.mark.parametrize(
    "back", ["https://elsewhere.example/", "//elsewhere.example", "../x", "a\r\nb", "javascript:1"]
)
def test_the_way_back_leads_to_a_page_of_ours(world: World, back: str) -> None:
    assert tap(world, "check=dry", "Sorrel", back=back).headers["Location"].startswith("./?done=")


def test_recording_goes_on_while_the_collection_is_broken(world: World) -> None:
    """A typing error elsewhere must not cost what was seen at the bench."""
    world.get("")
    world.edit("schedule: refined", "schedule: refnied")
    answer = tap(world, "check=dry", "Sorrel")
    assert answer.status_code == 303
    page = words(world.get(answer.headers["Location"].removeprefix("./"), write=True).text)
    assert "Recorded. The plan shows it once the file is mended." in page
    world.write(COLLECTION)
    assert id_of(answer) in [entry.id for entry in world.snapshots.current().loaded.journal.entries]


def test_a_full_disk_is_told_and_nothing_is_lost(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    import errno
    import os

    before = journal(world)

    def refuse(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr("feedplan.load.journal_file.replace_if_same", refuse)
    answer = tap(world, "check=dry", "Sorrel", headers={"Accept": "application/json"})
    assert answer.status_code == 503  # the phone keeps the tap and tries again
    assert "no space left" in answer.get_json()["problem"]
    assert journal(world) == before


def test_every_button_of_every_page_is_understood(world: World) -> None:
    """Each value a button may send is taken as it stands: nothing on the pages is out of step with the journal."""
    names = ["", "tree-sorrel.html", "tree-bracken.html", "tree-teasel.html"]
    sayings = {
        unescape(value)
        for name in names
        for value in re.findall(r'<button[^>]* name="say" value="([^"]+)"', world.get(name, write=True).text)
    }
    assert len(sayings) > 40
    for number, say in enumerate(sorted(sayings)):
        answer = tap(world, say, "Sorrel", key=f"button{number:04}")
        assert answer.status_code == 303, (say, words(answer.text))
        if say.startswith("gone"):
            tap(world, "", to="undo", id=id_of(answer), key=f"backto{number:04}")
    assert len(added(world)) >= len(sayings)


def test_backdating_offers_the_last_days(world: World) -> None:
    page = world.get("tree-sorrel.html", write=True).text
    today = date(2027, 6, 5)
    for ago in (1, 2, 3):
        assert f'value="{today - timedelta(days=ago)}"' in page
