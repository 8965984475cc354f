"""Where phones find the server and its pages: addresses with the secrets or without, as text and as codes to scan."""

from __future__ import annotations

import hashlib
import re
import socket
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from urllib.parse import urlsplit

import segno
from markupsafe import Markup, escape

from feedplan.errors import UsageError
from feedplan.server.access import Access
from feedplan.words.language import say

EVERYTHING = "everything.ics"
"""The calendar of the whole plan."""

_ANYWHERE = ("0.0.0.0", "::")
_LOOPBACK = ("127.0.0.1", "::1", "localhost")
_BLOCKS = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}
_BLACK_ON_WHITE = "\x1b[38;5;16m\x1b[48;5;231m"  # of the 256 colours, two that no theme changes
_PLAIN = "\x1b[0m"


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
    everything = address.calendar(access, EVERYTHING)
    yield f"{say('Your page, which records too:'):<30} {address.round(access)}"
    yield f"{say('To share, for reading only:'):<30} {address.shared(access)}"
    yield f"{say('Calendar of everything:'):<30} {everything}"
    if whole:
        for file, title in titles.items():
            if file != EVERYTHING:
                yield f"  {title + ':':<29}{address.calendar(access, file)}"
    else:
        yield "  " + say(
            "Feeding, water, looks and each group have calendars of their own: see the page, or --show."
        )
    yield say(
        "Whoever has such an address gets in: pass it on with care, and change them all with --new-secret."
    )
    if codes:
        yield ""
        yield say("Point the phone's camera here to subscribe to the calendar:")
        yield terminal_code(webcal(everything))
        yield say("And here to open your page:")
        yield terminal_code(address.round(access))
    yield say(
        "Phones that know webcal: open {address} and say yes to subscribing.", address=webcal(everything)
    )
    yield say(
        "Other phones: in a calendar that can subscribe by address, paste {address}", address=everything
    )


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
