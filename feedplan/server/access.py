"""Who may read and who may write: two long random secrets in a file that only its owner can read."""

from __future__ import annotations

import hashlib
import hmac
import json
import secrets
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from feedplan.errors import FeedplanError
from feedplan.server.state import StateFolder

FILE = "access.json"
_FORMAT = "feedplan access 1"
_SECRET_BYTES = 24  # 192 bits, 32 characters: cannot be guessed, and a calendar's address stays short
_SHORTEST = 24


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
                f"{self._path} is missing or damaged; make a new one: feedplan serve --new-secret"
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
