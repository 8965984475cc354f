"""The year as a picture and a table: one line of weeks for each course of events, then feeds and nitrogen."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from feedplan.engine.answers.expected import ExpectedFeeding, expected_feeding
from feedplan.engine.feeding.budget import nitrogen_mg_per_l
from feedplan.engine.growing_year import DAY, season_end, season_start
from feedplan.engine.season import Season, Timeline
from feedplan.model.collection import Away, Collection
from feedplan.model.course import FeedEvent, Status
from feedplan.model.hold import Action
from feedplan.model.moment import Hemisphere
from feedplan.model.schedule import UsualNitrogen
from feedplan.words.language import say
from feedplan.words.reasons import sign_words, signs_words
from feedplan.words.writing import (
    MONTHS_SHORT,
    day_month,
    listed,
    names_words,
    number,
    places,
    ppm_words,
    whole_ppm,
)

WEEK = timedelta(days=7)
STRONG_FROM_PPM = Decimal(100)
KEY = "# feed from 100 ppm N   + weaker feed   x held: no feed   ~ away   . nothing   ! missed"
NAME_WIDTH = 26
_FEW = 6
_TO_COME = (Status.PLANNED, Status.OVERDUE)


@dataclass(frozen=True, slots=True)
class Course:
    """One timeline's year. weeks: a sign a week; feeds: those given or planned; expected: of trees held today.

    counted_from: the day the plan or the trees came, where feeding may have begun before it; None for a whole season.
    n_mg_per_l: all its nitrogen, solids too; given_mg_per_l: of that what is given or lies on the pot already
    [mg per L of container].
    """

    timeline: Timeline
    group: str
    season: int
    weeks: str
    feeds: tuple[FeedEvent, ...]
    n_mg_per_l: Decimal
    given_mg_per_l: Decimal
    budget_mg_n_per_l: Decimal
    usual: UsualNitrogen | None
    expected: ExpectedFeeding | None
    counted_from: date | None

    @property
    def planned_mg_per_l(self) -> Decimal:
        """Nitrogen still to come [mg per L of container]."""
        return self.n_mg_per_l - self.given_mg_per_l


def courses_of(season: Season, collection: Collection, year: int) -> tuple[Course, ...]:
    """Every timeline's course through one growing year, by group, the shared ones first."""
    first = season_start(year, collection.place.hemisphere)
    last = season_end(year, collection.place.hemisphere)
    courses = [
        _course(timeline, collection, year, (first, last), season.today) for timeline in season.timelines
    ]
    here = [course for course in courses if course.timeline.here(last) or course.feeds]
    return tuple(
        sorted(here, key=lambda course: (course.group, course.timeline.own, course.timeline.lineage))
    )


def _course(
    timeline: Timeline, collection: Collection, year: int, days: tuple[date, date], today: date
) -> Course:
    first, last = days
    feeds = tuple(feed for feed in timeline.feeds if feed.season == year)
    share = collection.habits.feed_share
    brought = [(solid.laid <= today, solid.mg_n_per_l) for solid in timeline.solids if solid.season == year]
    brought += [(feed.status not in _TO_COME, nitrogen_mg_per_l(feed, share)) for feed in feeds]
    schedule = timeline.care.schedule_on(last)
    expected = expected_feeding(timeline, today)
    starts = [first + WEEK * index for index in range((last - first) // WEEK + 1)]
    return Course(
        timeline=timeline,
        group=timeline.group_on(last),
        season=year,
        weeks="".join(_sign(timeline, collection.away, feeds, start, expected) for start in starts),
        feeds=tuple(feed for feed in feeds if not feed.status.is_without_feed),
        n_mg_per_l=sum((mg for _, mg in brought), Decimal(0)),
        given_mg_per_l=sum((mg for is_given, mg in brought if is_given), Decimal(0)),
        budget_mg_n_per_l=schedule.budget_mg_n_per_l,
        usual=schedule.usual,
        expected=expected,
        counted_from=_counted_from(timeline, collection, year, first),
    )


def _counted_from(timeline: Timeline, collection: Collection, year: int, first: date) -> date | None:
    """The day that a part of a season is counted from; None where all of its feeding is."""
    begun = max(filter(None, [collection.since, timeline.arrives]), default=first)
    opens = min((window.first for window in timeline.windows if window.season == year), default=begun)
    # What was open before is cut to begin that day.
    return begun if begun > first and opens <= begun else None


def _sign(
    timeline: Timeline,
    away: tuple[Away, ...],
    feeds: tuple[FeedEvent, ...],
    start: date,
    expected: ExpectedFeeding | None,
) -> str:
    """What a week is: the strongest feed in it, else what keeps it without, as far as that is expected to last."""
    end = start + WEEK
    given = [feed for feed in feeds if start <= feed.day < end]
    if any(not feed.status.is_without_feed for feed in given):
        return "#" if max(feed.ppm for feed in given) >= STRONG_FROM_PPM else "+"
    if given:
        return "!"
    if not timeline.here(start):
        return " "
    is_away = any(stretch.start < end and stretch.end >= start for stretch in away)
    if any(
        Action.LIQUID in h.rule.stops and h.start < end and (h.until is None or h.until > start)
        for h in timeline.holds
    ):
        if expected is None or expected.end >= end:
            return "x"
        if not is_away:
            return "." if expected.opens_in(start, end - DAY) is None else "?"
    return "~" if is_away else "."


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
    budget = say("N given + planned of budget (usual)")
    yield f"{'':{NAME_WIDTH}} {_month_letters(first, until)}  {say('feeds'):5}  {say('strength'):14}  {budget}"
    group = ""
    courses = courses_of(season, collection, year)
    for course in courses:
        if course.group != group:
            group = course.group
            yield group
        budget = _nitrogen_words(course)
        strengths = _strengths(course.feeds)
        yield f"{_name(course.timeline):{NAME_WIDTH}} {course.weeks:53} {len(course.feeds):6}  {strengths:14}  {budget}"
    yield say(KEY)
    yield from _expected_lines(courses, (first, until), season.today)
    yield from _against_usual(courses)


def _expected_lines(courses: Sequence[Course], year: tuple[date, date], today: date) -> Iterator[str]:
    """From when held trees may be fed that year if what their holds ask for is seen, those alike together."""
    alike: dict[tuple[date | None, str, str], list[Timeline]] = {}
    for course in courses:
        if (expected := course.expected) is not None and course.timeline.here(year[1]):
            by = day_month(expected.end, today)
            key = (expected.opens_in(*year), signs_words(expected.if_seen), by)
            alike.setdefault(key, []).append(course.timeline)
    if any("?" in course.weeks for course in courses):
        yield say("? held, and fed only if what is asked for is seen by then; it counts nowhere else")
    for (opens, signs, by), timelines in alike.items():
        names = names_words(timelines)
        if opens is None:
            yield say(
                "{names}: no feed this season, even if seen about {by}: {signs}.",
                names=names,
                by=by,
                signs=signs,
            )
        else:
            yield say(
                "{names}: feeds from about {day} if seen by then: {signs}.",
                names=names,
                day=day_month(opens, today),
                signs=signs,
            )


def _nitrogen_words(course: Course) -> str:
    """A course's nitrogen: "45 + 150 of 360 (250-450)"."""
    words = say(
        "{given} + {planned} of {budget}",
        given=places(course.given_mg_per_l),
        planned=places(course.planned_mg_per_l),
        budget=number(course.budget_mg_n_per_l),
    )
    usual = course.usual
    return words if usual is None else f"{words} ({number(usual.least)}-{number(usual.most)})"


def _against_usual(courses: Sequence[Course]) -> Iterator[str]:
    """Whose nitrogen is outside what such trees usually get, and where each usual range comes from."""
    outside: dict[str, list[Timeline]] = {}
    sources: dict[UsualNitrogen, list[str]] = {}
    for course in courses:
        if course.usual is not None:
            groups = sources.setdefault(course.usual, [])
            groups += [course.group] if course.group not in groups else []
            if words := _outside_words(course, course.usual):
                outside.setdefault(words, []).append(course.timeline)
    for words, timelines in outside.items():
        names = [name for timeline in timelines for name in timeline.names]
        few = names if len(names) <= _FEW else [*names[:_FEW], say("{count} more", count=len(names) - _FEW)]
        yield f"{listed(few)}: {words}"
    for usual, groups in sources.items():
        yield say(
            "Usual for {groups}: {least} to {most} mg N per litre of pot; {source}.",
            groups=listed(groups),
            least=number(usual.least),
            most=number(usual.most),
            source=say(usual.source),
        )


def _outside_words(course: Course, usual: UsualNitrogen) -> str:
    """What is to be said of a course that gets less or more than is usual; empty within the range."""
    if course.n_mg_per_l > usual.most:
        return say("more N than usual.")
    if course.n_mg_per_l >= usual.least:
        return ""
    if course.counted_from is not None:
        day = day_month(course.counted_from, course.counted_from)
        return say(
            "counted from {day} alone, too short a time to tell whether they get the usual N.", day=day
        )
    if any(solid.season == course.season for solid in course.timeline.solids):
        return say("less N than usual.")
    return say(
        "less N than usual: liquid feed alone; solid feed, or feed more often, would make up the rest."
    )


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
                "given_n_mg_per_l_of_pot": float(course.given_mg_per_l),
                "planned_n_mg_per_l_of_pot": float(course.planned_mg_per_l),
                "budget_n_mg_per_l_of_pot": float(course.budget_mg_n_per_l),
                "usual_n_mg_per_l_of_pot": None
                if course.usual is None
                else [float(course.usual.least), float(course.usual.most)],
                "expected": _expected_facts(course.expected),
                "counted_from": None if course.counted_from is None else course.counted_from.isoformat(),
                "usual_source": None if course.usual is None else course.usual.source,
            }
            for course in courses_of(season, collection, year)
        ],
    }


def _expected_facts(expected: ExpectedFeeding | None) -> dict[str, Any] | None:
    """What is expected of held trees, apart from what is planned."""
    if expected is None:
        return None
    return {
        "hold_ends_about": expected.end.isoformat(),
        "if_seen": [sign_words(left) for left in expected.if_seen],
        "feeding_open": [[start.isoformat(), end.isoformat()] for start, end in expected.spans],
    }
