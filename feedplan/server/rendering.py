"""Pages out of templates: what they all share, and the words they use."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from zoneinfo import ZoneInfo

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup, escape

from feedplan.server.assets import assets
from feedplan.server.names import address_part
from feedplan.server.snapshots import Snapshot, Trouble
from feedplan.words.writing import day_words, full_day, trees_words


@dataclass(frozen=True, slots=True)
class Frame:
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
    def trouble_since(self) -> str:
        """Since when the files have been broken, in words."""
        if self.trouble is None:
            return ""
        since = self.trouble.since.astimezone(self.zone)
        return f"{full_day(since.date())}, {since:%H:%M}"


def frame_of(snapshot: Snapshot, made: datetime, *, token: str = "", is_static: bool = False) -> Frame:
    """The frame of a page of a plan; with a token it may record."""
    return Frame(
        place=snapshot.loaded.collection.place.name,
        today=snapshot.today,
        made=made,
        trouble=snapshot.trouble,
        zone=snapshot.zone,
        may_record=bool(token),
        token=token,
        is_static=is_static,
    )


def render(template: str, frame: Frame, **content: object) -> str:
    """A whole page."""
    return _templates().get_template(template).render(frame=frame, **content)


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
        "address_part": address_part,
        "soft": _soft,
        "upper_first": lambda text: text[:1].upper() + text[1:],
    }
    return environment


def _soft(text: str) -> Markup:
    """A long name or address that may break after a hyphen or slash."""
    return Markup(str(escape(text)).replace("/", "/<wbr>").replace("-", "-<wbr>"))
