"""The year as a picture and a table: one line of weeks for each course of events, then feeds and nitrogen."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from feedplan.engine.feeding.budget import nitrogen_mg_per_l
from feedplan.engine.growing_year import season_end, season_start
from feedplan.engine.season import Season, Timeline
from feedplan.model.collection import Away, Collection
from feedplan.model.course import FeedEvent
from feedplan.model.hold import Action
from feedplan.model.moment import Hemisphere
from feedplan.words.language import say
from feedplan.words.writing import MONTHS_SHORT, names_words, number, places, ppm_words, whole_ppm

WEEK = timedelta(days=7)
STRONG_FROM_PPM = Decimal(100)
KEY = "# feed from 100 ppm N   + weaker feed   x held: no feed   ~ away   . nothing   ! missed"
NAME_WIDTH = 26


@dataclass(frozen=True, slots=True)
class Course:
    """One timeline's year. weeks: a sign a week; feeds: how many are given; n_mg_per_l: nitrogen, solids too."""

    timeline: Timeline
    group: str
    weeks: str
    feeds: tuple[FeedEvent, ...]
    n_mg_per_l: Decimal
    budget_mg_n_per_l: Decimal


def courses_of(season: Season, collection: Collection, year: int) -> tuple[Course, ...]:
    """Every timeline's course through one growing year, by group, the shared ones first."""
    first = season_start(year, collection.place.hemisphere)
    last = season_end(year, collection.place.hemisphere)
    courses = [_course(timeline, collection, year, first, last) for timeline in season.timelines]
    here = [course for course in courses if course.timeline.here(last) or course.feeds]
    return tuple(
        sorted(here, key=lambda course: (course.group, course.timeline.own, course.timeline.lineage))
    )


def _course(timeline: Timeline, collection: Collection, year: int, first: date, last: date) -> Course:
    feeds = tuple(feed for feed in timeline.feeds if feed.season == year)
    share = collection.habits.feed_share
    solids = sum((solid.mg_n_per_l for solid in timeline.solids if solid.season == year), Decimal(0))
    starts = [first + WEEK * index for index in range((last - first) // WEEK + 1)]
    return Course(
        timeline=timeline,
        group=timeline.group_on(last),
        weeks="".join(_sign(timeline, collection.away, feeds, start) for start in starts),
        feeds=tuple(feed for feed in feeds if not feed.status.is_without_feed),
        n_mg_per_l=solids + sum((nitrogen_mg_per_l(feed, share) for feed in feeds), Decimal(0)),
        budget_mg_n_per_l=timeline.care.schedule_on(last).budget_mg_n_per_l,
    )


def _sign(timeline: Timeline, away: tuple[Away, ...], feeds: tuple[FeedEvent, ...], start: date) -> str:
    """What a week is: the strongest feed in it, else what keeps it without."""
    end = start + WEEK
    given = [feed for feed in feeds if start <= feed.day < end]
    if any(not feed.status.is_without_feed for feed in given):
        return "#" if max(feed.ppm for feed in given) >= STRONG_FROM_PPM else "+"
    if given:
        return "!"
    if not timeline.here(start):
        return " "
    if any(
        Action.LIQUID in h.rule.stops and h.start < end and (h.until is None or h.until > start)
        for h in timeline.holds
    ):
        return "x"
    return "~" if any(stretch.start < end and stretch.end >= start for stretch in away) else "."


def season_words(season: int, hemisphere: Hemisphere) -> str:
    """A growing year as it is called: "2027", or "2027/28" where it spans two."""
    last = season_end(season, hemisphere).year
    return str(season) if last == season else f"{season}/{last % 100:02}"


def season_lines(season: Season, collection: Collection, year: int) -> Iterator[str]:
    """The picture, a line a course, and beside it feeds, strengths and nitrogen against the budget."""
    first = season_start(year, collection.place.hemisphere)
    until = season_end(year, collection.place.hemisphere)
    years = season_words(year, collection.place.hemisphere)
    yield say("{place}, season {years}", place=collection.place.name, years=years)
    budget = say("N of budget, mg per L of pot")
    yield f"{'':{NAME_WIDTH}} {_month_letters(first, until)}  {say('feeds'):5}  {say('strength'):14}  {budget}"
    group = ""
    for course in courses_of(season, collection, year):
        if course.group != group:
            group = course.group
            yield group
        budget = say(
            "{given} of {budget}", given=places(course.n_mg_per_l), budget=number(course.budget_mg_n_per_l)
        )
        strengths = _strengths(course.feeds)
        yield f"{_name(course.timeline):{NAME_WIDTH}} {course.weeks:53} {len(course.feeds):6}  {strengths:14}  {budget}"
    yield say(KEY)


def picture_lines(season: Season, collection: Collection, year: int, told_to: date) -> Iterator[str]:
    """The picture alone, up to a day, narrow enough for a printed page."""
    first, until = (end(year, collection.place.hemisphere) for end in (season_start, season_end))
    weeks = (told_to - first) // WEEK + 1
    yield f"{'':{NAME_WIDTH}} {_month_letters(first, until)}".rstrip()
    for course in courses_of(season, collection, year):
        yield f"{_name(course.timeline).strip():{NAME_WIDTH}} {course.weeks[:weeks]}".rstrip()


def _month_letters(first: date, last: date) -> str:
    """A letter above the week in which each month begins."""
    letters = [" "] * ((last - first) // WEEK + 1)
    for offset in range(12):
        month = (first.month - 1 + offset) % 12 + 1
        begins = date(first.year + (first.month - 1 + offset) // 12, month, 1)
        letters[(begins - first) // WEEK] = say(MONTHS_SHORT[month - 1])[0]
    return "".join(letters)


def _name(timeline: Timeline) -> str:
    words = f"  {names_words([timeline])}"
    return words if len(words) <= NAME_WIDTH else f"{words[: NAME_WIDTH - 3].rstrip(', ')}..."


def _strengths(feeds: tuple[FeedEvent, ...]) -> str:
    """The weakest and the strongest feed: "38-150 ppm N"."""
    if not feeds:
        return say("none")
    low, high = (pick(feed.ppm for feed in feeds) for pick in (min, max))
    if whole_ppm(low) == whole_ppm(high):
        return ppm_words(high)
    return say("{least}-{most}", least=whole_ppm(low), most=ppm_words(high))


def season_facts(season: Season, collection: Collection, year: int) -> dict[str, Any]:
    """The same facts for `--json`."""
    return {
        "season": year,
        "from": season_start(year, collection.place.hemisphere).isoformat(),
        "to": season_end(year, collection.place.hemisphere).isoformat(),
        "courses": [
            {
                "group": course.group,
                "trees": list(course.timeline.names),
                "weeks": course.weeks,
                "feeds": [
                    {"date": feed.day.isoformat(), "n_mg_per_l": float(feed.ppm), "status": str(feed.status)}
                    for feed in course.feeds
                ],
                "n_mg_per_l_of_pot": float(course.n_mg_per_l),
                "budget_n_mg_per_l_of_pot": float(course.budget_mg_n_per_l),
            }
            for course in courses_of(season, collection, year)
        ],
    }
