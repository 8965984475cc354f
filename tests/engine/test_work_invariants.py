"""What must hold for all work told, with any journal: never while held, never while away, once in its season."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from feedplan.engine.answers.explain import timeline_of
from feedplan.engine.answers.work import WorkPrompt, work_of, work_prompts
from feedplan.engine.plan import plan_season
from feedplan.engine.season import Season, Timeline
from feedplan.load.collection import load_text
from feedplan.model.collection import Collection
from feedplan.model.hold import Action, CauseKind
from feedplan.model.journal import Caused, Entry, Fact, Journal, Moved, Seen, Subject
from tests.properties import examples

TREES = """
groups: {vigorous: {schedule: vigorous}, refined: {schedule: refined}, conifers: {schedule: conifer}}
trees:
  - {name: Brindle, species: larch, group: vigorous, pot: 10 L}
  - {name: Ember, species: maple, group: refined, pot: 3 L, repot_every: 3 years}
  - {name: Quill, species: pine, group: conifers, pot: 3 L}
  - {name: Moth, species: hornbeam, group: vigorous, pot: 2 L, weak: true}
"""
NAMES = ("Brindle", "Ember", "Quill", "Moth")
ACTIONS = {"pruning": Action.PRUNING, "defoliation": Action.PRUNING, "wiring": Action.WIRING}
ACTIONS |= {"repotting": Action.REPOTTING}


def collection_at(latitude: int, wanted: str = "true") -> Collection:
    place = f"place: {{name: Somewhere, latitude: {latitude}, time_zone: UTC}}\n"
    away = "away: [{from: 2027-06-01, to: 2027-06-20}, {from: 2027-12-20, to: 2028-01-05}]\n"
    return load_text(f"{place}habits: {{work_prompts: {wanted}}}\n{away}{TREES}", "", {}).collection


NORTH, SOUTH = collection_at(53), collection_at(-41)
OFF = collection_at(53, "false")
DAYS = st.dates(date(2027, 1, 1), date(2028, 6, 30))
SEEN = ["buds swelling", "leaves open", "first flush hardened", "limp", "extension", "hardened", "new growth"]
SEEN += ["turgid at dawn", "clean new leaves", "clean check", "leaf drop", "new buds"]
FACTS: st.SearchStrategy[Fact] = st.one_of(
    st.sampled_from(SEEN).map(lambda word: Seen((word,))),
    st.sampled_from([None, Decimal("0.1"), Decimal("0.3"), Decimal("0.6")]).map(
        lambda roots: Caused(CauseKind.WORK, "repotted", roots)
    ),
    st.sampled_from(["hard pruned", "bent", "defoliated", "treated"]).map(
        lambda c: Caused(CauseKind.WORK, c)
    ),
    st.sampled_from(["frost", "heat", "root rot", "weak"]).map(lambda c: Caused(CauseKind.TROUBLE, c)),
    st.sampled_from(["refined", "vigorous"]).map(lambda group: Moved(group=group)),
)


@st.composite
def journals(draw: st.DrawFn) -> Journal:
    entries = []
    for number in range(draw(st.integers(0, 9))):
        day, late = draw(DAYS), draw(st.sampled_from([0, 0, 9]))
        names = draw(st.sets(st.sampled_from(NAMES), min_size=1, max_size=2))
        subject = Subject(trees=tuple(sorted(names)))
        entries.append(Entry(f"e{number}", day, day + timedelta(days=late), subject, draw(FACTS)))
    return Journal(tuple(entries))


def season_of(collection: Collection, journal: Journal, today: date) -> Season:
    return plan_season(collection, journal, today, today - timedelta(days=300), today + timedelta(days=500))


def each(season: Season) -> list[tuple[WorkPrompt, str, Timeline]]:
    """Everything told, tree by tree."""
    found = []
    for prompt in work_prompts(season):
        for tree in prompt.trees:
            timeline = timeline_of(season, tree.name)
            assert timeline is not None
            found.append((prompt, tree.name, timeline))
    return found


PLACES = {"north": NORTH, "south": SOUTH}
BY_NAME = st.sampled_from(sorted(PLACES))  # a counterexample names its place and does not print it


@given(BY_NAME, journals(), DAYS)
@examples(60)
def test_no_work_is_told_on_a_day_on_which_a_hold_stops_it_or_nobody_is_there(
    place: str, journal: Journal, today: date
) -> None:
    collection = PLACES[place]
    season = season_of(collection, journal, today)
    for prompt, _, timeline in each(season):
        stopping = [hold for hold in timeline.holds if ACTIONS[prompt.work] in hold.rule.stops]
        assert [hold.rule.name for hold in stopping if hold.covers(prompt.day)] == []
        assert not any(away.start <= prompt.day <= away.end for away in collection.away)
        assert season.start <= prompt.day <= season.end


@given(BY_NAME, journals(), DAYS)
@examples(60)
def test_work_is_told_of_a_tree_once_in_its_season_and_never_of_a_weak_one(
    place: str, journal: Journal, today: date
) -> None:
    collection = PLACES[place]
    told = each(season_of(collection, journal, today))
    assert "Moth" not in [name for _, name, _ in told]
    seasons = Counter(
        (name, prompt.work, prompt.key.removesuffix("/unknown")[-4:]) for prompt, name, _ in told
    )
    assert [key for key, count in seasons.items() if count > 1] == []
    keys = [prompt.key for prompt in {id(prompt): prompt for prompt, _, _ in told}.values()]
    assert len(keys) == len(set(keys))


@given(BY_NAME, journals(), DAYS)
@examples(40)
def test_why_tells_on_that_day_what_the_round_tells(place: str, journal: Journal, today: date) -> None:
    collection = PLACES[place]
    season = season_of(collection, journal, today)
    for prompt, name, timeline in each(season):
        tree = next(tree for tree in timeline.trees if tree.name == name)
        work = [w for w in work_of(timeline, tree, prompt.day) if w.time.name == prompt.work]
        assert [(w.told, w.say, w.reasons) for w in work] == [(prompt.day, prompt.say, ())]


@given(BY_NAME, journals(), DAYS)
@examples(40)
def test_with_nothing_new_known_tomorrow_tells_what_today_told(
    place: str, journal: Journal, today: date
) -> None:
    collection = PLACES[place]
    known = Journal(tuple(entry for entry in journal.entries if entry.known <= today))
    now, later = (season_of(collection, known, day) for day in (today, today + timedelta(days=1)))
    shown = later.start, now.end
    told, still = (
        [
            (prompt.day, prompt.say, tuple(tree.name for tree in prompt.trees))
            for prompt in work_prompts(season)
            if shown[0] <= prompt.day <= shown[1]
        ]
        for season in (now, later)
    )
    assert told == still


@given(journals(), DAYS)
@examples(20)
def test_wanting_it_changes_nothing_else(journal: Journal, today: date) -> None:
    wanted, not_wanted = (season_of(collection, journal, today) for collection in (NORTH, OFF))
    assert work_prompts(not_wanted) == ()
    assert [t.feeds for t in wanted.timelines] == [t.feeds for t in not_wanted.timelines]
    assert wanted.checks == not_wanted.checks
