"""A journal entry as one line of YAML that reads back as exactly what was meant."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from decimal import Decimal

from feedplan.load.text.yaml_scalars import Surprise, plain_value

_SAFE_WITHOUT_QUOTES = re.compile(r"[^\W_](?:[\w .%/°+'()-]*[\w.%)])?")


def entry_line(entry: Mapping[str, object]) -> str:
    """An entry as one line, such as "{date: 2027-04-26, tree: Brindle, seen: leaves open}"."""
    return "{" + ", ".join(f"{key}: {_written(value)}" for key, value in entry.items()) + "}"


def _written(value: object) -> str:
    """A value as YAML, texts in quotes wherever YAML might read them as anything else."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(map(_written, value)) + "]"
    if isinstance(value, (int, Decimal, date)):
        return f"{value:f}" if isinstance(value, Decimal) else str(value)
    text = str(value)
    return text if _means_itself(text) else _in_quotes(text)


def _means_itself(text: str) -> bool:
    """Whether a text can stand without quotes inside { } and still be read as that text."""
    if not text.isprintable() or not _SAFE_WITHOUT_QUOTES.fullmatch(text):
        return False
    try:
        return plain_value(text) == text
    except Surprise:
        return False


def _in_quotes(text: str) -> str:
    """A text in double quotes; anything that does not print is escaped, so that it stays on its line."""
    signs = (
        f"\\{sign}" if sign in '\\"' else sign if sign.isprintable() else f"\\U{ord(sign):08x}"
        for sign in text
    )
    return f'"{"".join(signs)}"'
