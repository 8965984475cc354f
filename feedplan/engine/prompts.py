"""What the plan asks the grower: reviews of held trees, stages to look out for, notes of the grower's own."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from feedplan.engine.growing_year import season_of
from feedplan.model.collection import YearlyNote
from feedplan.model.journal import Seen
from feedplan.model.moment import DayOfYear, Hemisphere, stages_named
from feedplan.model.season import Hold, NoteEvent, Origin, Review, Season, StagePrompt, Timeline

WEEK = timedelta(days=7)
# How long a stage is asked after when nobody answers; a grower who never records is not asked all summer. Judgement.
ASK_FOR = timedelta(weeks=4)


def reviews_of(
    timelines: Sequence[Timeline], shown: tuple[date, date], today: date, hemisphere: Hemisphere
) -> tuple[Review, ...]:
    """Every look due at a held tree in the days shown, each on its own day; those already answered are left out."""
    reviews = [
        review
        for timeline in timelines
        for hold in timeline.holds
        for review in _reviews(timeline, hold, today, hemisphere)
        if shown[0] <= review.day <= shown[1]
    ]
    return tuple(sorted(reviews, key=lambda review: (review.day, review.key)))


def _reviews(timeline: Timeline, hold: Hold, today: date, hemisphere: Hemisphere) -> Iterator[Review]:
    if hold.end is not None and hold.end <= today:
        return
    answers = [e.day for e in timeline.entries if isinstance(e.fact, Seen) and e.day > hold.start]
    answered = max(answers, default=date.min)
    for number, day in enumerate(hold.reviews, start=1):
        if day > answered or day >= today:
            carry_to = season_of(day, hemisphere) + 1 if day == hold.carried else None
            yield Review(
                f"review/{timeline.lineage}/{hold.entry.id}/{number}", day, timeline, hold, number, carry_to
            )


def overdue_reviews(season: Season, day: date) -> tuple[Review, ...]:
    """The last look not answered at each held tree before a day, where none falls on the day itself."""
    latest: dict[str, Review] = {}
    for review in season.reviews:
        if review.day <= day:
            latest[f"{review.timeline.lineage}/{review.hold.entry.id}"] = review
    return tuple(review for review in latest.values() if review.day < day)


def stage_prompts(timelines: Sequence[Timeline], today: date, end: date) -> tuple[StagePrompt, ...]:
    """Questions about stages on which feeding waits and which nobody has seen yet, one per group and stage date."""
    asked: dict[tuple[str, str, str, int], list[tuple[Timeline, date, date, bool]]] = {}
    for timeline in timelines:
        for season, stages in timeline.stages:
            wanted = _stages_that_matter(timeline, season)
            for at in stages:
                if at.stage in wanted and at.origin is not Origin.SEEN:
                    day = _day_to_ask(at.day or at.known, at.origin is Origin.AWAITED, today)
                    if day is not None and day <= end and timeline.here(day):
                        key = (timeline.group_on(day), timeline.calendar, at.stage, season)
                        expected = at.day or at.typical
                        asked.setdefault(key, []).append(
                            (timeline, day, expected, at.origin is Origin.AWAITED)
                        )
    prompts = [_prompt(key, members) for key, members in asked.items()]
    return tuple(sorted(prompts, key=lambda prompt: (prompt.day, prompt.key)))


def _stages_that_matter(timeline: Timeline, season: int) -> frozenset[str]:
    """The stages from which a feeding period of the season starts."""
    periods = {window.period for window in timeline.windows if window.season == season}
    return frozenset(stage for period in periods for stage in stages_named(period.start))


def _day_to_ask(day: date, awaited: bool, today: date) -> date | None:
    """The day itself, then each week while nobody answers; an awaited stage is asked after until it is seen."""
    if awaited:
        day += WEEK
    if day >= today:
        return day
    if not awaited and today - day > ASK_FOR:
        return None
    weeks = -(-(today - day).days // 7)
    return day + WEEK * weeks


def _prompt(
    key: tuple[str, str, str, int], members: Sequence[tuple[Timeline, date, date, bool]]
) -> StagePrompt:
    group, calendar, stage, season = key
    day = min(member[1] for member in members)
    return StagePrompt(
        key=f"stage/{group}/{calendar}/{stage}/{season}",
        day=day,
        stage=stage,
        group=group,
        timelines=tuple(member[0] for member in members),
        expected=min(member[2] for member in members),
        awaited=any(member[3] for member in members),
    )


def note_events(notes: Sequence[YearlyNote], start: date, end: date) -> tuple[NoteEvent, ...]:
    """The grower's own notes between two days; a yearly one on 29 February shows on the 28th in common years."""
    found = []
    for index, note in enumerate(notes, start=1):
        if isinstance(note.on, DayOfYear):
            days = [note.on.in_year(year) for year in range(start.year, end.year + 1)]
        else:
            days = [note.on]
        found += [NoteEvent(f"note/{index}/{day.year}", day, note) for day in days if start <= day <= end]
    return tuple(sorted(found, key=lambda event: (event.day, event.key)))
