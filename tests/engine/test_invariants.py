"""What must hold for every plan: both hemispheres, leap years, any journal."""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

from hypothesis import example, given
from hypothesis import strategies as st

from feedplan.engine.feeding.budget import nitrogen_mg_per_l
from feedplan.engine.plan import plan_season
from feedplan.engine.season import Season
from feedplan.load.collection import load_text
from feedplan.model.collection import Collection
from feedplan.model.course import Status
from feedplan.model.hold import Action, CauseKind
from feedplan.model.journal import Caused, Checked, Entry, Fact, Fed, Journal, Seen, SolidLaid, Subject
from feedplan.model.reason import FedAlthough
from tests.looks import looks_of, rate_of
from tests.properties import examples
from tests.scenarios.planning import GROUPS, SCHEDULES

TREES = """
trees:
  - {name: Brindle, species: larch, group: V, pot: 10 L}
  - {name: Ember, species: maple, group: V, pot: 30 x 22 x 5 cm}
  - {name: Quill, species: oak, group: F, pot: 3 L}
  - {name: Moth, species: hornbeam, group: R, pot: 2 L, weak: true}
"""
NAMES = ("Brindle", "Ember", "Quill", "Moth")
COATED = GROUPS.replace("feeds:", "feeds:\n  coated: {grade: 16-8-12, form: coated, longevity: 150 days}")


def collection_at(latitude: int, habits: str = "") -> Collection:
    """Four trees at a latitude."""
    place = f"place: {{name: Somewhere, latitude: {latitude}, time_zone: UTC}}\n"
    return load_text(place + habits + COATED + TREES, "", SCHEDULES).collection


NORTH, SOUTH = collection_at(53), collection_at(-41)
ON_SATURDAYS = collection_at(53, "habits: {feed_on: [Wednesday, Saturday], unlogged_feeds: missed}\n")

DAYS = st.dates(date(2027, 1, 1), date(2028, 12, 31))
FACTS: st.SearchStrategy[Fact] = st.one_of(
    st.sampled_from(
        ["leaves open", "first flush hardened", "leaves colouring", "dormant", "limp", "extension"]
    ).map(lambda word: Seen((word,))),
    st.sampled_from([None, Decimal("0.1"), Decimal("0.3"), Decimal("0.6")]).map(
        lambda roots: Caused(CauseKind.WORK, "repotted", roots)
    ),
    st.sampled_from(["frost", "scorch", "salt", "waterlogged"]).map(lambda c: Caused(CauseKind.TROUBLE, c)),
    st.sampled_from([None, Decimal(100)]).map(lambda ppm: Fed(ppm=ppm)),
    st.sampled_from(["dry", "moist"]).map(Checked),
    st.integers(1, 40).map(lambda grams: SolidLaid("coated", Decimal(grams))),
)


@st.composite
def journals(draw: st.DrawFn) -> Journal:
    """Up to eight entries about some of the trees, some of them written down late."""
    entries = []
    for number in range(draw(st.integers(0, 8))):
        day = draw(DAYS)
        late = draw(st.sampled_from([0, 0, 0, 9]))
        names = draw(st.sets(st.sampled_from(NAMES), min_size=1, max_size=2))
        subject = Subject(trees=tuple(sorted(names)))
        entries.append(Entry(f"e{number}", day, day + timedelta(days=late), subject, draw(FACTS)))
    return Journal(tuple(entries))


PLACES = {"north": NORTH, "south": SOUTH, "on Saturdays": ON_SATURDAYS}
BY_NAME = st.sampled_from(sorted(PLACES))  # a counterexample names its place and does not print it


def season_of(collection: Collection, journal: Journal, today: date) -> Season:
    return plan_season(collection, journal, today, today - timedelta(days=200), today + timedelta(days=500))


def no_feed_is_planned_inside_a_hold(season: Season, collection: Collection) -> None:
    """A feed told before anyone wrote down what opened the hold stays, and says that it was given although."""
    for timeline in season.timelines:
        for feed in timeline.feeds:
            if feed.status is not Status.RECORDED and feed.status is not Status.MISSED:
                inside = [h for h in timeline.holds if Action.LIQUID in h.rule.stops and h.covers(feed.day)]
                assert [h for h in inside if h.entry.known <= feed.told] == []
                if inside:
                    assert feed.status is Status.ASSUMED
                    assert any(isinstance(reason.fact, FedAlthough) for reason in feed.reasons)


def no_two_feeds_come_closer_than_the_minimum_gap(season: Season, collection: Collection) -> None:
    """The gap is that of the period fed in; an overdue feed takes up room for the next one only once it is given."""
    gaps = {p.name: p.min_gap_days for g in collection.groups.values() for p in g.schedule.periods}
    for timeline in season.timelines:
        for before, after in itertools.pairwise(f for f in timeline.feeds if f.status is not Status.MISSED):
            was_known = before.entry is None or before.entry.known <= after.told
            if after.status is Status.OVERDUE and was_known:
                assert (after.day - before.day).days >= gaps[after.period]
        settled = [f for f in timeline.feeds if f.status not in (Status.MISSED, Status.OVERDUE)]
        for before, after in itertools.pairwise(settled):
            was_known = before.entry is None or before.entry.known <= after.told  # else told in good faith
            if after.status is not Status.RECORDED and was_known:
                assert (after.day - before.day).days >= gaps[after.period]


def planned_nitrogen_keeps_to_the_budget(season: Season, collection: Collection) -> None:
    share = collection.habits.feed_share
    for timeline in season.timelines:
        for year in {f.season for f in timeline.feeds}:
            feeds = [f for f in timeline.feeds if f.season == year]
            given = [f for f in feeds if f.entry is not None or f.status is Status.ASSUMED]
            facts = sum((nitrogen_mg_per_l(f, share) for f in given), Decimal(0))
            facts += sum((s.mg_n_per_l for s in timeline.solids if s.season == year), Decimal(0))
            ahead = sum(
                nitrogen_mg_per_l(f, share) for f in feeds if f.status in (Status.PLANNED, Status.OVERDUE)
            )
            budget = collection.groups[timeline.group_on(season.today)].schedule.budget_mg_n_per_l
            assert ahead <= max(Decimal(0), budget - facts)


def every_feed_that_moved_or_fell_away_names_its_reason(season: Season, collection: Collection) -> None:
    for timeline in season.timelines:
        assert all(dropped.reasons for dropped in timeline.dropped)
        for feed in timeline.feeds:
            if feed.ppm < feed.plan_ppm and feed.status is not Status.RECORDED:
                assert feed.reasons


RULES = (
    no_feed_is_planned_inside_a_hold,
    no_two_feeds_come_closer_than_the_minimum_gap,
    planned_nitrogen_keeps_to_the_budget,
    every_feed_that_moved_or_fell_away_names_its_reason,
)


LAID_AND_WRITTEN_DOWN_LATE = Journal(
    (
        Entry(
            "laid",
            date(2027, 6, 23),
            date(2027, 7, 2),
            Subject(trees=("Brindle",)),
            SolidLaid("coated", Decimal(34)),
        ),
    )
)


@given(BY_NAME, journals(), DAYS)
@example(
    "on Saturdays", LAID_AND_WRITTEN_DOWN_LATE, date(2027, 7, 4)
)  # a feed missed before is offered again
@examples(60)
def test_every_plan_keeps_to_every_rule(place: str, journal: Journal, today: date) -> None:
    """One plan for all the rules: planning is what takes the time."""
    collection = PLACES[place]
    season = season_of(collection, journal, today)
    for rule in RULES:
        rule(season, collection)


@given(BY_NAME, journals(), DAYS)
@examples(20)
def test_running_again_gives_the_same_events(place: str, journal: Journal, today: date) -> None:
    collection = PLACES[place]
    shuffled = Journal(tuple(reversed(journal.entries)))
    assert season_of(collection, journal, today) == season_of(collection, shuffled, today)


@given(BY_NAME, journals(), DAYS, st.sampled_from(NAMES), st.sampled_from(["0.1", "0.3", "0.6"]))
@examples(30)
def test_a_hold_removes_no_water_check_and_adds_no_feed(
    place: str, journal: Journal, today: date, name: str, roots: str
) -> None:
    collection = PLACES[place]
    work = Entry(
        "cut", today, today, Subject(trees=(name,)), Caused(CauseKind.WORK, "repotted", Decimal(roots))
    )
    before = season_of(collection, journal, today)
    after = season_of(collection, Journal((*journal.entries, work)), today)

    for each in NAMES:
        for offset in (*range(8), 60, 61, 62, 63, 200):
            day = today + timedelta(days=offset)
            assert rate_of(after, each, day) >= rate_of(before, each, day)
            assert set(looks_of(after, each, day)) >= set(looks_of(before, each, day))

    def feeds_soon(season: Season) -> int:
        timeline = next(t for t in season.timelines if name in t.names)
        return sum(
            f.status in (Status.PLANNED, Status.OVERDUE) and f.day <= today + timedelta(days=120)
            for f in timeline.feeds
        )

    assert feeds_soon(after) <= feeds_soon(before)


@given(DAYS)
@examples(20)
def test_the_other_hemisphere_has_as_many_feeding_days_within_three(today: date) -> None:
    def active(collection: Collection) -> dict[str, int]:
        season = season_of(collection, Journal(), today)
        return {
            w.period.name: (w.last - w.first).days
            for t in season.timelines
            for w in t.windows
            if w.season == 2027
        }

    north, south = active(NORTH), active(SOUTH)
    assert north.keys() == south.keys()
    assert all(abs(north[name] - south[name]) <= 3 for name in north)


RECORDED_TWO_DAYS_LATE = Journal(
    (
        Entry(
            "laid",
            date(2027, 7, 1),
            date(2027, 7, 1),
            Subject(trees=("Brindle",)),
            SolidLaid("coated", Decimal(10)),
        ),
        Entry("fed", date(2027, 10, 22), date(2027, 10, 22), Subject(trees=("Brindle",)), Fed()),
    )
)


@given(BY_NAME, journals(), DAYS, st.integers(1, 40))
@example("south", RECORDED_TWO_DAYS_LATE, date(2027, 11, 1), 1)
@examples(30)
def test_what_was_planned_up_to_a_day_is_what_is_assumed_after_it(
    place: str, journal: Journal, today: date, later: int
) -> None:
    """With nothing new in the journal, days passing change no past feed: a planned one becomes an assumed one."""
    collection = PLACES[place]
    known = Journal(tuple(e for e in journal.entries if e.known <= today))
    if collection.habits.unlogged_feeds != "given":
        collection = replace(collection, habits=NORTH.habits)
    then = today + timedelta(days=later)
    first, second = season_of(collection, known, today), season_of(collection, known, then)
    for before, after in zip(first.timelines, second.timelines, strict=True):
        upto = [(f.day, f.ppm, f.ordinal) for f in before.feeds if f.day < then and f.season >= 2027]
        assert upto == [(f.day, f.ppm, f.ordinal) for f in after.feeds if f.day < then and f.season >= 2027]


@given(BY_NAME, journals(), journals(), DAYS)
@examples(12)
def test_a_plan_made_after_another_is_the_plan_made_alone(
    place: str, journal: Journal, other: Journal, today: date
) -> None:
    """Whatever another plan was made from, of what it worked out only that is used which is the same."""
    collection = PLACES[place]
    begin, end = today - timedelta(days=200), today + timedelta(days=500)
    alone = season_of(collection, journal, today)
    more = Journal((*journal.entries, *(replace(entry, id=f"other {entry.id}") for entry in other.entries)))
    for known in (more, other):
        earlier = plan_season(collection, known, today, begin, end)
        again = plan_season(collection, journal, today, begin, end, earlier=earlier)
        assert again == alone


def test_a_plan_made_after_another_works_out_only_what_an_entry_is_about() -> None:
    today = date(2027, 6, 5)
    before = season_of(NORTH, Journal(), today)
    seen = Entry("e", today, today, Subject(trees=("Quill",)), Seen(("first flush hardened",)))
    after = plan_season(NORTH, Journal((seen,)), today, before.start, before.end, earlier=before)
    taken = {
        name for t in after.timelines if any(t is other for other in before.timelines) for name in t.names
    }
    assert taken == {"Brindle", "Ember", "Moth"}
