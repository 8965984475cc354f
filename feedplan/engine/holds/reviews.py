"""When to look at a held tree: at the earliest end, on the rule's own days, then at its pace while trees grow."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from feedplan.engine.growing_year import season_end, season_of
from feedplan.engine.stages.stages import Record
from feedplan.model.course import StageDate
from feedplan.model.hold import HoldRule

WEEK = timedelta(days=7)

BEFORE_LEAVES = timedelta(days=8 * 7)
"""Root work nearer to open leaves than this is spring work, and its looks count from its own day. Judgement."""

# The flush whose hardening says that roots work again, where a rule names no other. Common practice, no source.
FIRST_FLUSH = "first flush hardened"

# From the first of these on a tree shows nothing new, so nobody is asked to look until spring. Judgement.
REST_BEGINS = ("hardening off", "autumn build-up", "growth stopped", "leaves colouring")


# The days of the year on which leafless trees open their leaves, and those that come before: nothing can be seen of a
# tree worked on from leaf fall on until then. Judgement.
BARE = ("leaves fallen", "dormant")
IN_LEAF_AGAIN = "leaves open"


def growth_since(start: date, record: Record) -> date:
    """The day looks for growth count from: the start, or for work on a bare tree at rest the day its leaves open."""
    for season in (season_of(start, record.hemisphere), season_of(start, record.hemisphere) + 1):
        opens = record.stages(season).get(IN_LEAF_AGAIN)
        before = record.stages(season - 1)
        bare = next((before[name] for name in BARE if name in before), None)
        if opens is None or bare is None:
            continue
        fell, leafed = bare.day or bare.typical, opens.day or opens.typical
        if fell <= start < leafed - BEFORE_LEAVES:
            return leafed
    return start


def release_stage(rule: HoldRule, record: Record, season: int) -> StageDate | None:
    """The rule's release stage in a season, or the stage that proves the same signs on trees that lack it."""
    stages, wanted = record.stages(season), rule.release_stage or FIRST_FLUSH
    if wanted in stages:
        return stages[wanted]
    word = record.vocabulary.words.get(wanted)
    signs = word.shows if word is not None else frozenset()
    return next(
        (at for name, at in stages.items() if signs and signs <= record.vocabulary.shown_by(name)), None
    )


@dataclass(frozen=True, slots=True)
class Looks:
    """What has been looked at so far in a hold.

    answers: days on which the grower looked and nothing was freed. asks_from: the look that asks whether to put it off
    to next spring, None where none does. put_off: the day it was.
    """

    start: date
    answers: tuple[date, ...]
    asks_from: date | None
    put_off: date | None


def review_days(rule: HoldRule, looks: Looks, record: Record, last_season: int) -> list[date]:
    """The days on which to look at a held tree, up to the end of `last_season`.

    After an answer the next look is a week on, or at the rule's pace if that is shorter. A tree put off to next
    spring, like any tree still held at the end of a season, is left alone until its release stage is due there.
    """
    start, answers = looks.start, looks.answers
    minimum = start + timedelta(days=rule.min_days)
    pace = timedelta(days=rule.review_every_days)
    planned = sorted({minimum, *(start + timedelta(days=days) for days in rule.reviews_days)})
    rest = _rest_after(planned[-1], record)
    days = _course(planned, pace, [day for day in answers if day < rest], rest)
    year = season_of(days[-1], record.hemisphere)
    if looks.put_off is not None:
        days = [day for day in days if day < looks.put_off]
        year = season_of(looks.put_off, record.hemisphere)
    elif looks.asks_from is not None and not any(day >= looks.asks_from for day in answers):
        asked = [looks.asks_from, *_paced(looks.asks_from, pace, rest)]
        days = [day for day in days if day < looks.asks_from] + asked
    for season in range(year + 1, last_season + 1):
        release = release_stage(rule, record, season)
        if release is not None:
            spring = release.day or release.typical
            later = [day for day in answers if spring <= day and season_of(day, record.hemisphere) == season]
            days += _course([spring], pace, later, _rest_after(spring, record))
    return [day for day in days if day >= minimum]


def _course(planned: list[date], pace: timedelta, answers: Sequence[date], rest: date) -> list[date]:
    """Planned looks and those that follow at an even pace until rest begins, counted anew from the last answer."""
    if answers:
        last = max(answers)
        return [day for day in planned if day <= last] + _paced(last, min(pace, WEEK), rest)
    return planned + _paced(planned[-1], pace, rest)


def _paced(after: date, pace: timedelta, rest: date) -> list[date]:
    days = []
    day = after + pace
    while day < rest:
        days.append(day)
        day += pace
    return days


def _rest_after(day: date, record: Record) -> date:
    """When the season of a day comes to rest."""
    season = season_of(day, record.hemisphere)
    stages = record.stages(season)
    resting = next((stages[name] for name in REST_BEGINS if name in stages), None)
    if resting is None or (resting.day or resting.typical) <= day:
        return season_end(season, record.hemisphere)
    return resting.day or resting.typical
