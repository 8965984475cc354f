"""Stage clocks, from their models to frozen values: stages looked up, days turned to the place."""

from __future__ import annotations

from collections.abc import Callable

from feedplan.load.findings import Findings
from feedplan.load.models.clock_models import ClockModel, StageRuleModel
from feedplan.load.text.spots import Spot
from feedplan.model.clock import Chill, Counting, Measure, StageRule
from feedplan.model.moment import DayOfYear

_EXACTLY_ONE = "write exactly one of warmth, cold, days and day_shortened"

FindStage = Callable[[str, Spot], str]
Turn = Callable[[DayOfYear, Spot], DayOfYear]


class ClockReader:
    """Builds the clocks of one file. stage: looks a stage up; turn: turns a day to the place."""

    def __init__(self, stage: FindStage, turn: Turn, findings: Findings) -> None:
        self._stage = stage
        self._turn = turn
        self._findings = findings

    def clock(self, model: ClockModel, spot: Spot) -> dict[str, StageRule]:
        """The rules by stage; what is wrong with them is noted."""
        counting = self._counting(model, spot)
        place = spot.at(("stages",))
        rules = {
            self._stage(name, place.key(name)): self._rule(name, part, counting, place)
            for name, part in model.stages.items()
        }
        for stage, rule in rules.items():
            if rule.after is not None and rule.after not in rules:
                self._findings.at(
                    place.at((stage, "after")),
                    f"'{stage}' counts from '{rule.after}', which has no rule here; give it one",
                )
        return rules

    def _counting(self, model: ClockModel, spot: Spot) -> Counting:
        chill = None
        if model.chill is not None:
            need, unit = model.chill.need
            chill = Chill(
                float(model.chill.below),
                self._turn(model.chill.count_from, spot.at(("chill", "count_from"))),
                need if unit == "days" else None,
                need if unit == "hours" else None,
                float(model.chill.each_day_short),
            )
        first = self._turn(model.count_from, spot.at(("count_from",)))
        return Counting(float(model.base), first, None if model.upper is None else float(model.upper), chill)

    def _rule(self, name: str, part: StageRuleModel, counting: Counting, place: Spot) -> StageRule:
        spot = place.at((name,))
        given = [m for m in Measure if getattr(part, m.value) is not None]
        if len(given) != 1:
            self._findings.at(place.key(name), f"what brings '{name}' is not clear; {_EXACTLY_ONE}")
        measure = given[0] if given else Measure.DAYS
        if measure is Measure.COLD and part.below is None:
            self._findings.at(
                spot.key("cold"), f"cold of '{name}' has no 'below'; write for example below: 20 °C"
            )
        if measure in (Measure.COLD, Measure.DAYS) and part.after is None:
            self._findings.at(
                place.key(name), f"'{name}' does not say which stage it counts from; write after:"
            )
        return StageRule(
            measure=measure,
            amount=float(getattr(part, measure.value) or 0),
            give_or_take=part.give_or_take,
            counting=counting,
            after=None if part.after is None else self._stage(part.after, spot.at(("after",))),
            below_c=None if part.below is None else float(part.below),
            at_least_days=part.at_least,
            at_most_days=part.at_most,
            source=place.key(name).source,
        )
