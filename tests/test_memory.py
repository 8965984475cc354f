"""history.csv and told.json: what is written down is what was told, and losing it loses no feed and adds none."""

from __future__ import annotations

import csv
import json
import os
import resource
import shutil
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import date, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from feedplan import memory
from feedplan.cli.main import feedplan
from feedplan.engine.day import told_cans
from feedplan.engine.plan import plan_season
from feedplan.engine.season import Season
from feedplan.load import load_collection
from feedplan.model.history import NO_HISTORY

DAY = timedelta(days=1)
FIRST, LAST = date(2027, 4, 20), date(2027, 5, 26)
COLLECTION = """
place: {name: Wrenmoor, latitude: 53.4, elevation: 60 m, time_zone: Europe/London}
since: 2027-04-20
habits: {can: 9 L}
feeds:
  powder: {grade: 20-10-20, form: soluble}
groups:
  growing-on: {schedule: vigorous, feed: powder}
  shown: {schedule: refined, feed: powder}
trees:
  - {name: Quill, species: hornbeam, group: growing-on, pot: 14 L}
  - {name: Sedge, species: maple, group: shown, pot: 5 L}
"""
JOURNAL = """
- {id: a1, date: 2027-05-04, tree: Quill, fed: 100 ppm N}
- {id: a2, date: 2027-05-14, tree: Quill, not_fed: rain}
- {id: a3, date: 2027-05-20, tree: Sedge, work: repotted, roots: 30 %}
"""

Feeds = list[tuple[str, date, str, str, str | None]]


@pytest.fixture
def file(tmp_path: Path) -> Path:
    (tmp_path / "collection.yaml").write_text(COLLECTION, encoding="utf-8")
    (tmp_path / "journal.yaml").write_text(JOURNAL, encoding="utf-8")
    return tmp_path / "collection.yaml"


def plan(file: Path, today: date, *, keep: bool = True) -> memory.RememberedPlan:
    return memory.plan(load_collection(file), today, FIRST, date(2027, 12, 31), file=file, keep=keep)


@pytest.fixture(scope="module")
def lived(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder in which a plan was made on every day from the first to LAST."""
    folder = tmp_path_factory.mktemp("lived")
    (folder / "collection.yaml").write_text(COLLECTION, encoding="utf-8")
    (folder / "journal.yaml").write_text(JOURNAL, encoding="utf-8")
    for n in range((LAST - FIRST).days + 1):
        plan(folder / "collection.yaml", FIRST + DAY * n)
    return folder


@pytest.fixture
def old(lived: Path, tmp_path: Path) -> Path:
    """The collection of a folder of one's own in which every day was planned."""
    shutil.copytree(lived, tmp_path, dirs_exist_ok=True)
    return tmp_path / "collection.yaml"


def feeds(season: Season) -> Feeds:
    return sorted(
        (name, e.day, str(e.ppm.normalize()), e.status.name, e.feed)
        for timeline in season.timelines
        for name in timeline.names
        for e in timeline.feeds
    )


def rows(file: Path) -> list[dict[str, str]]:
    lines = (file.parent / "history.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("# ")))


@pytest.mark.parametrize("unlogged", ["given", "missed"])
def test_a_plan_that_reads_its_memory_is_the_plan_that_never_forgot(file: Path, unlogged: str) -> None:
    file.write_text(COLLECTION.replace("can: 9 L", f"can: 9 L, unlogged_feeds: {unlogged}"), encoding="utf-8")
    loaded, history = load_collection(file), NO_HISTORY
    for n in range(60):
        today = FIRST + DAY * n
        kept = plan_season(
            loaded.collection, loaded.journal, today, FIRST, date(2027, 12, 31), history=history
        )
        history = kept.history
        for again in range(2):
            assert feeds(plan(file, today).season) == feeds(kept), (today, again)


def test_each_feed_stands_once_with_what_became_of_it(old: Path) -> None:
    """Every ten days from 24 April: 150 ppm taken as given, 100 ppm recorded, left out on 14 May, and 150 again."""
    found = [
        (row["told"], row["ppm_n"], row["outcome"], row["poured_ml"], row["entry"])
        for row in rows(old)
        if row["tree"] == "Quill"
    ]
    assert found == [
        ("2027-04-24", "150", "taken as given", "1400", ""),
        ("2027-05-04", "100", "given otherwise", "1400", "a1"),
        ("2027-05-14", "150", "not given", "0", "a2"),
        ("2027-05-24", "150", "taken as given", "1400", ""),
    ]


def test_the_history_only_grows(file: Path) -> None:
    before = ""
    for n in range(40):
        plan(file, FIRST + DAY * n)
        now = (file.parent / "history.csv").read_text(encoding="utf-8")
        assert now.startswith(before)
        before = now


def test_a_day_with_nothing_new_writes_nothing_into_the_history(old: Path) -> None:
    before = rows(old)
    for _ in range(3):
        plan(old, LAST)
    assert rows(old) == before


def test_an_entry_about_a_feed_of_the_past_adds_one_line_and_the_last_line_counts(old: Path) -> None:
    before = rows(old)
    with (old.parent / "journal.yaml").open("a", encoding="utf-8") as journal:
        journal.write("- {id: a4, date: 2027-04-24, tree: Quill, fed: 80 ppm N}\n")
    season = plan(old, date(2027, 5, 27)).season
    assert [(r["told"], r["outcome"], r["ppm_n"]) for r in rows(old)[len(before) :]] == [
        ("2027-04-24", "given otherwise", "80")
    ]
    assert ("Quill", date(2027, 4, 24), "8E+1", "RECORDED", "powder") in feeds(season)
    assert feeds(plan(old, date(2027, 5, 28)).season)[:4] == feeds(season)[:4]


@pytest.mark.parametrize("lost", ["history.csv", "told.json"])
def test_one_file_gone_is_said_and_worked_out_anew(old: Path, lost: str) -> None:
    kept = feeds(plan(old, LAST, keep=False).season)
    (old.parent / lost).unlink()
    planned = plan(old, LAST)
    assert planned.notes == (
        "history.csv or told.json is gone; what was told before is worked out anew from the journal",
    )
    assert feeds(planned.season) == kept
    assert plan(old, LAST).notes == ()


def test_both_files_gone_are_worked_out_anew_from_the_journal(old: Path) -> None:
    kept = feeds(plan(old, LAST, keep=False).season)
    for name in ("history.csv", "told.json"):
        (old.parent / name).unlink()
    planned = plan(old, LAST)
    assert planned.notes == ()
    assert feeds(planned.season) == kept


@pytest.mark.parametrize(
    ("cell", "torn"),
    [
        (",2027,", ",twenty,"),
        ("2027-05-24,Quill", "2027-05-24"),
        ("2", "x"),
        (",150,150,1,", ",2027,150,1,"),
        (",150,150,1,", ",150,2027,1,"),
        (",growing-on,spring and summer,powder,2027", ",growing-on,spring and summer,powder,9999"),
    ],
)
def test_what_a_damaged_line_told_is_worked_out_anew(old: Path, cell: str, torn: str) -> None:
    kept = feeds(plan(old, LAST, keep=False).season)
    path = old.parent / "history.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    place = next(n for n, line in enumerate(lines) if line.startswith("2027-05-24,Quill"))
    lines[place] = lines[place].replace(cell, torn, 1)
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    planned = plan(old, LAST)
    assert planned.notes == (
        f"history.csv:{place + 1}: not a line of the history; what it told is worked out anew from the journal",
    )
    assert feeds(planned.season) == kept


@pytest.mark.parametrize(
    "torn", [b"2027-05-24,Quill,pow", b"2027-05-2", b"\xff\xfe\n", b'2027-05-24,"' + b"x" * 200_000]
)
def test_a_torn_last_line_is_said_once_and_what_is_told_later_stands(old: Path, torn: bytes) -> None:
    """A power cut while the line was written. Later lines count again, and the torn one stays to be looked at."""
    kept = feeds(plan(old, LAST, keep=False).season)
    path = old.parent / "history.csv"
    path.write_bytes(b"".join(path.read_bytes().splitlines(keepends=True)[:-1]) + torn)
    assert "history.csv:5: not a line of the history" in plan(old, LAST).notes[0]
    assert feeds(plan(old, LAST).season) == kept
    again = plan(old, LAST + 60 * DAY)
    assert again.notes == ()
    assert f"# {torn.decode(errors='replace')}".strip() in path.read_text(encoding="utf-8")
    later = plan(old, LAST + 61 * DAY)
    assert later.notes == ()
    assert max(feed.told for feed in later.remembered.history.trees["Quill"].feeds) > LAST + 50 * DAY
    told = [(row["told"], row["tree"]) for row in rows(old)]
    assert len(told) == len(set(told)) > 8


def test_a_feed_that_finds_no_room_on_the_disk_leaves_no_torn_line(old: Path) -> None:
    """A limit on the size of files stands in for the full disk."""
    path = old.parent / "history.csv"
    before, told = path.read_bytes(), (old.parent / "told.json").read_bytes()
    full = (len(before) + 40, resource.RLIM_INFINITY)
    usual = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, full)
    try:
        planned = plan(old, LAST + 60 * DAY)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, usual)
    assert path.read_bytes() == before
    assert (old.parent / "told.json").read_bytes() == told
    assert feeds(plan(old, LAST + 60 * DAY).season) == feeds(planned.season)


def test_a_history_cut_short_is_said_and_worked_out_anew(old: Path) -> None:
    kept = feeds(plan(old, LAST, keep=False).season)
    path = old.parent / "history.csv"
    lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
    path.write_text("".join(lines[:-2]), encoding="utf-8")
    planned = plan(old, LAST)
    assert planned.notes == (
        "history.csv has lost lines; what was told before is worked out anew from the journal",
    )
    assert feeds(planned.season) == kept
    assert plan(old, LAST).notes == ()


@pytest.mark.parametrize("text", ["", "{", "[]", '{"format": "another"}', "\x00"])
def test_a_damaged_memory_is_said_and_written_anew(old: Path, text: str) -> None:
    kept = feeds(plan(old, LAST, keep=False).season)
    (old.parent / "told.json").write_text(text, encoding="utf-8")
    planned = plan(old, LAST)
    assert planned.notes == ("told.json is damaged; what it held is worked out anew from the journal",)
    assert feeds(planned.season) == kept
    assert plan(old, LAST).notes == ()


def test_another_can_changes_no_mix_of_the_past_and_all_to_come(old: Path) -> None:
    """Mixed in a can of 9 L before 26 May, in one of 5 L from then on."""
    old.write_text(COLLECTION.replace("can: 9 L", "can: 5 L"), encoding="utf-8")
    for today in (LAST, date(2027, 5, 30)):
        season = plan(old, today).season
        cans = {i.day: told_cans(season, i.day).batches for i in season.rounds if i.group == "growing-on"}
        assert {batch.can_l for day in cans if day < LAST for batch in cans[day]} == {9}
        assert {batch.can_l for day in cans if day >= LAST for batch in cans[day]} == {5}


def test_memory_of_an_older_kind_without_cans_is_read(old: Path) -> None:
    kept = feeds(plan(old, LAST, keep=False).season)
    path = old.parent / "told.json"
    content = json.loads(path.read_text(encoding="utf-8"))
    del content["cans"], content["in_step"]
    path.write_text(json.dumps(content), encoding="utf-8")
    planned = plan(old, LAST)
    assert planned.notes == ()
    assert feeds(planned.season) == kept


def test_a_group_that_goes_by_another_name_keeps_what_was_told(old: Path) -> None:
    kept = feeds(plan(old, LAST, keep=False).season)
    for name, new in (("growing-on", "youngsters"), ("shown", "exhibits")):
        old.write_text(old.read_text(encoding="utf-8").replace(name, new), encoding="utf-8")
    season = plan(old, LAST).season
    assert feeds(season) == kept
    assert {item.group for item in season.rounds} == {"youngsters"}
    assert feeds(plan(old, LAST).season) == kept


def test_nothing_is_written_for_another_day_than_today(file: Path) -> None:
    plan(file, FIRST, keep=False)
    result = CliRunner().invoke(feedplan, ["round", "-c", str(file), "--today", "2027-05-01"])
    assert result.exit_code == 0
    assert sorted(path.name for path in file.parent.iterdir()) == ["collection.yaml", "journal.yaml"]


def test_the_next_feed_told_by_record_is_remembered(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Moved on 20 April and told "24 Apr": a round read on the 28th asks for no second feed four days later."""

    def on(day: str, *words: str) -> str:
        monkeypatch.setattr("feedplan.cli.options.today_in", lambda zone: date.fromisoformat(day))
        return CliRunner().invoke(feedplan, [*words, "-c", str(file)], catch_exceptions=False).stdout

    file.write_text(COLLECTION.replace("group: growing-on", "group: shown"), encoding="utf-8")
    (file.parent / "journal.yaml").unlink()
    moved = on("2027-04-20", "record", "moved", "Quill", "--to", "growing-on")
    assert "Next feed 24 Apr at 150 ppm N" in moved
    assert on("2027-04-28", "round").startswith("Wed 28 Apr - check 2, feed none\n")
    assert [(row["told"], row["tree"], row["outcome"]) for row in rows(file)] == [
        ("2027-04-24", "Quill", "taken as given")
    ]


@pytest.fixture
def sealed(file: Path) -> Iterator[Path]:
    """A folder in which nothing can be written, also not by one who may do everything."""
    for name in ("history.csv", "told.json"):
        (file.parent / name).mkdir()
    file.parent.chmod(0o500)
    yield file
    file.parent.chmod(0o700)


def test_where_nothing_may_be_written_the_same_plan_is_made(file: Path, sealed: Path) -> None:
    today = LAST
    loaded = load_collection(file)
    walked = plan_season(loaded.collection, loaded.journal, today, FIRST, date(2027, 12, 31))
    planned = plan(sealed, today)
    assert feeds(planned.season) == feeds(walked)
    (note,) = planned.notes
    assert note.startswith(
        "what is told today cannot be remembered, so tomorrow works it out anew: history.csv and"
    )
    assert note.endswith("make them files of yours that may be written")


@pytest.mark.parametrize("name", ["history.csv", "told.json"])
def test_a_pipe_where_the_memory_should_lie_is_not_waited_for(file: Path, name: str) -> None:
    os.mkfifo(file.parent / name)
    loaded = load_collection(file)
    assert feeds(plan(file, FIRST, keep=False).season) == feeds(
        plan_season(loaded.collection, loaded.journal, FIRST, FIRST, date(2027, 12, 31))
    )


def test_two_writers_settle_a_feed_once(old: Path) -> None:
    with ThreadPoolExecutor(4) as pool:
        for _ in range(3):
            list(pool.map(lambda _: plan(old, LAST + DAY * 30), range(4)))
    told = [(row["told"], row["tree"]) for row in rows(old)]
    assert max(told)[0] > str(LAST)
    assert len(told) == len(set(told))


def test_a_file_written_by_hand_with_other_line_ends_is_read(old: Path) -> None:
    kept = feeds(plan(old, LAST, keep=False).season)
    path = old.parent / "history.csv"
    path.write_bytes(path.read_bytes().replace(b"\n", os.linesep.encode() if os.linesep != "\n" else b"\r\n"))
    planned = plan(old, LAST)
    assert planned.notes == ()
    assert feeds(planned.season) == kept


@pytest.mark.parametrize(
    ("written", "gets"),
    [
        ("- {date: 2027-05-08, tree: Quill, work: repotted, roots: 30 %}\n", 0),
        ("- {date: 2027-05-08, tree: Quill, gone: sold}\n", 0),
        ("- {date: 2027-04-19, tree: Quill, gone: sold}\n", 0),
        ("- {date: 2027-06-20, tree: Quill, work: repotted, roots: 30 %}\n", 3),
    ],
)
def test_what_was_asked_for_ahead_stands_until_something_is_written_down(
    file: Path, written: str, gets: int
) -> None:
    """A plan of 1 May asks for months ahead. Seen from 12 June, none made since: the tree held or gone got no more."""
    (file.parent / "journal.yaml").write_text("", encoding="utf-8")
    plan(file, date(2027, 5, 1))
    (file.parent / "journal.yaml").write_text(written, encoding="utf-8")
    seen = plan(file, date(2027, 6, 12), keep=False)
    fed = [
        f
        for t in seen.season.timelines
        if "Quill" in t.names
        for f in t.feeds
        if not f.status.is_without_feed
    ]
    assert len([f for f in fed if date(2027, 5, 8) <= f.told < date(2027, 6, 12)]) == gets
