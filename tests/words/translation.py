"""A catalogue read from its source, a .po file, as msgfmt and gettext would."""

from __future__ import annotations

import io
import re
import struct
from ast import literal_eval
from gettext import GNUTranslations
from pathlib import Path

_LINE = re.compile(r'^(msgid_plural|msgid|msgstr(?:\[\d\])?)? ?(".*")$')


def translation(file: Path) -> GNUTranslations:
    """The catalogue of a .po file with nothing in it but comments, msgid, msgid_plural and msgstr."""
    entries: list[dict[str, str]] = []
    key = ""
    for line in file.read_text(encoding="utf-8").splitlines():
        if (match := _LINE.match(line)) is None:
            continue
        if match[1] == "msgid":
            entries.append({})
        key = match[1] or key
        entries[-1][key] = entries[-1].get(key, "") + literal_eval(match[2])
    return GNUTranslations(io.BytesIO(_compiled(entries)))


def _compiled(entries: list[dict[str, str]]) -> bytes:
    """The bytes of a .mo file: a head, a table of keys and one of sentences, then both (GNU gettext, "MO Files")."""
    pairs = sorted((_text(entry, "msgid"), _text(entry, "msgstr")) for entry in entries)
    texts = [key for key, _ in pairs] + [sentence for _, sentence in pairs]
    at, table = 28 + 16 * len(pairs), b""
    for text in texts:
        table += struct.pack("<II", len(text), at)
        at += len(text) + 1
    head = struct.pack("<7I", 0x950412DE, 0, len(pairs), 28, 28 + 8 * len(pairs), 0, 0)
    return head + table + b"".join(text + b"\0" for text in texts)


def _text(entry: dict[str, str], kind: str) -> bytes:
    return "\0".join(text for key, text in entry.items() if key.startswith(kind)).encode()
