"""Doubtful practice: what a plan says that a careful grower would think about twice."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from decimal import Decimal
from itertools import pairwise

from feedplan.engine.answers.cautions import against_feeding, against_laying
from feedplan.engine.answers.much_nitrogen import in_own_files, large_budgets, much_nitrogen
from feedplan.engine.answers.plausibility import implausible, meant_by_year
from feedplan.engine.answers.prompts import work_out_of_season
from feedplan.engine.feeding.gates import is_root_zone_cold
from feedplan.engine.feeding.restrictions import hold_reason
from feedplan.engine.feeding.solid_counts import is_lifted_by
from feedplan.engine.growing_year import DAY, season_of
from feedplan.engine.season import AlertKind, RoundItem, Season, Timeline
from feedplan.engine.sink.shelf import coarse_scale
from feedplan.engine.water.waters import water_warnings
from feedplan.model.alert import SeenTooEarly
from feedplan.model.climate import LONGEST_FORECAST
from feedplan.model.collection import Collection
from feedplan.model.course import Act, FeedEvent
from feedplan.model.genus import GenusFlag, Harm, flags_of
from feedplan.model.journal import Journal, Moved, Planned, SolidLaid
from feedplan.model.moment import stages_named
from feedplan.model.reason import (
    CutToFit,
    LabelMaximum,
    LittleNitrogen,
    NoRoomForSolid,
    OffTooSoon,
    OverCeiling,
)
from feedplan.model.source import Source
from feedplan.model.stage import StageCalendar, Vocabulary
from feedplan.model.statement import Statement
from feedplan.model.warning import (
    AboveLabel,
    FallsShort,
    FedWhenHeld,
    ForecastTooLong,
    LaidTooOften,
    LaidWhenHeld,
    LongAway,
    MovedNowhere,
    NeverFeed,
    NeverLaid,
    NoProduct,
    NoSolidProduct,
    NotYet,
    PlanWarning,
    RecordStopped,
    RichInPhosphorus,
    RootZoneNeverWarm,
    SeenFarOff,
    SolidCut,
    SolidLeftOut,
    StageNotTheirs,
    WorkOutOfSeason,
)

# A can that misses its nitrogen by more than this is no longer the feed asked for [share] (judgement).
FAR_SHORT = Decimal("0.1")
# Two or three feeds missed in full growth. Judgement.
LONG_AWAY = timedelta(days=21)


FED_WHEN_HELD_FOR = timedelta(days=28)
"""So long a feed inside a hold that is over is told of; later nothing can be done about it (judgement)."""


def warnings_of(season: Season, collection: Collection, journal: Journal) -> tuple[PlanWarning, ...]:
    """Everything doubtful in a planned season, each once, in order of file and line."""
    asked = tuple(implausible(season, collection, journal))
    found = {
        *much_nitrogen(season, tuple(_here(season)), collection),
        *large_budgets(season, tuple(_here(season)), collection),
        *_groups_without_product(season, collection),
        *_groups_without_solid_feed(season, collection),
        *_solid_feed_never_laid(season, collection),
        *_solid_feed_that_does_not_fit(season, collection),
        *_coated_too_often(season, collection),
        *_stages_of_another_kind(season, collection),
        *_fed_inside_hold(season, collection),
        *_laid_inside_hold(season, collection),
        *_above_the_label(season, collection),
        *_short_of_nitrogen(season, collection),
        *_harmed_by_feed(season, collection),
        *_long_away(season, collection),
        *coarse_scale(season, collection),
        *_worked_out_of_season(season, collection),
        *_moved_nowhere(season),
        *_not_yet(season, journal),
        *_record_stopped(season),
        *_root_zone_never_warm(season, collection),
        *_sightings(season, asked),
        *asked,
        *(_at(source, collection, warning) for source, warning in water_warnings(collection)),
    }
    return tuple(sorted(found, key=lambda warning: warning.source))


def _sightings(season: Season, asked: Iterable[PlanWarning]) -> Iterator[PlanWarning]:
    """Questions about sightings, but for those too early of which the likelier day is asked after already."""
    told = {(w.fact.entry, w.fact.stage) for w in asked if isinstance(w.fact, SeenFarOff)}
    for alert in (a for a in season.alerts if a.kind is AlertKind.SIGHTING):
        fact = alert.fact
        if not isinstance(fact, SeenTooEarly) or (fact.entry, fact.stage) not in told:
            yield PlanWarning(fact, alert.source)


def _at(source: Source, collection: Collection, fact: Statement) -> PlanWarning:
    """A warning at a line of the grower's files; what is built in is put down to the collection as a whole."""
    return PlanWarning(fact, source if source.line else collection.source)


def _here(season: Season) -> Iterator[Timeline]:
    """The timelines whose trees are, or are still to be, in the collection."""
    return (t for t in season.timelines if t.leaves is None or t.leaves > season.today)


def _groups_without_product(season: Season, collection: Collection) -> Iterator[PlanWarning]:
    periods: dict[str, dict[str, None]] = {}
    for _, feed in _coming(season):
        if feed.feed is None and feed.ratio is None:
            periods.setdefault(feed.group, {})[feed.period] = None
    for group, names in periods.items():
        yield _at(collection.groups[group].source, collection, NoProduct(group, tuple(sorted(names))))


def _groups_without_solid_feed(season: Season, collection: Collection) -> Iterator[PlanWarning]:
    for timeline in _here(season):
        group = timeline.group_on(season.today)
        schedule = timeline.care.schedule_on(season.today)
        # A recipe that comes with a schedule waits for a feed; a period the grower wrote asks for one.
        changed = [layer.changed for layer in schedule.layers]
        own = [
            p
            for p in schedule.solid_periods
            if any(" / ".join(("feeding", p.name)) in each for each in changed)
        ]
        if own and timeline.care.solid_feed_on(season.end) is None:
            warning = NoSolidProduct(group, own[0].name)
            yield _at(collection.groups[group].source, collection, warning)


def _solid_feed_never_laid(season: Season, collection: Collection) -> Iterator[PlanWarning]:
    for timeline in _here(season):
        group, schedule = timeline.group_on(season.today), timeline.care.schedule_on(season.today)
        feed = timeline.care.solid_feed_on(season.today)
        if feed is not None and not any(p.takes(feed.form.name) for p in schedule.solid_periods):
            kinds = dict.fromkeys(kind for period in schedule.solid_periods for kind in period.kinds)
            never = NeverLaid(group, feed.name, feed.form.name, schedule.name, tuple(kinds))
            yield _at(collection.groups[group].source, collection, never)


def _solid_feed_that_does_not_fit(season: Season, collection: Collection) -> Iterator[PlanWarning]:
    """Layings of this season to come that are cut, one of a period, and those left out for want of room or time."""
    year = season_of(season.today, collection.place.hemisphere)
    for timeline in _here(season):
        group, said = timeline.group_on(season.today), set()
        source = collection.groups[group].source
        for event in timeline.solid_events:
            cuts = [r for r in event.reasons if isinstance(r.fact, CutToFit)]
            if event.season == year and event.day >= season.today and cuts and event.period not in said:
                said.add(event.period)
                yield _at(source, collection, SolidCut(group, event.period, cuts[0].fact))
        for dropped in timeline.solid_dropped:
            if season_of(dropped.due, collection.place.hemisphere) == year:
                for reason in dropped.reasons:
                    if isinstance(reason.fact, NoRoomForSolid | OffTooSoon):
                        left_out = SolidLeftOut(timeline.names, dropped.due, reason.fact)
                        yield _at(source, collection, left_out)


def _coated_too_often(season: Season, collection: Collection) -> Iterator[PlanWarning]:
    """Coated feed laid again while the last still gives: its label's time is meant to pass between two layings."""
    for timeline in _here(season):
        periods = timeline.care.schedule_on(season.today).solid_periods
        for before, after in pairwise(e for e in timeline.solid_events if e.act is Act.LAY):
            feed = collection.feeds.get(after.feed)
            lasts = feed.longevity_days if feed is not None and feed.form.once_spent else None
            period = next((p for p in periods if p.name == after.period), None)
            if period is None or lasts is None or before.feed != after.feed:
                continue
            if after.day >= season.today and (after.day - before.day).days < lasts:
                warning = LaidTooOften(period.name, after.feed, timedelta(days=period.every_days), lasts)
                yield PlanWarning(warning, in_own_files(period.source, collection, after.group))


def _coming(season: Season) -> Iterator[tuple[Timeline, FeedEvent]]:
    """The feeds from today on, each with its timeline."""
    return ((t, feed) for t in _here(season) for feed in t.feeds if feed.day >= season.today)


def _stages_of_another_kind(season: Season, collection: Collection) -> Iterator[PlanWarning]:
    """Feeding periods that start from a stage which the species' own calendars do not have, alike ones together."""
    found: dict[tuple[str, str, str | None], list[tuple[str, str, str]]] = {}
    for timeline in _here(season):
        group = timeline.group_on(season.today)
        schedule = timeline.care.schedule_on(season.today)
        species = timeline.trees[0].species
        own = {stage for word, stage in collection.own_dates if species in collection.species_called(word)}
        known = own | {stage for stage, _ in collection.vocabulary.calendars[timeline.calendar].dates}
        for period in schedule.periods:
            for stage in stages_named(period.start):
                fallback = collection.vocabulary.calendars[schedule.calendar]
                has_date = stage in dict(fallback.dates)
                if stage not in known and not (has_date and _is_of_age(fallback, collection.vocabulary)):
                    key = (group, stage, fallback.name if has_date else None)
                    found.setdefault(key, []).append((period.name, species, timeline.calendar))
    for (group, stage, dated), members in found.items():
        periods = tuple(dict.fromkeys(period for period, _, _ in members))
        kinds = dict(sorted((species, calendar) for _, species, calendar in members))
        warning = StageNotTheirs(periods, group, stage, tuple(kinds), tuple(kinds.values()), dated)
        yield _at(collection.groups[group].source, collection, warning)


def _is_of_age(calendar: StageCalendar, vocabulary: Vocabulary) -> bool:
    """Whether a calendar is for an age of any kind, as those of seedlings and cuttings are, and not for kinds."""
    words = calendar.species
    return bool(words) and all(vocabulary.kinds.kind_of(word) is None for word in words)


def _fed_inside_hold(season: Season, collection: Collection) -> Iterator[PlanWarning]:
    hemisphere = collection.place.hemisphere
    year = season_of(season.today, hemisphere)
    for timeline in _here(season):
        for entry in (feed.entry for feed in timeline.feeds if feed.entry is not None):
            is_over = all(
                h.until is not None and h.until <= season.today for h in timeline.holds if h.covers(entry.day)
            )
            is_old = is_over and season.today - entry.day > FED_WHEN_HELD_FOR
            if season_of(entry.day, hemisphere) >= year and not is_old:
                for reason in against_feeding(timeline, collection, entry.day)[:1]:
                    of_many = not entry.subject.trees
                    warning = FedWhenHeld(timeline.names, entry.day, reason.fact, entry.id, of_many)
                    yield _at(entry.source, collection, warning)


def _laid_inside_hold(season: Season, collection: Collection) -> Iterator[PlanWarning]:
    """Solid feed laid although held that lies there still, while the hold goes on."""
    for timeline in _here(season):
        for entry in {s.entry for s in timeline.solids if s.entry is not None and not s.mixed_in}:
            if not isinstance(entry.fact, SolidLaid) or is_lifted_by(entry, timeline.entries, season.today):
                continue
            against = against_laying(timeline, entry.day)
            still = (hold for hold in against if hold.covers(season.today) and not hold.by_weather)
            if (hold := next(still, None)) is not None:
                warning = LaidWhenHeld(timeline.names, entry.fact.feed, entry.day, hold_reason(hold).fact)
                yield _at(entry.source, collection, warning)


def _above_the_label(season: Season, collection: Collection) -> Iterator[PlanWarning]:
    for timeline, feed in _coming(season):
        for reason in feed.reasons:
            if isinstance(reason.fact, LabelMaximum):
                warning = AboveLabel(feed.period, feed.group, reason.fact)
                source = _period_source(timeline, feed)
                yield PlanWarning(warning, in_own_files(source, collection, feed.group))


def _short_of_nitrogen(season: Season, collection: Collection) -> Iterator[PlanWarning]:
    """Feeds whose can holds far less nitrogen than asked: once for a period, at the most that is asked in it."""
    worst: dict[tuple[str, str], OverCeiling | LittleNitrogen] = {}
    for timeline in _here(season):
        coming = [(f.day, f.group, f.reasons) for f in timeline.feeds]
        coming += [(d.due, d.group, d.reasons) for d in timeline.dropped]
        for day, group, reasons in coming:
            window = next((w for w in timeline.windows if w.first <= day <= w.last), None)
            if day < season.today or window is None:
                continue
            place = (window.period.name, group)
            for fact in (reason.fact for reason in reasons):
                if isinstance(fact, OverCeiling | LittleNitrogen) and fact.ppm < fact.asked * (1 - FAR_SHORT):
                    worst[place] = max(worst.get(place, fact), fact, key=lambda fact: fact.asked)
    for (period, group), fact in worst.items():
        yield _at(collection.groups[group].source, collection, FallsShort(period, group, fact))


def _harmed_by_feed(season: Season, collection: Collection) -> Iterator[PlanWarning]:
    """Trees of a genus that feed harms, and are to be fed: all of a word and group together, at the richest feed."""
    richest: dict[tuple[GenusFlag, str], RoundItem] = {}
    fed: dict[tuple[GenusFlag, str], dict[str, Source]] = {}
    for item in (item for item in season.rounds if item.day >= season.today):
        for tree in (tree for timeline in item.timelines for tree in timeline.trees):
            for flag in flags_of(tree.species, collection.vocabulary.flags):
                key = (flag, item.group)
                richest[key] = max(richest.get(key, item), item, key=_phosphorus)
                fed.setdefault(key, {})[tree.name] = tree.source
    for (flag, group), item in richest.items():
        trees, p, most = fed[flag, group], _phosphorus(item), flag.most_p_mg_per_l
        source = min(trees.values())
        if flag.harm is Harm.ANY_FEED:
            yield _at(source, collection, NeverFeed(tuple(trees), flag.word, group, flag.known_from))
        elif most is not None and p > most:
            feed = item.feed or str(item.ratio)
            rich = RichInPhosphorus(tuple(trees), flag.word, feed, round(p), most, flag.known_from)
            yield _at(source, collection, rich)


def _phosphorus(item: RoundItem) -> Decimal:
    """Phosphorus in the can of a mix [mg/L, as element]; none where nothing is weighed out."""
    return Decimal(0) if item.can is None else item.can.contents.get("P", Decimal(0))


def _period_source(timeline: Timeline, feed: FeedEvent) -> Source:
    return next(
        (w.period.source for w in timeline.windows if w.period.name == feed.period), timeline.trees[0].source
    )


def _long_away(season: Season, collection: Collection) -> Iterator[PlanWarning]:
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


def _record_stopped(season: Season) -> Iterator[PlanWarning]:
    climate = season.climate
    last = climate.last_observed if climate is not None else None
    if climate is not None and last is not None and climate.is_stale:
        yield PlanWarning(RecordStopped(last), climate.days[last].source)
    if climate is not None and climate.too_far is not None:
        told = ForecastTooLong(climate.too_far.day, LONGEST_FORECAST.days)
        yield PlanWarning(told, climate.too_far.source)


def _root_zone_never_warm(season: Season, collection: Collection) -> Iterator[PlanWarning]:
    """Periods still to come or open in which the root zone is known or expected to be too cold on every day."""
    year = season_of(season.today, collection.place.hemisphere)
    for timeline in _here(season):
        for window in timeline.windows:
            if window.season != year or window.last < season.today or timeline.restrictions.gates is None:
                continue
            days = (window.first + DAY * i for i in range((window.last - window.first).days + 1))
            if all(is_root_zone_cold(timeline.restrictions.gates, window.period, day) for day in days):
                group = timeline.group_on(max(window.first, season.today))
                least_c = float(window.period.root_zone_min_c or 0)
                warning = RootZoneNeverWarm(window.period.name, group, least_c)
                yield _at(collection.groups[group].source, collection, warning)


def _worked_out_of_season(season: Season, collection: Collection) -> Iterator[PlanWarning]:
    for timeline in _here(season):
        over = {h.entry.id for h in timeline.holds if h.end is not None and h.end <= season.today}
        for entry, told in work_out_of_season(timeline):
            is_past = isinstance(entry.fact, Planned) and told.on < season.today
            if entry.id not in over and not is_past:
                names = tuple(name for name in timeline.names if entry.is_about(name))
                yield _at(entry.source, collection, WorkOutOfSeason(names, told))


def _moved_nowhere(season: Season) -> Iterator[PlanWarning]:
    """Moves that change neither group nor bench: the collection may name the group a tree moved to, not the first."""
    found: dict[tuple[str, date, str, Source], list[str]] = {}
    for timeline in _here(season):
        care = timeline.care
        for entry in care.moves:
            group, eve = care.group_on(entry.day), entry.day - DAY
            is_same = isinstance(entry.fact, Moved) and entry.fact.group == group == care.group_on(eve)
            if is_same and all(care.bench_name(t, eve) == care.bench_name(t, entry.day) for t in care.trees):
                names = found.setdefault((group, entry.day, entry.id, entry.source), [])
                names += [name for name in timeline.names if entry.is_about(name)]
    for (group, day, entry_id, source), names in found.items():
        yield PlanWarning(MovedNowhere(tuple(names), group, day, entry_id), source)


def _not_yet(season: Season, journal: Journal) -> Iterator[PlanWarning]:
    """Entries dated after today, in one line: a slip of the year makes one, a plan seen from the past many."""
    ahead = sorted((e for e in journal.entries if e.known > season.today), key=lambda entry: entry.source)
    if ahead:
        meant = meant_by_year(ahead[0].day, season.today) if len(ahead) == 1 else None
        yield PlanWarning(NotYet(ahead[0].known, len(ahead) - 1, meant), ahead[0].source)
