"""What the plan puts to the grower: reviews, stages to look out for, notes, and what work planned ahead would stop."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from feedplan.engine.growing_year import DAY, WEEK, season_of
from feedplan.engine.holds.holds import rule_for, told_of
from feedplan.engine.holds.looks import (
    IN_LEAF_AGAIN,
    LEAVES_FALLEN,
    is_seen_on_leaves,
    rest_begins,
    unseen_from,
)
from feedplan.engine.holds.root_work import heavier, is_out_of_season
from feedplan.engine.season import Alert, AlertKind, NoteEvent, Review, StagePrompt, Timeline
from feedplan.engine.stages.questions import ASK_FOR, asked_again, asked_from
from feedplan.engine.stages.rounds import numbered
from feedplan.engine.stages.stages import Contradiction, Record
from feedplan.model.alert import SeenAgain, SeenOutOfOrder, SeenTooEarly
from feedplan.model.collection import YearlyNote
from feedplan.model.course import Hold, StageDate
from feedplan.model.hold import Heavier, HoldRule, SignLeft
from feedplan.model.journal import Caused, Entry, Planned, Seen
from feedplan.model.moment import DayOfYear, Hemisphere, stages_named
from feedplan.model.reason import OutOfSeason, PlannedWork
from feedplan.model.stage import Origin
from feedplan.model.statement import Statement

_KEPT_FOR = timedelta(days=60)
"""So long a question stays where it was asked, longer than calendars reach back: what is past stays as it was told."""
SHOWN_AFTER = timedelta(days=14)
"""So long after its day planned work is still told of; then nobody means to do it any more. Judgement."""


def sighting_alerts(
    timelines: Sequence[Timeline], records: Sequence[Record], today: date, end: date
) -> tuple[Alert, ...]:
    """A question for each sighting that cannot be, each from the day it was known; nothing moves until it is mended.

    For some weeks it stands in the rounds; whoever checks the files is asked until then.
    """
    found: dict[tuple[str, str], list[tuple[Contradiction, Timeline]]] = {}
    for timeline, record in zip(timelines, records, strict=True):
        season = season_of(today, record.hemisphere)
        doubtful = (*record.sightings(season - 1).doubtful, *record.sightings(season).doubtful)
        for each in doubtful if timeline.here(today) else ():
            if each.entry.known <= today:
                found.setdefault((each.entry.id, each.stage), []).append((each, timeline))
    return tuple(_sighting_alert(members, end) for members in found.values())


def _sighting_alert(members: Sequence[tuple[Contradiction, Timeline]], end: date) -> Alert:
    each, _ = members[0]
    entry, other = each.entry, each.other
    fact: Statement
    if other is None:
        fact = SeenTooEarly(each.stage, entry.day, each.earliest or entry.day, entry.id)
    elif each.other_stage == each.stage:
        fact = SeenAgain(each.stage, other.day, entry.day, other.id, entry.id)
    else:
        fact = SeenOutOfOrder(each.stage, entry.day, each.other_stage, other.day, other.id, entry.id)
    return Alert(
        key=f"alert/sighting/{entry.id}/{each.stage}",
        kind=AlertKind.SIGHTING,
        start=entry.known,
        end=min(end, entry.known + ASK_FOR - DAY),
        fact=fact,
        timelines=tuple(timeline for _, timeline in members),
        source=entry.source,
    )


def reviews_of(
    timelines: Sequence[Timeline], shown: tuple[date, date], today: date, hemisphere: Hemisphere
) -> tuple[Review, ...]:
    """Every look due at a held tree in the days shown, each on its own day; those answered later are left out."""
    reviews = [
        review
        for timeline in timelines
        for hold in timeline.holds
        for review in _reviews(timeline, hold, today, hemisphere)
        if shown[0] <= review.day <= shown[1] and _is_told_of(timeline, hold, review.day)
    ]
    return tuple(sorted(reviews, key=lambda review: (review.day, review.key)))


def waits_for_spring(review: Review, day: date) -> bool:
    """Whether a look still open asks for what the trees, at rest or bare on a day, cannot show before spring."""
    timeline, collection = review.timeline, review.timeline.care.collection
    season = season_of(review.day, collection.place.hemisphere)
    unseen = unseen_from(review.hold.missing, collection.vocabulary)
    rest = rest_begins({at.stage: at for at in timeline.stage_dates(season)}, unseen)
    if rest is not None and review.day < rest <= day:
        return True
    return _is_bare(timeline, season, day) and is_seen_on_leaves(review.hold, collection.vocabulary)


def _is_bare(timeline: Timeline, season: int, day: date) -> bool:
    """Whether the leaves of a season have fallen by a day and those of the next are not open yet.

    The tree's own calendar tells whether it sheds them: its group's stands in for stages it lacks.
    """
    own = timeline.care.collection.vocabulary.calendars[timeline.calendar]
    if LEAVES_FALLEN not in dict(own.dates):
        return False
    fell, opens = (
        next((at.day or at.typical for at in timeline.stage_dates(year) if at.stage == stage), None)
        for year, stage in ((season, LEAVES_FALLEN), (season + 1, IN_LEAF_AGAIN))
    )
    return fell is not None and fell <= day and (opens is None or day < opens)


def _is_told_of(timeline: Timeline, hold: Hold, day: date) -> bool:
    return not hold.covers(day) or hold in told_of(timeline.holds, day)


def _reviews(timeline: Timeline, hold: Hold, today: date, hemisphere: Hemisphere) -> Iterator[Review]:
    over = date.max if hold.until is None else hold.until
    answers = [e.day for e in timeline.entries if isinstance(e.fact, Seen) and e.day > hold.start]
    # Put off to spring it was looked at too: nobody is asked again until then.
    answers += [] if hold.put_off is None else [hold.put_off.day]
    answered = max(answers, default=date.min)
    for number, day in enumerate(hold.reviews, start=1):
        # One answered on its day stays there: what is past stays as it was told.
        if day < over and (day >= answered or day >= today):
            year = season_of(day, hemisphere)
            asks = (
                hold.asks_from is not None
                and day >= hold.asks_from
                and year == season_of(hold.start, hemisphere)
            )
            carry_to = year + 1 if asks else None
            key = f"review/{timeline.lineage}/{hold.key}/{number}"
            is_answered = day <= answered or over <= today
            yield Review(key, day, timeline, hold, number, carry_to, is_answered)


@dataclass(frozen=True, slots=True)
class _Question:
    """A stage of one timeline to ask after. asked_until: each week to this day, None for once.

    again: the day from which it is put again after a "not yet", None where nobody said so.
    """

    timeline: Timeline
    at: StageDate
    day: date
    asked_until: date | None
    awaited: bool
    again: date | None


def stage_prompts(timelines: Sequence[Timeline], today: date, end: date) -> tuple[StagePrompt, ...]:
    """Questions about stages on which feeding waits and which nobody has seen yet, one per group and stage date."""
    asked: dict[tuple[str, str, str, str], list[_Question]] = {}
    for timeline in timelines:
        for season, stages in timeline.stages:
            opening, waiting = _stages_that_matter(timeline, season)
            for number, at in numbered(stages):
                was_seen = at.origin is Origin.SEEN or at.proved is not None
                if was_seen or at.stage not in opening | waiting.keys():
                    continue
                found = _question(timeline, at, waiting.get(at.stage), today)
                if found is not None and timeline.here(max(found.day, today)):
                    group = timeline.group_on(max(found.day, today))
                    time = f"{season}/{number}" if number > 1 else f"{season}"
                    asked.setdefault((group, timeline.calendar, at.stage, time), []).append(found)
    prompts = (
        _prompt(key if number == 1 else (*key[:3], f"{key[3]}/from {each[0].again}"), each)
        for key, questions in asked.items()
        for number, each in enumerate(_put_together(questions), start=1)
    )
    return tuple(sorted((p for p in prompts if p.day <= end), key=lambda prompt: (prompt.day, prompt.key)))


def _put_together(questions: Iterable[_Question]) -> list[list[_Question]]:
    """The questions about one stage of a group by when they are put again, those nobody answered first."""
    together: dict[date, list[_Question]] = {}
    for question in questions:
        together.setdefault(question.again or date.min, []).append(question)
    return [together[day] for day in sorted(together)]


def _stages_that_matter(timeline: Timeline, season: int) -> tuple[frozenset[str], dict[str, date]]:
    """The stages from which a feeding period of the season starts, and those one waits for, with its last day."""
    periods = {window.period for window in timeline.windows if window.season == season}
    opening = frozenset(stage for period in periods for stage in stages_named(period.start))
    waits = sorted((w for w in timeline.waiting if w.season == season), key=lambda w: w.last)
    waiting = {stage: w.last for w in waits for stage in w.stages}
    return opening, waiting


def _question(timeline: Timeline, at: StageDate, waits_until: date | None, today: date) -> _Question | None:
    """When to ask after a stage; None when it is too late to.

    One on which feeding waits is asked after each week until it is seen or its period is over; others for some weeks.
    One put off on which nothing waits, as a hold's end opened its period, is not asked after.
    """
    if at.origin is Origin.AWAITED and waits_until is None:
        return None
    awaited = waits_until is not None
    day = asked_from(at)
    last = waits_until or (at.late or day) + ASK_FOR
    again = asked_again(at, timeline.entries, last)
    if again is not None:
        day, last = again, waits_until or max(last, again - WEEK + ASK_FOR)
    # Asked to the last day from the first on: a calendar entry that grew by the day would never stand still.
    is_told = day <= last and today <= last + _KEPT_FOR
    return _Question(timeline, at, day, last, awaited, again) if is_told else None


def _prompt(key: tuple[str, str, str, str], questions: Sequence[_Question]) -> StagePrompt:
    group, calendar, stage, time = key
    early, late, until = (
        [day for day in days if day is not None]
        for days in zip(*((q.at.early, q.at.late, q.asked_until) for q in questions), strict=True)
    )
    return StagePrompt(
        key=f"stage/{group}/{calendar}/{stage}/{time}",
        day=min(q.day for q in questions),
        stage=stage,
        group=group,
        timelines=tuple(q.timeline for q in questions),
        expected=min(q.at.day or q.at.typical for q in questions),
        awaited=any(q.awaited for q in questions),
        early=min(early, default=None),
        late=max(late, default=None),
        asked_until=max(until, default=None),
    )


def note_events(notes: Sequence[YearlyNote], start: date, end: date) -> tuple[NoteEvent, ...]:
    """The grower's own notes between two days, those of a day as written; one on 29 February shows on the 28th in
    common years.

    Each is known by its words, so that it stays itself when it moves and when others are put before it.
    """
    found = []
    said: list[str] = []
    for note in notes:
        said.append(note.say)
        if isinstance(note.on, DayOfYear):
            days = [note.on.in_year(year) for year in range(start.year, end.year + 1)]
        else:
            days = [note.on]
        name = f"{note.say}/{said.count(note.say)}"
        found += [NoteEvent(f"note/{name}/{day.year}", day, note) for day in days if start <= day <= end]
    return tuple(sorted(found, key=lambda event: event.day))


def planned_work(timeline: Timeline, day: date) -> Iterator[tuple[Entry, PlannedWork]]:
    """The work planned for trees, as known on a day, until it is written down as done or two weeks late."""
    for entry in timeline.entries:
        if isinstance(entry.fact, Planned) and entry.known <= day <= entry.fact.on + SHOWN_AFTER:
            since = (e.fact for e in timeline.entries if entry.day <= e.day <= day)
            if not any(isinstance(fact, Caused) and fact.cause == entry.fact.work.cause for fact in since):
                yield from _told(timeline, entry, entry.fact)


def _told(timeline: Timeline, entry: Entry, fact: Planned) -> Iterator[tuple[Entry, PlannedWork]]:
    rule, _ = _rule_of_planned(timeline, entry, fact)
    if rule is not None:
        minimum = fact.on + timedelta(days=rule.min_days)
        signs = tuple(SignLeft(need.sign, need.times) for need in rule.needs)
        likely = _likely(timeline, rule, fact.on)
        about = None if likely is None else max(minimum, likely)
        yield entry, PlannedWork(fact.work.cause, rule.name, fact.on, rule.stops, minimum, signs, about)


def work_out_of_season(timeline: Timeline) -> Iterator[tuple[Entry, OutOfSeason]]:
    """The root work done, or planned, out of season on these trees, each entry with what is said of it."""
    for hold in timeline.holds:
        if hold.out_of_season and hold.follows is None and isinstance(hold.entry.fact, Caused):
            yield from _told_of(timeline, hold.entry, hold.entry.fact, hold.entry.day, hold.rule)
    for entry in timeline.entries:
        if isinstance(entry.fact, Planned):
            rule, _ = _rule_of_planned(timeline, entry, entry.fact)
            if rule is not None and _would_be_out_of_season(timeline, entry.fact.on):
                yield from _told_of(timeline, entry, entry.fact.work, entry.fact.on, rule)


def _told_of(
    timeline: Timeline, entry: Entry, fact: Caused, day: date, rule: HoldRule
) -> Iterator[tuple[Entry, OutOfSeason]]:
    """What is said of work out of season that cuts roots; pruning and wire have seasons of their own."""
    window = timeline.care.collection.vocabulary.calendars[timeline.calendar].root_work
    bands = [r for r in timeline.care.schedule_on(day).holds.values() if r.cause == fact.cause]
    if window is not None and len(bands) > 1:
        yield entry, OutOfSeason(fact.cause, day, rule.name, *window)


def _would_be_out_of_season(timeline: Timeline, day: date) -> bool:
    """Whether root work on these trees on a day is out of season."""
    collection = timeline.care.collection

    def stages(season: int) -> Mapping[str, StageDate]:
        return {at.stage: at for at in timeline.stage_dates(season)}

    calendar = collection.vocabulary.calendars[timeline.calendar]
    return is_out_of_season(calendar, stages, collection.place.hemisphere, day)


def _rule_of_planned(
    timeline: Timeline, entry: Entry, fact: Planned
) -> tuple[HoldRule | None, tuple[Heavier, ...]]:
    """The rule that planned work would fall under, and what raises it there."""
    schedule = timeline.care.schedule_on(fact.on)
    trees = [tree for tree in timeline.trees if entry.is_about(tree.name)]
    held = [hold for hold in timeline.holds if hold.covers(fact.on)]
    outside = _would_be_out_of_season(timeline, fact.on)
    return rule_for(
        fact.work, schedule.holds, heavier(fact.work, schedule, trees, held, out_of_season=outside)
    )


def _likely(timeline: Timeline, rule: HoldRule, start: date) -> date | None:
    """When the first stage comes that shows all the signs a rule asks for; None where no stage of the year does."""
    vocabulary, wanted = timeline.care.collection.vocabulary, {need.sign for need in rule.needs}
    year = season_of(start, timeline.care.collection.place.hemisphere)
    for at in timeline.stage_dates(year):
        day = at.day or at.typical
        if wanted and day >= start and wanted <= vocabulary.shown_by(at.stage):
            return day
    return None
