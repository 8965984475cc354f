"""Lines of a calendar file: values escaped, lines folded (RFC 5545, sections 3.1 and 3.3.11)."""

from __future__ import annotations

_LINE_OCTETS = 75


def escaped(text: str) -> str:
    """A TEXT value (RFC 5545, section 3.3.11).

    >>> escaped("6.2 g, in 10 L")
    '6.2 g\\\\, in 10 L'
    """
    text = text.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    return text.replace("\n", "\\n")


def content_line(name: str, value: str) -> str:
    """One property, folded to lines of 75 octets and ended by CRLF (RFC 5545, section 3.1).

    No UTF-8 character is split, nor an escaped one: some readers lose an event over that.
    """
    line = f"{name}:{value}"
    if len(line) <= _LINE_OCTETS and line.isascii():
        return line + "\r\n"
    raw, parts, room = line.encode(), [], _LINE_OCTETS
    while len(raw) > room:
        cut = _fold_at(raw, room)
        parts.append(raw[:cut])
        raw, room = raw[cut:], _LINE_OCTETS - 1  # the next line begins with a space
    return b"\r\n ".join([*parts, raw]).decode() + "\r\n"


def _fold_at(raw: bytes, cut: int) -> int:
    """The last place up to `cut` between two whole characters."""
    while raw[cut] & 0xC0 == 0x80:  # inside a UTF-8 sequence
        cut -= 1
    backslashes = cut - len(raw[:cut].rstrip(b"\\"))
    return cut - backslashes % 2
