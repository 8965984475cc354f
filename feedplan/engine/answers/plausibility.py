"""What can hardly be as it is written: days, doses and things that do not go together, to be asked about."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from decimal import Decimal

from feedplan.dose.strength import PpmN
from feedplan.engine.answers.cautions import AboveItsLabel, above_its_label, most_ppm
from feedplan.engine.answers.doubtful_trees import doubtful_trees
from feedplan.engine.growing_year import season_of
from feedplan.engine.season import Season, Timeline
from feedplan.model.collection import Collection
from feedplan.model.hold import SignLeft
from feedplan.model.journal import Checked, Entry, Fed, Journal, Seen, SolidLaid
from feedplan.model.moment import Hemisphere
from feedplan.model.source import Source
from feedplan.model.stage import StageCalendar
from feedplan.model.warning import (
    AwayFromOthers,
    CountedAhead,
    DatesOfElsewhere,
    FedAboveLabel,
    FedTwice,
    LongHeld,
    NeverUsed,
    NormalsOfOtherHalf,
    NotSeenLong,
    PlanWarning,
    SeenFarOff,
    SeenNotTheirs,
    SinceAhead,
    StrongWithoutLabel,
    ToldOfAbsent,
)

FAR_OFF = timedelta(days=75)
"""No year moves a stage so far from its typical day: bud burst wandered over five weeks in 71 years (Cannell and Smith
1984); the rest is room for place and kind (judgement)."""
CLOSE = timedelta(days=35)
"""A day written otherwise is offered when it lies so near the typical one (judgement)."""
LONG_HELD = timedelta(days=365)
NOT_SEEN = timedelta(days=730)
FAR_FROM_OTHERS = timedelta(days=3 * 365)
"""An entry so far from both its neighbours in the file, which are close to each other, has a slip in its year."""
FAR_AHEAD = timedelta(days=366)
STRONG_PPM = Decimal(300)
"""Constant feeds for flower crops go to 250 ppm N (university extension sheets); above this a label must say so."""
LEAST_LATITUDE, LEAST_SWING_C = 25, 4.0
"""From here on, with so much between summer and winter, a year of the other half of the globe shows (judgement)."""


def implausible(season: Season, collection: Collection, journal: Journal) -> Iterator[PlanWarning]:
    """Everything in the files that a careful reader would ask about."""
    here = [t for t in season.timelines if t.leaves is None or t.leaves > season.today]
    yield from _seen_far_off(season, collection)
    yield from _fed_twice(season)
    yield from _told_of_absent(season)
    yield from _fed_above_label(season, collection)
    yield from _strong_without_label(here, season.today, collection)
    yield from _since_ahead(season.today, collection)
    yield from _counted_ahead(max([season.today, *(e.day for e in journal.entries)]), collection)
    yield from doubtful_trees(here, collection)
    yield from _never_used(collection, journal)
    yield from _long_held(here, season.today)
    yield from _not_seen_long(here, season.today, journal)
    yield from _away_from_others(journal)
    yield from _normals_of_other_half(season, collection)
    yield from _dates_of_elsewhere(season, collection)


def _seen_far_off(season: Season, collection: Collection) -> Iterator[PlanWarning]:
    """Stages seen months from their typical day, and those that only other kinds of tree have."""
    said: set[tuple[str, str]] = set()
    for timeline in season.timelines:
        own = dict(collection.vocabulary.calendars[timeline.calendar].dates)
        for entry in (e for e in timeline.entries if isinstance(e.fact, Seen) and e.day <= season.today):
            for stage in entry.fact.words if isinstance(entry.fact, Seen) else ():
                if (entry.id, stage) in said or not _is_dated_stage(stage, collection):
                    continue
                typical = _typical(timeline, stage, entry.day, collection)
                if typical is not None and abs(entry.day - typical) > FAR_OFF:
                    said.add((entry.id, stage))
                    fact = SeenFarOff(stage, entry.day, typical, _day_meant(entry.day, typical), entry.id)
                    yield PlanWarning(fact, entry.source)
                elif (
                    typical is None
                    and stage not in own
                    and not _is_theirs(timeline, stage, collection, entry.day)
                ):
                    said.add((entry.id, stage))
                    names = tuple(name for name in timeline.names if entry.is_about(name))
                    yield PlanWarning(
                        SeenNotTheirs(names, stage, timeline.trees[0].species, entry.id), entry.source
                    )


def _is_dated_stage(stage: str, collection: Collection) -> bool:
    word = collection.vocabulary.words.get(stage)
    return word is not None and word.is_stage


def _typical(timeline: Timeline, stage: str, day: date, collection: Collection) -> date | None:
    """The typical day of a stage nearest to a day; None where the tree's year does not have it or has it twice."""
    calendar = collection.vocabulary.calendars[timeline.calendar]
    year = season_of(day, collection.place.hemisphere)
    dates = [
        at.typical for y in (year - 1, year, year + 1) for at in timeline.stage_dates(y) if at.stage == stage
    ]
    if calendar.repeats or not dates or len({d.year for d in dates}) < len(dates):
        return None
    return min(dates, key=lambda typical: abs(typical - day))


LITTLE_ALIKE = 0.5
"""Years of which no more stages than this are the same are of kinds as unlike as leafy trees and conifers [share]."""


def _is_theirs(timeline: Timeline, stage: str, collection: Collection, day: date) -> bool:
    """Whether a stage without a typical day may be seen on these trees all the same.

    Candles are not for leafy trees, nor open leaves for pines; what trees with a like year have, any of them may show.
    """
    calendars = collection.vocabulary.calendars
    dated = [calendar for calendar in calendars.values() if stage in dict(calendar.dates)]
    alike = [_share_alike(calendars[timeline.calendar], other) for other in dated]
    if timeline.care.schedule_on(day).calendar in {calendar.name for calendar in dated}:
        return True
    is_own = any(at == stage for _, at in collection.own_dates)
    return is_own or not any(alike) or max(alike) > LITTLE_ALIKE


def _share_alike(one: StageCalendar, other: StageCalendar) -> float:
    """How many stages of the shorter of two typical years are in both [share]."""
    stages = [{stage for stage, _ in calendar.dates} for calendar in (one, other)]
    return len(stages[0] & stages[1]) / min(map(len, stages))


def _day_meant(day: date, typical: date) -> date | None:
    """The day with day and month swapped, or with another month, that lies near the typical one; None for none."""
    tries = [(day.day, day.month), *((typical.month + step, day.day) for step in (0, 1, -1))]
    for month, number in tries:
        try:
            meant = date(typical.year, month, number)
        except ValueError:
            continue
        if abs(meant - typical) <= CLOSE:
            return meant
    return None


def _fed_twice(season: Season) -> Iterator[PlanWarning]:
    """Trees fed more than a whole feed on one day."""
    found: dict[tuple[date, str, Source], list[str]] = {}
    for timeline in season.timelines:
        feeds = sorted({e.source: e for e in _fed(timeline)}.values(), key=lambda e: e.source)
        for i, entry in enumerate(feeds):
            before = [e for e in feeds[:i] if e.day == entry.day]
            parts = sum(e.fact.part for e in (*before, entry) if isinstance(e.fact, Fed))
            if before and parts > 1:
                found.setdefault((entry.day, entry.id, entry.source), []).extend(timeline.names)
    for (day, entry_id, source), names in found.items():
        yield PlanWarning(FedTwice(tuple(names), day, entry_id), source)


def _fed(timeline: Timeline) -> Iterator[Entry]:
    """The entries that say these trees were fed, but for those of a group whose round left them out."""
    counted = {feed.entry.id for feed in timeline.feeds if feed.entry is not None}
    for entry in timeline.entries:
        if isinstance(entry.fact, Fed) and (entry.subject.trees or entry.id in counted):
            yield entry


def _told_of_absent(season: Season) -> Iterator[PlanWarning]:
    """Feeds and answers written down for trees on days they were not there."""
    for timeline in season.timelines:
        for entry in timeline.entries:
            is_done = isinstance(entry.fact, Fed | SolidLaid | Checked)
            if not is_done or timeline.here(entry.day) or timeline.leaves == entry.day:
                continue
            names = tuple(name for name in timeline.names if name in entry.subject.trees)
            has_left = timeline.leaves is not None and entry.day > timeline.leaves
            since = timeline.leaves if has_left else timeline.arrives
            if names and since is not None:
                yield PlanWarning(ToldOfAbsent(names, entry.day, since, has_left, entry.id), entry.source)


def _fed_above_label(season: Season, collection: Collection) -> Iterator[PlanWarning]:
    """Feeds recorded at more than the label of what was fed allows, each with all the trees that got it."""
    found: dict[tuple[AboveItsLabel, date, str, Source], list[str]] = {}
    for timeline in season.timelines:
        for entry in (e for e in timeline.entries if timeline.here(e.day)):
            above = above_its_label(timeline, entry, collection)
            names = [name for name in timeline.names if entry.is_about(name)]
            if above is not None and names:
                found.setdefault((above, entry.day, entry.id, entry.source), []).extend(names)
    for (above, day, entry_id, source), names in found.items():
        fact = FedAboveLabel(tuple(names), day, above.ppm, above.feed, above.most, entry_id)
        yield PlanWarning(fact, source)


def _strong_without_label(
    here: Iterable[Timeline], today: date, collection: Collection
) -> Iterator[PlanWarning]:
    """Periods stronger than any usual feed, of a product whose label is not told."""
    said = set()
    for timeline in here:
        group = timeline.group_on(today)
        uses = collection.groups[group].feeds
        feeds = [collection.feeds[use.feed] for use in uses if use.feed in collection.feeds]
        if feeds and all(most_ppm(feed) is not None for feed in feeds):
            continue
        for period in timeline.care.schedule_on(today).periods:
            strength = period.strength
            if (
                isinstance(strength, PpmN)
                and strength.n_mg_per_l > STRONG_PPM
                and (group, period.name) not in said
            ):
                said.add((group, period.name))
                fact = StrongWithoutLabel(period.name, group, round(strength.n_mg_per_l))
                yield PlanWarning(fact, collection.groups[group].source)


def _since_ahead(today: date, collection: Collection) -> Iterator[PlanWarning]:
    """First days that lie more than a year ahead."""
    starts: list[tuple[str | None, date | None, Source]] = [(None, collection.since, collection.source)]
    starts += [(tree.name, tree.since, tree.source) for tree in collection.trees]
    for name, since, source in starts:
        if since is not None and since - today > FAR_AHEAD:
            yield PlanWarning(SinceAhead(name, since, meant_by_year(since, today)), source)


def meant_by_year(day: date, today: date) -> date | None:
    """The day in this century or this year, where that is no later than today."""
    for year in (day.year - 100, today.year, today.year - 1):
        try:
            meant = day.replace(year=year)
        except ValueError:
            continue
        if abs(meant - today) <= timedelta(days=5 * 365) and meant <= today:
            return meant
    return None


def _counted_ahead(today: date, collection: Collection) -> Iterator[PlanWarning]:
    """Stock counted, or tubs opened, on days still to come. today: or the last day of the journal."""
    for feed in collection.feeds.values():
        on_hand = feed.on_hand
        for key, day in (("opened", on_hand.opened), ("counted", on_hand.counted)):
            if day is not None and day > today:
                yield PlanWarning(CountedAhead(feed.name, key, day, meant_by_year(day, today)), feed.source)
                break


def _never_used(collection: Collection, journal: Journal) -> Iterator[PlanWarning]:
    """Feeds on the shelf that no group, tree or entry names, but those of which ratios are mixed.

    Solid ones are laid by hand and then written down, so they are asked about only once a year of that is there.
    """
    groups, trees = collection.groups.values(), collection.trees
    used = {use.feed for group in groups for use in (*group.feeds, *group.solid_feeds)}
    used |= {use.feed for tree in trees for use in (*tree.feeds, *tree.solid_feeds)}
    days = [entry.day for entry in journal.entries]
    has_lived = bool(days) and max(days) - min(days) > LONG_HELD
    used |= {name for group in groups for name in group.mix_of}
    facts = [entry.fact for entry in journal.entries]
    used |= {fact.feed for fact in facts if isinstance(fact, Fed | SolidLaid) and fact.feed is not None}
    mixes_all = any(not group.feeds and not group.mix_of for group in groups)
    idle = [
        f
        for name, f in collection.feeds.items()
        if name not in used and (has_lived if f.is_solid else not mixes_all)
    ]
    if idle:
        yield PlanWarning(NeverUsed(tuple(feed.name for feed in idle)), idle[0].source)


def _long_held(here: Iterable[Timeline], today: date) -> Iterator[PlanWarning]:
    """Holds open for more than a year, those of one rule and year together."""
    found: dict[tuple[str, int, int, tuple[SignLeft, ...]], list[tuple[Source, str]]] = {}
    for timeline in here:
        for hold in timeline.holds:
            if not hold.covers(today) or today - hold.start < LONG_HELD or not hold.missing:
                continue
            signs = tuple(met.left for met in hold.missing)
            held = [name for name in timeline.names if hold.entry.is_about(name)]
            key = (hold.rule.name, hold.start.year, hold.minimum.year, signs)
            found.setdefault(key, []).extend((hold.entry.source, name) for name in held)
    for (rule, year, likely, signs), members in found.items():
        names = tuple(dict.fromkeys(name for _, name in sorted(members)))
        yield PlanWarning(LongHeld(names, rule, year, likely, signs), min(source for source, _ in members))


def _not_seen_long(here: Iterable[Timeline], today: date, journal: Journal) -> Iterator[PlanWarning]:
    """Trees of which nothing was written for two years, though of others it was."""
    astray = {warning.source for warning in _away_from_others(journal)}
    days = [entry.day for entry in journal.entries if entry.day <= today and entry.source not in astray]
    if not days or today - max(days) > NOT_SEEN / 2 or today - min(days) <= NOT_SEEN:
        return
    found: dict[int, list[tuple[Source, str]]] = {}
    for timeline in here:
        for tree in timeline.trees:
            told = [e.day for e in timeline.entries if e.is_about(tree.name) and e.day <= today]
            last = max([*told, *filter(None, [tree.since])], default=min(days))
            if today - last > NOT_SEEN:
                found.setdefault(last.year, []).append((tree.source, tree.name))
    for year, members in sorted(found.items()):
        names = tuple(name for _, name in sorted(members))
        yield PlanWarning(NotSeenLong(names, year), min(source for source, _ in members))


def _away_from_others(journal: Journal) -> Iterator[PlanWarning]:
    """Entries years from the ones before and after them in the file, which are near each other."""
    entries = sorted(journal.entries, key=lambda entry: entry.source)
    for before, entry, after in zip(entries, entries[1:], entries[2:], strict=False):
        if _is_alone(before, entry, after):
            try:
                meant = entry.day.replace(year=before.day.year)
            except ValueError:
                continue
            yield PlanWarning(AwayFromOthers(entry.day, meant), entry.source)


def _is_alone(before: Entry, entry: Entry, after: Entry) -> bool:
    near = abs(after.day - before.day) < timedelta(days=366)
    return near and all(abs(entry.day - other.day) > FAR_FROM_OTHERS for other in (before, after))


USUAL_LATITUDE = 52
"""The typical dates are those of lowland gardens at 50 to 55 degrees (schedules/stages.yaml); about the middle."""
FAR_LATITUDE = 6
"""So many degrees away, spring is some weeks off those dates (judgement)."""


def _dates_of_elsewhere(season: Season, collection: Collection) -> Iterator[PlanWarning]:
    """A place far from where the typical dates are of, without normals that would move them."""
    latitude = abs(collection.place.latitude)
    has_normals = season.climate is not None and season.climate.normals is not None
    goes_by_stages = any(window.opened_by for each in season.timelines for window in each.windows)
    if goes_by_stages and not has_normals and abs(latitude - USUAL_LATITUDE) > FAR_LATITUDE:
        source = min(tree.source for tree in collection.trees)
        yield PlanWarning(DatesOfElsewhere(round(latitude), USUAL_LATITUDE), source)


def _normals_of_other_half(season: Season, collection: Collection) -> Iterator[PlanWarning]:
    """Normals whose warm months are the cold ones here."""
    normals = season.climate.normals if season.climate is not None else None
    if normals is None or abs(collection.place.latitude) < LEAST_LATITUDE:
        return
    highs = [month.weather.tmax_c for month in normals.months]
    swing = (sum(highs[5:8]) - highs[0] - highs[1] - highs[11]) / 3
    if collection.place.hemisphere is Hemisphere.SOUTH:
        swing = -swing
    if swing < -LEAST_SWING_C:
        yield PlanWarning(NormalsOfOtherHalf(collection.place.name), normals.months[0].source)
