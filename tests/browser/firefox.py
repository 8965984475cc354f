"""Debian's firefox-esr, driven over WebDriver BiDi (https://w3c.github.io/webdriver-bidi/), which needs no driver."""

from __future__ import annotations

import contextlib
import json
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from typing import Any

from tests.browser.browser import Window

_PATIENCE_S = 60


def why_not() -> str:
    """Why no Firefox can be had here, "" when one can."""
    if shutil.which("firefox-esr") is None:
        return "firefox-esr not installed (Debian: apt-get install firefox-esr)"
    try:
        import websocket  # noqa: F401
    except ImportError:
        return "websocket-client is not installed (it comes with selenium, in the test extra)"
    return ""


class Firefox(Window):
    """One window. Each warning or error of its console, and each of a script, is in `complaints`."""

    def __init__(self, connection: Any) -> None:
        self._connection = connection
        self._count = 0
        self.complaints: list[str] = []
        self._ask("session.new", capabilities={})
        self._ask("session.subscribe", events=["log.entryAdded"])
        self._context = self._ask("browsingContext.getTree")["contexts"][0]["context"]

    def _ask(self, method: str, **what: Any) -> Any:
        """The result of a command; what the browser tells meanwhile is looked through for complaints."""
        self._count += 1
        self._connection.send(json.dumps({"id": self._count, "method": method, "params": what}))
        while True:
            said = json.loads(self._connection.recv())
            if said.get("method") == "log.entryAdded" and said["params"]["level"] in ("warn", "error"):
                self.complaints.append(f"{said['params']['level']}: {said['params']['text']}")
            if said.get("id") == self._count:
                assert said["type"] == "success", said
                return said["result"]

    def size(self, width: int, height: int) -> None:
        self._ask(
            "browsingContext.setViewport", context=self._context, viewport={"width": width, "height": height}
        )

    def open(self, address: str) -> None:
        self._ask("browsingContext.navigate", context=self._context, url=address, wait="complete")

    def run(self, script: str, *arguments: Any) -> Any:
        given = self._ask(
            "script.callFunction",
            functionDeclaration="function (given) { return JSON.stringify((function () {"
            + script
            + "}).apply(null, JSON.parse(given)) ?? null); }",
            arguments=[{"type": "string", "value": json.dumps(arguments)}],
            target={"context": self._context},
            awaitPromise=False,
        )
        assert given["type"] == "success", given
        return json.loads(given["result"]["value"])

    def tap(self, selector: str) -> None:
        """Tap as a thumb does: on what lies on top there."""
        x, y = self.run(
            "const e = document.querySelector(arguments[0]); e.scrollIntoView({block: 'center', behavior: 'instant'});"
            "const r = e.getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2].map(Math.round)",
            selector,
        )
        touch = [
            {"type": "pointerMove", "x": x, "y": y},
            {"type": "pointerDown", "button": 0},
            {"type": "pointerUp", "button": 0},
        ]
        thumb = {
            "type": "pointer",
            "id": "thumb",
            "parameters": {"pointerType": "touch"},
            "actions": touch,
        }
        self._ask("input.performActions", context=self._context, actions=[thumb])

    def close(self) -> None:
        self._ask("browser.close")


@contextlib.contextmanager
def firefox() -> Iterator[Firefox]:
    """A Firefox with a profile of its own, thrown away afterwards."""
    import websocket

    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        words = [
            "firefox-esr",
            "--headless",
            "--no-remote",
            "--profile",
            profile,
            "--remote-debugging-port",
            "0",
        ]
        process = subprocess.Popen([*words, "about:blank"], stderr=subprocess.PIPE, text=True)
        try:
            address = f"{_address(process)}/session"
            with contextlib.closing(
                websocket.create_connection(address, suppress_origin=True, timeout=_PATIENCE_S)
            ) as connection:
                window = Firefox(connection)
                yield window
                window.close()
            process.communicate(timeout=_PATIENCE_S)
        finally:
            process.kill()
            process.communicate()


def _address(process: subprocess.Popen[str]) -> str:
    """Where the browser listens, as it says when it does."""
    assert process.stderr is not None
    for line in process.stderr:
        if line.startswith("WebDriver BiDi listening on "):
            return line.split()[-1]
    raise AssertionError("firefox-esr ended before it listened")
