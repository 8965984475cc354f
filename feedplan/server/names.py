"""Names of groups and trees as parts of an address: plain letters, the same for ever, no two alike."""

from __future__ import annotations

import hashlib
import re
import unicodedata
from collections.abc import Iterable


def address_part(name: str) -> str:
    """A name in a-z, 0-9 and hyphens; what that loses of it comes back as six signs of a digest.

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
