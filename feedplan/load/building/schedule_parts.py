"""The parts of a schedule, from its model to frozen values: stages looked up, days turned to the place."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from itertools import combinations

from feedplan.dose.strength import PpmN
from feedplan.load.building.vocabulary import Words
from feedplan.load.findings import Findings
from feedplan.load.models.schedule_models import PeriodModel, ScheduleModel, WaterModel
from feedplan.load.text.spots import Spot
from feedplan.model.moment import AtStage, DayOfYear, FirstOf, Hemisphere, LastOf, Moment
from feedplan.model.schedule import FeedingPeriod, SolidPeriod, WaterRow


class PartReader:
    """Builds the parts of schedules for one place.

    turns: tells whether the days at a place in a file are meant for the other hemisphere.
    """

    def __init__(
        self, words: Words, place: Hemisphere, turns: Callable[[Spot], bool], findings: Findings
    ) -> None:
        self._words = words
        self._place = place
        self._turns = turns
        self._findings = findings

    def periods(self, model: ScheduleModel, spot: Spot) -> tuple[FeedingPeriod, ...]:
        """The feeding periods, in the order written; problems and overlaps are noted."""
        if isinstance(model.feeding, str):
            return ()
        place = spot.at(("feeding",))
        liquid = [(name, part) for name, part in model.feeding.items() if part.solid is None]
        periods = tuple(self._period(name, part, place) for name, part in liquid)
        for earlier, later in combinations(periods, 2):
            if self._overlap(earlier, later):
                self._findings.warn(
                    place.key(later.name),
                    f"feeding period '{later.name}' overlaps '{earlier.name}'; the one written first counts",
                )
        return periods

    def _period(self, name: str, part: PeriodModel, place: Spot) -> FeedingPeriod:
        spot = place.child(name) or place
        start = self._moment(part.start, spot.at(("from",)), f"from of feeding period '{name}'")
        stop = self._moment(part.stop, spot.at(("to",)), f"to of feeding period '{name}'")
        gap = part.min_gap or -(-part.every * 7 // 10)
        if part.strength is None:
            self._findings.at(
                place.child(name) or place,
                f"feeding period '{name}' has no 'strength'; write for example strength: 150 ppm N",
            )
        if part.lift is not None:
            self._findings.at(spot.key("lift"), f"lift of feeding period '{name}' goes with solid; remove it")
        if gap > part.every:
            every, own = spot.at(("every",)), spot.at(("min_gap",))
            self._findings.at(
                own if every.file == own.file else every,
                f"feeding period '{name}': min_gap {gap} days is longer than every {part.every} days; shorten it",
            )
        self._check_order(name, start, stop, spot)
        return FeedingPeriod(
            name,
            start,
            stop,
            part.every,
            gap,
            part.strength or PpmN(Decimal(0)),
            part.root_zone_above,
            part.air_below,
            place.key(name).source,
            part.ratio,
        )

    def solid_periods(self, model: ScheduleModel, spot: Spot) -> tuple[SolidPeriod, ...]:
        """The periods in which solid feed is laid, in the order written; problems are noted."""
        if isinstance(model.feeding, str):
            return ()
        place = spot.at(("feeding",))
        solid = [(name, part) for name, part in model.feeding.items() if part.solid is not None]
        return tuple(self._solid_period(name, part, place) for name, part in solid)

    def _solid_period(self, name: str, part: PeriodModel, place: Spot) -> SolidPeriod:
        spot = place.child(name) or place
        start = self._moment(part.start, spot.at(("from",)), f"from of feeding period '{name}'")
        stop = self._moment(part.stop, spot.at(("to",)), f"to of feeding period '{name}'")
        for key in ("strength", "ratio", "min_gap", "root_zone_above", "air_below"):
            if getattr(part, key) is not None:
                self._findings.at(
                    spot.key(key),
                    f"{key} of feeding period '{name}' goes with liquid feed; remove it or solid",
                )
        self._check_order(name, start, stop, spot)
        lift = None
        if part.lift is not None:
            lift = self._moment(part.lift, spot.at(("lift",)), f"lift of feeding period '{name}'")
        return SolidPeriod(
            name,
            start,
            stop,
            part.every,
            part.solid.grams_per_l if part.solid is not None else None,
            part.solid.n_mg_per_l if part.solid is not None else None,
            lift,
            place.key(name).source,
        )

    def _check_order(self, name: str, start: Moment, stop: Moment, spot: Spot) -> None:
        """Notes a period whose days come in the wrong order."""
        span = self._days(start, stop)
        if span is not None and span[0] > span[1]:
            self._findings.at(
                spot.at(("to",)),
                f"to of feeding period '{name}': {stop} comes before {start} in the growing year; "
                "swap them, or split the period where the year turns",
            )

    def _days(self, start: Moment, stop: Moment) -> tuple[tuple[int, int], tuple[int, int]] | None:
        """First and last day as places in the growing year, None when a stage decides."""
        if not isinstance(start, DayOfYear) or not isinstance(stop, DayOfYear):
            return None
        return self._in_year(start), self._in_year(stop)

    def _in_year(self, day: DayOfYear) -> tuple[int, int]:
        """A day's place in the growing year, which begins in January in the north and in July in the south."""
        return ((day.month + 5) % 12 if self._place is Hemisphere.SOUTH else day.month - 1), day.day

    def _overlap(self, one: FeedingPeriod, other: FeedingPeriod) -> bool:
        first, second = self._days(one.start, one.stop), self._days(other.start, other.stop)
        return first is not None and second is not None and first[0] <= second[1] and second[0] <= first[1]

    def _moment(self, moment: Moment, spot: Spot, what: str) -> Moment:
        """The moment with its stages as the vocabulary calls them and its days turned to the place."""
        match moment:
            case DayOfYear():
                return moment.turned() if self._turns(spot) else moment
            case AtStage(stage, offset, seen_only):
                return AtStage(self.stage(stage, spot, what), offset, seen_only)
            case FirstOf(moments):
                return FirstOf(tuple(self._moment(inner, spot, what) for inner in moments))
            case LastOf(moments):
                return LastOf(tuple(self._moment(inner, spot, what) for inner in moments))

    def stage(self, text: str, spot: Spot, what: str) -> str:
        """The stage a text names, as the vocabulary calls it; an unknown one is noted."""
        found = self._words.stage(text)
        if found is None:
            self._findings.at(spot, f"{what}: no stage is called '{text}'{self._words.stage_hint(text)}")
        return found or text

    def water(self, model: ScheduleModel, spot: Spot) -> tuple[WaterRow, ...]:
        """The water table, in the order written."""
        place = spot.at(("water",))
        if not model.water:
            self._findings.at(
                place, "water has no rows; write for example dormant: {shallow: twice a week, ...}"
            )
        rows = tuple(self._row(name, part, place.key(name)) for name, part in model.water.items())
        for row, name in zip(rows, model.water, strict=True):
            if row.stage != name and row.stage in model.water:
                self._findings.at(
                    place.key(name), f"water: '{name}' means {row.stage}, which has a row; keep one"
                )
        return rows

    def _row(self, name: str, part: WaterModel, spot: Spot) -> WaterRow:
        stage = self.stage(name, spot, "water")
        return WaterRow(stage, part.shallow, part.medium, part.deep, part.weak, spot.source)

    def look_for(self, model: ScheduleModel, spot: Spot) -> dict[str, str]:
        """What to look for, by stage."""
        place = spot.at(("look_for",))
        return {
            self.stage(name, place.key(name), "look_for"): words for name, words in model.look_for.items()
        }
