"""How often to look at each tree through its seasons: from weather, pot and tree, or from its schedule's table.

The usual rates come from normals, pots and stages. The past and the forecast have no say in them, so that they stay as
they are from day to day; a rate counts by whole weeks, the highest of the week, so that a week has one habit. A few
days of heat, wind or dry air ahead raise it. Nothing lowers it: a hold only adds looks, and indoors, where the weather
does not count, the schedule's table does.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from feedplan.engine.growing_year import DAY, season_end, season_of, season_start
from feedplan.engine.outdoors.skies import Skies, SkyDay
from feedplan.engine.season import ChecksBasis, FrostSpell, RateStep, Rise, Timeline, Watch
from feedplan.engine.stages.stages import Record
from feedplan.engine.water.balance import Balance, is_frozen, is_hot, is_on_record, is_windy
from feedplan.engine.water.check_rates import (
    LADDER,
    changes_in,
    heat_step,
    least_step,
    steady_steps,
    step_for,
)
from feedplan.engine.water.demand import Demand, demand_of
from feedplan.engine.water.leaf_course import leaf_course
from feedplan.engine.water.vessels import Vessel, vessel_of
from feedplan.model.climate import Climate
from feedplan.model.collection import ChecksBy, Collection, PotClass, Tree
from feedplan.model.course import Hold
from feedplan.model.reason import DryDays, HotDays, ThirstFact, WindyDays
from feedplan.model.schedule import CheckRate, WaterRow

RISE_LOOK_BACK = timedelta(days=30)
"""How far back a spell that still lasts may have begun (judgement)."""


LEAD_IN = timedelta(days=90)
"""Longer than a rate takes to come down from the most to the least: a calm week for each step."""


@dataclass(frozen=True, slots=True)
class WatchedDays:
    """The days rates are worked out for, and those on which the weather is known. today: the day of the plan."""

    first: date
    last: date
    today: date

    @property
    def count(self) -> int:
        """How many days [days]."""
        return (self.last - self.first).days + 1


def watched_days(collection: Collection, today: date, start: date, end: date) -> WatchedDays:
    """The whole seasons shown, and before them days enough for rates that come down slowly to have come down."""
    hemisphere = collection.place.hemisphere
    first, last = season_of(min(start, today), hemisphere), season_of(max(end, today), hemisphere)
    return WatchedDays(season_start(first, hemisphere) - LEAD_IN, season_end(last, hemisphere), today)


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
class _PotsAlike:
    """Trees of one timeline that dry alike. vessel: None where the weather does not count."""

    trees: tuple[Tree, ...]
    pot_class: PotClass
    weak: bool
    vessel: Vessel | None


class Watching:
    """Works out the watches of one plan; equal pots in equal years are walked through once.

    balance: the pots under the weather, None where checks go by each schedule's table.
    """

    def __init__(self, balance: Balance | None, days: WatchedDays) -> None:
        self._balance = balance
        self._days = days
        self._et0 = None if balance is None else balance.skies.normal_et0(days.first, days.count)
        self._walked: dict[object, tuple[int, ...]] = {}
        self._merged: dict[object, tuple[RateStep, ...]] = {}

    def watches(self, timeline: Timeline, record: Record) -> Iterator[Watch]:
        """How often to look at the trees of a timeline, those that dry alike together."""
        for pots in self._alike(timeline):
            if pots.vessel is None:
                steps = self._by_table(timeline, record, pots)
                yield Watch(timeline, pots.trees, tuple(steps))
            else:
                yield self._by_weather(timeline, pots, pots.vessel)

    def _alike(self, timeline: Timeline) -> list[_PotsAlike]:
        found: dict[tuple[PotClass, bool, Vessel | None], list[Tree]] = {}
        for tree in timeline.trees:
            bench = timeline.care.bench_on(tree, self._days.today)
            vessel = None
            if self._balance is not None and not bench.indoors:
                vessel = vessel_of(tree, timeline.care.substrate_of(tree, self._days.today), bench)
            found.setdefault((tree.pot.pot_class, tree.weak, vessel), []).append(tree)
        return [_PotsAlike(tuple(trees), kind, weak, v) for (kind, weak, v), trees in found.items()]

    # --- by the weather

    def _by_weather(self, timeline: Timeline, pots: _PotsAlike, vessel: Vessel) -> Watch:
        demand = demand_of(vessel)
        knots = self._knots(timeline)
        usual = self._walk(knots, demand, pots.pot_class, pots.weak)
        held = [] if pots.weak else [h for h in timeline.holds if h.rule.water_surface_dry]
        if held:
            weak = self._walk(knots, demand, pots.pot_class, True)
            usual = self._over_holds(usual, weak, held)
        key = usual
        if key not in self._merged:
            self._merged[key] = tuple(
                RateStep(self._days.first + DAY * place, LADDER[usual[place]]) for place in changes_in(usual)
            )
        watch = Watch(timeline, pots.trees, self._merged[key])
        return Watch(timeline, pots.trees, watch.steps, tuple(self._rises(watch, pots, demand)))

    def _knots(self, timeline: Timeline) -> tuple[tuple[date, float], ...]:
        assert self._balance is not None
        return self._balance.knots(timeline)

    def _walk(
        self, knots: tuple[tuple[date, float], ...], demand: Demand | None, kind: PotClass, weak: bool
    ) -> tuple[int, ...]:
        """The step of every day; a pot that holds nothing within reach is always thirsty."""
        shallow = kind is PotClass.SHALLOW
        key = (knots, demand, shallow, weak)
        if key not in self._walked:
            if demand is None:
                self._walked[key] = (len(LADDER) - 1,) * self._days.count
            else:
                assert self._et0 is not None
                leaf = leaf_course(knots, self._days.first, self._days.count)
                floors = [least_step(share, shallow=shallow, weak=weak) for share in leaf]
                steps = steady_steps(demand.over(self._et0, leaf), floors)
                self._walked[key] = tuple(_by_week(steps, self._days.first))
        return self._walked[key]

    def _over_holds(
        self, usual: Sequence[int], weak: Sequence[int], holds: Sequence[Hold]
    ) -> tuple[int, ...]:
        """The steps, those of a weak tree on days held where they are higher; an open hold goes on."""
        steps = list(usual)
        for hold in holds:
            last = self._days.last if hold.end is None else hold.end - DAY
            first = max(0, (hold.start - self._days.first).days)
            for place in range(first, min(len(steps), (last - self._days.first).days + 1)):
                steps[place] = max(steps[place], weak[place])
        return tuple(steps)

    # --- by each schedule's table

    def _by_table(self, timeline: Timeline, record: Record, pots: _PotsAlike) -> Iterator[RateStep]:
        """The rates of the schedule in force on each day, a weak or held tree's as its weak column asks."""
        rows = self._rows(timeline, record)
        if not rows:
            return
        cuts = {first for first, _ in rows}
        for hold in () if pots.weak else timeline.holds:
            if hold.rule.water_surface_dry:
                cuts |= {day for day in (hold.start, hold.end) if day is not None and day > rows[0][0]}
        last: CheckRate | None = None
        for day in sorted(cuts):
            row = next(row for first, row in reversed(rows) if first <= day)
            rate = rate_for(row, pots.pot_class, weak=pots.weak or timeline.must_dry_on(day))
            if rate != last:
                yield RateStep(day, rate)
            last = rate

    def _rows(self, timeline: Timeline, record: Record) -> list[tuple[date, WaterRow]]:
        """The table's rows by first day, following the moves from group to group.

        A stage still awaited counts from its typical date here, so that waiting for it never means fewer checks.
        """
        hemisphere = record.hemisphere
        seasons = range(season_of(self._days.first, hemisphere), season_of(self._days.last, hemisphere) + 1)
        found: list[tuple[date, WaterRow]] = []
        for stay in timeline.care.stays:
            dated = sorted(
                (
                    (stages[row.stage].day or stages[row.stage].typical, row)
                    for stages in map(record.stages, seasons)
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

    def _rises(self, watch: Watch, pots: _PotsAlike, demand: Demand | None) -> Iterator[Rise]:
        """Spells on record from today on for which the trees are looked at oftener than usual, each whole."""
        assert self._balance is not None
        skies, today = self._balance.skies, self._days.today
        if skies.climate.is_stale or demand is None:
            return
        days = skies.recorded(today - RISE_LOOK_BACK, skies.climate.forecast_to or today)
        above: list[tuple[SkyDay, int]] = []
        leaf = leaf_course(self._knots(watch.timeline), today - RISE_LOOK_BACK, 2 * 366)
        for sky in days:
            day = sky.weather.day
            usual = watch.usual_on(day)
            if usual is None:
                continue
            share = leaf[(day - today + RISE_LOOK_BACK).days]
            step = _step_under(sky, demand.on(sky.et0_mm, share), share, _step_of(usual), pots)
            if step > _step_of(usual):
                above.append((sky, step))
        for spell in spells(above):
            if spell[-1][0].weather.day >= today:
                yield _rise(spell)


def _by_week(steps: Sequence[int], first: date) -> Iterator[int]:
    """The highest step of each week, Monday to Sunday, on each of its days."""
    place = -first.weekday()
    while place < len(steps):
        week = steps[max(0, place) : place + 7]
        yield from [max(week)] * len(week)
        place += 7


def rate_for(row: WaterRow, pot_class: PotClass, *, weak: bool) -> CheckRate:
    """The rate of one row for a pot; a weak or root-cut tree is looked at as often as the weak column asks too."""
    by_class: Mapping[PotClass, CheckRate] = {
        PotClass.SHALLOW: row.shallow,
        PotClass.MEDIUM: row.medium,
        PotClass.DEEP: row.deep,
    }
    own = by_class[pot_class]
    return max(own, row.weak) if weak else own


def _step_under(sky: SkyDay, thirst: float, leaf: float, usual: int, pots: _PotsAlike) -> int:
    """The step for a day on record; hot and windy days ask for one look above the usual step."""
    floor = least_step(leaf, shallow=pots.pot_class is PotClass.SHALLOW, weak=pots.weak)
    step = max(step_for(thirst), floor)
    if is_on_record(sky) and (is_hot(sky) or is_windy(sky)):
        return max(step, heat_step(usual, leaf, deep=pots.pot_class is PotClass.DEEP))
    return step


def _step_of(rate: CheckRate) -> int:
    return max((step for step, known in enumerate(LADDER) if known.per_week <= rate.per_week), default=0)


def spells(days: Sequence[tuple[SkyDay, int]]) -> Iterator[list[tuple[SkyDay, int]]]:
    """Runs of days, one quieter day between two of them passed over."""
    spell: list[tuple[SkyDay, int]] = []
    for sky, step in days:
        if spell and sky.weather.day - spell[-1][0].weather.day > 2 * DAY:
            yield spell
            spell = []
        spell.append((sky, step))
    if spell:
        yield spell


def frost_spells(skies: Skies, today: date) -> tuple[FrostSpell, ...]:
    """Spells on record from today on in which root balls outdoors are likely frozen, each whole."""
    if skies.climate.is_stale:
        return ()
    days = skies.recorded(today - RISE_LOOK_BACK, skies.climate.forecast_to or today)
    found = []
    for spell in spells([(sky, 0) for sky in days if is_frozen(sky)]):
        first, last = spell[0][0].weather.day, spell[-1][0].weather.day
        if last >= today:
            lowest = min(sky.weather.tmin_c for sky, _ in spell)
            found.append(FrostSpell(f"frozen/{first}", first, last, lowest))
    return tuple(found)


def _rise(spell: Sequence[tuple[SkyDay, int]]) -> Rise:
    """One spell, at the highest rate any of its days asks for, and what asks most: heat before wind before dry air."""
    skies = [sky for sky, _ in spell]
    first, last = skies[0].weather.day, skies[-1].weather.day
    rate = LADDER[max(step for _, step in spell)]
    hottest = max(skies, key=lambda sky: sky.weather.tmax_c)
    windiest = max(skies, key=lambda sky: sky.weather.weather.wind_m_per_s or 0.0)
    driest = max(skies, key=lambda sky: sky.et0_mm)
    cause: ThirstFact = DryDays(driest.et0_mm, driest.weather.day)
    if is_hot(hottest):
        cause = HotDays(hottest.weather.tmax_c, hottest.weather.day)
    elif is_windy(windiest):
        cause = WindyDays(windiest.weather.weather.wind_m_per_s or 0.0, windiest.weather.day)
    return Rise(first, last, rate, cause)
