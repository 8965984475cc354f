"""Dates of growth stages from warmth, cold and day length, with how far off they may be.

A rule brings its stage somewhere along a course of weather; a prediction sums up where, over all courses a season may
bring.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from math import inf, sqrt

from feedplan.engine.growing_year import DAY, day_in_season, season_end, season_start
from feedplan.engine.stages.courses import Count, Courses, reached
from feedplan.model.moment import DayOfYear, Hemisphere
from feedplan.model.stage import (
    Basis,
    Chill,
    ChillShort,
    Clock,
    Counted,
    Counting,
    DrawnTowards,
    Measure,
    SpanByNormals,
    SpanOfYears,
    StageRule,
)
from feedplan.model.statement import Statement
from feedplan.weather.meteorology import sun_of_the_year

_YEAR_DAYS = 366
PARTS_OF_RANGE = (-0.8, -0.4, 0.0, 0.4, 0.8)
"""An amount that is so much, give or take so much, is tried at the middles of five equal parts of that range."""
BETWEEN_TREES_DAYS = 4.0
"""How far trees of one species in one place lie apart, as a standard deviation [days]. Judgement."""
LEAST_UNSURE_DAYS = 1.0
"""No prediction is taken as surer than this, as a standard deviation [days]. Judgement."""
TOLD_CHILL_DAYS = 5.0
"""So many days of missing winter cold are told [days]. Judgement."""
TEN_TO_NINETY = 2.563
"""Standard deviations between the 10 and the 90 % points of a normal distribution."""


@dataclass(frozen=True, slots=True)
class StageSite:
    """Where and when stages are predicted. spread_days: how far off a typical date often is [days]."""

    latitude: float
    hemisphere: Hemisphere
    season: int
    spread_days: int


@dataclass(frozen=True, slots=True)
class Line:
    """One course of one season's weather at a place. number: which of the courses."""

    courses: Courses
    number: int
    place: StageSite

    def sums(self, count: Count) -> list[float]:
        """The running sum of a count along the course."""
        return self.courses.sums(count)[self.number]


def first_counted(counting: Counting, place: StageSite) -> date:
    """The first day of a season on which warmth counts."""
    return day_in_season(counting.count_from, place.season, place.hemisphere)


def last_before(day: DayOfYear, before: date) -> date:
    """The latest date of a day of the year that is not after another date."""
    same_year = day.in_year(before.year)
    return same_year if same_year <= before else day.in_year(before.year - 1)


def warmth_count(counting: Counting) -> Count:
    """How a clock counts warmth."""
    return Count("warmth", counting.base_c, counting.upper_c)


def chill_short(counting: Counting, line: Line, at: int) -> float:
    """Days of winter cold still missing at a place of a course; 0 for buds that need none [days]."""
    if counting.chill is None:
        return 0.0
    sums = line.sums(_chill_count(counting.chill))
    start = line.courses.index(last_before(counting.chill.count_from, first_counted(counting, line.place)))
    had = sums[min(at, len(sums) - 1)] - sums[max(0, start)]
    return max(0.0, counting.chill.days_needed - had)


def _chill_count(chill: Chill) -> Count:
    return Count("chill days" if chill.days is not None else "chill hours", chill.below_c)


def find(rule: StageRule, amount: float, line: Line, start: float) -> float:
    """The place along a course at which a rule brings its stage, infinity when it never does.

    amount: of the rule's measure, a day length's share excepted, which never varies. start: the place of the stage
    counted from, or of the first day counted.
    """
    at = inf if start == inf else _FINDERS[rule.measure](rule, amount, line, int(start))
    if rule.at_least_days is not None:
        at = max(at, start + rule.at_least_days)
    if rule.at_most_days is not None:
        at = min(at, start + rule.at_most_days)
    return at


def _by_warmth(rule: StageRule, amount: float, line: Line, start: int) -> float:
    sums = line.sums(warmth_count(rule.counting))
    if rule.after is not None:
        return _or_never(reached(sums, _next(start, sums), amount))
    chill = rule.counting.chill
    first = reached(sums, start, amount)
    if first is None or chill is None or chill_short(rule.counting, line, first + 1) == 0:
        return _or_never(first)

    def is_enough(at: int) -> bool:
        short = chill_short(rule.counting, line, at + 1)
        return sums[at + 1] - sums[start] >= amount * (1 + chill.more_each_day_short * short)

    last = len(sums) - 1
    at = bisect_left(range(last), True, lo=first, key=is_enough)
    return inf if at >= last else at


def _by_cold(rule: StageRule, amount: float, line: Line, start: int) -> float:
    sums = line.sums(Count("cold", rule.below_c or 0.0))
    return _or_never(reached(sums, _next(start, sums), amount))


def _by_days(_: StageRule, amount: float, __: Line, start: int) -> float:
    return start + amount


def _by_day_length(rule: StageRule, _: float, line: Line, __: int) -> float:
    place = line.place
    day = shortened_on(place.latitude, place.hemisphere, place.season, rule.amount)
    return inf if day is None else line.courses.index(day)


_FINDERS: Mapping[Measure, Callable[[StageRule, float, Line, int], float]] = {
    Measure.WARMTH: _by_warmth,
    Measure.COLD: _by_cold,
    Measure.DAYS: _by_days,
    Measure.DAY_SHORTENED: _by_day_length,
}


def _or_never(at: int | None) -> float:
    return inf if at is None else at


def _next(start: int, sums: list[float]) -> int:
    """The place after the stage counted from, inside the course."""
    return min(max(0, start + 1), len(sums) - 1)


@lru_cache(maxsize=1024)
def shortened_on(latitude: float, hemisphere: Hemisphere, season: int, share: float) -> date | None:
    """The first day of a season whose length has gone a share of the way from the longest to the shortest day.

    A share, because trees answer to the days of where their kind comes from: one willow stops at 15 to 16 h if it
    is from 59° N, at 22 h from 69° N (Physiologia Plantarum 1980, abstract read). None when no such day is left.
    """
    first, last = season_start(season, hemisphere), season_end(season, hemisphere)
    days = [first + timedelta(days=i) for i in range((last - first).days + 1)]
    sun = sun_of_the_year(latitude)
    hours = [sun[min(_YEAR_DAYS, day.timetuple().tm_yday) - 1][1] for day in days]
    longest = hours.index(max(hours))
    bound = max(hours) - share * (max(hours) - min(hours))
    return next((days[i] for i in range(longest, len(days)) if hours[i] <= bound), None)


@dataclass(frozen=True, slots=True)
class Sightings:
    """A stage seen on other trees of the species. days: one for each tree. known: the day the last was known."""

    days: tuple[date, ...]
    known: date

    @property
    def mean(self) -> date:
        """The middle of the days."""
        first = min(self.days)
        return first + timedelta(days=round(sum((day - first).days for day in self.days) / len(self.days)))


@dataclass(frozen=True, slots=True)
class Prediction:
    """When a stage is expected. day: None when no weather known brings it. early, late: the 10 and 90 % points.

    years: how many past years the span is taken from, 0 when normals give it. informed: trees seen that drew it
    towards them. basis: what it rests on.
    """

    day: date | None
    early: date | None
    late: date | None
    basis: Basis
    years: int = 0
    informed: Sightings | None = None


def predict(
    clock: Clock,
    courses: Courses,
    place: StageSite,
    seen: Mapping[str, date],
    elsewhere: Mapping[str, Sightings],
) -> dict[str, Prediction]:
    """The expected date of every stage that the clock has a rule for and that was not seen.

    seen: stages seen on the tree itself, from which later ones are counted. elsewhere: seen on others of its species.
    A stage of which nothing can be said is left out.
    """
    reckoning = _Reckoning(clock, courses, place, seen, elsewhere)
    return {
        stage: found
        for stage in clock
        if stage not in seen and (found := reckoning.prediction(stage)) is not None
    }


class _Reckoning:
    """One season of one clock: for each stage a place in the year along every course and part of the range."""

    def __init__(
        self,
        clock: Clock,
        courses: Courses,
        place: StageSite,
        seen: Mapping[str, date],
        elsewhere: Mapping[str, Sightings],
    ) -> None:
        self._clock = clock
        self._turns = {stage: turn for turn, stage in enumerate(clock)}
        self._courses = courses
        self._known = courses.index(courses.cutoff)
        self._place = place
        self._seen = seen
        self._elsewhere = elsewhere
        self._lines = [Line(courses, number, place) for number in range(max(1, len(courses.years)))]
        self._found: dict[str, list[float] | None] = {}

    def prediction(self, stage: str) -> Prediction | None:
        """What is expected of one stage, None when nothing can be said."""
        places = self._places(stage)
        if places is None:
            return None
        rule, ordered = self._clock[stage], sorted(places)
        middle = ordered[len(ordered) // 2]
        early, late = (ordered[round(share * (len(ordered) - 1))] for share in (0.1, 0.9))
        if not self._courses.years:
            early, late = self._by_normals(rule, early, middle, late)
        day, first, last = (None if at == inf else self._courses.day(at) for at in (middle, early, late))
        basis = self._basis(rule, stage, middle)
        return Prediction(day, first, last, basis, len(self._courses.years), self._elsewhere.get(stage))

    def _places(self, stage: str) -> list[float] | None:
        if stage not in self._found:
            self._found[stage] = None  # where rules go round in a ring, they end here
            self._found[stage] = self._informed(stage, self._reckon(stage))
        return self._found[stage]

    def _reckon(self, stage: str) -> list[float] | None:
        if stage in self._seen:
            return [float(self._courses.index(self._seen[stage]))] * (len(self._lines) * len(PARTS_OF_RANGE))
        rule = self._clock.get(stage)
        starts = None if rule is None else self._starts(rule)
        if rule is None or starts is None:
            return None
        places = []
        for number, start in enumerate(starts):
            # Each stage takes the parts of its range in another order, so that not all are early together.
            course, part = divmod(number, len(PARTS_OF_RANGE))
            off = PARTS_OF_RANGE[(part + 2 * self._turns[stage]) % len(PARTS_OF_RANGE)] * rule.give_or_take
            is_length = rule.measure is Measure.DAY_SHORTENED
            at = find(rule, rule.amount + off, self._lines[course], start)
            places.append(at + off if is_length else at)
        return places if self._is_telling(rule, starts, places) else None

    def _is_telling(self, rule: StageRule, starts: Sequence[float], places: Sequence[float]) -> bool:
        """Whether the courses say something: they go on past the record, or the record itself brings the stage.

        A record that begins in summer tells nothing of spring.
        """
        middle = sorted(places)[len(places) // 2]
        is_ahead_known = self._courses.is_known or middle < self._known
        is_counted = rule.measure in (Measure.WARMTH, Measure.COLD)
        return is_ahead_known and (
            not is_counted or self._courses.covers(min(starts), min(middle, self._courses.length))
        )

    def _starts(self, rule: StageRule) -> list[float] | None:
        """Where counting starts along every course: the stage counted from, or the clock's first day."""
        if rule.after is not None:
            return self._places(rule.after)
        start = self._courses.index(first_counted(rule.counting, self._place))
        return [float(start)] * (len(self._lines) * len(PARTS_OF_RANGE))

    def _informed(self, stage: str, places: list[float] | None) -> list[float] | None:
        """The places drawn towards what was seen on other trees: the more of them, the further.

        The season's date for the species has the prediction as its prior, and each tree seen as a measurement that
        is off by what trees differ. Any other tree then differs from that date as much again.
        """
        sightings = self._elsewhere.get(stage)
        if sightings is None or places is None or stage in self._seen or inf in places:
            return places
        mean, prior = sum(places) / len(places), self._unsure(places)
        weight = len(sightings.days) / BETWEEN_TREES_DAYS**2
        off = sum(self._courses.index(day) for day in sightings.days) / len(sightings.days)
        sure = 1 / prior**2 + weight
        middle = (mean / prior**2 + off * weight) / sure
        width = min(1.0, sqrt(1 / sure + BETWEEN_TREES_DAYS**2) / prior)
        return [middle + (at - mean) * width for at in places]

    def _unsure(self, places: Sequence[float]) -> float:
        """How far off the places may be, as a standard deviation [days]; by normals at least the calendar's spread."""
        mean = sum(places) / len(places)
        found = max(LEAST_UNSURE_DAYS, sqrt(sum((at - mean) ** 2 for at in places) / len(places)))
        return found if self._courses.years else max(found, 2 * self._place.spread_days / TEN_TO_NINETY)

    def _by_normals(self, rule: StageRule, early: float, middle: float, late: float) -> tuple[float, float]:
        """The span by normals: the calendar's own spread, in the share of the days counted that are yet to come."""
        if rule.measure is Measure.DAY_SHORTENED or middle == inf or rule.after in self._seen:
            return early, late
        start = self._courses.index(first_counted(rule.counting, self._place))
        to_come = max(0.0, min(1.0, (middle - self._known) / max(1.0, middle - start)))
        spread = self._place.spread_days * to_come
        return min(early, middle - spread), max(late, middle + spread)

    def _basis(self, rule: StageRule, stage: str, middle: float) -> Basis:
        parts: list[Statement] = []
        if rule.measure is Measure.WARMTH and rule.after is None:
            parts += self._progress(rule, middle)
        if (sightings := self._elsewhere.get(stage)) is not None:
            parts.append(DrawnTowards(len(sightings.days), sightings.mean))
        if middle != inf and middle > self._known:
            years = len(self._courses.years)
            parts.append(SpanOfYears(years) if years else SpanByNormals())
        return Basis(rule, tuple(parts))

    def _progress(self, rule: StageRule, middle: float) -> Iterator[Statement]:
        """How much has been counted by the end of the record, while the stage is still to come."""
        start = self._courses.index(first_counted(rule.counting, self._place))
        if not start < self._known <= middle:
            return
        sums = self._lines[0].sums(warmth_count(rule.counting))
        yield Counted(round(sums[self._known] - sums[start]), self._courses.cutoff - DAY)
        short = chill_short(rule.counting, self._lines[0], int(middle) + 1) if middle != inf else 0.0
        if short >= TOLD_CHILL_DAYS:
            yield ChillShort(timedelta(days=round(short)))
