"""Work whose time has come: when to prune, wire and repot, told once in its season and never while a hold stops it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from feedplan.engine.feeding.restrictions import hold_reason
from feedplan.engine.growing_year import DAY, season_end, season_of
from feedplan.engine.season import Season, Timeline
from feedplan.engine.stages.moments import moment_day
from feedplan.model.collection import Tree
from feedplan.model.course import StageDate
from feedplan.model.hold import Action
from feedplan.model.journal import Caused
from feedplan.model.reason import Absence, Reason, Rule
from feedplan.model.schedule import WorkTime
from feedplan.model.stage import Origin


@dataclass(frozen=True, slots=True)
class WorkPrompt:
    """Work told on one day for the trees of a group. work: its name in the schedule; done: how the journal calls it."""

    key: str
    day: date
    group: str
    work: str
    say: str
    trees: tuple[Tree, ...]
    done: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WorkOfTree:
    """Work of a tree whose time a day lies in. told: the day it is told, None where no day of its time is free.

    reasons: what stops it on that day, none where nothing does.
    """

    time: WorkTime
    say: str
    told: date | None
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class _Opening:
    """A time for work as it falls in one season on trees of a group. told: its first free day, None for none."""

    time: WorkTime
    season: int
    group: str
    first: date
    last: date
    told: date | None


def work_prompts(season: Season, shown: tuple[date, date] | None = None) -> tuple[WorkPrompt, ...]:
    """All work told from a season's first day to its last, or on the days shown; none where nobody wants it told."""
    if not season.collection.habits.work_prompts:
        return ()
    start, end = shown or (season.start, season.end)
    hemisphere = season.collection.place.hemisphere
    years = range(season_of(start, hemisphere) - 1, season_of(end, hemisphere) + 1)
    alike: dict[tuple[date, str, str, str], list[tuple[Timeline, _Opening, tuple[Tree, ...]]]] = {}
    for timeline in season.timelines:
        for opening in _openings(timeline, years):
            day = opening.told
            if day is not None and start <= day <= end:
                for say, trees in _sentences(timeline, opening, day).items():
                    key = (day, opening.group, opening.time.name, say)
                    alike.setdefault(key, []).append((timeline, opening, trees))
    prompts = [_prompt(day, say, members) for (day, _, _, say), members in alike.items()]
    return tuple(sorted(prompts, key=lambda prompt: (prompt.day, prompt.key)))


def _prompt(
    day: date, say: str, members: Sequence[tuple[Timeline, _Opening, tuple[Tree, ...]]]
) -> WorkPrompt:
    """One prompt, named after the shared timeline in it, or after its first tree."""
    lead, opening, _ = min(members, key=lambda member: (member[0].own, member[0].lineage))
    time = opening.time
    unsure = "/unknown" if say == time.if_unknown else ""
    return WorkPrompt(
        key=f"work/{lead.lineage}/{time.name}/{opening.season}{unsure}",
        day=day,
        group=opening.group,
        work=time.name,
        say=say,
        trees=tuple(tree for _, _, trees in members for tree in trees),
        done=time.done,
    )


def work_of(timeline: Timeline, tree: Tree, day: date) -> Iterator[WorkOfTree]:
    """The work of a tree whose time a day lies in, told or stopped; none where the grower does not want it."""
    if not timeline.care.collection.habits.work_prompts or not timeline.here(day):
        return
    year = season_of(day, timeline.care.collection.place.hemisphere)
    for opening in _openings(timeline, range(year - 1, year + 1)):
        if opening.first <= day <= opening.last:
            say = _sentence(timeline, tree, opening, opening.told or day)
            reasons = tuple(_stopped(timeline, opening.time.action, day))
            if say and (reasons or opening.told is not None):
                yield WorkOfTree(opening.time, say, opening.told, reasons)


def _openings(timeline: Timeline, years: Iterable[int]) -> Iterator[_Opening]:
    """Every time for work in some seasons, following the moves from group to group; one is told in one group only."""
    care = timeline.care
    since, told = care.collection.since or date.min, set[tuple[str, int]]()
    dates = {year: _Dates(timeline, year) for year in years}
    for stay in care.stays:
        last_there = date.max if stay.end is None else stay.end - DAY
        for time in care.schedule_of(stay).work:
            for year, of_year in dates.items():
                span = of_year.span(time)
                if span is None:
                    continue
                first, last = max(span[0], stay.start, since), min(span[1], last_there)
                free = _first_free(timeline, time.action, first, last)
                day = None if (time.name, year) in told else free
                if day is not None:
                    told.add((time.name, year))
                if first <= last:
                    yield _Opening(time, year, stay.group, first, last, day)


class _Dates:
    """The stages of one season on a timeline, as they fall and as they usually fall."""

    def __init__(self, timeline: Timeline, year: int) -> None:
        self._timeline = timeline
        self._year = year
        self._hemisphere = timeline.care.collection.place.hemisphere
        self._stages = _by_name(timeline, year)
        self._usual = {
            stage: StageDate(stage, at.typical, Origin.TYPICAL, at.typical, at.typical)
            for stage, at in self._stages.items()
        }

    def span(self, time: WorkTime) -> tuple[date, date] | None:
        """The first and the last day of a time for work; None while it waits for a stage, or has none."""
        first = moment_day(time.start, self._stages, self._year, self._hemisphere)
        if first is None:
            return None
        year, stages = self._year, self._stages
        if self._is_over_the_turn(time):
            year, stages = year + 1, _by_name(self._timeline, year + 1)
        last = moment_day(time.stop, stages, year, self._hemisphere, stopping=True)
        return first, season_end(year, self._hemisphere) if last is None else last

    def _is_over_the_turn(self, time: WorkTime) -> bool:
        """Whether it lasts into the next season, whatever this year brings."""
        begins, ends = (
            moment_day(moment, self._usual, self._year, self._hemisphere)
            for moment in (time.start, time.stop)
        )
        return begins is not None and ends is not None and ends < begins


def _by_name(timeline: Timeline, year: int) -> dict[str, StageDate]:
    return {at.stage: at for at in timeline.stage_dates(year)}


def _first_free(timeline: Timeline, action: Action, first: date, last: date) -> date | None:
    """The first day from one to another on which work is stopped by nothing, and somebody and the trees are here."""
    day = first
    for start, end in sorted(_closed(timeline, action)):
        if start <= day < end:
            day = end
    return day if day <= last and timeline.here(day) else None


def _closed(timeline: Timeline, action: Action) -> Iterator[tuple[date, date]]:
    """Stretches without work, each with the first day after it."""
    for hold in timeline.holds:
        if action in hold.rule.stops:
            yield hold.start, hold.until or date.max
    for away in timeline.care.collection.away:
        yield away.start, away.end + DAY
    if timeline.arrives is not None:
        yield date.min, timeline.arrives


def _stopped(timeline: Timeline, action: Action, day: date) -> Iterator[Reason]:
    """What stops work on a day."""
    for hold in timeline.holds:
        if action in hold.rule.stops and hold.covers(day):
            yield hold_reason(hold)
    for away in timeline.care.collection.away:
        if away.start <= day <= away.end:
            yield Reason(Rule.AWAY, Absence(away.start, away.end), away.source, until=away.end + DAY)


def _sentences(timeline: Timeline, opening: _Opening, day: date) -> dict[str, tuple[Tree, ...]]:
    """What is told of the trees of a timeline, each sentence with the trees it is told of."""
    found: dict[str, tuple[Tree, ...]] = {}
    for tree in timeline.trees_on(day):
        say = _sentence(timeline, tree, opening, day)
        if say:
            found[say] = (*found.get(say, ()), tree)
    return found


def _sentence(timeline: Timeline, tree: Tree, opening: _Opening, day: date) -> str:
    """What is told of a tree on a day; empty where the work is not for it, or not due."""
    time, care = opening.time, timeline.care
    kinds, hemisphere = care.collection.vocabulary.kinds, care.collection.place.hemisphere
    is_weak = tree.weak or (time.action in (Action.PRUNING, Action.WIRING) and _recovers(timeline, day))
    if is_weak and not time.weak_too:
        return ""
    if any(kinds.means(word, tree.species) for word in time.not_for):
        return ""
    every = care.repot_every_years(tree, day) if time.action is Action.REPOTTING else None
    done = _last_done(timeline, tree, time, day)
    if done is None:
        return time.if_unknown or time.say
    if opening.season - season_of(done, hemisphere) < (every or time.again_after_years):
        return ""
    is_due = every is not None or time.action is not Action.REPOTTING
    return time.say if is_due else time.if_unknown or time.say


def _recovers(timeline: Timeline, day: date) -> bool:
    """Whether trees were released this season from a hold that leaves them on less feed until it is over.

    Judgement: half their roots off, they keep every leaf that year. One that only took over from a lighter hold does
    not count, since it was the signs that were late.
    """
    hemisphere = timeline.care.collection.place.hemisphere
    season = season_of(day, hemisphere)
    ends = (h.until for h in timeline.holds if h.rule.cap_share is not None and h.follows is None)
    return any(end is not None and season_of(end, hemisphere) == season for end in ends)


def _last_done(timeline: Timeline, tree: Tree, time: WorkTime, day: date) -> date | None:
    """When work was done on a tree last, as known on a day: what was told before stays as it was told."""
    days = (
        entry.day
        for entry in timeline.entries
        if isinstance(entry.fact, Caused)
        and entry.fact.cause in time.done
        and entry.known <= day
        and entry.is_about(tree.name)
    )
    return max(days, default=None)
