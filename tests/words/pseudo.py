"""A language that nobody speaks: every letter of a catalogue's sentences becomes its full-width look-alike.

What then still stands in plain letters did not come through the catalogue, or comes from the grower's own files.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from gettext import NullTranslations

_FIELD = re.compile(r"(\{\{|\}\}|\{\w+\})")
_WIDE = {
    ord(letter): ord(letter) + 0xFEE0 for letter in "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
}
_COMMAND = re.compile(r"feedplan [a-z]+( --[a-z]+)?( [a-z0-9]+)?| --date DATE|[\w./-]+\.(yaml|csv)(:[0-9]+)*")


class PseudoLanguage(NullTranslations):
    """A catalogue that marks every sentence and leaves its {fields} alone."""

    def gettext(self, message: str) -> str:
        """The sentence, marked."""
        parts = _FIELD.split(message)
        return "".join(part if number % 2 else part.translate(_WIDE) for number, part in enumerate(parts))

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        """The sentence for so many, marked."""
        return self.gettext(super().ngettext(msgid1, msgid2, n))


PSEUDO = PseudoLanguage()


def leaks(text: str, own: Iterable[str] = ()) -> list[str]:
    """The words of a text that did not come through the catalogue. own: what the grower's files say, left out.

    Commands to type and names of files are the same in every language.
    """
    text = _COMMAND.sub("", text)
    for word in sorted({word for word in own if word}, key=len, reverse=True):
        text = text.replace(word, "")
    return re.findall(r"[A-Za-z]+", text)
