"""What no entry of the journal changes: the days of a plan, and what the weather of them says.

What it says of stages is worked out once for all trees it is the same for.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property

from feedplan.engine.feeding.release import Release
from feedplan.engine.growing_year import DAY, day_in_season, season_end, season_of, season_start
from feedplan.engine.outdoors.daily_et import DailyEt, site_of
from feedplan.engine.outdoors.outdoors import Outdoors
from feedplan.engine.sink.shelf import SOON
from feedplan.engine.stages.courses import Courses, DailyCounts
from feedplan.engine.stages.prediction import (
    Prediction,
    Sightings,
    StageSite,
    first_counted,
    predict,
    warmth_count,
)
from feedplan.engine.stages.stages import Foretold, Record
from feedplan.engine.stages.typical import TypicalYear
from feedplan.model.climate import Climate
from feedplan.model.collection import Collection
from feedplan.model.journal import Journal
from feedplan.model.moment import DayOfYear
from feedplan.model.stage import Clock, Measure, StageRule


@dataclass(frozen=True)
class Frame:
    """What no entry of the journal changes: the collection, the days looked at, and the weather of them.

    climate: as known today. first, last: the days planned, whole seasons, with as many after today as the shelf is told
    for. reach: a season more, in which the next feed of each tree and the next opening of each feeding period are
    looked for. seasons: all of them and the next. start, earliest: the first day shown, and the first of any entry.
    """

    today: date
    start: date
    earliest: date
    first: date
    seasons: range
    climate: Climate | None
    collection: Collection

    @classmethod
    def around(
        cls,
        collection: Collection,
        journal: Journal,
        today: date,
        shown: tuple[date, date],
        climate: Climate | None,
    ) -> Frame:
        """The days around those shown, from the first that counts on."""
        start, end = min(shown[0], today), max(shown[1], today + SOON)
        hemisphere = collection.place.hemisphere
        earliest = min([start, *(e.day for e in journal.entries)])
        first = collection.since or season_start(season_of(earliest, hemisphere) - 1, hemisphere)
        first_season = min(season_of(first, hemisphere), season_of(start, hemisphere) - 1)
        seasons = range(first_season, season_of(end, hemisphere) + 2)
        known = climate.as_of(today) if climate is not None else None
        return cls(today, start, earliest, first, seasons, known, collection)

    @property
    def last_season(self) -> int:
        """The season of the last day shown."""
        return self.seasons[-1] - 1

    @cached_property
    def last(self) -> date:
        """The last day planned."""
        return season_end(self.last_season, self.collection.place.hemisphere)

    @cached_property
    def reach(self) -> date:
        """The last day looked at."""
        return season_end(self.last_season + 1, self.collection.place.hemisphere)

    @cached_property
    def outdoors(self) -> Outdoors:
        """The weather as feeding meets it."""
        days = min(self.first, self.start), self.reach
        place = self.collection.place
        return Outdoors(self.climate, self.collection.habits, self.today, days, site_of(place))

    @cached_property
    def daily_et(self) -> DailyEt | None:
        """The reference evapotranspiration of each day; None without any weather."""
        return None if self.climate is None else DailyEt(self.climate, self.collection.place)

    @cached_property
    def release(self) -> Release:
        """What solid feeds give with the warmth."""
        return Release(self.climate, min(self.first, self.earliest), self.last)

    @cached_property
    def foretelling(self) -> Foretelling | None:
        """What the weather says of growth stages; None without any weather."""
        return None if self.climate is None else Foretelling(self.collection, self.climate, self.today)


SeenOnSpecies = Mapping[tuple[str, int], Mapping[str, Sightings]]
"""What was seen on trees of a species in a season, by stage."""


@dataclass(frozen=True, slots=True)
class _Known:
    """A species' clock, told apart by `key` from all others."""

    key: int
    clock: Clock


class Foretelling:
    """The weather of one pass, and every prediction made from it so far. climate: as known on the day of the plan."""

    def __init__(self, collection: Collection, climate: Climate, today: date) -> None:
        self._collection = collection
        self._place = collection.place
        self._record = DailyCounts(climate)
        self._courses: dict[int, Courses] = {}
        self._clocks: dict[tuple[object, ...], _Known] = {}
        self._found: dict[tuple[object, ...], Mapping[str, Prediction]] = {}
        self._far_season = season_of(today, self._place.hemisphere) + 2

    def told(
        self, record: Record, fallbacks: tuple[str, ...], species: str, seen_on: SeenOnSpecies
    ) -> Record:
        """A record that knows what the weather says, by its species' clock with what was learned fitted in.

        fallbacks: the calendars that stand in for stages the species' own lacks.
        """
        known = self._known(record.typical, fallbacks, species)
        typical = replace(record.typical, clock=known.clock)
        foretold = self._foretold(known, record.typical.calendar.spread_days, species, seen_on)
        return Record(record.entries, typical, record.vocabulary, record.hemisphere, foretold)

    def _foretold(self, known: _Known, spread_days: int, species: str, seen_on: SeenOnSpecies) -> Foretold:

        def foretold(season: int, seen: Mapping[str, date]) -> Mapping[str, Prediction]:
            elsewhere = seen_on.get((species, season), {})
            key = (known.key, season, frozenset(seen.items()), frozenset(elsewhere.items()))
            if key not in self._found:
                place = StageSite(float(self._place.latitude), self._place.hemisphere, season, spread_days)
                self._found[key] = predict(known.clock, self._of(season), place, seen, elsewhere)
            return self._found[key]

        return foretold

    def _of(self, season: int) -> Courses:
        if season not in self._courses:
            self._courses[season] = Courses(self._record, season, self._place.hemisphere)
        return self._courses[season]

    def _known(self, typical: TypicalYear, fallbacks: tuple[str, ...], species: str) -> _Known:
        learned = {
            stage: rule
            for (word, stage), rule in self._collection.learned.items()
            if word == species.casefold()
        }
        own = tuple(typical.own.items())
        key = (typical.calendar.name, fallbacks, own, species if learned else "")
        if key not in self._clocks:
            rules = self._with_own_dates(typical) | learned
            ordered = {stage: rules[stage] for stage, _ in typical.dates if stage in rules}
            self._clocks[key] = _Known(len(self._clocks), ordered)
        return self._clocks[key]

    def _with_own_dates(self, typical: TypicalYear) -> dict[str, StageRule]:
        """The clock, set so that in the middle of all years it meets the dates the grower wrote.

        A stage that is not brought by warmth keeps the date written.
        """
        rules = dict(typical.clock)
        for stage, day in typical.own.items():
            rule = rules.pop(stage, None)
            if rule is not None and rule.measure is Measure.WARMTH:
                amount = self._warmth_by(rule, day)
                if amount > 0:
                    share = rule.give_or_take / rule.amount if rule.amount else 0.0
                    rules[stage] = replace(
                        rule,
                        amount=round(amount),
                        give_or_take=round(amount * share),
                        after=None,
                        at_least_days=None,
                        at_most_days=None,
                        own_date=True,
                    )
        return {s: rule for s, rule in rules.items() if rule.after is None or rule.after in rules}

    def _warmth_by(self, rule: StageRule, day: DayOfYear) -> float:
        """Degree days by a day of the year, the middle of all years on record, or by normals [° day]."""
        season, courses = self._far_season, self._of(self._far_season)
        place = StageSite(0.0, self._place.hemisphere, season, 0)
        start = courses.index(first_counted(rule.counting, place))
        end = courses.index(day_in_season(day, season, place.hemisphere) + DAY)
        if not courses.is_known or end <= start:
            return 0.0
        found = sorted(sums[end] - sums[start] for sums in courses.sums(warmth_count(rule.counting)))
        return found[len(found) // 2]
