"""Water checks as looks to be made: which trees of a group, on which weekdays, at which time of day.

A tree that is looked at less than once a day has its weekdays, the same all year, so that the days of a round do not
shift; it is never looked at less often than its rate says. Each stretch lies within one season and is named by the day
it starts on, so that it stays the same calendar event while it says the same. The sheet for whoever waters during an
absence has the same looks by bench, and never any feed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence, Set
from dataclasses import dataclass, replace
from datetime import date, time
from decimal import ROUND_CEILING, Decimal
from functools import lru_cache
from itertools import groupby
from operator import attrgetter, mul

from feedplan.engine.growing_year import DAY, season_end, season_of, season_start
from feedplan.engine.season import CheckStretch, Rise, Season, Watch
from feedplan.engine.water.balance import Balance, leaf_course, roots_on, two_figures
from feedplan.engine.water.own_water import OwnWaters, own_waters
from feedplan.engine.water.thirst import IN_LEAF, vessel_of
from feedplan.model.collection import Away, Tree
from feedplan.model.moment import Hemisphere
from feedplan.model.schedule import CheckRate
from feedplan.weather.water_quality import gross_from_net

EVERY_DAY = (0, 1, 2, 3, 4, 5, 6)
MOST_LOOKS = 3
"""As many looks a day as there are times for them; a table that asks for more is given these."""
NAMED_FIRST = 3

# The weekdays of none to seven looks a week (0 is Monday). Each row holds the one before it, so that a higher rate
# takes no look away, and the longest gap is as short as so many looks a week allow.
_WEEKDAYS: Sequence[tuple[int, ...]] = (
    (),
    (0,),
    (0, 4),
    (0, 2, 4),
    (0, 2, 4, 6),
    (0, 2, 4, 5, 6),
    (0, 2, 3, 4, 5, 6),
    EVERY_DAY,
)


def looks_a_week(rate: CheckRate) -> int:
    """How many looks a rate asks for in a week."""
    asked = int(rate.per_week.to_integral_value(ROUND_CEILING))
    return min(MOST_LOOKS * len(EVERY_DAY), max(1, asked))


def weekdays_of(rate: CheckRate, look: int = 0) -> tuple[int, ...]:
    """The weekdays on which a rate asks for a look (0 is Monday). look: which of the day, 0 for the first."""
    return _WEEKDAYS[max(0, min(len(EVERY_DAY), looks_a_week(rate) - look * len(EVERY_DAY)))]


def looks_on(rate: CheckRate | None, day: date) -> int:
    """How many looks a rate asks for on a day."""
    if rate is None:
        return 0
    return sum(day.weekday() in weekdays_of(rate, look) for look in range(MOST_LOOKS))


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


_Asked = tuple[tuple[tuple[int, ...], ...], bool]
"""What a watch asks of a group: the weekdays of each look of the day, none while it is not there; surface to dry."""


def check_stretches(
    watches: Iterable[Watch], balance: Balance | None, shown: Shown
) -> tuple[CheckStretch, ...]:
    """The looks of every group that touch the days shown, each stretch whole, in order of key."""
    groups: dict[str, list[Watch]] = {}
    for watch in watches:
        for group in dict.fromkeys(stay.group for stay in watch.timeline.care.stays):
            groups.setdefault(group, []).append(watch)
    drinking = None if balance is None else _Drinking(balance)
    found = []
    for group, members in sorted(groups.items()):
        for stretch, some in (*_usual(group, members, shown), *_raised(group, members)):
            if stretch.start <= shown.end and stretch.end >= shown.start:
                teller = None if stretch.rise is not None else drinking
                found.append(stretch if teller is None else teller.told(stretch, some))
    return tuple(found)


_NOTHING: _Asked = (((),) * MOST_LOOKS, False)

_Looked = tuple[CheckStretch, Sequence[Watch]]


def _usual(group: str, members: Sequence[Watch], shown: Shown) -> Iterator[_Looked]:
    """The looks of each season, cut wherever one of the trees is looked at otherwise from a day on."""
    for season in shown.seasons:
        first, last = season_start(season, shown.hemisphere), season_end(season, shown.hemisphere)
        changes: dict[date, list[int]] = {first: list(range(len(members)))}
        for place, watch in enumerate(members):
            for day in _changes(watch):
                if first < day <= last:
                    changes.setdefault(day, []).append(place)
        asked: list[_Asked] = [_NOTHING] * len(members)
        runs: list[tuple[date, tuple[_Asked, ...]]] = []
        for day, places in sorted(changes.items()):
            now = [(place, _asked(members[place], group, day)) for place in places]
            if not runs or any(asked[place] != found for place, found in now):
                for place, found in now:
                    asked[place] = found
                runs.append((day, tuple(asked)))
        ends = [day - DAY for day, _ in runs[1:]] + [last]
        for (start, each), end in zip(runs, ends, strict=True):
            yield from _looks(group, members, each, (start, end))


def _changes(watch: Watch) -> Iterator[date]:
    """Every day on which what a watch asks of a group may change."""
    timeline = watch.timeline
    yield from (step.first for step in watch.steps)
    yield from (stay.start for stay in timeline.care.stays if stay.start > date.min)
    for stay in (*timeline.earlier, (timeline.arrives, timeline.leaves)):
        yield from (day for day in stay if day is not None)
    for hold in timeline.holds:
        if hold.rule.water_surface_dry:
            yield hold.start
            if hold.until is not None:
                yield hold.until


def _asked(watch: Watch, group: str, day: date) -> _Asked:
    rate = watch.usual_on(day)
    if rate is None or watch.timeline.group_on(day) != group:
        return _NOTHING
    return tuple(weekdays_of(rate, look) for look in range(MOST_LOOKS)), watch.must_dry_on(day)


def _looks(
    group: str, members: Sequence[Watch], asked: Sequence[_Asked], span: tuple[date, date]
) -> Iterator[_Looked]:
    """The looks of one run of days: for each time of day, those on the same trees together."""
    start, end = span
    for look in range(MOST_LOOKS):
        of_each = [weekdays[look] for weekdays, _ in asked]
        for weekdays, among in _alike(frozenset(of_each)):
            if not _falls_in(weekdays, start, end):
                continue
            here = [place for place, own in enumerate(of_each) if own in among]
            some = [members[place] for place in here]
            stretch = CheckStretch(
                key=f"water/{group}/{look + 1}/{start}/{weekdays[0]}",
                group=group,
                look=look,
                weekdays=weekdays,
                start=start,
                end=end,
                trees=_in_order(tree for watch in some for tree in watch.trees),
                surface_dry=_names(tree for i in here if asked[i][1] for tree in members[i].trees),
            )
            yield stretch, some


def _in_order(trees: Iterable[Tree]) -> tuple[Tree, ...]:
    """Trees as the collection has them, whoever shares a course with whom."""
    return tuple(sorted(trees, key=attrgetter("source")))


def _names(trees: Iterable[Tree]) -> tuple[str, ...]:
    return tuple(tree.name for tree in _in_order(trees))


@lru_cache
def _alike(
    distinct: frozenset[tuple[int, ...]],
) -> tuple[tuple[tuple[int, ...], Set[tuple[int, ...]]], ...]:
    """The weekdays with a look, those on which the same trees have it together, and what such trees' weekdays are.

    distinct: the weekdays that trees have it on.
    """
    found: dict[frozenset[tuple[int, ...]], list[int]] = {}
    for weekday in EVERY_DAY:
        among = frozenset(own for own in distinct if weekday in own)
        if among:
            found.setdefault(among, []).append(weekday)
    return tuple((tuple(weekdays), among) for among, weekdays in found.items())


def _falls_in(weekdays: Iterable[int], start: date, end: date) -> bool:
    """Whether one of some weekdays lies between two days."""
    return any((weekday - start.weekday()) % 7 <= (end - start).days for weekday in weekdays)


class _Drinking:
    """What trees drink on the usual day of a stretch; worked out once for all looks of the same days."""

    def __init__(self, balance: Balance) -> None:
        self._balance = balance
        self._found: dict[tuple[int, date, date], tuple[float, float] | None] = {}

    def told(self, stretch: CheckStretch, watches: Sequence[Watch]) -> CheckStretch:
        """A stretch with what its trees drink from look to look, and which of them dry first; not with any indoors."""
        litres, dryness = 0.0, []
        for watch in watches:
            rate, found = watch.usual_on(stretch.start), self._of(watch, stretch.start, stretch.end)
            if rate is None or found is None:
                return stretch
            each_l, thirst = found
            litres += each_l * 7 / looks_a_week(rate) * sum(tree.count for tree in watch.trees)
            if not watch.must_dry_on(stretch.start):
                dryness.append((-thirst, watch.trees))
        dryness.sort(key=lambda pair: (pair[0], pair[1][0].name))
        first = tuple(tree.name for _, trees in dryness for tree in trees)[:NAMED_FIRST]
        poured = gross_from_net(litres, float(self._balance.collection.habits.drain_share))
        return replace(stretch, litres=two_figures(poured), dries_first=first)

    def _of(self, watch: Watch, start: date, end: date) -> tuple[float, float] | None:
        """A tree's use of a day [L] and its thirst; None indoors, where the weather does not count."""
        key = (id(watch), start, end)
        if key not in self._found:
            self._found[key] = self._work_out(watch, start, (end - start).days + 1)
        return self._found[key]

    def _work_out(self, watch: Watch, start: date, days: int) -> tuple[float, float] | None:
        care, lead = watch.timeline.care, watch.trees[0]
        bench = care.bench_on(lead, start)
        if bench.indoors:
            return None
        et0 = self._balance.daily_et.normal_et0(start, days)
        leaf = leaf_course(self._balance.leaf_points(watch.timeline), start, days)
        mean_et0 = sum(et0) / days
        drawn = sum(map(mul, et0, leaf)) / days
        mean_leaf = drawn / mean_et0 if mean_et0 > 0 else 0.0
        vessel = vessel_of(lead, care.substrate_of(lead, start), bench)
        roots = roots_on(watch.timeline.holds, start + DAY * (days // 2))
        each_l = vessel.use_l(mean_et0, mean_leaf, roots)
        return each_l, vessel.thirst(each_l, dormant=mean_leaf < IN_LEAF)


def _raised(group: str, members: Sequence[Watch]) -> Iterator[_Looked]:
    """The looks that a spell of weather asks for beside the usual ones."""
    alike: dict[tuple[date, date, int, tuple[int, ...]], list[tuple[Watch, Rise]]] = {}
    for watch in members:
        for rise in watch.rises:
            for start, end, usual in _runs_under(watch, rise, group):
                for look in range(MOST_LOOKS):
                    beside = tuple(day for day in weekdays_of(rise.rate, look) if day not in usual[look])
                    if _falls_in(beside, start, end):
                        alike.setdefault((start, end, look, beside), []).append((watch, rise))
    for (start, end, look, weekdays), found in sorted(alike.items(), key=lambda item: item[0]):
        trees = _in_order(tree for watch, _ in found for tree in watch.trees)
        dry = (watch.trees for watch, _ in found if watch.must_dry_on(start))
        stretch = CheckStretch(
            key=f"water/{group}/rise/{look + 1}/{start}/{weekdays[0]}/{trees[0].name}",
            group=group,
            look=look,
            weekdays=weekdays,
            start=start,
            end=end,
            trees=trees,
            surface_dry=_names(tree for some in dry for tree in some),
            rise=max((rise for _, rise in found), key=lambda rise: rise.rate),
        )
        yield stretch, [watch for watch, _ in found]


def _runs_under(
    watch: Watch, rise: Rise, group: str
) -> Iterator[tuple[date, date, tuple[tuple[int, ...], ...]]]:
    """The days of a spell in a group, in runs with the same usual looks: trees come, go and move while it lasts."""
    days = (rise.first + DAY * place for place in range((rise.last - rise.first).days + 1))
    for asked, run in groupby(days, key=lambda day: _asked(watch, group, day)):
        if asked != _NOTHING:
            here = list(run)
            yield here[0], here[-1], asked[0]


def litres_for_look(pour_l: float, rate: CheckRate) -> Decimal:
    """What a pot takes from one look to the next [L]. pour_l: in a day [L]."""
    return two_figures(pour_l * 7 / looks_a_week(rate))


@dataclass(frozen=True, slots=True)
class SheetRow:
    """Trees of a bench that are looked at on the same days at the same time. start, end: those days, both included.

    look: which of the day, 0 for the first; weekdays: 0 is Monday.
    """

    look: int
    start: date
    end: date
    weekdays: tuple[int, ...]
    trees: tuple[Tree, ...]

    def falls_on(self, day: date) -> bool:
        """Whether it is made on a day."""
        return self.start <= day <= self.end and day.weekday() in self.weekdays


@dataclass(frozen=True, slots=True)
class HelperSheet:
    """What somebody who waters during an absence must know.

    benches: with their rows, the first look of a day and the longest stretch first; checks_at: the times of a day's
    looks. must_dry: trees whose surface is to dry, by name. own_waters: who must not have the usual water.
    """

    away: Away
    benches: tuple[tuple[str, tuple[SheetRow, ...]], ...]
    checks_at: tuple[time, ...]
    must_dry: tuple[str, ...]
    head_count: int
    own_waters: OwnWaters = ()

    @property
    def days(self) -> tuple[date, ...]:
        """The days of the absence."""
        return tuple(self.away.start + DAY * n for n in range((self.away.end - self.away.start).days + 1))

    def looks_on(self, day: date) -> tuple[int, ...]:
        """Which looks of a day there are, by number."""
        rows = (row for _, rows in self.benches for row in rows)
        return tuple(sorted({row.look for row in rows if row.falls_on(day)}))


_Seen = tuple[int, date, date, tuple[int, ...]]
"""A look of the day, from a day to a day, on some weekdays."""


def sheet_of(season: Season, away: Away) -> HelperSheet:
    """The helper's sheet for an absence that the season covers: looks by bench, and never any feed."""
    count = sum(timeline.head_count for timeline in season.timelines if timeline.here(away.start))
    sheet = HelperSheet(away, (), season.collection.habits.checks_at, (), count)
    found: dict[str, dict[_Seen, list[Tree]]] = {}
    dry: list[Tree] = []
    for watch in season.watches:
        if any(watch.rate_on(day) is not None and watch.must_dry_on(day) for day in sheet.days):
            dry += watch.trees
        for tree in watch.trees:
            for place, row in _sheet_rows(watch, tree, sheet.days):
                found.setdefault(place, {}).setdefault(row, []).append(tree)
    benches = tuple(
        (place, tuple(SheetRow(*row, _in_order(trees)) for row, trees in sorted(rows.items(), key=_fullest)))
        for place, rows in sorted(found.items())
    )
    return replace(sheet, benches=benches, must_dry=_names(dry), own_waters=own_waters(season, away.start))


def _fullest(pair: tuple[_Seen, object]) -> tuple[int, int, date, int]:
    """Orders a bench's rows: by look, those of most days first."""
    look, start, end, weekdays = pair[0]
    return look, -len(weekdays), start, -(end - start).days


def _sheet_rows(watch: Watch, tree: Tree, days: Sequence[date]) -> Iterator[tuple[str, _Seen]]:
    """The runs of days on which a tree stands in one place and is looked at on the same weekdays, look by look."""
    for look in range(MOST_LOOKS):

        def asked(day: date, look: int = look) -> tuple[str, tuple[int, ...]]:
            rate = watch.rate_on(day)
            weekdays = () if rate is None else weekdays_of(rate, look)
            return watch.timeline.care.place_of(tree, day), weekdays

        told = [(day, *asked(day)) for day in days]
        looked_on = {(place, day) for day, place, weekdays in told if day.weekday() in weekdays}
        rows: list[tuple[str, _Seen]] = []
        for (place, weekdays), run in groupby(days, key=asked):
            here = list(run)
            if _falls_in(weekdays, here[0], here[-1]):
                row = (place, (look, here[0], here[-1], weekdays))
                joined = _joined(rows[-1], row, looked_on) if rows else None
                rows[-1:] = [joined] if joined is not None else [*rows[-1:], row]
        yield from rows


def _joined(
    before: tuple[str, _Seen], after: tuple[str, _Seen], looked_on: Set[tuple[str, date]]
) -> tuple[str, _Seen] | None:
    """Two rows of a tree as one, on the weekdays of either, if that makes the very same looks; else None.

    So a rate that changes for a day or two without a look more or less is not told.
    """
    (place, (look, start, _, first)), (there, (_, _, end, then)) = before, after
    days = [start + DAY * n for n in range((end - start).days + 1)]
    for weekdays in (first, then):
        if place == there and all((day.weekday() in weekdays) == ((place, day) in looked_on) for day in days):
            return place, (look, start, end, weekdays)
    return None
