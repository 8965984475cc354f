"""Who may read and who may write: two long random secrets in addresses, and the gate before every page that asks."""

from __future__ import annotations

import hashlib
import hmac
import json
import secrets
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Any

from feedplan.errors import FeedplanError
from feedplan.server.state import StateFolder
from feedplan.words.language import say

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment

FILE = "access.json"
HEALTH = "health"
"""The one page that needs no secret."""

_FORMAT = "feedplan access 1"
_SECRET_BYTES = 24  # 192 bits, 32 characters: cannot be guessed, and a calendar's address stays short
_SHORTEST = 24
_RIGHTS = "feedplan.rights"

# What a browser may do with these pages: nothing from elsewhere, nothing written into the page itself.
_POLICY = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; "
    "manifest-src 'self'; worker-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
# Sent with every answer, so that a page can do no harm and a secret does not leave it.
_SAFE_HEADERS = (
    ("Content-Security-Policy", _POLICY),
    ("Referrer-Policy", "no-referrer"),
    ("X-Content-Type-Options", "nosniff"),
    ("X-Frame-Options", "DENY"),
    ("Cross-Origin-Opener-Policy", "same-origin"),
    ("Cross-Origin-Resource-Policy", "same-origin"),
    ("Permissions-Policy", "camera=(), geolocation=(), microphone=()"),
    ("X-Robots-Tag", "noindex, nofollow"),
)


class Rights(StrEnum):
    """What an address with a secret in it allows."""

    READ = "read"
    WRITE = "write"


@dataclass(frozen=True, slots=True)
class Access:
    """The secrets. read: calendars and pages; write: pages that record as well. key: signs forms."""

    read: str
    write: str
    key: str

    def rights_of(self, secret: str) -> Rights | None:
        """What a secret allows, None for a wrong one; takes equally long whichever it is."""
        given = secret.encode("utf-8", "replace")
        may_read = hmac.compare_digest(given, self.read.encode())
        may_write = hmac.compare_digest(given, self.write.encode())
        if may_write:
            return Rights.WRITE
        return Rights.READ if may_read else None

    @property
    def form_token(self) -> str:
        """What a form must send back to show that a page of this server made it."""
        return hmac.new(self.key.encode(), b"form", hashlib.sha256).hexdigest()[:20]

    def is_form_token(self, token: str) -> bool:
        """Whether a form was made by a page of this server."""
        return hmac.compare_digest(token.encode("utf-8", "replace"), self.form_token.encode())


class AccessFile:
    """The secrets of a state folder, read again when another run has replaced them."""

    def __init__(self, state: StateFolder) -> None:
        self._state = state
        self._path: Path = state.path / FILE
        self._mark: tuple[int, int] | None = None
        self._access: Access | None = None

    def current(self) -> Access:
        """The secrets now. Raises FeedplanError when the file is damaged and none were read before."""
        mark = self._state.mark(FILE)
        if self._access is None or mark != self._mark:
            self._access = self._read() or self._access
            self._mark = mark
        if self._access is None:
            raise FeedplanError(
                say(
                    "{file} is missing or damaged; make a new one: feedplan serve --new-secret",
                    file=self._path,
                )
            )
        return self._access

    def make_if_missing(self) -> None:
        """Make the secrets on a first run. Raises CannotWriteError, FeedplanError when the file is damaged."""
        if self._state.read(FILE) is None:
            self.replace()
        self._path.chmod(0o600)
        self.current()

    def replace(self) -> None:
        """Make new secrets: every address given out before stops working. Raises CannotWriteError."""
        made = [secrets.token_urlsafe(_SECRET_BYTES) for _ in range(3)]
        content = {"format": _FORMAT, "read": made[0], "write": made[1], "key": made[2]}
        self._state.write(FILE, json.dumps(content, indent=1).encode() + b"\n")

    def _read(self) -> Access | None:
        try:
            content = json.loads(self._state.read(FILE) or b"")
        except ValueError:
            return None
        match content:
            case {"format": _, "read": str(read), "write": str(write), "key": str(key)} if (
                min(map(len, (read, write, key))) >= _SHORTEST and len({read, write, key}) == 3
            ):
                return Access(read, write, key)
        return None


class AccessMiddleware:
    """A WSGI application around another: what comes without a right secret can reach nothing but /health.

    It takes the proxy's prefix and the secret off the address, so that nothing behind it can log them.
    """

    def __init__(self, inside: WSGIApplication, access: AccessFile, prefix: str = "") -> None:
        self._inside = inside
        self._access = access
        self._prefix = f"/{prefix.strip('/')}" if prefix.strip("/") else ""

    def __call__(self, environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        """Answer one request."""

        def start_safely(status: str, headers: list[tuple[str, str]], *more: Any) -> Any:
            return start_response(status, [*headers, *_SAFE_HEADERS], *more)

        path = str(environ.get("PATH_INFO", ""))
        if self._prefix and (path == self._prefix or path.startswith(f"{self._prefix}/")):
            path = path[len(self._prefix) :]
        secret, slash, page = path.removeprefix("/").partition("/")
        rights = self._access.current().rights_of(secret)
        if rights is not None and not slash:
            # The links of the pages stand on an address with a / at its end.
            start_safely("308 Permanent Redirect", [("Location", f"{secret}/"), ("Content-Length", "0")])
            return [b""]
        if rights is None:
            page = HEALTH if (secret, slash) == (HEALTH, "") else ""
        environ |= {_RIGHTS: rights, "SCRIPT_NAME": "", "PATH_INFO": f"/{page}"}
        environ.pop("RAW_URI", None)
        environ.pop("REQUEST_URI", None)
        return self._inside(environ, start_safely)


def rights_in(environ: Mapping[str, Any]) -> Rights | None:
    """What the middleware found the caller may do, None for a stranger. environ: that of the request."""
    found: Rights | None = environ.get(_RIGHTS)
    return found
