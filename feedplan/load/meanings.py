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
    ("seen", "dormant"): "dormancy, in dormancy, gone dormant, went dormant, asleep, resting",
    ("seen", "buds swelling"): (
        "buds swell, buds swollen, bud swelling, swelling buds, buds moving, buds move, buds fat"
    ),
    ("seen", "buds breaking"): (
        "buds broken, buds burst, buds bursting, bud breaking, buds open, buds opened, buds opening, "
        "buds popping, green tip, sprouting, leafing"
    ),
    ("seen", "leaves open"): (
        "leafed, leafed out, leaves out, leafing out, in leaf, fully leafed, fully leafed out, "
        "leaves opened, leaves unfolded, leaves unfurled"
    ),
    ("seen", "first flush extending"): "flushing, spring flush, spring growth, first flush growing",
    ("seen", "first flush hardened"): (
        "hardened off, hardened-off, fully hardened, fully hardened off, leaves hardened off, "
        "leaves have hardened, leaves hard, leaves firm, leaves firmed up, growth hardened off, "
        "new growth hardened, new growth hardened off, first flush hardened off, flush hardened off, "
        "spring growth hardened"
    ),
    ("seen", "midsummer pause"): "summer rest, paused for summer",
    ("seen", "second flush"): "second growth, second flush growing, summer flush, flushing again, lammas",
    ("seen", "hardening off"): (
        "wood brown, wood turning brown, wood ripening, wood hardening, lignifying, lignified"
    ),
    ("seen", "leaves colouring"): (
        "autumn colours, autumn color, autumn colors, fall color, fall colors, fall colour, coloring, "
        "leaves coloring, leaves turning, leaves changing color, leaves changing colour, changing color, "
        "changing colour, turning color, turning colour"
    ),
    ("seen", "leaves fallen"): (
        "leaves down, leaves off, all leaves down, leaves have fallen, bare, bare branches, "
        "leaf drop in autumn, fall leaf drop"
    ),
    ("seen", "candles extending"): (
        "candling, candles growing, candles out, candles elongating, candles lengthening, candles pushing, "
        "tips growing"
    ),
    ("seen", "needles emerging"): "needles out, needles emerged, needles opened, new needles",
    ("seen", "needles hardened"): (
        "needles hardened off, needles hard, needles full length, candles hardened, candles hardened off, "
        "tips hardened off"
    ),
    ("seen", "in flower"): (
        "flowers, flowers open, in bloom, blooming, bloom, blossom, blossoming, in blossom, flowering"
    ),
    ("seen", "petals fallen"): (
        "done flowering, done blooming, done with flowering, finished flowering, finished blooming, "
        "flowering done, flowering over, flowering finished, flowers done, flowers over, flowers finished, "
        "flowers fallen, flowers dropped, flowers faded, flowers withered, faded flowers, spent flowers, "
        "spent blooms, bloom over, blooms over, blooms done, blossom over, blossoms over, out of bloom, "
        "out of flower, past bloom, petals dropped, petals down, stopped flowering, stopped blooming"
    ),
    ("seen", "rooted"): (
        "cutting rooted, rooted cutting, rooted cuttings, cuttings took, cuttings have rooted, has rooted, "
        "have rooted"
    ),
    ("seen", "new growth"): (
        "new shoots, pushing growth, pushing new growth, putting on growth, growing well, shoots growing"
    ),
    ("seen", "extension"): "elongating, shoots extending, shoots elongating, shoots longer, lengthening",
    ("seen", "clean new leaves"): "new leaves are clean, new growth clean, clean new growth",
    ("seen", "no new scorch"): "no new burn, no more burn, no new sunburn, no more scorching",
    ("seen", "new buds"): "back buds, backbuds, backbudding, back-budding, budding back, buds on old wood",
    ("seen", "turgid at dawn"): (
        "firm in the morning, perky in the morning, not limp at dawn, not wilting at dawn"
    ),
    ("seen", "white root tips"): (
        "white roots, new roots, roots white, fresh roots, fresh white roots, root tips white, roots growing"
    ),
    ("seen", "settled"): (
        "firm in its pot, firm in the pot, not rocking, does not rock, no wobble, not wobbly"
    ),
    ("seen", "clean check"): (
        "no bugs, no bugs found, bug free, bug-free, bugs gone, no pests, pest free, pest-free, "
        "pests gone, no pest, no insects, no insects found, no aphids, aphids gone, no mites, mites gone, "
        "no scale, scale gone, no greenfly, no disease, no pests or disease, no pests or diseases, "
        "no sign of pests, no signs of pests, no sign of bugs, no signs of bugs, free of pests, "
        "free of bugs, checked clean, all clear"
    ),
    ("seen", "no die-back"): "no dead branches, no dead tips, no die back, nothing died back",
    ("seen", "limp"): (
        "limp leaves, leaves limp, wilting, wilt, wilts, wilted leaves, drooping, droopy, droops, "
        "flagging, floppy, leaves hanging"
    ),
    ("seen", "no extension"): "no new growth, stalled, sulking, not moving",
    ("seen", "pale"): "pale leaves, pale growth, leaves pale, pale green, light green, washed out",
    ("seen", "yellowing"): (
        "yellow, yellowing leaves, chlorosis, chlorotic, leaves yellow, leaves yellowing, turning yellow, "
        "going yellow, leaves turning yellow, leaves going yellow"
    ),
    ("seen", "scorched"): (
        "leaf edges brown, brown edges, brown leaf edges, brown tips, leaf tips brown, crisp edges, "
        "crispy, crispy edges, crispy leaves, scorched leaves, burnt leaves, burned, burned leaves"
    ),
    ("seen", "leaf drop"): (
        "leaves dropping, drops leaves, dropped leaves, losing leaves, leaf loss, shedding leaves"
    ),
    ("seen", "die-back"): (
        "die back, dead branch, dead branches, dead tips, dead twigs, branch dead, branch died, "
        "branch dying, tips dying, twigs dying"
    ),
    ("seen", "brown roots"): "roots brown, mushy roots, roots mushy, black roots, roots black",
    ("seen", "salt crust"): (
        "white crust, crust, crust on soil, crust on the soil, salt on the soil, salt on soil"
    ),
}

_MEANT: Mapping[str, Meant] = {
    word: Meant(*meant) for meant, words in _WORDS.items() for word in words.split(", ")
}

_SAYING_LITTLE = (
    "leaf leav bud root needle shoot tip growth new no not a the it its is are has have on of at in off"
)
"""Words, without their endings, that stand in so many signs that one alone makes no sign out of others."""

_ORDINARY = (
    "pruned, pruning, light pruning, lightly pruned, pruned lightly, trimmed, trimming, shaped, clipped, pinched, "
    "pinching, pinched back, deadheaded, deadheading, disbudded, wired, wiring, unwired, weeded, weeding, turned, "
    "rotated, staked, cleaned, moss removed, air layered, air-layered, air layering, air layer, layered, layering"
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

_UNITS = {
    word: unit
    for unit, words in {
        "US gal": "gallons gallon gal gals",
        "US qt": "quarts quart qt qts",
        "L": "liters liter litre l volume",
        "ml": "ml milliliters millilitres",
        "oz": "oz ounces ounce",
        "lb": "lb lbs pounds pound",
        "g": "g gram grammes weight",
        "kg": "kg kilos kilograms",
        "": "amount quantity qty how_much howmuch",
    }.items()
    for word in words.split()
}
"""Keys people write for how much there was, each with the unit it tells; "" for none."""

NOT_NEEDED = frozenset({"longitude", "lon", "lng", "country", "city", "climate", "usda_zone", "hardiness"})
"""Keys of a place that feedplan has no use for."""


def meant_by(word: str, keys: Collection[str] = ()) -> Meant | None:
    """What a word stands for under any of some journal keys, under any at all if none is named; None if nothing."""
    found = _MEANT.get(tidy(word.replace("_", " ")).casefold())
    return found if found is not None and (not keys or found.key in keys) else None


def is_ordinary_work(word: str) -> bool:
    """Whether a word is for work after which a tree is fed as before, so that a note is all it needs."""
    return tidy(word).casefold() in _ORDINARY.split(", ")


def nearest_sign(text: str, signs: Mapping[str, str]) -> str | None:
    """The sign with the most telling words in common with some words, whatever their endings; None without any.

    signs: every way to write one, with its name.
    """
    said = _stems(text)
    best: tuple[int, float] = (0, 0.0)
    found = None
    for written, name in {**signs, **values_for(["seen"])}.items():
        stems = _stems(written)
        shared = (said & stems).difference(_SAYING_LITTLE.split())
        rank = len(shared), len(said & stems) / len(said | stems)
        if shared and rank > best and name in signs.values():
            best, found = rank, name
    return found


def _stems(text: str) -> set[str]:
    """The words of a text, in small letters and without their endings."""
    return {
        re.sub(r"(ing|ed|en|es|s|y)$", "", each) or each for each in re.findall(r"[^\W\d_]+", text.casefold())
    }


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


def amount_meant(word: str, value: object, beside: Collection[str]) -> str | None:
    """What to write for a key of a journal entry that tells how much; None for any other key.

    value: what stands under it, as written. beside: the other keys of the entry.
    """
    unit = _UNITS.get(word.casefold().replace("-", "_").replace(" ", "_"))
    if unit is None or not {"fed", "laid"} & {*beside}:
        return None
    written = str(value)
    is_poured = "fed" in beside
    told = unit or ("L" if is_poured else "g")
    amount = written if re.search(r"[^\W\d_]", written) else f"{written} {told}"
    if not is_poured:
        is_volume = told in ("US gal", "US qt", "L", "ml")
        return f"grams: {'20 g' if is_volume else amount}, or rate: 3 g per L of pot; both take oz, too"
    if told in ("oz", "lb", "g", "kg"):
        return f"litres: 6 L, or 2 US gal, and the powder as fed: {amount} per US gal, or its ppm N"
    return (
        f"litres: {amount}, or {amount.replace('US', 'imperial')}" if "US" in amount else f"litres: {amount}"
    )


def bench_meant(name: str, known: Collection[str]) -> str | None:
    """The bench that a name not among the known ones is most likely a slip for; None where none is that close."""
    from difflib import get_close_matches  # noqa: PLC0415 - only where a bench is new

    if name in known:
        return None
    digits = re.sub(r"\D", "", name)
    alike = [bench for bench in known if re.sub(r"\D", "", bench) == digits]
    close = get_close_matches(name.casefold(), [bench.casefold() for bench in alike], 1, 0.85)
    return next((bench for bench in known if [bench.casefold()] == close), None)
