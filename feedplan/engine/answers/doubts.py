"""Doubtful practice: what a plan says that a careful grower would think about twice."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from feedplan.engine.answers.effects import against_feeding
from feedplan.engine.answers.prompts import work_out_of_season
from feedplan.engine.cohorts import is_species
from feedplan.engine.feeding.budget import nitrogen_mg_per_l
from feedplan.engine.feeding.solid_periods import budget_of
from feedplan.engine.growing_year import season_of
from feedplan.engine.season import AlertKind, Season, Timeline
from feedplan.engine.water.waters import water_doubts
from feedplan.model.collection import Collection
from feedplan.model.course import FeedEvent
from feedplan.model.journal import Journal, Planned
from feedplan.model.moment import stages_named
from feedplan.model.reason import LabelMaximum, OutOfSeason
from feedplan.model.schedule import MOST_N_MG_PER_L
from feedplan.model.source import Source
from feedplan.model.statement import Statement

# Pine seedlings did best near 430 mg N per litre of container and worse from about 1070 (Wang and others 2015, Silva
# Fennica 49(3) 1295; Fu and others 2017, Silva Fennica 51(2) 1607; abstracts read, worked out per litre). The two
# limits between those are judgement.
MUCH_N_MG_PER_L = Decimal(600)
TOO_MUCH_N_MG_PER_L = MOST_N_MG_PER_L
# Two or three feeds missed in full growth. Judgement.
LONG_AWAY = timedelta(days=21)


class MuchNitrogen(Statement):
    """More nitrogen in a season than is wise. total, limit: [mg N per L of container].

    is_budget: the limit is the schedule's own. is_refused: it is a problem unless the schedule says it is meant.
    """

    trees: tuple[str, ...]
    season: int
    total: int
    limit: Decimal
    is_budget: bool
    is_refused: bool


class NoProduct(Statement):
    """A group that names no feed."""

    group: str


class NoSolidProduct(Statement):
    """A group that names no solid feed for a period that lays some."""

    group: str
    period: str


class LaidTooOften(Statement):
    """Coated feed laid again while the last still gives. lasts: [days]."""

    period: str
    feed: str
    every: timedelta
    lasts: int


class StageNotTheirs(Statement):
    """A period that starts from a stage which a species' calendar does not have.

    fallback: the calendar whose date stands in, None where none does and the period opens only once it is seen.
    """

    period: str
    group: str
    stage: str
    species: str
    calendar: str
    fallback: str | None


class UnknownSpecies(Statement):
    """A species that no calendar knows."""

    species: str
    tree: str
    calendar: str


class FedWhenHeld(Statement):
    """A feed recorded inside a hold. entry: its id."""

    trees: tuple[str, ...]
    day: date
    held: Statement
    entry: str


class AboveLabel(Statement):
    """A period that asks more of a product than its label allows."""

    period: str
    group: str
    maximum: LabelMaximum


class LongAway(Statement):
    """A long absence in growth."""

    time: timedelta


class WorkOutOfSeason(Statement):
    """Root work done or planned outside its season, while what it holds is open."""

    trees: tuple[str, ...]
    told: OutOfSeason


class NotYet(Statement):
    """An entry dated after today. count: how many more there are."""

    known: date
    count: int


@dataclass(frozen=True, slots=True)
class Doubt:
    """One doubtful thing, and where it is written. is_serious: it counts as a problem, not as a warning."""

    fact: Statement
    source: Source
    is_serious: bool = False


def doubts_of(season: Season, collection: Collection, journal: Journal) -> tuple[Doubt, ...]:
    """Everything doubtful in a planned season, each once, in order of file and line."""
    found = {
        *_much_nitrogen(season, collection),
        *_groups_without_product(season, collection),
        *_groups_without_solid_feed(season, collection),
        *_coated_too_often(season, collection),
        *_stages_of_another_kind(season, collection),
        *_unknown_species(season, collection),
        *_fed_inside_hold(season, collection),
        *_above_the_label(season, collection),
        *_long_away(season, collection),
        *_worked_out_of_season(season, collection),
        *_not_yet(season, journal),
        *(Doubt(a.fact, a.source) for a in season.alerts if a.kind is AlertKind.SIGHTING),
        *(_at(source, collection, doubt) for source, doubt in water_doubts(collection)),
    }
    return tuple(sorted(found, key=lambda doubt: doubt.source))


def _at(source: Source, collection: Collection, fact: Statement, is_serious: bool = False) -> Doubt:
    """A doubt at a line of the grower's files; what is built in is put down to the collection as a whole."""
    return Doubt(fact, source if source.line else collection.source, is_serious)


def _here(season: Season) -> Iterator[Timeline]:
    """The timelines whose trees are, or are still to be, in the collection."""
    return (t for t in season.timelines if t.leaves is None or t.leaves > season.today)


def _much_nitrogen(season: Season, collection: Collection) -> Iterator[Doubt]:
    year = season_of(season.today, collection.place.hemisphere)
    for timeline in _here(season):
        sums = {y: round(_nitrogen(timeline, y, collection.habits.feed_share)) for y in (year, year + 1)}
        worst = max(sums, key=lambda y: (sums[y], -y))
        schedule = timeline.care.schedule_on(season.today)
        budget = budget_of(schedule)
        limit = max(
            (m for m in (TOO_MUCH_N_MG_PER_L, MUCH_N_MG_PER_L, budget) if sums[worst] > m), default=None
        )
        if limit is None:
            continue
        solids = [solid for solid in timeline.solids if solid.season == worst]
        heaviest = max(solids, key=lambda solid: solid.mg_n_per_l, default=None)
        place = schedule.source if heaviest is None else heaviest.source
        refused = sums[worst] > TOO_MUCH_N_MG_PER_L and not schedule.allow_over
        much = MuchNitrogen(timeline.names, worst, sums[worst], limit, limit == budget, refused)
        yield _at(place, collection, much, is_serious=refused)


def _nitrogen(timeline: Timeline, season: int, feed_share: Decimal) -> Decimal:
    """Nitrogen of one season from solids and feeds [mg per L of container]."""
    solids = (solid.mg_n_per_l for solid in timeline.solids if solid.season == season)
    feeds = (nitrogen_mg_per_l(feed, feed_share) for feed in timeline.feeds if feed.season == season)
    return sum([*solids, *feeds], Decimal(0))


def _groups_without_product(season: Season, collection: Collection) -> Iterator[Doubt]:
    for group in {f.group for _, f in _coming(season) if f.feed is None and f.ratio is None}:
        yield _at(collection.groups[group].source, collection, NoProduct(group))


def _groups_without_solid_feed(season: Season, collection: Collection) -> Iterator[Doubt]:
    for timeline in _here(season):
        group = timeline.group_on(season.today)
        periods = timeline.care.schedule_on(season.today).solid_periods
        if periods and timeline.care.solid_feed_on(season.end) is None:
            doubt = NoSolidProduct(group, periods[0].name)
            yield _at(collection.groups[group].source, collection, doubt)


def _coated_too_often(season: Season, collection: Collection) -> Iterator[Doubt]:
    """Coated feed laid again while the last still gives: its label's time is meant to pass between two layings."""
    for timeline in _here(season):
        schedule = timeline.care.schedule_on(season.today)
        found = (timeline.care.solid_feed_on(day) for day in (season.today, season.end))
        for feed in dict.fromkeys(feed for feed in found if feed is not None):
            for period in schedule.solid_periods:
                lasts = feed.longevity_days
                if feed.form.once_spent and lasts is not None and period.every_days < lasts:
                    doubt = LaidTooOften(period.name, feed.name, timedelta(days=period.every_days), lasts)
                    yield _at(period.source, collection, doubt)


def _coming(season: Season) -> Iterator[tuple[Timeline, FeedEvent]]:
    """The feeds from today on, each with its timeline."""
    return ((t, feed) for t in _here(season) for feed in t.feeds if feed.day >= season.today)


def _stages_of_another_kind(season: Season, collection: Collection) -> Iterator[Doubt]:
    """Feeding periods that start from a stage which the species' own calendar does not have."""
    for timeline in _here(season):
        group = timeline.group_on(season.today)
        schedule = timeline.care.schedule_on(season.today)
        species = timeline.trees[0].species
        own = {stage for word, stage in collection.own_dates if is_species(word, species)}
        known = own | {stage for stage, _ in collection.vocabulary.calendars[timeline.calendar].dates}
        for period in schedule.periods:
            for stage in stages_named(period.start):
                if stage not in known:
                    fallback = collection.vocabulary.calendars[schedule.calendar]
                    has_date = stage in dict(fallback.dates)
                    doubt = StageNotTheirs(
                        period.name,
                        group,
                        stage,
                        species,
                        timeline.calendar,
                        fallback.name if has_date else None,
                    )
                    yield _at(collection.groups[group].source, collection, doubt)


def _unknown_species(season: Season, collection: Collection) -> Iterator[Doubt]:
    words = [word for calendar in collection.vocabulary.calendars.values() for word in calendar.species]
    words += [word for word, _ in collection.own_dates]
    said: set[str] = set()
    for timeline in _here(season):
        for tree in timeline.trees:
            if tree.species not in said and not any(is_species(word, tree.species) for word in words):
                said.add(tree.species)
                doubt = UnknownSpecies(tree.species, tree.name, timeline.calendar)
                yield _at(tree.source, collection, doubt)


def _fed_inside_hold(season: Season, collection: Collection) -> Iterator[Doubt]:
    hemisphere = collection.place.hemisphere
    year = season_of(season.today, hemisphere)
    for timeline in _here(season):
        for entry in (feed.entry for feed in timeline.feeds if feed.entry is not None):
            if season_of(entry.day, hemisphere) >= year:
                for reason in against_feeding(timeline, collection, entry.day)[:1]:
                    doubt = FedWhenHeld(timeline.names, entry.day, reason.fact, entry.id)
                    yield _at(entry.source, collection, doubt)


def _above_the_label(season: Season, collection: Collection) -> Iterator[Doubt]:
    for timeline, feed in _coming(season):
        for reason in feed.reasons:
            if isinstance(reason.fact, LabelMaximum):
                doubt = AboveLabel(feed.period, feed.group, reason.fact)
                yield _at(_period_source(timeline, feed), collection, doubt)


def _period_source(timeline: Timeline, feed: FeedEvent) -> Source:
    return next(
        (w.period.source for w in timeline.windows if w.period.name == feed.period), timeline.trees[0].source
    )


def _long_away(season: Season, collection: Collection) -> Iterator[Doubt]:
    for away in collection.away:
        days = away.end - away.start + timedelta(days=1)
        if (
            days > LONG_AWAY
            and away.end >= season.today
            and _is_in_growth(away.start, away.end, _here(season))
        ):
            yield _at(away.source, collection, LongAway(days))


def _is_in_growth(start: date, end: date, timelines: Iterable[Timeline]) -> bool:
    """Whether any trees have a feeding period open between two days."""
    return any(w.first <= end and w.last >= start for timeline in timelines for w in timeline.windows)


def _worked_out_of_season(season: Season, collection: Collection) -> Iterator[Doubt]:
    for timeline in _here(season):
        over = {h.entry.id for h in timeline.holds if h.end is not None and h.end <= season.today}
        for entry, told in work_out_of_season(timeline):
            is_past = isinstance(entry.fact, Planned) and told.on < season.today
            if entry.id not in over and not is_past:
                names = tuple(name for name in timeline.names if entry.is_about(name))
                yield _at(entry.source, collection, WorkOutOfSeason(names, told))


def _not_yet(season: Season, journal: Journal) -> Iterator[Doubt]:
    """Entries dated after today, in one line: a slip of the year makes one, a plan seen from the past many."""
    ahead = sorted((e for e in journal.entries if e.known > season.today), key=lambda entry: entry.source)
    if ahead:
        yield Doubt(NotYet(ahead[0].known, len(ahead) - 1), ahead[0].source)
