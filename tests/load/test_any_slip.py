"""One slip anywhere in sound files: the answer is a collection or sentences with places, never a crash."""

from __future__ import annotations

import copy
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from feedplan.load.folder import shipped_folder
from feedplan.load.yaml_tree import read_yaml
from tests.load.helpers import complaints
from tests.properties import examples

FULL_COLLECTION = """\
place: {name: Skerry Court, latitude: -41.2, elevation: 35 m, time_zone: Pacific/Auckland}
id: skerry
since: 2027-01-01
habits: {unlogged_feeds: given, feed_on: [Saturday], can: 10 L, feed_share: 10 %, alarm: "07:00"}
away: [{from: 2027-08-03, to: 2027-08-16}]
feeds:
  powder: {grade: 24-8-16, form: soluble, spoon: 5.5 g, label_rate: 1 g per L, label_maximum: 2 g per L}
  kelp: {grade: 4-2-6, basis: elemental, form: liquid, density: 1.15 kg per L}
  coated: {grade: 16-8-12, form: coated}
groups:
  growing-on: {schedule: vigorous, feed: [powder, {use: kelp, from: 2027-07-01}], bench: south,
    changes: {feeding: {spring and summer: {every: 14 days}, autumn: none}, holds: {frost: {at_least: 20 days}}}}
  refined: {schedule: refined}
trees:
  - {name: Brindle, species: larch, group: growing-on, pot: 30 x 22 x 7 cm, since: 2026-01-01, canopy: 40 cm}
  - {name: Kettle, species: hornbeam, group: refined, pot: {volume: 9 L, depth: 20 cm},
     changes: {budget: 90 mg N per L}}
notes: [{on: 29 February, say: Heater.}, {on: 2027-10-01, say: Mix.}]
stages: {larch: {leaves open: 24 October}}
"""
JOURNAL = """\
- {date: 2027-04-26, tree: Brindle, work: repotted, roots: 30 %}
- {date: 2027-05-28, trees: [Brindle, Kettle], seen: [limp, no extension], id: abc}
- {date: 2027-06-14, group: growing-on, fed: 100 ppm N, feed: powder, litres: 6 L, but_not: [Brindle]}
- {date: 2027-04-01, tree: Kettle, laid: coated, grams: 20 g, mixed_in: true}
- {date: 2027-06-18, species: larch, moved: refined, bench: north}
- {date: 2027-05-30, everything: true, allow: feed, because: Pale.}
- {date: 2027-06-01, undo: abc}
"""


def shipped(name: str) -> str:
    return (shipped_folder() / f"{name}.yaml").read_text(encoding="utf-8")


FILES = {
    "collection": FULL_COLLECTION,
    "journal": JOURNAL,
    "vigorous": shipped("vigorous"),
    "holds": shipped("holds"),
    "stages": shipped("stages"),
}
JUNK: list[Any] = [
    None, True, False, 0, -1, 10**30, 1.5, "", " ", "none", "no such thing", "0 days", "99 weeks", "9 L", "100 %",
    "1:50", "31 June", "leaves open", "limp", "twice a day", "150 ppm N", "vigorous", "holds", "../../x", "a.yaml",
    "\u202ename", "two\nlines", "x" * 100, [], {}, [[]], [{}], {"x": {}}, {"from": "dormant"}, ["limp", None],
]  # fmt: skip


def spots_in(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Every path in some data, the root among them."""
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [path, *(found for key, part in inner for found in spots_in(part, (*path, key)))]


def plain(value: Any) -> Any:
    """Data that the reference implementation can write: decimals as floats."""
    if isinstance(value, dict):
        return {key: plain(part) for key, part in value.items()}
    if isinstance(value, list):
        return [plain(part) for part in value]
    return float(value) if isinstance(value, Decimal) else value


DATA: dict[str, Any] = {name: plain(read_yaml(text, name)[0]) for name, text in FILES.items()}
PATHS = {name: spots_in(data) for name, data in DATA.items()}


def changed(name: str, path: tuple[Any, ...], slip: str, junk: Any) -> str:
    """A file with one part replaced, taken away, or under another key."""
    if not path:
        return yaml.safe_dump(junk, allow_unicode=True)
    data = copy.deepcopy(DATA[name])
    holder = data
    for step in path[:-1]:
        holder = holder[step]
    last = path[-1]
    if slip == "replace":
        holder[last] = junk
    elif slip == "rename" and isinstance(holder, dict):
        holder[str(junk)[:20]] = holder.pop(last)
    else:
        del holder[last]
    return yaml.safe_dump(data, allow_unicode=True, sort_keys=False)


@pytest.mark.parametrize("name", FILES)
def test_the_files_to_be_spoilt_are_sound(name: str) -> None:
    assert complaints(FULL_COLLECTION, JOURNAL) == []
    assert complaints_with(name, yaml.safe_dump(DATA[name], allow_unicode=True, sort_keys=False)) == []


def complaints_with(name: str, text: str) -> list[str]:
    if name == "collection":
        return complaints(text, JOURNAL)
    if name == "journal":
        return complaints(FULL_COLLECTION, text)
    return complaints(FULL_COLLECTION, JOURNAL, {name: text})


@examples(120)
@given(st.data())
def test_one_slip_anywhere_is_taken_or_refused_with_sentences(data: st.DataObject) -> None:
    name = data.draw(st.sampled_from(sorted(FILES)))
    path = data.draw(st.sampled_from(PATHS[name]))
    slip = data.draw(st.sampled_from(["replace", "remove", "rename"]))
    found = complaints_with(name, changed(name, path, slip, data.draw(st.sampled_from(JUNK))))
    for line in found:
        place, _, message = line.partition(": ")
        assert Path(place.split(":")[0]).suffix == ".yaml"
        assert message.isprintable() or "\u200d" in message
        assert len(message) < 500
