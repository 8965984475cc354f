"""Genera that ordinary feed harms, by word; what each is known from."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum


class Harm(StrEnum):
    """What feed does to a genus."""

    PHOSPHORUS = "phosphorus sensitive"
    ANY_FEED = "never feed"


@dataclass(frozen=True, slots=True)
class GenusFlag:
    """A genus that feed harms. word: the genus or an everyday word for it; known_from: where that is known from.

    most_p_mg_per_l: the most phosphorus its feed should bring, None where no limit is set [mg/L, as element].
    """

    word: str
    harm: Harm
    known_from: str
    most_p_mg_per_l: Decimal | None = None


def flags_of(species: str, flags: Iterable[GenusFlag]) -> tuple[GenusFlag, ...]:
    """The flags whose word is a whole word of a species ("Grevillea robusta"), the longest word first, one a harm."""
    spelled = f" {species.casefold().replace('-', ' ')} "
    found: dict[Harm, GenusFlag] = {}
    for flag in sorted(flags, key=lambda flag: -len(flag.word)):
        if f" {flag.word.casefold()} " in spelled:
            found.setdefault(flag.harm, flag)
    return tuple(found.values())
