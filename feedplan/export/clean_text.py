"""Text made safe for files read line by line: no control characters, one kind of line break."""

from __future__ import annotations

import re

# What str.splitlines counts as a line break, so that no reader finds a line where none was meant.
_LINE_BREAK = re.compile("\r\n|[\r\x0b\x0c\x1c\x1d\x1e\x85\u2028\u2029]")
# RFC 5545 section 3.3.11 forbids control characters but HTAB; C1 controls go too. Half a surrogate pair
# cannot be written as UTF-8.
_CONTROL = re.compile("[\x00-\x08\x0e-\x1f\x7f-\x9f]")
_HALF_PAIR = re.compile("[\ud800-\udfff]")
_TRAILING_BLANKS = re.compile(r"[ \t]+$", re.MULTILINE)
_BLANKS = re.compile(r"[ \t\n]+")


def plain_text(text: str) -> str:
    """The text with "\\n" for every line break, no control characters, no blanks at line ends.

    >>> plain_text("Brin\\x07dle\\r\\nKettle  \\n")
    'Brindle\\nKettle'
    """
    if text.isprintable():  # most names and titles: no line break, no control character
        return text.rstrip(" ")
    text = _CONTROL.sub("", _LINE_BREAK.sub("\n", text))
    return _TRAILING_BLANKS.sub("", _HALF_PAIR.sub("\ufffd", text)).strip("\n")


def one_line(text: str) -> str:
    """The text as a single line, runs of blanks and line breaks made one space.

    >>> one_line("Feed growing-on:\\n 6.2 g\\tin 10 L")
    'Feed growing-on: 6.2 g in 10 L'
    """
    return _BLANKS.sub(" ", plain_text(text)).strip(" ")
