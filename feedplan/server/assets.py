"""The few files a page needs besides itself, under names that change with their content."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources

from feedplan.words.language import say

_TYPES = {
    "css": "text/css; charset=utf-8",
    "js": "text/javascript; charset=utf-8",
    "svg": "image/svg+xml",
    "png": "image/png",
    "webmanifest": "application/manifest+json",
}
_HASHED = ("style.css", "script.js", "icon.svg", "icon-192.png")


@dataclass(frozen=True, slots=True)
class Asset:
    """One file. is_lasting: its name changes with its content, so it may be kept for ever."""

    name: str
    data: bytes
    content_type: str
    is_lasting: bool


@dataclass(frozen=True, slots=True)
class Assets:
    """All of them. names: the name to link to, by plain name."""

    by_name: dict[str, Asset]
    names: dict[str, str]


@lru_cache(maxsize=1)
def assets() -> Assets:
    """The files as shipped."""
    names = {plain: _hashed_name(plain, _read(plain)) for plain in _HASHED}
    found = [Asset(names[plain], _read(plain), _type(plain), True) for plain in _HASHED]
    worker = _read("worker.js").replace(
        b"{{cache}}", _digest(b"".join(asset.data for asset in found)).encode()
    )
    kept = json.dumps(sorted(names.values())).encode()
    found.append(Asset("worker.js", worker.replace(b'["{{assets}}"]', kept), _type("worker.js"), False))
    return Assets({asset.name: asset for asset in found}, names)


def manifest(place: str, names: dict[str, str]) -> bytes:
    """What a phone needs to keep the page like a program of its own."""
    icons = [
        {"src": names["icon.svg"], "sizes": "any", "type": "image/svg+xml"},
        {"src": names["icon-192.png"], "sizes": "192x192", "type": "image/png"},
    ]
    content = {
        "name": say("{place}: the round", place=place),
        "short_name": say("Round"),
        "start_url": "./",
        "scope": "./",
        "display": "standalone",
        "background_color": "#f6f3ea",
        "theme_color": "#f6f3ea",
        "icons": icons,
    }
    return json.dumps(content, ensure_ascii=False).encode()


def _read(name: str) -> bytes:
    """A file as shipped; of style and script, without indentation and lines of comment."""
    data = (resources.files("feedplan.server") / "static" / name).read_bytes()
    if not name.endswith((".css", ".js")):
        return data
    lines = (line.strip() for line in data.splitlines())
    return b"\n".join(line for line in lines if line and not line.startswith(b"//"))


def _type(name: str) -> str:
    return _TYPES[name.rpartition(".")[2]]


def _hashed_name(plain: str, data: bytes) -> str:
    stem, _, ending = plain.rpartition(".")
    return f"{stem}.{_digest(data)}.{ending}"


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()[:10]
