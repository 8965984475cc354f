"""Pages out of templates: what they all share, the words they use, and the words that their script uses."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from zoneinfo import ZoneInfo

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup, escape

from feedplan.export.wording import day_words, full_day, trees_words
from feedplan.server.addresses import webcal
from feedplan.server.assets import assets
from feedplan.server.snapshots import Snapshot, Trouble
from feedplan.words.language import say, say_count


@dataclass(frozen=True, slots=True)
class Layout:
    """What every page shows round its own content.

    made: when the page was made, with a zone. may_record: draw the buttons. token: goes with each form.
    is_static: one of files, not of a server. new_key: gives each form a key of its own.
    """

    place: str
    today: date
    made: datetime
    trouble: Trouble | None
    zone: ZoneInfo
    may_record: bool = False
    token: str = ""
    is_static: bool = False
    new_key: Callable[[], str] = lambda: secrets.token_urlsafe(12)

    @property
    def names(self) -> dict[str, str]:
        """The names of the files that pages link to."""
        return assets().names

    @property
    def script_sentences(self) -> dict[str, str]:
        """What the script of every page may have to say, by the names it knows it under."""
        return {
            "offline": say("No connection"),
            "kept_one": say("{problem}. 1 entry is kept on this phone and sent as soon as it works."),
            "kept": say("{problem}. {count} entries are kept on this phone and sent as soon as it works."),
            "moved": say("this page's address works no more; open the new one"),
            "refused": say("Not recorded: {problem}"),
            "minutes": say("No connection. This is the page of {count} minutes ago."),
            "hours": say("No connection. This is the page of {count} hours ago."),
            "days": say("No connection. This is the page of {count} days ago."),
            "today": say("The round of today"),
        }

    @property
    def trouble_since(self) -> str:
        """Since when the files have been broken, in words."""
        if self.trouble is None:
            return ""
        since = self.trouble.since.astimezone(self.zone)
        return f"{full_day(since.date())}, {since:%H:%M}"


def layout_of(snapshot: Snapshot, made: datetime, *, token: str = "", is_static: bool = False) -> Layout:
    """The layout of a page of a plan; with a token it may record."""
    return Layout(
        place=snapshot.loaded.collection.place.name,
        today=snapshot.today,
        made=made,
        trouble=snapshot.trouble,
        zone=snapshot.zone,
        may_record=bool(token),
        token=token,
        is_static=is_static,
    )


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
