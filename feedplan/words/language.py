"""The language that is spoken: sentences go through here, so that another language is one more catalogue.

Catalogues are those of the standard library's gettext. English needs none: the sentences in the code are English.
A catalogue is chosen for a stretch of work (`speaking`), not for the program, since a server may speak several at once.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from gettext import NullTranslations

ENGLISH = NullTranslations()
_spoken: ContextVar[NullTranslations] = ContextVar("spoken", default=ENGLISH)


@contextmanager
def speaking(catalogue: NullTranslations) -> Iterator[None]:
    """Speak the language of a catalogue for as long as the block runs, in this thread alone."""
    token = _spoken.set(catalogue)
    try:
        yield
    finally:
        _spoken.reset(token)


def say(sentence: str, /, **values: object) -> str:
    """A sentence in the language spoken, its {fields} filled with values.

    sentence: English, as a template of `str.format`; it is the key of the catalogue, so never an f-string.

    >>> say("{feed} runs out {day}", feed="powder", day="Sat 12 Jun")
    'powder runs out Sat 12 Jun'
    """
    told = _spoken.get().gettext(sentence) if sentence else ""
    return told.format(**values) if values else told


def say_count(one: str, many: str, count: int, /, **values: object) -> str:
    """A sentence about so many of something; {count} is the number.

    >>> say_count("{count} tree", "{count} trees", 12)
    '12 trees'
    """
    return _spoken.get().ngettext(one, many, count).format(count=count, **values)
