"""When a held tree is looked at: from its first day on, at its own pace, while it can show what is asked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from feedplan.engine.growing_year import WEEK, season_end, season_of
from feedplan.engine.stages.stages import Record
from feedplan.model.course import Hold, NeedMet, StageDate
from feedplan.model.hold import HoldRule
from feedplan.model.stage import Vocabulary

BEFORE_LEAVES = timedelta(days=8 * 7)
"""Root work nearer to open leaves than this is spring work, and its looks count from its own day. Judgement."""
# The flush whose hardening says that roots work again, where a rule names no other. Common practice, no source.
FIRST_FLUSH = "first flush hardened"
# From the first of these on a tree shows nothing new, so nobody is asked to look until spring. Judgement.
REST_BEGINS = ("hardening off", "autumn build-up", "growth stopped", "leaves colouring")
# The days of the year on which leafless trees open their leaves, and those that come before: nothing can be seen of a
# tree worked on from leaf fall on until then. Judgement.
LEAVES_FALLEN = "leaves fallen"
DORMANT = "dormant"
BARE = (LEAVES_FALLEN, DORMANT)
IN_LEAF_AGAIN = "leaves open"


def unseen_from(missing: Iterable[NeedMet], vocabulary: Vocabulary) -> tuple[str, ...]:
    """The stages from which signs still asked for cannot be seen before spring; none where they can all year.

    Growth shows itself until trees come to rest; that it has hardened still shows after that, until they are dormant.
    """
    asked = {met.need.sign for met in missing}
    is_soft = {
        word.soft
        for name, word in vocabulary.words.items()
        if word.is_stage and not asked.isdisjoint(vocabulary.shown_by(name))
    }
    if True in is_soft:
        return REST_BEGINS
    return (DORMANT,) if is_soft else ()


def is_seen_on_leaves(hold: Hold, vocabulary: Vocabulary) -> bool:
    """Whether a hold still asks for a sign that only leaves show, which no bare tree has."""
    asked = (vocabulary.words.get(met.need.sign) for met in hold.missing)
    return any(word is not None and word.on_leaves for word in asked)


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


def _looked_at_again(rule: HoldRule, looks: Looks, record: Record, season: int) -> StageDate | None:
    """The stage at which a tree still held is looked at in a season.

    Leaves or needles kept through winter still show as trees wake that they hardened the year before.
    """
    stages = record.stages(season)
    if looks.unseen_from == (DORMANT,) and LEAVES_FALLEN not in stages:
        return min(stages.values(), key=lambda at: at.day or at.typical, default=None)
    return release_stage(rule, record, season)


@dataclass(frozen=True, slots=True)
class Looks:
    """What has been looked at so far in a hold.

    answers: days on which the grower looked and nothing was freed. asks_from: the look that asks whether to put it off
    to next spring, None where none does. put_off: the day it was. unseen_from: the stages that end the season's looks.
    """

    start: date
    answers: tuple[date, ...]
    asks_from: date | None
    put_off: date | None
    unseen_from: tuple[str, ...]


def review_days(rule: HoldRule, looks: Looks, record: Record, last_season: int) -> list[date]:
    """The days on which to look at a held tree, up to the end of `last_season`.

    After an answer the next look is a week on, or at the rule's pace if that is shorter. A tree put off to next
    spring, like any tree still held at the end of a season, is left alone until it can show something there.
    """
    start, answers = looks.start, looks.answers
    minimum = start + timedelta(days=rule.min_days)
    pace = timedelta(days=rule.review_every_days)
    planned = sorted({minimum, *(start + timedelta(days=days) for days in rule.reviews_days)})
    ends = looks.unseen_from or REST_BEGINS
    rest = _rest_after(planned[-1], ends, record)
    days = _course(planned, pace, [day for day in answers if day < rest], rest)
    year = season_of(days[-1], record.hemisphere)
    if looks.put_off is not None:
        days = [day for day in days if day < looks.put_off]
        year = season_of(looks.put_off, record.hemisphere)
    elif looks.asks_from is not None and not any(day >= looks.asks_from for day in answers):
        asked = [looks.asks_from, *_paced(looks.asks_from, pace, rest)]
        days = [day for day in days if day < looks.asks_from] + asked
    for season in range(year + 1, last_season + 1):
        release = _looked_at_again(rule, looks, record, season)
        if release is not None:
            spring = release.day or release.typical
            later = [day for day in answers if spring <= day and season_of(day, record.hemisphere) == season]
            days += _course([spring], pace, later, _rest_after(spring, ends, record))
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


def rest_begins(stages: Mapping[str, StageDate], begins: Sequence[str] = REST_BEGINS) -> date | None:
    """When a season comes to rest, None where its stages do not tell. begins: any of these stages is the rest."""
    resting = next((stages[name] for name in begins if name in stages), None)
    return None if resting is None else resting.day or resting.typical


def _rest_after(day: date, begins: Sequence[str], record: Record) -> date:
    """When the season of a day comes to rest, which any of some stages begins."""
    season = season_of(day, record.hemisphere)
    rest = rest_begins(record.stages(season), begins)
    return season_end(season, record.hemisphere) if rest is None or rest <= day else rest
