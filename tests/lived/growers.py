"""Kinds of growers: how much of what they are told they do, how much of it they write down, and when."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from random import Random

from tests.lived.garden import NOT_FED

Deed = tuple[str, int]
"""A word of `deeds.DEEDS` and the number that decides how it is done."""


@dataclass(frozen=True, slots=True)
class Grower:
    """One kind of grower.

    unlogged: what is made of a feed not written down, "given" or "missed". writes: the share of feeds and sightings
    that is written; late: how many days later, from and to. pours: the share of told feeds that is poured;
    otherwise: the share of poured feeds given at another strength or a day later, which is then written down.
    deeds: how likely each is on a day. has_sky: lives with a weather record; sky_fails: one that stops and returns.
    """

    name: str
    unlogged: str = "given"
    writes: float = 0.0
    late: tuple[int, int] = (0, 0)
    pours: float = 1.0
    otherwise: float = 0.0
    deeds: Mapping[str, float] = field(default_factory=dict)
    has_sky: bool = False
    sky_fails: bool = False

    def deeds_of(self, chance: Random) -> Iterator[Deed]:
        """The deeds of one day."""
        for deed, share in self.deeds.items():
            if chance.random() < share:
                yield deed, chance.randrange(1_000_000)


WORK = {"repot": 0.006, "prune": 0.003, "trouble": 0.004, "neighbour": 0.004}
EDITS = {
    "move": 0.02,
    "every": 0.015,
    "strength": 0.01,
    "feeding days": 0.01,
    "can": 0.01,
    "product": 0.01,
    "budget": 0.005,
    "regroup": 0.004,
    "one more": 0.004,
    "away": 0.004,
    "lay": 0.01,
    "lift": 0.008,
}
SELDOM = 0.95 if NOT_FED is not None else 1.0
"""What a grower pours who writes everything: all of it for as long as what was not given cannot be written down."""

GROWERS = {
    grower.name: grower
    for grower in (
        Grower("obedient"),
        Grower("writes everything", writes=1.0, pours=SELDOM, otherwise=0.05, deeds=WORK),
        Grower("writes late", writes=1.0, late=(1, 20), pours=SELDOM, deeds=WORK),
        Grower("writes half", unlogged="missed", writes=0.5, pours=0.85, deeds=WORK),
        Grower("meddles", writes=0.7, deeds={**EDITS, "repot": 0.004}),
        Grower("weather", writes=0.5, has_sky=True, sky_fails=True),
        Grower(
            "takes back",
            writes=1.0,
            late=(0, 3),
            deeds={**WORK, "take back": 0.05, "correct": 0.03, "loss": 0.002},
        ),
    )
}
"""Every kind by name."""
