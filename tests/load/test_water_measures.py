"""How a grower writes benches, mixes, flushes, rain and water use, and what is said of slips."""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal

import pytest

from feedplan.errors import FilesHaveProblems
from feedplan.load import load_text
from feedplan.load.read_site import (
    Sun,
    parse_flush,
    parse_rain,
    parse_substrate,
    parse_sun,
    parse_use,
)
from feedplan.model.collection import FlushPace, Wind

READ = [
    (parse_sun, "full sun", Sun(Decimal(0))),
    (parse_sun, "part shade 40 %", Sun(Decimal("0.4"))),
    (parse_sun, "shade 50%", Sun(Decimal("0.5"))),
    (
        parse_sun,
        "Part shade",
        Sun(Decimal("0.4")),
    ),  # the middle of the 30 to 50 % of shade nets, common practice
    (parse_sun, "indoors", Sun(Decimal(0), indoors=True)),
    (parse_flush, "every 6 feeds", FlushPace(every_feeds=6)),
    (parse_flush, "every 5 weeks", FlushPace(every_days=35)),
    (parse_flush, "never", FlushPace()),
    (parse_rain, "10 mm", Decimal(10)),
    (parse_rain, "1 cm", Decimal(10)),
    (parse_use, "120 %", Decimal("1.2")),
]


@pytest.mark.parametrize(("parse", "text", "value"), READ)
def test_words_are_read_as_meant(parse: Callable[[str], object], text: str, value: object) -> None:
    assert parse(text) == value


def test_parts_of_a_mix_are_shares_of_its_volume() -> None:
    mix = parse_substrate("2 akadama, 1 pumice, 1 lava").mix
    assert [(component.name, share) for component, share in mix.parts] == [
        ("akadama", 0.5),
        ("pumice", 0.25),
        ("lava", 0.25),
    ]


REFUSED = [
    (parse_sun, "sunny", "does not say how much sun; write full sun, part shade 40 %, full shade or indoors"),
    (parse_sun, "part shade 99 %", "does not say how much sun"),
    (parse_substrate, "akadma", "no substrate is called 'akadma'; did you mean 'akadama'?"),
    (parse_substrate, "0 lava", "is no part of a mix"),
    (parse_flush, "monthly", "is no pace; write for example every 5 weeks or every 6 feeds, or never"),
    (parse_flush, "every 3 days", "is out of range"),
    (parse_rain, "10", "has no unit"),
    (parse_rain, "3 m", "is no day's heavy rain"),
    (parse_use, "1.2", "is not a share; write for example 1.2 %"),
    (parse_use, "900 %", "more than any tree on record drinks"),
]


@pytest.mark.parametrize(("parse", "text", "part"), REFUSED)
def test_slips_are_refused_with_a_remedy(parse: Callable[[str], object], text: str, part: str) -> None:
    with pytest.raises(ValueError, match=re.escape(part)):
        parse(text)


COLLECTION = """
place: {name: Wrenmoor, latitude: 53.4, time_zone: Europe/London}
feeds: {powder: {grade: 20-10-20, form: soluble}}
benches:
  wall: {sun: part shade 40 %, wind: exposed}
  room: {sun: indoors}
  spare: {under_cover: true}
groups: {g: {schedule: vigorous, feed: powder, bench: wall, mix: peaty}}
trees: [{name: Brindle, species: larch, group: g, pot: 3 L, bench: room}]
"""


def test_benches_and_mixes_reach_the_collection() -> None:
    loaded = load_text(COLLECTION)
    wall, room, spare = loaded.collection.benches.values()
    assert (wall.shade, wall.wind, wall.under_cover) == (Decimal("0.4"), Wind.EXPOSED, False)
    assert (room.indoors, room.under_cover) == (True, True)
    assert spare.under_cover
    substrate = loaded.collection.groups["g"].substrate
    assert substrate is not None
    assert substrate.words == "peaty"


def test_a_bench_on_which_nothing_stands_is_told() -> None:
    [question] = [w for w in load_text(COLLECTION).questions if "bench" in w.message]
    assert question.line == 7
    assert question.message == "nothing stands on bench 'spare'; is it still there?"


def test_an_unknown_key_of_a_bench_names_its_line() -> None:
    with pytest.raises(FilesHaveProblems, match=r"collection.yaml:5:\d+: unknown key 'winds'"):
        load_text(COLLECTION.replace("wind: exposed", "winds: exposed"))
