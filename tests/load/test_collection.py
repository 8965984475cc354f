"""A collection: what a grower writes becomes exact values, with defaults where nothing is written."""

from __future__ import annotations

from datetime import date, time
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedplan.load import load_text
from feedplan.load.collection import slug
from feedplan.load.read_site import TAPER, parse_pot, shaped_pot
from feedplan.model.collection import Habits, Pot, PotClass, Tree, Unlogged
from feedplan.model.forms import FORMS
from feedplan.model.measures import Injector, Measures
from feedplan.model.moment import DayOfYear, Hemisphere
from feedplan.model.source import Source
from tests.load.helpers import COLLECTION, PLACE, SOUTH, complaints, load, small
from tests.properties import examples


def only_tree(more: str = "", groups: str = "{g: {schedule: mine}}") -> Tree:
    return load(small(groups, more)).collection.trees[0]


def test_the_smallest_collection_has_every_default() -> None:
    collection = load(small()).collection
    assert collection.habits == Habits()
    assert collection.place.elevation_m == 0
    assert collection.place.hemisphere is Hemisphere.NORTH
    assert (collection.away, collection.notes, collection.since, collection.feeds) == ((), (), None, {})
    tree = collection.trees[0]
    assert (tree.count, tree.weak, tree.bench, tree.about) == (1, False, "", "")
    assert (tree.since, tree.canopy_cm2, tree.schedule, tree.feeds) == (None, None, None, ())


def test_measures_are_read_as_written_and_the_can_of_habits_is_one_of_them() -> None:
    place = "place: {name: X, latitude: 55.6, time_zone: Europe/London}\n"
    trees = (
        "groups: {g: {schedule: vigorous}}\ntrees: [{name: Brindle, species: larch, group: g, pot: 1 L}]\n"
    )
    told = "measures: {scale: 0.01 g, marks: 1 L, jug: 500 ml, cans: [5 L, 10 L]}\n"
    habits = load_text(place + told + trees).collection.habits
    assert habits.measures == Measures(Decimal("0.01"), Decimal(1), Decimal("0.5"), (Decimal(10), Decimal(5)))
    assert habits.can_litres == 10
    of_habits = load_text(place + "habits: {can: 9 L}\nmeasures: {marks: 1 L}\n" + trees).collection.habits
    assert of_habits.measures == Measures(marks_l=Decimal(1), cans_l=(Decimal(9),))
    assert of_habits.can_litres == 9


@pytest.mark.parametrize(
    ("written", "injector"),
    [
        ("injector: 1:100", Injector(Decimal(100), Decimal(1))),
        ('injector: "1:16", stock: 20 L', Injector(Decimal(16), Decimal(20))),
        ("injector: 1 in 64, stock: 500 ml", Injector(Decimal(64), Decimal("0.5"))),
        ("injector: 0.8 %", Injector(Decimal(125), Decimal(1))),
        ("injector: 3 percent", Injector(Decimal("33.33"), Decimal(1))),
    ],
)
def test_an_injector_is_set_in_parts_or_in_percent(written: str, injector: Injector) -> None:
    text = (
        "place: {name: X, latitude: 55.6, time_zone: Europe/London}\n"
        f"measures: {{{written}}}\n"
        "groups: {g: {schedule: vigorous}}\ntrees: [{name: Brindle, species: larch, group: g, pot: 1 L}]\n"
    )
    assert load_text(text).collection.habits.measures == Measures(injector=injector)


def test_place_and_habits_are_read_as_written() -> None:
    text = small(place=(
        "place: {name: Skerry Court, latitude: 55.60, elevation: -2 m, time_zone: Europe/London}\n"
        "since: 2027-01-01\n"
        'habits: {unlogged_feeds: missed, feed_on: [Sunday, wed], can: 2 US gal, feed_share: 12 %, '
        'checks_at: ["06:30", "14:00", "19:00"], alarm: "06:45"}\n'
    ))  # fmt: skip
    collection = load(text).collection
    assert str(collection.place.latitude) == "55.60"
    assert collection.place.elevation_m == -2
    assert collection.since == date(2027, 1, 1)
    habits = collection.habits
    assert habits.unlogged_feeds is Unlogged.MISSED
    assert habits.feed_on == (6, 2)  # in the order written: the first is the day of mixing
    assert habits.feed_together_days == 4
    assert habits.can_litres == Decimal("7.570823568")  # NIST Handbook 44: 3.785411784 L each
    assert habits.feed_share == Decimal("0.12")
    assert habits.checks_at == (time(6, 30), time(14), time(19))
    assert habits.alarm_at == time(6, 45)


def test_one_feeding_day_needs_no_brackets() -> None:
    assert load(PLACE + "habits: {feed_on: Saturday}\n" + small(place="")).collection.habits.feed_on == (5,)


def test_days_of_mixing_are_there_where_feeding_days_are_told() -> None:
    def days(habits: str) -> int:
        return load(PLACE + f"habits: {{{habits}}}\n" + small(place="")).collection.habits.feed_together_days

    assert days("feed_on: [Saturday, Wednesday]") == 4
    assert days("feed_on: [Saturday, Wednesday], feed_together: 0 days") == 0
    assert days("can: 10 L") == 0


def test_feeds_are_worked_out_from_their_labels() -> None:
    text = COLLECTION.replace(
        "feeds:\n",
        "feeds:\n"
        "  kelp: {grade: 4-2-6, basis: elemental, form: liquid, density: 1.15 kg per L, label_rate: 23 g per 10 L}\n"
        "  by-volume: {grade: 4-2-6, form: liquid, measured: by volume}\n"
        "  coated: {grade: 16-8-12, form: coated, longevity: 150 days, longevity_at: 25 °C}\n",
    )
    feeds = load(text).collection.feeds
    kelp = feeds["kelp"].product
    assert kelp.grade.elements["P"] == 2  # elemental: no oxide factor
    assert feeds["kelp"].n_mg_per_g == 46  # 4 % of 1.15 kg/L is 46 mg in each ml
    assert kelp.label_rate_per_l == 2  # 2.3 g/L of a liquid that weighs 1.15 g/ml
    assert feeds["by-volume"].n_mg_per_g == 40  # w/v: 4 g in 100 ml
    assert feeds["coated"].form is FORMS["coated"]
    assert feeds["coated"].longevity_c == 25
    assert feeds["powder"].source == Source("collection.yaml", 7)


def test_groups_use_feeds_in_order_of_their_first_day() -> None:
    groups = "{g: {schedule: mine, feed: [{use: b, from: 2027-07-01}, a]}}"
    feeds = "feeds: {a: {grade: 20-10-20, form: soluble}, b: {grade: 12-4-24, form: soluble}}\n"
    group = load(PLACE + feeds + small(groups, place="")).collection.groups["g"]
    assert [(use.feed, use.start) for use in group.feeds] == [("a", None), ("b", date(2027, 7, 1))]


def test_a_tree_tells_everything_about_itself() -> None:
    tree = only_tree(
        ", count: 24, bench: north wall, weak: true, since: 2026-03-01, canopy: 40 x 30 cm, about: Leans left."
    )
    assert (tree.count, tree.bench, tree.weak, tree.about) == (24, "north wall", True, "Leans left.")
    assert tree.since == date(2026, 3, 1)
    assert tree.canopy_cm2 is not None
    assert round(tree.canopy_cm2) == 942  # an oval of 40 by 30 cm
    assert tree.source == Source("collection.yaml", 4)


@pytest.mark.parametrize(
    ("written", "litres"),
    [
        ("9 L", "9"),
        ("500 ml", "0.5"),
        ("1 imperial gal", "4.54609"),
        ("20 x 15 x 5 cm", "1.35"),  # 1.5 L to the rim, a tenth off for walls, feet and rim
        ("round 20 x 10 cm", "2.827433"),
        ("oval 20 x 10 x 5 cm", "0.706858"),
        ("200 x 150 x 50 mm", "1.35"),
    ],
)
def test_a_pot_is_written_as_volume_or_size(written: str, litres: str) -> None:
    assert round(parse_pot(written).litres, 6) == Decimal(litres)


def test_a_round_pot_holds_what_a_cylinder_of_that_size_holds_less_the_taper() -> None:
    cylinder = Decimal("3.141592653589793") * 10 * 10 * 10 / 1000
    assert parse_pot("round 20 x 10 cm").litres == cylinder * TAPER


def test_pots_in_parts_say_shape_depth_and_open_sides() -> None:
    basket = shaped_pot("28 x 28 x 20 cm", "round", None, None, True)
    assert basket.open_sided
    assert basket.pot_class is PotClass.DEEP
    assert basket.litres == shaped_pot("28 x 20 cm", "round", None, None, False).litres
    assert shaped_pot(None, None, "9 L", "20 cm", False) == Pot(
        Decimal(9), "9 L", Decimal(20), Decimal(450), False
    )
    assert shaped_pot("30 x 22 x 7 cm", None, "4 L", None, False).litres == 4


def test_a_pot_in_parts_is_loaded_from_the_file() -> None:
    text = small().replace("pot: 1 L", "pot: {size: 28 x 28 x 20 cm, shape: oval, open_sided: true}")
    pot = load(text).collection.trees[0].pot
    assert (pot.depth_cm, pot.open_sided, pot.words) == (Decimal(20), True, "oval 28 x 28 x 20 cm")


def test_notes_come_every_year_or_once() -> None:
    notes = "notes:\n  - {on: 29 February, say: Heater.}\n  - {on: 2027-10-01, say: Mix.}\n"
    found = load(PLACE + notes + small(place="")).collection.notes
    assert [note.on for note in found] == [DayOfYear(2, 29), date(2027, 10, 1)]


def test_own_typical_dates_are_never_turned_and_stages_go_by_any_of_their_names() -> None:
    text = small(place=SOUTH) + "stages: {larch: {leafed out: 20 October, Dormant: 1 June}}\n"
    assert load(text).collection.own_dates == {
        ("larch", "leaves open"): DayOfYear(10, 20),
        ("larch", "dormant"): DayOfYear(6, 1),
    }


MIXED = small().replace(
    "trees:\n", "trees:\n  - {name: Tern, species: Japanese grey-bark elm, group: g, pot: 1 L}\n"
)
ELMS = MIXED.replace("species: larch", "species: cedar elm")


@pytest.mark.parametrize(
    ("text", "word", "called"),
    [
        (ELMS, "elm", {"cedar elm"}),  # the grey bark elm is a zelkova
        (
            MIXED,
            "elm",
            {"Japanese grey-bark elm"},
        ),  # but where no tree is an elm, it is what the grower calls so
        (ELMS, "zelkova", {"Japanese grey-bark elm"}),
        (ELMS, "cedar", set()),
    ],
)
def test_own_dates_and_entries_of_a_species_are_for_trees_of_that_kind(
    text: str, word: str, called: set[str]
) -> None:
    assert load(text).collection.species_called(word) == called
    journal = f"- {{date: 2027-04-26, species: {word}, seen: leaves open}}\n"
    refused = ["journal.yaml:1:31: no tree is of the species 'cedar'; did you mean 'cedar elm'?"]
    assert complaints(text, journal) == ([] if called else refused)


def test_a_word_listed_in_a_calendar_of_ones_own_comes_before_the_table_of_species() -> None:
    own = "calendars:\n  late leafing: {species: [elm, moonwood]}\n"
    vocabulary = load(ELMS, schedules={"stages": own}).collection.vocabulary
    years = {word: vocabulary.calendar_for(word, "middle leafing").name for word in (
        "cedar elm", "old moonwood", "Japanese grey-bark elm", "elm seedlings", "field maple"
    )}  # fmt: skip
    assert years == {
        "cedar elm": "late leafing",
        "old moonwood": "late leafing",
        "Japanese grey-bark elm": "middle leafing",
        "elm seedlings": "seedlings",
        "field maple": "middle leafing",
    }


def test_the_identity_is_made_from_the_name_unless_one_is_written() -> None:
    assert (
        load(small(place=PLACE.replace("name: X", "name: Skerry Court"))).collection.identity
        == "skerry-court"
    )
    assert load("id: my-trees\n" + small()).collection.identity == "my-trees"


@pytest.mark.parametrize(
    ("name", "identity"),
    [
        ("Skerry Court", "skerry-court"),
        ("  Ü-42!  ", "ü-42"),
        ("盆栽の家", "盆栽の家"),
        ("!!!", "collection"),
    ],
)
def test_identities_are_small_letters_digits_and_hyphens(name: str, identity: str) -> None:
    assert slug(name) == identity


@pytest.mark.parametrize(
    "name", ["Ōmi, the elder", "苔", "שלום", "🌲 Nr. 1", "👩‍🌾's larch", "a: b", "#1", "O'Brien"]
)
def test_names_in_any_writing_are_kept(name: str) -> None:
    quoted = name.replace("'", "''")
    assert load(small().replace("name: Brindle", f"name: '{quoted}'")).collection.trees[0].name == name


def test_names_that_look_alike_are_the_same_name() -> None:
    composed, decomposed = "\u014cmi", "O\u0304mi"
    text = small().replace("Brindle", decomposed)
    assert load(text, f"- {{date: 2027-01-01, tree: {composed}, seen: limp}}").journal.entries


def test_what_is_shared_can_be_written_once_with_an_anchor() -> None:
    text = PLACE + (
        "groups: {g: {schedule: mine}}\n"
        "trees:\n"
        "  - {name: A, species: larch, group: g, pot: &box {size: 30 x 20 x 9 cm, open_sided: true}}\n"
        "  - {name: B, species: larch, group: g, pot: *box}\n"
    )
    one, other = load(text).collection.trees
    assert (other.pot, other.pot.open_sided) == (one.pot, True)


def test_a_group_without_trees_is_asked_about_unless_some_were_moved_there() -> None:
    text = small("{g: {schedule: mine}, h: {schedule: mine}}")
    (asked,) = load(text).questions
    assert str(asked) == "collection.yaml:2:31: group 'h' has no trees; are any still to come?"
    assert load(text, "- {date: 2027-01-01, tree: Brindle, moved: h}").questions == ()


def test_several_groups_without_trees_are_one_question() -> None:
    text = small("{g: {schedule: mine}, h: {schedule: mine}, i: {schedule: mine}}")
    (asked,) = load(text).questions
    assert asked.message == "the groups 'h', 'i' have no trees; are any still to come?"


# zone.tab of the time zone database: Europe/London +513030, Pacific/Auckland -3652, Africa/Nairobi -0117.
@pytest.mark.parametrize(
    ("latitude", "zone", "questionable"),
    [
        ("-41.2", "Pacific/Auckland", False),
        ("41.2", "Pacific/Auckland", True),
        ("-55.6", "Europe/London", True),
        ("0", "Europe/London", False),
        ("1.5", "Africa/Nairobi", False),
        ("41.2", "NZ", False),
    ],
)
def test_a_latitude_with_its_sign_forgotten_is_warned_of(
    latitude: str, zone: str, questionable: bool
) -> None:
    place = f"place: {{name: X, latitude: {latitude}, time_zone: {zone}}}\n"
    warnings = [str(warning) for warning in load(small(place=place)).warnings]
    assert bool(warnings) == questionable
    if latitude == "41.2" and questionable:
        assert warnings == [
            "collection.yaml:1:28: latitude of place: 41.2 is north of the equator and Pacific/Auckland is not; "
            "every date may be half a year off: did you mean '-41.2'?"
        ]


def test_problems_of_every_file_are_told_together_in_order() -> None:
    found = complaints(
        COLLECTION.replace("9 L", "9").replace("group: growing-on", "group: growing-in"),
        "- {date: 2027-04-26, tree: Brindel, seen: leaves opn}\n",
        {"mine": "schedule: mine\nabout: x\n"},
    )
    assert [line.split(": ")[0] for line in found] == [
        "collection.yaml:10:53",
        "collection.yaml:11:60",
        "journal.yaml:1:28",
        "journal.yaml:1:43",
        *["schedules/mine.yaml:1:1"] * 4,
    ]


def test_one_bad_tree_does_not_make_its_name_unknown_to_the_journal() -> None:
    found = complaints(
        COLLECTION.replace("9 L", "9"), "- {date: 2027-04-26, tree: Kettle, seen: leaves open}\n"
    )
    assert len(found) == 1


SCRAPS = st.sampled_from(
    ["place", "trees", "groups", "feeds", "habits", "schedule", "mine", "name", "{", "}", "[", "]", ": ", ", ", "\n",
     "\n  ", "- ", "'", '"', "#", "&a ", "*a", "<<", "55.6", "2027-04-26", "true", "no", "1:50", "!", "|",
     ">", "\t", "é", "~"]
)  # fmt: skip


@examples(60)
@given(st.lists(SCRAPS, max_size=30).map("".join), st.lists(SCRAPS, max_size=12).map("".join))
def test_any_text_is_loaded_or_refused_with_sentences(collection: str, journal: str) -> None:
    for line in complaints(collection, journal, {"mine": collection}):
        assert line.startswith(("collection.yaml", "journal.yaml", "schedules/mine.yaml"))
        assert "\n" not in line


VALUES = st.recursive(
    st.sampled_from([None, True, 0, 1.5, "9 L", "mine", "g", "Brindle", "leaves open", "none", "150 ppm N",
                     "2027-04-26"]),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(st.sampled_from(
        ["name", "species", "group", "pot", "changes", "feeding", "summer", "every", "strength", "holds", "frost",
         "work", "use", "from", "volume", "water", "dormant", "schedule", "feed", "at_least", "stages"]),
        inner, max_size=4)),
    max_leaves=8,
)  # fmt: skip
KEYS = ["place", "id", "since", "habits", "away", "feeds", "groups", "trees", "notes", "stages"]


@examples(60)
@given(st.dictionaries(st.sampled_from(KEYS), VALUES, min_size=1))
def test_values_of_the_wrong_kind_anywhere_are_refused_with_sentences(parts: dict[str, object]) -> None:
    import yaml

    base = yaml.safe_load(COLLECTION)
    for line in complaints(yaml.safe_dump({**base, **parts}, allow_unicode=True)):
        assert line.startswith("collection.yaml:")


@examples(60)
@given(VALUES)
def test_changes_of_any_kind_are_taken_or_refused_with_sentences(changes: object) -> None:
    import json

    for line in complaints(small(f"{{g: {{schedule: mine, changes: {json.dumps(changes)}}}}}")):
        assert line.startswith("collection.yaml:")


def pot_told(pot: str, count: int) -> Pot:
    return (
        load(collection=small(tree=f", count: {count}").replace("pot: 1 L", f"pot: {pot}"))
        .collection.trees[0]
        .pot
    )


@pytest.mark.parametrize(
    "pot",
    ["tray 50 x 30 x 6 cm shared", "shared tray 50 x 30 x 6 cm", "{size: 50 x 30 x 6 cm, shared: true}"],
)
def test_a_tray_that_thirty_share_gives_each_a_thirtieth_of_its_content_and_top(pot: str) -> None:
    told = pot_told(pot, 30)
    assert told.litres == Decimal(50 * 30 * 6) / 1000 * TAPER / 30
    assert told.top_cm2 == Decimal(50 * 30) / 30
    assert told.depth_cm == 6  # the roots of each go down as far


def test_a_pot_that_is_not_shared_is_each_ones_own() -> None:
    assert pot_told("50 x 30 x 6 cm each", 30).litres == pot_told("50 x 30 x 6 cm", 1).litres
    assert pot_told("50 x 30 x 6 cm shared", 1).litres == pot_told("50 x 30 x 6 cm", 1).litres
