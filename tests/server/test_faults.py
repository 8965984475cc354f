"""What must never happen, made to nearly happen: kills, full disks, folders that cannot be written, two servers."""

from __future__ import annotations

import csv
import http.client
import json
import os
import re
import resource
import subprocess
import sys
import tempfile
import threading
from contextlib import closing
from pathlib import Path
from typing import Any
from urllib.parse import urlencode, urlsplit

import pytest

from feedplan.load.collection import load_collection
from tests.properties import times
from tests.server.kill_loop import ONE_TREE
from tests.server.process import PATIENCE_S, ROOT, Running, command, serving
from tests.server.test_recording import tap
from tests.server.world import JOURNAL, World, make_folder, titles

KILLS = times(15, 500)
JOURNAL_OF_ONE = JOURNAL.replace("Bracken", "Sorrel")


def run_loop(what: str, folder: Path, times: int, seed: int) -> dict[str, Any]:
    words = [sys.executable, "-m", "tests.server.kill_loop", what, str(folder), str(times), str(seed)]
    done = subprocess.run(
        words, capture_output=True, text=True, cwd=ROOT, timeout=10 * PATIENCE_S, check=False
    )
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def test_killed_again_and_again_while_recording_nothing_acknowledged_is_lost_or_doubled(
    tmp_path: Path,
) -> None:
    folder = make_folder(tmp_path / "trees", JOURNAL_OF_ONE, ONE_TREE)
    acknowledged = run_loop("record", folder, KILLS, seed=1)["acknowledged"]
    assert len(acknowledged) > KILLS // 5
    assert acknowledged == sorted(set(acknowledged))
    text = (folder / "journal.yaml").read_text(encoding="utf-8")
    assert text.startswith(JOURNAL_OF_ONE)
    assert text.endswith("}\n")
    loaded = load_collection(folder)  # raises for a torn line or a doubled id
    landed = len(loaded.journal.entries) - 1
    # What was sent and killed before its answer may have landed too: at most one tap in the end.
    assert len(acknowledged) <= landed <= len(acknowledged) + 1


def test_killed_again_and_again_while_publishing_the_site_is_always_whole(tmp_path: Path) -> None:
    found = run_loop("publish", make_folder(tmp_path / "trees", JOURNAL_OF_ONE, ONE_TREE), KILLS, seed=2)
    assert found["torn"] == []
    assert 0 < found["finished"] < KILLS


def test_killed_while_it_writes_its_calendar_and_remembers_no_file_is_torn_and_no_feed_told_twice(
    tmp_path: Path,
) -> None:
    folder = make_folder(tmp_path / "trees", "", ONE_TREE)
    found = run_loop("calendar", folder, KILLS, seed=3)
    assert found["torn"] == []
    assert found["notes"] == []
    assert 0 < found["finished"] < KILLS
    lines = (folder / "history.csv").read_text(encoding="utf-8").splitlines()
    told = [(row["told"], row["tree"]) for row in csv.DictReader(lines)]
    assert len(told) == len(set(told)) > 2
    left = {path.name for path in (*tmp_path.iterdir(), *folder.iterdir())}
    for name in filter(
        re.compile(r"\..*\.tmp").fullmatch, left
    ):  # until ten minutes later the next write clears them
        assert load_collection(folder).copies == (), name


def ask(server: Running, method: str, address: str, **fields: str) -> tuple[int, str]:
    with closing(http.client.HTTPConnection("127.0.0.1", server.port, timeout=PATIENCE_S)) as connection:
        headers = {"Content-Type": "application/x-www-form-urlencoded", "Accept": "application/json"}
        connection.request(method, urlsplit(address).path, urlencode(fields) or None, headers)
        answer = connection.getresponse()
        return answer.status, answer.read().decode()


def _token(server: Running) -> str:
    found = re.search(r'name="token" value="(\w+)"', ask(server, "GET", server.page)[1])
    assert found is not None
    return found[1]


def test_with_a_full_disk_it_goes_on_serving_and_says_why_nothing_is_recorded(tmp_path: Path) -> None:
    """A limit on the size of files stands in for the full disk: every larger write fails half way."""
    folder = make_folder(tmp_path / "trees", JOURNAL + "# " + "x" * 2000 + "\n")
    subprocess.run(command(folder, "--show"), capture_output=True, check=True, cwd=ROOT)
    before = (folder / "journal.yaml").read_bytes()
    limit = len(before) + 10
    with serving(folder) as server:
        resource.prlimit(server.process.pid, resource.RLIMIT_FSIZE, (limit, limit))
        assert ask(server, "GET", server.calendars["Everything"])[0] == 200
        fields = {"key": "k" * 16, "token": _token(server), "say": "check=dry", "tree": "Sorrel"}
        status, said = ask(server, "POST", f"{server.page}record", **fields)
        assert status == 503
        assert "file too large; nothing was recorded" in json.loads(said)["problem"]
        assert (folder / "journal.yaml").read_bytes() == before
        assert [path.name for path in folder.iterdir() if path.name.startswith(".journal")] == []
        assert ask(server, "GET", server.calendars["Everything"])[0] == 200


def test_publishing_to_a_full_disk_leaves_the_old_site(tmp_path: Path) -> None:
    folder, site = make_folder(tmp_path / "trees"), tmp_path / "site"
    words = [sys.executable, "-m", "feedplan", "publish", str(site), "-c", str(folder), "--today"]
    subprocess.run([*words, "2027-06-05"], check=True, capture_output=True, cwd=ROOT)
    before = {path.name: path.read_bytes() for path in site.iterdir()}
    argv = [*words[2:], "2027-06-06"]
    limited = (
        "import resource, sys, runpy; resource.setrlimit(resource.RLIMIT_FSIZE, (8000, 8000)); "
        f"sys.argv = {argv}; runpy.run_module('feedplan', run_name='__main__')"
    )
    done = subprocess.run(
        [sys.executable, "-c", limited], capture_output=True, text=True, cwd=ROOT, check=False
    )
    assert done.returncode == 1, done.stderr
    assert "file too large; what was there is unchanged" in done.stderr
    assert {path.name: path.read_bytes() for path in site.iterdir()} == before
    assert sorted(path.name for path in tmp_path.iterdir()) == ["site", "trees"]


READ_ONLY = """
import os, sys
from pathlib import Path
from tests.server.world import World
folder, state = Path(sys.argv[1]), Path(sys.argv[2])
world = World(folder)
world.get("")
if os.geteuid() == 0:
    os.chown(state, 65534, 65534)
    for path in state.rglob("*"): os.chown(path, 65534, 65534)
    os.seteuid(65534)
token = world.secrets.form_token
world.later(hours=1)
assert world.get("everything.ics").status_code == 200
assert world.get("", write=True).status_code == 200
data = {"key": "k" * 16, "token": token, "say": "check=dry", "tree": "Sorrel"}
answer = world.client.post(f"/{world.secrets.write}/record", data=data, headers={"Accept": "application/json"})
print(answer.status_code, answer.get_json()["problem"])
"""


def test_a_folder_that_cannot_be_written_is_served_and_says_why_nothing_is_recorded() -> None:
    """Run by root it becomes nobody first, since root may write anywhere."""
    with tempfile.TemporaryDirectory() as place:
        Path(place).chmod(0o755)
        folder = make_folder(Path(place) / "trees")
        (folder / ".feedplan").mkdir(mode=0o700)
        folder.chmod(0o555)
        words = [sys.executable, "-c", READ_ONLY, str(folder), str(folder / ".feedplan")]
        done = subprocess.run(
            words, capture_output=True, text=True, cwd=ROOT, timeout=PATIENCE_S, check=False
        )
        folder.chmod(0o755)
        assert done.returncode == 0, done.stderr
        assert done.stdout.startswith("503 ")
        assert "permission denied; nothing was recorded" in done.stdout
        assert (folder / "journal.yaml").read_text() == JOURNAL


ON_A_DISK_OF_ITS_OWN = """
import shutil, subprocess, sys
from pathlib import Path
from tests.server.test_recording import tap
from tests.server.world import World
source, disk, options = Path(sys.argv[1]), Path(sys.argv[2]), sys.argv[3]
subprocess.run(["mount", "-t", "tmpfs", "-o", "size=400k", "none", str(disk)], check=True)
shutil.copytree(source, disk / "trees")
World(disk / "trees").get("")
if options == "full":
    try:
        (disk / "photo").write_bytes(b"x" * 1_000_000)
    except OSError:
        pass
else:
    subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
world = World(disk / "trees")
answer = tap(world, "check=dry", "Sorrel", headers={"Accept": "application/json"})
health = world.get("health")
print(world.get("").status_code, answer.status_code, health.status_code, health.get_json()["status"])
print(health.get_json()["cannot_record"])
"""


@pytest.mark.parametrize(
    ("disk", "why"), [("full", "no space left on device"), ("read-only", "read-only file system")]
)
def test_started_on_a_full_or_read_only_disk_it_serves_and_its_health_says_so(
    tmp_path: Path, disk: str, why: str
) -> None:
    """On a small file system in memory that only this process sees."""
    (tmp_path / "disk").mkdir()
    alone = ["unshare", "--map-root-user", "--mount"]
    if subprocess.run(
        [*alone, "mount", "-t", "tmpfs", "none", str(tmp_path / "disk")], check=False
    ).returncode:
        pytest.skip("no file system may be mounted here")
    folder = make_folder(tmp_path / "trees")
    words = [*alone, sys.executable, "-c", ON_A_DISK_OF_ITS_OWN, str(folder), str(tmp_path / "disk"), disk]
    done = subprocess.run(words, capture_output=True, text=True, cwd=ROOT, timeout=PATIENCE_S, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines()[0] == "200 503 503 cannot record"
    assert why in done.stdout


def test_a_state_folder_that_cannot_be_made_is_told_with_what_to_type(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "trees")
    (tmp_path / "taken").write_text("")
    words = command(folder, "--show", "--state", str(tmp_path / "taken" / "state"))
    done = subprocess.run(words, capture_output=True, text=True, cwd=ROOT, check=False)
    assert done.returncode == 1
    assert "--state DIR" in done.stderr
    assert "Traceback" not in done.stderr


def test_two_servers_on_one_collection_lose_nothing_and_show_the_same(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "trees")
    servers = [World(folder), World(folder)]
    assert servers[0].secrets == servers[1].secrets

    def phone(number: int) -> None:
        for turn in range(8):
            for server in servers:  # the same tap reaches both
                tap(server, "check=moist", "Sorrel", key=f"phone{number:02}turn{turn:02}")

    phones = [threading.Thread(target=phone, args=(number,)) for number in range(3)]
    for each in phones:
        each.start()
    for each in phones:
        each.join()
    for server in servers:
        assert server.snapshots.current().trouble is None
        assert len(server.snapshots.current().loaded.journal.entries) == 1 + 24


def test_two_servers_give_the_same_bytes_and_dates_after_an_edit(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "trees")
    one, other = World(folder), World(folder)
    for server in (one, other):
        server.get("everything.ics")
    one.edit("grade: 20-20-20", "grade: 10-10-10")
    one.later(seconds=5)
    other.later(seconds=40)
    first, second = one.get("everything.ics"), other.get("everything.ics")
    assert first.data == second.data
    assert first.headers["ETag"] == second.headers["ETag"]
    assert first.headers["Last-Modified"] == second.headers["Last-Modified"]
    assert len(titles(first.data)) > 50


def test_a_folder_that_goes_away_and_comes_back_while_served_loses_nothing(tmp_path: Path) -> None:
    world = World(make_folder(tmp_path / "trees"))
    access = world.secrets
    shown = titles(world.get("everything.ics").data)
    world.folder.rename(tmp_path / "away")
    gone = world.client.get(f"/{access.read}/everything.ics")
    assert [title for title in titles(gone.data) if not title.startswith("The plan is not")] == shown
    data = {"key": "k" * 16, "token": access.form_token, "say": "check=dry", "tree": "Sorrel"}
    refused = world.client.post(f"/{access.write}/record", data=data, headers={"Accept": "application/json"})
    assert refused.status_code == 503
    assert "no such file or directory; nothing was recorded" in refused.get_json()["problem"]
    (tmp_path / "away").rename(world.folder)
    assert titles(world.get("everything.ics").data) == shown
    assert tap(world, "check=dry", "Sorrel").status_code == 303
    assert len(load_collection(world.folder).journal.entries) == 2


@pytest.mark.parametrize("name", ["collection.yaml", "journal.yaml"])
def test_a_file_that_became_a_folder_is_served_as_it_was_and_told(tmp_path: Path, name: str) -> None:
    world = World(make_folder(tmp_path / "trees"))
    world.get("")
    (world.folder / name).unlink()
    (world.folder / name).mkdir()
    assert world.get("").status_code == 200
    trouble = world.snapshots.current().trouble
    assert trouble is not None
    assert "is a folder" in trouble.message or "there is no such file" in trouble.message


def test_a_damaged_memory_costs_only_the_numbering(tmp_path: Path) -> None:
    world = World(make_folder(tmp_path / "trees"))
    count = len(titles(world.get("everything.ics").data))
    for name in ("calendars.ledger.json", "calendars.json", "newest-day"):
        (world.folder / ".feedplan" / name).write_bytes(os.urandom(200))
    world.restart()
    assert len(titles(world.get("everything.ics").data)) == count
    assert world.get("").status_code == 200
