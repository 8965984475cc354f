"""The calendars and pages as plain files, for any web host or synced folder: a new folder swapped in whole."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, replace
from pathlib import Path

from feedplan.errors import UsageError
from feedplan.files import clear_leftovers, content_of, write_folder
from feedplan.server.addresses import Address
from feedplan.server.calendars import Calendars, SiteAddress, calendar_files
from feedplan.server.pages import PageRequest, guide_pages, page, tree_pages
from feedplan.server.rendering import DAY_SCRIPT, Layout, assets, day_script, manifest
from feedplan.server.round_page import strip_days
from feedplan.server.snapshots import Snapshot
from feedplan.server.tree_page import today_on_ribbons
from feedplan.words.language import say

MARK = "feedplan-files.json"
"""Lists every file of a published folder with the digest of its content; a folder without it is not ours."""

_FORMAT = "feedplan published 1"
_HOME = b'href="./"'
_STATIC_HOME = b'href="index.html"'


@dataclass(frozen=True, slots=True)
class Published:
    """What publishing did. written, removed, kept: how many files. events: in the calendar of everything."""

    folder: Path
    written: int
    removed: int
    kept: int
    events: int

    @property
    def is_changed(self) -> bool:
        """Whether anything in the folder changed."""
        return bool(self.written or self.removed)


def site_files(snapshot: Snapshot, calendars: Calendars, address: Address | None) -> dict[str, bytes]:
    """Every file by name; the same bytes for the same plan and day. address: where they will be found, if told."""
    layout = Layout(snapshot, is_static=True)
    calendars.at(
        SiteAddress(f"{address.base}/", has_day_pages=False) if address is not None else SiteAddress()
    )
    asked = PageRequest({}, calendar_base=f"{address.base}/" if address is not None else "")
    names = [f"day-{day}.html" for day in strip_days(snapshot.today)]
    names += [
        "sink.html",
        "trees.html",
        "journal.html",
        "calendars.html",
        "not-here.html",
        *tree_pages(snapshot),
        *guide_pages(),
    ]
    made = {name: page(name, replace(layout, is_dated=name.startswith("day-")), asked) for name in names}
    made["index.html"] = page("", layout, asked)
    files = {
        name: text.encode().replace(_HOME, _STATIC_HOME) for name, text in made.items() if text is not None
    }
    collection = snapshot.loaded.collection
    for file in calendar_files(collection):
        version = calendars.version(snapshot, file)
        assert version is not None
        files[file] = version.data
    files |= {asset.name: asset.data for asset in assets().by_name.values()}
    files[DAY_SCRIPT] = day_script(layout, today_on_ribbons(collection, snapshot.today)).encode()
    files["app.webmanifest"] = manifest(snapshot.place, assets().names)
    return files


def publish_site(
    folder: Path, snapshot: Snapshot, calendars: Calendars, address: Address | None = None
) -> Published:
    """Make the folder hold the site, at once; files that stay the same are not touched.

    Raises UsageError for a folder that holds anything feedplan did not write, and CannotWriteError.
    """
    folder = folder.resolve()
    clear_leftovers(folder)
    before = _listed(folder)
    files = site_files(snapshot, calendars, address)
    files[MARK] = _mark(files)
    same = {name: folder / name for name, data in files.items() if content_of(folder / name) == data}
    changed = {name: data for name, data in files.items() if name not in same}
    removed = before - files.keys()
    if changed or removed:
        write_folder(folder, changed, same)
    is_marked = MARK in changed
    return Published(
        folder,
        len(changed) - is_marked,
        len(removed),
        len(same) - (not is_marked),
        calendars.event_count(snapshot),
    )


def _listed(folder: Path) -> set[str]:
    """The names of all files in a folder that is ours, or empty, or not there yet. Raises UsageError."""
    if not folder.exists():
        return set()
    if not folder.is_dir():
        raise UsageError(say("{folder} is a file; name a folder, such as {folder}-site", folder=folder))
    found = {path.name for path in folder.iterdir()}
    if not found:
        return set()
    listed = _read_mark(folder / MARK)
    if listed is None:
        raise UsageError(say("{folder} was not made by feedplan publish; name a new folder", folder=folder))
    strange = sorted(found - listed - {MARK})
    if strange:
        raise UsageError(
            say(
                "{folder} holds {file}, which feedplan did not write; move it away, or name a new folder",
                folder=folder,
                file=strange[0],
            )
        )
    return found


def _mark(files: dict[str, bytes]) -> bytes:
    digests = {name: hashlib.sha256(data).hexdigest() for name, data in sorted(files.items())}
    return json.dumps({"format": _FORMAT, "sha256": digests}, indent=1).encode() + b"\n"


def _read_mark(path: Path) -> set[str] | None:
    """The files a mark lists; None when it is none."""
    try:
        content = json.loads(content_of(path) or b"")
    except ValueError:
        return None
    match content:
        case {"format": str(written_as), "sha256": dict(digests)} if written_as == _FORMAT:
            return set(digests)
    return None
