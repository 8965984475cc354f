"""`feedplan serve` in the process of the test: the same server on a port of its own, without the cost of a start."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from threading import Event, Thread

from waitress import wasyncore

from feedplan.cli.options import Asked
from feedplan.cli.serve import prepare
from feedplan.server.addresses import address_here
from feedplan.server.app import make_app
from feedplan.server.run import Limits, Server
from tests.server.process import DAY, PATIENCE_S

HOST = "127.0.0.1"


class Serving:
    """A server in a thread. page: the address of the page that records."""

    def __init__(self, folder: Path, port: int) -> None:
        service = prepare(
            Asked(str(folder), date.fromisoformat(DAY), False), None, new_secret=False, trust_clock=False
        )
        self._server = Server(make_app(service), HOST, port, Limits())
        self.port = int(self._server.effective_port)
        self.page = address_here(HOST, self.port).round(service.access.current())
        self._is_over = Event()
        self._thread = Thread(target=self._run, daemon=True)
        self._thread.start()

    def _run(self) -> None:
        """Serve until told; then every connection ends, as when the process does."""
        sockets = self._server._map
        while not self._is_over.is_set():
            wasyncore.loop(timeout=1, map=sockets, use_poll=True, count=1)
        self._server.task_dispatcher.shutdown()
        for each in list(sockets.values()):
            each.close()

    def stop(self) -> None:
        """Go away; nobody listens at the port any more."""
        if not self._is_over.is_set():
            self._is_over.set()
            self._server.pull_trigger()
            self._thread.join(PATIENCE_S)
            assert not self._thread.is_alive()


@contextlib.contextmanager
def serving_within(folder: Path, port: int = 0) -> Iterator[Serving]:
    server = Serving(folder, port)
    try:
        yield server
    finally:
        server.stop()
