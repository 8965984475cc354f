"""Where phones find the server: its address in this network or behind a proxy, with the secrets or without."""

from __future__ import annotations

import socket
from dataclasses import dataclass
from urllib.parse import urlsplit

from feedplan.errors import UsageError
from feedplan.server.access import Access

_ANYWHERE = ("0.0.0.0", "::")
_LOOPBACK = ("127.0.0.1", "::1", "localhost")


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
        raise UsageError(f"'{text}' is no web address; write for example https://trees.example.org/plan")
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
