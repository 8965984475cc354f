"""Where phones find the server, and who may read and write there: addresses, as text and as codes to scan.

Two long random secrets stand in them, and a gate before every page asks for one.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import re
import secrets
import socket
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

import segno
from markupsafe import Markup, escape

from feedplan.errors import FeedplanError, UsageError
from feedplan.server.helpers import SECRET_BYTES, SHORTEST_SECRET, Helper, helper_of, kept_helper, read_helper
from feedplan.server.state import StateFolder
from feedplan.words.language import say

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment


FILE = "access.json"
HEALTH = "health"
"""The one page that needs no secret."""

_FORMAT = "feedplan access 1"
_RIGHTS = "feedplan.rights"
_HELPER = "feedplan.helper"

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
ROUNDS = "rounds.ics"
"""The calendar to begin with."""
EVERYTHING = "everything.ics"
"""The calendar of the whole plan in detail."""
_ANYWHERE = ("0.0.0.0", "::")
_LOOPBACK = ("127.0.0.1", "::1", "localhost")
_BLOCKS = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}
_BLACK_ON_WHITE = "\x1b[38;5;16m\x1b[48;5;231m"  # of the 256 colours, two that no theme changes
_PLAIN = "\x1b[0m"


class Rights(StrEnum):
    """What an address with a secret in it allows."""

    READ = "read"
    WRITE = "write"
    HELP = "help"


@dataclass(frozen=True, slots=True)
class Access:
    """The secrets. read: calendars and pages; write: pages that record as well. key: signs forms.

    helpers: who has an address besides, or had one.
    """

    read: str
    write: str
    key: str
    helpers: tuple[Helper, ...] = ()

    def rights_of(self, secret: str) -> Rights | None:
        """What a secret allows, None for a wrong one; takes equally long whichever it is."""
        given = secret.encode("utf-8", "replace")
        may_read = hmac.compare_digest(given, self.read.encode())
        may_write = hmac.compare_digest(given, self.write.encode())
        helper = helper_of(given, self.helpers)
        if may_write:
            return Rights.WRITE
        if helper is not None:
            return Rights.HELP
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
        with suppress(OSError):  # not ours, or on a read-only disk: it was made with this mode
            self._path.chmod(0o600)
        self.current()

    def replace(self) -> None:
        """Make new secrets: every address given out before stops working. Raises CannotWriteError."""
        read, write, key = (secrets.token_urlsafe(SECRET_BYTES) for _ in range(3))
        self._write(Access(read, write, key))

    def replace_helpers(self, helpers: tuple[Helper, ...]) -> None:
        """Let these be the helpers from now on. Raises CannotWriteError."""
        self._write(replace(self.current(), helpers=helpers))

    def _write(self, access: Access) -> None:
        content = {"format": _FORMAT, "read": access.read, "write": access.write, "key": access.key}
        helpers = [kept_helper(helper) for helper in access.helpers]
        kept = {**content, **({"helpers": helpers} if helpers else {})}
        self._state.write(FILE, json.dumps(kept, indent=1, ensure_ascii=False).encode() + b"\n")

    def _read(self) -> Access | None:
        try:
            content = json.loads(self._state.read(FILE) or b"")
            helpers = tuple(map(read_helper, content.get("helpers", ())))
        except (ValueError, AttributeError, TypeError):
            return None
        match content:
            case {"format": _, "read": str(read), "write": str(write), "key": str(key)} if (
                min(map(len, (read, write, key))) >= SHORTEST_SECRET and len({read, write, key}) == 3
            ):
                return Access(read, write, key, helpers)
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
        access = self._access.current()
        rights = access.rights_of(secret)
        if rights is not None and not slash:
            # The links of the pages stand on an address with a / at its end.
            start_safely("308 Permanent Redirect", [("Location", f"{secret}/"), ("Content-Length", "0")])
            return [b""]
        if rights is None:
            page = HEALTH if (secret, slash) == (HEALTH, "") else ""
        helper = (
            helper_of(secret.encode("utf-8", "replace"), access.helpers) if rights is Rights.HELP else None
        )
        environ |= {_RIGHTS: rights, _HELPER: helper, "SCRIPT_NAME": "", "PATH_INFO": f"/{page}"}
        environ.pop("RAW_URI", None)
        environ.pop("REQUEST_URI", None)
        return self._inside(environ, start_safely)


def rights_in(environ: Mapping[str, Any]) -> Rights | None:
    """What the middleware found the caller may do, None for a stranger. environ: that of the request."""
    found: Rights | None = environ.get(_RIGHTS)
    return found


def helper_in(environ: Mapping[str, Any]) -> Helper | None:
    """The helper whose address was called, None for anybody else. environ: that of the request."""
    found: Helper | None = environ.get(_HELPER)
    return found


@dataclass(frozen=True, slots=True)
class Address:
    """Where the server is reached, without a secret. base: "http://192.168.1.5:8377" or "https://host/prefix"."""

    base: str

    @property
    def prefix(self) -> str:
        """The path before everything else, "" or "/prefix"."""
        return urlsplit(self.base).path.rstrip("/")

    def round(self, access: Access) -> str:
        """The page that also records."""
        return f"{self.base}/{access.write}/"

    def shared(self, access: Access) -> str:
        """The page to give to others: it records nothing."""
        return f"{self.base}/{access.read}/"

    def calendar(self, access: Access, file: str) -> str:
        """A calendar to subscribe to."""
        return f"{self.base}/{access.read}/{file}"


def webcal(address: str) -> str:
    """The same address in the form that a phone opens in its calendar."""
    return "webcal" + address.removeprefix("https").removeprefix("http")


def read_address(text: str) -> Address:
    """The address given on the command line. Raises UsageError for what is no web address."""
    parts = urlsplit(text)
    is_plain = not (parts.query or parts.fragment or parts.username or parts.password)
    if parts.scheme not in ("http", "https") or not parts.hostname or not is_plain:
        raise UsageError(
            say("'{text}' is no web address; write for example https://trees.example.org/plan", text=text)
        )
    return Address(text.rstrip("/"))


def address_here(host: str, port: int) -> Address:
    """The address in this network: of the computer itself when it listens on every one of its own."""
    name = _own_number(host) if host in _ANYWHERE else host
    return Address(f"http://[{name}]:{port}" if ":" in name else f"http://{name}:{port}")


def is_loopback(host: str) -> bool:
    """Whether only this computer can reach the server."""
    return host in _LOOPBACK or host.startswith("127.")


def _own_number(host: str) -> str:
    """The number this computer has in its network; nothing is sent to find it."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # Addresses kept for documentation (RFC 5737, RFC 3849): connecting a datagram socket only picks a route.
    somewhere = ("2001:db8::1", 9) if family == socket.AF_INET6 else ("192.0.2.1", 9)
    with socket.socket(family, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(somewhere)
            return str(probe.getsockname()[0])
        except OSError:
            return socket.gethostname()


def address_part(name: str) -> str:
    """A name as part of an address: a-z, 0-9, hyphens; what that loses of it comes back as six signs of a digest.

    >>> address_part("Old Kelp")
    'old-kelp'
    >>> address_part("Ahorn Süd").startswith("ahorn-sud-")
    True
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    part = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60]
    if re.fullmatch(r"[A-Za-z0-9 _-]+", name) and part:
        return part
    return f"{part}-{_digest(name)}".strip("-")


def address_parts(names: Iterable[str]) -> dict[str, str]:
    """The names by their address part; of two that would share one, both get a digest."""
    listed = list(names)
    parts = [address_part(name) for name in listed]
    return {
        part if parts.count(part) == 1 else f"{part}-{_digest(name)}": name
        for name, part in zip(listed, parts, strict=True)
    }


def _digest(name: str) -> str:
    return hashlib.sha256(name.encode("utf-8", "replace")).hexdigest()[:6]


def welcome_lines(
    address: Address, access: Access, titles: Mapping[str, str], *, codes: bool, whole: bool = False
) -> Iterator[str]:
    """What `serve` says when it starts: the addresses, each with what it is for, and how to subscribe.

    titles: of the calendars by file. codes: draw the addresses for a camera too; whole: list every calendar.
    """
    rounds = address.calendar(access, ROUNDS)
    yield f"{say('Your page, which records too:'):<30} {address.round(access)}"
    yield f"{say('To share, for reading only:'):<30} {address.shared(access)}"
    yield f"{say('Calendar of your rounds:'):<30} {rounds}"
    if whole:
        for file, title in titles.items():
            if file != ROUNDS:
                yield f"  {title + ':':<29}{address.calendar(access, file)}"
    else:
        yield "  " + say(
            "Feeding, water, holds, looks, alerts and each group have calendars of their own: see the page, or --show."
        )
    yield say(
        "Whoever has such an address gets in: pass it on with care, and change them all with --new-secret."
    )
    if codes:
        yield ""
        yield say("Point the phone's camera here to subscribe to the calendar:")
        yield terminal_code(webcal(rounds))
        yield say("And here to open your page:")
        yield terminal_code(address.round(access))
    yield say("Phones that know webcal: open {address} and say yes to subscribing.", address=webcal(rounds))
    yield say("Other phones: in a calendar that can subscribe by address, paste {address}", address=rounds)


def welcome_facts(address: Address, access: Access, titles: Mapping[str, str]) -> dict[str, object]:
    """The same for `--json`. titles: of the calendars by file."""
    return {
        "page": address.round(access),
        "page_to_share": address.shared(access),
        "calendars": {title: address.calendar(access, file) for file, title in titles.items()},
    }


def terminal_code(text: str) -> str:
    """A QR code in half-height blocks, black on white whatever the colours of the terminal."""
    rows = [list(row) for row in segno.make(text, error="l", micro=False).matrix_iter(border=2)]
    if len(rows) % 2:
        rows.append([0] * len(rows[0]))
    pairs = zip(rows[::2], rows[1::2], strict=True)
    lines = ("".join(_BLOCKS[top > 0, low > 0] for top, low in zip(*pair, strict=True)) for pair in pairs)
    return "\n".join(f"{_BLACK_ON_WHITE}{line}{_PLAIN}" for line in lines)


def page_code(text: str) -> Markup:
    """A QR code as a picture inside a page."""
    drawn = segno.make(text, error="m", micro=False).svg_inline(border=3, omitsize=True)
    label = escape(say("QR code of the calendar"))
    return Markup(drawn.replace("<svg ", f'<svg role="img" aria-label="{label}" ', 1))
