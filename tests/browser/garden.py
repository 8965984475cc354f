"""A made-up garden of 150 trees on six benches, on a morning of June with everything to do at once."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import product
from pathlib import Path

from tests.server.world import make_folder

_HEAD = """\
place: {name: Long Croft, latitude: 53.2, elevation: 40 m, time_zone: Europe/London}
id: long-croft
since: 2027-01-01
habits: {can: 10 L, feed_on: [Saturday, Wednesday], feed_share: 10 %, checks_at: ["07:00", "15:00", "20:00"]}
feeds:
  spring-24-8-16: {grade: 24-8-16, form: soluble, spoon: 5.5 g, label_rate: 1 g per L, label_maximum: 2 g per L}
  even-20-20-20: {grade: 20-20-20, form: soluble, spoon: 5 g, label_rate: 1 g per L, label_maximum: 1.5 g per L}
groups:
  growing-on: {schedule: vigorous, feed: spring-24-8-16}
  show: {schedule: refined, feed: even-20-20-20}
  conifers: {schedule: conifer, feed: spring-24-8-16}
  fresh: {schedule: newly-repotted, feed: even-20-20-20}
trees:
"""
_GROUPS = [
    ("growing-on", "hornbeam", "12 L", ["south wall", "north wall"], 60),
    ("show", "Japanese maple", "38 x 28 x 7 cm", ["show bench"], 36),
    ("conifers", "Scots pine", "32 x 24 x 9 cm", ["gravel", "slope"], 34),
    ("fresh", "field maple", "9 L", ["shade house"], 20),
]
_FIRST = [
    "Ash",
    "Brook",
    "Clay",
    "Dene",
    "Elder",
    "Fen",
    "Gate",
    "Hazel",
    "Ivy",
    "Knoll",
    "Lane",
    "Marsh",
    "Oak",
]
_SECOND = [
    "bank",
    "croft",
    "dale",
    "field",
    "garth",
    "hurst",
    "ley",
    "mere",
    "ridge",
    "stead",
    "thorpe",
    "wick",
]


def garden(path: Path) -> Path:
    """The folder of the garden: 20 trees repotted, each on a day of its own; 8 nipped by frost, 4 with pests."""
    names = iter(f"{first}{second}" for first, second in product(_FIRST, _SECOND))
    lines: list[str] = []
    by_group: dict[str, list[str]] = {}
    for group, species, pot, benches, count in _GROUPS:
        for number in range(count):
            name, bench = next(names), benches[number * len(benches) // count]
            lines.append(
                f"  - {{name: {name}, species: {species}, group: {group}, pot: {pot}, bench: {bench}}}"
            )
            by_group.setdefault(group, []).append(name)
    spring = date(2027, 3, 8)
    fresh = [
        f"- {{date: {spring + timedelta(days=2 * n)}, tree: {name}, work: repotted, roots: {20 + n % 3 * 10} %}}\n"
        for n, name in enumerate(by_group["fresh"])
    ]
    frosted = [
        f"- {{date: {date(2027, 5, 1) + timedelta(days=n)}, tree: {name}, trouble: frost}}\n"
        for n, name in enumerate(by_group["growing-on"][:8])
    ]
    pests = [
        f"- {{date: {date(2027, 5, 10) + timedelta(days=n)}, tree: {name}, trouble: pests}}\n"
        for n, name in enumerate(by_group["show"][:4])
    ]
    journal = "".join((*fresh, *frosted, *pests))
    return make_folder(path, journal, _HEAD + "\n".join(lines) + "\n")
