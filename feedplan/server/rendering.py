"""Pages out of templates: what they all share, the words they use, and the words that their script uses.

The few files a page needs besides itself go under names that change with their content.
"""

from __future__ import annotations

import hashlib
import itertools
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import lru_cache
from importlib import resources

import mistune
from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup, escape

from feedplan.guide.contents import linked, page_text
from feedplan.server.addresses import webcal
from feedplan.server.snapshots import Snapshot
from feedplan.words.entries import entry_words
from feedplan.words.language import say, say_count
from feedplan.words.writing import day_words, full_day, trees_words

_TYPES = {
    "css": "text/css; charset=utf-8",
    "js": "text/javascript; charset=utf-8",
    "svg": "image/svg+xml",
    "png": "image/png",
    "webmanifest": "application/manifest+json",
}
_HASHED = ("style.css", "script.js", "sink.js", "icon.svg", "icon-192.png")


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


DAY_SCRIPT = "made.js"
"""Tells the day of the plan to the files that do not say it themselves."""
_DAY_SCRIPT = """\
Object.assign(document.body.dataset, {dates});
for (const place of document.querySelectorAll("[data-plan-of]")) place.textContent = {plan_of};
for (const mark of document.querySelectorAll(".ribbon .today, .ribbon .now"))
  mark.setAttribute("transform", "translate({along} 0)");
"""
OUT_OF_SIGHT = -10
"""Where the mark of today stands on a ribbon until that script has moved it."""


def day_script(layout: Layout, along: int | None) -> str:
    """That script. along: where today stands on every ribbon, None if on none."""
    today = layout.snapshot.today
    dates = {"today": today.isoformat()}
    plan_of = json.dumps(say("Plan of {day}.", day=full_day(today)) + " ")
    moved = 0 if along is None else along - OUT_OF_SIGHT
    return _DAY_SCRIPT.format(dates=json.dumps(dates), plan_of=plan_of, along=moved)


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


@dataclass(frozen=True, slots=True)
class Layout:
    """What every page shows round its own content.

    token: goes with each form; without one nothing can be recorded. helper: whose page it is, "" for the grower's: a
    helper records water and feeds alone, and takes nothing back. helper_until: the last day of that address.
    is_static: one of files, not of a server. is_dated: it is about its day; a file that is not stays the same from
    day to day, and learns the day from another.
    """

    snapshot: Snapshot
    token: str = ""
    helper: str = ""
    helper_until: date | None = None
    is_static: bool = False
    is_dated: bool = True
    names: Mapping[str, str] = field(default_factory=lambda: assets().names)
    _keys: Iterator[int] = field(default_factory=itertools.count, init=False, repr=False, compare=False)

    @property
    def may_tell(self) -> bool:
        """Whether anything may be recorded and taken back here, not water and feeds alone."""
        return bool(self.token) and not self.helper

    def new_key(self) -> str:
        """A key of its own for a form, the same whenever the same page of the same plan is made."""
        said = f"{self.snapshot.stamp} {self.token} {self.helper} {next(self._keys)}"
        return hashlib.sha256(said.encode()).hexdigest()[:16]

    @property
    def script_sentences(self) -> dict[str, str]:
        """What the script of every page may have to say, by the names it knows it under."""
        return {
            "offline": say("No connection"),
            "not_yet": say("Not written yet"),
            "writing": say("Writing it down ..."),
            "waits": say("Kept on this phone, and sent as soon as it works."),
            "kept_one": say("{problem}: 1 entry is kept on this phone."),
            "kept": say("{problem}: {count} entries are kept on this phone."),
            "moved": say("this page's address works no more; open the new one"),
            "refused": say("Not recorded: {problem}"),
            "none": say("Not recorded: no tree is ticked; tick at least one."),
            "again": say("Send again"),
            "drop": say("Drop it"),
            "undo": say("Undo"),
            "sure": say("Take it back"),
            "leave": say("Leave it as it is"),
            "stands": say("It stands as it was written."),
            "care": say("Take care:"),
            "minutes": say("No connection. This is the page of {count} minutes ago."),
            "hours": say("No connection. This is the page of {count} hours ago."),
            "days": say("No connection. This is the page of {count} days ago."),
            "today": say("The round of today"),
            "for_those": say("For those ticked:"),
            "for_ticked": say("For the {count} ticked:"),
            "for_all": say("For all {count} here:"),
            "for_rest": say("For the other {count}:"),
        }

    def moment_words(self, moment: datetime) -> str:
        """A moment by the clock of the place: "5 June 2027, 14:30"."""
        local = moment.astimezone(self.snapshot.zone)
        return f"{full_day(local.date())}, {local:%H:%M}"


def guide_markup(page: str) -> Markup:
    """A page of the guide as it stands in a page; HTML written into it is shown, not obeyed."""
    return _markup_of(linked(page_text(page), "[{words}](guide-{page}.html)"))


@lru_cache(maxsize=64)
def _markup_of(markdown: str) -> Markup:
    made = mistune.create_markdown(escape=True, plugins=["table"])(markdown)
    assert isinstance(made, str)
    return Markup(made)


def render(template: str, layout: Layout, **content: object) -> str:
    """A whole page."""
    return _templates().get_template(template).render(layout=layout, **content)


@lru_cache(maxsize=1)
def _templates() -> Environment:
    environment = Environment(
        loader=PackageLoader("feedplan.server"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {
        "day_words": day_words,
        "entry_words": entry_words,
        "full_day": full_day,
        "trees_words": trees_words,
        "soft": _soft,
        "webcal": webcal,
        "upper_first": lambda text: text[:1].upper() + text[1:],
    }
    environment.globals |= {"say": _say, "say_count": say_count}
    return environment


def _say(sentence: str, /, **values: object) -> Markup:
    """A sentence inside a page; values that are markup stay so, all others are escaped."""
    template = escape(say(sentence))
    return template.format(**values) if values else template


def _soft(text: str) -> Markup:
    """A long name or address that may break after a hyphen or slash."""
    return Markup(str(escape(text)).replace("/", "/<wbr>").replace("-", "-<wbr>"))
