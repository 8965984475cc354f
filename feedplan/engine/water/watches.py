"""How often to look at each tree through its seasons: from weather, pot and tree, or from its schedule's table.

The usual rates come from normals, pots and stages. The past and the forecast have no say in them, so that they stay as
they are from day to day; a rate counts by whole weeks, the highest of the week, so that a week has one habit. A few
days of heat, wind or dry air ahead raise it. Nothing lowers it: a hold only adds looks, and indoors, where the weather
does not count, the schedule's table does.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property

from feedplan.engine.care import Care
from feedplan.engine.growing_year import DAY, season_end, season_of, season_start
from feedplan.engine.outdoors.alerts import rise_of, spells_from
from feedplan.engine.outdoors.daily_et import DailyEt, EtDay
from feedplan.engine.season import ChecksBasis, RateStep, Rise, Timeline, Watch
from feedplan.engine.stages.stages import Record
from feedplan.engine.water.balance import Balance, is_hot, is_on_record, is_windy, leaf_course, leaf_on
from feedplan.engine.water.thirst import (
    LADDER,
    Demand,
    Vessel,
    changes_in,
    demand_of,
    heat_step,
    least_step,
    steady_steps,
    step_for,
    vessel_of,
)
from feedplan.model.climate import Climate
from feedplan.model.collection import ChecksBy, Collection, PotClass, Tree
from feedplan.model.course import Hold
from feedplan.model.moment import Hemisphere
from feedplan.model.schedule import CheckRate, WaterRow

LEAD_IN = timedelta(days=90)
"""Longer than a rate takes to come down from the most to the least: a calm week for each step."""


@dataclass(frozen=True, slots=True)
class WatchedDays:
    """The seasons rates are worked out for. today: the day of the plan."""

    seasons: range
    hemisphere: Hemisphere
    today: date

    @property
    def first(self) -> date:
        """The first day of the first season."""
        return season_start(self.seasons[0], self.hemisphere)

    @property
    def last(self) -> date:
        """The last day of the last season."""
        return season_end(self.seasons[-1], self.hemisphere)

    @property
    def this_season(self) -> date:
        """The first day of the season it is."""
        return season_start(season_of(self.today, self.hemisphere), self.hemisphere)


def watched_days(collection: Collection, today: date, start: date, end: date) -> WatchedDays:
    """The whole seasons that the days shown and today touch."""
    hemisphere = collection.place.hemisphere
    first, last = season_of(min(start, today), hemisphere), season_of(max(end, today), hemisphere)
    return WatchedDays(range(first, last + 1), hemisphere, today)


def checks_basis(collection: Collection, climate: Climate | None) -> ChecksBasis:
    """What water checks go by: the weather where its normals are known, unless the grower wants the table."""
    if collection.habits.checks_by is ChecksBy.SCHEDULE:
        return ChecksBasis.TABLE_BY_HABIT
    if climate is None:
        return ChecksBasis.TABLE_NO_CLIMATE
    if climate.normals is None:
        return ChecksBasis.TABLE_NO_NORMALS
    return ChecksBasis.NORMALS if climate.forecast_to is None else ChecksBasis.FORECAST


@dataclass(frozen=True, slots=True)
class _Stand:
    """From a day on: the pot in the place where it stands; None where the weather does not count."""

    start: date
    vessel: Vessel | None


@dataclass(frozen=True, slots=True)
class _PotsAlike:
    """Trees of one timeline that dry alike wherever they stood. stands: in day order."""

    trees: tuple[Tree, ...]
    pot_class: PotClass
    weak: bool
    stands: tuple[_Stand, ...]

    def vessel_on(self, day: date) -> Vessel | None:
        """The pot as it stands on a day; None where the weather does not count."""
        return next((stand.vessel for stand in reversed(self.stands) if stand.start <= day), None)


@dataclass(frozen=True, slots=True)
class _Year:
    """The days one season's rates are worked out from: whole weeks, those of LEAD_IN before it included."""

    first: date
    et0_mm: Sequence[float]
    season: slice


class Watching:
    """Works out the watches of one plan; equal pots in equal years are walked through once.

    balance: the pots under the weather, None where checks go by each schedule's table.
    """

    def __init__(self, balance: Balance | None, days: WatchedDays) -> None:
        self._balance = balance
        self._days = days
        self._years = () if balance is None else tuple(_years(balance.daily_et, days))
        self._walked: dict[object, tuple[int, ...]] = {}
        self._merged: dict[tuple[int, ...], tuple[RateStep, ...]] = {}

    def watches(self, timeline: Timeline, record: Record) -> Iterator[Watch]:
        """How often to look at the trees of a timeline, those that dry alike together."""
        for pots in self._alike(timeline):
            watch = Watch(timeline, pots.trees, self._steps(timeline, record, pots))
            rises = tuple(self._rises(watch, pots))
            yield replace(watch, rises=rises) if rises else watch

    def _alike(self, timeline: Timeline) -> list[_PotsAlike]:
        found: dict[tuple[PotClass, bool, tuple[_Stand, ...]], list[Tree]] = {}
        for tree in timeline.trees:
            key = (tree.pot.pot_class, tree.weak, tuple(self._stands(tree, timeline.care)))
            found.setdefault(key, []).append(tree)
        return [_PotsAlike(tuple(trees), *key) for key, trees in found.items()]

    def _stands(self, tree: Tree, care: Care) -> Iterator[_Stand]:
        """Where a tree's pot has stood; a move changes nothing of the days before it."""
        moved = {entry.day for entry in care.moves if self._days.first < entry.day <= self._days.last}
        last: _Stand | None = None
        for day in (self._days.first, *sorted(moved)):
            bench = care.bench_on(tree, day)
            vessel = None
            if self._balance is not None and not bench.indoors:
                vessel = vessel_of(tree, care.substrate_of(tree, day), bench)
            if last is None or vessel != last.vessel:
                last = _Stand(day, vessel)
                yield last

    def _steps(self, timeline: Timeline, record: Record, pots: _PotsAlike) -> tuple[RateStep, ...]:
        """The rates of all days, by the weather or by the table as the trees stand out of doors or not."""
        found: list[RateStep] = []
        ends = [*(stand.start for stand in pots.stands[1:]), self._days.last + DAY]
        for stand, end in zip(pots.stands, ends, strict=True):
            if stand.vessel is None:
                steps = self._by_table(timeline, record, pots)
            else:
                steps = self._by_weather(timeline, record, pots, stand.vessel)
            if len(pots.stands) == 1:
                return steps
            found += _between(steps, stand.start, end)
        return tuple(found)

    # --- by the weather

    def _by_weather(
        self, timeline: Timeline, record: Record, pots: _PotsAlike, vessel: Vessel
    ) -> tuple[RateStep, ...]:
        demand = demand_of(vessel)
        usual = self._walk(timeline, demand, pots.pot_class, pots.weak)
        held = [] if pots.weak else [h for h in timeline.holds if h.rule.water_surface_dry]
        if held:
            usual = self._over_holds(usual, self._walk(timeline, demand, pots.pot_class, True), held)
        usual = self._not_under_table(usual, timeline, record, pots)
        if usual not in self._merged:
            self._merged[usual] = tuple(
                RateStep(self._days.first + DAY * place, LADDER[usual[place]]) for place in changes_in(usual)
            )
        return self._merged[usual]

    def _walk(self, timeline: Timeline, demand: Demand | None, kind: PotClass, weak: bool) -> tuple[int, ...]:
        """The step of every day; a pot that holds nothing within reach is always thirsty.

        Each season is walked by itself, so that its rates are the same whatever other seasons are looked at.
        """
        assert self._balance is not None
        leaf_points, shallow = self._balance.leaf_points(timeline), kind is PotClass.SHALLOW
        key = (leaf_points, demand, shallow, weak)
        if key not in self._walked:
            found: list[int] = []
            for year in self._years:
                leaf = leaf_course(leaf_points, year.first, len(year.et0_mm))
                if demand is None:
                    steps = [len(LADDER) - 1] * len(leaf)
                else:
                    floors = [least_step(share, shallow=shallow, weak=weak) for share in leaf]
                    steps = steady_steps(demand.over(year.et0_mm, leaf), floors)
                found += list(_by_week(steps))[year.season]
            self._walked[key] = tuple(found)
        return self._walked[key]

    def _not_under_table(
        self, usual: tuple[int, ...], timeline: Timeline, record: Record, pots: _PotsAlike
    ) -> tuple[int, ...]:
        """The steps, those of the table on days on which the weather may only add looks.

        Those are the days in a schedule that says so, and those of weak trees and of trees held with roots that must
        dry: cool weather makes a pot dry slowly, and tells nothing of the roots in it.
        """
        spans = tuple(self._least_by_table(timeline, pots))
        if not spans:
            return usual
        steps = list(usual)
        table = self._by_table(timeline, record, pots)
        ends = [*(step.first for step in table[1:]), self._days.last + DAY]
        for step, end in zip(table, ends, strict=True):
            for first, last in spans:
                begin, stop = max(step.first, first, self._days.first), min(end, last)
                for place in range((begin - self._days.first).days, (stop - self._days.first).days):
                    steps[place] = max(steps[place], _step_of(step.rate))
        return tuple(steps)

    def _least_by_table(self, timeline: Timeline, pots: _PotsAlike) -> Iterator[tuple[date, date]]:
        """The spans in which the table's looks are the least, each with the first day after it."""
        after = self._days.last + DAY
        if pots.weak:
            yield self._days.first, after
            return
        for stay in timeline.care.stays:
            if timeline.care.schedule_of(stay).weather_only_adds:
                yield stay.start, min(after, stay.end or after)
        for hold in timeline.holds:
            if hold.rule.water_surface_dry:
                yield hold.start, min(after, hold.until or after)

    def _over_holds(
        self, usual: Sequence[int], weak: Sequence[int], holds: Sequence[Hold]
    ) -> tuple[int, ...]:
        """The steps, those of a weak tree on days held where they are higher; an open hold goes on."""
        steps = list(usual)
        for hold in holds:
            last = self._days.last if hold.until is None else hold.until - DAY
            first = max(0, (hold.start - self._days.first).days)
            for place in range(first, min(len(steps), (last - self._days.first).days + 1)):
                steps[place] = max(steps[place], weak[place])
        return tuple(steps)

    # --- by each schedule's table

    def _by_table(self, timeline: Timeline, record: Record, pots: _PotsAlike) -> tuple[RateStep, ...]:
        """The rates of the schedule in force on each day, a weak or held tree's as its weak column asks."""
        rows = self._rows(timeline, record)
        if not rows:
            return ()
        steps: list[RateStep] = []
        cuts = {first for first, _ in rows}
        for hold in () if pots.weak else timeline.holds:
            if hold.rule.water_surface_dry:
                cuts |= {day for day in (hold.start, hold.until) if day is not None and day > rows[0][0]}
        for day in sorted(cuts):
            row = next(row for first, row in reversed(rows) if first <= day)
            rate = rate_for(row, pots.pot_class, weak=pots.weak or timeline.must_dry_on(day))
            if not steps or rate != steps[-1].rate:
                steps.append(RateStep(day, rate))
        return tuple(steps)

    def _rows(self, timeline: Timeline, record: Record) -> list[tuple[date, WaterRow]]:
        """The table's rows by first day, following the moves from group to group.

        A stage still awaited counts from its typical date here, so that waiting for it never means fewer checks.
        """
        seasons = (self._days.seasons[0] - 1, *self._days.seasons)
        found: list[tuple[date, WaterRow]] = []
        for stay in timeline.care.stays:
            dated = sorted(
                (
                    (stages[row.stage].day or stages[row.stage].typical, row)
                    for season in seasons
                    for stages in record.rounds(season)
                    for row in timeline.care.schedule_of(stay).water
                    if row.stage in stages
                ),
                key=lambda pair: pair[0],
            )
            before = [row for first, row in dated if first <= stay.start]
            later = [(first, row) for first, row in dated if first > stay.start]
            began = [(stay.start, before[-1])] if before else []
            found += [pair for pair in (*began, *later) if stay.end is None or pair[0] < stay.end]
        return found

    # --- a few days of weather that ask for more

    def _rises(self, watch: Watch, pots: _PotsAlike) -> Iterator[Rise]:
        """Spells on record, today or coming, for which the trees are looked at oftener than usual.

        Each is whole, however long ago it began, but lies within one season as the usual looks do.
        """
        today = self._days.today

        def step_above(et_day: EtDay) -> int:
            return self._step_above(watch, pots, et_day)

        for spell in spells_from(today, self._coming, self._past, step_above, self._days.hemisphere):
            yield rise_of(spell)

    @cached_property
    def _coming(self) -> Sequence[EtDay]:
        """The days on record from today on; none where they are too old to foretell anything."""
        if self._balance is None or self._balance.daily_et.climate.is_stale:
            return ()
        daily_et, today = self._balance.daily_et, self._days.today
        return daily_et.recorded(today, daily_et.climate.forecast_to or today)

    @cached_property
    def _past(self) -> Sequence[EtDay]:
        """The days on record of this season before today, the last first."""
        if self._balance is None:
            return ()
        return self._balance.daily_et.recorded(self._days.this_season, self._days.today - DAY)[::-1]

    def _step_above(self, watch: Watch, pots: _PotsAlike, et_day: EtDay) -> int:
        """The step a day asks for where that is above the usual one, else 0."""
        assert self._balance is not None
        day = et_day.weather.day
        usual, vessel = watch.usual_on(day), pots.vessel_on(day)
        demand = None if vessel is None else demand_of(vessel)
        if usual is None or demand is None:
            return 0
        leaf = leaf_on(self._balance.leaf_points(watch.timeline), day)
        step = _step_under(et_day, demand.on(et_day.et0_mm, leaf), leaf, _step_of(usual), pots)
        return step if step > _step_of(usual) else 0


def _years(daily_et: DailyEt, days: WatchedDays) -> Iterator[_Year]:
    """Each season with the weeks before it."""
    for season in days.seasons:
        start, end = season_start(season, days.hemisphere), season_end(season, days.hemisphere)
        first = start - LEAD_IN
        first -= DAY * first.weekday()
        last = end + DAY * (6 - end.weekday())
        et0_mm = daily_et.normal_et0(first, (last - first).days + 1)
        yield _Year(first, et0_mm, slice((start - first).days, (end - first).days + 1))


def _between(steps: Sequence[RateStep], start: date, end: date) -> Iterator[RateStep]:
    """The rates from a day on until before another."""
    before = [step for step in steps if step.first <= start]
    if before:
        yield RateStep(start, before[-1].rate)
    yield from (step for step in steps if start < step.first < end)


def _by_week(steps: Sequence[int]) -> Iterator[int]:
    """The highest step of each week on each of its days. steps: from a Monday on."""
    for place in range(0, len(steps), 7):
        week = steps[place : place + 7]
        yield from [max(week)] * len(week)


def rate_for(row: WaterRow, pot_class: PotClass, *, weak: bool) -> CheckRate:
    """The rate of one row for a pot; a weak or root-cut tree is looked at as often as the weak column asks too."""
    by_class: Mapping[PotClass, CheckRate] = {
        PotClass.SHALLOW: row.shallow,
        PotClass.MEDIUM: row.medium,
        PotClass.DEEP: row.deep,
    }
    own = by_class[pot_class]
    return max(own, row.weak) if weak else own


def _step_under(et_day: EtDay, thirst: float, leaf: float, usual: int, pots: _PotsAlike) -> int:
    """The step for a day on record; hot and windy days ask for one look above the usual step."""
    floor = least_step(leaf, shallow=pots.pot_class is PotClass.SHALLOW, weak=pots.weak)
    step = max(step_for(thirst), floor)
    if is_on_record(et_day) and (is_hot(et_day) or is_windy(et_day)):
        return max(step, heat_step(usual, leaf, deep=pots.pot_class is PotClass.DEEP))
    return step


def _step_of(rate: CheckRate) -> int:
    return max((step for step, known in enumerate(LADDER) if known.per_week <= rate.per_week), default=0)
