"""How fast the server is, against the least a server of its kind could do, in one run.

python -m tests.bench.serve        prints, each a median over alternating runs:

revalidation  requests a second for the demo's calendar with its ETag (304), against a bare Flask route on waitress that
              returns a constant of the same size (aim: at least 0.8 of it)
full          the same calendar in full, against the same route (aim: at least 0.8)
edit          the first request after an edit, against what `feedplan calendar` does once it is loaded: read, plan,
              write the calendar and its ledger (aim: at most 1.5 of it)
page          the round of the demo (aim: under 100 ms)
"""

from __future__ import annotations

import contextlib
import http.client
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping
from datetime import date
from pathlib import Path
from urllib.parse import urlsplit

from tests.server.process import ROOT, Running, serving

DAY = "2027-06-05"
RUNS = 9
REQUESTS = 200
SETTLED_S = 2.5
"""Files changed less than 2 s ago are read at each request, since their times cannot tell yet."""

_BARE = """
import logging, sys
from flask import Flask, Response
from waitress.server import create_server
body = b"x" * int(sys.argv[1])
app = Flask(__name__)
@app.get("/calendar.ics")
def calendar():
    return Response(body, content_type="text/calendar; charset=utf-8")
logging.getLogger("waitress.queue").setLevel(logging.ERROR)
server = create_server(app, host="127.0.0.1", port=0, threads=4)
print(server.effective_port, flush=True)
server.run()
"""


@contextlib.contextmanager
def bare_route(size: int) -> Iterator[int]:
    """A route that returns a constant of some bytes; its port."""
    process = subprocess.Popen([sys.executable, "-c", _BARE, str(size)], stdout=subprocess.PIPE, text=True)
    try:
        assert process.stdout is not None
        yield int(process.stdout.readline())
    finally:
        process.kill()
        process.communicate()


def get(
    port: int, path: str, headers: Mapping[str, str], times: int
) -> tuple[float, int, http.client.HTTPMessage]:
    """Seconds for so many requests on one connection, opened anew when it is closed; the last status and headers."""
    connection = http.client.HTTPConnection("127.0.0.1", port)
    begun = time.perf_counter()
    for _ in range(times):
        connection.request("GET", path, headers=dict(headers))
        answer = connection.getresponse()
        answer.read()
    taken = time.perf_counter() - begun
    connection.close()
    return taken, answer.status, answer.headers


def against(
    first: Callable[[], float], second: Callable[[], float], runs: int = RUNS
) -> tuple[float, float, float]:
    """Median seconds of both, in turn after a warm-up, and the median of their ratios."""
    first(), second()
    pairs = [(first(), second()) for _ in range(runs)]
    return (
        statistics.median(a for a, _ in pairs),
        statistics.median(b for _, b in pairs),
        statistics.median(a / b for a, b in pairs),
    )


def requests_a_second(server: Running) -> Iterator[str]:
    """Revalidation and full GET against the bare route."""
    path = urlsplit(server.calendars["Everything"]).path
    _, _, headers = get(server.port, path, {}, 1)
    size = int(headers["Content-Length"])
    with bare_route(size) as port:
        for name, asked, status in (
            ("revalidation", {"If-None-Match": headers["ETag"]}, 304),
            ("full", {}, 200),
        ):
            assert get(server.port, path, asked, 1)[1] == status
            ours, bare, _ = against(
                lambda asked=asked: get(server.port, path, asked, REQUESTS)[0],  # type: ignore[misc]
                lambda: get(port, "/calendar.ics", {}, REQUESTS)[0],
            )
            yield (
                f"{name:<14}{REQUESTS / ours:8.0f} a second; bare route {REQUESTS / bare:8.0f}; "
                f"ratio {bare / ours:.2f} ({size} bytes)"
            )


def after_an_edit(server: Running, folder: Path) -> str:
    """The first request after an edit against the command's own work."""
    from feedplan.engine.plan import plan_season
    from feedplan.export.entries import calendar_entries
    from feedplan.export.ics import CalendarSettings
    from feedplan.export.ledger import Scope
    from feedplan.export.publish import publish_calendar
    from feedplan.load.collection import load_collection

    path = urlsplit(server.calendars["Everything"]).path
    file = folder / "collection.yaml"
    text = file.read_text(encoding="utf-8")
    litres = iter(range(100, 100_000))
    output = folder.parent / "trees.ics"

    def edit() -> None:
        file.write_text(text.replace("can: 10 L", f"can: {next(litres) / 10} L"), encoding="utf-8")

    def request() -> float:
        edit()
        return get(server.port, path, {}, 1)[0]

    def command() -> float:
        edit()
        begun = time.perf_counter()
        loaded = load_collection(folder)
        today = date.fromisoformat(DAY)
        season = plan_season(loaded.collection, loaded.journal, today, climate=loaded.climate)
        place = loaded.collection.place
        settings = CalendarSettings(loaded.collection.identity, place.name, place.time_zone)
        entries = calendar_entries(season, loaded.collection)
        publish_calendar(output, entries, settings, Scope(season.start, season.end), today)
        return time.perf_counter() - begun

    ours, theirs, ratio = against(request, command)
    return (
        f"{'edit':<14}{1000 * ours:8.0f} ms; the command's own work {1000 * theirs:.0f} ms; ratio {ratio:.2f}"
    )


def page_time(server: Running) -> str:
    """The round of the demo."""
    path = urlsplit(server.page).path
    taken = statistics.median(get(server.port, path, {}, 1)[0] for _ in range(3 * RUNS))
    return f"{'page':<14}{1000 * taken:8.1f} ms"


def main() -> None:
    """Print every figure."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "northern"
        shutil.copytree(ROOT / "demo" / "northern", folder)
        with serving(folder, today=DAY) as server:
            time.sleep(SETTLED_S)
            for line in requests_a_second(server):
                print(line)
            print(page_time(server))
            print(after_an_edit(server, folder))


if __name__ == "__main__":
    main()
