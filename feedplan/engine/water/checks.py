"""Water checks as looks to be made: which trees of a group, on which weekdays, at which time of day.

A tree that is looked at less than once a day has its weekdays, the same all year, so that the days of a round do not
shift; it is never looked at less often than its rate says. Each stretch lies within one season and is named by the day
it starts on, so that it stays the same calendar event while it says the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import ROUND_CEILING, Decimal

from feedplan.engine.growing_year import DAY, season_end, season_of, season_start
from feedplan.engine.season import CheckStretch, Rise, Watch
from feedplan.engine.water.balance import Balance, two_figures
from feedplan.engine.water.check_rates import IN_LEAF
from feedplan.engine.water.leaf_course import leaf_course
from feedplan.engine.water.vessels import vessel_of
from feedplan.model.moment import Hemisphere
from feedplan.model.schedule import CheckRate
from feedplan.weather.water_quality import gross_from_net

EVERY_DAY = (0, 1, 2, 3, 4, 5, 6)
MOST_LOOKS = 3
NAMED_FIRST = 3

# The weekdays of so many looks a week (0 is Monday), spread so that no gap is longer than the rate allows.
_WEEKDAYS: Mapping[int, tuple[int, ...]] = {
    1: (0,),
    2: (0, 3),
    3: (0, 2, 4),
    4: (0, 2, 4, 6),
    5: (0, 1, 3, 4, 6),
    6: (0, 1, 2, 3, 4, 5),
}


def looks_a_day(rate: CheckRate) -> int:
    """How many looks a rate asks for on a day on which there is one."""
    return max(1, min(MOST_LOOKS, round(rate.per_week / 7)))


def weekdays_of(rate: CheckRate) -> tuple[int, ...]:
    """The weekdays on which a rate asks for a look (0 is Monday)."""
    looks = int(rate.per_week.to_integral_value(ROUND_CEILING))
    return _WEEKDAYS.get(max(1, looks), EVERY_DAY)


def looks_on(rate: CheckRate | None, day: date) -> int:
    """How many looks a rate asks for on a day."""
    return 0 if rate is None or day.weekday() not in weekdays_of(rate) else looks_a_day(rate)


@dataclass(frozen=True, slots=True)
class Shown:
    """The days shown, and the half of the globe."""

    start: date
    end: date
    hemisphere: Hemisphere

    @property
    def seasons(self) -> range:
        """The seasons they touch."""
        return range(season_of(self.start, self.hemisphere), season_of(self.end, self.hemisphere) + 1)


_Pattern = tuple[tuple[tuple[int, ...], int, bool], ...]
"""For each tree watched its weekdays, looks a day, and whether its surface must dry; (), 0 while it is not here."""


def check_stretches(
    watches: Sequence[Watch], balance: Balance | None, shown: Shown
) -> tuple[CheckStretch, ...]:
    """The looks of every group that touch the days shown, each stretch whole, in order of key."""
    groups: dict[str, list[Watch]] = {}
    for watch in watches:
        for group in dict.fromkeys(stay.group for stay in watch.timeline.care.stays):
            groups.setdefault(group, []).append(watch)
    found = []
    for group, members in sorted(groups.items()):
        for stretch, some in (*_usual(group, members, shown), *_raised(group, members)):
            if stretch.start <= shown.end and stretch.end >= shown.start:
                told = balance if stretch.rise is None else None
                found.append(stretch if told is None else _with_litres(stretch, some, told))
    return tuple(found)


_Looked = tuple[CheckStretch, Sequence[Watch]]


def _usual(group: str, members: Sequence[Watch], shown: Shown) -> Iterator[_Looked]:
    for season in shown.seasons:
        first, last = season_start(season, shown.hemisphere), season_end(season, shown.hemisphere)
        cuts = sorted({first, *(day for watch in members for day in _changes(watch) if first < day <= last)})
        runs: list[tuple[date, _Pattern]] = []
        for day in cuts:
            pattern = tuple(_pattern(watch, group, day) for watch in members)
            if not runs or runs[-1][1] != pattern:
                runs.append((day, pattern))
        ends = [day - DAY for day, _ in runs[1:]] + [last]
        for (start, pattern), end in zip(runs, ends, strict=True):
            yield from _looks(group, members, pattern, (start, end))


def _changes(watch: Watch) -> Iterator[date]:
    """Every day on which what a watch asks of a group may change."""
    timeline = watch.timeline
    yield from (step.first for step in watch.steps)
    yield from (stay.start for stay in timeline.care.stays if stay.start > date.min)
    yield from (day for day in (timeline.arrives, timeline.leaves) if day is not None)
    for hold in timeline.holds:
        if hold.rule.water_surface_dry:
            yield hold.start
            if hold.end is not None:
                yield hold.end


def _pattern(watch: Watch, group: str, day: date) -> tuple[tuple[int, ...], int, bool]:
    rate = watch.usual_on(day)
    if rate is None or watch.timeline.group_on(day) != group:
        return (), 0, False
    return weekdays_of(rate), looks_a_day(rate), watch.must_dry_on(day)


def _looks(
    group: str,
    members: Sequence[Watch],
    pattern: _Pattern,
    span: tuple[date, date],
) -> Iterator[_Looked]:
    """The looks of one run of days: for each time of day, those on the same trees together."""
    start, end = span
    for look in range(MOST_LOOKS):
        by_trees: dict[tuple[int, ...], list[int]] = {}
        for weekday in EVERY_DAY:
            here = tuple(
                i for i, (weekdays, looks, _) in enumerate(pattern) if looks > look and weekday in weekdays
            )
            if here:
                by_trees.setdefault(here, []).append(weekday)
        for here, weekdays in by_trees.items():
            if not _falls_in(weekdays, start, end):
                continue
            some = [members[i] for i in here]
            dry = tuple(tree.name for i in here if pattern[i][2] for tree in members[i].trees)
            stretch = CheckStretch(
                key=f"water/{group}/{look + 1}/{start}/{weekdays[0]}",
                group=group,
                look=look,
                weekdays=tuple(weekdays),
                start=start,
                end=end,
                trees=tuple(tree for watch in some for tree in watch.trees),
                surface_dry=dry,
            )
            yield stretch, some


def _falls_in(weekdays: Iterable[int], start: date, end: date) -> bool:
    """Whether one of some weekdays lies between two days."""
    return any((weekday - start.weekday()) % 7 <= (end - start).days for weekday in weekdays)


def _with_litres(stretch: CheckStretch, watches: Sequence[Watch], balance: Balance) -> CheckStretch:
    """A stretch with what its trees drink from look to look on its usual day, and which of them dry first."""
    days = min((stretch.end - stretch.start).days + 1, 366)
    et0 = balance.skies.normal_et0(stretch.start, days)
    mean_et0 = sum(et0) / days
    litres, dryness = 0.0, []
    for watch in watches:
        rate = watch.usual_on(stretch.start)
        assert rate is not None
        leaf = leaf_course(balance.knots(watch.timeline), stretch.start, days)
        drawn = sum(e * share for e, share in zip(et0, leaf, strict=True)) / days
        mean_leaf = drawn / mean_et0 if mean_et0 > 0 else 0.0
        care, lead = watch.timeline.care, watch.trees[0]
        bench = care.bench_on(lead, stretch.start)
        if bench.indoors:
            return stretch
        vessel = vessel_of(lead, care.substrate_of(lead, stretch.start), bench)
        each_l = vessel.use_l(mean_et0, mean_leaf)
        looks_a_week = looks_a_day(rate) * len(weekdays_of(rate))
        litres += each_l * 7 / looks_a_week * sum(tree.count for tree in watch.trees)
        dryness.append((-vessel.thirst(each_l, dormant=mean_leaf < IN_LEAF), watch.trees))
    dryness.sort(key=lambda pair: (pair[0], pair[1][0].name))
    first = tuple(tree.name for _, trees in dryness for tree in trees)[:NAMED_FIRST]
    poured = gross_from_net(litres, float(balance.collection.habits.drain_share))
    return replace(stretch, litres=two_figures(poured), dries_first=first)


def _raised(group: str, members: Sequence[Watch]) -> Iterator[_Looked]:
    """The looks that a spell of weather asks for beside the usual ones."""
    alike: dict[tuple[date, date, int, tuple[int, ...]], list[tuple[Watch, Rise]]] = {}
    for watch in members:
        for rise in watch.rises:
            usual = watch.usual_on(rise.first)
            if usual is None or watch.timeline.group_on(rise.first) != group:
                continue
            for look, weekdays in _beside(usual, rise.rate):
                alike.setdefault((rise.first, rise.last, look, weekdays), []).append((watch, rise))
    for (first, last, look, weekdays), found in sorted(alike.items(), key=lambda item: item[0]):
        if _falls_in(weekdays, first, last):
            trees = tuple(tree for watch, _ in found for tree in watch.trees)
            stretch = CheckStretch(
                key=f"water/{group}/rise/{look + 1}/{first}/{weekdays[0]}/{trees[0].name}",
                group=group,
                look=look,
                weekdays=weekdays,
                start=first,
                end=last,
                trees=trees,
                surface_dry=tuple(
                    tree.name for watch, _ in found if watch.must_dry_on(first) for tree in watch.trees
                ),
                rise=max((rise for _, rise in found), key=lambda rise: rise.rate),
            )
            yield stretch, [watch for watch, _ in found]


def _beside(usual: CheckRate, raised: CheckRate) -> Iterator[tuple[int, tuple[int, ...]]]:
    """The looks, with their weekdays, that a raised rate has and the usual one has not."""
    for look in range(looks_a_day(raised)):
        had = weekdays_of(usual) if look < looks_a_day(usual) else ()
        beside = tuple(day for day in weekdays_of(raised) if day not in had)
        if beside:
            yield look, beside


def litres_for_look(pour_l: float, rate: CheckRate) -> Decimal:
    """What a pot takes from one look to the next [L]. pour_l: in a day [L]."""
    return two_figures(pour_l * 7 / (looks_a_day(rate) * len(weekdays_of(rate))))
