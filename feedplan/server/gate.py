"""The gate before every page: takes the proxy's prefix and the secret off the address, so nothing behind sees them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from feedplan.server.access import AccessFile

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment

RIGHTS = "feedplan.rights"
"""Where the gate tells the pages what the caller may do: Rights, or None for a stranger."""

HEALTH = "health"


class Gate:
    """A WSGI application around another: what comes without a right secret can reach nothing but /health."""

    def __init__(self, inside: WSGIApplication, access: AccessFile, prefix: str = "") -> None:
        self._inside = inside
        self._access = access
        self._prefix = f"/{prefix.strip('/')}" if prefix.strip("/") else ""

    def __call__(self, environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        """Answer one request."""
        path = str(environ.get("PATH_INFO", ""))
        if self._prefix and (path == self._prefix or path.startswith(f"{self._prefix}/")):
            path = path[len(self._prefix) :]
        secret, slash, page = path.removeprefix("/").partition("/")
        rights = self._access.current().rights_of(secret)
        environ[RIGHTS] = rights
        environ["SCRIPT_NAME"] = ""
        if rights is not None and not slash:
            return _move_into_folder(secret, start_response)
        is_health = rights is None and (secret, slash) == (HEALTH, "")
        environ["PATH_INFO"] = f"/{page}" if rights is not None else f"/{HEALTH}" if is_health else "/"
        environ.pop("RAW_URI", None)
        environ.pop("REQUEST_URI", None)
        return self._inside(environ, start_response)


def _move_into_folder(secret: str, start_response: StartResponse) -> list[bytes]:
    """Send the browser to the address with a / at its end, on which the links of the pages stand."""
    headers = [("Location", f"{secret}/"), ("Content-Length", "0"), ("Referrer-Policy", "no-referrer")]
    start_response("308 Permanent Redirect", headers)
    return [b""]
