"""Doubtful practice: what a plan says that a careful grower would think about twice."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from feedplan.engine.answers.effects import against_feeding
from feedplan.engine.cohorts import is_species
from feedplan.engine.feeding.budget import nitrogen_mg_per_l
from feedplan.engine.feeding.solids import budget_of
from feedplan.engine.growing_year import season_of
from feedplan.engine.season import Season, Timeline
from feedplan.engine.water.waters import water_doubts
from feedplan.engine.words import day_month
from feedplan.errors import Problem
from feedplan.model.collection import Collection
from feedplan.model.course import FeedEvent
from feedplan.model.journal import Journal
from feedplan.model.moment import stages_named
from feedplan.model.reason import Rule
from feedplan.model.schedule import MOST_N_MG_PER_L
from feedplan.model.source import Source

# Pine seedlings did best near 430 mg N per litre of container and worse from about 1070 (Wang and others 2015, Silva
# Fennica 49(3) 1295; Fu and others 2017, Silva Fennica 51(2) 1607; abstracts read, worked out per litre). The two
# limits between those are judgement.
MUCH_N_MG_PER_L = Decimal(600)
TOO_MUCH_N_MG_PER_L = MOST_N_MG_PER_L
# Two or three feeds missed in full growth. Judgement.
LONG_AWAY = timedelta(days=21)


@dataclass(frozen=True, slots=True)
class Doubt:
    """One doubtful thing, and where it is written. is_serious: it counts as a problem, not as a warning."""

    problem: Problem
    is_serious: bool = False


def doubts_of(season: Season, collection: Collection, journal: Journal) -> tuple[Doubt, ...]:
    """Everything doubtful in a planned season, each said once, in order of file and line."""
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
        *_not_yet(season, journal),
        *(_at(source, collection, text) for source, text in water_doubts(collection)),
    }
    return tuple(sorted(found, key=lambda doubt: doubt.problem))


def _at(source: Source, collection: Collection, message: str, is_serious: bool = False) -> Doubt:
    """A doubt at a line of the grower's files; what is built in is put down to the collection as a whole."""
    place = source if source.line else collection.source
    return Doubt(Problem(place.file, place.line, min(place.line, 1), message), is_serious)


def _names(timeline: Timeline) -> str:
    names = timeline.names
    return ", ".join(names) if len(names) <= 3 else f"{', '.join(names[:2])} and {len(names) - 2} more"


def _here(season: Season) -> Iterator[Timeline]:
    """The timelines whose trees are, or are still to be, in the collection."""
    return (t for t in season.timelines if t.leaves is None or t.leaves > season.today)


def _much_nitrogen(season: Season, collection: Collection) -> Iterator[Doubt]:
    year = season_of(season.today, collection.place.hemisphere)
    for timeline in _here(season):
        sums = {y: _nitrogen(timeline, y, collection.habits.feed_share) for y in (year, year + 1)}
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
        what = f"above {'the budget of ' if limit == budget else ''}{limit.normalize():f}"
        text = f"{_names(timeline)}: {sums[worst]:.0f} mg N per litre of pot in {worst}, {what}; lay less, feed weaker"
        refused = sums[worst] > TOO_MUCH_N_MG_PER_L and not schedule.allow_over
        if refused:
            text += "; if it is meant, write allow_over: true in the schedule or its changes"
        yield _at(place, collection, text, is_serious=refused)


def _nitrogen(timeline: Timeline, season: int, feed_share: Decimal) -> Decimal:
    """Nitrogen of one season from solids and feeds [mg per L of container]."""
    solids = (solid.mg_n_per_l for solid in timeline.solids if solid.season == season)
    feeds = (nitrogen_mg_per_l(feed, feed_share) for feed in timeline.feeds if feed.season == season)
    return sum([*solids, *feeds], Decimal(0))


def _groups_without_product(season: Season, collection: Collection) -> Iterator[Doubt]:
    for group in {f.group for _, f in _coming(season) if f.feed is None and f.ratio is None}:
        text = f"the group '{group}' names no feed, so the plan gives ppm N and no grams; add feed: and a product"
        yield _at(collection.groups[group].source, collection, text)


def _groups_without_solid_feed(season: Season, collection: Collection) -> Iterator[Doubt]:
    for timeline in _here(season):
        group = timeline.group_on(season.today)
        periods = timeline.care.schedule_on(season.today).solid_periods
        if periods and timeline.care.solid_feed_on(season.end) is None:
            text = (
                f"the group '{group}' names no solid feed, so nothing is laid in '{periods[0].name}'; "
                "add solid_feed: and a coated or organic feed"
            )
            yield _at(collection.groups[group].source, collection, text)


def _coated_too_often(season: Season, collection: Collection) -> Iterator[Doubt]:
    """Coated feed laid again while the last still gives: its label's time is meant to pass between two layings."""
    for timeline in _here(season):
        schedule = timeline.care.schedule_on(season.today)
        found = (timeline.care.solid_feed_on(day) for day in (season.today, season.end))
        for feed in dict.fromkeys(feed for feed in found if feed is not None):
            for period in schedule.solid_periods:
                lasts = feed.longevity_days
                if feed.form.once_spent and lasts is not None and period.every_days < lasts:
                    text = (
                        f"'{period.name}' lays '{feed.name}' every {period.every_days} days, and it lasts {lasts} by "
                        f"its label; write every: {lasts} days, or lay less"
                    )
                    yield _at(period.source, collection, text)


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
                    text = (
                        f"'{period.name}' of the group '{group}' starts from '{stage}', which {species} "
                        f"('{timeline.calendar}') does not have; {_instead(stage, schedule.calendar, collection)}"
                    )
                    yield _at(collection.groups[group].source, collection, text)


def _instead(stage: str, fallback: str, collection: Collection) -> str:
    if any(stage == known for known, _ in collection.vocabulary.calendars[fallback].dates):
        return f"its date is that of '{fallback}' until you record it as seen"
    return "it opens only when you record it as seen; choose another schedule or stage"


def _unknown_species(season: Season, collection: Collection) -> Iterator[Doubt]:
    words = [word for calendar in collection.vocabulary.calendars.values() for word in calendar.species]
    words += [word for word, _ in collection.own_dates]
    said: set[str] = set()
    for timeline in _here(season):
        for tree in timeline.trees:
            if tree.species not in said and not any(is_species(word, tree.species) for word in words):
                said.add(tree.species)
                text = (
                    f"no calendar knows the species '{tree.species}' ({tree.name}); its dates are those of "
                    f"'{timeline.calendar}'. Record the stages you see, or write your own dates under stages:"
                )
                yield _at(tree.source, collection, text)


def _fed_inside_hold(season: Season, collection: Collection) -> Iterator[Doubt]:
    hemisphere = collection.place.hemisphere
    year = season_of(season.today, hemisphere)
    for timeline in _here(season):
        for entry in (feed.entry for feed in timeline.feeds if feed.entry is not None):
            if season_of(entry.day, hemisphere) >= year:
                for reason in against_feeding(timeline, collection, entry.day)[:1]:
                    text = (
                        f"{_names(timeline)}: fed {day_month(entry.day)} although held: {reason.text}; if it was "
                        f"not fed, take it back: feedplan record --undo {entry.id}, or write but_not:"
                    )
                    yield _at(entry.source, collection, text)


def _above_the_label(season: Season, collection: Collection) -> Iterator[Doubt]:
    for timeline, feed in _coming(season):
        for reason in feed.reasons:
            if reason.rule is Rule.LABEL:
                text = (
                    f"'{feed.period}' of the group '{feed.group}' asks more than the label allows: {reason.text}; "
                    f"the plan stays at {reason.value}"
                )
                yield _at(_period_source(timeline, feed), collection, text)


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
            text = (
                f"away for {days.days} days in the growing season: no feeds, but every water check stays; "
                "ask somebody to do them"
            )
            yield _at(away.source, collection, text)


def _is_in_growth(start: date, end: date, timelines: Iterable[Timeline]) -> bool:
    """Whether any trees have a feeding period open between two days."""
    return any(w.first <= end and w.last >= start for timeline in timelines for w in timeline.windows)


def _not_yet(season: Season, journal: Journal) -> Iterator[Doubt]:
    """Entries dated after today, in one line: a slip of the year makes one, a plan seen from the past many."""
    ahead = sorted((e for e in journal.entries if e.known > season.today), key=lambda entry: entry.source)
    if ahead:
        source = ahead[0].source
        others = f" ({len(ahead) - 1} more are too)" if len(ahead) > 1 else ""
        text = f"this entry is dated {ahead[0].known}, after today{others}; it counts from that day on"
        yield Doubt(Problem(source.file, source.line, min(source.line, 1), text))
