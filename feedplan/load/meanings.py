"""What growers mean by words that feedplan has other words for: one table for files, commands and pages."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping
from typing import NamedTuple

from feedplan.dose.measures import tidy


class Meant(NamedTuple):
    """What a word stands for: a key of the journal, and the value to write there."""

    key: str
    value: str

    def __str__(self) -> str:
        return f"{self.key}: {self.value}"


_WORDS: Mapping[tuple[str, str], str] = {
    ("gone", "dead"): "died, dead, dies, is dead, has died, lost, killed, death",
    ("gone", "sold"): "sold",
    ("gone", "given away"): "given away, gave away, gifted, donated",
    ("arrived", "bought"): "bought, purchased, nursery, from a nursery, garden centre, shop, new",
    ("arrived", "imported"): "imported, import, from abroad",
    ("arrived", "gift"): "gift, a gift, present, swapped, swap",
    ("check", "dry"): "dry, dried out a little, too dry",
    ("check", "moist"): "moist, damp, wet, still wet, moist enough",
    ("check", "watered"): "watered, water, watering, soaked",
    ("fed", "as planned"): "feed, feeding, fertilised, fertilized, fertiliser, fertilizer, planned",
    ("not_fed", "no reason"): "not fed, skipped, missed feed",
    ("trouble", "pests"): (
        "pests, pest, aphids, aphid, greenfly, blackfly, whitefly, spider mites, spider mite, red spider mite, mites, "
        "scale, scale insects, mealybugs, mealybug, vine weevil, caterpillars, thrips, adelgids, woolly aphids, lice"
    ),
    ("trouble", "root rot"): "root rot, rotten roots, phytophthora, rot",
    (
        "trouble",
        "frost",
    ): "frost, late frost, frosted, frost damage, frozen, freeze, cold damage, early frost, spring frost",
    ("trouble", "heat"): "heat, heat wave, heatwave, hot, overheated",
    ("trouble", "scorch"): "scorch, sunburn, sun scorch, leaf scorch, burn, leaf burn, burnt",
    ("trouble", "drought"): "drought, underwatered, dried out, dried up, bone dry, dry out",
    ("trouble", "waterlogged"): "waterlogged, overwatered, flooded, too wet, drowned, blocked drain",
    ("trouble", "salt"): "salt, overfed, fertiliser burn, fertilizer burn, too much feed, salts, salty",
    ("trouble", "weak"): "weak, weakened, poorly, sick, ailing, not well, unwell",
    ("work", "treated"): (
        "treated, sprayed, spray, drenched, insecticide, fungicide, pesticide, neem, soap, systemic, treatment"
    ),
    ("work", "repotted"): (
        "repotted, repotting, repot, root pruned, root-pruned, root pruning, roots cut, roots pruned, root work, "
        "divided"
    ),
    (
        "work",
        "slip-potted",
    ): "slip-potted, slip potted, potted on, potted up, up-potted, potting on, slip pot",
    ("work", "collected"): "collected, dug, dug up, lifted from the ground, yamadori",
    ("work", "decandled"): "decandled, candle cutting, candles cut, candle cut, decandling, cut candles",
    ("work", "defoliated"): "defoliated, defoliation, leaves cut, leaves removed, leaf cutting",
    ("work", "part defoliated"): (
        "part defoliated, partly defoliated, partial defoliation, leaf pruned, leaf pruning, partially defoliated"
    ),
    (
        "work",
        "hard pruned",
    ): "hard pruned, pruned hard, hard pruning, cut back, cut back hard, chopped, trunk chop",
    ("work", "bent"): "bent, heavy bend, bending, heavily bent, branch bent",
    ("work", "struck"): "struck, cuttings taken, cuttings put in",
    ("seen", "leaves open"): "leafed, leafed out, leaves out, leafing out, in leaf",
    ("seen", "limp"): "limp, wilting, wilt, wilts, wilted, drooping, droops, flagging",
    ("seen", "dropping leaves"): "leaves dropping, drops leaves, losing leaves, leaf loss",
    ("seen", "scorched"): "leaf edges brown, brown edges, crisp edges, scorched leaves, burnt leaves",
    ("seen", "pale"): "pale leaves, pale growth",
    ("seen", "yellowing"): "yellow, chlorosis, chlorotic, leaves yellow, leaves yellowing",
    ("seen", "buds swelling"): "buds swell, buds moving, buds move",
    ("seen", "leaves colouring"): "autumn colours, coloring, leaves coloring, leaves turning",
    ("seen", "leaves fallen"): "leaves down, bare, leaf drop in autumn",
    ("seen", "in flower"): "flowers, in bloom, blooming, flowering",
}

_MEANT: Mapping[str, Meant] = {
    word: Meant(*meant) for meant, words in _WORDS.items() for word in words.split(", ")
}

_ORDINARY = (
    "pruned, pruning, light pruning, lightly pruned, pruned lightly, trimmed, trimming, shaped, clipped, pinched, "
    "pinching, pinched back, deadheaded, deadheading, disbudded, wired, wiring, unwired, weeded, weeding, turned, "
    "rotated, staked, cleaned, moss removed"
)
MOST_ORDINARY = "hard pruned"
"""The work that ordinary pruning becomes where more than a third of the crown goes."""

_KEYS = tuple(
    (word, key)
    for key, words in {
        "grade": "npk analysis",
        "pot": "size container pot_size vessel",
        "everything": "all everyone",
        "away": "holidays holiday vacation absent",
        "feeds": "fertilisers fertilizers products",
        "trees": "plants",
        "latitude": "lat",
        "time_zone": "timezone tz zone",
        "elevation": "altitude height",
        "about": "comment remark description notes note",
        "note": "comment remark notes text",
        "date": "day when",
        "tree": "plant name",
        "species": "kind genus",
        "schedule": "plan",
        "strength": "ppm dose concentration",
        "every": "interval each frequency",
        "mix": "substrate soil compost",
        "bench": "place location spot stand",
        "litres": "liters volume",
    }.items()
    for word in words.split()
)
"""Keys people write, each with the key that has that meaning; the first that is known where it stands counts."""

NOT_NEEDED = frozenset({"longitude", "lon", "lng", "country", "city", "climate", "usda_zone", "hardiness"})
"""Keys of a place that feedplan has no use for."""


def meant_by(word: str, keys: Collection[str] = ()) -> Meant | None:
    """What a word stands for under any of some journal keys, under any at all if none is named; None if nothing."""
    found = _MEANT.get(tidy(word.replace("_", " ")).casefold())
    return found if found is not None and (not keys or found.key in keys) else None


def is_ordinary_work(word: str) -> bool:
    """Whether a word is for work after which a tree is fed as before, so that a note is all it needs."""
    return tidy(word).casefold() in _ORDINARY.split(", ")


def words_for(keys: Collection[str]) -> dict[str, Meant]:
    """Every word that stands for something under one of some journal keys."""
    return {word: meant for word, meant in _MEANT.items() if meant.key in keys}


def values_for(keys: Collection[str]) -> dict[str, str]:
    """The same words, each with the value it stands for."""
    return {word: meant.value for word, meant in words_for(keys).items()}


def key_meant(word: str, known: Iterable[str]) -> str | None:
    """The key, of those known, that a word people write in its place stands for."""
    known_keys = set(known)
    for spelled, key in _KEYS:
        if spelled == word.casefold().replace("-", "_") and key in known_keys:
            return key
    return None


def bench_meant(name: str, known: Collection[str]) -> str | None:
    """The bench that a name not among the known ones is most likely a slip for; None where none is that close."""
    from difflib import get_close_matches  # noqa: PLC0415 - only where a bench is new

    if name in known:
        return None
    digits = re.sub(r"\D", "", name)
    alike = [bench for bench in known if re.sub(r"\D", "", bench) == digits]
    close = get_close_matches(name.casefold(), [bench.casefold() for bench in alike], 1, 0.85)
    return next((bench for bench in known if [bench.casefold()] == close), None)
