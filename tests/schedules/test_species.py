"""The table of species and how a grower's word finds its row there."""

from __future__ import annotations

import random
from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedplan.load.folder import shipped_kinds
from feedplan.model.species import TreeKind, TreeKinds, plain_name
from tests.schedules.shipped_files import vocabulary

KINDS = shipped_kinds()
LEAFY = ("early leafing", "middle leafing", "late leafing")
BARE = (*LEAFY, "flowering")
LEAVES = {
    "deciduous broadleaf", "deciduous needle", "semi-evergreen", "evergreen broadleaf", "evergreen needle",
    "evergreen scale", "succulent", "fern", "herb", "moss",
}  # fmt: skip
FLAGS = {"no frost", "no lime", "little phosphorus", "never feed"}
NAMES = st.sampled_from([name for kind in KINDS.all for name in kind.names])


def kind(species: str) -> TreeKind:
    found = KINDS.kind_of(species)
    assert found is not None, species
    return found


def year(species: str) -> str:
    """The calendar a species finds, "none" where nothing knows it."""
    calendar = vocabulary().calendar_for(species, "middle leafing").name
    return calendar if KINDS.kind_of(species) is not None else "none"


def test_every_name_of_every_row_finds_that_row() -> None:
    missed = {(name, row.name) for row in KINDS.all for name in row.names if KINDS.kind_of(name) is not row}
    assert missed == set()
    assert len(KINDS.all) > 790


def test_no_name_stands_twice() -> None:
    counted = Counter(name for row in KINDS.all for name in {plain_name(name) for name in row.names})
    assert {name for name, times in counted.items() if times > 1} == set()


def test_every_row_is_whole() -> None:
    for row in KINDS.all:
        assert row.leaves in LEAVES, row.name
        assert row.flags <= FLAGS, row.name
        assert row.year in {"", *vocabulary().calendars}, row.name
        assert row.noun, row.name
        assert row.known, row.name


def test_a_row_keeps_a_year_that_fits_its_leaves() -> None:
    """A tree that stands bare has leaf fall in its year, one that keeps its leaves has none."""
    for row in KINDS.all:
        if row.leaves.startswith("deciduous") and "no frost" not in row.flags:
            assert row.year in BARE, row.name
        if row.leaves.startswith("evergreen"):
            assert row.year not in BARE, row.name
        if row.leaves in ("fern", "herb", "moss"):
            assert row.year == "", row.name


def test_mosses_and_carnivores_are_never_fed_and_nothing_else_is_said_never_to_be() -> None:
    """Common practice; UBC botany greenhouse notes for the carnivorous kinds, excerpt read."""
    never = {row.noun for row in KINDS.all if "never feed" in row.flags}
    assert {"moss", "clubmoss", "pitcher plant", "sundew", "flytrap", "butterwort", "bladderwort"} == never


# Each of these found another year by the longest word anywhere in the name.
@pytest.mark.parametrize(
    ("species", "botanical", "calendar", "wrong"),
    [
        # Bare in winter: Virginia Tech dendrology card, excerpt read. Middle: judgement.
        ("cedar elm", "Ulmus crassifolia", "middle leafing", "needle conifer"),
        # Evergreen, stops below 60 °F: North Carolina State University plant page, excerpt read.
        ("willow-leaf fig", "Ficus salicaria", "indoor tropical", "early leafing"),
        # An evergreen conifer: two nurseries' pages, excerpts read.
        ("plum yew", "Cephalotaxus harringtonii", "needle conifer", "flowering"),
        # Among the broadleaf evergreens of a county's master gardeners (list read).
        ("live oak", "Quercus virginiana", "broadleaf evergreen", "late leafing"),
        # Sheds its leaves: two plant pages, excerpts read. Late: common practice, no source.
        ("crape myrtle", "Lagerstroemia indica", "late leafing", "broadleaf evergreen"),
    ],
)
def test_a_word_at_the_front_or_in_the_middle_decides_nothing(
    species: str, botanical: str, calendar: str, wrong: str
) -> None:
    assert kind(species).name == botanical
    assert year(species) == calendar != wrong


# Common practice, no source, but for tamarack: needles fall (Virginia Tech dendrology card, excerpt read).
@pytest.mark.parametrize(
    ("species", "calendar"),
    [
        ("crabapple", "flowering"), ("crab-apple", "flowering"), ("celtis", "middle leafing"),
        ("Chinese hackberry", "middle leafing"), ("sweetgum", "late leafing"), ("shimpaku", "scale conifer"),
        ("Itoigawa shimpaku", "scale conifer"), ("tamarack", "early leafing"),
    ],
)  # fmt: skip
def test_kinds_that_nothing_knew_are_known(species: str, calendar: str) -> None:
    assert year(species) == calendar


# Common knowledge of the trade, no source.
@pytest.mark.parametrize(
    ("species", "genus"),
    [
        ("Japanese grey-bark elm", "Zelkova"), ("holly oak", "Quercus"), ("she-oak", "Casuarina"),
        ("silky oak", "Grevillea"), ("mountain ash", "Sorbus"), ("prickly ash", "Zanthoxylum"),
        ("cherry laurel", "Prunus"), ("mountain laurel", "Kalmia"), ("Norfolk Island pine", "Araucaria"),
        ("Buddhist pine", "Podocarpus"), ("ezomatsu", "Picea"), ("karamatsu", "Larix"), ("Douglas fir", "Pseudotsuga"),
        ("western red cedar", "Thuja"), ("eastern red cedar", "Juniperus"), ("swamp cypress", "Taxodium"),
        ("Hinoki cypress", "Chamaecyparis"), ("dawn redwood", "Metasequoia"), ("maidenhair tree", "Ginkgo"),
        ("Fukien tea", "Carmona"), ("tea tree", "Leptospermum"), ("box elder", "Acer"), ("cornelian cherry", "Cornus"),
        ("brush cherry", "Syzygium"), ("mock orange", "Philadelphus"), ("witch hazel", "Hamamelis"),
        ("horse chestnut", "Aesculus"), ("desert rose", "Adenium"), ("heavenly bamboo", "Nandina"),
        ("strawberry tree", "Arbutus"), ("cedar of Lebanon", "Cedrus"), ("rose of Sharon", "Hibiscus"),
    ],
)  # fmt: skip
def test_names_that_mislead_find_the_plant_they_are_given_to(species: str, genus: str) -> None:
    assert kind(species).genus == genus


@pytest.mark.parametrize(
    ("species", "botanical"),
    [
        ("Catlin elm", "Ulmus"), ("old cedar elm", "Ulmus crassifolia"), ("Acer palmatum Kiyohime", "Acer palmatum"),
        ("Acer palmatum 'Kiyohime'", "Acer palmatum"), ("Japanese maple Deshojo", "Acer palmatum"),
        ("Picea glauca var. conica", "Picea glauca"), ("Ulmus nobody's", "Ulmus"), ("larch from seed", "Larix"),
        ("pine from a box", "Pinus"), ("old rose of Sharon", "Hibiscus syriacus"),
        ("maple (in the yew pot)", "Acer"), ("Prunus × yedoensis", "Prunus × yedoensis"),
        ("Prunus yedoensis", "Prunus × yedoensis"), ("birches", "Betula"), ("cherries", "Prunus"),
        ("cypress", "Cupressus"),
    ],
)  # fmt: skip
def test_a_word_finds_its_row(species: str, botanical: str) -> None:
    assert kind(species).name == botanical


@pytest.mark.parametrize("species", ["elm thing", "cedar gate", "pine Apple cake", "moonwood", "", "'x'"])
def test_what_does_not_end_in_a_known_name_is_unknown(species: str) -> None:
    assert KINDS.kind_of(species) is None


@given(NAMES, st.data())
def test_letters_hyphens_and_what_stands_around_a_name_change_nothing(name: str, data: st.DataObject) -> None:
    spelled = data.draw(
        st.sampled_from([name, name.upper(), name.lower(), name.title(), name.replace(" ", "-")])
    )
    around = data.draw(
        st.sampled_from(["{}", " {} ", "{} 'Nana'", "{} (a gift)", "{} bonsai", "{} seedlings"])
    )
    assert KINDS.kind_of(around.format(spelled)) is KINDS.kind_of(name)


@given(NAMES)
def test_the_plural_finds_what_the_name_finds(name: str) -> None:
    ies = name.endswith("y") and name[-2] not in "aeiou"
    es = name.endswith(("s", "x", "ch", "sh"))
    plural = name[:-1] + "ies" if ies else f"{name}es" if es else f"{name}s"
    assert KINDS.kind_of(plural) is KINDS.kind_of(name)


@given(NAMES)
def test_words_before_a_name_change_nothing(name: str) -> None:
    assert KINDS.kind_of(f"weather beaten {name}") is KINDS.kind_of(name)


SINGLE = [n for row in KINDS.all for n in row.also if n.isalpha() and n.casefold() != row.genus.casefold()]


@given(st.sampled_from(SINGLE), st.sampled_from(SINGLE))
def test_of_two_names_the_last_decides(first: str, last: str) -> None:
    """Unless the two together are a name of their own, such as cherry plum, or the first is a genus."""
    both = f"{first} {last}"
    genera = {row.genus.casefold() for row in KINDS.all}
    if KINDS.kind_of(both) not in (KINDS.kind_of(first), KINDS.kind_of(last)) or first.casefold() in genera:
        return
    assert KINDS.kind_of(both) is KINDS.kind_of(last)


@pytest.mark.parametrize("seed", range(3))
def test_the_order_of_the_rows_changes_no_year(seed: int) -> None:
    rows = list(KINDS.all)
    random.Random(seed).shuffle(rows)
    words = [word for row in rows for word in (f"old {row.noun}", f"{row.genus} of the wall")]
    assert years(TreeKinds(rows), words) == years(KINDS, words)


def years(kinds: TreeKinds, words: list[str]) -> list[str | None]:
    found = [kinds.kind_of(word) for word in words]
    return [None if row is None else row.year for row in found]


@pytest.mark.parametrize(
    ("word", "species", "stands"),
    [
        ("elm", "cedar elm", True), ("elm", "Chinese elm", True), ("elm", "Ulmus glabra", True),
        ("elm", "Japanese grey-bark elm", False), ("cedar", "cedar elm", False), ("cedar", "western red cedar", False),
        ("willow", "willow-leaf fig", False), ("fig", "willow-leaf fig", True), ("fig", "ficus", True),
        ("plum", "plum yew", False), ("yew", "plum yew", False), ("oak", "live oak", True), ("oak", "she-oak", False),
        ("maple", "Japanese maple", True), ("maples", "Acer palmatum 'Deshojo'", True), ("Acer", "field maple", True),
        ("maple", "Japanese maple Deshojo", True), ("Japanese maple", "field maple", False),
        ("juniper", "shimpaku", True), ("cherry", "bird cherry", True), ("cherry", "blackthorn", False),
        ("cherry", "flowering cherry", True), ("azalea", "satsuki azalea", True), ("azalea", "rhododendron", False),
        ("rhododendron", "satsuki azalea", True), ("crab apple", "crabapple", True), ("apple", "crab apple", True),
        ("box", "boxwood", True), ("box", "box elder", False), ("seedlings", "larch seedlings", True),
        ("larch", "larch seedlings", True), ("moonwood", "silver moonwood", True), ("Deshojo", "maple Deshojo", True),
    ],
)  # fmt: skip
def test_a_growers_word_stands_for_its_kind(word: str, species: str, stands: bool) -> None:
    assert KINDS.means(word, species) is stands


def test_every_word_stands_for_the_tree_that_is_written_with_it() -> None:
    words = [name for row in KINDS.all for name in (*row.names, row.genus)]
    assert [word for word in words if not KINDS.means(word, word)] == []


def test_a_word_stands_for_trees_called_so_where_none_is_of_its_kind() -> None:
    assert KINDS.meant("elm", {"Chinese elm", "Japanese grey-bark elm"}) == {"Chinese elm"}
    assert KINDS.meant("elm", {"larch", "Japanese grey-bark elm"}) == {"Japanese grey-bark elm"}
    assert KINDS.meant("cedar", {"cedar elm"}) == frozenset()


@pytest.mark.parametrize(
    ("species", "nearest"),
    [
        ("Hawthorne", ("hawthorn",)), ("Japanese larc", ("Japanese larch",)), ("moonwood", ()),
        ("lime", ("finger lime", "key lime", "large leaved lime", "mock lime", "small leaved lime")),
    ],
)  # fmt: skip
def test_an_unknown_word_has_its_nearest_names(species: str, nearest: tuple[str, ...]) -> None:
    assert KINDS.kind_of(species) is None
    assert KINDS.nearest(species) == nearest
