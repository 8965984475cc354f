"""The real server on loopback: limits, rude callers, logs, and how it starts and ends."""

from __future__ import annotations

import http.client
import os
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from feedplan.cli import serve as serve_command
from feedplan.server.addresses import terminal_code
from feedplan.server.run import Limits, Server
from tests.server.process import PATIENCE_S, ROOT, Running, command, said_until, said_when_ended, serving
from tests.server.world import World, make_folder


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    with serving(make_folder(tmp_path_factory.mktemp("served") / "trees")) as running:
        yield running


def path_of(address: str) -> str:
    return "/" + address.split("/", 3)[3]


def say(port: int, raw: bytes) -> bytes:
    """What comes back for some bytes, until the server closes or nothing more comes for a while."""
    with socket.create_connection(("127.0.0.1", port), timeout=PATIENCE_S) as caller:
        received = b""
        try:
            caller.sendall(raw)
            while part := caller.recv(65536):
                received += part
                if b"\r\n\r\n" in received and len(received) < 3000:
                    break
        except OSError:
            pass
    return received


def status_of(answer: bytes) -> int:
    found = re.match(rb"HTTP/1\.[01] (\d{3})", answer)
    return int(found[1]) if found else 0


def still_serves(server: Running) -> bool:
    with closing(http.client.HTTPConnection("127.0.0.1", server.port, timeout=PATIENCE_S)) as connection:
        connection.request("GET", path_of(server.calendars["Feeding"]))
        answer = connection.getresponse()
        answer.read()
    return answer.status == 200


def test_it_serves_what_it_printed(server: Running) -> None:
    for address in server.calendars.values():
        with closing(http.client.HTTPConnection("127.0.0.1", server.port, timeout=PATIENCE_S)) as connection:
            connection.request("GET", path_of(address))
            answer = connection.getresponse()
            assert (answer.status, answer.read()[:15]) == (200, b"BEGIN:VCALENDAR")
            assert answer.headers.get("Server") is None


def test_polling_keeps_its_connection(server: Running) -> None:
    """A 304 has no body, so nothing needs the connection closed."""
    path = path_of(server.calendars["Holds"])
    with closing(http.client.HTTPConnection("127.0.0.1", server.port, timeout=PATIENCE_S)) as connection:
        connection.request("GET", path)
        first = connection.getresponse()
        first.read()
        kept = connection.sock
        for _ in range(3):
            connection.request("GET", path, headers={"If-None-Match": first.headers["ETag"]})
            again = connection.getresponse()
            assert (again.status, again.read()) == (304, b"")
            assert connection.sock is kept


REFUSED = {
    "a header of 40 kB": (b"GET / HTTP/1.1\r\nHost: x\r\nX: " + b"a" * 40_000 + b"\r\n\r\n", {431}),
    "many headers": (b"GET / HTTP/1.1\r\n" + b"X: 1\r\n" * 9000 + b"\r\n", {431}),
    "a body of 60 kB": (
        b"POST /x HTTP/1.1\r\nHost: x\r\nContent-Length: 60000\r\n\r\n" + b"a" * 60_000,
        {413},
    ),
    "no request": (b"\r\n\r\nhello\r\n\r\n", {400}),
    "another protocol": (b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03\r\n\r\n", {400}),
    "two lengths": (
        b"POST /x HTTP/1.1\r\nHost: x\r\nContent-Length: 5\r\nContent-Length: 6\r\n\r\nabcdef",
        {400},
    ),
    "a length and chunks": (
        b"POST /x HTTP/1.1\r\nHost: x\r\nContent-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
        {400, 404},
    ),
    "an unknown coding": (b"POST /x HTTP/1.1\r\nHost: x\r\nTransfer-Encoding: rot13\r\n\r\n", {400, 501}),
    "a length below zero": (b"POST /x HTTP/1.1\r\nHost: x\r\nContent-Length: -5\r\n\r\n", {400}),
    "a broken chunk": (
        b"POST /x HTTP/1.1\r\nHost: x\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\nabc\r\n0\r\n\r\n",
        {400},
    ),
    "a bare line feed in a header": (b"GET / HTTP/1.1\r\nHost: x\nX: y\r\n\r\n", {400, 404}),
    "spaces in the address": (b"GET /a b/c HTTP/1.1\r\nHost: x\r\n\r\n", {400, 404}),
    "an address of 20 kB": (b"GET /" + b"a" * 20_000 + b" HTTP/1.1\r\nHost: x\r\n\r\n", {431, 414}),
    "a strange method": (b"BREW /x HTTP/1.1\r\nHost: x\r\n\r\n", {404, 405}),
    "an absolute address": (b"GET http://elsewhere.example/x HTTP/1.1\r\nHost: x\r\n\r\n", {404}),
    "a connect": (b"CONNECT elsewhere.example:443 HTTP/1.1\r\nHost: x\r\n\r\n", {400, 404, 405}),
}


@pytest.mark.parametrize("what", REFUSED)
def test_what_no_honest_caller_sends_is_refused_without_harm(server: Running, what: str) -> None:
    raw, expected = REFUSED[what]
    assert status_of(say(server.port, raw)) in expected
    assert still_serves(server)


def test_callers_who_break_off_do_no_harm(server: Running) -> None:
    path = path_of(server.calendars["Everything"]).encode()
    for cut in (5, 20, len(path)):
        with socket.create_connection(("127.0.0.1", server.port)) as caller:
            caller.sendall((b"GET " + path + b" HTTP/1.1\r\nHost: x\r\n\r\n")[:cut])
    for _ in range(20):
        with socket.create_connection(("127.0.0.1", server.port)) as caller:
            caller.sendall(b"GET " + path + b" HTTP/1.1\r\nHost: x\r\n\r\n")
            caller.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, b"\x01\x00\x00\x00\x00\x00\x00\x00")
    assert still_serves(server)


def _in_thread(world: World, limits: Limits) -> Server:
    import threading

    from feedplan.server.app import Service, make_app

    service = Service(world.snapshots, world.calendars, world.access, lambda: world.now)
    server = Server(make_app(service), "127.0.0.1", 0, limits)
    threading.Thread(target=server.run, daemon=True).start()
    return server


def test_slow_and_silent_callers_are_let_go_and_others_are_served_meanwhile(world: World) -> None:
    """More callers than there is room for, each sending a byte now and then: their time runs out all the same."""
    server = _in_thread(world, Limits(connections=30, asking_s=0.6))
    port = int(server.effective_port)
    slow = [socket.create_connection(("127.0.0.1", port)) for _ in range(40)]
    try:
        deadline = time.monotonic() + PATIENCE_S
        for caller in slow:
            caller.sendall(b"GET /everything.ics HTTP/1.1\r\nX-Slow: ")
        answered = None
        waiting = socket.create_connection(("127.0.0.1", port), timeout=PATIENCE_S)
        waiting.sendall(
            f"GET /{world.secrets.read}/holds.ics HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n".encode()
        )
        waiting.settimeout(0.2)
        while answered is None and time.monotonic() < deadline:
            for caller in slow:
                try:
                    caller.sendall(b"a")
                except OSError:
                    continue
            try:
                answered = waiting.recv(15)
            except TimeoutError:
                continue
        assert answered == b"HTTP/1.1 200 OK"
    finally:
        for caller in slow:
            caller.close()
        waiting.close()
        # Workers first: one that ends later writes a waking byte to a file number that others may have by then.
        server.task_dispatcher.shutdown()
        server.close()


def test_silent_callers_that_take_every_place_make_room_within_moments(server: Running) -> None:
    """Half-open connections, more than there is room for: the next caller does not wait for their time to run out."""
    silent = [socket.create_connection(("127.0.0.1", server.port)) for _ in range(300)]
    try:
        begun = time.monotonic()
        assert still_serves(server)
        assert time.monotonic() - begun < Limits().asking_s / 2
    finally:
        for caller in silent:
            caller.close()


def test_two_hundred_callers_at_once_are_all_answered(server: Running) -> None:
    callers = [socket.create_connection(("127.0.0.1", server.port), timeout=PATIENCE_S) for _ in range(200)]
    path = path_of(server.calendars["Holds"]).encode()
    try:
        for caller in callers:
            caller.sendall(b"GET " + path + b" HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n")
        assert {caller.recv(15) for caller in callers} == {b"HTTP/1.1 200 OK"}
    finally:
        for caller in callers:
            caller.close()


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_signal_ends_it_cleanly_and_quietly(tmp_path: Path, number: signal.Signals) -> None:
    with serving(make_folder(tmp_path / "trees")) as running:
        assert still_serves(running)
        running.process.send_signal(number)
        _, log = running.process.communicate(timeout=PATIENCE_S)
        assert (running.process.returncode, log) == (0, "")


def test_an_answer_under_way_is_finished_after_sigterm(tmp_path: Path) -> None:
    with serving(make_folder(tmp_path / "trees")) as running:
        with socket.create_connection(("127.0.0.1", running.port), timeout=PATIENCE_S) as caller:
            path = path_of(running.calendars["Everything"])
            caller.sendall(f"GET {path} HTTP/1.1\r\nHost: x\r\n\r\n".encode())
            answer = caller.recv(100)
            running.process.send_signal(signal.SIGTERM)
            while part := caller.recv(65536):
                answer += part
        assert answer.endswith(b"END:VCALENDAR\r\n")
        assert running.process.wait(timeout=PATIENCE_S) == 0


def test_the_log_of_a_busy_server_holds_no_secret(tmp_path: Path) -> None:
    with serving(make_folder(tmp_path / "trees")) as running:
        secret = running.shared.rstrip("/").rsplit("/", 1)[1]
        for raw in (b"GET /%s/nothing HTTP/1.1\r\n\r\n", b"BREW /%s/ HTTP/9\r\n\r\n", b"GET /%s/x\r\n\r\n"):
            say(running.port, raw % secret.encode())
        running.process.send_signal(signal.SIGTERM)
        _, log = running.process.communicate(timeout=PATIENCE_S)
        assert secret not in log


def run(folder: Path, *more: str, **environment: str) -> subprocess.CompletedProcess[str]:
    known = {name: value for name, value in os.environ.items() if name != "JOURNAL_STREAM"}
    words = [*command(folder, *more)]
    return subprocess.run(
        words,
        capture_output=True,
        text=True,
        cwd=ROOT,
        timeout=PATIENCE_S,
        env=known | environment,
        check=False,
    )


def test_show_prints_every_address_and_how_to_subscribe_and_stops(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "trees")
    said = run(folder, "--show", "--address", "https://trees.example.org/plan").stdout
    assert "https://trees.example.org/plan/" in said
    assert "group-growing-on.ics" in said
    assert "webcal://trees.example.org/plan/" in said
    assert run(folder, "--show", "--address", "https://trees.example.org/plan").stdout == said


def test_new_secret_changes_every_address(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "trees")
    before = set(re.findall(r"/([\w-]{32})/", run(folder, "--show").stdout))
    after = set(re.findall(r"/([\w-]{32})/", run(folder, "--show", "--new-secret").stdout))
    assert len(before) == len(after) == 2
    assert before.isdisjoint(after)


def test_a_service_whose_output_is_kept_prints_no_address(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "trees")
    run(folder, "--show")
    secrets = re.findall(r"[\w-]{32}", (folder / ".feedplan" / "access.json").read_text())
    for more, environment in (((), {"JOURNAL_STREAM": "8:1"}), (("--quiet",), {})):
        process = subprocess.Popen(
            command(folder, *more),
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            cwd=ROOT,
            env={k: v for k, v in os.environ.items() if k != "JOURNAL_STREAM"} | environment,
        )
        said = said_until("\n", process) + said_when_ended(process)
        assert "only this computer can reach it" in said
        assert not any(secret in said for secret in secrets)


def test_listening_for_others_says_what_that_means(tmp_path: Path) -> None:
    process = subprocess.Popen(
        command(make_folder(tmp_path / "trees"), "--host", "0.0.0.0"),
        stdout=subprocess.PIPE,
        text=True,
        cwd=ROOT,
    )
    said = said_until("can be read on the way", process) + said_when_ended(process)
    assert "whoever can reach this computer and has an address gets in" in said
    assert "can be read on the way" in said


def test_a_port_in_use_is_told_in_a_sentence(server: Running, tmp_path: Path) -> None:
    answer = run(make_folder(tmp_path / "trees"), "--port", str(server.port))
    assert answer.returncode == 2
    assert re.search(r"cannot listen on 127.0.0.1 port \d+: address already in use", answer.stderr)


def test_broken_files_on_a_first_start_are_told_like_check_tells_them(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "trees")
    (folder / "collection.yaml").write_text("place: [", encoding="utf-8")
    answer = run(folder)
    assert answer.returncode == 1
    assert "collection.yaml:1:" in answer.stderr
    assert "Traceback" not in answer.stderr


def test_a_missing_library_is_told_with_what_to_type(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    from click.testing import CliRunner

    from feedplan.cli.main import feedplan

    monkeypatch.setattr("importlib.util.find_spec", lambda name: None if name == "waitress" else object())
    answer = CliRunner().invoke(feedplan, ["serve", "-c", str(make_folder(tmp_path / "trees"))])
    assert answer.exit_code == 2
    assert answer.stderr == f"Error: {serve_command.NEEDS.format(python=sys.executable)}\n"


def test_a_camera_reads_the_address_off_the_terminal() -> None:
    """Read back by zxing-cpp, a reader of another make."""
    numpy, zxingcpp = pytest.importorskip("numpy"), pytest.importorskip("zxingcpp")
    for text in ("webcal://192.168.1.5:8377/" + "s" * 32 + "/everything.ics", "https://a.example/x/"):
        lines = [re.sub(r"\x1b\[[0-9;]*m", "", line) for line in terminal_code(text).splitlines()]
        dark = [[char in half for char in line] for line in lines for half in ("▀█", "▄█")]
        picture = numpy.kron(~numpy.array(dark), numpy.ones((4, 4))).astype("uint8") * 255
        assert [code.text for code in zxingcpp.read_barcodes(picture)] == [text]
