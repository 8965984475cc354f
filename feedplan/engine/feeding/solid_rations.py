"""How much of the season's nitrogen each laying of solid feed may take, so that all of them and the can fit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import ROUND_FLOOR, Decimal

from feedplan.engine.feeding.solid_counts import Laying, gives_mg_per_l
from feedplan.engine.feeding.solid_periods import (
    SolidPlan,
    SolidWindow,
    feed_of_window,
    first_with_feed,
    rate_of,
)
from feedplan.model.reason import CutToFit, NoRoomForSolid, Reason, Rule

# Grams to the litre are told to a tenth, below one to a hundredth; what is cut is cut to what is told.
_TENTH, _HUNDREDTH = Decimal("0.1"), Decimal("0.01")


@dataclass(frozen=True, slots=True)
class Ration:
    """How much is laid [g per L of container], 0 where too little is left, and why it is less than asked for."""

    grams_per_l: Decimal
    reasons: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True)
class Rations:
    """Shares out what solid feed may take of each season among the layings still to come, all alike.

    It is the season's budget less what is given already and less a share of what the can is still to bring: with both,
    the can is halved (common practice, no source), a key of the schedule. So a row of layings keeps its interval and
    each is lighter, as small doses are laid in practice, and the can is trimmed to the rest. lifts: by season and
    period.
    """

    plan: SolidPlan
    windows: Sequence[SolidWindow]
    lifts: Mapping[str, date]

    def ration(
        self, window: SolidWindow, laying: Laying, grams_per_l: Decimal, there: Sequence[Laying]
    ) -> Ration:
        """How much of a laying is laid. there: those before it, also what was asked for and not done."""
        schedule, season = window.schedule, window.season
        left = max(self._left(window, laying.laid, there), Decimal(0))
        wanted = self._counted(laying, season) + sum(self._following(window, laying), Decimal(0))
        if wanted <= left:
            return Ration(grams_per_l)
        cut = grams_per_l * left / wanted
        cut = cut.quantize(_TENTH if cut >= 1 else _HUNDREDTH, ROUND_FLOOR)
        budget = schedule.budget_mg_n_per_l
        if cut < grams_per_l * schedule.least_laying:
            total = budget - left + self._counted(laying, season)
            return Ration(
                Decimal(0), (Reason(Rule.BUDGET, NoRoomForSolid(budget, round(total)), schedule.source),)
            )
        return Ration(
            cut, (Reason(Rule.BUDGET, CutToFit(budget, cut, round(grams_per_l, 2)), schedule.source),)
        )

    def _left(self, window: SolidWindow, day: date, there: Sequence[Laying]) -> Decimal:
        """What is left of a season for solid feed [mg N per L of container]."""
        counter, season = self.plan.counter, window.season
        solid = sum(
            (counter.in_season(one, season, max(one.known, day)) for one in there if one.known <= day),
            Decimal(0),
        )
        liquid = self.plan.liquid_mg_per_l(season, window.schedule.beside_solids)
        return window.schedule.budget_mg_n_per_l - solid - liquid

    def _counted(self, laying: Laying, season: int) -> Decimal:
        return self.plan.counter.in_season(laying, season, laying.laid)

    def _following(self, window: SolidWindow, laying: Laying) -> Iterator[Decimal]:
        """What each laying of the season after one would give in it, as asked for [mg N per L of container]."""
        day = laying.laid
        for later in self.windows:
            if later.season != window.season or later.last < laying.laid:
                continue
            every = timedelta(days=later.period.every_days)
            while (due := first_with_feed(self.plan.care, later, max(later.first, day + every))) is not None:
                day, lift = due, self.lifts[later.name]
                feed = feed_of_window(self.plan.care, later, day)
                if feed is None or (lift - day) * 2 < every:
                    break
                gives = gives_mg_per_l(feed, rate_of(later.period, feed)[0])
                one = replace(laying, feed=feed, gives=gives, laid=day, lifted=lift)
                yield self._counted(one, later.season)
