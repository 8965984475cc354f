"""Pages out of templates: what they all share, the words they use, and the words that their script uses."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import lru_cache

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup, escape

from feedplan.server.addresses import webcal
from feedplan.server.assets import assets
from feedplan.server.snapshots import Snapshot
from feedplan.words.entries import entry_words
from feedplan.words.language import say, say_count
from feedplan.words.writing import day_words, full_day, trees_words


@dataclass(frozen=True, slots=True)
class Layout:
    """What every page shows round its own content.

    made: when the page was made, with a zone. token: goes with each form; without one nothing can be recorded.
    is_static: one of files, not of a server.
    """

    snapshot: Snapshot
    made: datetime
    token: str = ""
    is_static: bool = False
    names: Mapping[str, str] = field(default_factory=lambda: assets().names)

    def new_key(self) -> str:
        """A key of its own for a form."""
        return secrets.token_urlsafe(12)

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

    def moment_words(self, moment: datetime) -> str:
        """A moment by the clock of the place: "5 June 2027, 14:30"."""
        local = moment.astimezone(self.snapshot.zone)
        return f"{full_day(local.date())}, {local:%H:%M}"


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
