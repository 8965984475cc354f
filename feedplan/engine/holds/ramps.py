"""How feeding is taken up again after holds: one ramp for each run of holds that overlap."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from feedplan.model.course import Hold
from feedplan.model.hold import Action


@dataclass(frozen=True, slots=True)
class Ramp:
    """How feeding is taken up again. begins: first day free of every hold it answers for."""

    begins: date
    steps: tuple[Decimal, ...]
    step_days: int
    holds: tuple[Hold, ...]

    @property
    def last_step(self) -> date:
        """The day of its last step, where every feed of it is given on its day."""
        return self.begins + timedelta(days=self.step_days * (len(self.steps) - 1))


def ramps_after(holds: Sequence[Hold]) -> tuple[Ramp, ...]:
    """One ramp per run of overlapping holds on liquid feed, the gentlest of the run; never chained."""
    runs: list[list[Hold]] = []
    free_from: date | None = date.min
    for hold in holds:
        if Action.LIQUID not in hold.rule.stops or hold.turned is not None:
            continue
        if free_from is None or (runs and hold.start <= free_from):
            runs[-1].append(hold)
        else:
            runs.append([hold])
            free_from = date.min
        free_from = None if free_from is None or hold.end is None else max(free_from, hold.end)
    ramps = []
    for run in runs:
        ends = [hold.end for hold in run if hold.end is not None]
        if len(ends) == len(run):
            gentlest = min(run, key=lambda h: (h.rule.ramp[0], -len(h.rule.ramp), -h.rule.ramp_step_days))
            ramps.append(Ramp(max(ends), gentlest.rule.ramp, gentlest.rule.ramp_step_days, tuple(run)))
    return tuple(ramps)
