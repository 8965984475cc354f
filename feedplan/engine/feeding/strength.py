"""How strong a feed may be: as the schedule asks, weakened by a ramp, by what a hold left behind, by label and can."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

from feedplan.dose.arithmetic import amount_per_litre
from feedplan.dose.grade import Ratio
from feedplan.dose.strength import PpmN, Strength
from feedplan.engine.care import Care
from feedplan.engine.feeding.restrictions import Restrictions
from feedplan.engine.holds.holds import SeasonLimit
from feedplan.engine.holds.ramps import Ramp
from feedplan.engine.sink.can import reach, to_mix_from
from feedplan.model.collection import Feed
from feedplan.model.journal import Entry, Fed
from feedplan.model.reason import (
    CappedAfter,
    LabelMaximum,
    LittleNitrogen,
    OverCeiling,
    RampStep,
    Reason,
    Rule,
)

ONE = Decimal(1)


def strength_ppm(strength: Strength, feed: Feed | None) -> Decimal:
    """A strength as nitrogen in the can [mg N/L]; a share of the label rate needs the product, else 0."""
    if isinstance(strength, PpmN):
        return strength.n_mg_per_l
    if feed is None or feed.product.label_rate_per_l is None:
        return Decimal(0)
    return amount_per_litre(feed.product, strength) * feed.n_mg_per_g


@dataclass(slots=True)
class RampState:
    """The ramp in progress: the step the next feed takes. passed_by: one was asked for on that step and not given."""

    ramp: Ramp
    step: int = 0
    passed_by: bool = False

    def go_on(self, *, is_given: bool) -> None:
        """A feed was asked for: given, the next one takes the next step, else that step again."""
        self.step += is_given
        self.passed_by = not is_given

    @property
    def sets_interval(self) -> bool:
        """Whether the next feed keeps the ramp's interval: one not given leaves those told with it on their days."""
        return self.step + self.passed_by < len(self.ramp.steps)

    @property
    def running(self) -> bool:
        """Whether a step is left."""
        return self.step < len(self.ramp.steps)


def limits_on(restrictions: Restrictions, day: date) -> list[SeasonLimit]:
    """The ceilings that hold on a day: those left behind, and those of holds fed in all the same."""
    inside = [SeasonLimit(hold, day, day) for hold in restrictions.holds if hold.covers(day)]
    return [*(limit for limit in restrictions.limits if limit.first <= day <= limit.last), *inside]


def weakened(
    plan: Decimal, feed: Feed | None, ramp: RampState | None, limits: Sequence[SeasonLimit]
) -> tuple[Decimal, Decimal, list[Reason]]:
    """A planned strength after ramp and caps, the smallest of them and never their product [mg N/L].

    Also the ramp's share of it [0-1], and why.
    """
    reasons: list[Reason] = []
    share = ONE
    if ramp is not None and ramp.running:
        share = ramp.ramp.steps[ramp.step]
        hold = ramp.ramp.holds[-1]
        if share < ONE:
            step = RampStep(hold.rule.name, hold.start, share * 100)
            reasons.append(Reason(Rule.RAMP, step, hold.rule.source, hold.entry))
    ppm = plan * share
    for limit in limits:
        rule = limit.hold.rule
        caps = [plan * rule.cap_share if rule.cap_share is not None else None, rule.cap_ppm]
        cap = min((c for c in caps if c is not None), default=None)
        if cap is not None and cap < ppm:
            ppm = cap
            reasons.append(Reason(Rule.CAP, CappedAfter(rule.name, cap), rule.source, limit.hold.entry))
    highest = None if feed is None else feed.product.highest_per_l
    if feed is not None and highest is not None and highest * feed.n_mg_per_g < ppm:
        ppm = highest * feed.n_mg_per_g
        most = LabelMaximum(feed.name, highest, feed.product.unit, ppm)
        reasons.append(Reason(Rule.LABEL, most, feed.source))
    return ppm, share, reasons


def reached(
    ppm: Decimal, feed: Feed | None, ratio: Ratio | None, care: Care, day: date
) -> tuple[Decimal, tuple[Reason, ...]]:
    """The nitrogen that the can of a day really reaches of what is asked [mg N/L], and what keeps it below that."""
    schedule, group = care.schedule_on(day), care.collection.groups[care.group_on(day)]
    shelf = () if ratio is None else to_mix_from(group, care.collection)
    most = care.collection.habits.most_products
    found = reach(ppm, shelf if feed is None else (feed,), ratio, most, schedule.ceilings)
    if found.ppm == ppm:
        return ppm, ()
    asked, got = ppm.quantize(ONE, ROUND_HALF_UP), found.ppm.quantize(ONE, ROUND_HALF_UP)
    if found.passed is None:
        source = group.source if feed is None else feed.source
        return found.ppm, (Reason(Rule.SHELF, LittleNitrogen(found.products, asked, got), source),)
    over = found.passed
    holds = over.holds.quantize(Decimal("0.1") if over.holds < 10 else ONE, ROUND_HALF_UP)
    fact = OverCeiling(found.products, over.what, holds, over.most, asked, got)
    return found.ppm, (Reason(Rule.CEILING, fact, schedule.source),)


def given_ppm(entry: Entry | None, asked: Decimal, asked_feed: str | None, care: Care) -> Decimal:
    """The nitrogen of a recorded feed [mg N/L]: as told; else as asked, or as near as another product comes to that."""
    fact = None if entry is None else entry.fact
    if not isinstance(fact, Fed):
        return asked
    other = None if fact.feed == asked_feed else care.collection.feeds.get(fact.feed or "")
    if fact.ppm is not None or other is None:
        return asked if fact.ppm is None else fact.ppm
    return reach(asked, (other,), None, 1, None).ppm
