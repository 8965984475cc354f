"""A process that is killed again and again, at random moments, while it records, publishes or writes its calendar.

python -m tests.server.kill_loop record|publish|calendar FOLDER TIMES SEED: prints what it found, as JSON.
Everything is imported once; each life is a fork, so that hundreds fit into seconds. The garden is as small as can be:
the less there is to plan, the more of the kills fall into writing.
"""

from __future__ import annotations

import csv
import hashlib
import json
import os
import random
import signal
import sys
import time
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

from feedplan.export.calendars import entries_of, settings_of
from feedplan.export.entry import CalendarName
from feedplan.export.ledger import Scope
from feedplan.export.publish import publish_calendar
from feedplan.export.unchanged import ledger_beside
from feedplan.load.collection import load_collection
from feedplan.memory import plan
from feedplan.server.static_site import MARK, publish_site
from tests.server.world import World

MOST_TAPS = 40
FIRST_DAY = date(2027, 4, 20)
ONE_TREE = """\
place: {name: Mill Yard, latitude: 52.1, elevation: 20 m, time_zone: Europe/London}
id: mill-yard
since: 2027-01-01
feeds: {even: {grade: 20-20-20, form: soluble}}
groups: {growing-on: {schedule: vigorous, feed: even}}
trees: [{name: Sorrel, species: field maple, group: growing-on, pot: 9 L}]
"""


def live_and_die(life: Callable[[int], None], chance: random.Random, longest_s: float) -> list[str]:
    """What one life acknowledged before it was killed at a random moment."""
    ear, mouth = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(ear)
        try:
            life(mouth)
        finally:
            os._exit(0)
    os.close(mouth)
    time.sleep(chance.uniform(0, longest_s))
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    with os.fdopen(ear, "rb") as stream:
        return stream.read().decode().split()


def record(folder: Path, times: int, chance: random.Random) -> dict[str, object]:
    """Taps sent until acknowledged, by a phone that tries again with the same key after each kill."""
    world = World(folder)
    world.get("")
    acknowledged: list[str] = []

    def is_taken(number: int) -> bool:
        data = {"key": f"tapnumber{number:05}", "token": world.secrets.form_token, "say": "check=moist"}
        sent = {**data, "back": "./", "tree": "Sorrel"}
        return world.client.post(f"/{world.secrets.write}/record", data=sent).status_code == 303

    def life(mouth: int) -> None:
        for number in range(len(acknowledged), len(acknowledged) + MOST_TAPS):
            if is_taken(number):
                os.write(mouth, f"tapnumber{number:05}\n".encode())

    begin = time.monotonic()
    acknowledged += [f"tapnumber{number:05}" for number in range(3) if is_taken(number)]
    usual_s = (time.monotonic() - begin) / 3
    for _ in range(times):
        heard = live_and_die(life, chance, 4 * usual_s)
        usual_s *= 0.9 if len(heard) > 1 else 1.1  # a machine grows busy and idle again
        acknowledged += heard
    return {"acknowledged": acknowledged}


def publish(folder: Path, times: int, chance: random.Random) -> dict[str, object]:
    """Two plans published in turn; after each kill the site is looked at."""
    site = folder.parent / "site"
    world = World(folder)
    plans = []
    for grade in ("20-20-20", "10-10-10"):
        world.write(ONE_TREE.replace("20-20-20", grade))
        plans.append(world.snapshots.current())
    torn, finished = [], 0
    publish_site(site, plans[0], world.calendars)
    begin = time.monotonic()
    publish_site(site, plans[1], world.calendars)
    usual_s = time.monotonic() - begin
    for number in range(times):
        plan = plans[number % 2]

        def life(mouth: int, plan=plan) -> None:  # type: ignore[no-untyped-def]
            publish_site(site, plan, world.calendars)
            os.write(mouth, b"done\n")

        is_done = bool(live_and_die(life, chance, 1.6 * usual_s))
        usual_s *= 0.9 if is_done else 1.1  # a machine grows busy and idle again
        finished += is_done
        torn += what_is_torn(site)
    return {"torn": torn, "finished": finished}


def calendar(folder: Path, times: int, chance: random.Random) -> dict[str, object]:
    """A calendar written and the plan remembered, a day later each time; after each kill every file is looked at."""
    file, written = folder / "collection.yaml", folder.parent / "trees.ics"
    loaded = load_collection(file)

    def write(day: date) -> None:
        season = plan(loaded, day, file=file, keep=True).season
        entries = entries_of(CalendarName.ROUNDS, season, loaded.collection)
        settings = settings_of(CalendarName.ROUNDS, loaded.collection, alarm_at=None)
        publish_calendar(written, entries, settings, Scope(season.start, season.end), day)

    write(FIRST_DAY)
    begin = time.monotonic()
    write(FIRST_DAY + timedelta(days=1))
    usual_s = time.monotonic() - begin
    torn, finished, last = [], 0, FIRST_DAY
    for number in range(times):
        last = FIRST_DAY + timedelta(days=2 + 3 * number)

        def life(mouth: int, last: date = last) -> None:
            write(last)
            os.write(mouth, b"done\n")

        is_done = bool(live_and_die(life, chance, 1.6 * usual_s))
        usual_s *= 0.9 if is_done else 1.1
        finished += is_done
        torn += torn_files(folder, written)
    notes = plan(loaded, last, file=file, keep=True).notes
    return {"torn": torn, "finished": finished, "notes": notes, "last": str(last)}


def torn_files(folder: Path, written: Path) -> list[str]:
    """What of a calendar, its ledger and the memory beside a collection is not whole."""
    torn = [] if written.read_bytes().endswith(b"END:VCALENDAR\r\n") else [written.name]
    for path in (ledger_beside(written), folder / "told.json"):
        try:
            json.loads(path.read_bytes())
        except ValueError:
            torn.append(path.name)
    lines = (folder / "history.csv").read_text(encoding="utf-8")
    widths = {len(row) for row in csv.reader(lines.splitlines())}
    return [*torn, *([] if lines.endswith("\n") and len(widths) == 1 else ["history.csv"])]


def what_is_torn(site: Path) -> list[str]:
    """The files of a site that are not as its list says; nothing for a site not there yet."""
    if not site.exists():
        return []
    listed = json.loads((site / MARK).read_bytes())["sha256"]
    found = {p.name: hashlib.sha256(p.read_bytes()).hexdigest() for p in site.iterdir() if p.name != MARK}
    return [name for name in listed.keys() | found.keys() if listed.get(name) != found.get(name)]


def main() -> None:
    """Run one loop and print what came of it."""
    what, folder, times, seed = sys.argv[1:]
    loop = {"record": record, "publish": publish, "calendar": calendar}[what]
    print(json.dumps(loop(Path(folder), int(times), random.Random(int(seed)))))


if __name__ == "__main__":
    main()
