"""Waitress with its limits set for a small home server, ended cleanly by a signal."""

from __future__ import annotations

import logging
import signal
import time
from dataclasses import dataclass
from types import FrameType
from typing import TYPE_CHECKING, Any

from waitress import wasyncore
from waitress.adjustments import Adjustments
from waitress.channel import HTTPChannel
from waitress.server import TcpWSGIServer
from waitress.task import WSGITask

from feedplan.errors import UsageError
from feedplan.words.language import say

if TYPE_CHECKING:
    from _typeshed.wsgi import WSGIApplication

_LARGEST_BODY = 32 * 1024
_LARGEST_HEADER = 16 * 1024
_DRAIN_S = 3.0


@dataclass(frozen=True, slots=True)
class Limits:
    """What one caller may take up.

    connections: open at once. patience_s: how long one may be silent when every place is taken [s]. asking_s: to send
    a whole request, or be silent [s]. sending_s: to fetch an answer [s].
    threads: answers worked on at once.
    """

    connections: int = 200
    patience_s: float = 1
    asking_s: float = 15
    sending_s: float = 120
    threads: int = 4


class _Task(WSGITask):  # type: ignore[misc]
    """One answer. A 304 has no body, so its connection may stay open, which waitress 3.0 would close."""

    def set_close_on_finish(self) -> None:
        """Close the connection after this answer, unless nothing asks for that."""
        asks_to_close = self.request.headers.get("CONNECTION", "").lower() == "close"
        if not self.status.startswith("304") or asks_to_close or self.version != "1.1":
            super().set_close_on_finish()


class _Channel(HTTPChannel):  # type: ignore[misc]
    """A connection that knows how long its caller has been about one request, however often a byte comes."""

    task_class = _Task

    def __init__(self, *given: Any, **more: Any) -> None:
        self.since = time.monotonic()
        super().__init__(*given, **more)

    def service(self) -> None:
        """Answer a request that has come in whole."""
        super().service()
        self.since = time.monotonic()

    def is_over(self, now: float, limits: Limits) -> bool:
        """Whether the caller has taken longer than is fair."""
        if self.requests:
            return False
        return bool(now - self.since > (limits.sending_s if self.total_outbufs_len else limits.asking_s))

    @property
    def is_asking(self) -> bool:
        """Whether no request has come in whole and no answer is under way."""
        return not self.requests and not self.total_outbufs_len


class Server(TcpWSGIServer):  # type: ignore[misc]
    """The server, listening from the start. `run` returns when a signal has ended it."""

    channel_class = _Channel

    def __init__(self, application: WSGIApplication, host: str, port: int, limits: Limits) -> None:
        self.limits = limits
        settings = Adjustments(
            listen=f"[{host}]:{port}" if ":" in host else f"{host}:{port}",
            threads=limits.threads,
            connection_limit=limits.connections + 2,  # waitress counts its own two sockets
            backlog=limits.connections,
            channel_timeout=int(limits.sending_s) + 1,
            cleanup_interval=1,
            max_request_body_size=_LARGEST_BODY,
            max_request_header_size=_LARGEST_HEADER,
            asyncore_use_poll=True,
            ident=None,
            expose_tracebacks=False,
            clear_untrusted_proxy_headers=True,
        )
        try:
            super().__init__(application, adj=settings)
        except OSError as error:
            reason = (error.strerror or str(error)).lower()
            raise UsageError(
                say(
                    "cannot listen on {host} port {port}: {reason}; name another with --port",
                    host=host,
                    port=port,
                    reason=reason,
                )
            ) from error

    def readable(self) -> bool:
        """Whether another connection may come in; looked at once a second or oftener."""
        now = time.monotonic()
        channels = list(self.active_channels.values())
        for channel in channels:
            if channel.is_over(now, self.limits):
                channel.will_close = True
        self._make_room(channels, now)
        return bool(super().readable())

    def _make_room(self, channels: list[_Channel], now: float) -> None:
        """When every place is taken, let go those that have been silent or half-said for longest."""
        if len(channels) < self.limits.connections:
            return
        idle = [each for each in channels if each.is_asking and now - each.since > self.limits.patience_s]
        for channel in sorted(idle, key=lambda each: each.since)[: self.limits.connections // 4]:
            channel.will_close = True

    def run_until_told(self) -> None:
        """Serve until SIGTERM or SIGINT; requests that have come in are answered first."""
        for name in (signal.SIGTERM, signal.SIGINT):
            signal.signal(name, _end)
        self.run()
        self.accepting = False
        until = time.monotonic() + _DRAIN_S
        while time.monotonic() < until and any(c.total_outbufs_len for c in self.active_channels.values()):
            wasyncore.loop(timeout=0.1, map=self._map, count=1)
        self.close()


def _end(number: int, frame: FrameType | None) -> None:
    raise SystemExit(0)


class NoSecrets(logging.Filter):
    """Keeps addresses out of every log: they hold the secret."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Let the message through without its arguments and traceback, which may name an address."""
        if "while serving" in str(record.msg):
            record.msg, record.args = say("A request ended in a fault"), ()
        return True


def quiet_logs() -> None:
    """Send warnings to standard error, none with an address in it."""
    handler = logging.StreamHandler()
    handler.addFilter(NoSecrets())
    handler.setFormatter(logging.Formatter("%(asctime)s %(message)s"))
    logging.basicConfig(level=logging.WARNING, handlers=[handler], force=True)
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
