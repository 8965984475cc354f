"""A published folder: whole or as it was, untouched where nothing changed, and never anybody else's."""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from feedplan import files
from feedplan.cli.main import feedplan
from feedplan.server.static_site import MARK
from tests.server.world import COLLECTION, World, events, make_folder, titles

Publish = Callable[..., Result]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return make_folder(tmp_path / "trees")


@pytest.fixture
def publish(folder: Path, tmp_path: Path) -> Publish:
    def run(*more: str, today: str = "2027-06-05", to: Path | None = None) -> Result:
        words = ["publish", str(to or tmp_path / "site"), "-c", str(folder), "--today", today, *more]
        return CliRunner().invoke(feedplan, words)

    return run


@pytest.fixture
def site(tmp_path: Path) -> Path:
    return tmp_path / "site"


def contents(site: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in site.iterdir()}


def stamps(site: Path) -> dict[str, tuple[int, int]]:
    return {path.name: (path.stat().st_mtime_ns, path.stat().st_ino) for path in site.iterdir()}


def test_it_holds_the_calendars_and_pages_of_the_server(publish: Publish, site: Path, tmp_path: Path) -> None:
    answer = publish()
    assert answer.exit_code == 0, answer.output
    world = World(make_folder(tmp_path / "same"))
    found = contents(site)
    for file in ("everything.ics", "feeding.ics", "group-shown.ics"):
        assert titles(found[file]) == titles(world.get(file).data)
    for name in (
        "index.html",
        "sink.html",
        "trees.html",
        "journal.html",
        "calendars.html",
        "tree-teasel.html",
    ):
        assert b"<main" in found[name]
    assert {f"day-2027-06-{day:02}.html" for day in range(4, 13)} <= found.keys()


def test_its_links_lead_to_its_own_files(publish: Publish, site: Path) -> None:
    publish()
    found = contents(site)
    for name, data in found.items():
        if name.endswith(".html"):
            for link in re.findall(r'(?:href|src)="([^"#][^"]*)"', data.decode()):
                assert link.partition("?")[0] in found, (name, link)


def test_nothing_can_be_recorded_from_it_and_no_secret_is_in_it(
    publish: Publish, site: Path, folder: Path
) -> None:
    publish("--address", "https://trees.example.org/8fk2vq71")
    secrets = json.loads((folder / ".feedplan" / "access.json").read_text())
    for data in contents(site).values():
        assert b'method="post"' not in data
        assert not any(secrets[name].encode() in data for name in ("read", "write", "key"))


def test_each_file_is_listed_with_its_digest(publish: Publish, site: Path) -> None:
    publish()
    found = contents(site)
    listed = json.loads(found.pop(MARK))["sha256"]
    assert listed == {name: hashlib.sha256(data).hexdigest() for name, data in found.items()}


def test_a_second_run_touches_nothing(publish: Publish, site: Path) -> None:
    publish()
    before, of_folder = stamps(site), site.stat().st_ino
    answer = publish()
    assert "nothing changed" in answer.output
    assert (stamps(site), site.stat().st_ino) == (before, of_folder)


def test_a_day_later_with_nothing_new_only_what_tells_of_days_is_written(
    publish: Publish, site: Path, folder: Path
) -> None:
    """The pages of days show today among them, and one script tells it to the rest; no calendar and no tree changes.

    In November nothing is fed, and a tree held since October waits for its sign; on the 17th its least time is over.
    """
    journal = folder / "journal.yaml"
    journal.write_text(journal.read_text() + "- {date: 2027-10-20, tree: Teasel, trouble: weak}\n")
    for day in (9, 16):
        publish(today=f"2027-11-{day:02}")
        before = contents(site)
        publish(today=f"2027-11-{day + 1:02}")
        after = contents(site)
        told = {name for name in before.keys() & after.keys() if before[name] != after[name]}
        assert {name for name in told if not name.startswith("day-")} == {"index.html", "made.js", MARK}


def test_a_run_after_a_change_touches_only_what_changed(publish: Publish, site: Path, folder: Path) -> None:
    publish()
    before, old = stamps(site), contents(site)
    text = (folder / "collection.yaml").read_text()
    (folder / "collection.yaml").write_text(text.replace("grade: 20-20-20", "grade: 10-10-10"))
    facts = json.loads(publish("--json").output)
    after, new = stamps(site), contents(site)
    changed = {name for name in new if new[name] != old[name]}
    assert {name for name in after if after[name] != before[name]} == changed
    assert facts["written"] == len(changed - {MARK})
    assert "group-shown.ics" in changed
    assert {"group-growing-on.ics", "water.ics", "tree-bracken.html"}.isdisjoint(changed)


def test_what_is_no_longer_there_goes(publish: Publish, site: Path, folder: Path) -> None:
    publish()
    text = (folder / "collection.yaml").read_text()
    (folder / "collection.yaml").write_text(text.replace("name: Teasel", "name: Yarrow"))
    assert json.loads(publish("--json").output)["removed"] == 1
    assert not (site / "tree-teasel.html").exists()
    assert (site / "tree-yarrow.html").exists()


@pytest.mark.parametrize("what", ["another folder", "a strange file among ours", "a file", "a false mark"])
def test_a_folder_it_did_not_make_is_refused_and_left_alone(publish: Publish, site: Path, what: str) -> None:
    if what == "a strange file among ours":
        publish()
        (site / "notes.txt").write_text("mine")
    elif what == "a file":
        site.write_text("mine")
    else:
        site.mkdir()
        (site / (MARK if what == "a false mark" else "notes.txt")).write_text("{}")
    before = stamps(site) if site.is_dir() else site.read_text()
    answer = publish()
    assert answer.exit_code == 2
    assert "folder" in answer.stderr
    assert (stamps(site) if site.is_dir() else site.read_text()) == before


def test_an_empty_folder_will_do(publish: Publish, site: Path) -> None:
    site.mkdir()
    assert publish().exit_code == 0
    assert (site / "index.html").exists()


def test_a_missing_parent_is_told(publish: Publish, tmp_path: Path) -> None:
    answer = publish(to=tmp_path / "no" / "such" / "place")
    assert answer.exit_code == 1
    assert "cannot write" in answer.stderr


def test_a_failure_half_way_leaves_the_old_site(
    publish: Publish, site: Path, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    publish()
    before = stamps(site)
    text = (folder / "collection.yaml").read_text()
    (folder / "collection.yaml").write_text(text.replace("grade: 20-20-20", "grade: 10-10-10"))
    real, calls = files._write_new, []

    def failing(path: Path, data: bytes, mode: int | None = None) -> None:
        if path.suffix == ".ics" and ".site-" in str(path.parent.name):
            calls.append(path)
            raise OSError(28, os.strerror(28))
        real(path, data, mode)

    monkeypatch.setattr(files, "_write_new", failing)
    answer = publish()
    assert answer.exit_code == 1
    assert calls
    assert "no space left on device; what was there is unchanged" in answer.stderr
    assert stamps(site) == before
    assert [path.name for path in site.parent.iterdir() if path.name.startswith(".site-")] == []


def test_without_an_exchange_in_one_step_it_takes_two_and_keeps_the_old_between(
    publish: Publish, site: Path, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(files, "_exchange_at_once", lambda *_: False)
    publish()
    text = (folder / "collection.yaml").read_text()
    (folder / "collection.yaml").write_text(text.replace("grade: 20-20-20", "grade: 10-10-10"))
    assert publish().exit_code == 0
    # As if a run had been killed between the two steps: the next one finds the old site and goes on from it.
    site.rename(site.with_name(".site-0123456789ab.old"))
    (site.with_name(".site-ba9876543210.new")).mkdir()
    answer = publish()
    assert "nothing changed" in answer.output
    assert [path.name for path in site.parent.iterdir() if path.name.startswith(".site-")] == []


def test_a_broken_file_publishes_the_last_good_plan_and_says_so(
    publish: Publish, site: Path, folder: Path
) -> None:
    publish()
    good = contents(site)
    (folder / "collection.yaml").write_text(COLLECTION.replace("group: shown", "group: shwon"))
    answer = publish()
    assert answer.exit_code == 1
    assert "shwon" in answer.stderr
    stale = contents(site)
    assert len(events(stale["everything.ics"])) == len(events(good["everything.ics"])) + 1
    assert b"Not up to date since" in stale["index.html"]


def test_a_first_run_on_broken_files_writes_nothing(publish: Publish, site: Path, folder: Path) -> None:
    (folder / "collection.yaml").write_text("place: [")
    answer = publish()
    assert answer.exit_code == 1
    assert "collection.yaml:1:" in answer.stderr
    assert not site.exists()


def test_the_calendar_keeps_its_numbers_from_run_to_run(publish: Publish, site: Path, folder: Path) -> None:
    publish()
    before = {event["UID"]: event["SEQUENCE"] for event in events((site / "feeding.ics").read_bytes())}
    text = (folder / "collection.yaml").read_text()
    (folder / "collection.yaml").write_text(text.replace("grade: 20-20-20", "grade: 10-10-10"))
    publish()
    after = {event["UID"]: event["SEQUENCE"] for event in events((site / "feeding.ics").read_bytes())}
    assert set(after.values()) == {"0", "1"}
    assert all(after[uid] >= before[uid] for uid in before)


def test_a_whole_address_is_printed_on_the_page_when_it_is_told(publish: Publish, site: Path) -> None:
    publish("--address", "https://trees.example.org/8fk2vq71/")
    page = (site / "calendars.html").read_text()
    assert "webcal://trees.example.org/8fk2vq71/everything.ics" in page


def test_the_mode_of_the_folder_stays(publish: Publish, site: Path, folder: Path) -> None:
    publish()
    site.chmod(0o751)
    text = (folder / "collection.yaml").read_text()
    (folder / "collection.yaml").write_text(text.replace("grade: 20-20-20", "grade: 10-10-10"))
    publish()
    assert site.stat().st_mode & 0o777 == 0o751


def test_a_link_to_a_folder_keeps_pointing(publish: Publish, site: Path, tmp_path: Path) -> None:
    publish()
    link = tmp_path / "link"
    link.symlink_to(site)
    shutil.rmtree(site)
    site.mkdir()
    assert publish(to=link).exit_code == 0
    assert link.is_symlink()
    assert (site / "index.html").exists()


def test_a_day_later_only_what_is_about_days_is_written_anew(publish: Publish, site: Path) -> None:
    publish(today="2027-12-10")
    before = contents(site)
    publish(today="2027-12-11")
    after = contents(site)
    changed = {name for name in before.keys() & after.keys() if before[name] != after[name]}
    about_days = {name for name in changed if name.startswith(("day-", "index."))}
    assert changed - about_days == {"made.js", "feedplan-files.json"}


def test_at_the_turn_of_a_month_what_calendars_show_moves_on_and_no_event_changes(
    publish: Publish, site: Path
) -> None:
    publish(today="2027-11-30")
    before = contents(site)
    publish(today="2027-12-01")
    after = contents(site)
    moved = [
        name for name in before.keys() & after.keys() if name.endswith(".ics") and before[name] != after[name]
    ]
    for name in moved:  # a month goes at one end of what is shown, a month comes at the other
        old, new = ({event["UID"]: event for event in events(data[name])} for data in (before, after))
        assert all(old[uid] == new[uid] for uid in old.keys() & new.keys())


def test_a_file_that_is_not_about_a_day_learns_it_from_another(publish: Publish, site: Path) -> None:
    publish()
    found = contents(site)
    assert b"2027" not in found["sink.html"].split(b"<main")[0]
    assert b'<script src="made.js" defer>' in found["sink.html"]
    assert b'"today": "2027-06-05"' in found["made.js"]
    assert b'data-today="2027-06-05"' in found["day-2027-06-06.html"]
