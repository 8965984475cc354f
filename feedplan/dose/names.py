"""Products by the names people say: straight salts as they are sold, and feeds that only a label can tell.

What is sold is not the pure salt: the grade a bag prints lies below what the formula gives, and one name may stand for
two salts. So a name gives the grade of the bag, and the pure salt stands beside it (salts.py).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

IFA = "International Fertilizer Association, conversion table (typical nutrient content)"
LABEL = "usual label, from memory"


class Sold(NamedTuple):  # a plain tuple: the command at the sink must start at once
    """A straight salt as it is sold.

    salt: its name among SALTS. grade: as the bag prints it. contains: further nutrients of it, as the bag names them
    [percent]. source: of these figures. names: what else people call it, in small letters.
    """

    salt: str
    grade: str
    contains: Mapping[str, str]
    source: str
    names: tuple[str, ...] = ()


_SOLD = (
    Sold("potassium nitrate", "13-0-46", {}, LABEL, ("nitrate of potash", "saltpetre", "saltpeter", "kno3")),
    Sold("monopotassium phosphate", "0-52-34", {}, LABEL, ("mkp", "potassium phosphate", "kh2po4")),
    Sold("dipotassium phosphate", "0-40-53", {}, LABEL),
    # Soluble grade; a field grade is 11-52-0 and leaves a sediment.
    Sold("monoammonium phosphate", "12-61-0", {}, LABEL, ("ammonium phosphate", "map")),
    Sold("diammonium phosphate", "18-46-0", {}, LABEL, ("dap",)),
    Sold("calcium nitrate tetrahydrate", "11.8-0-0", {"Ca": "17"}, LABEL),
    # Nearly all that is sold as calcium nitrate is the double salt, a third richer than the tetrahydrate.
    Sold(
        "calcium ammonium nitrate double salt",
        "15.5-0-0",
        {"Ca": "18.5"},
        LABEL,
        ("calcium nitrate", "nitrate of lime"),
    ),
    Sold("magnesium nitrate hexahydrate", "11-0-0", {"Mg": "9.4"}, LABEL, ("magnesium nitrate",)),
    Sold(
        "magnesium sulfate heptahydrate",
        "0-0-0",
        {"MgO": "16", "S": "13"},
        IFA,
        ("epsom salt", "epsom salts", "epsom", "bitter salt", "magnesium sulfate", "mgso4"),
    ),
    Sold("ammonium sulfate", "21-0-0", {"S": "24"}, IFA, ("sulfate of ammonia",)),
    Sold("urea", "46-0-0", {}, IFA),
    Sold(
        "potassium sulfate",
        "0-0-50",
        {"S": "18"},
        IFA,
        ("potash", "sulfate of potash", "potash sulfate", "sop", "k2so4"),
    ),
    Sold("potassium chloride", "0-0-60", {}, IFA, ("muriate of potash", "muriate", "mop", "kcl")),
)

SOLD: Mapping[str, Sold] = {name: sold for sold in _SOLD for name in (sold.salt, *sold.names)}
"""Every such salt by each of its names, spelled "sulfate"."""

TWO_SALTS: Mapping[str, str] = {
    "calcium nitrate": "calcium nitrate tetrahydrate",
    "potash": "potassium chloride",
    "ammonium phosphate": "diammonium phosphate",
}
"""Names that are said of two salts, and the one that is not taken."""

LIQUID_FEEDS = frozenset(
    {
        "fish emulsion",
        "fish",
        "fish hydrolysate",
        "fish and seaweed",
        "fish and kelp",
        "seaweed",
        "seaweed extract",
        "liquid seaweed",
        "kelp",
        "kelp extract",
        "liquid kelp",
        "tomato feed",
        "tomato food",
        "liquid feed",
        "liquid fertiliser",
        "liquid fertilizer",
    }
)
"""Liquids whose makers differ: what they hold is told by their grade alone."""

LAID_FEEDS = frozenset(
    {
        "bone meal",
        "blood meal",
        "fish meal",
        "hoof and horn",
        "feather meal",
        "rapeseed cake",
        "cottonseed meal",
        "manure",
        "compost",
        "pellets",
    }
)
"""Feeds that are laid on the pot and never mixed into water."""

LONGEST_NAME = 5
"""So many words at the most."""


def spelled(name: str) -> str:
    """A name as it is looked up: small letters, "sulfate" for "sulphate"."""
    return " ".join(name.lower().replace("sulph", "sulf").split())
