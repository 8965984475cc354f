"""How often to look at some trees through their seasons, from weather, pot and tree."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_UP, Decimal
from itertools import pairwise
from typing import Protocol

from feedplan.engine.growing_year import DAY, season_of, season_start
from feedplan.engine.outdoors.benches import bench_on
from feedplan.engine.water.balance import Balance
from feedplan.engine.water.check_rates import IN_LEAF, LADDER, changes_in, least_step, steady_steps
from feedplan.engine.water.demand import Demand, demand_of, thirstiest
from feedplan.engine.water.leaf_course import leaf_course
from feedplan.engine.water.vessels import Vessel, substrate_of, vessel_of
from feedplan.model.collection import PotClass, Tree
from feedplan.model.schedule import CheckRate
from feedplan.model.season import Timeline
from feedplan.weather.water_quality import gross_from_net


@dataclass(frozen=True, slots=True)
class Step:
    """A rate from one day on.

    label: what it is called for ever. cuts: it begins a stretch of its own though the rate before was the same.
    """

    first: date
    rate: CheckRate
    label: str
    cuts: bool = False


Course = Sequence[Step]


@dataclass(frozen=True, slots=True)
class PotsAlike:
    """Trees of one timeline whose pots are of one class. weak: they count as weak."""

    timeline: Timeline
    pot_class: PotClass
    weak: bool
    trees: tuple[Tree, ...]


@dataclass(frozen=True, slots=True)
class Thirst:
    """What some trees drink on the usual day of a stretch. litres: to pour [L]; first: those that dry fastest."""

    litres: Decimal
    first: tuple[str, ...]


class Courses(Protocol):
    """A source of courses; the last step of a course only ends the one before it."""

    def course(self, pots: PotsAlike) -> Course:
        """The rates of some trees, in day order."""

    def thirst(self, members: Sequence[PotsAlike], first: date, last: date) -> Thirst | None:
        """What the trees drink between two days, None where that is not known."""


LONGEST_STEP_DAYS = 366
DAYS_PAST_SHOWN = 180
"""So far past the last day shown a walk goes at first: longer than most rates last."""


class WeatherCourses:
    """Courses from normals, pots and stages.

    today: decides the bench. span: the first day walked, the last one shown, and the last one walked where a rate
    goes on past what is shown.
    The past and the forecast have no say in them, so that they stay as they are from day to day; a few days of
    heat ahead stand in stretches of their own. Indoors the weather does not count and the table does.
    """

    def __init__(self, balance: Balance, table: Courses, today: date, span: tuple[date, date, date]) -> None:
        self.balance = balance
        self._table = table
        self._today = today
        self.first, self._shown, last = span
        self._count = (last - self.first).days + 1
        self._near = min(self._count, (self._shown - self.first).days + DAYS_PAST_SHOWN)
        self._et0 = balance.skies.normal_et0(self.first, self._count)
        self._vessels: dict[tuple[str, PotClass, str], Mapping[Vessel, tuple[Tree, ...]] | None] = {}
        self._steps: dict[object, Course] = {}
        self._least: dict[object, Sequence[int]] = {}

    def vessels(self, pots: PotsAlike) -> Mapping[Vessel, tuple[Tree, ...]] | None:
        """The trees by vessel; None when any of them stands indoors."""
        key = (pots.timeline.lineage, pots.pot_class, pots.trees[0].name)
        if key not in self._vessels:
            self._vessels[key] = self._sorted_by_vessel(pots)
        return self._vessels[key]

    def _sorted_by_vessel(self, pots: PotsAlike) -> Mapping[Vessel, tuple[Tree, ...]] | None:
        timeline, collection = pots.timeline, self.balance.collection
        group = timeline.group_on(self._today)
        found: dict[Vessel, list[Tree]] = {}
        for tree in pots.trees:
            bench = bench_on(tree, group, timeline.entries, collection, self._today)
            if bench.indoors:
                return None
            vessel = vessel_of(tree, substrate_of(tree, group, collection), bench)
            found.setdefault(vessel, []).append(tree)
        return {vessel: tuple(trees) for vessel, trees in found.items()}

    def leaf(self, timeline: Timeline) -> Sequence[float]:
        """The share of water use on each day walked."""
        return leaf_course(self.balance.knots(timeline), self.first, self._count)

    def leaf_on(self, timeline: Timeline, day: date) -> float:
        """The share of water use on one of the days walked."""
        return self.leaf(timeline)[(day - self.first).days]

    def course(self, pots: PotsAlike) -> Course:
        """The rates of some trees, in day order."""
        vessels = self.vessels(pots)
        if vessels is None:
            return self._table.course(pots)
        demands = [demand_of(vessel) for vessel in vessels]
        known = thirstiest(demand for demand in demands if demand is not None)
        shallow = pots.pot_class is PotClass.SHALLOW
        if None in demands:
            return self._labelled([len(LADDER) - 1] * self._count)
        key = (self.balance.knots(pots.timeline), known, shallow, pots.weak)
        if key not in self._steps:
            course = self._labelled(self._walk(known, pots, self._near))
            if course[-2].first <= self._shown and self._near < self._count:
                course = self._labelled(self._walk(known, pots, self._count))
            self._steps[key] = course
        return self._steps[key]

    def _walk(self, demands: Sequence[Demand], pots: PotsAlike, count: int) -> Sequence[int]:
        """The steps of so many days."""
        leaf = self.leaf(pots.timeline)[:count]
        each = [demand.over(self._et0[:count], leaf) for demand in demands]
        thirst = each[0] if len(each) == 1 else list(map(max, *each))
        return steady_steps(thirst, self._floors(pots)[:count])

    def _floors(self, pots: PotsAlike) -> Sequence[int]:
        """The least step of each day walked, worked out once for trees of one year and kind of pot."""
        shallow = pots.pot_class is PotClass.SHALLOW
        key = (self.balance.knots(pots.timeline), shallow, pots.weak)
        if key not in self._least:
            leaf = self.leaf(pots.timeline)
            self._least[key] = [least_step(share, shallow=shallow, weak=pots.weak) for share in leaf]
        return self._least[key]

    def _labelled(self, steps: Sequence[int]) -> Course:
        """Steps by day, one that lasts for over a year cut where seasons begin; the last day walked ends the course."""
        hemisphere = self.balance.collection.place.hemisphere
        places = [*changes_in(steps), len(steps) - 1]
        course: list[Step] = []
        for place, end in pairwise(places):
            rate, first = LADDER[steps[place]], self.first + DAY * place
            starts = [first]
            is_long = end - place > LONGEST_STEP_DAYS
            if is_long:
                seasons = range(season_of(first, hemisphere) + 1, first.year + len(steps) // 365 + 2)
                cuts = (season_start(season, hemisphere) for season in seasons)
                starts += [cut for cut in cuts if first < cut < self.first + DAY * end]
            for day in starts:
                # What began before the first day walked keeps the season it began in.
                season = season_of(day, hemisphere) - (day == self.first and not is_long)
                course.append(Step(day, rate, f"{season}/{rate.name}", cuts=day != first))
        last = self.first + DAY * (len(steps) - 1)
        return [*course, Step(last, LADDER[steps[-1]], f"{season_of(last, hemisphere)}/end")]

    def thirst(self, members: Sequence[PotsAlike], first: date, last: date) -> Thirst | None:
        """What the trees drink between two days."""
        use_l = 0.0
        dryness: list[tuple[float, tuple[Tree, ...]]] = []
        start, stop = max(0, (first - self.first).days), (last - self.first).days + 1
        for pots in members:
            vessels = self.vessels(pots)
            if vessels is None:
                return None
            et0, leaf = self._et0[start:stop], self.leaf(pots.timeline)[start:stop]
            days = max(1, len(et0))
            mean_et0 = sum(et0) / days
            drawn = sum(e * share for e, share in zip(et0, leaf, strict=True)) / days
            mean_leaf = drawn / mean_et0 if mean_et0 > 0 else 0.0
            for vessel, trees in vessels.items():
                each_l = vessel.use_l(mean_et0, mean_leaf)
                use_l += each_l * sum(tree.count for tree in trees)
                dryness.append((vessel.thirst(each_l, dormant=mean_leaf < IN_LEAF), trees))
        dryness.sort(key=lambda pair: (-pair[0], pair[1][0].name))
        first_names = tuple(tree.name for _, trees in dryness for tree in trees)[:NAMED_FIRST]
        poured_l = gross_from_net(use_l, float(self.balance.collection.habits.drain_share))
        return Thirst(two_figures(poured_l), first_names)


NAMED_FIRST = 3


def two_figures(litres: float | Decimal) -> Decimal:
    """Litres to two figures, never fewer than there are [L]: no pot is known better."""
    amount = Decimal(str(litres))
    if amount <= 0:
        return Decimal(0)
    return amount.quantize(Decimal(1).scaleb(amount.adjusted() - 1), ROUND_UP)
