"""The journal: facts about trees that are there, whatever the order of the lines; undone entries do not stand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedplan.model.hold import CauseKind
from feedplan.model.journal import (
    Allowed,
    Caused,
    Checked,
    Entry,
    Fact,
    Fed,
    Gone,
    Moved,
    Noted,
    Seen,
    SolidLaid,
    SolidLifted,
    Subject,
)
from feedplan.model.source import BUILT_IN, Source
from tests.load.helpers import complaints, load
from tests.properties import examples


def entries(journal: str) -> tuple[Entry, ...]:
    return load(journal=journal).journal.entries


def fact(words: str) -> Fact:
    return entries(f"- {{date: 2027-04-26, tree: Brindle, {words}}}")[0].fact


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("seen: first flush hardened", Seen(("first flush hardened",))),
        ("seen: [Limp, not growing]", Seen(("limp", "no extension"))),
        ("seen: leaves open, instead: true", Seen(("leaves open",), instead=True)),
        ("work: repotted, roots: 30 %", Caused(CauseKind.WORK, "repotted", Decimal("0.3"))),
        ("work: repotted, bare_rooted: true", Caused(CauseKind.WORK, "repotted", None, True)),
        ("trouble: frost", Caused(CauseKind.TROUBLE, "frost")),
        ("arrived: bought", Caused(CauseKind.ARRIVED, "bought")),
        ("fed: as planned", Fed()),
        ("fed: 100 ppm N, feed: powder, litres: 6 L", Fed(Decimal(100), "powder", Decimal(6))),
        ("fed: half label", Fed(Decimal(120))),  # of 1 g of 24-8-16 per litre
        ("fed: 1/4 of the label, feed: powder", Fed(Decimal(60), "powder")),
        ("fed: label rate", Fed(Decimal(240))),
        ("fed: as on the label", Fed(Decimal(240))),
        ("fed: 5 g in 10 L", Fed(Decimal(120))),  # 0.5 g of 24 % nitrogen per litre
        ("fed: 0.5 g/L", Fed(Decimal(120))),
        ("fed: 0.5 g to the litre", Fed(Decimal(120))),
        ("fed: 0.001 kg per 2 L, feed: powder", Fed(Decimal(120), "powder")),
        ("check: dry", Checked("dry")),
        ("laid: pellets, grams: 20 g, mixed_in: true", SolidLaid("pellets", Decimal(20), True)),
        ("lifted: pellets", SolidLifted("pellets")),
        ("lifted: all", SolidLifted(None)),
        ("lifted: none there", SolidLifted("none")),
        ("moved: refined", Moved("refined", None)),
        ("bench: north wall", Moved(None, "north wall")),
        ("moved: refined, bench: north wall", Moved("refined", "north wall")),
        ("gone: dead", Gone("dead")),
        ("allow: feed, because: New leaves are pale.", Allowed("New leaves are pale.")),
        ("note: Free words.", Noted("Free words.")),
    ],
)
def test_every_fact_is_read_as_written(words: str, expected: Fact) -> None:
    assert fact(words) == expected


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("tree: Brindle", Subject(("Brindle",))),
        ("trees: [Kettle, Brindle]", Subject(("Kettle", "Brindle"))),
        ("group: refined", Subject(group="refined")),
        ("species: larch", Subject(species="larch")),
        ("everything: true, but_not: Kettle", Subject(everything=True, but_not=frozenset({"Kettle"}))),
    ],
)
def test_every_subject_is_read_as_written(words: str, expected: Subject) -> None:
    assert entries(f"- {{date: 2027-04-26, {words}, seen: leaves open}}")[0].subject == expected


def test_an_entry_knows_when_it_happened_when_it_was_written_and_where() -> None:
    journal = "- {date: 2027-05-12, recorded: 2027-05-20, tree: Kettle, seen: leaves open, note: Late.}\n"
    (entry,) = entries("# a comment\n" + journal)
    assert (entry.day, entry.recorded, entry.known) == (
        date(2027, 5, 12),
        date(2027, 5, 20),
        date(2027, 5, 20),
    )
    assert entry.note == "Late."
    assert entry.source == Source("journal.yaml", 2)


def test_an_empty_journal_is_fine() -> None:
    assert entries("") == entries("# nothing yet\n") == ()


def test_an_undone_entry_does_not_stand() -> None:
    lines = (
        "- {date: 2027-04-22, id: a, tree: Brindle, trouble: frost}\n"
        "- {date: 2027-04-23, tree: Kettle, check: dry}\n"
    )
    standing = entries(lines + "- {date: 2027-04-24, undo: a}\n")
    assert [entry.fact for entry in standing] == [Checked("dry")]


def test_undoing_an_undo_makes_its_entry_stand_again() -> None:
    lines = (
        "- {date: 2027-04-22, id: a, tree: Brindle, trouble: frost}\n- {date: 2027-04-24, id: b, undo: a}\n"
    )
    assert entries(lines) == ()
    assert len(entries(lines + "- {date: 2027-04-25, id: c, undo: b}\n")) == 1
    assert entries(lines + "- {date: 2027-04-25, id: c, undo: b}\n- {date: 2027-04-25, undo: c}\n") == ()


def test_an_entry_undone_twice_is_undone() -> None:
    lines = "- {date: 2027-04-22, id: a, tree: Brindle, trouble: frost}\n"
    assert entries(lines + "- {date: 2027-04-24, undo: a}\n- {date: 2027-04-24, undo: a}\n") == ()


def test_entries_that_undo_each_other_are_refused() -> None:
    assert complaints(
        journal="- {date: 2027-04-24, id: a, undo: b}\n- {date: 2027-04-24, id: b, undo: a}\n"
    ) == [
        "journal.yaml:1:35: this entry undoes b, which leads back to it; write the id of another",
        "journal.yaml:2:35: this entry undoes a, which leads back to it; write the id of another",
    ]


def test_an_id_without_being_written_depends_on_what_is_said_only() -> None:
    one, other, third = entries(
        "- {date: 2027-04-22, tree: Brindle, trouble: frost}\n"
        "- {trouble: frost, tree: Brindle, date: 2027-04-22}\n"
        "- {date: 2027-04-22, tree: Kettle, trouble: frost}\n"
    )
    assert one.id != third.id
    assert other.id == f"{one.id}-2"


def test_an_entry_can_be_undone_by_the_id_made_for_it() -> None:
    line = "- {date: 2027-04-22, tree: Brindle, trouble: frost}\n"
    made = entries(line)[0].id
    assert entries(line + f"- {{date: 2027-04-23, undo: {made}}}\n".replace(made, f'"{made}"')) == ()


def test_a_tree_taken_out_of_the_collection_may_stay_in_the_journal_once_it_is_gone() -> None:
    past = (
        "- {date: 2026-04-22, tree: Pippin, trouble: frost}\n"
        "- {date: 2026-05-01, trees: [Pippin, Kettle], check: dry}\n"
    )
    assert complaints(journal=past) == [
        "journal.yaml:1:28: no tree is called 'Pippin'; known: Brindle, Kettle",
        "journal.yaml:2:30: no tree is called 'Pippin'; known: Brindle, Kettle",
    ]
    gone = "- {date: 2026-05-30, id: g, tree: Pippin, gone: dead}\n"
    assert [entry.subject.trees for entry in entries(past + gone)] == [("Kettle",)]
    assert len(complaints(journal=past + gone + "- {date: 2026-06-01, undo: g}\n")) == 2


LINES = [
    "- {date: 2027-04-22, id: a, tree: Brindle, trouble: frost}",
    "- {date: 2027-04-22, tree: Brindle, trouble: frost}",
    "- {date: 2027-04-22, tree: Brindle, trouble: frost}",
    "- {date: 2027-04-23, group: refined, fed: as planned}",
    "- {date: 2027-04-24, id: u, undo: a}",
    "- {date: 2027-04-25, id: v, undo: u}",
    "- {date: 2027-04-26, undo: v}",
    "- {date: 2027-05-01, everything: true, seen: leaves open}",
]


@examples(60)
@given(st.permutations(LINES))
def test_the_order_of_the_lines_changes_nothing(lines: list[str]) -> None:
    def standing(text: str) -> set[Entry]:
        return {replace(entry, source=BUILT_IN) for entry in entries(text)}

    assert standing("\n".join(lines)) == standing("\n".join(LINES))


def test_one_bad_entry_does_not_hide_the_next() -> None:
    found = complaints(
        journal="- {date: 2027-04-22, tree: Brindle, work: repotted, roots: 30}\n"
        "- {date: 2027-04-22, tree: Kettel, check: dry}\n"
    )
    assert [line.split(": ")[0] for line in found] == ["journal.yaml:1:60", "journal.yaml:2:28"]


TWO_FEEDS = """\
place: {name: M, latitude: 46.6, time_zone: Europe/Ljubljana}
feeds:
  b: {grade: 20-20-20, form: soluble, label_rate: 1 g per L}
  fish: {grade: 2-3-2, form: liquid, measured: by volume, label_rate: 10 ml per L}
groups:
  j: {schedule: conifer, feed: b}
  k: {schedule: conifer, feed: fish}
  both: {schedule: conifer, feed: [b, {use: fish, from: 2026-08-01}]}
trees:
  - {name: Juniper, species: juniper, group: j, pot: 7 L}
  - {name: Pine, species: Scots pine, group: k, pot: 7 L}
  - {name: Own, species: Scots pine, group: both, pot: 7 L, feed: fish}
  - {name: Larch, species: larch, group: both, pot: 7 L}
"""


@pytest.mark.parametrize(
    ("entry", "ppm"),
    [
        # Half of 1 g of 20 % per litre; half of 10 ml of 2 % w/v.
        ("group: j, fed: half label", 100),
        ("tree: Juniper, fed: half label", 100),
        ("species: juniper, fed: half label", 100),
        ("trees: [Pine, Own], fed: half label", 100),
        ("tree: Larch, fed: half label", 100),
        ("tree: Own, fed: 5 ml per L", 100),
        ("tree: Juniper, fed: 5 g in 10 L", 100),
        ("tree: Juniper, fed: 2.5 ml per L, feed: fish", 50),
    ],
)
def test_a_share_of_the_label_is_of_the_one_feed_those_trees_use_that_day(entry: str, ppm: int) -> None:
    journal = f"- {{date: 2026-07-05, {entry}}}"
    fed = load(collection=TWO_FEEDS, journal=journal).journal.entries[0].fact
    assert isinstance(fed, Fed)
    assert fed.ppm == ppm


@pytest.mark.parametrize(
    ("entry", "told"),
    [
        (
            "group: both, fed: half label",
            "another strength with each feed; write which, such as feed: b or feed: fish",
        ),
        (
            "everything: true, fed: 5 g in 10 L",
            "another strength with each feed; write which, such as feed: b",
        ),
        (
            "tree: Juniper, fed: 5 ml per L",
            "'b' is weighed in g, and 5 ml per L is not; type feedplan dose b 5 ml per L",
        ),
        (
            "tree: Pine, fed: 5 g in 10 L",
            "'fish' is measured in ml, and 5 g in 10 L is not; type feedplan dose fish 5 g in",
        ),
        ("tree: Juniper, fed: 500 g in 10 L", "is 10000 ppm N, above 2000 ppm N"),
    ],
)
def test_a_feed_told_by_what_went_into_the_can_is_asked_about_where_it_is_not_clear(
    entry: str, told: str
) -> None:
    [problem] = complaints(collection=TWO_FEEDS, journal=f"- {{date: 2026-07-05, {entry}}}")
    assert told in problem


def test_a_tree_that_moved_may_have_had_the_feed_of_either_group() -> None:
    moved = "- {date: 2026-06-14, tree: Juniper, moved: k}\n"
    after, before = (
        f"{moved}- {{date: {day}, tree: Juniper, fed: half label}}" for day in ("2026-07-05", "2026-05-05")
    )
    assert "such as feed: b or feed: fish" in complaints(collection=TWO_FEEDS, journal=after)[0]
    assert complaints(collection=TWO_FEEDS, journal=before) == []
